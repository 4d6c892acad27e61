import fs from 'node:fs';
import path from 'node:path';
import { supportWindows } from '../../src/assessment/support-windows.js';
import { EXPOSURE_SHEET, PLATES, WINDOW_LOT } from '../../src/qualification/windows/window-lot.js';
import { windowTables } from '../../src/report/support-window-rows.js';
import { checkEvidence } from '../../src/verify/check-evidence.js';
import { Steps } from '../../src/verify/report.js';
import { withChangedByte } from '../support/changed-byte.js';
import { playedDemo } from '../support/played-demo.js';
import { textsOf } from '../support/scenes.js';
import { openServices, type Services } from '../support/services.js';

/** Plates of which the support windows decide: one coupon for each class of zones, three cases that ask differently. */
let services: Services;
beforeAll(async () => {
  const { result } = await playedDemo();
  services = await openServices(result.folder);
});
afterAll(() => services.store.close());

const lot = async () => (await services.current.of(WINDOW_LOT))!;

it('conforms where it heals fast, does not where it heals slowly, and is open where nothing lay in the medium so long', async () => {
  const { assessment } = await lot();
  expect(assessment.units.map(({ serial, verdict }) => [serial, verdict])).toEqual([
    [PLATES[0], 'conforms'],
    [PLATES[1], 'does not conform'],
    [PLATES[2], 'cannot be decided'],
  ]);
  // Nothing but the windows keeps any of them.
  const open = assessment.checks.filter(({ outcome }) => outcome !== 'passes' && outcome !== 'does not apply');
  expect(open.map(({ code }) => code)).toEqual(['support-window-met']);
  expect(assessment.checks.find(({ code }) => code === 'exposures-stand')).toMatchObject({
    ...{ outcome: 'passes', basis: { specimens: '2', values: '4' } },
  });
});

it('tells it zone by zone: the same coupon meets one window and misses another, and a zone holds beside one that does not', async () => {
  const { windows } = windowTables((await lot()).facts)!;
  const told = windows.map(({ cells }) => [cells[0], cells[4]!.split(';')[0], cells[6]]);
  const [span, ring] = ['RW501-1', 'RW501-2'];
  expect(told).toEqual([
    ['RP-501-1, span', 'inside', span],
    ['RP-501-1, eyelet', 'inside', ring],
    ['RP-501-2, span', 'outside', span],
    ['RP-501-2, eyelet', 'inside', ring],
    ['RP-501-3, span', 'inside', span],
    ['RP-501-3, eyelet', 'cannot be decided', ring],
  ]);
  expect(windows.map(({ cells }) => cells[5])).toEqual([
    ...[
      'at least 6 weeks more',
      'at least 6 weeks more',
      expect.stringMatching(/^known to hold for [5-7] of 12 weeks$/),
    ],
    ...['at least 4 weeks more', 'at least 6 weeks more', 'known to hold for 12 of 20 weeks'],
  ]);
  expect(windows.at(-1)!.cells[4]).toBe('cannot be decided; longest exposure 12 weeks');
});

it('is what the page for prescribers works through, number by number', async () => {
  const { facts } = await lot();
  const page = fs.readFileSync(path.join(import.meta.dirname, '../../docs/support-window.md'), 'utf8');
  const table = page.split('\n').filter((line) => line.startsWith('| RP-501-'));
  const { windows } = windowTables(facts)!;
  const told = windows.map(({ cells, outcome }) => {
    const [zone, asked, strength, stiffness, , margin] = cells;
    return `| ${[zone, asked!.replace('; stated for the case', ''), strength, stiffness, outcome, margin].join(' | ')} |`;
  });
  expect(table).toEqual(told);
  // One row by hand: W / (A D) on each face, and what a plate of 1.5 mm keeps of t² and t³ (docs/formulas.md, residual-section).
  const { massG, areaCm2, densityGPerCm3, deepestUm } = facts.exposures.get('RW501-1:D1:1')!.body;
  const lostG = Number(massG!.before) - Number(massG!.afterCleaning) - Number(massG!.blankLoss);
  const depthUm = (1e4 * lostG) / (Number(areaCm2) * Number(densityGPerCm3));
  expect([lostG.toFixed(5), depthUm.toFixed(1), (Number(deepestUm) / depthUm).toFixed(1)]).toEqual([
    ...['0.00587', '13.6', '1.6'],
  ]);
  const [, , slow] = supportWindows(facts);
  const pitUm = slow!.loss!.at(2016)!.depthUm * slow!.localisation!.factor;
  expect(pitUm).toBeCloseTo(86, 0);
  const kept = 1 - (2 * pitUm) / 1500;
  expect([100 * kept ** 2, 100 * kept ** 3].map((value) => value.toFixed(0))).toEqual(['78', '69']);
  for (const words of ['0.00587 g were lost', '13.6 µm in two weeks', 'pits are 86 µm deep'])
    expect(page).toContain(words);
});

it('shows the settings of each zone beside what was measured there, and iron beside the tip that touched it', async () => {
  const { zones, metals } = windowTables((await lot()).facts)!;
  expect(zones.map(({ caption }) => caption)).toEqual(
    PLATES.map((serial) => `Zones of ${serial}: settings, and what was measured there`),
  );
  const [span, eyelet] = zones[0]!.rows;
  expect(span![1]).toContain('peening, every 4 layers, needle force 45 N');
  expect(span![2]).toMatch(/^RW501-1: 5\d(\.\d)? µm in 12 weeks, 0\.2\d+ mm\/year$/);
  expect(span![3]).toMatch(/^Tensile strength \d+\.\d, \d+\.\d MPa$/);
  expect(span![4]).toBe('Iron on the peened surface 0.0048 %; touched by tip TIP-5 of steel-tip, 8 uses');
  expect(eyelet!.slice(3, 5)).toEqual([expect.stringMatching(/^Tensile strength, rings /), 'not measured']);
  expect(textsOf(zones[1]!.figure.scene)).toContain('eyelet (screw-hole), 8 weeks: inside; at least 4 weeks more');
  expect(metals).toEqual([]);
});

it('computes its rates from a sheet, of which verify names one changed byte', async () => {
  const { facts } = await lot();
  const rates = facts.results.filter(({ file }) => file === EXPOSURE_SHEET);
  expect(rates.map(({ specimen, piece }) => `${specimen} ${piece}`)).toEqual([
    ...['RW501-1 D7', 'RW501-1 D8', 'RW501-2 D7', 'RW501-2 D8'],
  ]);
  expect(facts.exposures.size).toBe(16);
  const sheet = facts.dossier.evidence.find(({ fileName }) => fileName === 'immersion.csv')!;
  const steps = new Steps();
  await checkEvidence(facts, withChangedByte(services.store.folder.evidence, sheet.sha256), steps);
  expect(steps.list.filter(({ outcome }) => outcome === 'does not hold')).toEqual([
    expect.objectContaining({ step: 'evidence', facts: { files: ['immersion.csv'] } }),
  ]);
});
