import { revisionKey } from '../dossier/facts.js';
import { AppError, BadInputError, type Problem } from '../errors.js';
import type { Build, BuiltZone, Lot } from '../kinds/lot.js';
import type { Recipe, StepWindow, Window } from '../kinds/recipe.js';
import { conversion, convert } from '../units.js';
import { meansTheSame } from './channels.js';
import { LEVELS } from './levels.js';
import type {
  ExpectedStep,
  ExpectedZone,
  PlannedChannel,
  PlannedDewPoint,
  ScanPlan,
  ScanWindow,
  SetValue,
  ZoneScope,
} from './plan.js';
import type { ChannelUnits } from './units-sidecar.js';

type Zone = Recipe['zones'][number];
type Step = Zone['steps'][number];
type BuildLog = NonNullable<Build['log']>;

/** One zone of the build with the recipe it was built by. */
interface PlannedZone {
  readonly built: BuiltZone;
  readonly recipe: Recipe;
  readonly zone: Zone;
}

/** Unit in which the recipe speaks of a channel: that of the first window on it, or of the setting it repeats. */
type RecipeUnits = ReadonlyMap<string, string>;

/**
 * What the log of a build is to be scanned for: the windows of the recipes of its implants and coupons, put on the zones
 * as logged and on the layers at which they were built. The chamber's windows hold over everything while it is closed;
 * where recipes differ, the tighter limit holds and the longer join time.
 * @param recipes by `revisionKey`. A missing one leaves its zones expected but without windows.
 * @param sidecar what the sidecar of the log says of its units, when there is one.
 * @throws BadInputError when the build has no log, a unit cannot be converted, or lot file and sidecar disagree.
 */
export function planFromRecipe(
  lot: Lot,
  build: Build,
  recipes: ReadonlyMap<string, Recipe>,
  sidecar?: ChannelUnits,
): ScanPlan {
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
  const units = recipeUnits(chambers, zones);
  return {
    build: build.build,
    channels: plannedChannels(build, log, units, sidecar),
    windows: uniqueItems([
      ...chambers.flatMap((chamber) => chamber.windows.flatMap((window) => levelsOf(window, units, 'closure'))),
      ...zones.flatMap((planned) => zoneWindows(planned, units)),
    ]),
    setValues: uniqueItems(zones.flatMap((planned) => zoneSettings(planned, units))),
    inert: {
      channels: [...new Set(chambers.flatMap((chamber) => chamber.inertChannels))].sort(),
      joinMs: Math.max(0, ...chambers.map((chamber) => milliseconds(chamber.joinBreaksWithinS))),
    },
    closure: { closedAt: build.closedAt, openedAt: build.openedAt },
    expected: parts.flatMap((part) => part.zones).map((built) => expectedZone(built, zones)),
    nominalPeriodMs: log.nominalPeriodMs,
    gapLimitMs: log.gapLimitMs,
    clockOffsetMs: log.clockOffsetMs,
  };
}

function recipeUnits(chambers: readonly Recipe['chamber'][], zones: readonly PlannedZone[]): RecipeUnits {
  const steps = zones.flatMap(({ zone }) => zone.steps);
  const windows = [...chambers.flatMap((chamber) => chamber.windows), ...steps.flatMap((step) => step.windows)];
  const settings = steps.flatMap((step) => step.parameters);
  const units = new Map<string, string>();
  for (const { channel, ucum } of [...windows, ...settings]) {
    if (channel !== undefined && !units.has(channel)) units.set(channel, ucum);
  }
  return units;
}

function plannedChannels(build: Build, log: BuildLog, units: RecipeUnits, sidecar?: ChannelUnits): PlannedChannel[] {
  const place = `builds ${build.build}, log`;
  const problems: Problem[] = strangeSidecarChannels(log, place, sidecar);
  const channels = log.channels.map(({ channel: name, ucum: inLot, dewPoint }, index): PlannedChannel => {
    const inSidecar = sidecar?.get(name);
    const ucum = units.get(name) ?? null;
    const loggedUcum = inLot ?? inSidecar ?? null;
    const field = `${place}.channels[${index}].ucum`;
    if (inLot !== undefined && inSidecar !== undefined && !meansTheSame(inLot, inSidecar)) {
      problems.push(disagreement(field, name, inLot, inSidecar));
    } else if (ucum !== null && loggedUcum !== null && dewPoint === undefined) {
      problems.push(...conversionProblems(field, name, loggedUcum, ucum));
    }
    const stated = { 'lot file': inLot, sidecar: inSidecar };
    const unitFrom = (['lot file', 'sidecar'] as const).filter((source) => stated[source] !== undefined);
    return { name, ucum, loggedUcum, unitFrom, dewPoint: dewPoint === undefined ? null : plannedDewPoint(dewPoint) };
  });
  if (problems.length > 0) throw new BadInputError(problems);
  return channels;
}

function plannedDewPoint(given: NonNullable<BuildLog['channels'][number]['dewPoint']>): PlannedDewPoint {
  const { over, pressureChannel, ambientChannel = null } = given;
  return { over, pressureChannel, ambientChannel };
}

