import { z } from 'zod';
import { resultKey } from '../kinds/result.js';
import type { LedgerEntry } from '../ledger/entry.js';
import { InclusionProof, PublicKey } from '../records/enclosure.js';
import { Sha256 } from '../web/fields.js';
import { AuditorAnswer } from './auditor-answer.js';
import { ImpactAnswer } from './impact-answer.js';
import { TraceAnswer } from './trace-answer.js';

/** What a signed answer on paper carries: all that it says, and what proves that it comes from the audit trail. */

/** The one file that it carries. */
export const ANSWER_FILE = 'answer.json';

const Head = z.strictObject({ size: z.int().nonnegative(), root: Sha256 });

/** Where one unit of a recall was expected and found, in words. */
const RecalledUnit = z.strictObject({
  serial: z.string(),
  lot: z.string(),
  where: z.string().describe('on record; empty for a serial that is not'),
  holder: z.string(),
  found: z.string().describe('empty while it was not found'),
  at: z.string(),
  differs: z.boolean().describe('found at another place than the one on record'),
});

export const RecallStanding = z.strictObject({
  recall: z.string(),
  revision: z.int().positive(),
  drill: z.boolean(),
  closed: z.boolean(),
  trigger: z.string(),
  query: z.string(),
  askedAsOf: Head.describe('head from which the trace of the recall was answered'),
  reason: z.string(),
  lessons: z.string(),
  time: z.string().describe('time used against the aim, in words'),
  reconciled: z.string(),
  units: z.array(RecalledUnit),
  notices: z.array(z.strictObject({ to: z.string(), at: z.string() })),
  clocks: z.array(z.strictObject({ law: z.string(), due: z.string(), reported: z.string() })),
  signed: z.array(z.string()).describe('who signed this revision, in words'),
});
export type RecallStanding = z.infer<typeof RecallStanding>;

const Told = z.discriminatedUnion('what', [
  z.strictObject({ what: z.literal('trace'), report: TraceAnswer }),
  z.strictObject({ what: z.literal('recall'), head: Head, report: RecallStanding }),
  z.strictObject({ what: z.literal('impact'), report: ImpactAnswer }),
  z.strictObject({ what: z.literal('question'), report: AuditorAnswer }),
]);
export type Told = z.infer<typeof Told>;

/** A revision that the answer names, and the entry of the audit trail that recorded it. */
export const Named = z.strictObject({
  kind: z.string(),
  key: z.string(),
  revision: z.int().positive(),
  seq: z.int().positive(),
});
export type Named = z.infer<typeof Named>;

export const CarriedAnswer = z.strictObject({
  format: z.literal(1),
  told: Told,
  program: z.string(),
  node: z.string().describe('version of Node.js that rendered it'),
  printedAt: z.string().describe('UTC'),
  printedOffset: z.string(),
  printedBy: z.string(),
  demo: z.boolean(),
  named: z.array(Named),
  keys: z.array(PublicKey).describe('the key in use first'),
  /** The audit trail as it stood when the answer was signed: that of the answer itself is its beginning. */
  ledger: z.strictObject({
    size: z.int().nonnegative(),
    root: Sha256,
    checkpoint: z.string().describe('the signed head, as a C2SP tlog-checkpoint note'),
    consistency: z.array(Sha256).describe('that it only grew since the head of the answer (RFC 6962, 2.1.2)'),
    proofs: z.array(InclusionProof),
  }),
  seal: z.strictObject({ certificateSha256: Sha256 }),
});
export type CarriedAnswer = z.infer<typeof CarriedAnswer>;

/** The head from which it was answered. */
export const headOf = (told: Told): z.infer<typeof Head> => (told.what === 'recall' ? told.head : told.report.head);

type Revision = Omit<Named, 'seq'>;

/** Revisions that an answer names: each has to stand in the audit trail. */
export function revisionsIn(told: Told): Revision[] {
  const named = revisionsNamed(told).filter(({ revision }) => revision > 0);
  return [
    ...new Map(
      named.map(({ kind, key, revision }) => [`${kind} ${key} ${revision}`, { kind, key, revision }]),
    ).values(),
  ];
}

function revisionsNamed(told: Told): Revision[] {
  switch (told.what) {
    case 'trace':
      return told.report.matches.flatMap(({ entry, back, forward }) => [entry, ...(back ?? []), ...(forward ?? [])]);
    case 'recall':
      return [{ kind: 'recall', key: told.report.recall, revision: told.report.revision }];
    case 'question':
      return [];
    case 'impact': {
      const { cause, builds, powder, claims, units, results } = told.report;
      return [
        ...[cause, ...builds, ...powder, ...claims],
        ...units.map(({ serial, revision }) => ({ kind: 'implant', key: serial, revision })),
        ...results.map((row) => ({ kind: 'result', key: resultKey(row), revision: row.revision })),
      ];
    }
  }
}

/** Whether an entry of the audit trail recorded a revision. Results come many at a time, under their lot. */
export function recorded(entry: LedgerEntry, { kind, key, revision }: Named): boolean {
  if (entry.type === 'results-recorded') return kind === 'result' && key.startsWith(`${entry.lot}:`);
  return entry.type === 'revision-recorded' && entry.kind === kind && entry.key === key && entry.revision === revision;
}
