import { NotFoundError } from '../base/errors.js';
import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import { PART_NAMES } from '../dossier/facts.js';
import type { Dossier, PartRef, Pinned } from '../dossier/schema.js';
import { certificateSubject, qualificationSubject, receiptSubject } from '../dossier/signable.js';
import { HISTORY_TABLE, type HistoryRow, RESULT_TABLE, type ResultRow, SUMMARY_TABLE } from '../dossier/tables.js';
import { recipesOf } from '../kinds/build-chain.js';
import type { EquivalenceStudy } from '../kinds/equivalence-study.js';
import { logsOf } from '../kinds/log-files.js';
import type { Lot } from '../kinds/lot.js';
import type { Machine } from '../kinds/machine.js';
import type { Method } from '../kinds/method.js';
import type { Person } from '../kinds/person.js';
import type { PowderState } from '../kinds/powder-state.js';
import type { ProcessValidation } from '../kinds/process-validation.js';
import type { Receipt } from '../kinds/receipt.js';
import type { Recipe } from '../kinds/recipe.js';
import type { Specification } from '../kinds/specification.js';
import type { CurrentResult, Reads, StoredLog, StoredRevision } from './reads.js';

/** A dossier ready to be stored: its canonical text, its digest, and its parts by SHA-256. */
export interface FrozenDossier {
  readonly dossier: Dossier;
  readonly body: string;
  readonly digest: string;
  readonly parts: ReadonlyMap<string, { readonly mediaType: string; readonly text: string }>;
}

/** Gathers every fact of one lot, as of now. Equal facts give an equal dossier, byte for byte. */
export const assembleDossier = (read: Reads, lotCode: string, demo: boolean): Promise<FrozenDossier> =>
  gather(read, lotCode, demo, undefined, new EarlierLots(read));

/**
 * Whether the facts of a lot are still those of a dossier. The long tables of a log never change once they are stored, so
 * they are not read again where the logs are the same.
 */
export async function isStillAs(
  read: Reads,
  known: { readonly digest: string; readonly body: string },
  earlier = new EarlierLots(read),
): Promise<boolean> {
  const dossier = JSON.parse(known.body) as Dossier;
  return (await gather(read, dossier.lot, dossier.demo, dossier, earlier)).digest === known.digest;
}

/** @param known a dossier whose parts stand for those of the same logs; their texts are then left out. */
async function gather(
  read: Reads,
  lotCode: string,
  demo: boolean,
  known: Dossier | undefined,
  earlier: EarlierLots,
): Promise<FrozenDossier> {
  const gathered = new Gathering(read);
  const lot = (await gathered.pin('lot', lotCode)).body as Lot;
  const specification = (
    await gathered.pin('specification', lot.specification.specification, lot.specification.revision)
  ).body as Specification;
  await gathered.pin('family', lot.family);
  const results = await read.results(lotCode);
  gathered.touchedBy(results.ledgerSeq);
  await pinWhatLotNames(gathered, lot, specification, results.rows);

  for (const set of await read.revisionsStarting('result-set', `${lotCode}:`)) {
    const { evidence } = set.body as { evidence: string };
    if (results.rows.some((row) => row.evidence === evidence)) gathered.add(set);
  }

  const logs = await read.logs(lotCode);
  for (const log of logs) gathered.touchedBy(log.ledgerSeq);
  const files = logs.flatMap((log) => [...log.files]);
  const sameLogs = known !== undefined && canonicalJson(known.logs) === canonicalJson(files);
  const history = await familyHistory(earlier, lot);

  gathered.addPart(PART_NAMES.results, 'text/csv', RESULT_TABLE.write(results.rows));
  gathered.addPart(PART_NAMES.history, 'text/csv', HISTORY_TABLE.write(history));
  if (sameLogs)
    gathered.keepParts(known, [PART_NAMES.summaries, ...logs.map((log) => PART_NAMES.log(log.facts.build))]);
  else await addLogParts(read, gathered, logs);
  for (const code of sorted(lot.implants.map((implant) => implant.case))) {
    const revision = await read.currentOrThrow('case', code);
    gathered.touchedBy(revision.ledgerSeq);
    gathered.addPart(PART_NAMES.case(code), 'application/json', canonicalJson(asPinned(revision)), code);
  }
  const evidence = await evidenceOfLot(read, results.rows, gathered.pinned());
  const signatures = await signaturesOnFacts(read, lotCode, gathered, logs);
  const withdrawn = await withdrawals(read, gathered);
  const asOf = JSON.parse((await read.ledgerEntry(gathered.lastSeq))!.body) as { at: string };
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
  const summaries = (await Promise.all(logs.map((log) => read.logSummaries(log)))).flat();
  gathered.addPart(PART_NAMES.summaries, 'text/csv', SUMMARY_TABLE.write(summaries));
  for (const log of logs) {
    gathered.addPart(PART_NAMES.log(log.facts.build), 'application/json', canonicalJson(log.part));
  }
}

