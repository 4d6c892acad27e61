import { RELEASE_STEPS, type ReleaseStep } from '../../dossier/release-step.js';
import { NOTHING_TO_ASK } from './absent.js';
import { DECISION } from './decision.js';
import { releasedText } from './release-steps.js';

/** What people decided on one implant, and the hold that lies on it. */
interface Decided {
  readonly decision: 'released' | 'rejected' | 'revoked' | 'open';
  readonly releasedFor: readonly ReleaseStep[];
  readonly hold: object | null;
}

/** Of a lot of which nothing was ever decided. */
export const NONE_LEFT = 'no implant is left: each was tested, kept back or scrapped';

/** The state of a lot in words, derived from its units: `released for sterilisation in part, 3 of 5, not for distribution`. */
export function lotStateText(states: readonly Decided[]): string {
  const all = states.length;
  if (all === 0) return NOTHING_TO_ASK.noImplants;
  const held = states.filter((state) => state.hold !== null).length;
  const hold = held === 0 ? '' : `; ${held === all ? DECISION.onHold : `${held} of ${all} ${DECISION.onHold}`}`;
  return `${decidedText(states)}${hold}`;
}

function decidedText(states: readonly Decided[]): string {
  const all = states.length;
  const count = (decision: Decided['decision']) => states.filter((state) => state.decision === decision).length;
  const [rejected, revoked] = [count('rejected'), count('revoked')];
  if (revoked > 0) return `release revoked for ${revoked} of ${all}`;
  if (rejected === all) return 'rejected';
  // Where some went further than others, each step tells how many.
  const last = (step: ReleaseStep) => states.filter(({ releasedFor }) => releasedFor.at(-1) === step).length;
  const counts = RELEASE_STEPS.map((step) => ({ step, count: last(step) })).filter(({ count }) => count > 0);
  const released = counts.reduce((sum, { count }) => sum + count, 0);
  if (released === 0) return rejected > 0 ? `rejected in part, ${rejected} of ${all}` : 'in review';
  const parts = counts.map(({ step, count }) => {
    const says = releasedText([step]);
    return count === all ? says : `${count} of ${all} ${says}`;
  });
  const rest = rejected > 0 ? [`${rejected} rejected`] : [];
  const open = all - released - rejected;
  return [...parts, ...rest, ...(open > 0 ? [`${open} ${DECISION.open}`] : [])].join('; ');
}

/** The state of a lot of which nothing is decided: what is proposed for its implants. */
export function proposedText(verdicts: readonly string[]): string {
  if (verdicts.length === 0) return NOTHING_TO_ASK.noImplants;
  if (verdicts.every((verdict) => verdict === 'not assessed')) return 'not assessed yet';
  const conforming = verdicts.filter((verdict) => verdict === 'conforms').length;
  if (conforming === verdicts.length) return 'every implant conforms (proposed)';
  return `${conforming} of ${verdicts.length} conform (proposed)`;
}

/** @param says why not. */
export const notMadeAheadText = (says: string): string =>
  `what lists say of lots could not be made at the start: ${says}. The first pages take longer.`;

/** @param lots that something touched, and that are being looked at again while the page is shown. */
export const lotsBehindText = (lots: number): string =>
  lots === 0
    ? ''
    : `${lots === 1 ? '1 lot is' : `${lots} lots are`} being looked at again after a change, and may stand here as before. Look again in a few seconds.`;
