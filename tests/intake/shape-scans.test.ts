import path from 'node:path';
import { BadInputError, type Problem } from '../../src/base/errors.js';
import type { Facts } from '../../src/dossier/facts.js';
import * as worker from '../../src/shape/shape-of-file.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { impactDocument } from '../../src/trace/impact-document.js';
import { checkEvidence } from '../../src/verify/check-evidence.js';
import { Steps } from '../../src/verify/report.js';
import { type Cell, makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { withChangedByte } from '../support/changed-byte.js';
import { addDesigns } from '../support/documents/designs.js';
import { addShapes } from '../support/documents/shapes.js';
import { openServices, type Services } from '../support/services.js';

const fresh = () =>
  openServices(DataFolder.createDemo(path.join(temporaryFolder('data'), 'data'), '2031-12-01T12:00:00Z'));

function cellWith(change: (cell: Cell) => void = () => {}): string {
  const cell = makeCell();
  addDesigns(cell);
  addShapes(cell);
  change(cell);
  return writeCell(cell);
}

const lotOf = ({ documents }: Cell) => documents['lots/L-1/lot.yaml']!;
const SCAN = 'lots/L-1/scans/I1.ply';
/** Each coordinate of a scan times a factor of its axis, and moved along. */
const turned =
  (factors: readonly number[], shift: readonly number[] = [0, 0, 0]) =>
  ({ files }: Cell) => {
    const [head, body] = files[SCAN]!.split('end_header\n');
    const rows = body!.split('\n').map((row) =>
      row === ''
        ? row
        : row
            .split(' ')
            .map((value, k) => Number(value) * factors[k]! + shift[k]!)
            .join(' '),
    );
    files[SCAN] = `${head}end_header\n${rows.join('\n')}`;
  };

describe('scans of finished implants', () => {
  let services: Services;
  let facts: Facts;
  beforeAll(async () => {
    services = await fresh();
    await services.intake.run(cellWith(), 'local:tester');
    facts = (await services.assessor.assess('L-1', 'local:tester')).facts;
  });
  afterAll(() => services.store.close());

  it('are measured once: the same bytes in the same way are not measured again', async () => {
    const measure = vi.spyOn(worker, 'shapeOfFile');
    const again = await services.intake.run(cellWith(), 'local:tester');
    expect([again.documents, again.results.recorded]).toEqual([[], 0]);
    const stored = await services.store.read.entries.revisions('shape-deviation', 'L-1-I1:end');
    expect(stored.map(({ revision }) => revision)).toEqual([1]);
    expect(measure).not.toHaveBeenCalled();
    measure.mockRestore();
  });

  it('are recorded with digest, summary, both alignments and three views, and their points are evidence', async () => {
    const { body } = (await services.store.read.entries.current('shape-deviation', 'L-1-I1:end'))!;
    expect(body).toMatchObject({ case: 'K-101-1', iteration: 1, judged: 'as given', points: { count: 600 } });
    expect(body.asGiven.zones.map(({ zone, outside }) => [zone, outside])).toEqual([
      ['span', 0],
      ['end', 0],
    ]);
    expect(body.leastSquares!.residualMm).toBeLessThan(1e-6);
    expect(body.views.map(({ along }) => along)).toEqual(['x', 'y', 'z']);
    expect(facts.evidence.some(({ sha256 }) => sha256 === body.points.sha256)).toBe(true);
  });

  it('are measured again by verify from the points, and one changed byte is named', async () => {
    const found = async (folder: string) => {
      const steps = new Steps();
      await checkEvidence(facts, folder, steps);
      return steps.list.map(({ step, outcome, ...rest }) => [step, 'of' in rest ? rest.of : '', outcome]);
    };
    const { evidence } = services.store.folder;
    const shapes = ['L-1-I1', 'L-1-I2'].map((unit) => ['shape', `${unit}, scan end`, 'holds']);
    expect(await found(evidence)).toEqual(expect.arrayContaining([['evidence', '', 'holds'], ...shapes]));
    const { sha256 } = facts.evidence.find(({ fileName }) => fileName === 'I1.ply')!;
    const copy = withChangedByte(evidence, sha256);
    const steps = new Steps();
    await checkEvidence(facts, copy, steps);
    expect(steps.list).toContainEqual(
      expect.objectContaining({ step: 'evidence', outcome: 'does not hold', facts: { files: ['I1.ply'] } }),
    );
  });

  it('are told by verify where what is attached was measured otherwise', async () => {
    const copy = structuredClone({ ...facts, summaries: undefined }) as unknown as Facts;
    const shape = copy.caseParts.get('K-101-1')!.pinned.find(({ kind }) => kind === 'shape-deviation')!;
    (shape.body as { asGiven: { all: { rmsMm: number } } }).asGiven.all.rmsMm = 0.5;
    const steps = new Steps();
    await checkEvidence(copy, services.store.folder.evidence, steps);
    const broken = steps.list.filter(({ outcome }) => outcome === 'does not hold');
    expect(broken).toEqual([expect.objectContaining({ step: 'shape', code: 'measured otherwise' })]);
  });
});

describe('a unit that went on in another lot', () => {
  const withChild = (scan: string) =>
    cellWith(({ documents, files }) => {
      const { lot, family, specification, opened, scans, builds } = documents['lots/L-1/lot.yaml']!;
      const at = builds[0].closedAt.replace(/T.*/, 'T23:30:00+01:00');
      documents['lots/L-2/lot.yaml'] = {
        ...{ kind: 'lot', format: 1, lot: 'L-2', family, specification, opened, splitFrom: lot },
        scans: [{ ...scans[1], scan, at }],
      };
      documents['moves/MV-1.yaml'] = {
        ...{ kind: 'unit-move', format: 1, move: 'MV-1', fromLot: 'L-1', toLot: 'L-2', implants: ['L-1-I2'] },
        ...{ why: 'waits for a further scan', by: 'P-QE', at: at.replace('T23:30', 'T23:00') },
      };
      files['lots/L-2/scans/I2.ply'] = files['lots/L-1/scans/I2.ply']!;
    });

  it('is scanned on there by a name of its own, and its values count on from those that it brought', async () => {
    const services = await fresh();
    await services.intake.run(cellWith(), 'local:tester');
    const error = await services.intake.run(withChild('end'), 'local:tester').catch((raised: unknown) => raised);
    expect((error as BadInputError).problems[0]).toMatchObject({ code: 'shape-scan', field: 'scans[0].scan' });
    await services.intake.run(withChild('again'), 'local:tester');
    const { facts, assessment } = await services.assessor.assess('L-2', 'local:tester');
    const rows = facts.results.filter(({ characteristic }) => characteristic === 'shape-share');
    expect(rows.map(({ replicate }) => replicate)).toEqual(['1', '2']);
    expect(assessment.checks.find(({ code }) => code === 'shape-within-profile')!.findings).toEqual([]);
    await services.store.close();
  });
});

describe('a scan that cannot be measured is refused', () => {
  let services: Services;
  beforeAll(async () => {
    services = await fresh();
  });
  afterAll(() => services.store.close());

  it.each<[name: string, change: (cell: Cell) => void, told: Partial<Problem>]>([
    ['of the other side', turned([-1, 1, 1], [42, 0, 0]), { code: 'shape-mirrored', file: SCAN }],
    ['in inches', turned([1 / 25.4, 1 / 25.4, 1 / 25.4]), { code: 'shape-unit', file: SCAN }],
    ['in another place', turned([1, 1, 1], [0, 0, 90]), { code: 'shape-elsewhere', file: SCAN }],
    [
      'cut in the middle',
      ({ files }) => {
        files[SCAN] = files[SCAN]!.slice(0, -60);
      },
      { code: 'ply-row', file: SCAN, line: 607 },
    ],
    [
      'in a unit that is no length',
      (cell) => {
        lotOf(cell).scans[0].ucum = 'kg';
      },
      { code: 'shape-scan', field: 'scans[0].ucum', found: 'kg' },
    ],
    [
      'with a matrix that mirrors',
      (cell) => {
        lotOf(cell).scans[1].alignment = {
          how: 'least squares',
          matrix: [-1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0].map(String),
        };
      },
      { code: 'shape-scan', field: 'scans[1].alignment.matrix' },
    ],
    [
      'against a model that is none',
      ({ files }) => {
        files['site/cases/K-101-1.stl'] = 'solid nothing\n';
      },
      { code: 'shape-cut', file: 'site/cases/K-101-1.stl' },
    ],
    [
      'beside a typed value',
      ({ sheets }) => {
        sheets['lots/L-1/results/size.csv']![0]!.characteristic = 'shape-worst';
      },
      { code: 'computed-value', found: 'a typed value of shape-worst' },
    ],
  ])('%s', async (_name, change, told) => {
    const error = await services.intake.run(cellWith(change), 'local:tester').catch((raised: unknown) => raised);
    expect(error).toBeInstanceOf(BadInputError);
    expect((error as BadInputError).problems).toContainEqual(expect.objectContaining(told));
    expect(await services.store.read.entries.current('lot', 'L-1')).toBeUndefined();
  });
});

it('tells everything that is wrong with several scans at once, with what else is wrong in the folder', async () => {
  const services = await fresh();
  const folder = cellWith((cell) => {
    const { files, sheets } = cell;
    const lot = lotOf(cell);
    const [first, second] = lot.scans;
    files['lots/L-1/scans/I1.ply'] = files['lots/L-1/scans/I1.ply']!.slice(0, -60);
    second.ucum = 'kg';
    second.alignment = { how: 'least squares', matrix: [-1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0].map(String) };
    lot.scans.push({ ...first, scan: 'nan', file: 'scans/nan.xyz', form: 'xyz' });
    files['lots/L-1/scans/nan.xyz'] = '1 2 3\n1 nan 3\n';
    sheets['lots/L-1/results/size.csv']![0]!.specimen = 'L-9-I1';
  });
  const error = await services.intake.run(folder, 'local:tester').catch((raised: unknown) => raised);
  const told = (error as BadInputError).problems.map(({ code, file, line, field }) => [code, file, line ?? field]);
  expect(told).toEqual(
    expect.arrayContaining([
      ['ply-row', SCAN, 607],
      ['shape-number', 'lots/L-1/scans/nan.xyz', 2],
      ['shape-scan', 'lots/L-1/lot.yaml', expect.anything()],
    ]),
  );
  const fields = (error as BadInputError).problems.map(({ field }) => field);
  expect(fields).toEqual(expect.arrayContaining(['scans[1].ucum', 'scans[1].alignment.matrix', 'specimen']));
  expect(await services.store.read.entries.current('lot', 'L-1')).toBeUndefined();
  await services.store.close();
});

it('tells of a model that is none once, however many scans are held against it', async () => {
  const services = await fresh();
  const folder = cellWith(({ files, documents }) => {
    for (const n of [1, 2]) {
      const design = documents[`site/cases/K-101-${n}-design.yaml`]!;
      files[`site/cases/${design.model.file}`] = 'solid nothing\n';
    }
  });
  const error = await services.intake.run(folder, 'local:tester').catch((raised: unknown) => raised);
  const told = (error as BadInputError).problems.filter(({ code }) => code === 'shape-cut').map(({ file }) => file);
  expect(told).toEqual([...new Set(told)]);
  expect(told.length).toBeGreaterThan(0);
  await services.store.close();
});

describe('a scanner that was off', () => {
  let services: Services;
  beforeAll(async () => {
    services = await fresh();
    const folder = cellWith((cell) => {
      // The second is too thick all over, and no value of the specification tells of a shape.
      addShapes(cell, (n) => () => (n === 2 ? 0.2 : 0));
      const gauge = cell.documents['site/instruments/gauge.yaml']!;
      cell.documents['site/instruments/scanner.yaml'] = { ...gauge, instrument: 'I-SCAN', title: 'Scanner (invented)' };
      for (const scan of lotOf(cell).scans) scan.instrument = 'I-SCAN';
      const specification = cell.documents['site/specification.yaml']!;
      specification.characteristics = specification.characteristics.filter(
        ({ source }: { source?: string }) => source !== 'shape',
      );
    });
    await services.intake.run(folder, 'local:tester');
  });
  afterAll(() => services.store.close());

  const NOTHING = { from: undefined, to: undefined, bias: undefined, uncertainty: undefined, without: false };
  const BIAS = { value: '0.03', ucum: 'mm' };
  const BEFORE = { from: '2031-01-01T00:00:00Z', to: '2031-01-02T00:00:00Z' };
  const [OPEN, FAILS] = ['cannot be decided', 'does not conform'];
  const RESTS = [
    ['L-1-I1', OPEN, OPEN, true, 'hold'],
    ['L-1-I2', FAILS, OPEN, true, 'hold'],
  ];
  const RESTS_NOT = [
    ['L-1-I1', OPEN, OPEN, undefined, 'no effect'],
    ['L-1-I2', FAILS, FAILS, undefined, 'no effect'],
  ];

  it.each([
    ['with a bias', { bias: BIAS }, RESTS],
    ['less certain', { uncertainty: BIAS }, RESTS],
    ['left out', { without: true }, RESTS],
    ['outside the time of the scans', { ...BEFORE, bias: BIAS }, RESTS_NOT],
    ['with nothing altered', {}, RESTS_NOT],
  ])('leaves an implant undecided whose shape the design alone judges: %s', async (_, more, expected) => {
    const answer = await services.impacts.of({ id: 'I-SCAN', ...NOTHING, ...more });
    const decisions = impactDocument(answer, { code: 'IM-1' }).decisions as { as: string }[];
    const told = answer.units.map(({ serial, first, again, scanned }, at) => [
      ...[serial, first, again, scanned],
      decisions[at]!.as,
    ]);
    expect(told).toEqual(expected);
    const isSaid = answer.cannotKnow.some((what) => /^whether 2 implants have the shape/.test(what));
    expect(isSaid).toBe(expected === RESTS);
    expect(answer.results).toEqual([]);
  });
});
