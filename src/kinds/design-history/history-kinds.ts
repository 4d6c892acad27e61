import type { KindName } from '../catalogue.js';

/** Kinds of documents that a design history is made of; without any of them there is none. */
export const HISTORY_KINDS = [
  'design-plan',
  'user-need',
  'design-input',
  'design-output',
  'design-study',
  'design-review',
  'hazard',
  'risk-control',
  'design-change',
  'design-transfer',
  'labelling-decision',
] as const satisfies KindName[];

/** Kinds of documents that name the family whose design they are part of. */
export const DOCUMENTS_OF_FAMILY = [
  ...HISTORY_KINDS,
  'process-validation',
  'recipe',
  'specification',
  'design-envelope',
] as const satisfies KindName[];

/** Of which a way from need to test consists, and the hazards that lead into it: each is tied to those before it, and to none after. */
export const KINDS_OF_WAY = [
  'user-need',
  'design-input',
  'design-output',
  'design-study',
  'hazard',
  'risk-control',
] as const satisfies KindName[];

/** What the design says of itself. It gives something else to those who make it, or nothing would ever come of it. */
export const SAID_OF_DESIGN: readonly string[] = [
  ...KINDS_OF_WAY,
  'design-plan',
  'design-review',
  'design-change',
  'design-transfer',
  'gap-answer',
  'baseline',
] satisfies KindName[];
