import { canonicalJson, sha256Hex } from '../dossier/canonical.js';
import { newestPartFormat, PART_NAMES } from '../dossier/facts.js';
import { useOfFile } from '../dossier/file-use.js';
import { Dossier, NEWEST_LOT_FILE, type Pinned, type Withdrawal } from '../dossier/schema.js';
import { signableDigests } from '../dossier/signable.js';
import type { SignedStatement } from '../dossier/statement.js';
import { RESULT_TABLE, type ResultRow, SUMMARY_TABLE } from '../dossier/tables.js';
import { firstClosedAt } from '../kinds/build-chain.js';
import { SIMULATION } from '../kinds/degradation/simulation.js';
import type { Lot } from '../kinds/lot.js';
import type { Specification } from '../kinds/specification.js';
import { readEntry } from '../ledger/entry.js';
import { baselinesInForce } from './baseline-in-force.js';
import { addCaseParts, gatherCases, gatherPermissions } from './case-parts.js';
import { consumableUses } from './consumable-uses.js';
import type { StoredRevision } from './entries.js';
import { evidenceList } from './evidence-list.js';
import { gatherHistory } from './gather-history.js';
import { Gathering } from './gathering.js';
import { lateFacts } from './late-facts.js';
import type { StoredLog } from './logs.js';
import { currentLot, keptUnder, logsOf, movesOfLot, resultsOf } from './lots-now.js';
import { namedFiles } from './named-files.js';
import type { Reads } from './repositories.js';
import { SharedFacts } from './shared-facts.js';
import { stockStory } from './stock-story.js';

/** A dossier ready to be stored: its canonical text, its digest, and its parts by SHA-256. */
export interface FrozenDossier {
  readonly dossier: Dossier;
  readonly body: string;
  readonly digest: string;
  readonly parts: ReadonlyMap<string, { readonly mediaType: string; readonly text: string }>;
}

/**
 * Gathers every fact of one lot, as of now. Equal facts give an equal dossier, byte for byte. The history of the family
 * is pinned when facts of the lot itself came, and stays as the latest lot file has it until more of them come.
 */
export async function assembleDossier(read: Reads, lotCode: string, demo: boolean): Promise<FrozenDossier> {
  const shared = new SharedFacts(read);
  const latest = await read.lotFiles.latest(lotCode);
  if (!latest) return gather(read, { lotCode, demo, pinnedBy: undefined }, shared);
  // One in a form that this program does not read pins nothing.
  const { data: pinnedBy } = Dossier.safeParse(JSON.parse(latest.body));
  const isKept = pinnedBy !== undefined && isOfEarlierFormat(pinnedBy) && (await isSignedAndSame(read, latest, shared));
  return isKept ? withTexts(read, pinnedBy, latest) : gather(read, { lotCode, demo, pinnedBy }, shared);
}

/** Whether a lot that is frozen today has a lot file or a part of a later format. */
const isOfEarlierFormat = ({ format, parts }: Dossier): boolean =>
  format < NEWEST_LOT_FILE || parts.some((part) => part.format < newestPartFormat(part.name));

interface StoredLotFile {
  readonly digest: string;
  readonly body: string;
}

/** People reviewed it or decided upon it, and its facts are what they were: an upgrade of the program turns nothing of that. */
const isSignedAndSame = async (read: Reads, stored: StoredLotFile, shared: SharedFacts): Promise<boolean> =>
  (await read.signatures.on([stored.digest])).length > 0 && (await isStillAs(read, stored, shared));

async function withTexts(read: Reads, dossier: Dossier, { digest, body }: StoredLotFile): Promise<FrozenDossier> {
  const texts = await read.lotFiles.parts(dossier.parts.map(({ sha256 }) => sha256));
  const parts = dossier.parts.map(
    ({ sha256, mediaType }) => [sha256, { mediaType, text: texts.get(sha256)! }] as const,
  );
  return { dossier, body, digest, parts: new Map(parts) };
}

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
  const asked = { lotCode: dossier.lot, demo: dossier.demo, pinnedBy: dossier, known: dossier };
  return (await gather(read, asked, shared)).digest === known.digest;
}

