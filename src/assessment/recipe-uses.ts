import type { Facts, Recorded } from '../dossier/facts.js';
import { revisionKey } from '../dossier/facts.js';
import { type MadePart, partsMadeIn } from '../kinds/build-chain.js';
import type { Build } from '../kinds/lot.js';
import type { Recipe } from '../kinds/recipe.js';

/** One recipe revision in one closure, with the implants that went through it, by themselves or through their coupons. */
export interface RecipeUse {
  readonly key: string;
  readonly recipe: Recorded<Recipe>;
  readonly build: Build;
  readonly units: readonly string[];
  /** Whether a step of the recipe was done in this closure, to any of them. */
  readonly does: MadePart['does'];
}

/** Every closure by itself: an interrupted one, the one that went on, and one that only finished. */
export function recipeUses(facts: Facts): RecipeUse[] {
  const lot = facts.lot.body;
  return lot.builds.flatMap((build) => {
    const byRecipe = new Map<string, MadePart[]>();
    for (const part of partsMadeIn(lot, build.build)) {
      const key = revisionKey(part.recipe.recipe, part.recipe.revision);
      byRecipe.set(key, [...(byRecipe.get(key) ?? []), part]);
    }
    return [...byRecipe].flatMap(([key, parts]): RecipeUse[] => {
      const recipe = facts.recipes.get(key);
      if (!recipe) return [];
      const units = new Set(parts.flatMap((part) => ('serial' in part ? [part.serial] : part.standsFor)));
      const does: MadePart['does'] = (step) => parts.some((part) => part.does(step));
      return [{ key, recipe, build, units: [...units].sort(), does }];
    });
  });
}
