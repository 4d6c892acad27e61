import type { NamedStep, VerifyFinding } from '../report/phrases/verify.js';

/**
 * How a step stands. `differs`: honest, but this version of the program comes to something else. `not known`: a later version
 * made it, and this one cannot read it.
 */
export type Outcome = 'holds' | 'does not hold' | 'differs' | 'not known' | 'not checked';

/** One thing that was looked at, and how it stands: codes and facts. */
export type VerifyStep = NamedStep & VerifyFinding & { readonly outcome: Outcome };
