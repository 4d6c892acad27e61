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
