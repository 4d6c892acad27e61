import type { Verdict } from '../assessment/assessment.js';
import { CapabilityStatement, lotsCounted } from '../assessment/family/statement.js';
import { digestOf } from '../dossier/canonical.js';
import { digestOfResults, restingOn } from '../dossier/impact-results.js';
import { balanceOf } from '../dossier/unit-places.js';
import { closuresOf } from '../kinds/build-chain.js';
import { resultKey } from '../kinds/result.js';
import { placesOfImplants } from '../lots/unit-places.js';
import { CANNOT_KNOW } from '../report/phrases/cannot-know.js';
import { alteredText, capabilityText, intervalText, notReadText, scannedText } from '../report/phrases/impact.js';
import { kindText } from '../report/phrases/kinds.js';
import { balanceText, holderText, placeStateText } from '../report/phrases/places.js';
import { currentLots, keptUnder } from '../store/lots-now.js';
import type { Reads } from '../store/repositories.js';
import type { Store } from '../store/store.js';
import type { TracedEntry } from '../store/traces.js';
import type { Alteration } from './altered-facts.js';
import type { ImpactAnswer, ImpactResult, ImpactUnit } from './impact-answer.js';
import { type Cause, causeOf, intervalAsked } from './impact-cause.js';
import type { ImpactInterval } from './impact-interval.js';
import { type Touched, touchedBy } from './impact-touched.js';
import {
  assessTwice,
  type LotSaid,
  lotsSaidBy,
  type NotRead,
  resultTwice,
  type SaidTwice,
  saidBefore,
  saidNow,
  type Touches,
  verdictOn,
} from './lot-twice.js';

export interface ImpactAsked extends Alteration {
  /** Any identifier that names one thing, or `kind:key`. */
  readonly id: string;
  /** Moments with their offsets. */
  readonly from: string | undefined;
  readonly to: string | undefined;
}

/** How far it is: lots that were looked at, of how many. */
export interface LotsLooked {
  readonly done: number;
  readonly total: number;
}

/** Kinds of documents that rest claims on lots. */
const CLAIMS = [
  ...['process-validation', 'equivalence-study', 'design-study', 'design-output', 'design-review', 'design-transfer'],
  ...['risk-control', 'gap-answer', 'design-envelope', 'support-window'],
];

/**
 * What it means that something was off: every result, build, powder state and implant that it touches, and what the same
 * rules say once these results are left out, corrected, or less certain. Of a program it is what that program said, and what
 * the rules of this one say of the same lot files. Nothing is stored.
 * @throws NotFoundError when nothing is called so; BadInputError for an identifier of several things, an interval the wrong
 * way round, or a quantity in a unit that does not convert.
 */
