import { inUnit } from '../assessment/in-unit.js';
import { compareDecimal } from '../base/decimal.js';
import type { Facts } from '../dossier/facts.js';
import { revisionKey } from '../dossier/facts.js';
import { type StepSettings, stepSettings } from '../dossier/family-history.js';
import { spacedUnit } from '../dossier/unit-text.js';
import { SETTING_CHANGES } from './phrases/setting-changes.js';
import { stepText } from './phrases/trade-codes.js';

/** A setting that a recipe of the lot sets otherwise than the one before. */
export interface SettingChange {
  readonly recipe: string;
  readonly zone: string;
  readonly step: string;
  readonly setting: string;
  readonly before: string;
  readonly now: string;
}

/** What is said of the build before, and each setting that differs from it. */
export interface SettingsBefore {
  readonly says: string;
  readonly changes: readonly SettingChange[];
}

/** Each recipe of the lot beside that of the build before in its family, setting by setting. */
export function settingsBefore(facts: Facts): SettingsBefore {
  const before = facts.history?.lastBuild;
  if (before === undefined) return { says: SETTING_CHANGES.noneBefore, changes: [] };
  const key = revisionKey(before.recipe, before.recipeRevision);
  const settings = before.settings ?? (facts.recipes.has(key) ? stepSettings(facts.recipes.get(key)!.body) : undefined);
  const changes =
    settings === undefined
      ? []
      : [...facts.recipes].flatMap(([recipe, { body }]) =>
          recipe === key ? [] : changed(recipe, linesOf(settings), linesOf(stepSettings(body))),
        );
  const says = SETTING_CHANGES.detail(
    settings === undefined ? 'not known' : changes.length > 0 ? 'differ' : facts.recipes.has(key) ? 'same' : 'alike',
  );
  return { says: SETTING_CHANGES.before(before.build, before.lot, key, says), changes };
}

interface Line {
  readonly zone: string;
  readonly step: string;
  readonly setting: string;
  readonly set: string;
  readonly ucum: string;
}

/** How often a step is done is set like anything else. */
function linesOf(settings: readonly StepSettings[]): ReadonlyMap<string, Line> {
  const lines = settings.flatMap(({ zone, step, everyLayers, parameters }): Line[] => {
    const every = { parameter: SETTING_CHANGES.everyLayers, set: String(everyLayers), ucum: '1' };
    return [every, ...parameters].map(({ parameter, ...rest }) => ({
      ...{ zone, step: stepText(step), setting: parameter },
      ...rest,
    }));
  });
  return new Map(lines.map((line) => [JSON.stringify([line.zone, line.step, line.setting]), line]));
}

function changed(recipe: string, before: ReadonlyMap<string, Line>, now: ReadonlyMap<string, Line>): SettingChange[] {
  const names = new Set([...now.keys(), ...before.keys()]);
  return [...names].flatMap((name) => {
    const [old, own] = [before.get(name), now.get(name)];
    if (old && own && isSame(old, own)) return [];
    const { zone, step, setting } = (own ?? old)!;
    return [{ recipe, zone, step, setting, before: setText(old), now: setText(own) }];
  });
}

/** In whatever unit it is written. */
function isSame(a: Line, b: Line): boolean {
  const other = inUnit({ value: b.set, ucum: b.ucum }, a.ucum);
  return other !== undefined && compareDecimal(a.set, other) === 0;
}

const setText = (line: Line | undefined): string =>
  line === undefined ? SETTING_CHANGES.notSet : `${line.set}${spacedUnit(line.ucum)}`;
