import type { Contradiction, LinkDraft } from './kind.js';
import { repeated, tie } from './kind.js';
import type { TieName } from './ties.js';

/** The parts that a document names: implants by their serials, coupons by their codes, of whatever lots. */
export interface NamedParts {
  readonly implants?: readonly string[] | undefined;
  readonly coupons?: readonly string[] | undefined;
}

export const partLinks = (name: TieName, { implants = [], coupons = [] }: NamedParts): LinkDraft[] => [
  ...implants.map((serial, index) => tie(name, 'implant', serial, `implants[${index}]`)),
  ...coupons.map((coupon, index) => tie(name, 'coupon', coupon, `coupons[${index}]`)),
];

/** Parts that are named twice, and a document that names none. */
export function partFaults({ implants = [], coupons = [] }: NamedParts): Contradiction[] {
  if (implants.length + coupons.length === 0) {
    const expected = 'at least one implant or coupon';
    return [{ field: 'implants', found: 'no part', expected, remedy: 'name the parts under implants or coupons' }];
  }
  return [
    ...repeated(implants, (index) => `implants[${index}]`, 'implant'),
    ...repeated(coupons, (index) => `coupons[${index}]`, 'coupon'),
  ];
}
