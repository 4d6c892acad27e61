import {
  type Carried,
  canonical,
  compare,
  converted,
  decimal,
  digest,
  digits,
  type Json,
  moment,
  placeOf,
  type Row,
  rounded,
  textOf,
  unique,
} from './carried.js';
import { deviationOf, meanOf, normalQuantile } from './numbers.js';
import { type Decided, decideTogether, mayRelyOn } from './plans.js';
import { isOfReworks, reworksOf } from './reworks.js';

export type Verdict = 'conforms' | 'does not conform' | 'cannot be decided';
const [YES, NO, OPEN] = ['conforms', 'does not conform', 'cannot be decided'] as const;

export const worst = (verdicts: readonly Verdict[]): Verdict =>
  verdicts.includes(NO) ? NO : verdicts.includes(OPEN) || verdicts.length === 0 ? OPEN : YES;

export interface Value {
  /** Undefined for a missing one. */
  readonly row: Row | undefined;
  readonly specimen: string;
  readonly replicate: number;
  readonly isInvalid: boolean;
  readonly verdict: Verdict;
}

/** How one implant stands in one characteristic. */
export interface Acceptance extends Decided {
  readonly characteristic: string;
  readonly item: Json;
  readonly unit: string;
  readonly verdict: Verdict;
  readonly values: readonly Value[];
  readonly acceptFrom: string | null;
  readonly acceptTo: string | null;
  readonly isOpen: boolean;
}

export const reported = (text: string): { readonly sign: string; readonly number: string } => {
  const [, sign, number] = /^([<>≤≥]?)\s?(.+)$/.exec(text)!;
  return { sign: sign!, number: number! };
};

interface Limits {
  readonly lower?: string | undefined;
  readonly upper?: string | undefined;
}

/** By the simple rule. @param place to which the value is rounded before it meets each limit. */
export function within(value: string, { lower, upper }: Limits, place?: (side: 'lower' | 'upper') => string): Verdict {
  const { sign, number } = reported(value);
  const against = (side: 'lower' | 'upper', limit: string) =>
    compare(place ? rounded(number, place(side)) : number, limit);
  const toLower = lower === undefined ? 1 : against('lower', lower);
  const toUpper = upper === undefined ? -1 : against('upper', upper);
  if (sign === '') return toLower < 0 || toUpper > 0 ? NO : YES;
  const isDown = sign === '<' || sign === '≤';
  const isOut = (position: number) => position > 0 || (position === 0 && (sign === '<' || sign === '>'));
  // The value runs on without end towards one limit, and away from the other.
  const [near, far] = isDown ? [lower, upper] : [upper, lower];
  if (near !== undefined) return isOut(isDown ? -toLower : toUpper) ? NO : OPEN;
  return far === undefined || (isDown ? toUpper : -toLower) <= 0 ? YES : OPEN;
}

const shifted = (limit: string | undefined, by: number): string | undefined =>
  limit === undefined ? undefined : String(digits(Number(limit) + by, 12));

interface StudyLimits extends Limits {
  readonly unsure: { readonly lower: number; readonly upper: number };
}

/** Limits as a study moved them for a coupon; null where its unit is of another sort. */
function studyLimits(carried: Carried, item: Json, specimen: string): StudyLimits | null | undefined {
  const { study } = carried.coupons.find(({ coupon }) => coupon === specimen) ?? {};
  const body = study && carried.pinned('equivalence-study', study.study, study.revision)?.body;
  const found = body?.differences?.find((one: Json) => one.characteristic === item.characteristic);
  if (found === undefined || item.measuredOn !== 'coupon') return undefined;
  const { ucum } = found;
  const [bias, u] = [found.bias, found.standardUncertainty].map((text) =>
    ucum === undefined ? text : converted(text, ucum, item.ucum),
  );
  if (bias === undefined) return null;
  const moved = (limit: string | undefined, side: 1 | -1): string | undefined => {
    if (limit === undefined) return undefined;
    const to = digits(ucum === undefined ? Number(limit) * (1 + Number(bias)) : Number(limit) + Number(bias), 12);
    return (to - Number(limit)) * side > 0 ? String(to) : limit;
  };
  const unsure = (limit: string | undefined) => Number(u) * (ucum === undefined ? Math.abs(Number(limit ?? 0)) : 1);
  return {
    lower: moved(item.lower, 1),
    upper: moved(item.upper, -1),
    unsure: { lower: unsure(item.lower), upper: unsure(item.upper) },
  };
}

