import { AppError, BadInputError, type Problem } from '../base/errors.js';
import { conversion, convert } from '../base/units.js';
import { revisionKey } from '../dossier/facts.js';
import { isMadeIn, type MadePart, partsMadeIn } from '../kinds/build-chain.js';
import { logsOf, type NamedLog } from '../kinds/log-files.js';
import type { Build, BuiltZone, Lot } from '../kinds/lot.js';
import type { Recipe, StepWindow, Window } from '../kinds/recipe.js';
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

/** One zone of the build with what the recipe says of it and was done here. */
interface PlannedZone {
  /** With the layers that were made in this build. */
  readonly built: BuiltZone;
  /** First layer of the zone, whichever build made it. */
  readonly firstLayer: number;
  readonly zone: Zone;
}

/** Unit in which the recipe speaks of a channel: that of the first window on it, or of the setting it repeats. */
type RecipeUnits = ReadonlyMap<string, string>;

/** What the sidecars of a build say, by the path of the log as the lot file names it. */
export type Sidecars = ReadonlyMap<string, ChannelUnits>;

/** One log of a build, and what its channels are. */
export interface PlannedLog {
  readonly file: string;
  readonly channels: readonly PlannedChannel[];
}

/**
 * What the log of a build is to be scanned for: the windows of the recipes of its implants and coupons, put on the zones
 * as logged and on the layers at which they were built. The chamber's windows hold over everything while it is closed;
 * where recipes differ, the tighter limit holds and the longer join time. Of several logs the channels are taken together.
 * @param recipes by `revisionKey`. A missing one leaves its zones expected but without windows.
 * @throws BadInputError when the build has no log, a unit cannot be converted, lot file and sidecar disagree, or the recipe
 * does not know a zone or anything that was done here.
 */
export function planFromRecipe(
  lot: Lot,
  build: Build,
  recipes: ReadonlyMap<string, Recipe>,
  sidecars: Sidecars = new Map(),
): ScanPlan {
  const { log } = build;
  if (log === undefined) throw new BadInputError([noLog(build)]);
  const parts = partsMadeIn(lot, build.build);
  const firstLayers = firstLayersOf(lot, build);
  const zones = plannedZones(parts, firstLayers, recipes);
  const strange = parts.flatMap((part) => unknownToRecipe(part, build, recipes, zones));
  if (strange.length > 0) throw new BadInputError(strange);
  const chambers = chambersOf(parts, recipes);
  const units = recipeUnits(chambers, zones);
  const channels = plannedLogs(build, units, sidecars).flatMap((planned) => planned.channels);
  return {
    build: build.build,
    channels: channels.filter(({ name }, index) => channels.findIndex((other) => other.name === name) === index),
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
    expected: parts.flatMap((part) =>
      part.zones.map((built) => expectedZone(part, built, firstLayers.get(built.zone)!, zones)),
    ),
    nominalPeriodMs: log.nominalPeriodMs,
    gapLimitMs: log.gapLimitMs,
    clockOffsetMs: log.clockOffsetMs,
  };
}

/**
 * The logs of a build in the order in which they count, each with its own channels.
 * @throws BadInputError as `planFromRecipe`.
 */
export function logsFromRecipe(
  lot: Lot,
  build: Build,
  recipes: ReadonlyMap<string, Recipe>,
  sidecars: Sidecars = new Map(),
): PlannedLog[] {
  const parts = partsMadeIn(lot, build.build);
  const zones = plannedZones(parts, firstLayersOf(lot, build), recipes);
  return plannedLogs(build, recipeUnits(chambersOf(parts, recipes), zones), sidecars);
}

const recipeOf = ({ recipe }: MadePart, recipes: ReadonlyMap<string, Recipe>): Recipe | undefined =>
  recipes.get(revisionKey(recipe.recipe, recipe.revision));

function chambersOf(parts: readonly MadePart[], recipes: ReadonlyMap<string, Recipe>): Recipe['chamber'][] {
  const used = new Set(parts.flatMap((part) => recipeOf(part, recipes) ?? []));
  return [...used].map((recipe) => recipe.chamber);
}

