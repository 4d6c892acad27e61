import { canonicalJson } from '../dossier/canonical.js';
import { type Facts, revisionKey } from '../dossier/facts.js';
import type { HistoryContext } from '../dossier/pool.js';
import { readReported } from '../dossier/reported-value.js';
import type { Build, Coupon, Implant } from '../kinds/lot.js';
import type { Characteristic } from '../kinds/specification.js';
import { leftOutResults } from './acceptance-set.js';
import { ReworkHistory } from './reworks.js';
import { currentResults, type NumberedResult } from './specimens.js';

/** Values of one characteristic from one build that were made and measured alike, in the order of the results table. */
export interface OwnValues {
  readonly item: Characteristic;
  readonly build: Build;
  readonly context: HistoryContext;
  readonly values: readonly NumberedResult[];
  /** Reported as below or above a bound. */
  readonly bounds: readonly NumberedResult[];
  readonly takenOut: readonly { readonly result: NumberedResult; readonly cause: string; readonly decidedBy: string }[];
}

type Collected = { -readonly [K in keyof OwnValues]: OwnValues[K] extends readonly (infer T)[] ? T[] : OwnValues[K] };

/**
 * What a lot adds to the history of its family: current values by build and context, as the process gave them and not as a
 * rework made them (docs/trade.md 4.8). What a signed decision took out is apart.
 */
export function ownValues(facts: Facts): OwnValues[] {
  const { body: lot } = facts.lot;
  const items = new Map(facts.specification.body.characteristics.map((item) => [item.characteristic, item]));
  const builds = new Map(lot.builds.map((build) => [build.build, build]));
  const parts = new Map<string, Implant | Coupon>([
    ...lot.implants.map((part): [string, Implant] => [part.serial, part]),
    ...lot.coupons.map((part): [string, Coupon] => [part.coupon, part]),
  ]);
  const leftOut = leftOutResults(facts);
  const history = new ReworkHistory(facts);
  const found = new Map<string, Collected>();
  for (const result of currentResults(facts)) {
    const item = items.get(result.characteristic);
    const part = parts.get(result.specimen);
    const build = part && builds.get(part.build);
    if (!item || !part || !build) continue;
    if (history.of(result.specimen, result.characteristic, result.measuredAt).length > 0) continue;
    const { recipe, revision } = part.recipe;
    const context: HistoryContext = {
      machine: build.machine,
      recipe,
      recipeRevision: revision,
      recipeGroup: facts.recipes.get(revisionKey(recipe, revision))?.body.group ?? '',
      method: result.method,
      methodRevision: Number(result.methodRevision),
      ucum: result.ucum,
      zoneClass: item.zoneClass ?? '',
    };
    const key = `${item.characteristic}\n${build.build}\n${canonicalJson(context)}`;
    const own = found.get(key) ?? { item, build, context, values: [], bounds: [], takenOut: [] };
    found.set(key, own);
    const reason = leftOut.get(result.row);
    if (reason?.code === 'invalid test') own.takenOut.push({ result, ...reason.facts });
    else if (readReported(result.value).qualifier === '') own.values.push(result);
    else own.bounds.push(result);
  }
  return [...found.values()];
}
