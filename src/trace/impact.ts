import { assess } from '../assessment/assess.js';
import type { Assessment, CharacteristicVerdict, Verdict } from '../assessment/assessment.js';
import { ASSESSMENT_VERSION } from '../base/assessment-version.js';
import { AppError, BadInputError, NotFoundError } from '../base/errors.js';
import { digestOf } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import { digestOfResults, mayRestOn } from '../dossier/impact-results.js';
import { readReported } from '../dossier/reported-value.js';
import type { ResultRow } from '../dossier/tables.js';
import { balanceOf } from '../dossier/unit-places.js';
import { ALL_KINDS } from '../kinds/catalogue.js';
import { resultKey } from '../kinds/result.js';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { LotAssessor } from '../lots/lot-assessor.js';
import { placesOfImplants } from '../lots/unit-places.js';
import { CANNOT_KNOW } from '../report/phrases/cannot-know.js';
import { alteredText, capabilityText, intervalText } from '../report/phrases/impact.js';
import { kindText } from '../report/phrases/kinds.js';
import { balanceText, holderText, placeStateText } from '../report/phrases/places.js';
import type { Store } from '../store/store.js';
import { narrowed, type Reach, type TracedEntry } from '../store/traces.js';
import { type Alteration, alteredFacts, altersNothing } from './altered-facts.js';
import { identify } from './identifiers.js';
import type { ImpactAnswer, ImpactResult, ImpactUnit } from './impact-answer.js';
import { EARLIEST, type ImpactInterval, intervalOf } from './impact-interval.js';
import { whenUsed } from './when-used.js';

export interface ImpactAsked extends Alteration {
  /** Any identifier that names one thing, or `kind:key`. */
  readonly id: string;
  /** Moments with their offsets. */
  readonly from: string | undefined;
  readonly to: string | undefined;
}

/** Kinds of documents that rest claims on lots. */
const CLAIMS = [
  ...['process-validation', 'equivalence-study', 'design-study', 'design-output', 'design-review', 'design-transfer'],
  ...['risk-control', 'gap-answer', 'design-envelope', 'support-window'],
];

/**
 * What it means that something was off: every result, build, powder state and implant that it touches, and what the same
 * rules say once these results are left out, corrected, or less certain. Nothing is stored.
 * @throws NotFoundError when nothing is called so; BadInputError for an identifier of several things, an interval the wrong
 * way round, or a quantity in a unit that does not convert.
 */
export async function impactOf(store: Store, asked: ImpactAsked): Promise<ImpactAnswer> {
  const cause = await causeOf(store, asked.id);
  const interval = await intervalAsked(store, cause, asked);
  const reach = await touchedBy(store, cause, interval);
  const { read } = store;
  const serials = reach.entries.flatMap(({ kind, key }) => (kind === 'implant' ? [key] : []));
  const placed = (await placesOfImplants(read, serials)).sort((a, b) => (a.key < b.key ? -1 : 1));
  const revisionsOf = (asked: string) =>
    new Map(reach.entries.flatMap(({ kind, key, revision }) => (kind === asked ? [[key, revision] as const] : [])));
  const keys = revisionsOf('result');
  const revisions = revisionsOf('implant');
  const results: ImpactResult[] = [];
  const units: ImpactUnit[] = [];
  const lots: ImpactAnswer['lots'] = [];
  for (const lot of [...new Set(placed.map((unit) => unit.lot))].sort()) {
    const said = await lotTwice(store, lot, asked, (row) => isTouched(row, lot, keys, cause, interval));
    if (said.touched.length > 0)
      lots.push({ lot, count: said.touched.length, sha256: digestOfResults(said.touched.map(({ row }) => row)) });
    results.push(
      ...said.touched.map((touched) => ({
        ...resultOf(lot, touched, said),
        revision: keys.get(resultKey({ lot, ...touched.row })) ?? 0,
      })),
    );
    for (const unit of placed.filter((one) => one.lot === lot)) {
      const [first, again] = [verdictOn(said.first, unit.key), verdictOn(said.again, unit.key)];
      units.push({
        ...{ serial: unit.key, revision: revisions.get(unit.key) ?? 0, lot, first, again, flips: first !== again },
        ...{ place: placeStateText(unit), holder: holderText(unit.holder) },
      });
    }
  }
  const size = await read.ledger.size();
  const counted = placed.map(({ key, place, course }) => ({ key, place, contradicted: course.faults.length > 0 }));
  const among = (...kinds: string[]) =>
    reach.entries.filter(({ kind, depth }) => kinds.includes(kind) && depth > 0).map(named);
  return {
    cause: named(cause),
    head: { size, root: await read.ledger.root(size) },
    ...{ from: interval.from, to: interval.to },
    proposed: interval.because === null ? null : intervalText(interval.because),
    altered: alteredText(asked),
    balance: placed.length === 0 ? null : balanceText(balanceOf(counted)),
    units,
    results: results.sort((a, b) => (a.margin ?? Number.POSITIVE_INFINITY) - (b.margin ?? Number.POSITIVE_INFINITY)),
    resultsSha256: digestOf(lots),
    lots,
    builds: among('build'),
    powder: among('powder-state'),
    claims: among(...CLAIMS),
    capability: await capabilityWith(
      store,
      lots.map(({ lot }) => lot),
      results,
    ),
    cannotKnow: [...CANNOT_KNOW],
  };
}

