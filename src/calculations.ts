import { currentRate } from './degradation/calculations/current-rate.js';
import { equivalentWeight } from './degradation/calculations/equivalent-weight.js';
import { hydrogenRate } from './degradation/calculations/hydrogen-rate.js';
import { massLossRate } from './degradation/calculations/mass-loss-rate.js';
import { rateUncertainty } from './degradation/calculations/rate-uncertainty.js';
import { residualSection } from './degradation/calculations/residual-section.js';
import { NotFoundError } from './errors.js';
import type { AnyCalculation } from './statistics/calculation.js';
import { boxCox } from './statistics/calculations/box-cox.js';
import { capability } from './statistics/calculations/capability.js';
import { capabilityBound } from './statistics/calculations/capability-bound.js';
import { capabilityPercentile } from './statistics/calculations/capability-percentile.js';
import { chartConstants } from './statistics/calculations/chart-constants.js';
import { countChart } from './statistics/calculations/count-chart.js';
import { cusum } from './statistics/calculations/cusum.js';
import { decision } from './statistics/calculations/decision.js';
import { decisionRisk } from './statistics/calculations/decision-risk.js';
import { equalVariance } from './statistics/calculations/equal-variance.js';
import { ewma } from './statistics/calculations/ewma.js';
import { fit } from './statistics/calculations/fit.js';
import { gaugeStudy } from './statistics/calculations/gauge-study.js';
import { individualsChart } from './statistics/calculations/individuals-chart.js';
import { lineFit } from './statistics/calculations/line-fit.js';
import { nestedVariance } from './statistics/calculations/nested-variance.js';
import { normality } from './statistics/calculations/normality.js';
import { oneWayAnova } from './statistics/calculations/one-way-anova.js';
import { operatingCharacteristic } from './statistics/calculations/operating-characteristic.js';
import { outlier } from './statistics/calculations/outlier.js';
import { round } from './statistics/calculations/round.js';
import { runLength } from './statistics/calculations/run-length.js';
import { runRules } from './statistics/calculations/run-rules.js';
import { sampleSize } from './statistics/calculations/sample-size.js';
import { samplingPlan } from './statistics/calculations/sampling-plan.js';
import { subgroupChart } from './statistics/calculations/subgroup-chart.js';
import { summary } from './statistics/calculations/summary.js';
import { toleranceFactor } from './statistics/calculations/tolerance-factor.js';
import { toleranceInterval } from './statistics/calculations/tolerance-interval.js';
import { trendTest } from './statistics/calculations/trend-test.js';
import { variablesPlan } from './statistics/calculations/variables-plan.js';
import { varianceComponents } from './statistics/calculations/variance-components.js';

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
  normality,
  outlier,
  fit,
  boxCox,
  equalVariance,
  gaugeStudy,
  nestedVariance,
  varianceComponents,
  decision,
  decisionRisk,
  round,
  massLossRate,
  hydrogenRate,
  currentRate,
  equivalentWeight,
  residualSection,
  rateUncertainty,
  trendTest,
  lineFit,
];

/** @throws NotFoundError when there is no calculation of that name. */
export function calculationNamed(name: string): AnyCalculation {
  const found = CALCULATIONS.find((calculation) => calculation.name === name);
  if (!found) throw new NotFoundError('calculation', name);
  return found;
}
