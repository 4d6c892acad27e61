import { HEADS } from './heads.js';

/** Words of the section "statistics" of the lot record. */
export const STATISTICS = {
  poolingRule: (rationale: string) => `Pooling rule: ${rationale}`,
  readWithCare: HEADS.readWithCare,
  family: 'Performance of the family, from values of earlier builds',
  characteristic: 'Characteristic, specified limits',
  earlierValuesBuilds: 'Earlier values (builds)',
  meanAndSpread: 'Mean; standard deviation',
  ppkAndBound: 'Ppk, and its lower bound',
  sentence: 'What the values say',
  appliedNote:
    'Where a study moved limits of coupons, the index against these stands first. Charts show values as measured and specified limits.',
  inFull: (name: string) =>
    `Ppk, not Cpk: it describes what was made and claims no stability. Signals turn no verdict. Each line in full: attached ${name}.`,
  /** @param limited whether any chart has limits of its own. */
  charts: (limited: boolean) =>
    `Each lot stands at the day on which its chamber was closed, or beside it where another one stands there: its values, a bar from the smallest to the largest, a stroke for their mean; this lot is in bold. The shaded band is what the specification allows. Shown are the last values of earlier builds that the pooling rule admits${limited ? '; chart limits are those of the baseline of a signed plan' : ''}.`,
  evidence:
    'Evidence: how the same values lie, with the normal distribution of the mean and standard deviation of all earlier values where an index is stated.',
  ofEach: (notes: readonly string[]) => `Of each of them: ${notes.join(' ')}`,
  limits: 'Limits',
  earlierValues: 'Earlier values',
  earlierOf: (n: number, builds: number, excluded: string) => `${n} from ${builds} builds${excluded}`,
  meanAndStandardDeviation: 'Mean and standard deviation',
  meanOf: (mean: string, sd: string, unit: string) => `${mean} and ${sd} ${unit}`,
  ppk: 'Ppk',
  ppkMoved: 'Ppk against moved limits',
  bounds: 'Lower bounds of Ppk',
  target: 'Target',
  whateverDistribution: 'Whatever the distribution',
  sinceBefore: 'Since the record before',
  withinAndBetween: 'Within and between builds',
  normality: 'Normal distribution',
  beyondLimits: 'Beyond the limits',
  ownPoints: 'Points of this lot',
  method: 'Method',
  takenOut: 'Taken out by a signed decision',
  chart: 'Limits of the chart',
  signal: 'Signal',
  notes: 'Notes',
  values: 'Values',
  valuesOf: (history: string, characteristic: string) =>
    `sums and the last values in the attached ${history}, characteristic ${characteristic}, when there are any; those of this lot in its result rows`,
};
