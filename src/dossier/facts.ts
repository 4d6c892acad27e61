import type { z } from 'zod';
import { AppError, LaterFormError } from '../base/errors.js';
import { parseForm, readKnown } from '../base/later-form.js';
import { type Case, caseKind } from '../kinds/case.js';
import { type Changeover, changeover } from '../kinds/changeover.js';
import { type ChannelMap, channelMap } from '../kinds/channel-map.js';
import { type Consumable, consumable } from '../kinds/consumable.js';
import type { Exposure } from '../kinds/degradation/exposure.js';
import { exposure } from '../kinds/degradation/exposure-document.js';
import { Simulation } from '../kinds/degradation/simulation.js';
import { type StockPart, stockPart } from '../kinds/degradation/stock-part.js';
import { type Baseline, baseline } from '../kinds/design-history/baseline.js';
import { type RiskControl, riskControl } from '../kinds/design-history/risk-control.js';
import { type EquivalenceStudy, equivalenceStudy } from '../kinds/equivalence-study.js';
import { type Family, family as familyKind } from '../kinds/family.js';
import { readBody } from '../kinds/formats.js';
import { type Instrument, instrument } from '../kinds/instrument.js';
import type { DeclaredKind } from '../kinds/kind.js';
import type { Lot } from '../kinds/lot.js';
import { lot as lotKind } from '../kinds/lot-document.js';
import { type Machine, machine } from '../kinds/machine.js';
import { type MaterialSpecification, materialSpecification } from '../kinds/material-specification.js';
import { type Method, method } from '../kinds/method.js';
import { type Person, person } from '../kinds/person.js';
import { type PlaceLog, placeLog } from '../kinds/place-log.js';
import { type PowderState, powderState } from '../kinds/powder-state.js';
import { type ProcessLoad, processLoad } from '../kinds/process-load.js';
import { type ProcessValidation, processValidation } from '../kinds/process-validation.js';
import { type Receipt, receipt } from '../kinds/receipt.js';
import { type Recipe, recipe } from '../kinds/recipe.js';
import { type ResultSet, resultSet } from '../kinds/result-set.js';
import { type ReworkInstruction, reworkInstruction } from '../kinds/rework-instruction.js';
import { type RiskBuild, riskBuild } from '../kinds/risk-build.js';
import { type Specification, specification as specificationKind } from '../kinds/specification.js';
import { type LotNow, lotNow } from '../kinds/split-lot.js';
import { type StoragePlace, storagePlace } from '../kinds/storage-place.js';
import { type Supplier, supplier } from '../kinds/supplier.js';
import { type CapabilityPlan, capabilityPlan } from '../kinds/trend/capability-plan.js';
import { type UnitMove, unitMove } from '../kinds/unit-move.js';
import { sha256Hex } from './canonical.js';
import { type ConsumableUsed, ConsumableUsesPart } from './earlier-uses.js';
import { FamilyHistory } from './family-history.js';
import { type LateFact, LatePart } from './late-facts.js';
import { CasePart, type Dossier, LogPart, type PartRef, type Pinned } from './schema.js';
import { NO_STOCK, type StockStory, StockStoryPart } from './stock-story.js';
import { RESULT_TABLE, type ResultRow, SUMMARY_TABLE, type SummaryRow, type Table } from './tables.js';

/** A pinned document with what the store knows about it. */
export interface Recorded<T> {
  readonly revision: number;
  readonly digest: string;
  readonly recordedAt: string;
  readonly body: T;
}

export interface RecordedSheet extends Recorded<ResultSet> {
  readonly key: string;
}

/** What a lot file says of documents, files, signatures and withdrawals: its own facts, and those of the cases that are shown. */
export type Carried = Pick<Dossier, 'pinned' | 'evidence' | 'signatures' | 'withdrawn'>;

