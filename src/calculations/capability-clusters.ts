import { z } from 'zod';
import { capabilityIndices } from '../statistics/capability.js';
import { exactLowerBound } from '../statistics/capability-bounds.js';
import { clusterLowerBound, groupedSpread, groupedSums } from '../statistics/cluster-bound.js';
import { finite, groups, probability, requireLimit, requireSpread } from '../statistics/inputs.js';
import { moments } from '../statistics/summary.js';
import { notesWhere, present } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  groups: groups('the values of each group (build, batch), in which they are not independent; sizes may differ', 2),
  lower: finite('lower specification limit; omit it when there is none').optional(),
  upper: finite('upper specification limit; omit it when there is none').optional(),
  confidence: probability('confidence of the bounds').default(0.95),
});

const SOURCE =
  'Mee and Owen, J. American Statistical Association 78 (1983) 901; Thomas and Hultquist, Annals of Statistics 6 (1978) 582; ' +
  'Krishnamoorthy and Mathew, Statistical Tolerance Regions (2009), chapter 5';

export const capabilityClusters: AnyCalculation = defineCalculation({
  name: 'capability-clusters',
  purpose:
    'How well a normal characteristic fits between its limits when values come in groups that differ, such as builds',
  input,
  output: {
    ppk: 'nearer index from mean and sd of all values together',
    lowerIndependent: 'its one-sided lower confidence bound if all values were independent',
    lower: 'one-sided lower confidence bound with the groups as what is independent',
    mean: 'mean of the group means',
    sd: 'standard deviation of a single value of any group',
    within: 'standard deviation within groups; absent where no group has two values',
    between: 'standard deviation between groups, 0 where none is seen; absent with within',
    f: 'mean square between over mean square within',
    p: 'P(F > f) if groups did not differ',
    effectiveValues:
      'so many independent values would tell the mean as well, the share between groups at its upper bound',
    degreesOfFreedom: 'of sd, by Satterthwaite, with the same share',
  },
  formula: [
    'k groups, N values, m_i and n_i mean and size of group i; h = k/Σ(1/n_i); mean = Σ m_i/k; V = Σ(m_i − mean)²/(k − 1)',
    'W = Σ(x − m_i)²/(N − k); sd = √(V + (1 − 1/h) W); within = √W; between = √max(0, V − W/h)',
    'q = max(0, (h V/W/F − 1)/h), F the quantile of F(k − 1, N − k) at 1 − confidence; r = q/(1 + q); a = r + (1 − r)/h',
    'effectiveValues n = k/a; degreesOfFreedom f = 1/(a²/(k − 1) + (1 − a)²/(N − k)); with one value in each group a = 1',
    'lower = C with P(T ≤ 3 √n Ĉ) = confidence, Ĉ the nearer index from mean and sd, T noncentral t, f degrees of freedom,',
    '  noncentrality 3 √n C',
  ].join('\n'),
  source: SOURCE,
  example: {
    input: {
      groups: [
        [231.4, 228.9, 230.1, 229.5],
        [233, 234.1, 232.2, 233.5],
        [229.7, 230.5, 228.8, 229.2],
        [227.8, 228.6, 226.9, 228.1],
        [232.2, 230.9, 231.7, 232.5],
      ],
      lower: 215,
    },
    source: 'worked from the definition; values invented',
    steps: [
      'means 229.975, 233.2, 229.55, 227.85, 231.825; h = 4; mean = 230.48; V = 17.24425/4 = 4.311063; W = 9.975/15 = 0.665',
      'sd = √(4.311063 + 0.75 × 0.665) = 2.193128; within = 0.815475; between = √(4.311063 − 0.16625) = 2.035882',
      'f = 4 × 4.311063/0.665 = 25.93120, p = 1.37946e-6; F at 0.05 with 4 and 15 degrees of freedom = 0.170712',
      'q = (25.93120/0.170712 − 1)/4 = 37.7250; r = 0.974177; a = 0.974177 + 0.025823/4 = 0.980633',
      'effectiveValues = 5/0.980633 = 5.098749; degreesOfFreedom = 1/(0.240410 + 0.000025) = 4.159126',
      'Ĉ = (230.48 − 215)/(3 × 2.193128) = 2.352803; the noncentrality with P(T ≤ 3 √5.098749 × 2.352803 = 15.9382) = 0.95',
      '  is 6.710208; lower = 6.710208/(3 √5.098749) = 0.990565',
      'all 20 values: sd √((9.975 + 4 × 17.24425)/19) = 2.038472; ppk = 15.48/6.115416 = 2.531308; lowerIndependent = 1.835373',
    ],
  },
  compute({ groups: lists, lower, upper, confidence }: z.infer<typeof input>) {
    const limits = { lower, upper };
    requireLimit(limits);
    const all = moments(lists.flat());
    requireSpread(all.sd, 'groups');
    const ppk = capabilityIndices(all.mean, all.sd, limits).nearer;
    const spread = groupedSpread(groupedSums(lists));
    requireSpread(spread.sd, 'groups');
    const bound = clusterLowerBound(spread, limits, confidence);
    const root = (variance: number | undefined) => (variance === undefined ? undefined : Math.sqrt(variance));
    return {
      ...{ ppk, lowerIndependent: exactLowerBound(ppk, all.n, confidence), lower: bound.lower },
      ...{ mean: spread.mean, sd: spread.sd },
      ...present({ within: root(spread.within), between: root(spread.between), f: spread.f, p: spread.p }),
      ...{ effectiveValues: bound.effectiveValues, degreesOfFreedom: bound.degreesOfFreedom },
      method: 'random groups by unweighted means, share between groups at its upper bound, noncentral t',
      source: SOURCE,
      notes: notesWhere(
        [true, 'assumes normal values within and between groups; of the two bounds the lower one counts'],
        [lower !== undefined && upper !== undefined, 'conservative for two limits'],
        [lists.length < 5, 'few groups: how they differ is poorly known, and the bound is low for that'],
      ),
    };
  },
});
