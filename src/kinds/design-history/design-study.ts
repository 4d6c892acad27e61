import { z } from 'zod';
import { needed } from '../contradictions.js';
import {
  Approval,
  Code,
  Coupons,
  Day,
  EnvelopeRef,
  FilePath,
  Format,
  Implants,
  PastDay,
  PastMoment,
  Text,
  whole,
  YesNo,
} from '../fields.js';
import { happened } from '../happened.js';
import { type Contradiction, defineKind, type NamedFile, originalOf, repeated, tie, tooEarly } from '../kind.js';
import { partLinks } from '../parts.js';
import { tiesToCodes } from '../references.js';
import { ASIDE, headTies } from './design-ties.js';
import { Criterion, criterionFaults } from './study-criterion.js';

const Verified = z.union([
  z.strictObject({ input: Code, revision: whole(1) }).describe('a design input'),
  z.strictObject({ output: Code, revision: whole(1) }).describe('a design output'),
]);

/** A study that is open may still be to come. */
const TestedDay = happened(Day, ({ result }) => result === 'open');

export const DesignStudy = z.strictObject({
  kind: z.literal('design-study'),
  format: Format,
  designStudy: Code,
  revision: whole(1),
  title: Text,
  family: Code,
  purpose: z.enum([
    'verification',
    'validation',
    'process',
    'shelf life',
    'biological',
    'sterilisation',
    'packaging',
    'usability',
  ]),
  protocol: z.strictObject({ number: Text, revision: whole(1), approvedAt: PastMoment, file: FilePath.optional() }),
  criterion: Criterion,
  technique: Text.describe('statistical technique'),
  n: whole(1).describe('number of units or specimens that were tested, each as often as the test was repeated on it'),
  rationale: Text.describe('why this many, and why these speak for all others'),
  from: TestedDay,
  to: TestedDay,
  lots: z.array(Code).min(1).optional(),
  implants: Implants.optional(),
  coupons: Coupons.optional(),
  sterilised: YesNo.describe('whether what was tested had been sterilised before'),
  aged: Text.optional().describe('how it was aged before; not at all when absent'),
  verifies: z.array(Verified).min(1).optional(),
  validates: z
    .array(z.strictObject({ need: Code, revision: whole(1) }))
    .min(1)
    .optional()
    .describe('user needs that it shows to be met'),
  worstCaseOf: z.array(EnvelopeRef).min(1).optional().describe('design envelopes whose worst case it tested'),
  deviations: Text.describe('from the protocol, with what they mean, or "none"'),
  result: z.enum(['met', 'not met', 'open']).describe('whether the criterion was met; open while it runs'),
  report: z
    .strictObject({ number: Text, at: PastDay, file: FilePath.optional() })
    .optional()
    .describe('needed once there is a result'),
  approval: Approval.optional(),
});
export type DesignStudy = z.infer<typeof DesignStudy>;

const subjectOf = (item: z.infer<typeof Verified>) =>
  'input' in item
    ? ({ kind: 'design-input', key: item.input } as const)
    : ({ kind: 'design-output', key: item.output } as const);

function contradictions(document: DesignStudy): Contradiction[] {
  const { from, to, result, report, lots, verifies, validates, worstCaseOf, n } = document;
  const { implants = [], coupons = [] } = document;
  const parts = [...implants, ...coupons];
  return [
    ...criterionFaults(document.criterion),
    ...tooEarly('to', to, from, 'it began'),
    ...tooEarly('report.at', report?.at, to, 'it ended'),
    ...(result === 'open' ? [] : needed('report', report, `the result is ${result}`, 'number and day of the report')),
    ...(result === 'open' && report !== undefined
      ? [{ field: 'result', found: 'open, with a report', expected: 'what the report says', remedy: 'give the result' }]
      : []),
    ...repeated(lots ?? [], (index) => `lots[${index}]`, 'lot'),
    ...repeated(implants, (index) => `implants[${index}]`, 'implant'),
    ...repeated(coupons, (index) => `coupons[${index}]`, 'coupon'),
    ...(parts.length > n
      ? [
          {
            field: 'n',
            found: `${n}, with ${parts.length} parts`,
            expected: 'as many as parts were tested, or more',
            remedy: 'correct the number or the list of parts',
          },
        ]
      : []),
    ...repeated(
      (verifies ?? []).map((item) => `${subjectOf(item).kind} ${subjectOf(item).key}`),
      (index) => `verifies[${index}]`,
      'entry',
    ),
    ...repeated(
      (validates ?? []).map(({ need }) => need),
      (index) => `validates[${index}].need`,
      'need',
    ),
    ...repeated(
      (worstCaseOf ?? []).map(({ envelope }) => envelope),
      (index) => `worstCaseOf[${index}].envelope`,
      'envelope',
    ),
  ];
}

export const designStudy = defineKind<DesignStudy>({
  kind: 'design-study',
  numbering: 'document',
  purpose: 'A test of the design: protocol, criterion, sample and its rationale, on what, and what came out.',
  schema: DesignStudy,
  key: (document) => document.designStudy,
  name: (document) => document.title,
  links: (document) => [
    ...headTies(document),
    ...(document.verifies ?? []).map((item, index) =>
      tie('verifies', subjectOf(item).kind, subjectOf(item).key, `verifies[${index}]`, {
        revision: item.revision,
        ...ASIDE,
      }),
    ),
    ...(document.validates ?? []).map(({ need, revision }, index) =>
      tie('validates', 'user-need', need, `validates[${index}]`, { revision, ...ASIDE }),
    ),
    ...(document.worstCaseOf ?? []).map(({ envelope, revision }, index) =>
      tie('worst case of', 'design-envelope', envelope, `worstCaseOf[${index}]`, { revision, ...ASIDE }),
    ),
    ...tiesToCodes('on lot', 'lot', document.lots ?? [], 'lots', ASIDE),
    ...partLinks('tested on', document).map((link) => ({ ...link, ...ASIDE })),
  ],
  contradictions,
  files: ({ protocol, report, approval }) => [
    ...(protocol.file === undefined
      ? []
      : [{ path: protocol.file, field: 'protocol.file', name: 'report' } satisfies NamedFile]),
    ...(report?.file === undefined
      ? []
      : [{ path: report.file, field: 'report.file', name: 'report' } satisfies NamedFile]),
    ...originalOf(approval, 'approval'),
  ],
});
