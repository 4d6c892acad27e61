import type { RunRule } from '../../../statistics/run-rules.js';

/** Words of the pictures that show a characteristic of the family over its builds. */
export const CAPABILITY_FIGURES = {
  history: (title: string) => `${title}: values in build order`,
  histogram: (title: string) => `${title}: histogram`,
  historyTitle: (title: string) => `${title}, single values in build order`,
  order: 'Specimen in build order',
  thisLot: 'this lot',
  historyAlt: (earlier: number, own: number, least: number, most: number, unit: string) =>
    `${earlier} values of earlier builds and ${own} of this lot in the order of building, between ${least} and ${most} ${unit}.`,
  historyCaption: (title: string, hasLimits: boolean) =>
    `${title}: the last values of earlier builds that the pooling rule admits, then those of this lot. ${
      hasLimits
        ? 'Limits of the chart are those of the baseline of a signed plan; the points of this lot are tested against them.'
        : 'The chart has no limits: no signed plan fixes them.'
    }`,
  histogramTitle: (title: string) => `${title} against its limits`,
  histogramAlt: (values: number) => `Histogram of ${values} values with the limits of the specification.`,
  histogramCaption: (title: string, { earlier, own, n }: { earlier: number; own: number; n: number | null }) =>
    `${title}: the last ${earlier} values of earlier builds and ${own} of this lot.${
      n === null
        ? ''
        : ` The curve is the normal distribution with mean and standard deviation of all ${n} earlier values.`
    }`,
  beyondUpper: 'beyond upper limit',
  beyondLower: 'beyond lower limit',
};

/** Short enough to stand beside a point; the notes of the capability tell a rule in full. */
export const BESIDE_A_POINT: Partial<Record<RunRule, string>> = {
  nineOneSide: 'nine on one side',
  sixSteady: 'six rising or falling',
};
