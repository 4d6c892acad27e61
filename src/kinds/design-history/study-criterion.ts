import { z } from 'zod';
import { LoadSection, sectionContradictions } from '../cases/load-section.js';
import { needed, senseless, tooMuch } from '../contradictions.js';
import { Code, Decimal, PartLeft, PositiveDecimal, Share, Ucum, whole } from '../fields.js';
import type { Contradiction } from '../kind.js';

/** How it is seen from values on record whether a criterion is met. */
export const CLAIM_METHODS = [
  'tolerance interval',
  'zero failures',
  'each value',
  'capability statement',
  'loss against window',
] as const;
export type ClaimMethod = (typeof CLAIM_METHODS)[number];

const HeldWindow = z.strictObject({
  zoneClass: Code.describe('class of the recipe zones of which it is claimed'),
  section: LoadSection.describe('smallest section of such zones that carries the load'),
  strengthLeft: PartLeft.describe('least strength at the end of the weeks, as a fraction of the start'),
  stiffnessLeft: PartLeft.describe('least stiffness at the end of the weeks, as a fraction of the start'),
  goneByWeeks: whole(2, 2600).optional().describe('weeks after which nothing of it may be left'),
  localisationFactor: PositiveDecimal.refine((text) => Number(text) >= 1, { error: 'a factor of at least 1' })
    .optional()
    .describe('deepest over mean attack, where no exposure tells it'),
});

/** Unit in which a claim on a window tells for how long. */
export const WINDOW_UCUM = 'wk';

export const Criterion = z.strictObject({
  characteristic: Code,
  claim: z.enum(['at least', 'at most', 'within']),
  value: Decimal,
  upTo: Decimal.optional().describe('upper end; needed for a claim within'),
  ucum: Ucum,
  by: z
    .enum(CLAIM_METHODS)
    .optional()
    .describe(
      'how the program sees from the values on record whether it is met: by a tolerance interval when absent and a reliability is claimed, else by each value. By a capability statement: the value is the least lower bound of its index, with the unit 1. By loss against a window: the value is the number of weeks for which zones of a class hold at least, with the unit wk, by the exposures of what was tested',
    ),
  window: HeldWindow.optional().describe('what has to be left then; needed for loss against a window'),
  confidence: Share.optional().describe('one-sided, and 0.95 when absent, for loss against a window'),
  reliability: Share.optional().describe('share of units of which it is claimed'),
});
export type Criterion = z.infer<typeof Criterion>;

/** What contradicts itself in a criterion. */
export function criterionFaults(criterion: Criterion): Contradiction[] {
  const { claim, value, upTo, confidence, reliability, by } = criterion;
  const speaksOfShare = by === 'tolerance interval' || by === 'zero failures';
  return [
    ...(speaksOfShare
      ? needed('criterion.reliability', reliability, `it is seen by ${by}`, 'the share that is claimed')
      : []),
    ...(by === 'capability statement' && claim !== 'at least'
      ? [
          {
            field: 'criterion.claim',
            found: claim,
            expected: 'at least: the lower bound of an index',
            remedy: 'claim at least, or see it by the values',
          },
        ]
      : []),
    ...(claim === 'within' ? needed('criterion.upTo', upTo, 'the claim is within', 'the upper end') : []),
    ...(claim === 'within' ? tooMuch('criterion.value', value, upTo, 'the upper end') : []),
    ...(reliability === undefined
      ? []
      : needed('criterion.confidence', confidence, 'a reliability is claimed', 'the confidence of the claim')),
    ...windowFaults(criterion),
  ];
}

const MOST_WEEKS = 520;

function windowFaults({ by, window, claim, value, ucum, confidence, reliability }: Criterion): Contradiction[] {
  if (by !== 'loss against window') return senseless('criterion.window', window, `it is seen by ${by ?? 'values'}`);
  const wrong = (name: string, found: string, expected: string, remedy: string): Contradiction => ({
    field: `criterion.${name}`,
    ...{ found, expected, remedy },
  });
  const isWeeks = /^[1-9]\d{0,2}$/.test(value) && Number(value) <= MOST_WEEKS;
  const gone = window?.goneByWeeks;
  return [
    ...needed('criterion.window', window, `it is seen by ${by}`, 'what has to be left of which section'),
    ...senseless('criterion.reliability', reliability, `a loss speaks of one more part, not of a share of all`),
    ...(claim === 'at least' ? [] : [wrong('claim', claim, 'at least so many weeks', 'claim at least')]),
    ...(ucum === WINDOW_UCUM ? [] : [wrong('ucum', ucum, `${WINDOW_UCUM}: weeks`, 'give the time in weeks')]),
    ...(isWeeks ? [] : [wrong('value', value, `whole weeks, 1 to ${MOST_WEEKS}`, 'give whole weeks')]),
    ...(confidence === undefined || Number(confidence) > 0.5
      ? []
      : [wrong('confidence', confidence, 'more than 0.5', 'state a confidence such as 0.95')]),
    ...sectionContradictions(window?.section, 'criterion.window.section'),
    ...(gone === undefined || gone > Number(value)
      ? []
      : [
          wrong(
            'window.goneByWeeks',
            String(gone),
            `more than the ${value} weeks for which it has to hold`,
            'correct one of the two numbers',
          ),
        ]),
  ];
}
