import { z } from 'zod';
import { changeBetween } from './changes.js';
import type { Carried, Facts } from './facts.js';
import type { FamilyHistory } from './family-history.js';
import type { Pinned } from './schema.js';
import { Statement } from './statement.js';
import type { ResultRow } from './tables.js';

const Document = z.strictObject({ kind: z.string(), key: z.string(), revision: z.int().positive() });
type Document = z.infer<typeof Document>;

const Value = z.strictObject({
  specimen: z.string(),
  piece: z.string(),
  characteristic: z.string(),
  replicate: z.string(),
  value: z.string(),
  ucum: z.string(),
});
type Value = z.infer<typeof Value>;

/** What differs, as a code with what belongs to it. A record carries it so; the words are made where it is drawn. */
export const What = z.discriminatedUnion('code', [
  z.strictObject({ code: z.literal('document added'), document: Document }),
  z.strictObject({
    code: z.enum(['document says more', 'document differs']),
    document: Document,
    from: z.int().positive(),
  }),
  z.strictObject({ code: z.literal('measured'), row: Value }),
  z.strictObject({ code: z.literal('value changed'), row: Value, was: Value, reason: z.string() }),
  z.strictObject({ code: z.literal('many results'), results: z.int() }),
  z.strictObject({ code: z.enum(['log taken in', 'further log', 'other log']), build: z.string() }),
  z.strictObject({ code: z.literal('family values'), lot: z.string() }),
  z.strictObject({
    code: z.literal('older family values'),
    of: z.array(z.strictObject({ characteristic: z.string(), rows: z.int(), what: z.enum(['values', 'beside']) })),
  }),
  z.strictObject({ code: z.literal('signed'), statement: Statement }),
  z.strictObject({ code: z.literal('withdrawn'), document: Document, reason: z.string() }),
  z.strictObject({ code: z.literal('lot file not here') }),
  z.strictObject({ code: z.literal('lot file not readable') }),
]);
export type What = z.infer<typeof What>;

/** One difference between two lot files of a lot. */
export interface Difference {
  /** A later fact voids no signature; a changed one that was covered does. */
  readonly kind: 'later fact' | 'changed';
  readonly what: What;
  /** Serials or coupons that it concerns; empty for the whole lot. */
  readonly specimens: readonly string[];
}

/** What is compared: a copy for one institution compares only what it shows of the cases. */
export type Compared = Pick<Carried, 'pinned' | 'signatures' | 'withdrawn'> &
  Pick<Facts, 'dossier' | 'results' | 'history'>;

/** What differs between two lot files of one lot, the earlier one first. */
export function differencesBetween(before: Compared, after: Compared): Difference[] {
  if (before.dossier === after.dossier) return [];
  return [
    ...documents(before, after),
    ...results(before.results, after.results),
    ...logs(before, after),
    ...history(before, after),
    ...signatures(before, after),
    ...withdrawals(before, after),
  ];
}

const later = (what: What, specimens: readonly string[] = []): Difference => ({ kind: 'later fact', what, specimens });
const changed = (what: What, specimens: readonly string[] = []): Difference => ({ kind: 'changed', what, specimens });

/** Kinds that tell of the rows of a result sheet or of one document by revision: their differences are told there. */
const TOLD_ELSEWHERE = ['result-set'];

function documents(before: Compared, after: Compared): Difference[] {
  const key = (item: Pinned) => `${item.kind} ${item.key}`;
  const named = ({ kind, key: name, revision }: Pinned): Document => ({ kind, key: name, revision });
  const old = new Map<string, Pinned[]>();
  for (const item of before.pinned) old.set(key(item), [...(old.get(key(item)) ?? []), item]);
  return after.pinned
    .filter((item) => !TOLD_ELSEWHERE.includes(item.kind))
    .flatMap((item) => {
      const known = old.get(key(item)) ?? [];
      if (known.some((one) => one.digest === item.digest)) return [];
      const previous = known.at(-1);
      if (!previous) return [later({ code: 'document added', document: named(item) })];
      const grown = changeBetween(previous.body, item.body) !== 'changed';
      return [
        grown
          ? later({ code: 'document says more', document: named(item), from: previous.revision })
          : changed({ code: 'document differs', document: named(item), from: previous.revision }),
      ];
    });
}

const place = (row: ResultRow): string =>
  [row.specimen, row.piece, row.characteristic, row.replicate].filter((part) => part !== '').join(' ');

