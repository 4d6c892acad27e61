import { HEADS } from './heads.js';

/** Words of the section "statistics" of the lot record. */
export const STATISTICS = {
  poolingRule: (rationale: string) => `Pooling rule: ${rationale}`,
  readWithCare: HEADS.readWithCare,
  limits: 'Limits',
  earlierValues: 'Earlier values',
  earlierOf: (n: number, builds: number, excluded: string) => `${n} from ${builds} builds${excluded}`,
  meanAndStandardDeviation: 'Mean and standard deviation',
  meanOf: (mean: string, sd: string, unit: string) => `${mean} and ${sd} ${unit}`,
  ppk: 'Ppk',
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
