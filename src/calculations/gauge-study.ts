import { z } from 'zod';
import { gaugeStudy as computeGaugeStudy } from '../statistics/gauge-study.js';
import { decimal, finite } from '../statistics/inputs.js';
import { notesWhere } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  measurements: z
    .array(z.array(z.array(decimal)))
    .describe('measurements[part][operator][trial]; at least two of each, the same number of trials everywhere'),
  lower: finite('lower specification limit').optional(),
  upper: finite('upper specification limit').optional(),
});

export const gaugeStudy: AnyCalculation = defineCalculation({
  name: 'gauge-study',
  purpose: 'How much of the spread seen comes from the gauge and its operators (crossed study)',
  input,
  output: {
    anova:
      'part, operator, interaction, repeatability: sumSquares, df, meanSquare; f and p (part and operator against the interaction, interaction against repeatability)',
    components:
      'variances: part, operator, interaction, repeatability, reproducibility (operator + interaction), gauge (reproducibility + repeatability), total (gauge + part); negative estimates set to 0',
    toleranceShare: '6 × gauge sd / (upper − lower); needs both limits',
    studyShare: 'gauge sd / total sd',
    distinctCategories: '1.41 × part sd / gauge sd, cut to a whole number',
  },
  formula: [
    'p parts, o operators, r trials; dots mark means over an index',
    'sums of squares: part o r Σ(x_i.. − x...)²; operator p r Σ(x_.j. − x...)²;',
    '    interaction r ΣΣ(x_ij. − x_i.. − x_.j. + x...)²; repeatability ΣΣΣ(x_ijk − x_ij.)²',
    'degrees of freedom p − 1, o − 1, (p − 1)(o − 1), p o (r − 1); MS = sum / degrees of freedom',
    'f: MS_part / MS_interaction, MS_operator / MS_interaction, MS_interaction / MS_repeatability; p = P(F > f) with the degrees of freedom of both',
    'repeatability = MS_repeatability; interaction = (MS_interaction − MS_repeatability)/r;',
    '    operator = (MS_operator − MS_interaction)/(p r); part = (MS_part − MS_interaction)/(o r)',
    'studyShare = √(gauge/total); toleranceShare = 6√gauge/(upper − lower); distinctCategories = ⌊1.41 √(part/gauge)⌋',
  ].join('\n'),
  source:
    'Montgomery, Introduction to Statistical Quality Control (gauge capability, analysis of variance); AIAG Measurement Systems Analysis (shares, 1.41)',
  example: {
    input: {
      measurements: [
        [
          [10, 12],
          [11, 13],
        ],
        [
          [20, 22],
          [25, 23],
        ],
        [
          [31, 29],
          [33, 33],
        ],
      ],
      lower: 0,
      upper: 60,
    },
    source: 'worked by hand: 3 parts, 2 operators, 2 trials',
    steps: [
      'cell means 11, 12; 21, 24; 30, 33; part means 11.5, 22.5, 31.5; operator means 20.6667, 23; grand mean 21.8333',
      'sums of squares: part 4 × (106.7778 + 0.4444 + 93.4444) = 802.6667; operator 6 × 2 × 1.166667² = 16.3333; interaction 2 × 1.3333 = 2.6667; repeatability 4 × 2 + 2 + 0 = 10 (2, 2, 2, 2, 2, 0)',
      'mean squares 401.3333 (df 2), 16.3333 (1), 1.3333 (2), 1.6667 (6)',
      'f: 401.3333/1.3333 = 301; 16.3333/1.3333 = 12.25; 1.3333/1.6667 = 0.8',
      'p: P(F(2, 2) > 301) = 1/(1 + 301) = 0.0033113; P(F(1, 2) > 12.25) = 0.0728274; P(F(2, 6) > 0.8) = (1 + 2 × 0.8/6)^−3 = 0.492054',
      'repeatability 1.6667; interaction (1.3333 − 1.6667)/2 = −0.1667, set to 0; operator (16.3333 − 1.3333)/6 = 2.5; part (401.3333 − 1.3333)/4 = 100',
      'reproducibility 2.5; gauge 4.1667; total 104.1667; studyShare √(4.1667/104.1667) = 0.2; toleranceShare 6 × 2.041241/60 = 0.204124; distinctCategories ⌊1.41 × 10/2.041241⌋ = ⌊6.9076⌋ = 6',
    ],
  },
  compute({ measurements, ...limits }: z.infer<typeof input>) {
    const { negativeComponents, ...study } = computeGaugeStudy(measurements, limits);
    const bothLimits = limits.lower !== undefined && limits.upper !== undefined;
    return {
      ...study,
      method: 'two-way analysis of variance, random parts and operators, interaction kept',
      source: 'Montgomery, Introduction to Statistical Quality Control; AIAG Measurement Systems Analysis',
      notes: [
        'shares are ratios of standard deviations; six standard deviations are set against the tolerance (some use 5.15)',
        ...Object.entries(negativeComponents).map(
          ([name, variance]) => `the variance of ${name} was estimated as ${variance}, which is negative: set to 0`,
        ),
        ...notesWhere(
          [!bothLimits, 'toleranceShare needs both limits: absent'],
          [study.anova.part.f === undefined, 'f and p against the interaction are absent: its mean square is 0'],
          [study.anova.interaction.f === undefined, 'f and p of the interaction are absent: repeatability is 0'],
          [study.distinctCategories === undefined, 'distinctCategories is absent: the gauge shows no spread at all'],
        ),
      ],
    };
  },
});
