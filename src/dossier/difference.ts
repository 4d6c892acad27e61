import { kindTitle } from '../kinds/catalogue.js';
import { changeBetween } from './changes.js';
import type { Facts } from './facts.js';
import type { Pinned } from './schema.js';
import { namesText } from './statement.js';
import type { HistoryRow, ResultRow } from './tables.js';
import { timeText } from './time-text.js';

/** One difference between two lot files of a lot. */
export interface Difference {
  /** A later fact voids no signature; a changed one that was covered does. */
  readonly kind: 'later fact' | 'changed';
  readonly says: string;
  /** Serials or coupons that it concerns; empty for the whole lot. */
  readonly specimens: readonly string[];
}

/** What differs between two lot files of one lot, in words, the earlier one first. */
export function differencesBetween(before: Facts, after: Facts): Difference[] {
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

const later = (says: string, specimens: readonly string[] = []): Difference => ({
  kind: 'later fact',
  says,
  specimens,
});
const changed = (says: string, specimens: readonly string[] = []): Difference => ({ kind: 'changed', says, specimens });

/** Kinds that tell of the rows of a result sheet or of one document by revision: their differences are told there. */
const TOLD_ELSEWHERE = ['result-set'];

function documents(before: Facts, after: Facts): Difference[] {
  const key = (item: Pinned) => `${item.kind} ${item.key}`;
  const named = (item: Pinned) => `${kindTitle(item.kind)} ${item.key} revision ${item.revision}`;
  const old = new Map<string, Pinned[]>();
  for (const item of before.dossier.pinned) old.set(key(item), [...(old.get(key(item)) ?? []), item]);
  return after.dossier.pinned
    .filter((item) => !TOLD_ELSEWHERE.includes(item.kind))
    .flatMap((item) => {
      const known = old.get(key(item)) ?? [];
      if (known.some((one) => one.digest === item.digest)) return [];
      const previous = known.at(-1);
      if (!previous) return [later(`${named(item)} was added`)];
      const grown = changeBetween(previous.body, item.body) !== 'changed';
      return [
        grown
          ? later(`${named(item)} says more than revision ${previous.revision}`)
          : changed(`${named(item)} differs from revision ${previous.revision}`),
      ];
    });
}

const place = (row: ResultRow): string =>
  [row.specimen, row.piece, row.characteristic, row.replicate].filter((part) => part !== '').join(' ');

function results(before: readonly ResultRow[], after: readonly ResultRow[]): Difference[] {
  const current = (rows: readonly ResultRow[]) => rows.filter((row) => row.status === 'current');
  const known = new Map(current(before).map((row) => [place(row), row]));
  const said = current(after).flatMap((row) => {
    const old = known.get(place(row));
    if (!old) return [later(`${place(row)} was measured: ${row.value} ${row.ucum}`, [row.specimen])];
    if (old.value === row.value && old.evidence === row.evidence) return [];
    return [
      changed(`${place(row)} was ${old.value} ${old.ucum} and is ${row.value} ${row.ucum}: ${row.reason}`, [
        row.specimen,
      ]),
    ];
  });
  return said.length > MOST_SAID
    ? [...said.filter(({ kind }) => kind === 'changed'), later(`${said.length} results came or changed`)]
    : said;
}

/** More lines than this are counted: nobody reads them before signing. Changed values are always told one by one. */
const MOST_SAID = 40;

function logs(before: Facts, after: Facts): Difference[] {
  const filesOf = ({ dossier }: Facts, build: string) =>
    dossier.logs.filter((log) => log.build === build).map((log) => log.sha256);
  const builds = new Set(after.dossier.logs.map((log) => log.build));
  return [...builds].flatMap((build) => {
    const [old, now] = [filesOf(before, build), filesOf(after, build)];
    if (old.length === 0) return [later(`the log of ${build} was taken in`)];
    if (!old.every((sha256) => now.includes(sha256))) return [changed(`the log of ${build} is another file`)];
    return now.length > old.length ? [later(`a further log of ${build} was taken in`)] : [];
  });
}

/** Values of earlier lots of the family are part of the lot file. They decide on no unit of this lot: one line each lot. */
function history(before: Facts, after: Facts): Difference[] {
  const known = new Set(before.history.map(historyText));
  const lots = new Set(after.history.filter((row) => !known.has(historyText(row))).map((row) => row.lot));
  return [...lots].map((lot) => later(`values of lot ${lot} came or changed in the history of the family`));
}

const historyText = (row: HistoryRow): string => Object.values(row).join('\n');

function signatures(before: Facts, after: Facts): Difference[] {
  const known = new Set(before.dossier.signatures.map(({ digest }) => digest));
  return after.dossier.signatures
    .filter(({ digest }) => !known.has(digest))
    .map(({ statement: { subjects, meaning, person, at } }) => {
      const what = `${kindTitle(subjects[0]!.kind)} ${namesText(subjects.map(({ key }) => key))}`;
      return later(`${what} was signed as ${meaning} by ${person.name} at ${timeText(at)}`);
    });
}

function withdrawals(before: Facts, after: Facts): Difference[] {
  return after.dossier.withdrawn
    .filter((item) => !before.dossier.withdrawn.some((one) => one.key === item.key && one.revision === item.revision))
    .map(({ kind, key, revision, reason }) =>
      changed(`${kindTitle(kind)} ${key} revision ${revision} was withdrawn: ${reason}`),
    );
}
