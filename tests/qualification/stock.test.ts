import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { BadInputError } from '../../src/base/errors.js';
import { STOCK_ACTS, STOCK_SCAN } from '../../src/qualification/stock/stock-lot.js';
import { BAR, meshOf, RIDGE } from '../../src/qualification/stock/stock-shapes.js';
import { measureChange } from '../../src/shape/measure-change.js';
import { measureShape } from '../../src/shape/measure-shape.js';

/** Not quick: it measures the scans of the demo. */

const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'ridge-'));
afterAll(() => fs.rmSync(folder, { recursive: true }));
const file = (name: string, text: string) => {
  fs.writeFileSync(path.join(folder, name), text);
  return { path: path.join(folder, name), name };
};
const model = () => ({ file: file('model.stl', meshOf('model', [BAR, RIDGE])), mm: 1 });
const stock = () => ({ file: file('bar.stl', meshOf('bar', [BAR])), mm: 1 });
const points = (name: string, text: string) => ({ file: { ...file(name, text), form: 'ply' as const }, mm: 1 });

it('tells the ridge of the demo apart from its bar, both within what is asked', async () => {
  const zones = [{ zone: 'span', box: [2, 1, 2.5, 18, 6, 6], outsideMm: 0.1 }];
  const { asGiven } = await measureShape({
    ...{ points: points('built.ply', STOCK_SCAN), mesh: model(), stock: stock(), zones, judged: 'as given' },
  });
  const [ridge, bar] = [asGiven.zones[0]!, asGiven.stock![0]!];
  expect([ridge.outside, bar.outside]).toEqual([0, 0]);
  expect(ridge.meanMm).toBeGreaterThan(bar.meanMm);
  expect(ridge.scannedShare).toBeGreaterThan(0.7);
});

it('compares the bar of the demo before and after', async () => {
  const { texts } = STOCK_ACTS.at(-1)!.files();
  const bare = texts['lots/B-2026-01/scans/bare.ply']!;
  const laid = (name: string, text: string) => ({ points: points(name, text), judged: 'as given' as const });
  const { change, comparedShare } = await measureChange({
    ...{ before: laid('bare.ply', bare), after: laid('built.ply', STOCK_SCAN), stock: stock(), design: model() },
  });
  expect(comparedShare).toBeGreaterThan(0.9);
  expect(Math.abs(change!.worst.deviationMm)).toBeLessThan(0.04);
});

it('refuses the scan of the demo mirrored, and says along which axis', async () => {
  const [head, body] = STOCK_SCAN.split('end_header\n');
  const rows = body!
    .trim()
    .split('\n')
    .map((row) => row.replace(/^\S+/, (x) => (30 - Number(x)).toFixed(4)));
  const mirrored = points('mirrored.ply', `${head}end_header\n${rows.join('\n')}\n`);
  const error = await measureShape({
    ...{ points: mirrored, mesh: model(), zones: [], judged: 'as given' },
  }).catch((raised: unknown) => raised);
  expect(error).toBeInstanceOf(BadInputError);
  const [problem] = (error as BadInputError).problems;
  expect(problem).toMatchObject({ code: 'shape-mirrored', file: 'mirrored.ply' });
  expect(problem!.found).toMatch(/when mirrored along [xyz]/);
});
