import type { ReleaseStep } from '../dossier/release-step.js';
import type { LiesOver } from './phrases/decision.js';

/** What the decisions on an implant permit, as a code. */
export type Permits = 'nothing' | ReleaseStep;

/**
 * @param released steps for which the implant is released as it stands, in their order.
 * @param over what lies over it.
 */
export const permitsOf = (released: readonly ReleaseStep[], over: readonly LiesOver[]): Permits =>
  over.includes('onHold') ? 'nothing' : (released.at(-1) ?? 'nothing');