export async function impactOf(
  store: Store,
  asked: ImpactAsked,
  onProgress: (looked: LotsLooked) => void = () => {},
): Promise<ImpactAnswer> {
  const { read } = store;
  const cause = await causeOf(store, asked.id);
  const interval = await intervalAsked(store, cause, asked);
  const touched = await touchedBy(store, cause, interval);
  const { serials, lots: around, saidOf, touchesOf } = await lookedAt(store, cause, interval, touched);
  const placed = (await placesOfImplants(read, serials)).sort((a, b) => (a.key < b.key ? -1 : 1));
  const results: FoundResult[] = [];
  const units: Omit<ImpactUnit, 'revision'>[] = [];
  const lots: ImpactAnswer['lots'] = [];
  const notRead: ImpactAnswer['notRead'] = [];
  const builds = new Set<string>();
  const among = [...new Set([...around, ...placed.map((unit) => unit.lot)])].sort();
  for (const [done, lot] of among.entries()) {
    onProgress({ done, total: among.length });
    const here = placed.filter((unit) => unit.lot === lot);
    const first = await saidOf(lot);
    if ('why' in first) {
      notRead.push({ lot, why: notReadText(first.why) });
      units.push(...here.map((unit) => unitTwice(unit, () => 'cannot be decided')));
      continue;
    }
    const said = assessTwice(first, asked, touchesOf(first));
    // By these alone a finding on the calibration of an instrument is cleared.
    const all = said.touched.map(({ row }) => row);
    const rows =
      cause.kind === 'instrument'
        ? restingOn(all, { kind: cause.kind, key: cause.key, from: interval.from, to: interval.to })
        : all;
    if (rows.length > 0) lots.push({ lot, count: rows.length, sha256: digestOfResults(rows) });
    const keptIn = keptUnder(first.facts.lot.body);
    results.push(...said.touched.map((one) => ({ ...resultTwice(lot, one, said), keptIn })));
    units.push(
      ...here.map((unit) => ({
        ...unitTwice(unit, (which) => verdictOn(said[which], unit.key)),
        ...(said.scanned.has(unit.key) ? { scanned: true as const } : {}),
      })),
    );
    if (cause.kind === 'recipe') for (const build of buildsOfParts(said, touched)) builds.add(build);
  }
  const each = (await resultsRecorded(read, results)).sort(byMargin);
  const size = await read.ledger.size();
  const scanned = units.filter((unit) => unit.scanned).length;
  const counted = placed.map(({ key, place, course }) => ({ key, place, contradicted: course.faults.length > 0 }));
  const reached = (...kinds: string[]) =>
    touched.reach.entries.filter(({ kind, depth }) => kinds.includes(kind) && depth > 0).map(named);
  return {
    cause: named(cause),
    head: { size, root: await read.ledger.root(size) },
    ...{ from: interval.from, to: interval.to },
    proposed: interval.because === null ? null : intervalText(interval.because),
    altered: alteredText(asked),
    balance: placed.length === 0 ? null : balanceText(balanceOf(counted)),
    units: await unitsRecorded(read, units),
    results: each,
    resultsSha256: digestOf(lots),
    ...{ lots, notRead },
    builds: [...reached('build'), ...(await buildsNamed(read, builds))],
    powder: reached('powder-state'),
    claims: reached(...CLAIMS),
    capability: await capabilityWith(read, each),
    cannotKnow: [...(scanned === 0 ? [] : [scannedText(scanned)]), ...CANNOT_KNOW],
  };
}

/** Which implants and lots an impact looks at, what was said of each lot, and which of its results are touched. */
interface LookedAt {
  readonly serials: readonly string[];
  readonly lots: readonly string[];
  saidOf(lot: string): Promise<LotSaid | NotRead>;
  touchesOf(said: LotSaid): Touches;
}

async function lookedAt(
  store: Store,
  { program }: Cause,
  interval: ImpactInterval,
  { reach, lots, isTouched, isScannedWith }: Touched,
): Promise<LookedAt> {
  if (program === undefined) {
    const serials = reach.entries.flatMap(({ kind, key }) => (kind === 'implant' ? [key] : []));
    return {
      ...{ serials, lots, saidOf: (lot) => saidNow(store, lot) },
      touchesOf: ({ facts }) => ({ result: (row) => isTouched(facts, row), scan: isScannedWith }),
    };
  }
  const said = await lotsSaidBy(store, program, interval);
  const ofThese = said.size === 0 ? [] : (await currentLots(store.read)).filter(({ lot }) => said.has(lot));
  return {
    serials: ofThese.flatMap(({ implants }) => implants.map(({ serial }) => serial)),
    lots: [...said.keys()],
    saidOf: (lot) => {
      const before = said.get(lot);
      // An implant may have moved to another lot since.
      return before === undefined ? saidNow(store, lot) : saidBefore(store, before);
    },
    touchesOf: ({ facts }) => ({ result: () => said.has(facts.dossier.lot), scan: () => false }),
  };
}

function unitTwice(
  unit: Awaited<ReturnType<typeof placesOfImplants>>[number],
  verdict: (which: 'first' | 'again') => Verdict,
): Omit<ImpactUnit, 'revision'> {
  const [first, again] = [verdict('first'), verdict('again')];
  return {
    ...{ serial: unit.key, lot: unit.lot, first, again, flips: first !== again },
    ...{ place: placeStateText(unit), holder: holderText(unit.holder) },
  };
}

/** A recipe is named by what was made with it, and not by the builds that ran it. */
function buildsOfParts({ facts }: SaidTwice, { isMadeWith }: Touched): string[] {
  const { implants, coupons } = facts.lot.body;
  return [
    ...implants.flatMap((part) => (isMadeWith(part.serial) ? closuresOf(part) : [])),
    ...coupons.flatMap((part) => (isMadeWith(part.coupon) ? closuresOf(part) : [])),
  ];
}

async function buildsNamed({ entries }: Reads, keys: ReadonlySet<string>) {
  const found = [];
  for (const key of [...keys].sort()) {
    const { name, revision } = await entries.currentOrThrow('build', key);
    found.push(named({ kind: 'build', key, name, revision }));
  }
  return found;
}

