import { z } from 'zod';
import { endsTooEarly } from '../contradictions.js';
import { Code, Decimal, Format, NotNegative, PastMoment, Reason, Sha256, Text, Ucum, whole } from '../fields.js';
import { type Contradiction, defineKind, repeated, tie } from '../kind.js';
import { EntryRef, LedgerHead, tiesToCodes } from '../references.js';

export const Impact = z.strictObject({
  kind: z.literal('impact'),
  format: Format,
  impact: Code,
  cause: EntryRef.describe('what was found off: an instrument, a receipt, a person, a document'),
  from: PastMoment.describe('last moment at which it was known to be right'),
  to: PastMoment.describe('moment at which it was found off'),
  bias: z.strictObject({ value: Decimal, ucum: Ucum }).optional().describe('by how much it was off'),
  uncertainty: z.strictObject({ value: NotNegative, ucum: Ucum }).optional(),
  head: LedgerHead,
  results: z
    .strictObject({
      count: whole(0),
      sha256: Sha256.describe('of the list of results that was looked at'),
      ofLots: z
        .array(z.strictObject({ lot: Code, count: whole(1), sha256: Sha256 }))
        .min(1)
        .optional()
        .describe('the same lot by lot, as `lotwright impact` gives it: exactly these results were looked at'),
    })
    .describe('results that rest on it'),
  lots: z.array(Code).min(1).optional().describe('lots that it touches; none when absent'),
  decisions: z
    .array(
      z.strictObject({
        implant: Code.describe('serial'),
        as: z.enum(['no effect', 'measure again', 'hold', 'reject', 'recall']),
      }),
    )
    .min(1)
    .optional()
    .describe('what becomes of each unit'),
  conclusion: Text.describe('also when there is no effect'),
  reason: Reason,
});
export type Impact = z.infer<typeof Impact>;

function contradictions({ from, to, lots = [], decisions = [], results }: Impact): Contradiction[] {
  const units = decisions.map(({ implant }) => implant);
  return [
    ...endsTooEarly('to', to, from),
    ...repeated(lots, (index) => `lots[${index}]`, 'lot'),
    ...repeated(
      (results.ofLots ?? []).map(({ lot }) => lot),
      (index) => `results.ofLots[${index}].lot`,
      'lot',
    ),
    ...(results.ofLots ?? []).flatMap(({ lot }, index) =>
      lots.includes(lot)
        ? []
        : [
            {
              field: `results.ofLots[${index}].lot`,
              found: lot,
              expected: 'one of the lots under lots',
              remedy: 'name the lot there too',
            },
          ],
    ),
    ...repeated(units, (index) => `decisions[${index}].implant`, 'implant'),
    ...(decisions.length > 0 && lots.length === 0
      ? [
          {
            field: 'decisions',
            found: `decisions on ${units.join(', ')}, and no lot`,
            expected: 'the lots of these units under lots',
            remedy: 'name the lots that it touches',
          },
        ]
      : []),
    ...(decisions.some(({ as }) => as === 'measure again') && results.count === 0
      ? [
          {
            field: 'results.count',
            found: '0, although units are to be measured again',
            expected: 'the number of results that rest on it',
            remedy: 'count the results, or decide otherwise',
          },
        ]
      : []),
  ];
}

export const impact = defineKind<Impact>({
  kind: 'impact',
  numbering: 'running',
  purpose: 'What it meant for results and units that something was found off afterwards.',
  schema: Impact,
  key: (document) => document.impact,
  name: (document) => `of ${document.cause.kind} ${document.cause.key}`,
  links: (document) => [
    tie('looks at', document.cause.kind, document.cause.key, 'cause'),
    ...tiesToCodes('touches lot', 'lot', document.lots ?? [], 'lots'),
    ...(document.decisions ?? []).map(({ implant }, index) =>
      tie('decides on', 'implant', implant, `decisions[${index}].implant`),
    ),
  ],
  contradictions,
});