interface Asked {
  readonly lotCode: string;
  readonly demo: boolean;
  /** A dossier whose history of the family stays while no facts of the lot itself came. */
  readonly pinnedBy: Dossier | undefined;
  /**
   * A dossier of which the format is kept, and whose parts stand for those of the same logs, and for the same history; their
   * texts are then left out.
   */
  readonly known?: Dossier;
}

async function gather(
  read: Reads,
  { lotCode, demo, pinnedBy, known }: Asked,
  shared: SharedFacts,
): Promise<FrozenDossier> {
  const gathered = new Gathering(shared, known);
  const current = await read.entries.currentOrThrow('lot', lotCode);
  const lot = await currentLot(read, lotCode);
  await gathered.follow(current, lot);
  for (const move of await movesOfLot(read, lotCode)) await gathered.follow(move);
  if (lot.splitFrom !== undefined) gathered.add(await read.entries.currentOrThrow('lot', lot.splitFrom));
  const parts = [...lot.implants.map(({ serial }) => serial), ...lot.coupons.map(({ coupon }) => coupon)];
  // A load that no step names tells of the lot all the same.
  for (const load of await read.entries.namingParts('process-load', parts)) await gathered.follow(load);
  for (const exposure of await read.entries.namingParts('exposure', parts)) await gathered.follow(exposure);
  await gatherPlaces(read, gathered, parts);
  const judgedBy = lot.specification;
  const { body: specification } = await gathered.pin('specification', judgedBy.specification, judgedBy.revision);
  const results = await resultsOf(read, lot);
  gathered.touchedBy(results.ledgerSeq);
  await pinWhatResultsName(gathered, results.rows);
  await pinMethods(shared, gathered, results.rows);
  await pinEarlierLimits(shared, gathered, specification, results.rows);

  for (const code of keptUnder(lot)) {
    for (const set of await read.entries.revisionsStarting('result-set', `${code}:`)) {
      const { evidence } = set.body;
      if (results.rows.some((row) => row.evidence === evidence)) gathered.add(set);
    }
  }

  const logs = await logsOf(read, lot);
  for (const log of logs) gathered.touchedBy(log.ledgerSeq);
  const files = logs.flatMap((log) => [...log.files]);
  const sameLogs = known !== undefined && canonicalJson(known.logs) === canonicalJson(files);

  gathered.addTable(PART_NAMES.results, RESULT_TABLE, results.rows);
  if (sameLogs)
    gathered.keepParts(known, [PART_NAMES.summaries, ...logs.map((log) => PART_NAMES.log(log.facts.build))]);
  else await addLogParts(read, gathered, logs);
  const late = await lateFacts(read, shared, gathered.documents(), logs);
  if (late.length > 0) gathered.addJson(PART_NAMES.late, { facts: late });
  const cases = await gatherCases(read, shared, gathered, lot);
  await gatherPermissions(read, shared, gathered, cases);
  await gatherNonconformities(read, gathered, lot);
  await gatherRiskControls(read, shared, gathered, lot, specification);
  await gatherBaseline(read, gathered, lot);
  for (const code of keptUnder(lot)) await gatherImpacts(read, gathered, code);
  await gatherRiskBuilds(read, gathered, lot);
  await gatherChangeovers(read, gathered, lot);
  const used = await consumableUses(read, gathered, lot);
  if (used.length > 0) gathered.addJson(PART_NAMES.uses, { uses: used });
  const stock = await stockStory(read, gathered, lot);
  if (stock) gathered.addJson(PART_NAMES.stock, stock);
  addSimulation(gathered, known);
  const withdrawnIn = await withdrawals(read);
  await addCaseParts(read, gathered, lot, cases, withdrawnIn);
  const evidence = await evidenceOfLot(read, results.rows, gathered.documents());
  const signatures = await signaturesOnFacts(read, lotCode, gathered, logs);
  const withdrawn = withdrawnIn(gathered);
  const sameFacts = pinnedBy?.asOf.ledgerEntry === gathered.lastSeq ? pinnedBy : undefined;
  const { plans, approvals } = sameFacts
    ? await keepHistory(read, gathered, sameFacts, known !== undefined)
    : known
      ? NO_PLANS // Facts of the lot came: whatever its history is, it is not as it was.
      : await addHistory(read, gathered, shared, lot, specification);
  const asOf = readEntry(JSON.parse((await read.ledger.entry(gathered.lastSeq))!.body));
  const dossier: Dossier = {
    format: known?.format ?? NEWEST_LOT_FILE,
    demo,
    lot: lotCode,
    asOf: { ledgerEntry: gathered.lastSeq, at: asOf.at },
    pinned: inOrder([...gathered.pinned(), ...plans]),
    logs: files,
    evidence,
    signatures: eachOnce([...signatures, ...approvals]),
    withdrawn,
    parts: gathered.refs,
  };
  const body = canonicalJson(dossier);
  return { dossier, body, digest: sha256Hex(body), parts: gathered.parts };
}

