/** Patterns on a control chart, by the names used everywhere in the product. */
export const RUN_RULES = [
  'beyondThreeSigma',
  'nineOneSide',
  'eightOneSide',
  'sixSteady',
  'sevenSteady',
  'fourteenAlternating',
  'twoOfThreeBeyondTwoSigma',
  'fourOfFiveBeyondOneSigma',
  'fifteenWithinOneSigma',
  'eightOutsideOneSigma',
] as const;

export type RunRule = (typeof RUN_RULES)[number];

/** Charts that a plan may take as rules beside the patterns: each signals where it passes its own limit. */
export const CHART_RULES = ['movingRange', 'ewma', 'cusum'] as const;

export type ChartRule = (typeof CHART_RULES)[number];