const byMargin = (a: Pick<ImpactResult, 'margin'>, b: Pick<ImpactResult, 'margin'>): number =>
  (a.margin ?? Number.POSITIVE_INFINITY) - (b.margin ?? Number.POSITIVE_INFINITY);

/** A result of one lot, with the lots under one of which it was recorded. */
type FoundResult = Omit<ImpactResult, 'revision'> & { readonly keptIn: readonly string[] };

/**
 * Each result once, under the lot that recorded it: a coupon that speaks for units of two lots of a split is judged in both.
 * Where they say different things of it, the one that says that it fails is told.
 */
async function resultsRecorded({ entries }: Reads, found: readonly FoundResult[]): Promise<ImpactResult[]> {
  const keysOf = ({ keptIn, ...row }: FoundResult) => keptIn.map((lot) => [lot, resultKey({ ...row, lot })] as const);
  const revisions = await latestOf(
    entries,
    'result',
    found.flatMap(keysOf).map(([, key]) => key),
  );
  const each = new Map<string, ImpactResult>();
  for (const one of found) {
    const { keptIn, ...row } = one;
    const [lot, key] = keysOf(one).find(([, name]) => revisions.has(name)) ?? [row.lot, resultKey(row)];
    const name = JSON.stringify([key, row.replicate]);
    const known = each.get(name);
    if (known !== undefined && !isWorse(row, known)) continue;
    each.set(name, { ...row, lot, revision: revisions.get(key) ?? 0 });
  }
  return [...each.values()];
}

const WORSE: readonly (Verdict | null)[] = [null, 'conforms', 'cannot be decided', 'does not conform'];
const isWorse = (one: Pick<ImpactResult, 'again'>, than: Pick<ImpactResult, 'again'>): boolean =>
  WORSE.indexOf(one.again) > WORSE.indexOf(than.again);

async function unitsRecorded(
  { entries }: Reads,
  units: readonly Omit<ImpactUnit, 'revision'>[],
): Promise<ImpactUnit[]> {
  const revisions = await latestOf(
    entries,
    'implant',
    units.map(({ serial }) => serial),
  );
  return units.map((unit) => ({ ...unit, revision: revisions.get(unit.serial) ?? 0 }));
}

/** The latest revision on record of each, asked once for all of them. */
async function latestOf(
  entries: Reads['entries'],
  kind: 'implant' | 'result',
  keys: readonly string[],
): Promise<ReadonlyMap<string, number>> {
  const revisions = await entries.revisionsOf([...new Set(keys)].map((key) => [kind, key] as const));
  return new Map(revisions.map(({ key, revision }) => [key, revision]));
}

const named = ({ kind, key, name, revision }: Pick<TracedEntry, 'kind' | 'key' | 'name' | 'revision'>) => ({
  ...{ kind, title: kindText(kind), key, name, revision },
});

/** Statements of capability that count values of these lots in these characteristics. */
async function capabilityWith(
  read: Reads,
  results: readonly Pick<ImpactResult, 'lot' | 'characteristic'>[],
): Promise<string[]> {
  const lotsIn = new Map<string, Set<string>>();
  for (const { lot, characteristic } of results) {
    const body = (await read.entries.current('lot', lot))?.body;
    if (body === undefined) continue;
    const name = JSON.stringify([body.family, characteristic]);
    lotsIn.set(name, (lotsIn.get(name) ?? new Set()).add(lot));
  }
  const found: string[] = [];
  for (const [name, lots] of [...lotsIn].sort(([a], [b]) => (a < b ? -1 : 1))) {
    const [family, characteristic] = JSON.parse(name) as [string, string];
    for (const { number, body } of await read.capabilityStatements.of(family, characteristic)) {
      if (counts(body, lots)) found.push(capabilityText(family, characteristic, number));
    }
  }
  return found;
}

/** Whether a statement counts values of one of the lots. Of one in another form it is enough that it names the lot. */
function counts(body: string, lots: ReadonlySet<string>): boolean {
  const { data } = CapabilityStatement.safeParse(JSON.parse(body));
  if (data === undefined) return [...lots].some((lot) => body.includes(JSON.stringify(lot)));
  const counted = lotsCounted(data);
  return [...lots].some((lot) => counted.has(lot));
}
