import { z } from 'zod';
import { needed, senseless } from '../contradictions.js';
import { Code, FilePath, Format, Implants, Law, Moment, PastMoment, Reason, Text, YesNo } from '../fields.js';
import { type Contradiction, defineKind, type NamedFile, repeated, tie, tooEarly } from '../kind.js';
import { PERSONAL_DATA } from '../lot.js';
import { partFaults, partLinks } from '../parts.js';
import { latestReport } from './reporting-times.js';

const Evaluation = z.strictObject({
  law: Law,
  reportable: YesNo,
  why: Text,
  clockStart: PastMoment.optional().describe('moment from which the time to report runs'),
  due: Moment.optional().describe('moment by which it has to be reported'),
  by: Code,
  at: PastMoment,
});

const Report = z.strictObject({
  law: Law,
  number: Text.describe('number of the report at the authority'),
  at: PastMoment,
  file: FilePath.optional().describe(
    'the report as sent: personal data, kept apart; its path is printed, so name nobody in it',
  ),
});

export const Complaint = z.strictObject({
  kind: z.literal('complaint'),
  format: Format,
  complaint: Code,
  implants: Implants,
  received: z.strictObject({ at: PastMoment, by: Code, from: Text.describe('institution that complained') }),
  says: Text.describe('what was said, without a word on who the patient is'),
  evaluated: z.array(Evaluation).min(1).optional().describe('whether it must be reported, law by law'),
  reports: z.array(Report).min(1).optional(),
  nonconformity: Code.optional().describe(
    'nonconformity because of it, which touches each of the units; it is opened with the complaint where none of that code is on record',
  ),
  reason: Reason,
});
export type Complaint = z.infer<typeof Complaint>;

function clocks({ evaluated = [], received }: Complaint): Contradiction[] {
  return evaluated.flatMap(({ law, reportable, clockStart, due, at }, index) => {
    const field = (name: string) => `evaluated[${index}].${name}`;
    const because = reportable === 'yes' ? 'it must be reported' : 'it need not be reported';
    return [
      ...tooEarly(field('at'), at, received.at, 'it was received'),
      ...tooEarly(field('due'), due, clockStart, 'its clock started'),
      ...tooLate(field('due'), law, clockStart, due),
      ...(reportable === 'yes'
        ? [
            ...needed(field('clockStart'), clockStart, because, 'the moment from which its time runs'),
            ...needed(field('due'), due, because, 'the moment by which it is due'),
          ]
        : [...senseless(field('clockStart'), clockStart, because), ...senseless(field('due'), due, because)]),
    ];
  });
}

/** Later than any clause of the law leaves time for, as far as the table knows the law. */
function tooLate(field: string, law: string, clockStart: string | undefined, due: string | undefined): Contradiction[] {
  const latest = clockStart === undefined ? undefined : latestReport(law, clockStart);
  if (due === undefined || latest === undefined || Date.parse(due) <= Date.parse(latest.at)) return [];
  const { clause, what, days, counted } = latest.by;
  return [
    {
      field,
      found: due,
      expected: `not after ${latest.at}: ${clause}, ${what}, leaves ${days} ${counted}, and no clause of ${law} more`,
      remedy: 'correct the two moments; which clause holds is for whoever evaluates it',
    },
  ];
}

function reportsMade({ evaluated = [], reports = [], received }: Complaint): Contradiction[] {
  const reportable = new Set(evaluated.filter((item) => item.reportable === 'yes').map(({ law }) => law));
  return reports.flatMap(({ law, at }, index) => [
    ...tooEarly(`reports[${index}].at`, at, received.at, 'it was received'),
    ...(reportable.has(law)
      ? []
      : [
          {
            field: `reports[${index}].law`,
            found: law,
            expected: 'a law under which it was evaluated as reportable',
            remedy: 'add that evaluation, or correct the law',
          },
        ]),
  ]);
}

export const complaint = defineKind<Complaint>({
  kind: 'complaint',
  numbering: 'running',
  purpose: 'What was said against units that are out, whether it must be reported, and to whom it was.',
  schema: Complaint,
  key: (document) => document.complaint,
  name: (document) => `from ${document.received.from}, ${document.received.at}`,
  links: (document) => [
    ...partLinks('complains of', document),
    tie('received by', 'person', document.received.by, 'received.by'),
    ...(document.evaluated ?? []).map(({ by }, index) => tie('evaluated by', 'person', by, `evaluated[${index}].by`)),
    ...(document.nonconformity === undefined
      ? []
      : [tie('led to', 'nonconformity', document.nonconformity, 'nonconformity')]),
  ],
  contradictions: (document) => [
    ...partFaults(document),
    ...repeated(
      (document.evaluated ?? []).map(({ law }) => law),
      (index) => `evaluated[${index}].law`,
      'law',
    ),
    ...clocks(document),
    ...reportsMade(document),
  ],
  files: ({ reports = [] }) =>
    reports.flatMap(({ file }, index): NamedFile[] =>
      file === undefined ? [] : [{ path: file, field: `reports[${index}].file`, name: PERSONAL_DATA }],
    ),
});
