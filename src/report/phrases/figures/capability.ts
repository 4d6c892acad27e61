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
  historyCaption: (title: string) =>
    `${title}: values of earlier builds that the pooling rule admits, then those of this lot. Limits of the chart are computed from the earlier values.`,
  histogramTitle: (title: string) => `${title} against its limits`,
  histogramAlt: (values: number) => `Histogram of ${values} values with the limits of the specification.`,
  histogramCaption: (title: string, earlier: number, own: number) =>
    `${title}: ${earlier} values of earlier builds and ${own} of this lot. The curve is the normal distribution with mean and standard deviation of the earlier values.`,
  beyondUpper: 'beyond upper limit',
  beyondLower: 'beyond lower limit',
};

/** Short enough to stand beside a point; the notes of the capability tell a rule in full. */
export const BESIDE_A_POINT: Partial<Record<RunRule, string>> = {
  nineOneSide: 'nine on one side',
  sixSteady: 'six rising or falling',
};
