import { revisionKey } from '../dossier/facts.js';
import { recipesOf } from '../kinds/build-chain.js';
import type { BodyOf } from '../kinds/catalogue.js';
import type { ChannelMap } from '../kinds/channel-map.js';
import { logsOf } from '../kinds/log-files.js';
import type { Lot } from '../kinds/lot.js';
import type { Recipe } from '../kinds/recipe.js';
import type { ScanDocuments } from '../process-logs/build-request.js';

/** Gives the body of a revision, or undefined where there is none. */
type BodyOfRevision = <K extends 'recipe' | 'channel-map'>(
  kind: K,
  key: string,
  revision: number,
) => Promise<BodyOf<K> | undefined>;

/** Recipes and channel maps that a scan of the logs of a lot needs, as far as they are known. */
export async function scanDocuments(lot: Lot, bodyOf: BodyOfRevision): Promise<Omit<ScanDocuments, 'sidecars'>> {
  const recipes = new Map<string, Recipe>();
  for (const { recipe, revision } of [...lot.implants, ...lot.coupons].flatMap(recipesOf)) {
    const body = await bodyOf('recipe', recipe, revision);
    if (body) recipes.set(revisionKey(recipe, revision), body);
  }
  const maps = new Map<string, ChannelMap>();
  for (const { log } of lot.builds.flatMap(logsOf)) {
    if (log.map === undefined) continue;
    const { map, revision } = log.map;
    const body = await bodyOf('channel-map', map, revision);
    if (body) maps.set(revisionKey(map, revision), body);
  }
  return { recipes, maps };
}
