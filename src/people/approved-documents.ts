/** Documents that their author signs and quality approves. */
export const QUALITY_DOCUMENTS = [
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
  'software',
  'gap-answer',
  'baseline',
  'unit-move',
];

/** What the law allows is for whoever knows the law. */
export const REGULATORY_DOCUMENTS = ['route-permission'];

export const DOCUMENTS = [...QUALITY_DOCUMENTS, ...REGULATORY_DOCUMENTS];
