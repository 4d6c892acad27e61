import type { NestExpressApplication } from '@nestjs/platform-express';
import { canonicalJson } from '../../src/dossier/canonical.js';
import { CurrentAssessments } from '../../src/lots/current-assessments.js';
import { ShownRanges } from '../../src/lots/ranges/shown-ranges.js';
import { createApplication } from '../../src/main.js';
import { moments } from '../../src/statistics/summary.js';
import { addDesigns } from '../support/documents/designs.js';
import { runCommand } from '../support/run-command.js';
import { askingAs } from '../support/service.js';
import { SigningCell } from '../support/signing-cell.js';

/** Recipes of other lots by laser power and peening force; the cases of the cell ask for 300 W and 40 N. */
const OTHERS = { RA: ['280', '35'], RB: ['320', '35'], RC3: ['300', '50'] } as const;
/** Values of lots, invented. */
const MADE = [
  ['L-A1', 'RA', [230, 231]],
  ['L-A2', 'RA', [233, 229, 228]],
  ['L-B1', 'RB', [226, 227]],
  ['L-C1', 'RC3', [236, 238]],
] as const;
const CASE = 'K-101-1';

let cell: SigningCell;
let ranges: ShownRanges;
let app: NestExpressApplication;

beforeAll(async () => {
  cell = await SigningCell.open((made) => {
    addDesigns(made, 'L-1', null);
    for (const [recipe, [power, force]] of Object.entries(OTHERS)) {
      const document = structuredClone(made.documents['site/recipe.yaml']!);
      Object.assign(document, { recipe, revision: 1 });
      document.zones[0].steps[0].parameters[0].set = power;
      document.zones[0].steps[1].parameters[0].set = force;
      made.documents[`site/recipes/${recipe}.yaml`] = document;
    }
  });
  const { store } = cell.services;
  ranges = new ShownRanges(store, new CurrentAssessments(store));
  app = await createApplication(store);
});
afterAll(async () => {
  await app.close();
  await cell.close();
});

/** Puts lots into the history as assessing them would. */
async function addLots(made: readonly (typeof MADE)[number][]): Promise<void> {
  for (const [lot, recipe, values] of made) {
    const { n, mean, sumSquares, min, max } = moments(values);
    const context = canonicalJson({
      ...{ machine: 'M1', recipe, recipeRevision: 1, recipeGroup: 'plates', method: 'TM-T', methodRevision: 1 },
      ...{ ucum: 'MPa', zoneClass: 'load-bearing' },
    });
    const row = {
      ...{ family: 'PLATE', characteristic: 'rm', build: `B-${lot}`, builtAt: '2031-02-03T08:00:00+01:00', context },
      ...{ n, mean, sumSquaredDeviations: sumSquares, min, max, censored: 0, takenOut: [], beside: {} },
      values: values.map((value, index): [string, string, number, number] => ['S', '', index + 1, value]),
    };
    await cell.services.store.change('local:tester', (change) => change.histories.add(lot, '0'.repeat(64), [row]));
  }
}

const settingsOf = async () => (await ranges.ofCase(CASE)).parts.find(({ about }) => about === 'settings')!;

it('says that nothing was shown before the first lot was assessed', async () => {
  expect((await ranges.ofFamily('PLATE')).settings).toEqual([]);
  const { outcome, toShow } = await settingsOf();
  expect(outcome).toBe('nothing shown');
  expect(toShow).toHaveLength(1);
});

