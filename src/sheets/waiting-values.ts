import { NotFoundError } from '../base/errors.js';
import type { Lot } from '../kinds/lot.js';
import { type PlannedPart, plannedValues } from '../kinds/planned-values.js';
import type { Characteristic } from '../kinds/specification.js';
import { type LotNow, partsInside } from '../kinds/split-lot.js';
import { currentLot, keptUnder } from '../store/lots-now.js';
import type { Reads } from '../store/repositories.js';

/** A value for which a result sheet has a row. */
export interface SheetRow {
  readonly specimen: string;
  readonly item: Characteristic;
  /** Of all values of the characteristic on the specimen, counted from 1. */
  readonly n: number;
}

/** What one method has still to give for a lot: one sheet. */
export interface MethodRows {
  /** `TM-T:2`, as addresses name it. */
  readonly name: string;
  readonly method: string;
  readonly revision: number;
  readonly title: string;
  readonly rows: readonly SheetRow[];
}

/** A result as it is recorded, as far as sheets count it. */
export interface RecordedValue {
  readonly specimen: string;
  readonly piece: string;
  readonly characteristic: string;
  readonly replicate: number;
}

export interface LotRows {
  readonly lot: Lot;
  readonly methods: readonly MethodRows[];
  readonly recorded: readonly RecordedValue[];
}

/** Every value that the specification of a lot asks for and that is not recorded, by method. @throws NotFoundError */
export async function rowsOfLot(read: Reads, code: string): Promise<LotRows> {
  const lot = await currentLot(read, code);
  const { specification, revision } = lot.specification;
  const found = await read.entries.revision('specification', specification, revision);
  if (!found) throw new NotFoundError('specification', `${specification} revision ${revision}`);
  const recorded = (await Promise.all(keptUnder(lot).map((one) => read.results.current(one)))).flat();
  const counts = new Map<string, number>();
  for (const row of recorded) counts.set(keyOf(row), (counts.get(keyOf(row)) ?? 0) + 1);
  const planned = plannedValues(found.body.characteristics, await partsOf(read, partsAsked(lot)));
  const byMethod = new Map<string, SheetRow[]>();
  for (const { specimen, item, replicate: n } of planned) {
    if (n <= (counts.get(keyOf({ specimen, characteristic: item.characteristic })) ?? 0)) continue;
    const name = `${item.method.method}:${item.method.revision}`;
    byMethod.set(name, [...(byMethod.get(name) ?? []), { specimen, item, n }]);
  }
  const methods: MethodRows[] = [];
  for (const [name, rows] of byMethod) {
    const { method, revision: number } = rows[0]!.item.method;
    const title = (await read.entries.revision('method', method, number))?.body.title ?? method;
    methods.push({ name, method, revision: number, title, rows });
  }
  return { lot, methods, recorded };
}

/** Values of coupons are given with the lot of their build, those of units with the lot in which they are. */
const partsAsked = (lot: LotNow): Pick<Lot, 'implants' | 'coupons'> => ({
  implants: partsInside(lot).implants,
  coupons: lot.splitFrom === undefined ? lot.coupons : [],
});

const keyOf = ({ specimen, characteristic }: { specimen: string; characteristic: string }): string =>
  `${specimen} ${characteristic}`;

/** Spare coupons are tested only in place of others, and that is decided elsewhere. */
async function partsOf(read: Reads, { implants, coupons }: Pick<Lot, 'implants' | 'coupons'>): Promise<PlannedPart[]> {
  const classes = new Map<string, ReadonlyMap<string, string>>();
  const classesOf = async ({ recipe, zones }: Lot['coupons'][number] | Lot['implants'][number]) => {
    const key = `${recipe.recipe}:${recipe.revision}`;
    const known =
      classes.get(key) ??
      new Map(
        (await read.entries.revision('recipe', recipe.recipe, recipe.revision))?.body.zones.map((zone) => [
          zone.zone,
          zone.class,
        ]),
      );
    classes.set(key, known);
    return new Set(zones.flatMap(({ recipeZone }) => known.get(recipeZone) ?? []));
  };
  const parts: PlannedPart[] = [];
  for (const coupon of coupons.filter(({ use }) => use !== 'spare'))
    parts.push({ code: coupon.coupon, is: 'coupon', zoneClasses: await classesOf(coupon) });
  for (const implant of implants)
    parts.push({ code: implant.serial, is: 'implant', zoneClasses: await classesOf(implant) });
  return parts;
}