function strangeSidecarChannels(log: BuildLog, place: string, sidecar: ChannelUnits | undefined): Problem[] {
  const known = new Set(log.channels.map(({ channel }) => channel));
  return [...(sidecar?.keys() ?? [])]
    .filter((name) => !known.has(name))
    .map((name) => ({
      code: 'log-unit',
      field: `${place}.units`,
      found: `a unit for ${name} in the sidecar`,
      expected: `channels of this log: ${[...known].join(', ')}`,
      remedy: 'correct the name in the sidecar, or declare the channel in the lot file',
    }));
}

function disagreement(field: string, name: string, inLot: string, inSidecar: string): Problem {
  return {
    code: 'log-unit',
    field,
    found: `${inLot} for ${name} here and ${inSidecar} in the sidecar`,
    expected: 'one unit',
    remedy: 'find out in which unit the recorder wrote the channel, and correct the other file',
  };
}

function conversionProblems(field: string, name: string, loggedUcum: string, ucum: string): Problem[] {
  try {
    conversion(loggedUcum, ucum);
    return [];
  } catch (error) {
    if (!(error instanceof AppError)) throw error;
    const found = `${loggedUcum} for ${name}`;
    const expected = `a unit that converts to ${ucum}, the unit of the recipe`;
    const remedy = meansTheSame(loggedUcum, 'Cel')
      ? 'for a dew point, add dewPoint: over ice or water, and the channel of the pressure at the sensor'
      : `correct the unit of the channel or of the window (${error.message})`;
    return [{ code: 'log-unit', field, found, expected, remedy }];
  }
}

function zoneWindows({ built, zone }: PlannedZone, units: RecipeUnits): ScanWindow[] {
  return zone.steps.flatMap((step) =>
    step.windows.flatMap((window) => {
      const layers = layersOf(window, built, zone);
      return layers === undefined ? [] : levelsOf(window, units, scopeOf(built, step, layers));
    }),
  );
}

/** The recipe counts the layers of its zone; in the build the zone may begin higher and may have fewer layers. */
function layersOf({ layers }: StepWindow, built: BuiltZone, zone: Zone): BuiltZone['layers'] | undefined {
  if (layers === undefined) return built.layers;
  const shift = built.layers.from - zone.layers.from;
  const from = layers.from + shift;
  const to = Math.min(layers.to + shift, built.layers.to);
  return from <= to ? { from, to } : undefined;
}

function zoneSettings({ built, zone }: PlannedZone, units: RecipeUnits): SetValue[] {
  return zone.steps.flatMap((step) =>
    step.parameters.flatMap(({ channel, set, ucum }) => {
      if (channel === undefined) return [];
      const value = Number(convert(set, ucum, units.get(channel)!));
      return [{ channel, value, scope: scopeOf(built, step, built.layers) }];
    }),
  );
}

function scopeOf(built: BuiltZone, { step }: Step, layers: BuiltZone['layers']): ZoneScope {
  return { zone: built.zone, step, layerFrom: layers.from, layerTo: layers.to };
}

/** One window for each level that the recipe states. */
function levelsOf(window: Window, units: RecipeUnits, scope: ScanWindow['scope']): ScanWindow[] {
  const { channel, ucum, above, below, minimumDurationS, integralLimit } = window;
  const wanted = units.get(channel) ?? ucum;
  const limit = (text: string | undefined) => (text === undefined ? null : Number(convert(text, ucum, wanted)));
  return LEVELS.filter((level) => above?.[level] !== undefined || below?.[level] !== undefined).map((level) => ({
    channel,
    level,
    low: limit(below?.[level]),
    high: limit(above?.[level]),
    minimumMs: minimumDurationS === undefined ? null : milliseconds(minimumDurationS),
    integralLimit: integralLimit === undefined ? null : Number(integralLimit) * conversion(ucum, wanted).factor,
    scope,
  }));
}

/** Recipes of one group share most windows; the same window twice says nothing more. */
function uniqueItems<Item>(items: readonly Item[]): Item[] {
  return [...new Map(items.map((item) => [JSON.stringify(item), item])).values()];
}

function expectedZone(built: BuiltZone, zones: readonly PlannedZone[]): ExpectedZone {
  const planned = zones.find((candidate) => candidate.built === built);
  return {
    zone: built.zone,
    layerFrom: built.layers.from,
    layerTo: built.layers.to,
    steps: (planned?.zone.steps ?? []).map(expectedStep),
  };
}

function expectedStep({ step, everyLayers, durationS }: Step): ExpectedStep {
  return {
    step,
    everyLayers,
    shortestMs: durationS?.atLeast === undefined ? null : milliseconds(durationS.atLeast),
    longestMs: durationS?.atMost === undefined ? null : milliseconds(durationS.atMost),
  };
}

const milliseconds = (seconds: string): number => Number(convert(seconds, 's', 'ms'));

function noLog(build: Build): Problem {
  return {
    code: 'log-plan',
    field: `builds ${build.build}, log`,
    found: 'no log',
    expected: 'a build with a process log',
    remedy: 'name the log of the run in the lot file',
  };
}