/** The dossier with its parts, read and typed: all that checks and statistics may look at. */
export interface Facts extends Carried {
  readonly dossier: Dossier;
  /** Its document as recorded, and in the body what it says together with the moves of its units. */
  readonly lot: Recorded<LotNow>;
  /** Moves of units that left the lot, or came over when it was split from another. */
  readonly moves: ReadonlyMap<string, Recorded<UnitMove>>;
  readonly family: Recorded<Family>;
  readonly specification: Recorded<Specification>;
  /** Revisions before the one that the lot is judged by, where the data could have been known when it came in. */
  readonly earlierSpecifications: readonly Recorded<Specification>[];
  /** By code and revision, as `revisionKey` writes them. */
  readonly validations: ReadonlyMap<string, Recorded<ProcessValidation>>;
  readonly studies: ReadonlyMap<string, Recorded<EquivalenceStudy>>;
  readonly recipes: ReadonlyMap<string, Recorded<Recipe>>;
  readonly channelMaps: ReadonlyMap<string, Recorded<ChannelMap>>;
  readonly methods: ReadonlyMap<string, Recorded<Method>>;
  readonly materialSpecifications: ReadonlyMap<string, Recorded<MaterialSpecification>>;
  readonly suppliers: ReadonlyMap<string, Recorded<Supplier>>;
  readonly receipts: ReadonlyMap<string, Recorded<Receipt>>;
  readonly powderStates: ReadonlyMap<string, Recorded<PowderState>>;
  /** Every load in which parts of the lot were, and each that a step of it names. */
  readonly loads: ReadonlyMap<string, Recorded<ProcessLoad>>;
  /** What touched the parts and wears out: in closures, loads, or mixed into what did. */
  readonly consumables: ReadonlyMap<string, Recorded<Consumable>>;
  /** Builds from material in quarantine that people asked for, by the build. */
  readonly riskBuilds: ReadonlyMap<string, Recorded<RiskBuild>>;
  /** The last changeover of each machine before each closure of the lot, and whatever other one a closure names. */
  readonly changeovers: ReadonlyMap<string, Recorded<Changeover>>;
  /** Risk controls on record before the last closure that name a characteristic of the specification. */
  readonly riskControls: ReadonlyMap<string, Recorded<RiskControl>>;
  /** The baseline of the design that was in force when the lot was built, where one was (`baselineOfLot`). */
  readonly baselines: readonly Recorded<Baseline>[];
  /** Those by which steps of the lot were done again. */
  readonly reworkInstructions: ReadonlyMap<string, Recorded<ReworkInstruction>>;
  /** On which parts of the lot were built, and what is known of them from elsewhere. */
  readonly stockParts: ReadonlyMap<string, Recorded<StockPart>>;
  readonly stock: StockStory;
  /** Where parts of the lot and its powder lay, and the logs of these places as scanned. */
  readonly places: ReadonlyMap<string, Recorded<StoragePlace>>;
  readonly placeLogs: ReadonlyMap<string, Recorded<PlaceLog>>;
  /** What specimens of the lot lost in which medium. */
  readonly exposures: ReadonlyMap<string, Recorded<Exposure>>;
  /** How what they lost is simulated where first order is not enough; undefined for a lot without exposures. */
  readonly simulation: Simulation | undefined;
  readonly machines: ReadonlyMap<string, Recorded<Machine>>;
  readonly instruments: ReadonlyMap<string, Recorded<Instrument>>;
  readonly people: ReadonlyMap<string, Recorded<Person>>;
  /** Result sheets as taken in, by the SHA-256 of the file: one for each file that rows of this lot came with. */
  readonly resultSets: ReadonlyMap<string, RecordedSheet>;
  readonly cases: ReadonlyMap<string, Recorded<Case>>;
  /** What belongs to each case alone, as far as it was given. */
  readonly caseParts: ReadonlyMap<string, CasePart>;
  /** Cases whose part was not given: a record that leaves for one institution withholds the others. */
  readonly withheldCases: readonly string[];
  readonly results: readonly ResultRow[];
  /** Facts of the build that were entered late; late results say it themselves. */
  readonly lateFacts: readonly LateFact[];
  /** Uses of what has a limit of uses, of whatever lots, up to the last use of this lot. */
  readonly consumablesUsed: readonly ConsumableUsed[];
  /** Undefined for a lot without earlier builds in its family. */
  readonly history: FamilyHistory | undefined;
  readonly capabilityPlans: ReadonlyMap<string, Recorded<CapabilityPlan>>;
  readonly logParts: ReadonlyMap<string, LogPart>;
  readonly summaries: readonly SummaryRow[];
}

