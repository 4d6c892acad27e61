import { convert } from '../base/units.js';
import { type ExposedAs, isSameDuration } from '../dossier/exposed.js';
import type { HistoryContext } from '../dossier/pool.js';
import type { ProcessValidation } from '../kinds/process-validation.js';
import type { Recipe } from '../kinds/recipe.js';
import { axisName, type RangeAxis, settingsOfClass } from './axes.js';
import { type Done, type ShownSet, shownSets } from './shown-sets.js';

/** First-pass values of one characteristic that were made alike, summed. */
export interface ContextValues {
  readonly characteristic: string;
  readonly context: HistoryContext;
  /** As it is stored: what asks for its lots. */
  readonly text: string;
  readonly n: number;
  readonly mean: number;
  readonly sumSquaredDeviations: number;
  readonly min: number;
  readonly max: number;
}

/** What was measured, and how: values of two of them do not stand together. */
export interface Measured {
  readonly characteristic: string;
  readonly method: string;
  readonly methodRevision: number;
  readonly ucum: string;
  /** Exposures that differ by no more than what makes them one duration are told by the shortest. */
  readonly exposed: ExposedAs | undefined;
}

/** Values at one set of settings. */
export interface ValuesAt {
  readonly n: number;
  readonly mean: number;
  /** Divisor n − 1; null of a single value. */
  readonly sd: number | null;
  readonly min: number;
  readonly max: number;
  /** Contexts whose values these are. */
  readonly contexts: readonly string[];
}

export interface SettingsPoint {
  readonly at: readonly string[];
  readonly recipes: readonly { readonly recipe: string; readonly revision: number }[];
  /** In the order of `measured` of its set; null where nothing of it was measured. */
  readonly values: readonly (ValuesAt | null)[];
}

/** Validated range of a setting. */
export interface Validated {
  readonly min: string;
  readonly max: string;
  readonly validation: string;
  readonly revision: number;
}

/** What was shown of one class of zones on one machine. */
export interface ShownSettings {
  readonly machine: string;
  /** Empty for what speaks of the whole part. */
  readonly zoneClass: string;
  readonly axes: readonly {
    readonly axis: Extract<RangeAxis, { of: 'setting' }>;
    readonly ucum: string;
    readonly validated: readonly Validated[];
  }[];
  readonly measured: readonly Measured[];
  readonly points: readonly SettingsPoint[];
}

/** Values that stand in no set: their settings are not known, or not one for their class. */
export interface LeftOut {
  readonly recipe: string;
  readonly revision: number;
  readonly zoneClass: string;
  readonly why: 'recipe not on record' | 'differs within' | 'no such class';
  readonly values: number;
}

export interface ShownOfFamily {
  readonly settings: readonly ShownSettings[];
  readonly leftOut: readonly LeftOut[];
}

export interface RecipeRevision {
  readonly recipe: string;
  readonly revision: number;
  readonly body: Pick<Recipe, 'zones'>;
}

/**
 * Which settings of each class of zones gave which values.
 * @param values of the family, in any order.
 * @param recipes that lots were built by.
 * @param validations in effect, whose ranges are told beside.
 */
export function shownSettings(
  values: readonly ContextValues[],
  recipes: readonly RecipeRevision[],
  validations: readonly Pick<ProcessValidation, 'machine' | 'envelope' | 'validation' | 'revision'>[],
): ShownOfFamily {
  const bodies = new Map(recipes.map((one) => [`${one.recipe} ${one.revision}`, one.body]));
  const leftOut = new Map<string, LeftOut>();
  const groups = new Map<string, Done<RangeAxis, ContextValues>[]>();
  for (const one of [...values].sort(byText)) {
    const { machine, zoneClass, recipe, recipeRevision: revision } = one.context;
    const body = bodies.get(`${recipe} ${revision}`);
    const found = body === undefined ? ({ why: 'recipe not on record' } as const) : settingsOfClass(body, zoneClass);
    const key = JSON.stringify([machine, zoneClass]);
    if ('stated' in found) {
      groups.set(key, [...(groups.get(key) ?? []), { stated: found.stated, source: one }]);
      continue;
    }
    const name = JSON.stringify([recipe, revision, zoneClass]);
    const known = leftOut.get(name)?.values ?? 0;
    leftOut.set(name, { recipe, revision, zoneClass, why: found.why, values: known + one.n });
  }
  return {
    settings: [...groups]
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .flatMap(([key, done]) => {
        const [machine, zoneClass] = JSON.parse(key) as [string, string];
        return shownSets(done, axisName).map((set) => ({
          ...{ machine, zoneClass, ...measuredIn(set) },
          axes: set.axes.map(({ axis, ucum }) => {
            const setting = axis as Extract<RangeAxis, { of: 'setting' }>;
            return { axis: setting, ucum, validated: validatedOf(setting, ucum, machine, zoneClass, validations) };
          }),
        }));
      }),
    leftOut: [...leftOut].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, one]) => one),
  };
}

