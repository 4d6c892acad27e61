import { type Facts, type Recorded, revisionKey } from '../dossier/facts.js';
import type { StockOrigin, StockStory } from '../dossier/stock-story.js';
import { firstMadeIn } from '../kinds/build-chain.js';
import type { StockPart } from '../kinds/degradation/stock-part.js';
import type { Build, Coupon, Implant } from '../kinds/lot.js';
import { classOfZone } from '../kinds/zone-class.js';

/** A part of a lot that was built on stock, with all that is known of what it was built on. */
export interface BuiltOnStock<Part = Implant> {
  readonly part: Part;
  /** In which new metal met the stock first: after an interruption not the one that the part names. */
  readonly build: Build;
  readonly stock: Recorded<StockPart>;
  /** Of what was an implant, and of former implants on which that was built: the nearest first. */
  readonly origins: readonly StockOrigin[];
}

type Told = Pick<Facts, 'lot' | 'stockParts' | 'stock'>;

/** In the order of the lot file. Builds that are only planned have made nothing yet. */
export const implantsOnStock = (facts: Told): BuiltOnStock[] =>
  facts.lot.body.implants.flatMap((part) => onStock(facts, part) ?? []);

export function onStock<Part extends Implant | Coupon>(facts: Told, part: Part): BuiltOnStock<Part> | undefined {
  const stock = part.builtOn === undefined ? undefined : facts.stockParts.get(part.builtOn);
  const build = firstMadeIn(facts.lot.body, part);
  if (stock === undefined || build === undefined) return undefined;
  return { part, build, stock, origins: originsOf(facts.stock, stock.body.stockPart) };
}

/** What a stock part was, what that was built on was, and so on: the nearest first, each once. */
export function originsOf({ origins }: StockStory, stockPart: string): StockOrigin[] {
  const found: StockOrigin[] = [];
  for (let code: string | undefined = stockPart; code !== undefined; ) {
    const next = origins.find((one) => one.stockPart === code);
    if (next === undefined || found.includes(next)) break;
    found.push(next);
    code = next.builtOn?.stockPart;
  }
  return found;
}

/** Class of the zone of an implant that was built on its stock; undefined where it has no such zone. */
export function interfaceClass({ recipes }: Pick<Facts, 'recipes'>, { part, stock }: BuiltOnStock): string | undefined {
  const { recipe, revision } = part.recipe;
  return classOfZone(part, recipes.get(revisionKey(recipe, revision))?.body, stock.body.interface.zone);
}