/** Key of a document that carries its own revision: `BP-SPEC rev 3`. */
export const revisionKey = (key: string, revision: number): string => `${key} rev ${revision}`;

export const PART_NAMES = {
  results: 'results.csv',
  history: 'family-history.json',
  late: 'late-facts.json',
  uses: 'consumable-uses.json',
  stock: 'stock-parts.json',
  simulation: 'simulation.json',
  summaries: 'log-summaries.csv',
  log: (build: string) => `log-${build}.json`,
  case: (code: string) => `case-${code}.json`,
} as const;

/**
 * Reads a dossier with its parts, each by its format. A part that this program does not know is passed over: what it
 * knows of a lot stands in the parts that it knows.
 * @param parts text of each part by its SHA-256; parts of cases may be missing.
 * @param options.withoutSummaries for whoever needs no log summaries: their part may be missing, and asking for them fails.
 * @param options.passOver for whoever goes on without the fields that only a later version knows: told of each of them.
 * @throws AppError ALTERED when a part is missing or is not the part that the dossier names, or cannot be read.
 * @throws LaterFormError when a part or a document has what only a later version knows.
 */
export function readFacts(
  dossier: Dossier,
  parts: ReadonlyMap<string, string>,
  options: { readonly withoutSummaries?: boolean; readonly passOver?: (later: string) => void } = {},
): Facts {
  const { passOver } = options;
  const text = (ref: PartRef): string | undefined => {
    const found = parts.get(ref.sha256);
    if (found === undefined) return undefined;
    if (sha256Hex(found) !== ref.sha256) {
      throw new AppError('ALTERED', `part ${ref.name} is not the one that the lot file names`, { part: ref.name });
    }
    if (ref.format > newestPartFormat(ref.name)) {
      throw new LaterFormError(`part ${ref.name} of the lot file is of format ${ref.format}`, { part: ref.name });
    }
    return found;
  };
  const required = (name: string): PartText => {
    const ref = dossier.parts.find((part) => part.name === name);
    const found = ref && text(ref);
    if (found === undefined) throw new AppError('ALTERED', `part ${name} of the lot file is missing`, { part: name });
    return { text: found, format: ref!.format };
  };
  const tableOf = <Row>(name: string, table: Table<Row>): Row[] => {
    const part = required(name);
    return reading(name, () => table.read(part.text, part.format));
  };
  const reading = <T>(name: string, read: () => T): T => {
    try {
      return read();
    } catch (error) {
      if (error instanceof AppError) throw error;
      // What a library says of a text that it cannot read tells nobody anything.
      const why = error instanceof Error && error.constructor === Error ? `: ${error.message}` : '';
      throw new AppError('ALTERED', `${name} of the lot file cannot be read${why}`, { part: name });
    }
  };

  /** A part that is JSON. `whole` has what was passed over, too: what it holds is known by its digests. */
  const jsonOf = <T>(name: string, schema: z.ZodType<T>, json: string): { known: T; whole: T } => {
    const value: unknown = JSON.parse(json);
    const what = `part ${name} of the lot file`;
    if (passOver === undefined) {
      const known = parseForm(what, schema, value);
      return { known, whole: known };
    }
    const read = readKnown(what, schema, value);
    if (read.later !== undefined) passOver(`${what} has ${read.later}`);
    return read;
  };

  const ofKind = <T>(kind: DeclaredKind<T>): (Pinned & { readonly body: T })[] =>
    dossier.pinned
      .filter((item) => item.kind === kind.kind)
      .map((item) =>
        reading(`${kind.kind} ${item.key}`, () => ({ ...item, body: readBody(kind, item.body, passOver) })),
      );
  const pinned = <T>(kind: DeclaredKind<T>): Map<string, Recorded<T>> =>
    new Map(ofKind(kind).map((item) => [item.key, item]));
  const byRevision = <T>(kind: DeclaredKind<T>): Map<string, Recorded<T>> =>
    new Map(ofKind(kind).map((item) => [revisionKey(item.key, item.revision), item]));
  const only = <T>(map: ReadonlyMap<string, T>, kind: string): T => {
    const [first, ...more] = [...map.values()];
    if (first === undefined || more.length > 0) {
      throw new AppError('ALTERED', `the lot file must pin one ${kind}, it pins ${map.size}`, { kind });
    }
    return first;
  };

  const summariesPart = options.withoutSummaries === true ? undefined : required(PART_NAMES.summaries);
  const summaries = onFirstUse(() => {
    if (summariesPart === undefined) {
      throw new AppError('UNEXPECTED', `${PART_NAMES.summaries} was left out when the lot file was read`);
    }
    return tableOf(PART_NAMES.summaries, SUMMARY_TABLE);
  });
  const cases = new Map<string, Recorded<Case>>();
  const caseParts = new Map<string, CasePart>();
  const withheldCases: string[] = [];
  for (const ref of dossier.parts.filter((part) => part.case !== undefined)) {
    if (ref.name !== PART_NAMES.case(ref.case!)) continue;
    const found = text(ref);
    if (found === undefined) withheldCases.push(ref.case!);
    else
      reading(ref.name, () => {
        const part = jsonOf(ref.name, CasePart, found).whole;
        const item = part.pinned.find(({ kind, key }) => kind === 'case' && key === ref.case);
        if (!item || part.case !== ref.case) throw new Error(`it is not of case ${ref.case}`);
        caseParts.set(ref.case!, part);
        cases.set(ref.case!, { ...item, body: readBody(caseKind, item.body, passOver) });
      });
  }
  const moves = pinned(unitMove);
  const lot = lotOf(dossier.lot, pinned(lotKind), moves);
  const specifications = byRevision(specificationKind);
  const named = lot.body.specification;
  const specification = specifications.get(revisionKey(named.specification, named.revision));
  if (!specification) {
    throw new AppError('ALTERED', 'the lot file does not pin the specification that the lot names', {
      kind: 'specification',
    });
  }
  const logParts = new Map(
    dossier.logs.map((log) => {
      const name = PART_NAMES.log(log.build);
      return [log.build, reading(name, () => jsonOf(name, LogPart, required(name).text).known)];
    }),
  );

  return {
    ...carriedBy(dossier, caseParts),
    dossier,
    lot,
    moves,
    family: only(pinned(familyKind), 'family'),
    specification,
    earlierSpecifications: [...specifications.values()].filter((item) => item !== specification),
    validations: byRevision(processValidation),
    studies: byRevision(equivalenceStudy),
    recipes: byRevision(recipe),
    channelMaps: byRevision(channelMap),
    methods: byRevision(method),
    materialSpecifications: byRevision(materialSpecification),
    suppliers: pinned(supplier),
    receipts: pinned(receipt),
    powderStates: pinned(powderState),
    loads: pinned(processLoad),
    consumables: pinned(consumable),
    riskBuilds: pinned(riskBuild),
    changeovers: pinned(changeover),
    riskControls: byRevision(riskControl),
    baselines: ofKind(baseline),
    reworkInstructions: byRevision(reworkInstruction),
    stockParts: pinned(stockPart),
    stock: dossier.parts.some(({ name }) => name === PART_NAMES.stock)
      ? reading(PART_NAMES.stock, () => jsonOf(PART_NAMES.stock, StockStoryPart, required(PART_NAMES.stock).text).known)
      : NO_STOCK,
    simulation: dossier.parts.some(({ name }) => name === PART_NAMES.simulation)
      ? reading(
          PART_NAMES.simulation,
          () => jsonOf(PART_NAMES.simulation, Simulation, required(PART_NAMES.simulation).text).known,
        )
      : undefined,
    places: pinned(storagePlace),
    placeLogs: pinned(placeLog),
    exposures: pinned(exposure),
    machines: pinned(machine),
    instruments: pinned(instrument),
    people: pinned(person),
    resultSets: new Map(ofKind(resultSet).map((item) => [item.body.evidence, item])),
    cases,
    caseParts,
    withheldCases,
    results: tableOf(PART_NAMES.results, RESULT_TABLE),
    lateFacts: dossier.parts.some(({ name }) => name === PART_NAMES.late)
      ? reading(PART_NAMES.late, () => jsonOf(PART_NAMES.late, LatePart, required(PART_NAMES.late).text).known.facts)
      : [],
    consumablesUsed: dossier.parts.some(({ name }) => name === PART_NAMES.uses)
      ? reading(
          PART_NAMES.uses,
          () => jsonOf(PART_NAMES.uses, ConsumableUsesPart, required(PART_NAMES.uses).text).known.uses,
        )
      : [],
    history: dossier.parts.some(({ name }) => name === PART_NAMES.history)
      ? reading(
          PART_NAMES.history,
          () => jsonOf(PART_NAMES.history, FamilyHistory, required(PART_NAMES.history).text).known,
        )
      : undefined,
    capabilityPlans: byRevision(capabilityPlan),
    logParts,
    get summaries() {
      return summaries();
    },
  };
}

