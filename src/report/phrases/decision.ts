import type { ReleaseStep } from '../../dossier/release-step.js';
import type { Statement } from '../../dossier/statement.js';
import { meaningText } from './codes.js';
import { releasedText, releaseStepText, signedAsText } from './release-steps.js';

/** What people decided on an implant, and what lies over it. */
export const DECISION = {
  open: 'not decided',
  moved: (lot: string) => `went on in lot ${lot}`,
  onHold: 'on hold',
  revoked: 'release revoked',
  turned: 'verdict changed by other rules since',
  by: (statement: Pick<Statement, 'meaning' | 'step' | 'person'>): string =>
    `${signedAsText(statement)} by ${statement.person.name}`,
  revokedOf: (step: ReleaseStep, name: string): string =>
    `release for ${releaseStepText(step)} revoked, once by ${name}`,
  noReason: 'none given',
};

/** What lies over a decision, by code: the word of `DECISION` of the same name. */
export type LiesOver = 'onHold' | 'revoked' | 'turned';

/** What people decided on an implant. */
interface Decided {
  readonly decision: string;
  readonly releasedFor: readonly ReleaseStep[];
}

/** `released for sterilisation, not for distribution`, `not decided`, `release revoked; released for sterilisation, …`. */
export function decisionText({ decision, releasedFor }: Decided): string {
  if (decision === 'open') return DECISION.open;
  if (decision === 'revoked') return [DECISION.revoked, releasedText(releasedFor)].filter(Boolean).join('; ');
  return decision === 'released' ? releasedText(releasedFor) : meaningText(decision);
}

/** `rejected, on hold: pores in the neck`; `not decided`. The hold is told by its reason, null when there is none. */
export function decisionAndHoldText(decided: Decided, hold: string | null): string {
  const says = decisionText(decided);
  return hold === null ? says : `${says}, ${DECISION.onHold}: ${hold}`;
}