const named = ({ kind, key, name, revision }: Pick<TracedEntry, 'kind' | 'key' | 'name' | 'revision'>) => ({
  ...{ kind, title: kindText(kind), key, name, revision },
});

const verdictOn = ({ units }: Assessment, serial: string): Verdict =>
  units.find((unit) => unit.serial === serial)?.verdict ?? 'cannot be decided';

interface Cause {
  readonly id: number;
  readonly kind: string;
  readonly key: string;
  readonly name: string;
  /** The latest on record. */
  readonly revision: number;
  /** The one that was asked for. */
  readonly only: number | undefined;
}

async function causeOf({ read, clock }: Store, text: string): Promise<Cause> {
  const [kind, key] = [text.slice(0, text.indexOf(':')), text.slice(text.indexOf(':') + 1)];
  const isOfKind = text.includes(':') && ALL_KINDS.some((known) => known.kind === kind);
  const asked = { read, text: isOfKind ? key : text, asOf: undefined, now: clock.now(), checkFindings: async () => [] };
  const all = await identify(asked);
  const found = isOfKind ? all.filter((one) => one.kind === kind) : all;
  if (found.length === 0) throw new NotFoundError('thing', text);
  const [first, ...others] = found;
  if (others.length > 0) {
    throw new BadInputError([
      {
        code: 'several',
        field: 'id',
        found: `"${text}", which names ${found.length} things`,
        expected: found.map((one) => `${one.kind}:${one.key}`).join(' or '),
        remedy: 'name the kind with it',
      },
    ]);
  }
  const entries = await read.trace.named(first!.key);
  const id = entries.find((one) => one.kind === first!.kind && one.key === first!.key)?.id;
  if (id === undefined) throw new NotFoundError('thing', text);
  const own = await read.trace.reach([id], 'forward');
  const { name = '', revision = 0 } = own.entries.find((entry) => entry.id === id) ?? {};
  return { id, kind: first!.kind, key: first!.key, name, revision, only: first!.revision };
}

async function intervalAsked({ read, clock }: Store, cause: Cause, { from, to }: ImpactAsked): Promise<ImpactInterval> {
  const now = clock.now().toISOString();
  const instrument = cause.kind === 'instrument' ? await read.entries.current('instrument', cause.key) : undefined;
  const proposed: ImpactInterval = instrument
    ? intervalOf(instrument.body.calibrations, now)
    : { from: EARLIEST, to: now, because: { code: 'all' } };
  const asked = { from: from ?? proposed.from, to: to ?? proposed.to };
  if (Date.parse(asked.from) > Date.parse(asked.to)) {
    throw new AppError(
      'BAD_INPUT',
      `from ${asked.from} to ${asked.to}: expected a beginning that is not after the end; swap them`,
    );
  }
  return { ...asked, because: from === undefined && to === undefined ? proposed.because : null };
}

/** What was used in the time, and all that it led to. */
async function touchedBy({ read }: Store, cause: Cause, { from, to }: ImpactInterval): Promise<Reach> {
  const whole = await read.trace.reach([cause.id], 'forward');
  const used = await whenUsed(read, whole.entries);
  const [first, last] = [Date.parse(from), Date.parse(to)];
  return narrowed(whole, [cause.id], 'forward', {
    entry: ({ id }) => {
      const when = used.get(id);
      return when === undefined || (when.to >= first && when.from <= last);
    },
    tie: ({ target, revision }) =>
      cause.only === undefined || target !== cause.id || revision === null || revision === cause.only,
  });
}

