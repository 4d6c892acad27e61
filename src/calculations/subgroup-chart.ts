import { z } from 'zod';
import { groups, requireSpread } from '../statistics/inputs.js';
import { beyondLimits, inOrder, patternSignals, type Signal } from '../statistics/signals.js';
import { subgroupChart as computeChart } from '../statistics/subgroup-chart.js';
import { notesWhere } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';
import { runRules, runRuleText } from './run-rules-field.js';

const input = z.strictObject({
  subgroups: groups('the values of each subgroup, subgroups in time order', 2, 2),
  spread: z.enum(['range', 'sd']).describe('spread within a subgroup: range or standard deviation'),
  rules: runRules,
});

export const subgroupChart: AnyCalculation = defineCalculation({
  name: 'subgroup-chart',
  purpose: 'Limits for the means and the spreads of subgroups, and the subgroups that ask for an explanation',
  input,
  output: {
    grandMean: 'mean of all subgroup means (weighted by size when the sizes differ)',
    meanSpread: 'mean range, or mean standard deviation (pooled when the sizes differ)',
    sigma: 'estimated standard deviation of single values',
    meanLower: 'lower limit of the means; one per subgroup when the sizes differ',
    meanUpper: 'upper limit of the means',
    spreadLower: 'lower limit of the ranges or standard deviations',
    spreadUpper: 'upper limit of the ranges or standard deviations',
    signals: 'subgroups whose mean or spread is beyond its limits, and the patterns asked for in the means',
  },
  formula: [
    'range: R = largest − smallest of a subgroup; means grandMean ∓ A2 meanSpread; ranges D3, D4 × meanSpread;',
    '  sigma = meanSpread / d2',
    'sd: s with divisor n − 1; means grandMean ∓ A3 meanSpread; standard deviations B3, B4 × meanSpread;',
    '  sigma = meanSpread / c4',
    'constants of subgroup size n (also from chart-constants): d2 = ∫ (1 − Φ(x)^n − (1 − Φ(x))^n) dx;',
    '  d3 = √(∫ 2 w (1 − F(w)) dw − d2²), F(w) = n ∫ φ(x) (Φ(x + w) − Φ(x))^(n−1) dx; c4 = √(2/(n − 1)) Γ(n/2)/Γ((n − 1)/2);',
    '  A2 = 3/(d2 √n); A3 = 3/(c4 √n); D3, D4 = 1 ∓ 3 d3/d2; B3, B4 = 1 ∓ 3 √(1 − c4²)/c4; D3 and B3 not below 0',
    'unequal sizes n_i: grandMean = Σ n_i mean_i / Σ n_i; sd: meanSpread = sigma = √(Σ (n_i − 1) s_i² / Σ (n_i − 1)), each',
    '  subgroup with its own A3, B3, B4; range: sigma = mean of R_i / d2(n_i), means grandMean ∓ 3 sigma / √n_i,',
    '  ranges sigma (d2 ∓ 3 d3) with its own constants',
    'patterns: the run rules on z = (mean − grandMean) / ((meanUpper − grandMean) / 3)',
    runRuleText,
  ].join('\n'),
  source:
    'Montgomery, Introduction to Statistical Quality Control, chapter on charts for variables; ' +
    'NIST/SEMATECH e-Handbook 6.3.2.1; ranges of unequal subgroups: common practice',
  example: {
    input: {
      subgroups: [
        [9.9, 10.1, 10],
        [10.2, 10, 10.1],
        [9.8, 10, 9.9],
        [10.1, 10.3, 10.1],
      ],
      spread: 'range',
    },
    source: 'worked by hand; constants of n = 3: d2 = 1.692569, A2 = 1.023327, D4 = 2.574593',
    steps: [
      'means 10.0, 10.1, 9.9, 10.166667; grandMean = 40.166667 / 4 = 10.041667',
      'ranges 0.2, 0.2, 0.2, 0.2; meanSpread = 0.2; sigma = 0.2 / 1.692569 = 0.118164',
      'meanLower = 10.041667 − 1.023327 × 0.2 = 9.837001; meanUpper = 10.246332',
      'spreadLower = 0 (D3 = 0); spreadUpper = 2.574593 × 0.2 = 0.514919; no subgroup lies beyond',
    ],
  },
  compute({ subgroups, spread, rules }: z.infer<typeof input>) {
    const { means, spreads, ...chart } = computeChart(subgroups, spread);
    requireSpread(chart.sigma, 'subgroups');
    const byMean = beyondLimits(means, chart.meanLower, chart.meanUpper);
    const bySpread = beyondLimits(spreads, chart.spreadLower, chart.spreadUpper);
    const meanSigma = meanSigmas(chart.meanUpper, chart.grandMean);
    return {
      ...chart,
      signals: inOrder([...byMean, ...bySpread, ...patternSignals(means, chart.grandMean, meanSigma, rules ?? [])]),
      method: `means and ${spread === 'range' ? 'ranges' : 'standard deviations'}, exact constants, limits at three sigma`,
      source: 'Montgomery, Introduction to Statistical Quality Control; NIST/SEMATECH e-Handbook 6.3.2.1',
      notes: notesWhere(
        [byMean.length > 0, `means beyond their limits: subgroups ${indexes(byMean)}`],
        [bySpread.length > 0, `spreads beyond their limits: subgroups ${indexes(bySpread)}`],
        [typeof chart.meanLower !== 'number', 'the sizes differ: each subgroup has its own limits'],
      ),
    };
  },
});

function meanSigmas(upper: number | readonly number[], centre: number): number | readonly number[] {
  return typeof upper === 'number' ? (upper - centre) / 3 : upper.map((limit) => (limit - centre) / 3);
}

function indexes(signals: readonly Signal[]): string {
  return signals.map(({ index }) => index).join(', ');
}
