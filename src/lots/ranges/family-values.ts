import type { ContextValues, LeftOut, ShownSettings } from '../../design-history/shown-settings.js';
import { shownSettings } from '../../design-history/shown-settings.js';
import { approvalStanding } from '../../dossier/approval-standing.js';
import type { ProcessValidation } from '../../kinds/process-validation.js';
import type { Recipe } from '../../kinds/recipe.js';
import { ALWAYS, NEVER } from '../../store/histories.js';
import { contextOf, earlierSums } from '../../store/history-pool.js';
import { countIn, type HistorySums } from '../../store/history-sums.js';
import type { Reads } from '../../store/repositories.js';

/** What the lots of a family gave, by the settings that they were built with. */
export interface FamilyValues {
  readonly settings: readonly ShownSettings[];
  readonly leftOut: readonly LeftOut[];
  /** By the code of the characteristic. */
  readonly titles: ReadonlyMap<string, string>;
  readonly recipes: ReadonlyMap<string, Recipe>;
  /** How many lots and builds have values in some contexts of a characteristic. */
  readonly counts: (characteristic: string, contexts: readonly string[]) => { lots: number; builds: number };
  /** The longest exposure of each class of zones in each medium. */
  readonly exposures: readonly Exposed[];
}

export interface Exposed {
  readonly zoneClass: string;
  readonly medium: string;
  readonly mediumRevision: number;
  readonly hours: number;
}

const NO_LOT = '';

/**
 * By the kept sums of the family, which say of each characteristic what was made alike: one question, however many lots
 * there are. Repeats, replacements, reworked values and bounds are in none of them.
 * @param now moment at which process validations have to be in effect.
 */
export async function familyValues(read: Reads, family: string, now: Date): Promise<FamilyValues> {
  const of = { kind: 'family', key: family };
  const titles = new Map<string, string>();
  for (const { kind, key } of uniqueNames(await read.entries.revisionsTiedTo(['specification'], of, 'of family'))) {
    for (const { body } of await read.entries.revisions(kind as 'specification', key)) {
      if (body.family !== family) continue;
      for (const { characteristic, title } of body.characteristics) titles.set(characteristic, title);
    }
  }
  const asked = { family, lot: NO_LOT, before: ALWAYS, from: NEVER };
  const sums = await earlierSums(read.histories, asked, [...titles.keys()].sort());
  const values = [...sums].flatMap(([characteristic, { counted }]) => valuesOf(characteristic, counted));
  const recipes = await recipesNamed(
    read,
    values.map(({ context }) => context.recipe),
  );
  const validations = await validationsInEffect(read, family, now);
  const shown = shownSettings(
    values,
    [...recipes.values()].map((body) => ({ recipe: body.recipe, revision: body.revision, body })),
    validations,
  );
  return {
    ...shown,
    ...{ titles, recipes, exposures: longestExposures(values) },
    counts: (characteristic, contexts) => {
      const counted = sums.get(characteristic)?.counted;
      const admitted = new Set(contexts);
      if (counted === undefined) return { lots: 0, builds: 0 };
      return {
        lots: countIn(counted, 'lots', admitted, 'values'),
        builds: countIn(counted, 'builds', admitted, 'values'),
      };
    },
  };
}

/** Approved, not withdrawn, and of that day. */
async function validationsInEffect(read: Reads, family: string, now: Date): Promise<ProcessValidation[]> {
  const stated = await read.entries.tiedTo('process-validation', 'family', family, 'of family');
  const signed = await read.signatures.on(stated.map(({ digest }) => digest));
  const statements = signed.map(({ signed: { statement } }) => statement);
  const withdrawn = new Set(
    (await read.events.ofTypes(['document-withdrawn'])).flatMap(({ event }) =>
      event.type === 'document-withdrawn' ? [`${event.kind} ${event.key} ${event.revision}`] : [],
    ),
  );
  return stated.flatMap((one) => {
    const { kind, key, revision, body } = one;
    const isApproved = approvalStanding(one, statements).approvedAt !== null;
    const isOfDay = Date.parse(body.validFrom) <= now.getTime() && now.getTime() < Date.parse(body.validUntil);
    return isApproved && isOfDay && !withdrawn.has(`${kind} ${key} ${revision}`) ? [body] : [];
  });
}

export const recipeKey = (recipe: string, revision: number): string => `${recipe}:${revision}`;

/** Every revision of some recipes, by `recipeKey`. */
export async function recipesNamed(read: Reads, recipes: readonly string[]): Promise<Map<string, Recipe>> {
  const names = [...new Set(recipes)].sort().map((key) => ['recipe', key] as const);
  const found = await read.entries.revisionsOf(names);
  return new Map(found.map(({ body }) => [recipeKey(body.recipe, body.revision), body]));
}

function valuesOf(characteristic: string, { contexts }: HistorySums): ContextValues[] {
  return contexts.flatMap(({ context: text, n, mean, sumSquaredDeviations, min, max }) =>
    n === 0
      ? []
      : [
          {
            ...{ characteristic, context: contextOf(text), text, n, mean: mean! },
            ...{ sumSquaredDeviations: sumSquaredDeviations!, min: min!, max: max! },
          },
        ],
  );
}

function longestExposures(values: readonly ContextValues[]): Exposed[] {
  const found = new Map<string, Exposed>();
  for (const { context } of values) {
    const { exposed, zoneClass } = context;
    if (exposed === undefined) continue;
    const { medium, mediumRevision, hours } = exposed;
    const key = JSON.stringify([zoneClass, medium, mediumRevision]);
    const known = found.get(key);
    if (known === undefined || known.hours < hours) found.set(key, { zoneClass, medium, mediumRevision, hours });
  }
  return [...found].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, one]) => one);
}

const uniqueNames = (all: readonly { readonly kind: string; readonly key: string }[]) => [
  ...new Map(all.map(({ kind, key }) => [`${kind} ${key}`, { kind, key }])).values(),
];
