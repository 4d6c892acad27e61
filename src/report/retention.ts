import type { Family } from '../kinds/family.js';
import { RETENTION } from './phrases/retention.js';

/** What decides how long the records of one lot are kept. Days are calendar dates, `2031-03-02`. */
export interface RetentionFacts {
  readonly family: Pick<Family, 'route' | 'classEu' | 'lifetime'>;
  /** Day of the last release of one of its units, or null. */
  readonly releasedOn: string | null;
  /** Day on which the last fact of the lot was recorded: counts as long as nothing was released. */
  readonly lastRecordedOn: string;
  /** Day of the last release of any unit of the family, or null. */
  readonly familyLastReleasedOn: string | null;
  /** Whether a release of one of its units was revoked. */
  readonly revoked: boolean;
  readonly legalHold: { readonly since: string; readonly reason: string } | null;
}

export interface RetentionRule {
  readonly rule: string;
  readonly source: string;
  readonly applies: boolean;
  /** First day on which this rule lets go; null while it has no end, or does not apply. */
  readonly until: string | null;
  readonly says: string;
}

export interface Retention {
  /** First day on which the records need not be kept any more; null while a legal hold lies on them. */
  readonly until: string | null;
  /** The rule that won. */
  readonly rule: string;
  readonly rules: readonly RetentionRule[];
}

/** Routes on which units are placed on the market; a custom-made one has a rule of its own. */
const MARKET: readonly Family['route'][] = ['market', 'patient-matched'];
const EU_YEARS = 15;
const LEAST_YEARS = 2;

/**
 * How long the records of a lot are kept: until the latest day that any rule asks for. The lifetime is the one that the
 * maker stated for the family (implantation until absorption and healing follow-up), never a default.
 * Sources: ISO 13485:2016 4.2.5; Regulation (EU) 2017/745 article 10(8) and annex XIII section 4; 21 CFR 806.20.
 */
export function retentionOf(facts: RetentionFacts): Retention {
  const rules = [
    lifetimeRule(facts),
    twoYearsRule(facts),
    marketRule(facts),
    customMadeRule(facts),
    correctionRule(facts),
    legalHoldRule(facts),
  ];
  const hold = rules.find((rule) => rule.applies && rule.until === null);
  if (hold) return { until: null, rule: hold.rule, rules };
  const [latest] = rules.filter((rule) => rule.applies).sort((a, b) => (a.until! > b.until! ? -1 : 1));
  return { until: latest!.until, rule: latest!.rule, rules };
}

/** For everything together: the audit trail is kept as long as the last record that it covers; undefined while there is no lot. */
export function latestRetention(all: readonly Retention[]): Retention | undefined {
  const endless = all.find((item) => item.until === null);
  return endless ?? [...all].sort((a, b) => (a.until! > b.until! ? -1 : 1))[0];
}

/** The same day so many years later; of the 29th of February the 1st of March. */
export function yearsAfter(day: string, years: number): string {
  const [year, month, date] = day.split('-').map(Number) as [number, number, number];
  return new Date(Date.UTC(year + years, month - 1, date)).toISOString().slice(0, 10);
}

const ruleOf = ({ rule, source }: { readonly rule: string; readonly source: string }) => ({ rule, source });

const start = ({ releasedOn, lastRecordedOn }: RetentionFacts): string => releasedOn ?? lastRecordedOn;

const startText = (facts: RetentionFacts): string =>
  facts.releasedOn === null ? RETENTION.fromLastFact(facts.lastRecordedOn) : RETENTION.fromRelease(facts.releasedOn);

function lifetimeRule(facts: RetentionFacts): RetentionRule {
  const { years, basis } = facts.family.lifetime;
  return {
    ...ruleOf(RETENTION.lifetime),
    applies: true,
    until: yearsAfter(start(facts), years),
    says: RETENTION.lifetime.says(years, startText(facts), basis),
  };
}

function twoYearsRule(facts: RetentionFacts): RetentionRule {
  return {
    ...ruleOf(RETENTION.twoYears),
    applies: true,
    until: yearsAfter(start(facts), LEAST_YEARS),
    says: RETENTION.twoYears.says(LEAST_YEARS, startText(facts)),
  };
}

function marketRule(facts: RetentionFacts): RetentionRule {
  const { route, classEu } = facts.family;
  const applies = classEu !== undefined && MARKET.includes(route);
  const last = facts.familyLastReleasedOn ?? facts.lastRecordedOn;
  return {
    ...ruleOf(RETENTION.market),
    applies,
    until: applies ? yearsAfter(last, EU_YEARS) : null,
    says: applies ? RETENTION.market.says(EU_YEARS, last) : noEuRule(facts, RETENTION.market.route),
  };
}

function customMadeRule(facts: RetentionFacts): RetentionRule {
  const { route, classEu } = facts.family;
  const applies = classEu !== undefined && route === 'custom-made';
  return {
    ...ruleOf(RETENTION.customMade),
    applies,
    until: applies ? yearsAfter(start(facts), EU_YEARS) : null,
    says: applies ? RETENTION.customMade.says(EU_YEARS, startText(facts)) : noEuRule(facts, RETENTION.customMade.route),
  };
}

const noEuRule = ({ family }: RetentionFacts, route: string): string =>
  family.classEu === undefined ? RETENTION.noClass : RETENTION.otherRoute(family.route, route);

function correctionRule(facts: RetentionFacts): RetentionRule {
  const years = facts.family.lifetime.years + LEAST_YEARS;
  return {
    ...ruleOf(RETENTION.corrections),
    applies: facts.revoked,
    until: facts.revoked ? yearsAfter(start(facts), years) : null,
    says: facts.revoked
      ? RETENTION.corrections.says(LEAST_YEARS, years, startText(facts))
      : RETENTION.corrections.notRevoked,
  };
}

function legalHoldRule({ legalHold }: RetentionFacts): RetentionRule {
  return {
    ...ruleOf(RETENTION.legalHold),
    applies: legalHold !== null,
    until: null,
    says: legalHold === null ? RETENTION.legalHold.none : RETENTION.legalHold.says(legalHold.since, legalHold.reason),
  };
}