const sorted = (values: readonly string[]): string[] => [...new Set(values)].filter((value) => value !== '').sort();

const asPinned = ({ kind, key, revision, digest, recordedAt, body }: StoredRevision): Pinned => ({
  kind,
  key,
  revision,
  digest,
  recordedAt,
  body,
});

/** Revisions and parts on their way into a dossier, and the last ledger entry that any of them came with. */
class Gathering {
  private readonly revisions = new Map<string, StoredRevision>();
  readonly parts = new Map<string, { mediaType: string; text: string }>();
  readonly refs: PartRef[] = [];
  lastSeq = 0;

  constructor(private readonly read: Reads) {}

  touchedBy(ledgerSeq: number): void {
    this.lastSeq = Math.max(this.lastSeq, ledgerSeq);
  }

  async pin(kind: string, key: string, number?: number): Promise<StoredRevision> {
    const known = number === undefined ? undefined : this.revisions.get(`${kind} ${key} ${number}`);
    if (known) return known;
    const found =
      number === undefined ? await this.read.current(kind, key) : await this.read.revision(kind, key, number);
    if (!found) throw new NotFoundError(kind, number === undefined ? key : `${key} revision ${number}`);
    return this.add(found);
  }

  revisionsOf(kind: string, key: string): Promise<StoredRevision[]> {
    return this.read.revisions(kind, key);
  }

  add(found: StoredRevision): StoredRevision {
    this.revisions.set(`${found.kind} ${found.key} ${found.revision}`, found);
    this.touchedBy(found.ledgerSeq);
    return found;
  }

  has(kind: string, key: string, revision: number): boolean {
    return this.revisions.has(`${kind} ${key} ${revision}`);
  }

  addPart(name: string, mediaType: PartRef['mediaType'], text: string, caseCode?: string): void {
    const sha256 = sha256Hex(text);
    this.parts.set(sha256, { mediaType, text });
    this.refs.push({
      name,
      sha256,
      bytes: Buffer.byteLength(text),
      mediaType,
      ...(caseCode === undefined ? {} : { case: caseCode }),
    });
  }

  /** Takes over the references of parts, in the order of the names. */
  keepParts({ parts }: Dossier, names: readonly string[]): void {
    for (const name of names) this.refs.push(...parts.filter((part) => part.name === name));
  }

  pinned(): Pinned[] {
    return [...this.revisions.entries()].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, revision]) => asPinned(revision));
  }
}

async function pinWhatLotNames(
  gathered: Gathering,
  lot: Lot,
  specification: Specification,
  results: readonly ResultRow[],
): Promise<void> {
  const people = new Set([lot.opened.by, ...lot.steps.map((step) => step.by), ...lot.decisions.map((item) => item.by)]);
  for (const { recipe, revision } of [...lot.implants, ...lot.coupons].flatMap(recipesOf)) {
    const { approval } = (await gathered.pin('recipe', recipe, revision)).body as Recipe;
    if (approval) people.add(approval.by);
  }
  if (specification.approval) people.add(specification.approval.by);
  await pinMethods(gathered, specification, results);
  await pinEarlierLimits(gathered, specification, results);
  for (const { validation, revision } of specification.validations ?? []) {
    const { approval } = (await gathered.pin('process-validation', validation, revision)).body as ProcessValidation;
    if (approval) people.add(approval.by);
  }
  for (const { study } of lot.coupons) {
    if (!study) continue;
    const { approval } = (await gathered.pin('equivalence-study', study.study, study.revision))
      .body as EquivalenceStudy;
    if (approval) people.add(approval.by);
  }
  for (const { seenBy, decidedBy } of lot.invalidTests ?? []) people.add(seenBy).add(decidedBy);
  for (const { log } of lot.builds.flatMap(logsOf)) {
    if (log.map) await gathered.pin('channel-map', log.map.map, log.map.revision);
  }
  for (const build of lot.builds) {
    people.add(build.operator);
    const machine = (await gathered.pin('machine', build.machine)).body as Machine;
    for (const { by } of machine.upkeep ?? []) people.add(by);
    const states = build.powder.map(({ state }) => state);
    await pinPowder(gathered, states, people);
    for (const gas of build.gas) await pinReceipt(gathered, gas.receipt, people);
  }
  for (const row of results) {
    for (const person of [row.analyst, row.enteredBy, row.checkedBy]) if (person !== '') people.add(person);
  }
  const sensors = lot.builds
    .flatMap(logsOf)
    .flatMap(({ log }) => log.channels.map(({ instrument = '' }) => instrument));
  for (const instrument of sorted([...sensors, ...results.map((row) => row.instrument)])) {
    await gathered.pin('instrument', instrument);
  }
  for (const person of sorted([...people])) await gathered.pin('person', person);
}

