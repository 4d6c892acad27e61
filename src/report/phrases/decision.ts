/** What people decided on an implant, and what lies over it. */
export const DECISION = {
  open: 'not decided',
  onHold: 'on hold',
  revoked: 'release revoked',
  turned: 'verdict changed by other rules since',
  by: (meaning: string, name: string): string => `${meaning} by ${name}`,
  noReason: 'none given',
};

/** `released, on hold: pores in the neck`; `not decided`. The hold is told by its reason, null when there is none. */
export function decisionAndHoldText(decision: string, hold: string | null): string {
  const decided = decision === 'open' ? DECISION.open : decision;
  return hold === null ? decided : `${decided}, ${DECISION.onHold}: ${hold}`;
}
