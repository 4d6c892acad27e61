import { revisionKey } from '../dossier/facts.js';
import { BadInputError, type Problem } from '../errors.js';
import type { Build, BuiltZone, Lot } from '../kinds/lot.js';
import type { Recipe, Window } from '../kinds/recipe.js';
import { conversion, convert } from '../units.js';
import { LEVELS } from './levels.js';
import type { ExpectedZone, PlannedChannel, ScanPlan, ScanWindow, ZoneScope } from './plan.js';

type Zone = Recipe['zones'][number];
type BuildLog = NonNullable<Build['log']>;

/** One zone of the build with the recipe it was built by. */
interface PlannedZone {
  readonly built: BuiltZone;
  readonly recipe: Recipe;
  readonly zone: Zone;
}

/**
 * What the log of a build is to be scanned for: the windows of the recipes of its implants and coupons, put on the zones
 * as logged and on the layers at which they were built. The chamber's windows hold over everything while it is closed;
 * where recipes differ, the tighter limit holds and the longer join time.
 * @param recipes by `revisionKey`. A missing one leaves its zones expected but without windows.
 * @throws BadInputError when the build has no log, or a unit cannot be converted.
 */
export function planFromRecipe(lot: Lot, build: Build, recipes: ReadonlyMap<string, Recipe>): ScanPlan {
  const { log } = build;
  if (log === undefined) throw new BadInputError([noLog(build)]);
  const parts = [...lot.implants, ...lot.coupons].filter((part) => part.build === build.build);
  const inBuild = new Set<Recipe>();
  const zones: PlannedZone[] = [];
  for (const part of parts) {
    const recipe = recipes.get(revisionKey(part.recipe.recipe, part.recipe.revision));
    if (recipe === undefined) continue;
    inBuild.add(recipe);
    for (const built of part.zones) {
      const zone = recipe.zones.find((candidate) => candidate.zone === built.recipeZone);
      if (zone !== undefined) zones.push({ built, recipe, zone });
    }
  }
  const chambers = [...inBuild].map((recipe) => recipe.chamber);
  const used = [...chambers.flatMap((chamber) => chamber.windows), ...zones.flatMap(({ zone }) => windowsOf(zone))];
  const channels = plannedChannels(build, log, used);
  const unitOf = new Map(used.map((window) => [window.channel, window.ucum]).reverse() as [string, string][]);
  return {
    build: build.build,
    channels,
    windows: uniqueWindows([
      ...chambers.flatMap((chamber) => chamber.windows.flatMap((window) => levelsOf(window, unitOf, 'closure'))),
      ...zones.flatMap((planned) => zoneWindows(planned, unitOf)),
    ]),
    inert: {
      channels: [...new Set(chambers.flatMap((chamber) => chamber.inertChannels))].sort(),
      joinMs: Math.max(0, ...chambers.map((chamber) => Number(chamber.joinBreaksWithinS) * 1000)),
    },
    closure: { closedAt: build.closedAt, openedAt: build.openedAt },
    expected: parts.flatMap((part) => part.zones).map((built) => expectedZone(built, zones)),
    nominalPeriodMs: log.nominalPeriodMs,
    gapLimitMs: log.gapLimitMs,
    clockOffsetMs: log.clockOffsetMs,
  };
}

function windowsOf(zone: Zone): Window[] {
  return zone.steps.flatMap((step) => step.windows);
}

/** Each logged channel in the unit of the first window on it; in its own unit when no window names it. */
function plannedChannels(build: Build, log: BuildLog, used: readonly Window[]): PlannedChannel[] {
  return log.channels.map(({ channel, ucum: loggedUcum }, index) => {
    const ucum = used.find((window) => window.channel === channel)?.ucum ?? loggedUcum;
    try {
      return { name: channel, ucum, loggedUcum, ...conversion(loggedUcum, ucum) };
    } catch (error) {
      throw new BadInputError([
        {
          code: 'log-unit',
          field: `builds ${build.build}, log.channels[${index}].ucum`,
          found: `${loggedUcum} for ${channel}`,
          expected: `a unit that converts to ${ucum}, the unit of the recipe's window`,
          remedy: `correct the unit of the channel or of the window (${error instanceof Error ? error.message : error})`,
        },
      ]);
    }
  });
}

function zoneWindows({ built, zone }: PlannedZone, unitOf: ReadonlyMap<string, string>): ScanWindow[] {
  return zone.steps.flatMap((step) => {
    const scope: ZoneScope = {
      zone: built.zone,
      step: step.step,
      layerFrom: built.layers.from,
      layerTo: built.layers.to,
    };
    return step.windows.flatMap((window) => levelsOf(window, unitOf, scope));
  });
}

/** One window for each level that the recipe states. */
function levelsOf(window: Window, unitOf: ReadonlyMap<string, string>, scope: ScanWindow['scope']): ScanWindow[] {
  const { channel, ucum, above, below, minimumDurationS, integralLimit } = window;
  const wanted = unitOf.get(channel) ?? ucum;
  const limit = (text: string | undefined) => (text === undefined ? null : Number(convert(text, ucum, wanted)));
  return LEVELS.filter((level) => above?.[level] !== undefined || below?.[level] !== undefined).map((level) => ({
    channel,
    level,
    low: limit(below?.[level]),
    high: limit(above?.[level]),
    minimumMs: minimumDurationS === undefined ? null : Number(minimumDurationS) * 1000,
    integralLimit: integralLimit === undefined ? null : Number(integralLimit) * conversion(ucum, wanted).factor,
    scope,
  }));
}

/** Recipes of one group share most windows; the same window twice says nothing more. */
function uniqueWindows(windows: readonly ScanWindow[]): ScanWindow[] {
  return [...new Map(windows.map((window) => [JSON.stringify(window), window])).values()];
}

function expectedZone(built: BuiltZone, zones: readonly PlannedZone[]): ExpectedZone {
  const planned = zones.find((candidate) => candidate.built === built);
  const steps = planned?.zone.steps ?? [];
  return {
    zone: built.zone,
    layerFrom: built.layers.from,
    layerTo: built.layers.to,
    steps: steps.map(({ step, everyLayers }) => ({ step, everyLayers })),
  };
}

function noLog(build: Build): Problem {
  return {
    code: 'log-plan',
    field: `builds ${build.build}, log`,
    found: 'no log',
    expected: 'a build with a process log',
    remedy: 'name the log of the run in the lot file',
  };
}
