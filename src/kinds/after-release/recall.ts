import { z } from 'zod';
import { endsTooEarly, needed } from '../contradictions.js';
import { Code, FilePath, Format, Law, Moment, PastMoment, PositiveDecimal, Reason, Text, YesNo } from '../fields.js';
import { type Contradiction, defineKind, type NamedFile, repeated, tie, tooEarly } from '../kind.js';
import { LedgerHead } from '../references.js';
import { PLACES } from './places.js';

const Found = z.strictObject({
  implant: Code.describe('serial'),
  place: z.enum(PLACES),
  at: PastMoment.describe('when it was found there'),
});

export const Recall = z.strictObject({
  kind: z.literal('recall'),
  format: Format,
  recall: Code.describe('of a drill it begins with DRILL, so that each page, file and entry says so'),
  drill: YesNo.describe('yes: tried out, and told to nobody outside'),
  trigger: Text,
  query: Text.describe('what was asked for: a heat, a serial, an instrument'),
  asOf: LedgerHead,
  expected: z.array(Code).min(1).describe('serials that the trace named'),
  found: z.array(Found).min(1).optional(),
  notices: z
    .array(z.strictObject({ to: Text, at: PastMoment, file: FilePath.optional() }))
    .min(1)
    .optional()
    .describe('who was told, and when'),
  clocks: z
    .array(
      z.strictObject({
        law: Law,
        start: PastMoment,
        due: Moment,
        reported: PastMoment.optional().describe('when it was reported to the authority'),
      }),
    )
    .min(1)
    .optional(),
  started: PastMoment,
  closed: PastMoment.optional(),
  aimHours: PositiveDecimal.optional().describe('time in which the cell wants to close it'),
  lessons: Text.optional().describe('what failed and what changes'),
  reason: Reason,
});
export type Recall = z.infer<typeof Recall>;

const DRILL = /^DRILL/;

/** What bears the code of a drill is one, and nothing else is: it stands on each page, file and entry. */
function codeOfDrill({ drill, recall: code }: Recall): Contradiction[] {
  if (DRILL.test(code) === (drill === 'yes')) return [];
  const expected = drill === 'yes' ? 'a code that begins with DRILL' : 'a code that does not begin with DRILL';
  return [{ field: 'recall', found: code, expected, remedy: 'give it another code, or correct drill' }];
}

/** A drill that reached an authority or an institution was none. */
function drillThatWentOut({ drill, notices, clocks = [] }: Recall): Contradiction[] {
  if (drill === 'no') return [];
  const found = (field: string, what: string) => ({
    field,
    found: `${what}, although it is a drill`,
    expected: 'nobody outside who was told',
    remedy: 'set drill to no, or remove it',
  });
  return [
    ...(notices === undefined ? [] : [found('notices', 'notices that were sent')]),
    ...clocks.flatMap(({ reported }, index) =>
      reported === undefined ? [] : [found(`clocks[${index}].reported`, 'a report to an authority')],
    ),
  ];
}

function closure({ closed, started, expected, found = [], lessons }: Recall): Contradiction[] {
  const accounted = new Set(found.map(({ implant }) => implant));
  const missing = expected.filter((serial) => !accounted.has(serial));
  return [
    ...endsTooEarly('closed', closed, started),
    ...(closed === undefined ? [] : needed('lessons', lessons, 'it is closed', 'what failed and what changes')),
    ...(closed !== undefined && missing.length > 0
      ? [
          {
            field: 'found',
            found: `no place for ${missing.join(', ')}, although it is closed`,
            expected: 'a place for each unit that was expected',
            remedy: 'say where each was found, or leave it open',
          },
        ]
      : []),
  ];
}

function contradictions(document: Recall): Contradiction[] {
  const { expected, found = [], notices = [], clocks = [], started, closed } = document;
  return [
    ...repeated(expected, (index) => `expected[${index}]`, 'unit'),
    ...repeated(
      found.map(({ implant }) => implant),
      (index) => `found[${index}].implant`,
      'unit',
    ),
    ...found.flatMap(({ at }, index) => [
      ...tooEarly(`found[${index}].at`, at, started, 'it started'),
      ...tooEarly('closed', closed, at, `unit ${found[index]!.implant} was found`),
    ]),
    ...notices.flatMap(({ at }, index) => tooEarly(`notices[${index}].at`, at, started, 'it started')),
    ...repeated(
      clocks.map(({ law }) => law),
      (index) => `clocks[${index}].law`,
      'law',
    ),
    ...clocks.flatMap(({ start, due, reported }, index) => [
      ...endsTooEarly(`clocks[${index}].due`, due, start),
      ...tooEarly(`clocks[${index}].reported`, reported, start, 'its clock started'),
    ]),
    ...codeOfDrill(document),
    ...drillThatWentOut(document),
    ...closure(document),
  ];
}

export const recall = defineKind<Recall>({
  kind: 'recall',
  numbering: 'running',
  purpose: 'Units that were called back, or a drill of it: what was asked, what was expected, what was found where.',
  schema: Recall,
  key: (document) => document.recall,
  name: (document) => (document.drill === 'yes' ? `drill: ${document.query}` : document.query),
  links: ({ expected, found = [] }) => [
    ...expected.map((serial, index) => tie('recalls', 'implant', serial, `expected[${index}]`)),
    ...found.flatMap(({ implant }, index) =>
      expected.includes(implant) ? [] : [tie('recalls', 'implant', implant, `found[${index}].implant`)],
    ),
  ],
  contradictions,
  files: ({ notices = [] }) =>
    notices.flatMap(({ file }, index): NamedFile[] =>
      file === undefined ? [] : [{ path: file, field: `notices[${index}].file`, name: 'attachment' }],
    ),
});
