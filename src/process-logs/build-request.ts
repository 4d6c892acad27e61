import { BadInputError } from '../base/errors.js';
import { revisionKey } from '../dossier/facts.js';
import type { ChannelMap } from '../kinds/channel-map.js';
import { logsOf } from '../kinds/log-files.js';
import type { Build, Lot } from '../kinds/lot.js';
import type { Recipe } from '../kinds/recipe.js';
import type { BuildScan, LogSource } from './build-report.js';
import { logsFromRecipe, planFromRecipe, type Sidecars } from './plan-from-recipe.js';

/** Documents that a scan rests on, by `revisionKey`, and what sidecars say. */
export interface ScanDocuments {
  readonly recipes: ReadonlyMap<string, Recipe>;
  readonly maps: ReadonlyMap<string, ChannelMap>;
  readonly sidecars: Sidecars;
}

/** Where the bytes of a log are, and where its raw text is to be archived. */
export interface LogPlace {
  readonly path: string;
  readonly archive?: string;
}

/**
 * How the log of a build is to be scanned: its plan, and its files in the order in which they count.
 * @param placeOf of the file whose place in the build is given: `log`, `log.more[0]`.
 * @throws BadInputError as `planFromRecipe`, or when a channel map is not known.
 */
export function buildRequest(
  lot: Lot,
  build: Build,
  { recipes, maps, sidecars }: ScanDocuments,
  placeOf: (field: string) => LogPlace,
): BuildScan {
  const planned = logsFromRecipe(lot, build, recipes, sidecars);
  const sources = logsOf(build).map(({ log, field }, index): LogSource => {
    const gapLimitMs = log.gapLimitMs ?? build.log!.gapLimitMs;
    const { file, clockOffsetMs, map } = log;
    const { channels } = planned[index]!;
    return { ...placeOf(field), fileName: file, channels, clockOffsetMs, gapLimitMs, map: mapOf(map, maps, field) };
  });
  return { plan: planFromRecipe(lot, build, recipes, sidecars), sources };
}

function mapOf(
  named: { map: string; revision: number } | undefined,
  maps: ReadonlyMap<string, ChannelMap>,
  field: string,
): ChannelMap | null {
  if (named === undefined) return null;
  const key = revisionKey(named.map, named.revision);
  const found = maps.get(key);
  if (found !== undefined) return found;
  const remedy = 'take the channel map in first, or correct the reference';
  throw new BadInputError([{ code: 'log-plan', field: `${field}.map`, found: key, expected: 'a channel map', remedy }]);
}
