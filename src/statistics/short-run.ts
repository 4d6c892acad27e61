/*
 * Values of several characteristics or part families on one chart, for lots of a few pieces.
 * Source: Montgomery, Introduction to Statistical Quality Control, section on short production runs.
 */

/** Deviation from nominal: value − nominal, where all families spread alike. */
export function deviationsFromNominal(values: readonly number[], nominals: readonly number[]): number[] {
  return values.map((value, i) => value - nominals[i]!);
}

/** Standardised: (value − nominal) / sd, each with its own family's nominal and standard deviation (above 0). */
export function standardised(values: readonly number[], nominals: readonly number[], sds: readonly number[]): number[] {
  return values.map((value, i) => (value - nominals[i]!) / sds[i]!);
}
