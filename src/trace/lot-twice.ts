import { assess } from '../assessment/assess.js';
import { Assessment, type CharacteristicVerdict, type Verdict } from '../assessment/assessment.js';
import { zonesByDesign } from '../assessment/checks/shape-within-profile.js';
import { finalShapes, stockChanges } from '../assessment/shapes.js';
import { ASSESSMENT_VERSION } from '../base/assessment-version.js';
import { digestOf } from '../dossier/canonical.js';
import type { Facts } from '../dossier/facts.js';
import { readReported } from '../dossier/reported-value.js';
import type { ResultRow } from '../dossier/tables.js';
import type { ShapeScan } from '../kinds/lot-after-build.js';
import { CurrentAssessments } from '../lots/current-assessments.js';
import { LotAssessor } from '../lots/lot-assessor.js';
import { frozenFactsOrWhy, type NotComparable, orNotReadable } from '../store/frozen-facts.js';
import type { Store } from '../store/store.js';
import { type Alteration, alteredFacts, altersNothing } from './altered-facts.js';
import type { ImpactResult } from './impact-answer.js';
import type { ImpactInterval } from './impact-interval.js';

/** A lot as it is assessed, and what was said of it. */
export interface LotSaid {
  readonly facts: Facts;
  readonly first: Assessment;
  /** The rules of this program said it. */
  readonly isOfNow: boolean;
}

export interface SaidTwice extends Pick<LotSaid, 'facts' | 'first'> {
  readonly again: Assessment;
  readonly touched: readonly TouchedResult[];
  /** Implants whose verdict rests on a touched scan by itself: it would have to be measured again. */
  readonly scanned: ReadonlySet<string>;
}

/** Which results of a lot rest on what was off, and which scans, whose shape the design alone may judge. */
export interface Touches {
  result(row: ResultRow): boolean;
  scan(scan: ShapeScan): boolean;
}

export interface TouchedResult {
  readonly row: ResultRow;
  /** In the results table, from 1. */
  readonly place: number;
  /** As altered; null where it is left out. */
  readonly value: string | null;
}

/** Why a lot could not be assessed again. */
export interface NotRead {
  readonly why: NotComparable['why'] | 'assessment not readable';
}

/** A lot as it stands, whether it was frozen so or not, and what the rules of this program say of it. */
export async function saidNow(store: Store, lot: string): Promise<LotSaid | NotRead> {
  const current = new CurrentAssessments(store);
  const facts = await orNotReadable(() => new LotAssessor(store, current).factsNow(lot));
  if ('why' in facts) return facts;
  const stored = await current.assessmentOf(lot);
  const isStored = stored?.ofEarlierVersion === false && stored.dossierSha256 === digestOf(facts.dossier);
  return { facts, first: isStored ? stored.assessment : assess(facts, ASSESSMENT_VERSION), isOfNow: true };
}

/** Of each lot which assessment a program made last in a time. */
export async function lotsSaidBy(
  { read }: Store,
  program: string,
  { from, to }: Pick<ImpactInterval, 'from' | 'to'>,
): Promise<ReadonlyMap<string, SaidBefore>> {
  const before = await read.ledger.sizeAt(new Date(Date.parse(from) - 1).toISOString());
  const last = await read.assessments.lastBy(program, before + 1, await read.ledger.sizeAt(to));
  return new Map(last.map((one) => [one.lot, one]));
}

/** An assessment and the lot file of which it is, by their digests. */
interface SaidBefore {
  readonly digest: string;
  readonly dossierDigest: string;
}

/** What a program said before, on the lot file of which it said so. */
export async function saidBefore({ read }: Store, { digest, dossierDigest }: SaidBefore): Promise<LotSaid | NotRead> {
  const stored = await read.assessments.byDigest(digest);
  const { data } = Assessment.safeParse(stored && JSON.parse(stored.body));
  if (data === undefined) return { why: 'assessment not readable' };
  const facts = await frozenFactsOrWhy(read, dossierDigest);
  return 'why' in facts ? facts : { facts, first: data, isOfNow: data.version === ASSESSMENT_VERSION };
}

/** What the rules of this program say of a lot once some of its results are altered, beside what was said first. */
export function assessTwice({ facts, first, isOfNow }: LotSaid, alteration: Alteration, touches: Touches): SaidTwice {
  const isAltered = !altersNothing(alteration);
  const isTouched = (scan: ShapeScan) => isAltered && touches.scan(scan);
  const judged = finalShapes(facts).filter((of) => isTouched(of.scan) && zonesByDesign(facts, of).size > 0);
  // What lies elsewhere by either of two scans is known by neither.
  const compared = stockChanges(facts).filter(({ scan, before }) => isTouched(scan) || isTouched(before));
  const scans = [...judged, ...compared].map(({ scan }) => scan);
  const changed = alteredFacts(facts, touches.result, alteration, scans);
  const touched = facts.results.flatMap((row, index): TouchedResult[] =>
    row.status === 'current' && touches.result(row)
      ? [{ row, place: index + 1, value: alteration.without ? null : changed.results[index]!.value }]
      : [],
  );
  const isAsBefore = isOfNow && (!isAltered || touched.length + scans.length === 0);
  const again = isAsBefore ? first : assess(changed, ASSESSMENT_VERSION);
  return { facts, first, again, touched, scanned: new Set(scans.map(({ specimen }) => specimen)) };
}

export const verdictOn = ({ units }: Assessment, serial: string): Verdict =>
  units.find((unit) => unit.serial === serial)?.verdict ?? 'cannot be decided';

/** One result with both verdicts. */
export function resultTwice(
  lot: string,
  { row, place, value }: TouchedResult,
  { first, again }: Pick<SaidTwice, 'first' | 'again'>,
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
