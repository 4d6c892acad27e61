import type { Meaning } from '../dossier/statement.js';
import type { LiesOver } from './phrases/decision.js';

/** What the decisions on an implant permit, as a code. A release does not say so far for which step it is. */
export type Permits = 'nothing' | 'step-not-said';

/**
 * @param decision the last decision on the implant that stands, if any.
 * @param over what lies over it.
 */
export function permitsOf(decision: Meaning | undefined, over: readonly LiesOver[]): Permits {
  const stands = decision === 'released' && !over.includes('revoked') && !over.includes('onHold');
  return stands ? 'step-not-said' : 'nothing';
}
