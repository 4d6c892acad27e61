import { z } from 'zod';
import { Claim, Code, FilePath, Format, PastMoment, Reason, Text, thing, YesNo } from './fields.js';
import { type Contradiction, type DigestOf, defineKind, repeated, type SignablePart, tie, tooEarly } from './kind.js';

/** Of what sort a nonconformity is: those of one sort are counted together. */
export const NONCONFORMITY_SORTS = [
  'identity or design',
  'material',
  'recipe or settings',
  'process log',
  'coupon',
  'value',
  'test',
  'document or person',
  'cleaning or finish',
  'load',
  'label',
  'handling',
  'other',
] as const;
export type NonconformitySort = (typeof NONCONFORMITY_SORTS)[number];

const Disposition = z.strictObject({
  units: z.array(Code).min(1).describe('codes of what it touches, for which this holds'),
  as: z.enum(['rework', 'concession', 'scrap', 'return', 'no effect']),
  clause: Text.optional().describe('clause by which a concession is allowed; needed only then'),
  justification: Text,
});

export const Nonconformity = z.strictObject({
  kind: z.literal('nonconformity'),
  format: Format,
  nonconformity: Code,
  opened: Claim,
  sort: z
    .enum(NONCONFORMITY_SORTS)
    .optional()
    .describe('what sort of thing it is: those of one sort are counted over lots'),
  says: Text.describe('what is not as it must be; lots carry it whole, so name nobody here'),
  from: z
    .array(
      thing([
        'build',
        'result-set',
        'process-load',
        'receipt',
        'powder-state',
        'consumable',
        'machine',
        'instrument',
        'complaint',
      ]),
    )
    .optional()
    .describe('where it was seen or where it comes from'),
  findings: z
    .array(z.string().regex(/^[0-9a-f]{64}$/, { error: 'the 64 hexadecimal digits of the finding' }))
    .optional()
    .describe('findings of logs or release checks that it follows from'),
  touches: z
    .array(thing(['implant', 'coupon', 'powder-state', 'receipt', 'consumable']))
    .min(1)
    .describe('everything that it may have spoiled'),
  evaluation: z
    .strictObject({
      cause: Text,
      riskFile: YesNo.describe('whether the risk file has to change'),
      by: Code,
      at: PastMoment,
    })
    .optional(),
  disposition: z.array(Disposition).min(1).optional().describe('what becomes of each thing that it touches'),
  closure: z
    .strictObject({ by: Code, at: PastMoment, says: Text, evidence: FilePath.optional() })
    .optional()
    .describe('what was done, and who said that it is closed'),
  reason: Reason,
});
export type Nonconformity = z.infer<typeof Nonconformity>;

function dispositionFaults({ touches, disposition = [] }: Nonconformity): Contradiction[] {
  const touched = new Set(touches.map(({ key }) => key));
  const units = disposition.flatMap((item, index) =>
    item.units.map((key, place) => ({ key, field: `disposition[${index}].units[${place}]` })),
  );
  return [
    ...repeated(
      units.map(({ key }) => key),
      (index) => units[index]!.field,
      'unit',
    ),
    ...units.flatMap(({ key, field }) =>
      touched.has(key)
        ? []
        : [
            {
              field,
              found: key,
              expected: 'something that stands under touches',
              remedy: 'add it there, or correct it',
            },
          ],
    ),
    ...disposition.flatMap(({ as, clause }, index) =>
      as === 'concession' && clause === undefined
        ? [
            {
              field: `disposition[${index}].clause`,
              found: 'no clause, although it is a concession',
              expected: 'the clause by which it is allowed',
              remedy: 'name the clause, or choose what else becomes of it',
            },
          ]
        : [],
    ),
  ];
}