/**
 * The revisions that are planned or were used, and for each use the revision that was in force: a check compares them.
 * Revisions that took effect later are left out, so that an old lot looks the same for ever.
 */
async function pinMethods(
  gathered: Gathering,
  specification: Specification,
  results: readonly ResultRow[],
): Promise<void> {
  for (const { method } of specification.characteristics) await gathered.pin('method', method.method, method.revision);
  for (const code of sorted(results.map((row) => row.method))) {
    const own = results.filter((row) => row.method === code);
    for (const revision of new Set(own.map((row) => Number(row.methodRevision)))) {
      await gathered.pin('method', code, revision);
    }
    const since = (revision: StoredRevision) => Date.parse((revision.body as Method).effectiveFrom);
    const revisions = await gathered.revisionsOf('method', code);
    for (const at of new Set(own.map((row) => Date.parse(row.measuredAt)))) {
      const inForce = revisions.filter((revision) => since(revision) <= at).sort((a, b) => since(b) - since(a))[0];
      if (inForce) gathered.add(inForce);
    }
  }
}

/** Limits that came in after a measurement could have been chosen by it: the earlier revisions show whether they were. */
async function pinEarlierLimits(
  gathered: Gathering,
  { specification, revision }: Specification,
  results: readonly ResultRow[],
): Promise<void> {
  const revisions = await gathered.revisionsOf('specification', specification);
  const own = revisions.find((item) => item.revision === revision)!;
  if (results.every((row) => Date.parse(row.measuredAt) >= Date.parse(own.recordedAt))) return;
  for (const item of revisions) if (item.revision < revision) gathered.add(item);
}

/** Every powder state that went into these, each once: a set is walked also over what is added on the way. */
async function pinPowder(gathered: Gathering, codes: readonly string[], people: Set<string>): Promise<void> {
  const receipts = new Set<string>();
  const states = new Set(codes);
  for (const code of states) {
    const state = (await gathered.pin('powder-state', code)).body as PowderState;
    people.add(state.madeBy);
    for (const input of state.inputs) 'receipt' in input ? receipts.add(input.receipt) : states.add(input.state);
  }
  for (const receipt of receipts) await pinReceipt(gathered, receipt, people);
}

async function pinReceipt(gathered: Gathering, code: string, people: Set<string>): Promise<void> {
  const receipt = (await gathered.pin('receipt', code)).body as Receipt;
  await gathered.pin('supplier', receipt.supplier);
  const { acceptance, certificate } = receipt;
  for (const person of [acceptance?.by, certificate?.transcribedBy, certificate?.checkedBy]) {
    if (person !== undefined) people.add(person);
  }
}

const firstClosing = (lot: Lot): number => Math.min(...lot.builds.map((build) => Date.parse(build.closedAt)));

interface FamilyValues {
  readonly lots: readonly Lot[];
  readonly results: ReadonlyMap<string, readonly CurrentResult[]>;
}

/**
 * What the history of a lot is taken from: lots of its family with their values, and the groups of recipes. Read when
 * first asked for and then kept, so that a list of many lots reads it once; hence for one list only.
 */
export class EarlierLots {
  private lots: Promise<readonly Lot[]> | undefined;
  private groups: Promise<ReadonlyMap<string, string>> | undefined;
  private readonly families = new Map<string, Promise<FamilyValues>>();

  constructor(private readonly read: Reads) {}

  ofFamily(family: string): Promise<FamilyValues> {
    const known = this.families.get(family) ?? this.readFamily(family);
    this.families.set(family, known);
    return known;
  }

  /** Group of each revision of a recipe. */
  recipeGroups(): Promise<ReadonlyMap<string, string>> {
    this.groups ??= this.read
      .allRevisions('recipe')
      .then((all) => new Map(all.map((item) => [`${item.key} ${item.revision}`, (item.body as Recipe).group])));
    return this.groups;
  }