it('tells first-pass values by setting with their spread, and brings a case from outside into the hull lot by lot', async () => {
  await addLots(MADE.slice(0, 3));
  expect(await settingsOf()).toMatchObject({ outcome: 'outside', isInRanges: false, isInHull: false, varied: 1 });
  await addLots(MADE.slice(3));
  const found = await settingsOf();
  expect(found).toMatchObject({
    outcome: 'inside',
    isInRanges: true,
    isInHull: true,
    points: 3,
    varied: 2,
    dimension: 2,
  });
  expect(found.toShow).toEqual([]);
  expect(found.near.map(({ lots }) => [...lots].sort())).toEqual([['L-A1', 'L-A2'], ['L-B1'], ['L-C1']]);
  // By hand: half of the range of 40 W, and a third of that of 15 N; 10 of 15 N from the third.
  expect(found.near[0]!.distance).toBeCloseTo(Math.hypot(20 / 40, 5 / 15), 8);
  expect(found.near[2]!.distance).toBeCloseTo(10 / 15, 8);
  const { settings } = await ranges.ofFamily('PLATE');
  const [first] = settings[0]!.points;
  const { mean, sd } = moments([230, 231, 233, 229, 228]);
  expect(first!.recipes).toEqual([{ recipe: 'RA', revision: 1 }]);
  expect(first!.values[0]).toMatchObject({ n: 5, lots: 2, builds: 2, min: 228, max: 233 });
  expect(first!.values[0]!.mean).toBeCloseTo(mean, 6);
  expect(first!.values[0]!.sd).toBeCloseTo(sd, 6);
  const power = settings[0]!.axes.find(({ name }) => name.includes('laser power'));
  expect(power).toMatchObject({ min: '280', max: '320', distinct: 3, validated: [{ min: '280', max: '320' }] });
});

it('compares designs with those of lots that were built', async () => {
  const { parts } = await ranges.ofCase(CASE);
  const design = parts.find(({ about }) => about === 'design');
  // Its own lot was built.
  expect(design).toMatchObject({ outcome: 'shown', near: [{ lots: ['L-1'], distance: 0 }] });
});

it('tells it by command, for people and programs, and refuses what does not go together', async () => {
  const design = (...words: string[]) => runCommand(cell.folder.path, ['design', ...words]);
  const family = await design('PLATE', '--ranges');
  expect(family.code).toBe(0);
  expect(family.text).toContain('280 to 320 W; 280 to 320 W by PV revision 1');
  expect(family.text).toContain('n 5 of 2 lots');
  const of = await design('PLATE', '--ranges', '--case', CASE);
  expect(of.text).toContain('Settings of load-bearing zones: inside what was shown');
  expect(of.text).toContain('no recommendation for a patient');
  const { text } = await runCommand(cell.folder.path, ['--json', 'design', 'PLATE', '--ranges', '--case', CASE]);
  expect(JSON.parse(text)).toMatchObject({ case: CASE, family: 'PLATE', machine: 'M1' });
  expect(await design('PLATE', '--case', CASE)).toMatchObject({ code: 2 });
  expect(await design('PLATE', '--ranges', '--as-of', '2031-03-01')).toMatchObject({ code: 2 });
  expect(await design('PLATE', '--ranges', '--case', 'K-9')).toMatchObject({ code: 7 });
  expect(await design('SCREW', '--ranges')).toMatchObject({ code: 7 });
  expect((await design('PLATE', '--ranges', '--freeze', 'B-9')).code).toBe(2);
});

it('shows it on its page, on that of the case, and to programs', async () => {
  const ask = await askingAs(app, 'P-QE');
  const page = await ask.get(`/design/ranges?family=PLATE&case=${CASE}`);
  expect(page.status).toBe(200);
  for (const words of [
    'no recommendation for a patient',
    'All together in the convex hull: yes',
    'Nearest lots',
    '<svg',
  ]) {
    expect(page.text).toContain(words);
  }
  expect((await ask.get('/design/ranges?family=PLATE')).text).toContain('Where does this case lie?');
  expect((await ask.get(`/find?id=case:${CASE}`)).text).toContain(`/design/ranges?family=PLATE&amp;case=${CASE}`);
  expect((await ask.get('/api/v1/design/ranges?family=PLATE')).body.settings).toHaveLength(1);
  expect((await ask.get(`/api/v1/design/case-ranges?case=${CASE}`)).body).toMatchObject({ case: CASE });
  expect((await ask.get('/design/ranges?family=SCREW')).status).toBe(404);
  expect((await ask.get(`/design/ranges?family=SCREW&case=${CASE}`)).status).toBe(400);
});