/** Whether one value rests on the cause: an entry of results holds all that were measured of a specimen. */
function isTouched(
  row: ResultRow,
  lot: string,
  keys: ReadonlyMap<string, number>,
  cause: Cause,
  { from, to }: ImpactInterval,
) {
  const { kind, key, only } = cause;
  return keys.has(resultKey({ lot, ...row })) && mayRestOn(row, { kind, key, revision: only, from, to });
}

interface Touched {
  readonly row: ResultRow;
  /** In the results table, from 1. */
  readonly place: number;
  /** As altered; null where it is left out. */
  readonly value: string | null;
}

interface SaidTwice {
  readonly first: Assessment;
  readonly again: Assessment;
  readonly touched: readonly Touched[];
}

async function lotTwice(
  store: Store,
  lot: string,
  alteration: Alteration,
  touches: (row: ResultRow) => boolean,
): Promise<SaidTwice> {
  const current = new CurrentAssessments(store);
  const facts: Facts = await new LotAssessor(store, current).facts(lot);
  const stored = await current.assessmentOf(lot);
  const isOfNow = stored?.ofEarlierVersion === false && stored.dossierSha256 === digestOf(facts.dossier);
  const first = isOfNow ? stored.assessment : assess(facts, ASSESSMENT_VERSION);
  const changed = alteredFacts(facts, touches, alteration);
  const touched = facts.results.flatMap((row, index): Touched[] =>
    row.status === 'current' && touches(row)
      ? [{ row, place: index + 1, value: alteration.without ? null : changed.results[index]!.value }]
      : [],
  );
  const isAsBefore = altersNothing(alteration) || touched.length === 0;
  return { first, again: isAsBefore ? first : assess(changed, ASSESSMENT_VERSION), touched };
}

function resultOf(
  lot: string,
  { row, place, value }: Touched,
  { first, again }: SaidTwice,
): Omit<ImpactResult, 'revision'> {
  const of = ({ characteristics }: Assessment): CharacteristicVerdict[] =>
    characteristics.filter(({ characteristic }) => characteristic === row.characteristic);
  const verdictIn = (assessment: Assessment): Verdict | null =>
    of(assessment).flatMap(({ values }) => values.filter((one) => one.row === place))[0]?.verdict ?? null;
  const { specimen, piece, characteristic, replicate, measuredAt, instrument, ucum } = row;
  return {
    ...{ lot, specimen, piece, characteristic, replicate, measuredAt, instrument, value: row.value, ucum },
    first: verdictIn(first),
    valueAgain: value,
    again: value === null ? null : verdictIn(again),
    margin: value === null ? null : marginOf(value, of(again)[0]),
  };
}

/** To the nearer limit, after guard bands where the rule has them. */
function marginOf(value: string, judged: CharacteristicVerdict | undefined): number | null {
  const number = Number(readReported(value).number);
  const margins = [
    ...(judged?.acceptFrom == null ? [] : [number - Number(judged.acceptFrom)]),
    ...(judged?.acceptTo == null ? [] : [Number(judged.acceptTo) - number]),
  ];
  return margins.length === 0 ? null : Number(Math.min(...margins).toPrecision(9));
}

/** Statements of capability that count values of these lots in these characteristics. */
async function capabilityWith(
  { read }: Store,
  lots: readonly string[],
  results: readonly ImpactResult[],
): Promise<string[]> {
  const found = new Set<string>();
  const characteristics = [...new Set(results.map(({ characteristic }) => characteristic))].sort();
  const families = new Set<string>();
  for (const lot of lots) {
    const document = await read.entries.current('lot', lot);
    if (document) families.add(document.body.family);
  }
  for (const family of [...families].sort()) {
    for (const characteristic of characteristics) {
      for (const { number, body } of await read.capabilityStatements.of(family, characteristic)) {
        if (lots.some((lot) => body.includes(`"lot":${JSON.stringify(lot)}`))) {
          found.add(capabilityText(family, characteristic, number));
        }
      }
    }
  }
  return [...found];
}
