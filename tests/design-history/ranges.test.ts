import { settingsOfClass, statedWindow } from '../../src/design-history/axes.js';
import { placeOf } from '../../src/design-history/ranges.js';
import { type ContextValues, type RecipeRevision, shownSettings } from '../../src/design-history/shown-settings.js';
import { standBeside } from '../../src/design-history/standing-place.js';
import { canonicalJson } from '../../src/dossier/canonical.js';
import { moments } from '../../src/statistics/summary.js';

type Steps = RecipeRevision['body']['zones'][number]['steps'];

const recipe = (
  name: string,
  power: string,
  force: string,
  more: { ucum?: string; second?: string } = {},
): RecipeRevision => {
  const zone = (code: string, set: string) => ({
    ...{ zone: code, title: code, class: 'load-bearing', layers: { from: 1, to: 4 } },
    steps: [
      {
        step: 'deposit',
        everyLayers: 1,
        parameters: [{ parameter: 'laser power', set, ucum: more.ucum ?? 'W' }],
        windows: [],
      },
      { step: 'peen', everyLayers: 2, parameters: [{ parameter: 'force', set: force, ucum: 'N' }], windows: [] },
    ] as Steps,
  });
  const zones = [zone('span', power), ...(more.second === undefined ? [] : [zone('rim', more.second)])];
  return { recipe: name, revision: 1, body: { zones } };
};

const valuesOf = (name: string, given: readonly number[], more: object = {}): ContextValues => {
  const context = {
    ...{ machine: 'M1', recipe: name, recipeRevision: 1, recipeGroup: 'plates', method: 'TM', methodRevision: 1 },
    ...{ ucum: 'MPa', zoneClass: 'load-bearing', ...more },
  };
  const { n, mean, sumSquares, min, max } = moments(given);
  return {
    ...{ characteristic: 'rm', context, text: canonicalJson(context), n, mean },
    ...{ sumSquaredDeviations: sumSquares, min, max },
  };
};

const TRIANGLE = [recipe('A', '280', '35'), recipe('B', '320', '35'), recipe('C', '280', '45')];
const VALUES = [valuesOf('A', [230, 232]), valuesOf('B', [228, 229, 231]), valuesOf('C', [235])];

/** Where a recipe lies beside what others gave. */
const standing = (recipes: readonly RecipeRevision[], values: readonly ContextValues[], asked: RecipeRevision) => {
  const demanded = settingsOfClass(asked.body, 'load-bearing');
  if (!('stated' in demanded)) throw new Error(demanded.why);
  return standBeside(shownSettings(values, recipes, []).settings, demanded.stated);
};

it.each([
  { name: 'one that was run', asked: recipe('X', '280', '45'), outcome: 'shown' },
  { name: 'one between those that were run', asked: recipe('X', '290', '37'), outcome: 'inside' },
  { name: 'one on the line between two', asked: recipe('X', '300', '40'), outcome: 'inside' },
  { name: 'one whose values were run, but not together', asked: recipe('X', '319', '44'), outcome: 'in ranges only' },
  { name: 'one beyond', asked: recipe('X', '321', '36'), outcome: 'outside' },
  { name: 'the same in another unit', asked: recipe('X', '0.29', '37', { ucum: 'kW' }), outcome: 'inside' },
  { name: 'a unit of something else', asked: recipe('X', '290', '37', { ucum: 'mm' }), outcome: 'not comparable' },
])('of three recipes, $name: $outcome', ({ asked, outcome }) => {
  expect(standing(TRIANGLE, VALUES, asked).outcome).toBe(outcome);
});

it('says both of the ranges and of the hull, how many dimensions were spanned, and what was nearest and how far', () => {
  const { place } = standing(TRIANGLE, VALUES, recipe('X', '300', '45'));
  expect(place).toMatchObject({ isInRanges: true, isInHull: false, points: 3, varied: 2, dimension: 2 });
  // By hand: from C half of the range of 40 W, and nothing of 10 N.
  expect(place!.near[0]).toEqual({ point: 1, distance: 0.5 });
  expect(place!.near.map(({ distance }) => distance)).toEqual([0.5, 1.11803399, 1.11803399]);
});

it('puts values together as two passes over all of them do', () => {
  const more = valuesOf('A', [225, 240, 233], { recipeGroup: 'others' });
  const [shown] = shownSettings([...VALUES, more], TRIANGLE, []).settings;
  const { n, mean, sd, min, max } = moments([230, 232, 225, 240, 233]);
  const first = shown!.points[0]!.values[0]!;
  expect(first).toMatchObject({ n, min, max });
  expect(first.mean).toBeCloseTo(mean, 6);
  expect(first.sd).toBeCloseTo(sd, 6);
  expect(shown!.points[1]!.values[0]!.sd).toBeNull();
});

it('says so where settings were never varied, or only together', () => {
  const one = standing([TRIANGLE[0]!], [VALUES[0]!], recipe('X', '281', '35'));
  expect(one.outcome).toBe('outside');
  expect(one.place).toMatchObject({ points: 1, varied: 0, dimension: 0 });
  expect(one.place!.near[0]!.distance).toBe(0);
  const line = [recipe('A', '280', '35'), recipe('B', '300', '40'), recipe('C', '320', '45')];
  expect(standing(line, VALUES, recipe('X', '300', '41'))).toMatchObject({
    outcome: 'in ranges only',
    place: { varied: 2, dimension: 1 },
  });
  expect(standing(line, VALUES, recipe('X', '310', '42.5')).outcome).toBe('inside');
});

