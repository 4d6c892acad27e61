import type { Facts } from '../dossier/facts.js';
import type { Implant } from '../kinds/lot.js';
import type { Characteristic } from '../kinds/specification.js';
import { counts, type ValueVerdict } from './assessment.js';
import { declaredInvalid } from './invalid-tests.js';
import type { ValueReason } from './reasons.js';
import type { Rework, ReworkHistory } from './reworks.js';
import { couponsFor, type NumberedResult, type ResultIndex } from './specimens.js';

/** A planned or additional value of one specimen. */
export interface SetValue {
  /** Undefined when the value is missing. */
  readonly result: NumberedResult | undefined;
  readonly specimen: string;
  readonly piece: string;
  readonly replicate: number;
  readonly role: ValueVerdict['role'];
  /** Why it is not in the acceptance set. */
  readonly leftOut: ValueReason | undefined;
}

/** Results that left the acceptance set, by row, with the reason. */
export type LeftOut = ReadonlyMap<number, ValueReason>;

export const leftOutResults = (facts: Facts): LeftOut =>
  new Map(
    declaredInvalid(facts).flatMap(({ result, test, signed }): [number, ValueReason][] =>
      signed
        ? [[result.row, { code: 'invalid test', facts: { cause: test.cause, decidedBy: signed.person.code } }]]
        : [],
    ),
  );

/** Replacement specimens that the retest rule of the specification allows for a specimen, in the order of the lot file. */
export function replacementsOf(facts: Facts, specimen: string, item: Characteristic): string[] {
  if (!item.retest) return [];
  return (facts.lot.body.replacements ?? [])
    .filter(({ replaces, characteristic }) => replaces === specimen && characteristic === item.characteristic)
    .map(({ by }) => by)
    .filter((by) => facts.lot.body.coupons.some(({ coupon, use }) => coupon === by && use === 'spare'))
    .slice(0, item.retest.replacements);
}

/** Spare coupons that may speak for an implant and have no value of the characteristic yet. */
export const sparesLeft = (facts: Facts, implant: Implant, item: Characteristic, index: ResultIndex): string[] =>
  couponsFor(facts, implant, item)
    .filter(({ use, coupon }) => use === 'spare' && index.of(coupon, item.characteristic).length === 0)
    .map(({ coupon }) => coupon);

/** What keeps values of a characteristic from counting. */
export interface Apart {
  readonly invalid: LeftOut;
  readonly history: ReworkHistory;
  /** Reworks that whatever the values speak for went through. */
  readonly wanted: readonly Rework[];
}

/**
 * Every value of one specimen in one characteristic (docs/trade.md 4.4, 4.8). All print; what comes from an invalid test, or
 * tells of the time before a rework, leaves the set. Repeats and replacements join it. What is then missing of the planned
 * number stands as missing.
 */
export function acceptanceSet(
  facts: Facts,
  specimen: string,
  item: Characteristic,
  index: ResultIndex,
  apart: Apart,
): SetValue[] {
  const rows = index.of(specimen, item.characteristic);
  const ofNow = rows.filter((result) => apart.history.setAside(result, apart.wanted) === undefined);
  const own = rows.map((result) =>
    setValueOf(result, apart, ofNow.indexOf(result) >= item.replicates ? 'repeat' : 'planned'),
  );
  const replaced = replacementsOf(facts, specimen, item).flatMap((by) =>
    index.of(by, item.characteristic).map((result) => setValueOf(result, apart, 'replacement')),
  );
  const present = [...own, ...replaced];
  const counted = present.filter(counts);
  return [...present, ...missing(specimen, item, own, counted.length)];
}

function setValueOf(result: NumberedResult, apart: Apart, role: SetValue['role']): SetValue {
  const { specimen, piece } = result;
  const own = { result, specimen, piece, replicate: Number(result.replicate) };
  const invalid = apart.invalid.get(result.row);
  if (invalid) return { ...own, role: 'invalid test', leftOut: invalid };
  const aside = apart.history.setAside(result, apart.wanted);
  return { ...own, role: aside ? 'reworked' : role, leftOut: aside };
}

/**
 * The planned number must be there, and no number of a replicate may be left out below one that is there: a value that
 * was measured and is gone stays missing.
 */
function missing(specimen: string, item: Characteristic, own: readonly SetValue[], counted: number): SetValue[] {
  const skipped = [...new Set(own.map((value) => value.piece))].flatMap((piece) => {
    const numbers = new Set(own.filter((value) => value.piece === piece).map((value) => value.replicate));
    const highest = Math.max(0, ...numbers);
    return Array.from({ length: highest }, (_, index) => index + 1)
      .filter((number) => !numbers.has(number))
      .map((replicate) => ({ piece, replicate }));
  });
  const highest = Math.max(0, ...own.map((value) => value.replicate));
  const short = Math.max(0, item.replicates - counted - skipped.length);
  const further = Array.from({ length: short }, (_, index) => ({ piece: '', replicate: highest + index + 1 }));
  return [...skipped, ...further].map(({ piece, replicate }) => ({
    result: undefined,
    specimen,
    piece,
    replicate,
    role: 'planned' as const,
    leftOut: undefined,
  }));
}
