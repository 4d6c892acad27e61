import path from 'node:path';
import { BadInputError } from '../../src/base/errors.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { checkEvidence } from '../../src/verify/check-evidence.js';
import { Steps } from '../../src/verify/report.js';
import { type Cell, makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { withChangedByte } from '../support/changed-byte.js';
import { addExposures } from '../support/documents/exposures.js';
import { openServices, type Services } from '../support/services.js';

const SHEET = 'lots/L-1/exposures/immersion.csv';
type Row = Record<string, string>;

const fresh = () =>
  openServices(DataFolder.createDemo(path.join(temporaryFolder('data'), 'data'), '2031-12-01T12:00:00Z'));

function cellWith(change: (rows: Row[], cell: Cell) => void = () => {}): string {
  const cell = makeCell();
  addExposures(cell);
  change(cell.sheets[SHEET]!, cell);
  return writeCell(cell);
}

describe('sheets of exposures', () => {
  let services: Services;
  beforeAll(async () => {
    services = await fresh();
    await services.intake.run(cellWith(), 'local:tester');
  });
  afterAll(() => services.store.close());

  const rates = async () =>
    (await services.store.read.results.ofLot('L-1')).rows.filter(({ characteristic }) => characteristic === 'rate');

  it('become a document for each row, and a result for each of the duration that the method asks', async () => {
    const stored = await services.store.read.entries.current('exposure', 'L-1-W1:A:1');
    expect(stored?.body).toMatchObject({
      ...{ specimenIs: 'coupon', instruments: ['I-MIC'], evidence: { file: 'exposures/immersion.csv', line: 2 } },
    });
    expect(await services.store.read.entries.current('exposure', 'L-1-W2:C:1')).toBeDefined();
    const found = await rates();
    expect(found.map(({ specimen, piece }) => [specimen, piece])).toEqual([
      ['L-1-W1', 'A'],
      ['L-1-W2', 'A'],
    ]);
    // 87600 W / (A T D): before less after in g over 5.652 cm², 336 h and 1.84 g/cm³.
    const lost = 1.9234 - Number((1.9234 - 20e-4 * 5.652 * 1.84).toFixed(5));
    const rate = (87600 * lost) / (5.652 * 336 * 1.84);
    expect(Number(found[0]!.value)).toBeCloseTo(rate, 5);
    // Two weighings of 0.02 mg, area, time and density, by first order (JCGM 100:2008 5.1.2).
    const parts = [(0.00002 * Math.SQRT2) / lost, 0.02 / 5.652, 0.1 / 336, 0.005 / 1.84];
    expect(Number(found[0]!.standardUncertainty)).toBeCloseTo(rate * Math.hypot(...parts), 7);
    expect(found[0]).toMatchObject({
      ...{ file: 'exposures/immersion.csv', line: '2', analyst: 'P-AN', enteredBy: 'P-OP', checkedBy: 'P-QE' },
      ...{ startedAt: '2031-03-05T09:00:00+01:00', reportedUcum: 'mm/a', instrument: 'I-MIC' },
    });
  });

  it('give a result without an uncertainty where the area is known to no bound, and are assessed', async () => {
    const other = await fresh();
    try {
      const hardly = cellWith((rows) => {
        rows[0]!['uncertainty.areaCm2'] = '4';
      });
      await other.intake.run(hardly, 'local:tester');
      const { rows } = await other.store.read.results.ofLot('L-1');
      const [first, second] = rows.filter(({ characteristic }) => characteristic === 'rate');
      expect(first!.standardUncertainty).toBe('');
      expect(Number(second!.standardUncertainty)).toBeGreaterThan(0);
      const { facts } = await other.assessor.assess('L-1', 'local:tester');
      expect(facts.exposures.size).toBe(6);
    } finally {
      await other.store.close();
    }
  });

  it('change nothing when they are taken in again, and what changes needs a reason', async () => {
    const again = await services.intake.run(cellWith(), 'local:tester');
    expect(again.documents).toEqual([]);
    const wrong = (rows: Row[]) => {
      rows[0]!['massG.afterCleaning'] = '1.90200';
    };
    await expect(services.intake.run(cellWith(wrong), 'local:tester')).rejects.toThrow(BadInputError);
    const corrected = cellWith((rows) => {
      wrong(rows);
      for (const row of rows) row.reason = '';
      rows[0]!.reason = 'a digit was misread';
    });
    const { documents, results } = await services.intake.run(corrected, 'local:tester');
    expect(documents).toEqual([{ kind: 'exposure', key: 'L-1-W1:A:1', revision: 2 }]);
    expect(results.corrections).toBe(1);
    expect((await rates()).map(({ status }) => status)).toEqual(['corrected', 'current', 'current']);
  });

  it('are parts of the lot file, with the sheet as evidence, of which verify names one changed byte', async () => {
    const { facts } = await services.assessor.assess('L-1', 'local:tester');
    expect([...facts.exposures.keys()]).toEqual(
      ['W1:A', 'W1:B', 'W1:C', 'W2:A', 'W2:B', 'W2:C'].map((key) => `L-1-${key}:1`),
    );
    const { evidence } = facts.exposures.get('L-1-W2:C:1')!.body;
    expect(evidence).toEqual({ file: 'exposures/immersion.csv', line: 7 });
    const sheet = facts.dossier.evidence.find(({ fileName }) => fileName === 'immersion.csv')!;
    const steps = new Steps();
    await checkEvidence(facts, withChangedByte(services.store.folder.evidence, sheet.sha256), steps);
    expect(steps.list.filter(({ outcome }) => outcome === 'does not hold')).toEqual([
      expect.objectContaining({ step: 'evidence', facts: { files: ['immersion.csv'] } }),
    ]);
  });
});

it('gives no result of a current alone, and none while an exposure lasts', async () => {
  const services = await fresh();
  const folder = cellWith((rows) => {
    for (const row of rows) {
      for (const name of Object.keys(row)) if (/^(massG|uncertainty|deepestUm)/.test(name)) row[name] = '';
      Object.assign(row, { 'current.uAPerCm2': '25', 'current.equivalentWeight': '12.1525' });
    }
    for (const name of ['to', 'pH.end']) rows[0]![name] = '';
  });
  const { results, documents } = await services.intake.run(folder, 'local:tester');
  expect(documents.filter(({ kind }) => kind === 'exposure')).toHaveLength(6);
  expect(results.recorded).toBe(6);
  await services.store.close();
});

describe('a sheet that is wrong is refused, with line and column', () => {
  let services: Services;
  beforeAll(async () => {
    services = await fresh();
  });
  afterAll(() => services.store.close());

  it.each([
    [
      'a specimen that weighs more afterwards',
      { 'massG.afterCleaning': '1.95' },
      'massG.afterCleaning',
      'contradiction',
    ],
    ['a blank that lost more than it', { 'massG.blankLoss': '0.1' }, 'massG.blankLoss', 'contradiction'],
    ['no area', { areaCm2: '0' }, 'areaCm2', 'field'],
    [
      'gas without its pressure',
      { 'hydrogen.volumeMl': '6.2', 'hydrogen.gasC': '37' },
      'hydrogen.kPa',
      'missing-field',
    ],
    ['a bare volume of gas', { 'hydrogen.volumeMl': '6.2' }, 'hydrogen.gasC', 'missing-field'],
    ['an end before its start', { to: '2031-03-04T09:00:00Z' }, 'to', 'contradiction'],
    ['metal that grows', { 'volumeMm3.before': '10', 'volumeMm3.after': '11' }, 'volumeMm3.after', 'contradiction'],
    ['a mass without its density', { densityGPerCm3: '' }, 'densityGPerCm3', 'contradiction'],
    ['a number that is none', { exposure: 'first' }, 'exposure', 'field'],
    ['a specimen of no lot', { specimen: 'L-9-W1' }, 'specimen', 'unknown-reference'],
    ['another medium than there is', { 'medium.medium': 'PBS' }, 'medium', 'unknown-reference'],
  ])('%s', async (_, cells, field, code) => {
    const folder = cellWith((rows) => {
      for (const row of rows) for (const name of Object.keys(cells)) row[name] ??= '';
      Object.assign(rows[1]!, cells);
    });
    const refused = await services.intake.run(folder, 'local:tester', { check: true }).catch((error) => error);
    expect(refused).toBeInstanceOf(BadInputError);
    expect(refused.problems).toContainEqual(expect.objectContaining({ file: SHEET, line: 3, field, code }));
  });

  it('a batch that was made after it was used, a column that no exposure has, and a typed rate', async () => {
    const folder = cellWith((rows, { documents, sheets }) => {
      documents['site/degradation/batch.yaml']!.inUseFrom = '2031-03-06T08:00:00+01:00';
      for (const row of rows) row.reason = '';
      const [tensile] = sheets['lots/L-1/results/tensile.csv']!;
      sheets['lots/L-1/results/typed.csv'] = [
        { ...tensile!, characteristic: 'rate', value: '0.3', ucum: 'mm/a', method: 'TM-D', replicate: '9' },
      ];
    });
    const { problems } = await services.intake.run(folder, 'local:tester', { check: true }).catch((error) => error);
    expect(problems.map(({ code, field }: { code: string; field: string }) => `${code} ${field}`)).toEqual([
      ...Array.from({ length: 6 }, () => 'contradiction batch'),
      'computed-value characteristic',
    ]);
    const odd = cellWith((rows) => {
      for (const row of rows) row.temperature = '37';
    });
    const refused = await services.intake.run(odd, 'local:tester', { check: true }).catch((error) => error);
    expect(refused.problems).toMatchObject([{ code: 'columns', field: 'temperature', line: 1 }]);
  });

  it('tells everything that is wrong with the rows of all sheets at once', async () => {
    const folder = cellWith((rows, { sheets }) => {
      for (const row of rows) row['volumeMm3.before'] = row['volumeMm3.after'] = '';
      Object.assign(rows[0]!, { areaCm2: '0', temperatureC: 'warm', 'pH.most': '15' });
      rows[1]!['massG.afterCleaning'] = '1.95';
      rows[3]!.to = '2031-03-04T09:00:00Z';
      Object.assign(rows[5]!, { 'volumeMm3.before': '10', 'volumeMm3.after': '11', densityGPerCm3: '' });
      sheets['lots/L-1/exposures/second.csv'] = [{ ...rows[2]!, exposure: '2', volumeMl: '-5' }];
    });
    const refused = await services.intake.run(folder, 'local:tester', { check: true }).catch((error) => error);
    const told = refused.problems.map(({ file, line, field }: Record<string, string | number>) => [file, line, field]);
    const wrong = [
      ...['areaCm2', 'temperatureC', 'pH.most'].map((field) => [SHEET, 2, field]),
      [SHEET, 3, 'massG.afterCleaning'],
      [SHEET, 5, 'to'],
      ...['volumeMm3.after', 'densityGPerCm3'].map((field) => [SHEET, 7, field]),
      ['lots/L-1/exposures/second.csv', 2, 'volumeMl'],
    ];
    expect(told).toEqual(expect.arrayContaining(wrong));
    const places = new Set(wrong.map(([file, line]) => `${file} ${line}`));
    for (const [file, line] of told) expect(places).toContain(`${file} ${line}`);
  });
});
