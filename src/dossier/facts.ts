import type { z } from 'zod';
import { AppError } from '../base/errors.js';
import { Case } from '../kinds/case.js';
import { ChannelMap } from '../kinds/channel-map.js';
import { EquivalenceStudy } from '../kinds/equivalence-study.js';
import { Family } from '../kinds/family.js';
import { Instrument } from '../kinds/instrument.js';
import { Lot } from '../kinds/lot.js';
import { Machine } from '../kinds/machine.js';
import { Method } from '../kinds/method.js';
import { Person } from '../kinds/person.js';
import { PowderState } from '../kinds/powder-state.js';
import { ProcessValidation } from '../kinds/process-validation.js';
import { Receipt } from '../kinds/receipt.js';
import { Recipe } from '../kinds/recipe.js';
import { ResultSet } from '../kinds/result-set.js';
import { Specification } from '../kinds/specification.js';
import { Supplier } from '../kinds/supplier.js';
import { CapabilityPlan } from '../kinds/trend/capability-plan.js';
import { sha256Hex } from './canonical.js';
import { FamilyHistory } from './family-history.js';
import { CasePart, type Dossier, LogPart, type PartRef } from './schema.js';
import { RESULT_TABLE, type ResultRow, SUMMARY_TABLE, type SummaryRow } from './tables.js';

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
  readonly lot: Recorded<Lot>;
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
  readonly suppliers: ReadonlyMap<string, Recorded<Supplier>>;
  readonly receipts: ReadonlyMap<string, Recorded<Receipt>>;
  readonly powderStates: ReadonlyMap<string, Recorded<PowderState>>;
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
  summaries: 'log-summaries.csv',
  log: (build: string) => `log-${build}.json`,
  case: (code: string) => `case-${code}.json`,
} as const;

/**
 * Reads a dossier with its parts.
 * @param parts text of each part by its SHA-256; parts of cases may be missing.
 * @param options.withoutSummaries for whoever needs no log summaries: their part may be missing, and asking for them fails.
 * @throws AppError ALTERED when a part is missing or is not the part that the dossier names, or cannot be read.
 */
export function readFacts(
  dossier: Dossier,
  parts: ReadonlyMap<string, string>,
  options: { readonly withoutSummaries?: boolean } = {},
): Facts {
  const text = (ref: PartRef): string | undefined => {
    const found = parts.get(ref.sha256);
    if (found === undefined) return undefined;
    if (sha256Hex(found) !== ref.sha256) {
      throw new AppError('ALTERED', `part ${ref.name} is not the one that the lot file names`, { part: ref.name });
    }
    return found;
  };
  const required = (name: string): string => {
    const ref = dossier.parts.find((part) => part.name === name);
    const found = ref && text(ref);
    if (found === undefined) throw new AppError('ALTERED', `part ${name} of the lot file is missing`, { part: name });
    return found;
  };
  const reading = <T>(name: string, read: () => T): T => {
    try {
      return read();
    } catch (error) {
      if (error instanceof AppError) throw error;
      throw new AppError('ALTERED', `${name} of the lot file cannot be read: ${(error as Error).message}`, {
        part: name,
      });
    }
  };

  const pinned = <T>(kind: string, schema: z.ZodType<T>): Map<string, Recorded<T>> =>
    new Map(
      dossier.pinned
        .filter((item) => item.kind === kind)
        .map((item) => [item.key, reading(`${kind} ${item.key}`, () => ({ ...item, body: schema.parse(item.body) }))]),
    );
  const byRevision = <T>(kind: string, schema: z.ZodType<T>): Map<string, Recorded<T>> =>
    new Map(
      dossier.pinned
        .filter((item) => item.kind === kind)
        .map((item) => [
          revisionKey(item.key, item.revision),
          reading(`${kind} ${item.key}`, () => ({ ...item, body: schema.parse(item.body) })),
        ]),
    );
  const only = <T>(map: ReadonlyMap<string, T>, kind: string): T => {
    const [first, ...more] = [...map.values()];
    if (first === undefined || more.length > 0) {
      throw new AppError('ALTERED', `the lot file must pin one ${kind}, it pins ${map.size}`, { kind });
    }
    return first;
  };

  const summariesText = options.withoutSummaries === true ? undefined : required(PART_NAMES.summaries);
  const summaries = onFirstUse(() => {
    if (summariesText === undefined) {
      throw new AppError('UNEXPECTED', `${PART_NAMES.summaries} was left out when the lot file was read`);
    }
    return reading(PART_NAMES.summaries, () => SUMMARY_TABLE.read(summariesText));
  });
  const cases = new Map<string, Recorded<Case>>();
  const caseParts = new Map<string, CasePart>();
  const withheldCases: string[] = [];
  for (const ref of dossier.parts.filter((part) => part.case !== undefined)) {
    const found = text(ref);
    if (found === undefined) withheldCases.push(ref.case!);
    else
      reading(ref.name, () => {
        const part = CasePart.parse(JSON.parse(found));
        const item = part.pinned.find(({ kind, key }) => kind === 'case' && key === ref.case);
        if (!item || part.case !== ref.case) throw new Error(`it is not of case ${ref.case}`);
        caseParts.set(ref.case!, part);
        cases.set(ref.case!, { ...item, body: Case.parse(item.body) });
      });
  }
  const lot = only(pinned('lot', Lot), 'lot');
  const specifications = byRevision('specification', Specification);
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
      return [log.build, reading(name, () => LogPart.parse(JSON.parse(required(name))))];
    }),
  );

  return {
    ...carriedBy(dossier, caseParts),
    dossier,
    lot,
    family: only(pinned('family', Family), 'family'),
    specification,
    earlierSpecifications: [...specifications.values()].filter((item) => item !== specification),
    validations: byRevision('process-validation', ProcessValidation),
    studies: byRevision('equivalence-study', EquivalenceStudy),
    recipes: byRevision('recipe', Recipe),
    channelMaps: byRevision('channel-map', ChannelMap),
    methods: byRevision('method', Method),
    suppliers: pinned('supplier', Supplier),
    receipts: pinned('receipt', Receipt),
    powderStates: pinned('powder-state', PowderState),
    machines: pinned('machine', Machine),
    instruments: pinned('instrument', Instrument),
    people: pinned('person', Person),
    resultSets: new Map(
      dossier.pinned
        .filter((item) => item.kind === 'result-set')
        .map((item) => {
          const body = reading(`result set ${item.key}`, () => ResultSet.parse(item.body));
          return [body.evidence, { ...item, body }];
        }),
    ),
    cases,
    caseParts,
    withheldCases,
    results: reading(PART_NAMES.results, () => RESULT_TABLE.read(required(PART_NAMES.results))),
    history: dossier.parts.some(({ name }) => name === PART_NAMES.history)
      ? reading(PART_NAMES.history, () => FamilyHistory.parse(JSON.parse(required(PART_NAMES.history))))
      : undefined,
    capabilityPlans: byRevision('capability-plan', CapabilityPlan),
    logParts,
    get summaries() {
      return summaries();
    },
  };
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

/** The longest table by far: read when somebody first asks for it, and then kept. */
function onFirstUse<T>(read: () => T): () => T {
  let known: T | undefined;
  return () => {
    known ??= read();
    return known;
  };
}