const byText = (a: ContextValues, b: ContextValues): number => (orderOf(a) < orderOf(b) ? -1 : 1);
const orderOf = ({ characteristic, text }: ContextValues): string => `${characteristic}\u0000${text}`;

function measuredIn({ points }: ShownSet<RangeAxis, ContextValues>): Pick<ShownSettings, 'measured' | 'points'> {
  const all = points.flatMap(({ sources }) => sources);
  const durations = durationsOf(all);
  const measured = new Map<string, Measured>();
  const nameOf = (one: ContextValues): string => {
    const found = measuredBy(one, durations);
    const name = JSON.stringify(found);
    measured.set(name, found);
    return name;
  };
  const names = new Map(all.map((one) => [one, nameOf(one)]));
  const ordered = [...measured].sort(([a], [b]) => (a < b ? -1 : 1));
  return {
    measured: ordered.map(([, one]) => one),
    points: points.map(({ at, sources }) => ({
      at,
      recipes: recipesOf(sources),
      values: ordered.map(([name]) => together(sources.filter((one) => names.get(one) === name))),
    })),
  };
}

function measuredBy({ characteristic, context }: ContextValues, durations: readonly number[]): Measured {
  const { method, methodRevision, ucum, exposed } = context;
  const hours = exposed && durations.findLast((one) => one <= exposed.hours && isSameDuration(one, exposed.hours));
  return {
    ...{ characteristic, method, methodRevision, ucum },
    exposed: exposed && { ...exposed, hours: hours ?? exposed.hours },
  };
}

/** Each duration by the shortest that counts as the same. */
function durationsOf(all: readonly ContextValues[]): number[] {
  const hours = all.flatMap(({ context: { exposed } }) => (exposed === undefined ? [] : [exposed.hours]));
  const found: number[] = [];
  for (const one of [...new Set(hours)].sort((a, b) => a - b)) {
    if (found.length === 0 || !isSameDuration(found.at(-1)!, one)) found.push(one);
  }
  return found;
}

function recipesOf(sources: readonly ContextValues[]): SettingsPoint['recipes'] {
  const found = new Map(
    sources.map(({ context: { recipe, recipeRevision: revision } }) => [`${recipe} ${revision}`, { recipe, revision }]),
  );
  return [...found.values()].sort((a, b) =>
    a.recipe < b.recipe ? -1 : a.recipe > b.recipe ? 1 : a.revision - b.revision,
  );
}

/** Sums of several contexts, each about its own mean. */
function together(all: readonly ContextValues[]): ValuesAt | null {
  const [first, ...others] = all;
  if (first === undefined) return null;
  const sum = others.reduce<Pick<ContextValues, 'n' | 'mean' | 'sumSquaredDeviations' | 'min' | 'max'>>((a, b) => {
    const n = a.n + b.n;
    const apart = b.mean - a.mean;
    return {
      n,
      mean: a.mean + (apart * b.n) / n,
      sumSquaredDeviations: a.sumSquaredDeviations + b.sumSquaredDeviations + (apart * apart * a.n * b.n) / n,
      min: Math.min(a.min, b.min),
      max: Math.max(a.max, b.max),
    };
  }, first);
  const { n, mean, sumSquaredDeviations, min, max } = sum;
  return {
    ...{ n, mean: stored(mean), min, max },
    sd: n > 1 ? stored(Math.sqrt(Math.max(0, sumSquaredDeviations) / (n - 1))) : null,
    contexts: all.map(({ text }) => text),
  };
}

/** Nine significant digits, as everything that is computed is told. */
const stored = (value: number): number => Number(value.toPrecision(9));

function validatedOf(
  { zoneClass: ofWhole, step, parameter }: Extract<RangeAxis, { of: 'setting' }>,
  ucum: string,
  machine: string,
  zoneClass: string,
  validations: Parameters<typeof shownSettings>[2],
): Validated[] {
  const own = ofWhole === '' ? zoneClass : ofWhole;
  return validations
    .filter((one) => one.machine === machine)
    .flatMap(({ envelope, validation, revision }) =>
      envelope
        .filter((range) => range.step === step && range.parameter === parameter)
        .filter((range) => range.zoneClass === undefined || range.zoneClass === own)
        .flatMap(({ min, max, ucum: stated }) => {
          const [from, to] = [min, max].map((value) => convertedOrNone(value, stated, ucum));
          return from === undefined || to === undefined ? [] : [{ min: from, max: to, validation, revision }];
        }),
    );
}

/** Undefined where one unit does not convert to the other: then the range says nothing of the setting. */
function convertedOrNone(value: string, from: string, to: string): string | undefined {
  try {
    return convert(value, from, to);
  } catch {
    return undefined;
  }
}
