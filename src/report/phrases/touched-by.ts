/** Words on what touched a surface that is measured. */
export const TOUCHED_BY = {
  one: (number: string, category: string, material: string, uses: number, most: number | undefined) =>
    `${category} ${number} of ${material}, ${most === undefined ? `${uses} ${uses === 1 ? 'use' : 'uses'}` : `${uses} of ${most} uses so far`}`,
  unknown: (number: string) => `${number}, of which nothing is recorded`,
  none: 'nothing that the lot names',
  told: (what: readonly string[]) => `touched by ${what.join('; ')}`,
};
