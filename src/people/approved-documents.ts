import { HISTORY_KINDS } from '../kinds/design-history/history-kinds.js';

/** Documents that their author signs and quality approves. */
export const QUALITY_DOCUMENTS: string[] = [
  'family',
  'specification',
  'recipe',
  'method',
  'process-validation',
  'equivalence-study',
  'program-version',
  'material-specification',
  'rework-instruction',
  'design-envelope',
  'case-design',
  'support-window',
  'test-medium',
  'capability-plan',
  'signal-outcome',
  ...HISTORY_KINDS,
  'software',
  'gap-answer',
  'baseline',
  'unit-move',
];

/** What the law allows is for whoever knows the law. */
export const REGULATORY_DOCUMENTS = ['route-permission'];

export const DOCUMENTS = [...QUALITY_DOCUMENTS, ...REGULATORY_DOCUMENTS];
