import { z } from 'zod';
import { globalRisks } from '../statistics/decision-rules.js';
import { finite, positive } from '../statistics/inputs.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  lower: finite('lower specification limit').optional(),
  upper: finite('upper specification limit').optional(),
  processMean: finite('mean of the true values'),
  processSd: positive('standard deviation of the true values (measurement spread taken off)'),
  standardUncertainty: positive('standard uncertainty of one measurement'),
  acceptanceLower: finite('lower acceptance limit; without it the specification limit').optional(),
  acceptanceUpper: finite('upper acceptance limit; without it the specification limit').optional(),
});

export const decisionRisk: AnyCalculation = defineCalculation({
  name: 'decision-risk',
  purpose: 'How often a decision rule accepts what does not conform, and rejects what does',
  input,
  output: {
    consumerRisk: 'P(accepted and nonconforming), of all items',
    producerRisk: 'P(rejected and conforming), of all items',
  },
  formula: [
    'f(t) = φ((t − processMean)/processSd)/processSd, density of the true values',
    'A(t) = Φ((acceptanceUpper − t)/u) − Φ((acceptanceLower − t)/u), probability that an item of true value t is accepted',
    'consumerRisk = ∫ f(t) A(t) dt over t below lower and above upper',
    'producerRisk = ∫ f(t) (1 − A(t)) dt from lower to upper; a missing limit counts as infinite',
    'by hand: divide the range mean ± 6 sd into steps of u/10 and add up',
  ].join('\n'),
  source: 'JCGM 106:2012 clause 9.5',
  example: {
    input: {
      lower: -0.2,
      upper: 0.2,
      processMean: 0,
      processSd: 0.12,
      standardUncertainty: 0.04,
      acceptanceLower: -0.18,
      acceptanceUpper: 0.18,
    },
    source: 'made up after JCGM 106:2012 clause 9.5',
    steps: [
      'conforming items: Φ(0.2/0.12) − Φ(−0.2/0.12) = 0.904419; nonconforming 0.095581',
      'measured values have sd √(0.12² + 0.04²) = 0.126491; accepted: 2Φ(0.18/0.126491) − 1 = 0.845271',
      'consumerRisk = 2 ∫ from 0.2 of f(t) A(t) dt = 0.009878',
      'producerRisk = conforming − accepted + consumerRisk = 0.904419 − 0.845271 + 0.009878 = 0.069027',
    ],
  },
  compute(given: z.infer<typeof input>) {
    return {
      ...globalRisks(given),
      method: 'global risks by Gauss–Legendre integration, normal process and normal measurement',
      source: 'JCGM 106:2012 clause 9.5',
      notes: [
        'joint probabilities over all items; divided by the share accepted (rejected) they become the share of wrong ones among those',
      ],
    };
  },
});
