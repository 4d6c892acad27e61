import type { RunRule } from '../../../statistics/run-rules.js';
import { listed, told } from './listed.js';

/** What the picture of lots over time shows, as its numbers are written. */
interface HistoryNumbers {
  readonly unit: string;
  readonly earlier: readonly string[];
  readonly own: readonly string[];
  readonly lines: readonly string[];
  readonly flags: readonly string[];
}

interface HistogramNumbers {
  readonly unit: string;
  readonly values: number;
  readonly bars: readonly string[];
  readonly lines: readonly string[];
}

/** Words of the pictures that show a characteristic of the family over its builds. */
export const CAPABILITY_FIGURES = {
  history: (title: string) => `${title}: lots over time`,
  histogram: (title: string) => `${title}: histogram`,
  historyTitle: (title: string) => `${title}, lots over time`,
  historyAlt: ({ unit, earlier, own, lines, flags }: HistoryNumbers) =>
    `Lots where they stand in time, each with its values, in ${unit}. Earlier builds, ${earlier.length}: ${listed(earlier)}. This lot, ${own.length}: ${listed(own)}.${told('Lines', lines)}${told('Marked', flags)}`,
  line: (name: string, value: string) => `${name} ${value}`,
  flag: (specimen: string, words: string) => `${specimen} ${words}`,
  historyCaption: (title: string, hasLimits: boolean) =>
    `${title}: lots at the days on which their chambers were closed, over the band that the specification allows; of each its values, from the smallest to the largest, and their mean. Of earlier builds the last values that the pooling rule admits; this lot in bold. ${
      hasLimits
        ? 'Limits of the chart are those of the baseline of a signed plan; the points of this lot are tested against them.'
        : 'The chart has no limits: no signed plan fixes them.'
    }`,
  histogramTitle: (title: string) => `${title} against its limits`,
  histogramAlt: ({ unit, values, bars, lines }: HistogramNumbers) =>
    `Histogram of ${values} values, in ${unit}.${told('Bars', bars)}${told('Lines', lines)}`,
  bar: (from: string, to: string, count: number) => `${count} from ${from} to ${to}`,
  curve: (mean: string, sd: string) => `normal curve of mean ${mean} and standard deviation ${sd}`,
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
