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
