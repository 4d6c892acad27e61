import { alikeSettings, asksPeople, type SettingInZone, settingsInZones } from '../assessment/logged-settings.js';
import type { Facts } from '../dossier/facts.js';

/** A setting of a recipe zone in one build, over all zones of parts that stand alike. Numbers in the unit of the setting. */
export interface SettingRow
  extends Pick<SettingInZone, 'build' | 'recipe' | 'recipeZone' | 'step' | 'parameter' | 'standing'> {
  readonly zones: number;
  readonly means: Span | null;
  readonly actual: Span | null;
  readonly allowed: Span | null;
  /** Whether the check asks somebody about it. */
  readonly asks: boolean;
}

export interface Span {
  readonly from: number;
  readonly to: number;
}

export const settingRows = (facts: Facts): SettingRow[] =>
  alikeSettings(settingsInZones(facts)).map((all) => {
    const { build, recipe, recipeZone, step, parameter, standing, allowed } = all[0];
    const logged = all.flatMap((item) => item.logged ?? []);
    return {
      ...{ build, recipe, recipeZone, step, parameter, standing, zones: all.length, asks: asksPeople(all[0]) },
      means: spanOf(logged.map(({ mean }) => mean)),
      actual: spanOf(logged.flatMap(({ min, max }) => [min, max])),
      allowed: allowed === null ? null : { from: allowed.low, to: allowed.high },
    };
  });

const spanOf = (values: readonly number[]): Span | null =>
  values.length === 0 ? null : { from: Math.min(...values), to: Math.max(...values) };
