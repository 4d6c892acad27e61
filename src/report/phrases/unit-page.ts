import type { Verdict } from '../../assessment/assessment.js';
import { ABSENT } from './absent.js';
import { verdictText } from './codes.js';
import { HEADS } from './heads.js';

/** The page of one implant in the lot record. */
export const UNIT_PAGE = {
  title: (serial: string, verdict: Verdict) => `Implant ${serial}: ${verdictText(verdict)}`,
  what: 'For',
  caseOf: (code: string, site: string, side: string) => `case ${code}, ${site}, ${side}`,
  caseWithheld: (code: string) => `case ${code}, its facts are withheld`,
  made: 'Made',
  madeIn: (builds: string, place: string, recipe: string, iteration: number) =>
    `in ${builds}${place === '' ? '' : `, ${place}`}, by ${recipe}, design iteration ${iteration}`,
  decision: 'Decision',
  against: 'Against it',
  nothing: ABSENT.nothing,
  metal: 'Its metal, by heat',
  heats: 'Heat',
  noHeat: 'no heat named',
  receipt: 'Receipt',
  share: '% of the mass',
  supplier: 'Supplier',
  certificate: 'Certificate, expiry',
  certificateOf: (certificate: string, expiry: string) => `${certificate}, ${expiry}`,
  noCertificate: ABSENT.noCertificate,
  noExpiry: 'no expiry',
  build: 'Build',
  stockPart: (code: string) => `stock part ${code}`,
  notWeighed: 'not weighed',
  wasImplant: (implant: string, lot: string) => (lot === '' ? `was ${implant}` : `was ${implant} of lot ${lot}`),
  noMetal: 'No powder is named for its builds.',
  zones: 'Its zones: what the recipe sets, and what was logged of it there',
  zone: 'Zone as logged, layers',
  zoneOf: (zone: string, recipeZone: string, from: number, to: number) => `${zone} (${recipeZone}), ${from} to ${to}`,
  step: 'Step',
  set: 'Set',
  logged: 'Logged: mean (least to most)',
  loggedOf: (channel: string, mean: string, least: string, most: string, unit: string) =>
    `${channel} ${mean} ${unit} (${least} to ${most})`,
  nothingLogged: 'no channel of it is logged',
  results: 'Its values between their limits',
  figureKey: 'Dot: conforms · cross: does not conform or cannot be decided · bar: limit · hatched: guard band',
  limitsMoved: (title: string, limits: string) => `${title}: ${limits}`,
  figureAlt: (unit: string, strips: number, values: number, outside: number) =>
    `${values} values that speak for ${unit} in ${strips} characteristics, each between its limits; ${outside} do not conform or cannot be decided.`,
  figureCaption: 'Each characteristic on a scale of its own; the values stand in the section on inspection.',
  coupons: 'Coupons that speak for it',
  coupon: 'Coupon, build',
  couponOf: (coupon: string, build: string) => `${coupon}, ${build}`,
  couponZones: 'Zones, layers',
  couponZone: (zone: string, from: number, to: number) => `${zone} (${from} to ${to})`,
  study: 'Study and its conclusion',
  studyOf: (study: string, revision: number, conclusion: string) => `${HEADS.revision(study, revision)}: ${conclusion}`,
  conclusionMissing: 'not among the documents of this lot',
  noStudy: 'no study named',
  rationale: 'Rationale',
  noCoupon: 'No coupon speaks for it.',
};
