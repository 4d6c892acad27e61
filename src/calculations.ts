import { NotFoundError } from './errors.js';
import type { AnyCalculation } from './statistics/calculation.js';
import { capability } from './statistics/calculations/capability.js';
import { capabilityBound } from './statistics/calculations/capability-bound.js';
import { individualsChart } from './statistics/calculations/individuals-chart.js';
import { runRules } from './statistics/calculations/run-rules.js';
import { summary } from './statistics/calculations/summary.js';
import { toleranceFactor } from './statistics/calculations/tolerance-factor.js';
import { toleranceInterval } from './statistics/calculations/tolerance-interval.js';

/** Every calculation that is offered on the command line, in the API and on the pages, in the order of the docs. */
export const CALCULATIONS: readonly AnyCalculation[] = [
  summary,
  capability,
  capabilityBound,
  individualsChart,
  runRules,
  toleranceFactor,
  toleranceInterval,
];

/** @throws NotFoundError when there is no calculation of that name. */
export function calculationNamed(name: string): AnyCalculation {
  const found = CALCULATIONS.find((calculation) => calculation.name === name);
  if (!found) throw new NotFoundError('calculation', name);
  return found;
}
