import { z } from 'zod';
import { values } from '../statistics/inputs.js';
import { findPattern, RUN_RULES, type RunRule } from '../statistics/run-rules.js';
import { type AnyCalculation, defineCalculation } from './calculation.js';
import { runRuleText } from './run-rules-field.js';

const input = z.strictObject({
  z: values('standardised values (value − centre) / sigma, in time order'),
  rules: z
    .array(z.enum(RUN_RULES))
    .min(1, 'name at least one rule')
    .describe('rules to apply; all by default')
    .optional(),
});

export const runRules: AnyCalculation = defineCalculation({
  name: 'run-rules',
  purpose: 'Patterns in standardised values that a stable process would show only rarely',
  input,
  output: {
    signals: 'for each rule the indexes (from 1) of the last point of each place where its pattern is complete',
  },
  formula: `${runRuleText}\nAll comparisons are strict: a point exactly on a zone limit lies in neither zone.`,
  source: 'Western Electric, Statistical Quality Control Handbook (1956); Nelson, J. Quality Technology 16 (1984)',
  example: {
    input: { z: [0.4, 2.3, -0.1, 2.1, 3.2, 0.2], rules: ['beyondThreeSigma', 'twoOfThreeBeyondTwoSigma'] },
    source: 'worked by hand from the definitions',
    steps: [
      'beyondThreeSigma: only point 5 (3.2) lies beyond 3',
      'twoOfThreeBeyondTwoSigma: points 2, 4 and 5 lie above 2; the window of point 4 is 2.3, −0.1, 2.1 with two above 2; ' +
        'that of point 5 is −0.1, 2.1, 3.2 with two; that of point 2 has only itself',
      'so beyondThreeSigma: [5], twoOfThreeBeyondTwoSigma: [4, 5]',
    ],
  },
  compute({ z: list, rules }: z.infer<typeof input>) {
    const chosen: readonly RunRule[] = rules ?? RUN_RULES;
    return {
      signals: Object.fromEntries(chosen.map((rule) => [rule, findPattern(list, rule)])),
      method: 'each rule by its definition, point by point',
      source: 'Western Electric (1956); Nelson (1984)',
      notes: [
        'each rule more costs false alarms: run-length gives what the chosen set costs',
        'eight or nine on one side and six or seven steady points are alternatives: choose one of each',
      ],
    };
  },
});
