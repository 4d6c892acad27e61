import { AppError } from '../base/errors.js';
import { conversion } from '../base/units.js';
import { type Facts, revisionKey } from '../dossier/facts.js';
import { partsMadeIn } from '../kinds/build-chain.js';
import type { Parameter, Recipe, StepWindow } from '../kinds/recipe.js';
import { type ZoneChannel, zoneLogs } from './zone-logs.js';

type Zone = Recipe['zones'][number];
type Step = Zone['steps'][number];

/** What a log shows of one setting, in the unit of the setting. The mean is weighted by time. */
export interface LoggedSetting {
  readonly channel: string;
  readonly mean: number;
  readonly min: number;
  readonly max: number;
}

/** Where the mean may lie, in the unit of the setting, and what says so. */
export interface AllowedRange {
  readonly low: number;
  readonly high: number;
  readonly by: 'deviation' | 'window';
}

export type SettingStanding =
  | 'followed'
  | 'not followed'
  | 'no deviation stated'
  /** A channel repeats the set value: the scan of the log holds it to be exactly that. */
  | 'repeated'
  /** The recipe says what shows it instead of a log. */
  | 'shown otherwise'
  | 'not logged'
  | 'units do not compare'
  /** The zone was not logged in this step: the check of the log tells it. */
  | 'step not logged';

/** One setting of the recipe in one zone of a part, against what was logged there. */
export interface SettingInZone {
  readonly build: string;
  /** Key and revision. */
  readonly recipe: string;
  /** Serials of the implants for which the part counts. */
  readonly units: readonly string[];
  /** Serial or code of the coupon. */
  readonly part: string;
  /** As the log names it. */
  readonly zone: string;
  readonly recipeZone: string;
  readonly step: Step['step'];
  readonly parameter: Parameter;
  readonly logged: LoggedSetting | null;
  readonly allowed: AllowedRange | null;
  readonly standing: SettingStanding;
}

/** Every setting of every step that was done, in each zone of each part, closure by closure (docs/trade.md 3.9). */
export function settingsInZones(facts: Facts): SettingInZone[] {
  const lot = facts.lot.body;
  const logs = zoneLogs(facts);
  return lot.builds
    .filter(({ build }) => facts.logParts.has(build))
    .flatMap(({ build }) =>
      partsMadeIn(lot, build).flatMap((part) => {
        const recipe = revisionKey(part.recipe.recipe, part.recipe.revision);
        const zones = facts.recipes.get(recipe)?.body.zones ?? [];
        const [name, units] = 'serial' in part ? [part.serial, [part.serial]] : [part.coupon, part.standsFor];
        return part.zones.flatMap(({ zone, recipeZone }) =>
          (zones.find((item) => item.zone === recipeZone)?.steps ?? [])
            .filter(({ step }) => part.does(step))
            .flatMap((step) =>
              step.parameters.map((parameter) => ({
                ...{ build, recipe, units, part: name, zone, recipeZone, step: step.step, parameter },
                ...shown(parameter, step, logs(build, zone, step.step)),
              })),
            ),
        );
      }),
    );
}

const QUIET: readonly SettingStanding[] = ['followed', 'repeated', 'shown otherwise', 'step not logged'];

/** Whether somebody has to look at it. */
export const asksPeople = ({ standing }: Pick<SettingInZone, 'standing'>): boolean => !QUIET.includes(standing);

/** Settings of one recipe zone in one build that stand alike, whichever parts have it: at least one in each group. */
export function alikeSettings(settings: readonly SettingInZone[]): [SettingInZone, ...SettingInZone[]][] {
  const groups = new Map<string, [SettingInZone, ...SettingInZone[]]>();
  for (const item of settings) {
    const { build, recipe, recipeZone, step, parameter, standing } = item;
    const key = JSON.stringify([build, recipe, recipeZone, step, parameter.parameter, standing]);
    const known = groups.get(key);
    if (known) known.push(item);
    else groups.set(key, [item]);
  }
  return [...groups.values()];
}

type Shown = Pick<SettingInZone, 'logged' | 'allowed' | 'standing'>;

const only = (standing: SettingStanding): Shown => ({ logged: null, allowed: null, standing });

function shown(parameter: Parameter, step: Step, channels: readonly ZoneChannel[]): Shown {
  if (channels.length === 0) return only('step not logged');
  if (parameter.unlogged !== undefined) return only('shown otherwise');
  const channel = channelOf(parameter);
  const found = channels.find((item) => item.channel === channel);
  if (found === undefined) return only('not logged');
  const logged = inUnitOf(parameter, found);
  if (logged === undefined) return only('units do not compare');
  if (parameter.actual === undefined && parameter.channel !== undefined) {
    return { logged, allowed: null, standing: 'repeated' };
  }
  const allowed = allowedRange(parameter, step, channel);
  if (allowed === null) return { logged, allowed, standing: 'no deviation stated' };
  const isInside = logged.mean >= allowed.low && logged.mean <= allowed.high;
  return { logged, allowed, standing: isInside ? 'followed' : 'not followed' };
}

/** The channel that shows a setting. `laser power` is logged as `laser_power` where the recipe names none. */
export const channelOf = ({ actual, channel, parameter }: Parameter): string =>
  actual ?? channel ?? parameter.toLowerCase().replaceAll(' ', '_');

/** The deviation that the recipe allows, else the band of its window: both sides, at the level that asks for a decision. */
function allowedRange({ set, ucum, within }: Parameter, { windows }: Step, channel: string): AllowedRange | null {
  if (within !== undefined) {
    return { low: digits(Number(set) - Number(within)), high: digits(Number(set) + Number(within)), by: 'deviation' };
  }
  const bands = windows
    .filter((window) => window.channel === channel && window.layers === undefined)
    .flatMap((window) => bandOf(window, ucum) ?? []);
  if (bands.length === 0) return null;
  const low = Math.max(...bands.map((band) => band.low));
  const high = Math.min(...bands.map((band) => band.high));
  return { low, high, by: 'window' };
}

function bandOf(window: StepWindow, ucum: string): { low: number; high: number } | undefined {
  const level = (side: StepWindow['above']) => side?.action ?? side?.reject ?? side?.alert;
  const [low, high] = [level(window.below), level(window.above)];
  const change = changeOf(window.ucum, ucum);
  if (low === undefined || high === undefined || change === undefined) return undefined;
  return { low: change(Number(low)), high: change(Number(high)) };
}

function inUnitOf({ ucum }: Parameter, logged: ZoneChannel): LoggedSetting | undefined {
  const change = changeOf(logged.ucum, ucum);
  if (change === undefined) return undefined;
  const { channel, mean, min, max } = logged;
  return { channel, mean: change(mean), min: change(min), max: change(max) };
}

/** Nine significant digits, so that a mean does not miss its range by the noise of a sum. */
const digits = (value: number): number => Number(value.toPrecision(9));

function changeOf(from: string, to: string): ((value: number) => number) | undefined {
  try {
    const { factor, offset } = conversion(from, to);
    return (value) => digits(value * factor + offset);
  } catch (error) {
    if (error instanceof AppError) return undefined;
    throw error;
  }
}
