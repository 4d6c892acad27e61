import { canonicalJson } from '../dossier/canonical.js';
import type { LateFact } from '../dossier/late-facts.js';
import { isLate } from '../dossier/tables.js';
import type { Changeover } from '../kinds/changeover.js';
import type { Lot } from '../kinds/lot.js';
import type { PowderState } from '../kinds/powder-state.js';
import { readEntry } from '../ledger/entry.js';
import type { StoredRevision } from './entries.js';
import type { StoredLog } from './logs.js';
import type { Reads } from './repositories.js';
import type { SharedFacts } from './shared-facts.js';

/** Fields of a document that happened together. */
interface Happened extends Pick<LateFact, 'what' | 'key' | 'detail' | 'happenedAt'> {
  readonly fields: Readonly<Record<string, unknown>>;
}

/** What documents of a kind tell of a build. What is told of a build happened by the time when its chamber was opened. */
const TOLD: Readonly<Record<string, (body: unknown) => Happened[]>> = {
  lot: (body) => {
    const { builds, steps } = body as Lot;
    return [
      ...builds
        .filter(({ state }) => state !== 'planned')
        .map((build) => told('build', build.build, build.openedAt, build)),
      ...steps.map((step) => told('step', step.step, step.at, step)),
    ];
  },
  'powder-state': (body) => {
    const { tests = [], reason: _why, ...state } = body as PowderState;
    return [
      told('powder state', state.state, state.madeAt, state),
      ...tests.map((test) => told('powder test', state.state, test.at, test, test.property)),
    ];
  },
  changeover: (body) => {
    const { reason: _why, ...changeover } = body as Changeover;
    return [told('changeover', changeover.changeover, changeover.at, changeover)];
  },
};

const told = (what: LateFact['what'], key: string, happenedAt: string, fields: object, detail = ''): Happened => ({
  what,
  key,
  detail,
  happenedAt,
  fields: Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== undefined)),
});

/** Of these there may be several of one name, told apart by their times. */
const REPEATED: readonly LateFact['what'][] = ['step', 'powder test'];

const nameOf = ({ what, key, detail, happenedAt }: Happened): string =>
  [what, key, detail, REPEATED.includes(what) ? happenedAt : ''].join('\n');

/** Facts of the build that were entered late, by the documents and logs that a lot rests on. */
export async function lateFacts(
  read: Reads,
  shared: SharedFacts,
  documents: readonly StoredRevision[],
  logs: readonly StoredLog[],
): Promise<LateFact[]> {
  const found: LateFact[] = [];
  for (const document of documents) {
    const happened = TOLD[document.kind]?.(document.body) ?? [];
    // What earlier revisions said was entered earlier still.
    if (!happened.some(({ happenedAt }) => isLate(happenedAt, document.recordedAt))) continue;
    const revisions = await shared.revisions(document.kind, document.key);
    found.push(
      ...lateIn(
        happened,
        revisions.filter(({ revision }) => revision <= document.revision),
      ),
    );
  }
  for (const log of logs) found.push(...(await lateLogs(read, log)));
  return found;
}

/** @param revisions of one document, oldest first; the last one tells what happened. */
function lateIn(happened: readonly Happened[], revisions: readonly StoredRevision[]): LateFact[] {
  const before = revisions.map((revision) => ({ revision, told: valuesIn(revision) }));
  return happened.flatMap((fact) => {
    const { fields, ...named } = fact;
    const late = new Map<StoredRevision, string[]>();
    for (const [field, value] of Object.entries(fields)) {
      const { revision } = firstOf(before, `${nameOf(fact)}\n${field}\n${canonicalJson(value)}`);
      if (isLate(fact.happenedAt, revision.recordedAt)) late.set(revision, [...(late.get(revision) ?? []), field]);
    }
    return [...late].map(([{ recordedAt, actor }, names]) => ({
      ...named,
      fields: names.length === Object.keys(fields).length ? null : names.sort(),
      recordedAt,
      by: actor,
    }));
  });
}

type Told = { readonly revision: StoredRevision; readonly told: ReadonlySet<string> };

/** The first of the revisions up to the last that tell it without a break: what was taken back counts from its return. */
function firstOf(before: readonly Told[], value: string): Told {
  const broken = before.findLastIndex(({ told: values }) => !values.has(value));
  return before[broken + 1]!;
}

const valuesIn = ({ kind, body }: StoredRevision): Set<string> =>
  new Set(
    TOLD[kind]!(body).flatMap((fact) =>
      Object.entries(fact.fields).map(([field, value]) => `${nameOf(fact)}\n${field}\n${canonicalJson(value)}`),
    ),
  );

async function lateLogs(read: Reads, { files, cameWith }: StoredLog): Promise<LateFact[]> {
  const found: LateFact[] = [];
  for (const [index, { build, fileName, lastAt }] of files.entries()) {
    const { at, actor } = readEntry(JSON.parse((await read.ledger.entry(cameWith[index]!))!.body));
    if (lastAt === null || !isLate(lastAt, at)) continue;
    const named = { what: 'log', key: build, detail: fileName, fields: null } as const;
    found.push({ ...named, happenedAt: lastAt, recordedAt: at, by: actor });
  }
  return found;
}