function judged(item: Json, value: string, uncertainty: string, limits: StudyLimits | undefined): Verdict {
  const { lower, upper } = limits ?? item;
  const place =
    item.rounding.rule === 'absolute'
      ? undefined
      : (side: 'lower' | 'upper') => item.rounding.place ?? placeOf(item[side]);
  if (item.decision.rule === 'simple') return within(value, { lower, upper }, place);
  if (uncertainty === '') return OPEN;
  const z = normalQuantile(Number(item.decision.confidence));
  const guard = (side: 'lower' | 'upper') => z * Math.hypot(Number(uncertainty), limits?.unsure[side] ?? 0);
  const moved = (inwards: 1 | -1) => ({
    lower: shifted(lower, inwards * guard('lower')),
    upper: shifted(upper, -inwards * guard('upper')),
  });
  if (within(value, moved(1), place) === YES) return YES;
  return within(value, moved(-1), place) === NO ? NO : OPEN;
}

/** Rows that count as of invalid tests, each with the statement that says so. */
export function invalidRows(carried: Carried): ReadonlyMap<string, Json> {
  const found = new Map<string, Json>();
  for (const { test, row } of testsCalledInvalid(carried)) {
    const parties = [row.analyst!, row.enteredBy!, test.seenBy];
    const { characteristic, specimen, piece, replicate, evidence, line, value } = row;
    const facts = { row: row.row, characteristic, specimen, piece, replicate, evidence, line, value };
    const identity = digest({
      lot: carried.dossier.lot,
      check: 'repeats-decided',
      rule: 'invalid test not decided',
      subjects: [
        { kind: 'result', key: row.row },
        { kind: 'specimen', key: specimen },
      ],
      facts: { ...facts, cause: test.cause, parties: canonical(unique(parties).filter((code) => code !== '')) },
    });
    const statement = carried
      .signed(identity, 'decided')
      .find(({ outcome, person }) => outcome === 'accepted' && !parties.includes(person.code));
    if (statement) found.set(row.row, statement);
  }
  return found;
}

export const testsCalledInvalid = ({ lot, current }: Carried): { readonly test: Json; readonly row: Row }[] =>
  (lot.invalidTests ?? []).flatMap((test: Json) => {
    const { specimen, piece = '', characteristic, replicate } = test.result;
    const row = current.find(
      (one) =>
        one.specimen === specimen &&
        one.piece === piece &&
        one.characteristic === characteristic &&
        Number(one.replicate) === replicate,
    );
    return row ? [{ test, row }] : [];
  });

/** Every implant in every characteristic. */
export function accept(carried: Carried): Acceptance[] {
  const invalid = invalidRows(carried);
  return carried.implants.flatMap((implant) =>
    (carried.specification.body.characteristics as Json[]).map((item) => acceptOne(carried, implant, item, invalid)),
  );
}

/** Coupons that may speak for an implant in a characteristic, spare ones too. */
export const couponsFor = (carried: Carried, implant: Json, item: Json): Json[] =>
  carried.coupons.filter(
    (coupon) =>
      coupon.standsFor.includes(implant.serial) &&
      coupon.build === implant.build &&
      hasZoneOf(carried, coupon, item.zoneClass),
  );

export const zoneClass = (carried: Carried, recipe: Json, zone: string): string | undefined =>
  carried.pinned('recipe', recipe.recipe, recipe.revision)?.body.zones.find((item: Json) => item.zone === zone)?.class;

const hasZoneOf = (carried: Carried, part: Json, wanted: string | undefined): boolean =>
  wanted === undefined || part.zones.some((zone: Json) => zoneClass(carried, part.recipe, zone.recipeZone) === wanted);

const rowsOf = ({ current }: Carried, specimen: string, { characteristic }: Json): Row[] =>
  current.filter((row) => row.specimen === specimen && row.characteristic === characteristic);

