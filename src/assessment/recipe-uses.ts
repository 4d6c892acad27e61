import type { Facts, Recorded } from '../dossier/facts.js';
import { revisionKey } from '../dossier/facts.js';
import type { Build } from '../kinds/lot.js';
import type { Recipe } from '../kinds/recipe.js';

/** One recipe revision in one build, with the implants that it built, by themselves or through their coupons. */
export interface RecipeUse {
  readonly key: string;
  readonly recipe: Recorded<Recipe>;
  readonly build: Build;
  readonly units: readonly string[];
}

export function recipeUses(facts: Facts): RecipeUse[] {
  const { implants, coupons, builds } = facts.lot.body;
  const parts = [
    ...implants.map((part) => ({ ...part, units: [part.serial] })),
    ...coupons.map((part) => ({ ...part, units: [...part.standsFor] })),
  ];
  const grouped = new Map<string, { key: string; build: string; units: Set<string> }>();
  for (const part of parts) {
    const key = revisionKey(part.recipe.recipe, part.recipe.revision);
    const use = grouped.get(`${part.build} ${key}`) ?? { key, build: part.build, units: new Set<string>() };
    grouped.set(`${part.build} ${key}`, use);
    for (const unit of part.units) use.units.add(unit);
  }
  return [...grouped.values()].flatMap(({ key, build: code, units }) => {
    const build = builds.find((item) => item.build === code);
    const recipe = facts.recipes.get(key);
    return build && recipe ? [{ key, recipe, build, units: [...units].sort() }] : [];
  });
}
