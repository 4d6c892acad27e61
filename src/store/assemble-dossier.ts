import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import { PART_NAMES } from '../dossier/facts.js';
import type { Dossier, Withdrawal } from '../dossier/schema.js';
import { signableDigests } from '../dossier/signable.js';
import { HISTORY_TABLE, RESULT_TABLE, type ResultRow, SUMMARY_TABLE } from '../dossier/tables.js';
import type { Specification } from '../kinds/specification.js';
import { LedgerEntry } from '../ledger/entry.js';
import { addCaseParts, gatherCases } from './case-parts.js';
import type { StoredRevision } from './entries.js';
import { evidenceList } from './evidence-list.js';
import { Gathering } from './gathering.js';
import type { StoredLog } from './logs.js';
import { namedFiles } from './named-files.js';
import type { Reads } from './repositories.js';
import { familyHistory, SharedFacts } from './shared-facts.js';

/** A dossier ready to be stored: its canonical text, its digest, and its parts by SHA-256. */
export interface FrozenDossier {
  readonly dossier: Dossier;
  readonly body: string;
  readonly digest: string;
  readonly parts: ReadonlyMap<string, { readonly mediaType: string; readonly text: string }>;
}

/** Gathers every fact of one lot, as of now. Equal facts give an equal dossier, byte for byte. */
export const assembleDossier = (read: Reads, lotCode: string, demo: boolean): Promise<FrozenDossier> =>
  gather(read, lotCode, demo, undefined, new SharedFacts(read));

/**
 * Whether the facts of a lot are still those of a dossier. The long tables of a log never change once they are stored, so
 * they are not read again where the logs are the same.
 */
export async function isStillAs(
  read: Reads,
  known: { readonly digest: string; readonly body: string },
  shared = new SharedFacts(read),
): Promise<boolean> {
  const dossier = JSON.parse(known.body) as Dossier;
  return (await gather(read, dossier.lot, dossier.demo, dossier, shared)).digest === known.digest;
}

/** @param known a dossier whose parts stand for those of the same logs; their texts are then left out. */
async function gather(
  read: Reads,
  lotCode: string,
  demo: boolean,
  known: Dossier | undefined,
  shared: SharedFacts,
): Promise<FrozenDossier> {
  const gathered = new Gathering(shared);
  const current = await read.entries.currentOrThrow('lot', lotCode);
  const lot = current.body;
  await gathered.follow(current);
  const judgedBy = lot.specification;
  const { body: specification } = await gathered.pin('specification', judgedBy.specification, judgedBy.revision);
  const results = await read.results.ofLot(lotCode);
  gathered.touchedBy(results.ledgerSeq);
  await pinWhatResultsName(gathered, results.rows);
  await pinMethods(shared, gathered, results.rows);
  await pinEarlierLimits(shared, gathered, specification, results.rows);

  for (const set of await read.entries.revisionsStarting('result-set', `${lotCode}:`)) {
    const { evidence } = set.body;
    if (results.rows.some((row) => row.evidence === evidence)) gathered.add(set);
  }

  const logs = await read.logs.ofLot(lotCode);
  for (const log of logs) gathered.touchedBy(log.ledgerSeq);
  const files = logs.flatMap((log) => [...log.files]);
  const sameLogs = known !== undefined && canonicalJson(known.logs) === canonicalJson(files);
  const history = await familyHistory(shared, lot);

  gathered.addPart(PART_NAMES.results, 'text/csv', RESULT_TABLE.write(results.rows));
  gathered.addPart(PART_NAMES.history, 'text/csv', HISTORY_TABLE.write(history));
  if (sameLogs)
    gathered.keepParts(known, [PART_NAMES.summaries, ...logs.map((log) => PART_NAMES.log(log.facts.build))]);
  else await addLogParts(read, gathered, logs);
  const cases = await gatherCases(read, shared, gathered, lot);
  const withdrawnIn = await withdrawals(read);
  await addCaseParts(read, gathered, cases, withdrawnIn);
  const evidence = await evidenceOfLot(read, results.rows, gathered.documents());
  const signatures = await signaturesOnFacts(read, lotCode, gathered, logs);
  const withdrawn = withdrawnIn(gathered);
  const asOf = LedgerEntry.parse(JSON.parse((await read.ledger.entry(gathered.lastSeq))!.body));
  const dossier: Dossier = {
    format: 1,
    demo,
    lot: lotCode,
    asOf: { ledgerEntry: gathered.lastSeq, at: asOf.at },
    pinned: gathered.pinned(),
    logs: files,
    evidence,
    signatures,
    withdrawn,
    parts: gathered.refs,
  };
  const body = canonicalJson(dossier);
  return { dossier, body, digest: sha256Hex(body), parts: gathered.parts };
}