function acceptOne(carried: Carried, implant: Json, item: Json, invalid: ReadonlyMap<string, Json>): Acceptance {
  const ownOf = (one: Json): string[] =>
    item.measuredOn === 'implant'
      ? [one.serial]
      : couponsFor(carried, one, item).flatMap(({ coupon, use }) => {
          const own = reworksOf(carried, one.serial, item.characteristic);
          const isSharing = own !== '' && own === reworksOf(carried, coupon, item.characteristic);
          return use === 'spare' && !isSharing ? [] : [coupon];
        });
  const together = carried.implants.filter(({ build }) => build === implant.build);
  const specimens =
    item.plan === 'every-unit'
      ? ownOf(implant)
      : unique(together.flatMap(ownOf)).filter(
          (one) => item.measuredOn === 'coupon' || rowsOf(carried, one, item).length > 0,
        );
  const wantedOf = (one: string) =>
    reworksOf(carried, item.measuredOn === 'implant' ? one : implant.serial, item.characteristic);
  const judgedOf = (one: string) => valuesOf(carried, item, one, { invalid, wanted: wantedOf(one) });
  const sets = new Map(specimens.map((one) => [one, judgedOf(one)]));
  const values = [...sets.values()].flatMap(({ shown }) => shown);
  const counted = [...sets.values()].flatMap((set) => set.counted);
  const limits = specimens
    .map((one) => studyLimits(carried, item, one))
    .filter((one) => one !== undefined && one !== null);
  const strictest = strictestOf(item, limits);
  const plan = decideTogether(carried, { ...item, ...strictest }, counted, together.length, implant);
  const own = ownOf(implant)
    .filter((one) => rowsOf(carried, one, item).length > 0)
    .flatMap((one) => judgedOf(one).counted);
  const lets = item.plan === 'every-unit' || (item.plan.rule === 'single-sampling' && item.measuredOn === 'coupon');
  const fails = !lets && own.some(({ verdict }) => verdict === NO);
  return {
    characteristic: item.characteristic,
    item,
    unit: implant.serial,
    ...plan,
    verdict: fails ? NO : plan.plan,
    values,
    ...acceptLimits(item, strictest, limits, counted),
    isOpen: isOpen(carried, implant, item, values),
  };
}

function strictestOf(item: Json, limits: readonly StudyLimits[]): Limits {
  const all = [item as Limits, ...limits];
  const of = (side: 'lower' | 'upper', better: (a: number, b: number) => boolean) =>
    all.reduce<string | undefined>((known, one) => {
      const limit = one[side];
      return limit !== undefined && known !== undefined && better(Number(limit), Number(known)) ? limit : known;
    }, item[side]);
  return { lower: of('lower', (a, b) => a > b), upper: of('upper', (a, b) => a < b) };
}

function acceptLimits(item: Json, strictest: Limits, limits: readonly StudyLimits[], counted: readonly Counted[]) {
  const { lower = null, upper = null } = strictest;
  const [only, ...others] = unique(counted.map(({ uncertainty }) => uncertainty));
  if (item.decision.rule === 'simple' || !only || others.length > 0) return { acceptFrom: lower, acceptTo: upper };
  const z = normalQuantile(Number(item.decision.confidence));
  const guard = (side: 'lower' | 'upper') =>
    z * Math.hypot(Number(only), Math.max(0, ...limits.map(({ unsure }) => unsure[side])));
  return {
    acceptFrom: shifted(lower ?? undefined, guard('lower')) ?? null,
    acceptTo: shifted(upper ?? undefined, -guard('upper')) ?? null,
  };
}

/** A value as a plan counts it. */
export interface Counted {
  readonly specimen: string;
  readonly verdict: Verdict;
  /** Its number with its sign; undefined where it has none to count. */
  readonly value: string | undefined;
  readonly uncertainty: string;
}

interface Judged {
  readonly shown: readonly Value[];
  readonly counted: readonly Counted[];
}

/** What keeps rows from counting. */
interface Apart {
  readonly invalid: ReadonlyMap<string, Json>;
  /** Reworks of whatever the rows speak for. */
  readonly wanted: string;
}