/** What is closed was evaluated before, and it was decided what becomes of everything that it touches. */
function closureFaults({ closure, evaluation, disposition = [], touches, opened }: Nonconformity): Contradiction[] {
  const faults = [...tooEarly('evaluation.at', evaluation?.at, opened.at, 'it was opened')];
  if (disposition.length > 0 && evaluation === undefined) {
    const expected = 'an evaluation before it';
    faults.push({
      field: 'disposition',
      found: 'a disposition',
      expected,
      remedy: 'add the evaluation with its cause',
    });
  }
  if (closure === undefined) return faults;
  if (evaluation === undefined) {
    const expected = 'an evaluation before it';
    faults.push({ field: 'closure', found: 'a closure', expected, remedy: 'add the evaluation, or leave it open' });
  }
  const decided = new Set(disposition.flatMap(({ units }) => units));
  const left = touches.filter(({ key }) => !decided.has(key));
  if (left.length > 0) {
    faults.push({
      field: 'closure',
      found: `nothing decided on ${left.map(({ key }) => key).join(', ')}`,
      expected: 'a disposition for everything that it touches',
      remedy: 'say under disposition what becomes of it, or leave it open',
    });
  }
  return [
    ...faults,
    ...tooEarly('closure.at', closure.at, opened.at, 'it was opened'),
    ...tooEarly('closure.at', closure.at, evaluation?.at, 'it was evaluated'),
  ];
}

const decidedOn = ({ nonconformity: code, says, touches, evaluation, disposition }: Nonconformity) => ({
  nonconformity: code,
  says,
  touches,
  evaluation,
  disposition,
});

/** What process and quality decide: what becomes of each part, as it was seen and evaluated. */
export const dispositionPart = (document: Nonconformity, digestOf: DigestOf): SignablePart | undefined =>
  document.disposition && {
    kind: 'disposition',
    key: document.nonconformity,
    digest: digestOf(decidedOn(document)),
  };

/** What quality approves: that all of it was done. */
export const closurePart = (document: Nonconformity, digestOf: DigestOf): SignablePart | undefined =>
  document.closure && {
    kind: 'nonconformity',
    key: document.nonconformity,
    digest: digestOf({ ...decidedOn(document), closure: document.closure }),
  };

export const nonconformity = defineKind<Nonconformity>({
  kind: 'nonconformity',
  numbering: 'running',
  purpose: 'What was not as it must be: what it touches, its cause, what becomes of each unit, and who closed it.',
  schema: Nonconformity,
  key: (document) => document.nonconformity,
  name: (document) => `nonconformity ${document.nonconformity}`,
  links: (document) => [
    ...(document.from ?? []).map(({ kind, key }, index) =>
      tie('arose from', kind, key, `from[${index}].key`, { aside: true }),
    ),
    ...document.touches.map(({ kind, key }, index) =>
      tie('touches', kind, key, `touches[${index}].key`, { aside: true }),
    ),
    tie('opened by', 'person', document.opened.by, 'opened.by'),
    ...(document.evaluation ? [tie('evaluated by', 'person', document.evaluation.by, 'evaluation.by')] : []),
    ...(document.closure ? [tie('closed by', 'person', document.closure.by, 'closure.by')] : []),
  ],
  signable: (document, digestOf) =>
    [dispositionPart(document, digestOf), closurePart(document, digestOf)].filter((part) => part !== undefined),
  contradictions: (document) => [
    ...repeated(
      (document.from ?? []).map(({ kind, key }) => `${kind} ${key}`),
      (index) => `from[${index}].key`,
      'origin',
    ),
    ...repeated(document.findings ?? [], (index) => `findings[${index}]`, 'finding'),
    ...repeated(
      document.touches.map(({ key }) => key),
      (index) => `touches[${index}].key`,
      'touched thing',
    ),
    ...dispositionFaults(document),
    ...closureFaults(document),
  ],
  files: ({ closure }) =>
    closure?.evidence === undefined
      ? []
      : [{ path: closure.evidence, field: 'closure.evidence', name: 'attachment' as const }],
});
