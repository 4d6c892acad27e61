/** How often the test of normality at 5 % finds values that are not normal, of 100 cases. */
export interface NormalityWeight {
  /** Skewed like chi-square with 4 degrees of freedom. */
  readonly skewed: number;
  /** With tails as heavy as those of Student's t with 4 degrees of freedom. */
  readonly heavyTailed: number;
}

/** Number of values, and of 100 cases how many are found: simulated, and rounded down to the next five. */
const FOUND: readonly (readonly [n: number, skewed: number, heavyTailed: number])[] = [
  [10, 20, 10],
  [15, 35, 15],
  [20, 50, 20],
  [25, 60, 25],
  [30, 70, 30],
  [40, 85, 35],
  [50, 90, 45],
  [75, 95, 55],
  [100, 95, 70],
];

/** What a Shapiro–Wilk test of so many independent values is worth, at least; undefined below 10. */
export function normalityWeight(n: number): NormalityWeight | undefined {
  const row = FOUND.findLast(([least]) => least <= n);
  return row && { skewed: row[1], heavyTailed: row[2] };
}
