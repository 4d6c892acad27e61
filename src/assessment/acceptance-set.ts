import type { Facts } from '../dossier/facts.js';
import type { Implant } from '../kinds/lot.js';
import type { Characteristic } from '../kinds/specification.js';
import { declaredInvalid } from './invalid-tests.js';
import type { ValueReason } from './reasons.js';
import { couponsFor, type NumberedResult, type ResultIndex } from './specimens.js';

/** A planned or additional value of one specimen. */
export interface SetValue {
  /** Undefined when the value is missing. */
  readonly result: NumberedResult | undefined;
  readonly specimen: string;
  readonly piece: string;
  readonly replicate: number;
  readonly role: 'planned' | 'repeat' | 'replacement' | 'invalid test';
  /** Why it is not in the acceptance set, for an invalid test. */
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

/**
 * Every value of one specimen in one characteristic (docs/trade.md 4.4). All print; only what comes from an invalid test
 * leaves the set. Repeats and replacements join it. What is then missing of the planned number stands as missing.
 */
export function acceptanceSet(
  facts: Facts,
  specimen: string,
  item: Characteristic,
  index: ResultIndex,
  leftOut: LeftOut,
): SetValue[] {
  const own = index.of(specimen, item.characteristic).map((result, place) => {
    const repeat = place >= item.replicates;
    return setValueOf(result, leftOut, repeat ? 'repeat' : 'planned');
  });
  const replaced = replacementsOf(facts, specimen, item).flatMap((by) =>
    index.of(by, item.characteristic).map((result) => setValueOf(result, leftOut, 'replacement')),
  );
  const present = [...own, ...replaced];
  const counted = present.filter((value) => value.role !== 'invalid test');
  return [...present, ...missing(specimen, item, own, counted.length)];
}

function setValueOf(result: NumberedResult, leftOut: LeftOut, role: 'planned' | 'repeat' | 'replacement'): SetValue {
  const reason = leftOut.get(result.row);
  return {
    result,
    specimen: result.specimen,
    piece: result.piece,
    replicate: Number(result.replicate),
    role: reason === undefined ? role : 'invalid test',
    leftOut: reason,
  };
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