const toldOf = ({ specimen, piece, characteristic, replicate, value, ucum }: ResultRow): Value => ({
  specimen,
  piece,
  characteristic,
  replicate,
  value,
  ucum,
});

function results(before: readonly ResultRow[], after: readonly ResultRow[]): Difference[] {
  const current = (rows: readonly ResultRow[]) => rows.filter((row) => row.status === 'current');
  const known = new Map(current(before).map((row) => [place(row), row]));
  const said = current(after).flatMap((row) => {
    const old = known.get(place(row));
    if (!old) return [later({ code: 'measured', row: toldOf(row) }, [row.specimen])];
    if (old.value === row.value && old.evidence === row.evidence) return [];
    return [changed({ code: 'value changed', row: toldOf(row), was: toldOf(old), reason: row.reason }, [row.specimen])];
  });
  return said.length > MOST_SAID
    ? [...said.filter(({ kind }) => kind === 'changed'), later({ code: 'many results', results: said.length })]
    : said;
}

/** More lines than this are counted: nobody reads them before signing. Changed values are always told one by one. */
const MOST_SAID = 40;

function logs(before: Compared, after: Compared): Difference[] {
  const filesOf = ({ dossier }: Compared, build: string) =>
    dossier.logs.filter((log) => log.build === build).map((log) => log.sha256);
  const builds = new Set(after.dossier.logs.map((log) => log.build));
  return [...builds].flatMap((build) => {
    const [old, now] = [filesOf(before, build), filesOf(after, build)];
    if (old.length === 0) return [later({ code: 'log taken in', build })];
    if (!old.every((sha256) => now.includes(sha256))) return [changed({ code: 'other log', build })];
    return now.length > old.length ? [later({ code: 'further log', build })] : [];
  });
}

/**
 * The history of the family is part of the lot file. It decides on no unit of this lot: one line for each lot whose builds
 * it shows, and one for all that lie further back.
 */
function history({ history: before }: Compared, { history: after }: Compared): Difference[] {
  if (JSON.stringify(before) === JSON.stringify(after)) return [];
  const known = new Set(shown(before).map(({ text }) => text));
  const lots = new Set(shown(after).flatMap(({ lot, text }) => (known.has(text) ? [] : [lot])));
  const told = [...lots].map((lot) => later({ code: 'family values', lot }));
  return told.length > 0 ? told : [later({ code: 'older family values', of: olderValues(before, after) })];
}

/**
 * In which characteristics the history went on, by how many rows, and whether sums changed by it or only what stands beside
 * the values: how they were made and measured, and by what they are judged.
 */
function olderValues(before: FamilyHistory | undefined, after: FamilyHistory | undefined) {
  const known = new Map(before?.characteristics.map((one) => [one.characteristic, one]));
  return (after?.characteristics ?? []).flatMap(({ characteristic, head, pool, excluded, takenOut }) => {
    const old = known.get(characteristic);
    if (old?.head.digest === head.digest) return [];
    const sums = [pool, excluded, takenOut];
    const isBeside = old && JSON.stringify([old.pool, old.excluded, old.takenOut]) === JSON.stringify(sums);
    const rows = head.position - (old?.head.position ?? 0);
    return [{ characteristic, rows, what: isBeside ? ('beside' as const) : ('values' as const) }];
  });
}

/** Builds and values that a history shows, as texts to compare. */
const shown = (history: FamilyHistory | undefined): { lot: string; text: string }[] =>
  (history?.characteristics ?? []).flatMap(({ characteristic, builds, last, takenOut }) =>
    [...builds, ...last, ...takenOut.last].map((item) => ({
      lot: item.lot,
      text: JSON.stringify([characteristic, item]),
    })),
  );

function signatures(before: Compared, after: Compared): Difference[] {
  const known = new Set(before.signatures.map(({ digest }) => digest));
  return after.signatures
    .filter(({ digest }) => !known.has(digest))
    .map(({ statement }) => later({ code: 'signed', statement }));
}

function withdrawals(before: Compared, after: Compared): Difference[] {
  return after.withdrawn
    .filter((item) => !before.withdrawn.some((one) => one.key === item.key && one.revision === item.revision))
    .map(({ kind, key, revision, reason }) =>
      changed({ code: 'withdrawn', document: { kind, key, revision }, reason }),
    );
}
