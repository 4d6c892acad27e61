import { z } from 'zod';
import { finite, probability, values } from '../statistics/inputs.js';
import { lineFit as computeLineFit } from '../statistics/line-fit.js';
import { moments } from '../statistics/summary.js';
import { notesWhere } from './answers.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';

const input = z.strictObject({
  x: values('the x, free of error', 3),
  y: values('the y, one for each x', 3),
  confidence: probability('confidence of the intervals').default(0.95),
  predictAt: z
    .array(finite('an x'))
    .optional()
    .describe('list of x for which the line, its limits and prediction limits are wanted'),
});

export const lineFit: AnyCalculation = defineCalculation({
  name: 'line-fit',
  purpose: 'The least-squares line through points, with intervals and predictions',
  input,
  output: {
    slope: 'slope of the line',
    intercept: 'y of the line at x = 0',
    standardErrors: 'standard errors of slope and intercept',
    residualSd: 'standard deviation about the line, n − 2 degrees of freedom',
    rSquared: 'share of the sum of squares of y that the line explains',
    intervals: 'slope and intercept: lower and upper confidence limit',
    slopeT: 'slope over its standard error',
    slopeP: 'two-sided p of a slope as far from zero',
    predictions:
      'for each x asked: x, fit, confidenceLower and confidenceUpper (of the mean), predictionLower and predictionUpper (of one further value)',
  },
  formula: [
    'Sxx = Σ(x − mean x)², Sxy = Σ(x − mean x)(y − mean y), Syy = Σ(y − mean y)²',
    'slope = Sxy/Sxx; intercept = mean y − slope × mean x; residualSd = √(Σ(y − line)²/(n − 2)); rSquared = 1 − Σ(y − line)²/Syy',
    'standard error of the slope = residualSd/√Sxx, of the intercept = residualSd √(1/n + (mean x)²/Sxx)',
    'intervals = estimate ± t × standard error, t the (1 + confidence)/2 point of Student’s t with n − 2 degrees of freedom',
    'at x0: confidence limits fit ± t residualSd √h, prediction limits fit ± t residualSd √(1 + h), h = 1/n + (x0 − mean x)²/Sxx',
    'slopeT = slope / its standard error; slopeP = P(|T(n − 2)| > |slopeT|)',
  ].join('\n'),
  source: 'NIST/SEMATECH e-Handbook 4.1.4.1 and 4.5; Draper and Smith, Applied Regression Analysis',
  example: {
    input: { x: [1, 2, 3, 4, 5], y: [2, 4, 5, 4, 6], predictAt: [6] },
    source: 'worked by hand',
    steps: [
      'mean x = 3, mean y = 4.2; Sxx = 10, Sxy = 8, Syy = 8.8',
      'slope = 0.8; intercept = 4.2 − 2.4 = 1.8; residuals −0.6, 0.6, 0.8, −1, 0.2: squares 2.4; residualSd = √(2.4/3) = 0.894427; rSquared = 1 − 2.4/8.8 = 0.727273',
      'standard errors: 0.894427/√10 = 0.282843; 0.894427 √(0.2 + 0.9) = 0.938083; t(0.975; 3) = 3.182446',
      'slope 0.8 ± 0.900132: −0.100132 to 1.700132; intercept 1.8 ± 2.985399: −1.185399 to 4.785399',
      'slopeT = 0.8/0.282843 = 2.828427; slopeP = 0.066276',
      'x0 = 6: fit = 6.6; h = 0.2 + 0.9 = 1.1; confidence ± 2.985399: 3.614601 to 9.585399; prediction ± 3.182446 × 0.894427 × √2.1 = 4.124922: 2.475078 to 10.724922',
    ],
  },
  compute({ x, y, confidence, predictAt }: z.infer<typeof input>) {
    const result = computeLineFit(x, y, confidence, predictAt);
    const { min, max } = moments(x);
    const outside = predictAt?.some((place) => place < min || place > max) ?? false;
    return {
      ...result,
      method: 'ordinary least squares',
      source: 'NIST/SEMATECH e-Handbook 4.1.4.1 and 4.5',
      notes: notesWhere(
        [true, 'assumes independent normal errors of one spread about a straight line, and x without error'],
        [result.rSquared === undefined, 'rSquared is absent: the y do not differ'],
        [result.slopeT === undefined, 'slopeT and slopeP are absent: all points lie on the line'],
        [outside, 'a prediction lies outside the x seen: nothing says that the line goes on'],
      ),
    };
  },
});
