import { z } from 'zod';
import { CalculationError } from '../base/errors.js';
import { countChart as countsOnly, fractionChart } from '../statistics/count-chart.js';
import { count, requireSpread } from '../statistics/inputs.js';
import { beyondLimits, inOrder, patternSignals } from '../statistics/signals.js';
import { notesWhere } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';
import { runRules, runRuleText } from './run-rules-field.js';

const LARGEST_COUNT = 1_000_000_000;

const input = z.strictObject({
  counts: z
    .array(count('a count', 0, LARGEST_COUNT))
    .min(2, 'needs at least 2 counts')
    .describe('nonconformities, or nonconforming items, of each sample, in time order'),
  sizes: z
    .array(count('a sample size', 1, LARGEST_COUNT))
    .describe('items in each sample; with them the chart is of fractions nonconforming')
    .optional(),
  rules: runRules,
});
type Input = z.infer<typeof input>;

export const countChart: AnyCalculation = defineCalculation({
  name: 'count-chart',
  purpose: 'Limits for counts of nonconformities, or for fractions nonconforming',
  input,
  output: {
    centre: 'mean count, or overall fraction nonconforming',
    lower: 'lower limit of each sample, not below 0',
    upper: 'upper limit of each sample (fractions: not above 1)',
    signals: 'samples beyond their limits, and the patterns asked for: index from 1 and rule',
  },
  formula: [
    'without sizes (c chart): centre = Σ counts / number of samples; limits centre ∓ 3 √centre',
    'with sizes (p chart): centre p = Σ counts / Σ sizes; limits p ∓ 3 √(p (1 − p) / size); points count / size',
    'lower limits below 0 are 0; upper limits of fractions above 1 are 1',
    'a point exactly on a limit is not beyond it; patterns: the run rules on z = (point − centre) / its sigma',
    runRuleText,
  ].join('\n'),
  source: 'NIST/SEMATECH e-Handbook 6.3.3.1 (counts) and 6.3.3.2 (fractions)',
  example: {
    input: { counts: [4, 2, 5, 9, 1, 3] },
    source: 'worked by hand',
    steps: [
      'centre = 24 / 6 = 4; sigma = √4 = 2',
      'lower = max(0, 4 − 6) = 0; upper = 4 + 6 = 10; no count lies beyond',
    ],
  },
  compute(given: Input) {
    const chart = given.sizes ? fractionChart(given.counts, checkedSizes(given)) : countsOnly(given.counts);
    const rules = given.rules ?? [];
    if (rules.length > 0) requireSpread(chart.sigmas[0]!, 'counts');
    return {
      centre: chart.centre,
      lower: chart.lower,
      upper: chart.upper,
      signals: inOrder([
        ...beyondLimits(chart.points, chart.lower, chart.upper),
        ...patternSignals(chart.points, chart.centre, chart.sigmas, rules),
      ]),
      method: given.sizes ? 'fractions nonconforming (p chart), limits by sample size' : 'counts (c chart)',
      source: given.sizes ? 'NIST/SEMATECH e-Handbook 6.3.3.2' : 'NIST/SEMATECH e-Handbook 6.3.3.1',
      notes: notesWhere(
        [true, given.sizes ? 'assumes binomial counts' : 'assumes Poisson counts on equal areas of opportunity'],
        [chart.sigmas[0] === 0, 'the counts leave no spread: both limits lie on the centre'],
      ),
    };
  },
});

function checkedSizes({ counts, sizes = [] }: Input): readonly number[] {
  if (sizes.length !== counts.length) {
    throw new CalculationError('sizes', `has ${sizes.length} entries for ${counts.length} counts`);
  }
  counts.forEach((found, i) => {
    if (found > sizes[i]!)
      throw new CalculationError(`counts.${i}`, `is more than the ${sizes[i]} items of its sample`);
  });
  return sizes;
}
