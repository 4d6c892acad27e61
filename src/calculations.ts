import { NotFoundError } from './errors.js';
import type { AnyCalculation } from './statistics/calculation.js';
import { capability } from './statistics/calculations/capability.js';
import { capabilityBound } from './statistics/calculations/capability-bound.js';
import { capabilityPercentile } from './statistics/calculations/capability-percentile.js';
import { chartConstants } from './statistics/calculations/chart-constants.js';
import { countChart } from './statistics/calculations/count-chart.js';
import { cusum } from './statistics/calculations/cusum.js';
import { ewma } from './statistics/calculations/ewma.js';
import { individualsChart } from './statistics/calculations/individuals-chart.js';
import { oneWayAnova } from './statistics/calculations/one-way-anova.js';
import { operatingCharacteristic } from './statistics/calculations/operating-characteristic.js';
import { runLength } from './statistics/calculations/run-length.js';
import { runRules } from './statistics/calculations/run-rules.js';
import { sampleSize } from './statistics/calculations/sample-size.js';
import { samplingPlan } from './statistics/calculations/sampling-plan.js';
import { subgroupChart } from './statistics/calculations/subgroup-chart.js';
import { summary } from './statistics/calculations/summary.js';
import { toleranceFactor } from './statistics/calculations/tolerance-factor.js';
import { toleranceInterval } from './statistics/calculations/tolerance-interval.js';
import { variablesPlan } from './statistics/calculations/variables-plan.js';

/** Every calculation that is offered on the command line, in the API and on the pages, in the order of the docs. */
export const CALCULATIONS: readonly AnyCalculation[] = [
  summary,
  oneWayAnova,
  capability,
  capabilityBound,
  capabilityPercentile,
  chartConstants,
  individualsChart,
  subgroupChart,
  countChart,
  runRules,
  ewma,
  cusum,
  runLength,
  toleranceFactor,
  toleranceInterval,
  sampleSize,
  samplingPlan,
  operatingCharacteristic,
  variablesPlan,
];

/** @throws NotFoundError when there is no calculation of that name. */
export function calculationNamed(name: string): AnyCalculation {
  const found = CALCULATIONS.find((calculation) => calculation.name === name);
  if (!found) throw new NotFoundError('calculation', name);
  return found;
}
