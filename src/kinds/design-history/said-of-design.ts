/** Of which a way from need to test consists, and the hazards that lead into it: each is tied to those before it, and to none after. */
export const KINDS_OF_WAY = [
  'user-need',
  'design-input',
  'design-output',
  'design-study',
  'hazard',
  'risk-control',
] as const;

/** What the design says of itself. It gives something else to those who make it, or nothing would ever come of it. */
export const SAID_OF_DESIGN: readonly string[] = [
  ...KINDS_OF_WAY,
  'design-plan',
  'design-review',
  'design-change',
  'design-transfer',
  'gap-answer',
  'baseline',
];