function valuesOf(carried: Carried, item: Json, specimen: string, { invalid, wanted }: Apart): Judged {
  const own = rowsOf(carried, specimen, item);
  const replaced = replacementsOf(carried, specimen, item).flatMap((by) => rowsOf(carried, by, item));
  const present = [...own, ...replaced];
  const isOut = (row: Row) => invalid.has(row.row) || !isOfReworks(carried, row, wanted);
  const counting = present.filter((row) => !isOut(row));
  const isSilent = counting.length === 0 && reworksOf(carried, specimen, item.characteristic) !== wanted;
  const missing = isSilent ? [] : missingOf(item, own, counting.length);
  const isOther = (row: Row): boolean =>
    row.method !== item.method.method || Number(row.methodRevision) !== item.method.revision;
  const isOfNoUse = (row: Row): boolean => isOther(row) || studyLimits(carried, item, row.specimen!) === null;
  const limitsFor = (one: string) => studyLimits(carried, item, one) ?? undefined;
  const blank = missing.map((replicate) => ({ row: undefined, specimen, replicate, isInvalid: false, verdict: OPEN }));
  const shownOf = (verdictOf: (row: Row) => Verdict): Value[] => [
    ...present.map((row) => ({
      row,
      specimen: row.specimen!,
      replicate: Number(row.replicate),
      isInvalid: isOut(row),
      verdict: verdictOf(row),
    })),
    ...blank,
  ];
  if (item.averaging !== 'mean') {
    const verdictOf = (row: Row): Verdict =>
      isOfNoUse(row) ? OPEN : judged(item, row.value!, row.standardUncertainty!, limitsFor(row.specimen!));
    return {
      shown: shownOf(verdictOf),
      counted: [
        ...counting.map((row) => ({
          specimen: row.specimen!,
          verdict: verdictOf(row),
          value: isOfNoUse(row) ? undefined : row.value!,
          uncertainty: row.standardUncertainty!,
        })),
        ...blank.map(() => ({ specimen, verdict: OPEN, value: undefined, uncertainty: '' })),
      ],
    };
  }
  if (isSilent) return { shown: shownOf(() => OPEN), counted: [] };
  const isUndecided =
    missing.length > 0 ||
    counting.length === 0 ||
    counting.some((row) => isOfNoUse(row) || reported(row.value!).sign !== '');
  const stated = counting.map((row) => row.standardUncertainty!);
  const uncertainty =
    isUndecided || stated.includes('') ? '' : stated.reduce((a, b) => (Number(b) > Number(a) ? b : a));
  const mean = isUndecided ? undefined : exactMean(counting.map((row) => row.value!));
  const verdict = mean === undefined ? OPEN : judged(item, mean, uncertainty, limitsFor(specimen));
  return { shown: shownOf(() => verdict), counted: [{ specimen, verdict, value: mean, uncertainty }] };
}

/** Twenty places more than its values have: then it is on the right side of any limit. */
function exactMean(values: readonly string[]): string {
  const numbers = values.map(decimal);
  const places = Math.max(...numbers.map((one) => one.places)) + 20;
  const sum = numbers.reduce((total, one) => total + one.whole * 10n ** BigInt(places - one.places), 0n);
  const text = textOf({ whole: sum / BigInt(values.length), places });
  return text.replace(/\.?0+$/, '');
}

/** Spare coupons that count in place of a specimen. */
export const replacementsOf = ({ lot, coupons }: Carried, specimen: string, item: Json): string[] =>
  (lot.replacements ?? [])
    .filter((one: Json) => one.replaces === specimen && one.characteristic === item.characteristic)
    .map(({ by }: Json) => by)
    .filter((by: string) => coupons.some(({ coupon, use }) => coupon === by && use === 'spare'))
    .slice(0, item.retest?.replacements ?? 0);

/** Replicate numbers of what is missing. */
function missingOf(item: Json, own: readonly Row[], counting: number): number[] {
  const highest = (rows: readonly Row[]) => Math.max(0, ...rows.map(({ replicate }) => Number(replicate)));
  const skipped = unique(own.map(({ piece }) => piece)).flatMap((piece) => {
    const rows = own.filter((row) => row.piece === piece);
    const all = Array.from({ length: highest(rows) }, (_, i) => i + 1);
    return all.filter((number) => !rows.some(({ replicate }) => Number(replicate) === number));
  });
  const short = Math.max(0, item.replicates - counting - skipped.length);
  return [...skipped, ...Array.from({ length: short }, (_, i) => highest(own) + i + 1)];
}

function isOpen(carried: Carried, implant: Json, item: Json, values: readonly Value[]): boolean {
  if (item.due !== 'after-release' || item.relies === undefined || item.dueWithinDays === undefined) return false;
  const counting = values.filter(({ isInvalid }) => !isInvalid);
  if (counting.length > 0 && counting.every(({ row }) => row !== undefined)) return false;
  if (counting.some(({ row, verdict }) => row !== undefined && verdict !== YES)) return false;
  const build = carried.builds.find((one) => one.build === implant.build);
  return build !== undefined && mayRelyOn(carried, item.relies, moment(build.closedAt));
}

/** Mean and standard deviation of the numbers of a sample. */
export const summed = (counted: readonly Counted[]) => {
  const numbers = counted.flatMap(({ value }) => (value && reported(value).sign === '' ? [Number(value)] : []));
  return { numbers, n: numbers.length, m: meanOf(numbers), s: deviationOf(numbers) };
};
