import { NOTHING_TO_ASK } from './absent.js';
import { DECISION } from './decision.js';

/** What people decided on one implant, and the hold that lies on it. */
interface Decided {
  readonly decision: 'released' | 'rejected' | 'revoked' | 'open';
  readonly hold: object | null;
}

/** The state of a lot in words, derived from its units: `released in part, 3 of 5`. */
export function lotStateText(states: readonly Decided[]): string {
  const count = (decision: Decided['decision']) => states.filter((state) => state.decision === decision).length;
  const [released, rejected, revoked] = [count('released'), count('rejected'), count('revoked')];
  const all = states.length;
  const held = states.filter((state) => state.hold !== null).length;
  const hold = held === 0 ? '' : `; ${held === all ? DECISION.onHold : `${held} of ${all} ${DECISION.onHold}`}`;
  if (all === 0) return NOTHING_TO_ASK.noImplants;
  if (revoked > 0) return `release revoked for ${revoked} of ${all}${hold}`;
  if (released === all) return `released${hold}`;
  if (rejected === all) return `rejected${hold}`;
  if (released + rejected === all) return `closed: ${released} of ${all} released, ${rejected} rejected${hold}`;
  if (released > 0) return `released in part, ${released} of ${all}${hold}`;
  if (rejected > 0) return `rejected in part, ${rejected} of ${all}${hold}`;
  return `in review${hold}`;
}

/** The state of a lot of which nothing is decided: what is proposed for its implants. */
export function proposedText(verdicts: readonly string[]): string {
  if (verdicts.length === 0) return NOTHING_TO_ASK.noImplants;
  if (verdicts.every((verdict) => verdict === 'not assessed')) return 'not assessed yet';
  const conforming = verdicts.filter((verdict) => verdict === 'conforms').length;
  if (conforming === verdicts.length) return 'every implant conforms (proposed)';
  return `${conforming} of ${verdicts.length} conform (proposed)`;
}
