import { canonicalJson } from '../dossier/canonical.js';
import type { LateFact } from '../dossier/late-facts.js';
import { isLate } from '../dossier/tables.js';
import type { BodyOf } from '../kinds/catalogue.js';
import { readEntry } from '../ledger/entry.js';
import type { StoredRevision } from './entries.js';
import type { StoredLog } from './logs.js';
import type { Reads } from './repositories.js';
import type { SharedFacts } from './shared-facts.js';

/** Fields of a document that happened together. */
interface Happened extends Pick<LateFact, 'what' | 'key' | 'detail' | 'happenedAt'> {
  readonly fields: Readonly<Record<string, unknown>>;
}

type Telling = 'lot' | 'powder-state' | 'changeover';

/** What documents of a kind tell of a build. What is told of a build happened by the time when its chamber was opened. */
const TOLD: { readonly [K in Telling]: (body: BodyOf<K>) => Happened[] } = {
  lot: ({ builds, steps }) => [
    ...builds
      .filter(({ state }) => state !== 'planned')
      .map((build) => told('build', build.build, build.openedAt, toldByOpening(build))),
    ...steps.map((step) => told('step', step.step, step.at, step)),
  ],
  'powder-state': ({ tests = [], reason: _why, ...state }) => [
    told('powder state', state.state, state.madeAt, state),
    ...tests.map((test) => told('powder test', state.state, test.at, test, test.property)),
  ],
  changeover: ({ reason: _why, ...changeover }) => [
    told('changeover', changeover.changeover, changeover.at, changeover),
  ],
};

/** Without what is known only after the chamber was opened: what was recovered of its powder. Its log comes by itself. */
const toldByOpening = ({ log: _log, powder, ...build }: BodyOf<'lot'>['builds'][number]): object => ({
  ...build,
  powder: powder.map(({ recoveredG: _g, recoveredInto: _into, wasteG: _waste, ...charged }) => charged),
});

const isOf = <K extends Telling>(kind: K, document: StoredRevision): document is StoredRevision<K> =>
  document.kind === kind;

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
    if (isOf('lot', document)) found.push(...(await lateOf(shared, document)));
    else if (isOf('powder-state', document)) found.push(...(await lateOf(shared, document)));
    else if (isOf('changeover', document)) found.push(...(await lateOf(shared, document)));
  }
  for (const log of logs) found.push(...(await lateLogs(read, log)));
  return found;
}

async function lateOf<K extends Telling>(shared: SharedFacts, document: StoredRevision<K>): Promise<LateFact[]> {
  const happened = toldBy(document);
  // What earlier revisions said was entered earlier still.
  if (!happened.some(({ happenedAt }) => isLate(happenedAt, document.recordedAt))) return [];
  const revisions = (await shared.revisions(document.kind, document.key)).filter(
    ({ revision }) => revision <= document.revision,
  );
  // All was told at once: nothing to compare, also where a powder went through thousands of states.
  if (revisions.length === 1) {
    const { recordedAt, actor } = document;
    return happened
      .filter(({ happenedAt }) => isLate(happenedAt, recordedAt))
      .map(({ fields: _all, ...named }) => ({ ...named, fields: null, recordedAt, by: actor }));
  }
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

const toldBy = <K extends Telling>({ kind, body }: StoredRevision<K>): Happened[] => TOLD[kind](body);

const valuesIn = <K extends Telling>(revision: StoredRevision<K>): Set<string> =>
  new Set(
    toldBy(revision).flatMap((fact) =>
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
