import path from 'node:path';
import { revisionKey } from '../../src/dossier/facts.js';
import { readSidecars } from '../../src/intake/log-sidecars.js';
import { readFolder } from '../../src/intake/read-folder.js';
import type { Recipe } from '../../src/kinds/recipe.js';
import { planFromRecipe } from '../../src/process-logs/plan-from-recipe.js';
import { scanFile } from '../../src/process-logs/scan-stream.js';
import { sidecarsOf } from '../../src/process-logs/units-sidecar.js';
import { type Cell, makeCell, writeCell } from '../support/cell.js';

/** A lot folder whose log has its units in a sidecar: from the folder to the scan, and again from the facts of the scan. */

const LOT = 'lots/L-1/lot.yaml';
const SIDECAR = 'lots/L-1/logs/run.units.yaml';

function cellWithSidecar(ucum: string): Cell {
  const cell = makeCell();
  const { log } = cell.documents[LOT]!.builds[0];
  log.channels = [{ channel: 'oxygen' }];
  log.units = 'logs/run.units.yaml';
  cell.files[SIDECAR] = `kind: log-units\nformat: 1\nchannels:\n  - { channel: oxygen, ucum: '${ucum}' }\n`;
  return cell;
}

async function readCell(cell: Cell) {
  const { lots, site } = await readFolder(writeCell(cell));
  const folder = lots[0]!;
  const recipes = site.map(({ document }) => document).filter(({ kind }) => kind.kind === 'recipe');
  const byRevision = new Map(
    recipes.map(({ body }) => [revisionKey((body as Recipe).recipe, (body as Recipe).revision), body as Recipe]),
  );
  return { folder, recipes: byRevision, build: folder.lot.builds[0]! };
}

it('takes the units of a log from its sidecar, keeps the sidecar as evidence, and can do without it afterwards', async () => {
  const { folder, recipes, build } = await readCell(cellWithSidecar('%'));
  expect(folder.files.map(({ use, name }) => [use, path.posix.basename(name)])).toContainEqual([
    'units of a log',
    'run.units.yaml',
  ]);
  const log = folder.files.find(({ use }) => use === 'log')!;
  const request = { path: log.path, fileName: build.log!.file };
  const plan = planFromRecipe(folder.lot, build, recipes, readSidecars(folder, 0));
  const { facts, part, summaries } = await scanFile({ ...request, plan });
  expect(facts.channels).toEqual([
    { channel: 'oxygen', ucum: '[ppm]', loggedUcum: '%', unitFrom: ['sidecar'], factor: 10_000, offset: 0 },
  ]);
  expect(facts.clockOffsetMs).toBe(0);
  // The log says 8 throughout, which is 80 000 ppm: far above every level.
  expect(summaries[0]).toMatchObject({ ucum: '[ppm]', max: '80000' });
  expect(part.findings.some(({ level }) => level === 'reject')).toBe(true);

  const again = planFromRecipe(folder.lot, build, recipes, sidecarsOf([facts]));
  expect(again).toEqual(plan);
  expect((await scanFile({ ...request, plan: again })).part).toEqual(part);
});

it('refuses a sidecar with an unknown unit, with its line', async () => {
  await expect(readCell(cellWithSidecar('percent'))).rejects.toThrow(/run\.units\.yaml:4, oxygen: found percent/);
});

it('refuses a log whose unit nobody states', async () => {
  const cell = cellWithSidecar('%');
  delete cell.documents[LOT]!.builds[0].log.units;
  const { folder, recipes, build } = await readCell(cell);
  const log = folder.files.find(({ use }) => use === 'log')!;
  const plan = planFromRecipe(folder.lot, build, recipes, readSidecars(folder, 0));
  await expect(scanFile({ path: log.path, fileName: 'logs/run.csv', plan })).rejects.toThrow(/oxygen: found no unit/);
});
