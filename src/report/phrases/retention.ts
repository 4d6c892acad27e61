import { ABSENT } from './absent.js';

/** How long records are kept: each rule by its name, source and reason. */
export const RETENTION = {
  lifetime: {
    rule: 'lifetime of the device',
    source: 'ISO 13485:2016 4.2.5',
    says: (years: number, from: string, basis: string) => `${years} years from ${from}; basis: ${basis}`,
  },
  twoYears: {
    rule: 'two years',
    source: 'ISO 13485:2016 4.2.5',
    says: (years: number, from: string) => `at least ${years} years from ${from}`,
  },
  market: {
    rule: 'EU implants',
    source: 'Regulation (EU) 2017/745 article 10(8)',
    says: (years: number, last: string) =>
      `${years} years from the last unit of the family, ${last}; it moves on with each release`,
    route: 'placed on the market',
  },
  customMade: {
    rule: 'EU custom-made implants',
    source: 'Regulation (EU) 2017/745 annex XIII section 4',
    says: (years: number, from: string) => `${years} years from ${from}`,
    route: 'custom-made',
  },
  corrections: {
    rule: 'corrections and removals',
    source: '21 CFR 806.20',
    says: (beyond: number, years: number, from: string) =>
      `${beyond} years beyond the lifetime, since a release was revoked: ${years} years from ${from}`,
    notRevoked: 'does not apply: no release was revoked',
  },
  legalHold: {
    rule: 'legal hold',
    source: 'whoever placed it',
    says: (since: string, reason: string) => `since ${since}, until it is lifted: ${reason}`,
    none: ABSENT.none,
  },
  fromRelease: (day: string) => `release, ${day}`,
  fromLastFact: (day: string) => `last fact, ${day} (nothing was released)`,
  noClass: 'does not apply: the family states no class under Regulation (EU) 2017/745',
  otherRoute: (route: string, asked: string) => `does not apply: the route is ${route}, not ${asked}`,
};