it('compares nothing with recipes of other settings, other classes or other machines', () => {
  const asked = recipe('X', '290', '37');
  const more = structuredClone(asked.body.zones);
  more[0]!.steps[0]!.parameters.push({ parameter: 'scan speed', set: '8', ucum: 'mm/s' });
  const found = standing(TRIANGLE, VALUES, { ...asked, body: { zones: more } });
  expect(found.outcome).toBe('not comparable');
  expect(found.onlyDemanded).toEqual([{ of: 'setting', zoneClass: '', step: 'deposit', parameter: 'scan speed' }]);
  expect(standBeside([], []).outcome).toBe('nothing shown');
  const two = shownSettings([...VALUES, valuesOf('A', [1], { machine: 'M2' })], TRIANGLE, []).settings;
  expect(two.map(({ machine, points }) => [machine, points.length])).toEqual([
    ['M1', 3],
    ['M2', 1],
  ]);
});

it('leaves out, and counts, values whose recipe is not on record or sets zones of one class differently', () => {
  const twice = recipe('D', '280', '35', { second: '300' });
  const found = shownSettings([valuesOf('D', [1, 2]), valuesOf('E', [3])], [twice], []);
  expect(found.settings).toEqual([]);
  expect(found.leftOut.map(({ recipe: of, why, values }) => [of, why, values])).toEqual([
    ['D', 'differs within', 2],
    ['E', 'recipe not on record', 1],
  ]);
});

it('tells values of other methods, media and durations apart, and durations that are one together', () => {
  const exposed = (hours: number, medium = 'HBSS') => ({
    exposed: { medium, mediumRevision: 1, hours, face: 'milled', temperatureC: 37 },
  });
  const [shown] = shownSettings(
    [336, 340, 672]
      .map((hours) => valuesOf('A', [0.2], exposed(hours)))
      .concat(valuesOf('A', [0.3], exposed(336, 'PBS'))),
    TRIANGLE,
    [],
  ).settings;
  expect(shown!.measured.map((one) => [one.exposed!.medium, one.exposed!.hours])).toEqual([
    ['HBSS', 336],
    ['HBSS', 672],
    ['PBS', 336],
  ]);
  expect(shown!.points[0]!.values.map((one) => one!.n)).toEqual([2, 1, 1]);
});

it('tells the validated range of a setting beside it, of its own machine and class', () => {
  const range = { step: 'deposit', parameter: 'laser power', ucum: 'W', min: '270', max: '330' } as const;
  const validation = {
    machine: 'M1',
    validation: 'PV',
    revision: 2,
    envelope: [range, { ...range, zoneClass: 'skin', max: '1' }],
  };
  const [shown] = shownSettings(VALUES, TRIANGLE, [validation, { ...validation, machine: 'M2' }]).settings;
  const power = shown!.axes.find(({ axis }) => axis.parameter === 'laser power')!;
  expect(power.validated).toEqual([{ min: '270', max: '330', validation: 'PV', revision: 2 }]);
});

/** Recipes on a coarse grid at a fixed seed. */
function someRecipes(): { recipes: RecipeRevision[]; values: ContextValues[]; asked: RecipeRevision }[] {
  let state = 11;
  const next = (below: number) => {
    state = (state * 1103515245 + 12345) % 2147483648;
    return Math.floor((state / 2147483648) * below);
  };
  const any = (name: string) => recipe(name, String(280 + 5 * next(9)), String(30 + next(9)));
  return Array.from({ length: 60 }, () => {
    const recipes = Array.from({ length: 1 + next(7) }, (_, index) => any(`R${index}`));
    return { recipes, values: recipes.map(({ recipe: name }) => valuesOf(name, [230 + next(9)])), asked: any('X') };
  });
}

it('says the same whatever the order of lots and the units of recipes', () => {
  for (const { recipes, values, asked } of someRecipes()) {
    const found = standing(recipes, values, asked);
    expect(standing([...recipes].reverse(), [...values].reverse(), asked)).toEqual(found);
    const inKilowatts = recipes.map(({ recipe: name, body }) => {
      const [deposit, peen] = body.zones[0]!.steps;
      const set = String(Number(deposit!.parameters[0]!.set) / 1000);
      return recipe(name, set, peen!.parameters[0]!.set, { ucum: 'kW' });
    });
    const { outcome, place } = standing(inKilowatts, values, asked);
    expect({ outcome, near: place!.near }).toEqual({ outcome: found.outcome, near: found.place!.near });
  }
});

it('a further lot never puts outside what was inside', () => {
  const rank = {
    'nothing shown': 0,
    'not comparable': 0,
    outside: 1,
    'in ranges only': 2,
    inside: 3,
    shown: 4,
  } as const;
  const seen = new Set<string>();
  for (const { recipes, values, asked } of someRecipes()) {
    let before = 0;
    for (let count = 1; count <= recipes.length; count++) {
      const { outcome } = standing(recipes.slice(0, count), values.slice(0, count), asked);
      expect(rank[outcome]).toBeGreaterThanOrEqual(before);
      before = rank[outcome];
      seen.add(outcome);
    }
  }
  expect([...seen].sort()).toEqual(['in ranges only', 'inside', 'outside', 'shown']);
});

it('places windows with the sections that have to hold for them', () => {
  const window = (weeks: number, sizeMm: string) =>
    statedWindow({ holdWeeks: weeks, strengthLeft: '0.6' }, { shape: 'plate', sizeMm }).map(({ value }) => value);
  expect(window(12, '1.5')).toEqual(['12', '0.6', '1.5']);
  const place = placeOf([window(12, '1.5'), window(8, '1.2')], window(10, '1.3'))!;
  expect(place).toMatchObject({ isInRanges: true, isInHull: false, varied: 2, dimension: 1 });
  expect(placeOf([], window(10, '1.3'))).toBeUndefined();
});
