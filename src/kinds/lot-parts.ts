import { z } from 'zod';
import { Code } from './fields.js';
import type { DeclaredKind } from './kind.js';
import { Build, Coupon, Implant } from './lot.js';

/** What a lot brings into being, each an entry of its own that says of which lot it is. */

const LotBuild = z.strictObject({ lot: Code, ...Build.shape });
const LotImplant = z.strictObject({ lot: Code, ...Implant.shape });
const LotCoupon = z.strictObject({ lot: Code, ...Coupon.shape });

export const build: DeclaredKind<z.infer<typeof LotBuild>> = { kind: 'build', schema: LotBuild };
export const implant: DeclaredKind<z.infer<typeof LotImplant>> = {
  kind: 'implant',
  schema: LotImplant,
};
export const coupon: DeclaredKind<z.infer<typeof LotCoupon>> = { kind: 'coupon', schema: LotCoupon };
