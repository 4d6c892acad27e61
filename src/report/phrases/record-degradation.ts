import { ABSENT } from './absent.js';
import { HEADS } from './heads.js';

/** Words of the section "degradation" of the lot record. */
export const DEGRADATION = {
  readWithCare: HEADS.readWithCare,
  noRate: 'The specification asks for no rate of degradation.',
  left: 'What the rates would leave of the section',
  nothingIsComputed: (why: string) => `${why} Nothing is computed.`,
  testConditions: (title: string) => `${title}: test conditions`,
  method: 'Method',
  methodOf: (title: string, method: string, revision: number, standard: string) =>
    `${title} (${method} revision ${revision}); standard: ${standard}`,
  noneStated: ABSENT.noneStated,
  conditions: 'Conditions',
  values: 'Values',
  valuesAt: 'in the section on inspection and test',
  section: 'Section',
  sectionOf: (shape: string, sizeMm: string) => `${shape}, ${sizeMm} mm`,
  healingWindow: 'Healing window',
  windowOf: (weeks: number, strengthLeft: string) =>
    `${weeks} weeks; at its end at least ${strengthLeft} of the bending strength`,
  basis: 'Basis',
  depthOfLoss: 'Depth of loss',
  depthOf: 'rate × localisation factor × weeks × 7 / 365, on each face',
  atWeek: (weeks: number) => `At week ${weeks}, computed`,
  benchRate: 'Rate of the bench',
  rate: 'Rate',
  sizeLeft: 'Size left',
  bendingStrengthLeft: 'Bending strength left',
  againstTheWindow: 'Against the window',
  holds: 'stays above the limit',
  doesNotHold: 'falls below the limit',
  assumptions: 'What this takes for granted:',
};