/** How exposures are simulated: as a dossier has it whose facts are asked for again, else as lots are from now on. */
function addSimulation(gathered: Gathering, known: Dossier | undefined): void {
  if (!gathered.documents().some(({ kind }) => kind === 'exposure')) return;
  if (known) gathered.keepParts(known, [PART_NAMES.simulation]);
  else gathered.addJson(PART_NAMES.simulation, SIMULATION);
}

type PinnedPlans = Pick<Awaited<ReturnType<typeof gatherHistory>>, 'plans' | 'approvals'>;

const NO_PLANS: PinnedPlans = { plans: [], approvals: [] };
const PLAN = 'capability-plan';
const nameOf = ({ kind, key, revision }: Pinned): string => `${kind} ${key} ${revision}`;
const inOrder = (pinned: readonly Pinned[]): Pinned[] => [...pinned].sort((a, b) => (nameOf(a) < nameOf(b) ? -1 : 1));

const eachOnce = (statements: readonly SignedStatement[]): SignedStatement[] => [
  ...new Map(statements.map((signed) => [signed.digest, signed])).values(),
];

/** The part of the history as it stands now, where there is any. @returns the plans that it rests on. */
async function addHistory(
  read: Reads,
  gathered: Gathering,
  shared: SharedFacts,
  ...of: [lot: Lot, specification: Specification]
): Promise<PinnedPlans> {
  const { history, ...plans } = await gatherHistory(read, shared, ...of);
  if (history) gathered.addJson(PART_NAMES.history, history);
  return plans;
}

/** The same history and plans as in a lot file of the same facts, in its order, without a look at other lots. */
async function keepHistory(
  read: Reads,
  gathered: Gathering,
  dossier: Dossier,
  withoutText: boolean,
): Promise<PinnedPlans> {
  const part = dossier.parts.find(({ name }) => name === PART_NAMES.history);
  if (part && withoutText) gathered.keepParts(dossier, [PART_NAMES.history]);
  else if (part) {
    const texts = await read.lotFiles.parts([part.sha256]);
    gathered.takeOver(part, texts.get(part.sha256)!);
  }
  const plans = dossier.pinned.filter(({ kind }) => kind === PLAN);
  const digests = new Set(plans.flatMap((pinned) => signableDigests(pinned)));
  const approves = ({ statement }: SignedStatement) =>
    statement.meaning === 'approved' && statement.subjects.some(({ digest }) => digests.has(digest));
  return { plans, approvals: dossier.signatures.filter(approves) };
}

async function addLogParts(read: Reads, gathered: Gathering, logs: readonly StoredLog[]): Promise<void> {
  const summaries = (await Promise.all(logs.map((log) => read.logs.summaries(log)))).flat();
  gathered.addTable(PART_NAMES.summaries, SUMMARY_TABLE, summaries);
  for (const log of logs) gathered.addJson(PART_NAMES.log(log.facts.build), log.part);
}

/** Where parts of the lot and its powder lay, with what the logs of these places say. */
async function gatherPlaces(read: Reads, gathered: Gathering, parts: readonly string[]): Promise<void> {
  const powder = gathered.documents().flatMap(({ kind, key }) => (kind === 'powder-state' ? [key] : []));
  for (const place of await read.entries.namingParts('storage-place', [...parts, ...powder])) {
    await gathered.follow(place);
    for (const log of await read.entries.revisionsStarting('place-log', `${place.key}:`)) gathered.add(log);
  }
}

