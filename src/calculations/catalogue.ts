import { NotFoundError } from '../base/errors.js';
import { boxCox } from './box-cox.js';
import type { AnyCalculation } from './calculation.js';
import { capability } from './capability.js';
import { capabilityBound } from './capability-bound.js';
import { capabilityClusters } from './capability-clusters.js';
import { capabilityPercentile } from './capability-percentile.js';
import { chartConstants } from './chart-constants.js';
import { countChart } from './count-chart.js';
import { currentRate } from './current-rate.js';
import { cusum } from './cusum.js';
import { decision } from './decision.js';
import { decisionRisk } from './decision-risk.js';
import { equalVariance } from './equal-variance.js';
import { equivalentWeight } from './equivalent-weight.js';
import { ewma } from './ewma.js';
import { fit } from './fit.js';
import { gaugeStudy } from './gauge-study.js';
import { hydrogenRate } from './hydrogen-rate.js';
import { individualsChart } from './individuals-chart.js';
import { lineFit } from './line-fit.js';
import { lossOverTime } from './loss-over-time.js';
import { massLossRate } from './mass-loss-rate.js';
import { nestedVariance } from './nested-variance.js';
import { normality } from './normality.js';
import { oneWayAnova } from './one-way-anova.js';
import { operatingCharacteristic } from './operating-characteristic.js';
import { outlier } from './outlier.js';
import { rateUncertainty } from './rate-uncertainty.js';
import { residualSection } from './residual-section.js';
import { round } from './round.js';
import { runLength } from './run-length.js';
import { runRules } from './run-rules.js';
import { sampleSize } from './sample-size.js';
import { samplingPlan } from './sampling-plan.js';
import { shapeDeviation } from './shape-deviation.js';
import { subgroupChart } from './subgroup-chart.js';
import { summary } from './summary.js';
import { supportWindow } from './support-window.js';
import { toleranceFactor } from './tolerance-factor.js';
import { toleranceInterval } from './tolerance-interval.js';
import { trendTest } from './trend-test.js';
import { variablesPlan } from './variables-plan.js';
import { varianceComponents } from './variance-components.js';

/** Every calculation that is offered on the command line, in the API and on the pages, in the order of the docs. */
export const CALCULATIONS: readonly AnyCalculation[] = [
  summary,
  oneWayAnova,
  capability,
  capabilityBound,
  capabilityClusters,
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
  lossOverTime,
  supportWindow,
  rateUncertainty,
  shapeDeviation,
  trendTest,
  lineFit,
];

/** @throws NotFoundError when there is no calculation of that name. */
export function calculationNamed(name: string): AnyCalculation {
  const found = CALCULATIONS.find((calculation) => calculation.name === name);
  if (!found) throw new NotFoundError('calculation', name, 'in this program');
  return found;
}