/** The lot of a lot file, which pins the document of the lot that it was split from, too. */
function lotOf(
  code: string,
  lots: ReadonlyMap<string, Recorded<Lot>>,
  moves: ReadonlyMap<string, Recorded<UnitMove>>,
): Recorded<LotNow> {
  const own = lots.get(code);
  const { splitFrom } = own?.body ?? {};
  const origin = splitFrom === undefined ? undefined : lots.get(splitFrom);
  if (own === undefined || lots.size !== (splitFrom === undefined ? 1 : 2) || (splitFrom !== undefined && !origin)) {
    const what = 'the lot file must pin its lot, and the one that it was split from when there is one';
    throw new AppError('ALTERED', `${what}; it pins ${lots.size} lots`, { kind: 'lot' });
  }
  const told = { origin: origin?.body, moves: [...moves.values()].map(({ body }) => body) };
  return { ...own, body: lotNow(own.body, told) };
}

/**
 * What a lot file says together with the parts of some of its cases. A document on which two cases rest counts once, and so
 * does a statement on several things.
 */
export function carriedBy(dossier: Carried, caseParts: ReadonlyMap<string, CasePart>): Carried {
  if (caseParts.size === 0) return dossier;
  const all = [dossier, ...caseParts.values()];
  const once = <T>(items: readonly T[], nameOf: (item: T) => string): T[] => [
    ...new Map(items.map((item) => [nameOf(item), item])).values(),
  ];
  const revision = (item: { kind: string; key: string; revision: number }) =>
    `${item.kind} ${item.key} ${item.revision}`;
  return {
    pinned: once(
      all.flatMap(({ pinned }) => pinned),
      revision,
    ),
    evidence: all.flatMap(({ evidence }) => evidence),
    signatures: once(
      all.flatMap(({ signatures }) => signatures),
      ({ digest, signature }) => `${digest} ${signature}`,
    ),
    withdrawn: once(
      all.flatMap(({ withdrawn }) => withdrawn),
      revision,
    ),
  };
}

interface PartText {
  readonly text: string;
  readonly format: number;
}

/** The newest format of the parts that are JSON: an earlier one is a member of the schema by which they are read. */
export const JSON_PART_FORMAT = 1;

const TABLES = new Map<string, { readonly format: number }>([
  [PART_NAMES.results, RESULT_TABLE],
  [PART_NAMES.summaries, SUMMARY_TABLE],
]);

/** The format in which a part is written today, and the last that this version reads. */
export const newestPartFormat = (name: string): number => TABLES.get(name)?.format ?? JSON_PART_FORMAT;

/** The longest table by far: read when somebody first asks for it, and then kept. */
function onFirstUse<T>(read: () => T): () => T {
  let known: T | undefined;
  return () => {
    known ??= read();
    return known;
  };
}
