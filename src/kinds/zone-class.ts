import type { Implant } from './lot.js';
import type { Recipe } from './recipe.js';

/**
 * Class of a zone of an implant, by its name in the build or else in the recipe.
 * @returns undefined where the recipe is not known, or has no such zone.
 */
export function classOfZone({ zones }: Pick<Implant, 'zones'>, recipe: Recipe | undefined, name: string) {
  const built = zones.find(({ zone }) => zone === name) ?? zones.find(({ recipeZone }) => recipeZone === name);
  return recipe?.zones.find(({ zone }) => zone === built?.recipeZone)?.class;
}
