import type { CaseStory } from './cases.js';
import type { CoatedLot } from './lots.js';

const casesOf = (run: number, count: number, law: CaseStory['law']): CaseStory[] =>
  Array.from({ length: count }, (_, index) => ({
    run,
    n: index + 1,
    law,
    prescribedOn: '2026-09-02',
    imagesOn: '2026-08-20',
    surgeryOn: `2026-12-0${index + 3}`,
  }));

/** A coupon that slipped and its spare, an implant that was reworked, one by concession, one as it should be. */
export const FIRST: CoatedLot = {
  lot: 'C-2026-01',
  run: 31,
  day: '2026-09-21',
  cases: casesOf(31, 3, 'EU'),
  coupons: 2,
  spares: 1,
  sa: { 'CP-31-2': '6.42' },
  thickness: { 'CP-31-3': '1.561' },
  slipped: { 'X31-2/T1': '151.8' },
};
/** A plan that changed, a case that was cancelled, and one implant that goes. */
export const SECOND: CoatedLot = {
  lot: 'C-2026-02',
  run: 32,
  day: '2026-09-23',
  cases: casesOf(32, 3, 'EU'),
  coupons: 2,
  spares: 0,
};
/** The fourth case of a year under the law US, and a permission that ended before the day of the release. */
export const THIRD: CoatedLot = {
  lot: 'C-2026-03',
  run: 33,
  day: '2026-09-25',
  cases: casesOf(33, 4, 'US'),
  coupons: 2,
  spares: 0,
};
export const ALL = [FIRST, SECOND, THIRD];
export const STORY_LOTS = ALL.map(({ lot }) => lot);
