import { AppError } from '../base/errors.js';
import { revisionKey } from '../dossier/facts.js';
import { StepAfterBuild } from '../kinds/fields.js';
import type { Coupon, Implant, Lot } from '../kinds/lot.js';
import { type PlannedValue, plannedValues } from '../kinds/planned-values.js';
import type { Recipe } from '../kinds/recipe.js';
import type { Characteristic } from '../kinds/specification.js';
import { PREPARE_REFUSALS } from '../report/phrases/prepare-refusals.js';
import { PREPARED_LOT } from '../report/phrases/prepared-lot.js';
import { sampleSize } from '../statistics/sample-size.js';
import type { Basis } from './basis.js';

/** Codes that nobody used before, and when the lot was opened. */
export interface Names {
  readonly lot: string;
  readonly serial: string;
  readonly build: string;
  readonly run: number;
  readonly openedAt: string;
}

/** A lot before anything was done: what is known of it, and what has to be done and measured. */
export interface PreparedLot {
  readonly names: Names;
  readonly basis: Basis;
  readonly family: Lot['family'];
  readonly specification: Lot['specification'];
  readonly implants: readonly Implant[];
  readonly coupons: readonly Coupon[];
  /** In the order in which they are usually done. */
  readonly steps: readonly StepAfterBuild[];
  /** Coupons that a test will use up. */
  readonly usedUp: readonly string[];
  readonly values: readonly PlannedValue[];
}

/** @param isDestructive by the key of a method revision. @param study that speaks for coupons of a zone class. */
export function prepareLot(
  basis: Basis,
  names: Names,
  isDestructive: (method: string) => boolean,
  study: (zoneClass: string | undefined) => Coupon['study'],
): PreparedLot {
  const recipe = basis.recipe.body;
  const specification = basis.specification.body;
  const { serial, build } = names;
  const recipeRef = { recipe: recipe.recipe, revision: recipe.revision };
  const zonesOf = (part: string, zones: Recipe['zones']) =>
    zones.map(({ zone, layers }) => ({ zone: `${part}-${zone}`, recipeZone: zone, layers }));
  const implant: Implant = {
    serial,
    case: basis.case.key,
    designIteration: basis.design.revision,
    build,
    recipe: recipeRef,
    zones: zonesOf(serial, recipe.zones),
  };
  const onCoupons = specification.characteristics.filter(({ measuredOn }) => measuredOn === 'coupon');
  const classes = [...new Set(onCoupons.map(({ zoneClass }) => zoneClass))];
  const coupons: Coupon[] = [];
  for (const zoneClass of classes) {
    const items = onCoupons.filter((item) => item.zoneClass === zoneClass);
    const zone = recipe.zones.find((one) => zoneClass === undefined || one.class === zoneClass);
    if (zone === undefined) {
      const recipeKey = revisionKey(recipe.recipe, recipe.revision);
      throw new AppError('REFUSED', PREPARE_REFUSALS.noZone(items[0]!.characteristic, zoneClass!, recipeKey));
    }
    const count = Math.max(...items.map(couponsFor));
    for (let n = 1; n <= count; n++) {
      const coupon = `${serial}-C${coupons.length + 1}`;
      const shown = study(zoneClass);
      coupons.push({
        coupon,
        build,
        recipe: recipeRef,
        zones: zonesOf(coupon, [zone]),
        ...(shown ? { study: shown } : {}),
        standsFor: [serial],
        rationale: PREPARED_LOT.rationale(serial, zone.class),
      });
    }
  }
  const classOf = new Map(recipe.zones.map((zone) => [zone.zone, zone.class]));
  const zoneClasses = (part: Implant | Coupon) => new Set(part.zones.map(({ recipeZone }) => classOf.get(recipeZone)!));
  const values = plannedValues(specification.characteristics, [
    ...coupons.map((part) => ({ code: part.coupon, is: 'coupon' as const, zoneClasses: zoneClasses(part) })),
    { code: serial, is: 'implant', zoneClasses: zoneClasses(implant) },
  ]);
  const usedUp = values.filter(
    ({ item: { measuredOn, method } }) =>
      measuredOn === 'coupon' && isDestructive(revisionKey(method.method, method.revision)),
  );
  return {
    names,
    basis,
    family: basis.case.body.family,
    specification: { specification: specification.specification, revision: specification.revision },
    implants: [implant],
    coupons,
    steps: stepsOf(basis),
    usedUp: [...new Set(usedUp.map(({ specimen }) => specimen))],
    values,
  };
}

/** How many coupons its plan asks for, where each gives all its replicates. */
function couponsFor({ plan, replicates }: Characteristic): number {
  if (plan === 'every-unit' || plan.rule === 'process-validation') return 1;
  if (plan.rule === 'single-sampling') return plan.n;
  if (plan.rule === 'variables') return Math.ceil(plan.n / replicates);
  // A spread needs two values.
  if (plan.rule === 'tolerance-interval') return Math.ceil(2 / replicates);
  // Of a lot of one implant its coupon is all that can be drawn.
  if (plan.of === 'lot') return 1;
  const { confidence, reliability } = plan;
  return sampleSize({ confidence: Number(confidence), content: Number(reliability), failuresAllowed: 0 });
}

/** What the specification times, and what each unit of such a family goes through before it leaves. */
function stepsOf({ specification, family }: Basis): StepAfterBuild[] {
  const named = new Set<string>((specification.body.holds ?? []).flatMap(({ from, to }) => [from, to]));
  for (const step of ['clean', 'pack', ...(family.sterile === 'sterile' ? ['sterilise'] : [])]) named.add(step);
  return StepAfterBuild.options.filter((step) => named.has(step));
}
