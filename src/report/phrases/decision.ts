import { meaningText } from './codes.js';

/** What people decided on an implant, and what lies over it. */
export const DECISION = {
  open: 'not decided',
  onHold: 'on hold',
  revoked: 'release revoked',
  turned: 'verdict changed by other rules since',
  by: (meaning: string, name: string): string => `${meaningText(meaning)} by ${name}`,
  revokedOf: (name: string): string => `release revoked, once by ${name}`,
  noReason: 'none given',
};

/** What lies over a decision, by code: the word of `DECISION` of the same name. */
export type LiesOver = 'onHold' | 'revoked' | 'turned';

/** The state of an implant as people decided it: `released`, `not decided`, `release revoked`. */
export function decisionText(decision: string): string {
  if (decision === 'open') return DECISION.open;
  return decision === 'revoked' ? DECISION.revoked : meaningText(decision);
}

/** `released, on hold: pores in the neck`; `not decided`. The hold is told by its reason, null when there is none. */
export function decisionAndHoldText(decision: string, hold: string | null): string {
  const decided = decisionText(decision);
  return hold === null ? decided : `${decided}, ${DECISION.onHold}: ${hold}`;
}