async function addLogParts(read: Reads, gathered: Gathering, logs: readonly StoredLog[]): Promise<void> {
  const summaries = (await Promise.all(logs.map((log) => read.logs.summaries(log)))).flat();
  gathered.addPart(PART_NAMES.summaries, 'text/csv', SUMMARY_TABLE.write(summaries));
  for (const log of logs) {
    gathered.addPart(PART_NAMES.log(log.facts.build), 'application/json', canonicalJson(log.part));
  }
}

const sorted = (values: readonly string[]): string[] => [...new Set(values)].filter((value) => value !== '').sort();

/** What the results name: they are no document, and have no links. */
async function pinWhatResultsName(gathered: Gathering, results: readonly ResultRow[]): Promise<void> {
  for (const instrument of sorted(results.map((row) => row.instrument))) await gathered.pin('instrument', instrument);
  const people = results.flatMap((row) => [row.analyst, row.enteredBy, row.checkedBy]);
  for (const person of sorted(people)) await gathered.pin('person', person);
}

/**
 * The revisions that were used beside those that are planned, and for each use the revision that was in force: a check
 * compares them. Revisions that took effect later are left out, so that an old lot looks the same for ever.
 */
async function pinMethods(shared: SharedFacts, gathered: Gathering, results: readonly ResultRow[]): Promise<void> {
  for (const code of sorted(results.map((row) => row.method))) {
    const own = results.filter((row) => row.method === code);
    for (const revision of new Set(own.map((row) => Number(row.methodRevision)))) {
      await gathered.pin('method', code, revision);
    }
    const since = ({ body }: StoredRevision<'method'>) => Date.parse(body.effectiveFrom);
    const revisions = await shared.revisions('method', code);
    for (const at of new Set(own.map((row) => Date.parse(row.measuredAt)))) {
      const inForce = revisions.filter((revision) => since(revision) <= at).sort((a, b) => since(b) - since(a))[0];
      if (inForce) gathered.add(inForce);
    }
  }
}

/** Limits that came in after a measurement could have been chosen by it: the earlier revisions show whether they were. */
async function pinEarlierLimits(
  shared: SharedFacts,
  gathered: Gathering,
  { specification, revision }: Specification,
  results: readonly ResultRow[],
): Promise<void> {
  const revisions = await shared.revisions('specification', specification);
  const own = revisions.find((item) => item.revision === revision)!;
  if (results.every((row) => Date.parse(row.measuredAt) >= Date.parse(own.recordedAt))) return;
  for (const item of revisions) if (item.revision < revision) gathered.add(item);
}

/** Every statement that somebody signed on a fact of this lot file, in the order of signing. */
async function signaturesOnFacts(
  read: Reads,
  lot: string,
  gathered: Gathering,
  logs: readonly StoredLog[],
): Promise<Dossier['signatures']> {
  const digests = [
    ...gathered.pinned().flatMap((item) => signableDigests(item)),
    ...logs.flatMap((log) => log.part.findings.map((finding) => finding.id)),
  ];
  const found = [
    ...(await read.signatures.on(digests)),
    ...(await read.signatures.starting('check finding', `${lot}:`)),
    ...(await read.signatures.starting('log finding group', `${lot}:`)),
  ];
  for (const { ledgerSeq } of found) gathered.touchedBy(ledgerSeq);
  return found.sort((a, b) => a.ledgerSeq - b.ledgerSeq).map(({ signed }) => signed);
}

/** Withdrawals of what was gathered, from all that there are. */
async function withdrawals(read: Reads): Promise<(gathered: Gathering) => Withdrawal[]> {
  const all = await read.events.ofTypes(['document-withdrawn']);
  return (gathered) =>
    all.flatMap(({ event, at, actor, reason, ledgerSeq }) => {
      if (event.type !== 'document-withdrawn' || !gathered.hasRevision(event)) return [];
      gathered.touchedBy(ledgerSeq);
      const { kind, key, revision } = event;
      return [{ kind, key, revision, at, by: actor, reason: reason ?? '' }];
    });
}

/** Files that the lot, its results and its approvals rest on. */
async function evidenceOfLot(
  read: Reads,
  results: readonly ResultRow[],
  documents: readonly StoredRevision[],
): Promise<Dossier['evidence']> {
  const named = await namedFiles(read, documents);
  const sheets: Dossier['evidence'] = [];
  for (const sha256 of sorted(results.map((row) => row.evidence))) {
    const { fileName, bytes } = await read.evidence.info(sha256);
    sheets.push({ sha256, fileName, bytes, use: 'results' });
  }
  return evidenceList([
    ...named.filter(({ kind }) => kind === 'lot').map((file) => ({ ...file, use: file.name })),
    ...named
      .filter(({ kind, name }) => kind !== 'lot' && name === 'approval')
      .map((file) => ({ ...file, use: `approval of ${file.kind} ${file.key}` })),
    ...sheets,
  ]);
}
