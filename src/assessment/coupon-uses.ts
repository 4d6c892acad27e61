import type { Facts } from '../dossier/facts.js';
import type { Coupon, Implant } from '../kinds/lot.js';
import type { Characteristic } from '../kinds/specification.js';
import { couponsFor } from './specimens.js';

/** A coupon that speaks for an implant, with the characteristics in which it does. */
export interface CouponUse {
  readonly coupon: Coupon;
  readonly implant: Implant;
  readonly items: readonly Characteristic[];
}

/** Every coupon with every implant that it stands for, where the specification asks coupons at all. */
export function couponUses(facts: Facts): CouponUse[] {
  const { implants, coupons } = facts.lot.body;
  const asked = facts.specification.body.characteristics.filter(({ measuredOn }) => measuredOn === 'coupon');
  return coupons.flatMap((coupon) =>
    implants
      .filter(({ serial }) => coupon.standsFor.includes(serial))
      .flatMap((implant) => {
        const items = asked.filter(
          (item) => coupon.build !== implant.build || couponsFor(facts, implant, item).includes(coupon),
        );
        return items.length > 0 ? [{ coupon, implant, items }] : [];
      }),
  );
}