function plannedZones(
  parts: readonly MadePart[],
  firstLayers: ReadonlyMap<string, number>,
  recipes: ReadonlyMap<string, Recipe>,
): PlannedZone[] {
  return parts.flatMap((part) =>
    part.zones.flatMap((built) => {
      const zone = recipeOf(part, recipes)?.zones.find((candidate) => candidate.zone === built.recipeZone);
      if (zone === undefined) return [];
      const steps = zone.steps.filter(({ step }) => part.does(step));
      return [{ built, firstLayer: firstLayers.get(built.zone)!, zone: { ...zone, steps } }];
    }),
  );
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

function plannedLogs(build: Build, units: RecipeUnits, sidecars: Sidecars): PlannedLog[] {
  const problems: Problem[] = [];
  const logs = logsOf(build).map(({ log, field }) => ({
    file: log.file,
    channels: plannedChannels(log, `builds ${build.build}, ${field}`, units, sidecars.get(log.file), problems),
  }));
  if (problems.length > 0) throw new BadInputError(problems);
  return logs;
}

/** @param problems what is wrong is added here. */
function plannedChannels(
  log: NamedLog['log'],
  place: string,
  units: RecipeUnits,
  sidecar: ChannelUnits | undefined,
  problems: Problem[],
): PlannedChannel[] {
  problems.push(...strangeSidecarChannels(log, place, sidecar));
  return log.channels.map(({ channel: name, ucum: inLot, dewPoint }, index): PlannedChannel => {
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
}

function plannedDewPoint(given: NonNullable<NamedLog['log']['channels'][number]['dewPoint']>): PlannedDewPoint {
  const { over, pressureChannel, ambientChannel = null } = given;
  return { over, pressureChannel, ambientChannel };
}

function strangeSidecarChannels(log: NamedLog['log'], place: string, sidecar: ChannelUnits | undefined): Problem[] {
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

function zoneWindows({ built, firstLayer, zone }: PlannedZone, units: RecipeUnits): ScanWindow[] {
  return zone.steps.flatMap((step) =>
    step.windows.flatMap((window) => {
      const layers = layersOf(window, built, firstLayer - zone.layers.from);
      return layers === undefined ? [] : levelsOf(window, units, scopeOf(built, step, layers));
    }),
  );
}

/** The recipe counts the layers of its zone; in the build the zone may begin higher and may have fewer layers. */
function layersOf({ layers }: StepWindow, built: BuiltZone, shift: number): BuiltZone['layers'] | undefined {
  if (layers === undefined) return built.layers;
  const from = Math.max(layers.from + shift, built.layers.from);
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

/** By the name of the zone, which is unique in a build. */
function firstLayersOf(lot: Lot, { build }: Build): ReadonlyMap<string, number> {
  const parts = [...lot.implants, ...lot.coupons].filter((part) => isMadeIn(lot, part, build));
  const zones = parts.flatMap((part) => part.zones);
  return new Map(zones.map(({ zone, layers }) => [zone, layers.from]));
}

function expectedZone(
  { isFinishing }: MadePart,
  built: BuiltZone,
  firstLayer: number,
  zones: readonly PlannedZone[],
): ExpectedZone {
  const planned = zones.find((candidate) => candidate.built === built);
  return {
    zone: built.zone,
    layerFrom: built.layers.from,
    layerTo: built.layers.to,
    firstLayer,
    steps: (planned?.zone.steps ?? []).map(expectedStep),
    ...(isFinishing ? { isFinishing } : {}),
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

/** A zone that the recipe does not have would be watched by no limit of its own, and a closure without a step by none at all. */
function unknownToRecipe(
  part: MadePart,
  { build }: Build,
  recipes: ReadonlyMap<string, Recipe>,
  zones: readonly PlannedZone[],
): Problem[] {
  const recipe = recipeOf(part, recipes);
  if (recipe === undefined) return [];
  const code = 'serial' in part ? part.serial : part.coupon;
  const key = revisionKey(recipe.recipe, recipe.revision);
  const common = { code: 'log-plan', field: `builds ${build}, ${code}` };
  const planned = zones.filter(({ built }) => part.zones.includes(built));
  const lost = part.zones.filter((built) => !part.isFinishing && !planned.some((zone) => zone.built === built));
  const problems = lost.map(({ zone, recipeZone }) => ({
    ...common,
    found: `zone ${zone}, built as ${recipeZone}`,
    expected: `a zone of recipe ${key}: ${recipe.zones.map((item) => item.zone).join(', ')}`,
    remedy: 'correct recipeZone in the lot file',
  }));
  if (problems.length > 0 || planned.some(({ zone }) => zone.steps.length > 0)) return problems;
  return [
    {
      ...common,
      found: `no step of recipe ${key} for the zones of ${code} in this closure`,
      expected: 'a step that the recipe has for one of them',
      remedy: 'correct the steps or the recipe under alsoIn in the lot file',
    },
  ];
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