  private async readFamily(family: string): Promise<FamilyValues> {
    this.lots ??= this.read.list('lot').then((all) => all.map((revision) => revision.body as Lot));
    const lots = (await this.lots)
      .filter((lot) => lot.family === family)
      .sort((a, b) => firstClosing(a) - firstClosing(b) || (a.lot < b.lot ? -1 : 1));
    return { lots, results: await this.read.currentResultsOf(lots.map(({ lot }) => lot)) };
  }
}

/** Values of every build of the family that was closed before the first build of this lot, in build order. */
async function familyHistory(earlier: EarlierLots, lot: Lot): Promise<HistoryRow[]> {
  const before = firstClosing(lot);
  const { lots, results } = await earlier.ofFamily(lot.family);
  const groups = await earlier.recipeGroups();
  const others = lots.filter((other) => other.lot !== lot.lot && firstClosing(other) < before);
  const rows: HistoryRow[] = [];
  for (const other of others) {
    const parts = new Map(
      [
        ...other.implants.map((part) => ({ ...part, code: part.serial })),
        ...other.coupons.map((part) => ({ ...part, code: part.coupon })),
      ].map((part) => [part.code, part]),
    );
    for (const result of results.get(other.lot)!) {
      const part = parts.get(result.specimen);
      const build = other.builds.find((item) => item.build === part?.build);
      if (!part || !build || Date.parse(build.closedAt) >= before) continue;
      rows.push({
        characteristic: result.characteristic,
        lot: other.lot,
        build: build.build,
        builtAt: build.closedAt,
        machine: build.machine,
        recipe: part.recipe.recipe,
        recipeRevision: String(part.recipe.revision),
        recipeGroup: groups.get(`${part.recipe.recipe} ${part.recipe.revision}`) ?? '',
        specimen: result.specimen,
        piece: result.piece,
        replicate: result.replicate,
        value: result.value,
        ucum: result.ucum,
        method: result.method,
        methodRevision: result.methodRevision,
      });
    }
  }
  return rows;
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
    ...(await read.signaturesOn(digests)),
    ...(await read.signaturesStarting('check finding', `${lot}:`)),
    ...(await read.signaturesStarting('log finding group', `${lot}:`)),
  ];
  for (const { ledgerSeq } of found) gathered.touchedBy(ledgerSeq);
  return found.sort((a, b) => a.ledgerSeq - b.ledgerSeq).map(({ signed }) => signed);
}

/** What of a pinned revision people sign: the whole document, or the parts of it that a signature covers. */
function signableDigests({ kind, digest, body }: Pinned): string[] {
  if (kind === 'receipt') {
    const receipt = body as Receipt;
    return [receiptSubject(receipt), certificateSubject(receipt)].flatMap((subject) => subject?.digest ?? []);
  }
  if (kind === 'person') {
    const { person, qualifications } = body as Person;
    return qualifications.map((qualification) => qualificationSubject(person, qualification).digest);
  }
  return [digest];
}

async function withdrawals(read: Reads, gathered: Gathering): Promise<Dossier['withdrawn']> {
  const found: Dossier['withdrawn'] = [];
  for (const { event, at, actor, reason, ledgerSeq } of await read.eventsOfTypes(['document-withdrawn'])) {
    if (event.type !== 'document-withdrawn') continue;
    const { kind, key, revision } = event;
    if (!gathered.has(kind, key, revision)) continue;
    gathered.touchedBy(ledgerSeq);
    found.push({ kind, key, revision, at, by: actor, reason: reason ?? '' });
  }
  return found;
}

/** Files that the lot, its results and its approvals rest on, each once. */
async function evidenceOfLot(
  read: Reads,
  results: readonly ResultRow[],
  pinned: readonly Pinned[],
): Promise<Dossier['evidence']> {
  const found = new Map<string, Dossier['evidence'][number]>();
  const add = (sha256: string, fileName: string, bytes: number, use: string) => {
    if (!found.has(sha256)) found.set(sha256, { sha256, fileName, bytes, use });
  };
  const named = await read.evidenceNamedBy(pinned);
  for (const { kind, name, sha256, fileName, bytes } of named) if (kind === 'lot') add(sha256, fileName, bytes, name);
  for (const { kind, key, name, sha256, fileName, bytes } of named) {
    if (kind !== 'lot' && name === 'approval') add(sha256, fileName, bytes, `approval of ${kind} ${key}`);
  }
  for (const sha256 of sorted(results.map((row) => row.evidence))) {
    const info = await read.evidenceInfo(sha256);
    add(sha256, info.fileName, info.bytes, 'results');
  }
  return [...found.values()].sort((a, b) => (a.sha256 < b.sha256 ? -1 : 1));
}
