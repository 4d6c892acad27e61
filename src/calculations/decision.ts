import { z } from 'zod';
import { decide } from '../statistics/decision-rules.js';
import { finite, nonNegative, probability } from '../statistics/inputs.js';
import { notesWhere } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  value: finite('the measured value'),
  standardUncertainty: nonNegative('its standard uncertainty (not the expanded one), in the same unit'),
  lower: finite('lower specification limit').optional(),
  upper: finite('upper specification limit').optional(),
  rule: z
    .enum(['simple', 'guarded'], 'must be simple or guarded')
    .describe('simple: the limits themselves decide; guarded: conformity and nonconformity each have to be proved'),
  confidence: probability('one-sided confidence of the proof, above 0.5, for the guarded rule').default(0.95),
});

export const decision: AnyCalculation = defineCalculation({
  name: 'decision',
  purpose: 'Whether a measured value conforms, given its uncertainty',
  input,
  output: {
    verdict: 'conforms, does not conform, or cannot be decided',
    acceptanceLower: 'lower limit of the acceptance zone',
    acceptanceUpper: 'upper limit of the acceptance zone',
    conformanceProbability: 'probability that the true value lies within the specification limits',
  },
  formula: [
    'guard band w = z u, z with Φ(z) = confidence (simple rule: w = 0)',
    'acceptanceLower = lower + w; acceptanceUpper = upper − w',
    'conforms: the value lies within the acceptance limits, these included',
    'does not conform: the value lies below lower − w or above upper + w; otherwise it cannot be decided',
    'conformanceProbability = Φ((upper − value)/u) − Φ((lower − value)/u); a missing limit counts as infinite',
  ].join('\n'),
  source: 'JCGM 106:2012 clauses 7 and 8; ISO 14253-1:2017',
  example: {
    input: { value: -5.47, standardUncertainty: 0.05, upper: -5.4, rule: 'guarded' },
    source: 'JCGM 106:2012, 7.3.2, breakdown voltage of a Zener diode: probability 0.92',
    steps: [
      'z = Φ⁻¹(0.95) = 1.644854; w = 1.644854 × 0.05 = 0.0822427',
      'acceptanceUpper = −5.4 − 0.0822427 = −5.4822427; −5.47 lies above it, and below −5.4 + 0.0822427',
      'verdict: cannot be decided',
      'conformanceProbability = Φ((−5.4 + 5.47)/0.05) = Φ(1.4) = 0.91924',
    ],
  },
  compute(given: z.infer<typeof input>) {
    const result = decide(given);
    const { acceptanceLower, acceptanceUpper } = result;
    const empty = acceptanceLower !== undefined && acceptanceUpper !== undefined && acceptanceLower > acceptanceUpper;
    return {
      ...result,
      method:
        given.rule === 'simple'
          ? 'simple acceptance: the limits decide, the uncertainty is not taken off'
          : 'guard band of the one-sided normal quantile times the standard uncertainty, on each limit',
      source: 'JCGM 106:2012; ISO 14253-1:2017',
      notes: notesWhere(
        [true, 'the value is taken as normal about the true value, with nothing else known of the process'],
        [
          given.rule === 'simple',
          'shared risk: a value on the limit is accepted although half of its probability lies beyond',
        ],
        [empty, 'the acceptance zone is empty: the uncertainty is too large for this tolerance'],
        [given.standardUncertainty === 0, 'an uncertainty of 0 was given: the probability is 0 or 1'],
      ),
    };
  },
});