/** Every nonconformity that touches a part of the lot, or something that went into it. */
async function gatherNonconformities(read: Reads, gathered: Gathering, { implants, coupons }: Lot): Promise<void> {
  const parts = new Set([
    ...implants.map(({ serial }) => `implant ${serial}`),
    ...coupons.map(({ coupon }) => `coupon ${coupon}`),
    ...gathered.documents().map(({ kind, key }) => `${kind} ${key}`),
  ]);
  for (const revision of await read.entries.list('nonconformity')) {
    if (revision.body.touches.some(({ kind, key }) => parts.has(`${kind} ${key}`))) await gathered.follow(revision);
  }
}

/**
 * Risk controls that a characteristic of the lot carries, as they stood when its last closure was opened: later revisions are
 * left out, so that a lot looks the same for ever.
 */
async function gatherRiskControls(
  read: Reads,
  shared: SharedFacts,
  gathered: Gathering,
  { family, builds }: Lot,
  { characteristics }: Specification,
): Promise<void> {
  const built = Math.max(...builds.map(({ openedAt }) => Date.parse(openedAt)));
  const own = new Set<string | undefined>(characteristics.map(({ characteristic }) => characteristic));
  for (const { key } of await read.entries.list('risk-control')) {
    const known = await shared.revisions('risk-control', key);
    const then = known.filter(({ recordedAt }) => Date.parse(recordedAt) <= built).at(-1);
    if (then?.body.family === family && own.has(then.body.characteristic)) gathered.add(then);
  }
}

/** The design as it was frozen when the lot was built: the baseline in force then, which a later one does not replace. */
async function gatherBaseline(read: Reads, gathered: Gathering, lot: Lot): Promise<void> {
  const builtAt = firstClosedAt(lot);
  const found = builtAt === undefined ? undefined : (await baselinesInForce(read, lot.family))(builtAt);
  if (found) gathered.add(found);
}

/** What was said of the lot where something was found off afterwards. It names other lots too, which are none of this one. */
async function gatherImpacts(read: Reads, gathered: Gathering, lot: string): Promise<void> {
  for (const revision of await read.entries.tiedTo('impact', 'lot', lot, 'touches lot')) gathered.add(revision);
}

/** What was asked to be built from material in quarantine. Its receipts are those of the lot, or none of it. */
async function gatherRiskBuilds(read: Reads, gathered: Gathering, { builds }: Lot): Promise<void> {
  const own = new Set(builds.map(({ build }) => build));
  for (const revision of await read.entries.list('risk-build')) {
    if (own.has(revision.body.build)) gathered.add(revision);
  }
}

/** The last changeover of each machine before each closure: a later one is left out, so that a lot looks the same for ever. */
async function gatherChangeovers(read: Reads, gathered: Gathering, { builds }: Lot): Promise<void> {
  const all = await read.entries.list('changeover');
  for (const { machine, closedAt } of builds) {
    const before = all.filter(({ body }) => body.machine === machine && Date.parse(body.at) <= Date.parse(closedAt));
    const last = before.sort((a, b) => Date.parse(a.body.at) - Date.parse(b.body.at)).at(-1);
    if (last) await gathered.follow(last);
  }
}

const sorted = (values: readonly string[]): string[] => [...new Set(values)].filter((value) => value !== '').sort();

/** What the results name: they are no document, and have no links. */
async function pinWhatResultsName(gathered: Gathering, results: readonly ResultRow[]): Promise<void> {
  await gathered.pinAll('instrument', sorted(results.map((row) => row.instrument)));
  const people = results.flatMap((row) => [row.analyst, row.enteredBy, row.checkedBy]);
  await gathered.pinAll('person', sorted(people));
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

/**
 * Kinds whose own files tell of the lot: records of cycles, logs of places, sheets of exposures, meshes of stock parts,
 * certificates of what was received and of instruments.
 */
const WITH_FILES: ReadonlySet<string> = new Set([
  ...['process-load', 'storage-place', 'exposure', 'stock-part', 'receipt', 'instrument'],
]);

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
    ...named
      .filter(({ kind, name }) => WITH_FILES.has(kind) && name !== 'approval')
      .map((file) => ({ ...file, use: useOfFile(file.name, file) })),
    ...sheets,
  ]);
}
