import path from 'node:path';
import { BadInputError, type Problem } from '../../src/base/errors.js';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { stockMetals } from '../../src/report/stock-metal.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { impactDocument } from '../../src/trace/impact-document.js';
import { checkEvidence } from '../../src/verify/check-evidence.js';
import { Steps } from '../../src/verify/report.js';
import { addLot, type Cell, makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { withChangedByte } from '../support/changed-byte.js';
import { addStock, bar, stockDocument } from '../support/documents/stock.js';
import { openServices, type Services } from '../support/services.js';
import { stlText } from '../support/shapes.js';

const NOW = '2031-12-01T12:00:00Z';
const fresh = () => openServices(DataFolder.createDemo(path.join(temporaryFolder('data'), 'data'), NOW));

function cellWith(change: (cell: Cell) => void = () => {}): string {
  const cell = makeCell();
  addStock(cell);
  change(cell);
  return writeCell(cell);
}

const lotOf = ({ documents }: Cell, code = 'L-1') => documents[`lots/${code}/lot.yaml`]!;
const problemsOf = async (services: Services, folder: string): Promise<readonly Problem[]> => {
  const error = await services.intake.run(folder, 'local:tester').catch((raised: unknown) => raised);
  expect(error).toBeInstanceOf(BadInputError);
  return (error as BadInputError).problems;
};

describe('stock parts', () => {
  let services: Services;
  beforeAll(async () => {
    services = await fresh();
    await services.intake.run(cellWith(), 'local:tester');
  });
  afterAll(() => services.store.close());

  it('stand in the lot file with their receipt, their uses and the comparison, and verify measures again', async () => {
    const { facts } = await services.assessor.assess('L-1', 'local:tester');
    expect([...facts.stockParts.keys()]).toEqual(['B-1', 'B-2', 'B-3', 'B-4']);
    expect(facts.receipts.has('R-BAR')).toBe(true);
    expect(facts.stockParts.get('B-1')!.body.mesh!.sha256).toBe(sha256Hex(stlText(bar())));
    expect(facts.stock.uses.map(({ part, stockPart }) => `${part} ${stockPart}`)).toEqual(
      expect.arrayContaining(['L-1-I1 B-1', 'L-1-W2 B-4']),
    );
    const change = (await services.store.read.entries.current('shape-change', 'L-1-I1:built'))!.body;
    expect(change).toMatchObject({ case: 'K-101-1', stockPart: 'B-1', before: { scan: 'bare' } });
    expect(change.comparedShare).toBeGreaterThan(0.9);
    const found = async (folder: string) => {
      const steps = new Steps();
      await checkEvidence(facts, folder, steps);
      return steps.list;
    };
    const { evidence } = services.store.folder;
    const told = (await found(evidence)).map((step) => ['of' in step ? step.of : '', step.outcome]);
    expect(told).toEqual(
      expect.arrayContaining([
        ['L-1-I1, scan end', 'holds'],
        ['L-1-I2, scan built against bare', 'holds'],
      ]),
    );
    const spoilt = await found(withChangedByte(evidence, change.before.points.sha256));
    expect(spoilt).toContainEqual(
      expect.objectContaining({ step: 'evidence', outcome: 'does not hold', facts: { files: ['I1-bare.ply'] } }),
    );
  });

  it('are met on the way back from an implant, and meet it on the way forward from their heat', async () => {
    const keys = (of: readonly { readonly key: string }[]) => of.map(({ key }) => key);
    const [implant] = (await services.tracer.trace('L-1-I1')).matches;
    expect(keys(implant!.back!)).toEqual(expect.arrayContaining(['B-1', 'R-BAR']));
    const [heat] = (await services.tracer.trace('H-BAR')).matches;
    expect(keys(heat!.forward!)).toEqual(expect.arrayContaining(['B-1', 'B-4', 'L-1-I1', 'L-1-I2', 'L-1-W2']));
  });

  it('are measured once', async () => {
    const again = await services.intake.run(cellWith(), 'local:tester');
    expect([again.documents, again.results.recorded]).toEqual([[], 0]);
  });
});

describe('a stock part that cannot be what documents say', () => {
  let services: Services;
  beforeAll(async () => {
    services = await fresh();
  });
  afterAll(() => services.store.close());

  const scrapped = { at: '2031-04-02T08:00:00+02:00', by: 'P-QE' };
  const wasImplant = { implant: 'L-1-I2', why: 'a boss broke off (invented)' };
  const giveUp = (cell: Cell, as = 'stock part', at = scrapped.at) => {
    lotOf(cell).fates = [{ part: 'L-1-I2', as, ...scrapped, at }];
  };
  const second = (cell: Cell, builtOn: string) => {
    addLot(cell, 'L-2', 102, '2031-05-05', { rm: 230, thickness: 1.5 });
    lotOf(cell, 'L-2').implants[0].builtOn = builtOn;
  };

  it.each<[name: string, change: (cell: Cell) => void, told: Partial<Problem>]>([
    [
      'another digest than its mesh has',
      (cell) => {
        cell.documents['site/stock-1.yaml']!.mesh.sha256 = '0'.repeat(64);
      },
      { code: 'mesh-differs', file: 'site/stock-1.yaml', field: 'mesh.sha256' },
    ],
    [
      'two parts on one bar',
      (cell) => {
        lotOf(cell).implants[1].builtOn = 'B-1';
      },
      { code: 'stock-in-use', field: 'implants[1].builtOn' },
    ],
    [
      'a part on a bar of which the last one was never taken off',
      (cell) => second(cell, 'B-1'),
      { code: 'stock-in-use', file: 'lots/L-2/lot.yaml', field: 'implants[0].builtOn' },
    ],
    [
      'an implant that its lot did not give up',
      (cell) => {
        cell.documents['site/repaired.yaml'] = stockDocument(9, wasImplant);
      },
      { code: 'stock-not-given-up', field: 'implant' },
    ],
    [
      'an implant that its lot scrapped',
      (cell) => {
        giveUp(cell, 'scrapped');
        cell.documents['site/repaired.yaml'] = stockDocument(9, wasImplant);
      },
      { code: 'stock-not-given-up', found: expect.stringContaining('"scrapped"') as never },
    ],
    [
      'one implant as two stock parts',
      (cell) => {
        giveUp(cell);
        cell.documents['site/repaired.yaml'] = stockDocument(8, wasImplant);
        cell.documents['site/again.yaml'] = stockDocument(9, wasImplant);
      },
      { code: 'stock-twice', field: 'implant' },
    ],
    [
      'a part on an implant before that was given up',
      (cell) => {
        giveUp(cell, 'stock part', '2031-05-20T08:00:00+02:00');
        cell.documents['site/repaired.yaml'] = stockDocument(9, wasImplant);
        second(cell, 'B-9');
      },
      { code: 'stock-too-soon', file: 'lots/L-2/lot.yaml' },
    ],
    [
      'an implant that was in a patient, whatever its lot says',
      (cell) => {
        giveUp(cell);
        cell.documents['site/repaired.yaml'] = stockDocument(9, wasImplant);
        cell.documents['site/handover.yaml'] = {
          ...{ kind: 'handover', format: 1, handover: 'HO-1', implants: ['L-1-I2'] },
          to: { institution: 'Invented Hospital', address: 'Invented Street 2' },
          ...{ at: '2031-03-20T08:00:00+01:00', by: 'P-QE', carrier: 'by hand', condition: 'sealed' },
        };
        cell.documents['site/outcome.yaml'] = {
          ...{ kind: 'outcome', format: 1, implant: 'L-1-I2', n: 1, what: 'implanted', on: '2031-03-21' },
          ...{ handover: 'HO-1', reportedBy: 'Invented Hospital' },
        };
      },
      { code: 'stock-was-implanted', found: expect.stringContaining('outcome L-1-I2:1') as never },
    ],
    [
      'an implant that was handed over, whatever its lot says',
      (cell) => {
        giveUp(cell);
        cell.documents['site/repaired.yaml'] = stockDocument(9, wasImplant);
        cell.documents['site/handover.yaml'] = {
          ...{ kind: 'handover', format: 1, handover: 'HO-1', implants: ['L-1-I2'] },
          to: { institution: 'Invented Hospital', address: 'Invented Street 2' },
          ...{ at: '2031-03-20T08:00:00+01:00', by: 'P-QE', carrier: 'by hand', condition: 'sealed' },
        };
      },
      { code: 'stock-left-the-cell', field: 'implant', found: expect.stringContaining('handover HO-1') as never },
    ],
    [
      'more bars than came in',
      (cell) => {
        cell.documents['site/stock-5.yaml'] = stockDocument(5);
      },
      { code: 'more-taken-than-there-was', found: expect.stringContaining('5 pieces taken of 4 pieces') as never },
    ],
    [
      'a bar of which no surface is left in the design',
      ({ files }) => {
        files['site/bar.stl'] = files['site/bar.stl']!.replaceAll(
          /(vertex \S+ \S+) (\S+)/g,
          (_, xy, z) => `${xy} ${Number(z) + 7}`,
        );
      },
      { code: 'stock-apart' },
    ],
    [
      'a mirrored scan of the finished part',
      ({ files }) => {
        const name = 'lots/L-1/scans/I1-built.ply';
        const [head, body] = files[name]!.split('end_header\n');
        const rows = body!.split('\n').map((row) => row.replace(/^\S+/, (x) => String(42 - Number(x))));
        files[name] = `${head}end_header\n${rows.join('\n')}`;
      },
      { code: 'shape-mirrored', file: 'lots/L-1/scans/I1-built.ply' },
    ],
  ])('%s', async (_name, change, told) => {
    expect(await problemsOf(services, cellWith(change))).toContainEqual(expect.objectContaining(told));
    expect(await services.store.read.entries.current('lot', 'L-1')).toBeUndefined();
  });
});

describe('of a unit that went on in another lot', () => {
  /** The second implant is scanned once more where it went. */
  const split = (change: (cell: Cell, child: ReturnType<typeof lotOf>) => void = () => {}) =>
    cellWith((cell) => {
      const { documents, files } = cell;
      const lot = lotOf(cell);
      const { family, specification, opened } = lot;
      const later = lot.scans.filter(
        ({ specimen, when }: { specimen: string; when: string }) => specimen === 'L-1-I2' && when === 'after',
      );
      lot.scans = lot.scans.filter(
        ({ specimen, when }: { specimen: string; when: string }) => specimen !== 'L-1-I2' || when === 'before',
      );
      documents['lots/L-2/lot.yaml'] = {
        ...{ kind: 'lot', format: 1, lot: 'L-2', family, specification, opened, splitFrom: 'L-1' },
        scans: later.map((scan: object) => ({ ...scan, at: '2031-03-10T10:00:00+01:00' })),
      };
      documents['moves/MV-1.yaml'] = {
        ...{ kind: 'unit-move', format: 1, move: 'MV-1', fromLot: 'L-1', toLot: 'L-2', implants: ['L-1-I2'] },
        ...{ why: 'waits for a scan (invented)', by: 'P-QE', at: '2031-03-10T09:00:00+01:00' },
      };
      files['lots/L-2/scans/I2-built.ply'] = files['lots/L-1/scans/I2-built.ply']!;
      for (const name of ['built', 'end']) delete files[`lots/L-1/scans/I2-${name}.ply`];
      change(cell, documents['lots/L-2/lot.yaml']!);
    });
  const onlyFirst = () =>
    split(({ documents }) => {
      delete documents['lots/L-2/lot.yaml'];
      delete documents['moves/MV-1.yaml'];
    });
  const comparedIn = async (services: Services) => {
    const { facts, assessment } = await services.assessor.assess('L-2', 'local:tester');
    const { findings } = assessment.checks.find(({ code }) => code === 'stock-kept')!;
    const steps = new Steps();
    await checkEvidence(facts, services.store.folder.evidence, steps);
    return { findings, steps: steps.list.filter(({ step }) => step === 'shape') };
  };

  it.each([
    ['that comes in with it', undefined],
    ['that was stored before', onlyFirst],
  ])('are compared with the scan of the lot %s, and verify measures again', async (_name, before) => {
    const services = await fresh();
    if (before) await services.intake.run(before(), 'local:tester');
    await services.intake.run(split(), 'local:tester');
    const { body } = (await services.store.read.entries.current('shape-change', 'L-1-I2:built'))!;
    expect(body).toMatchObject({ lot: 'L-2', stockPart: 'B-2', before: { scan: 'bare', points: { count: 6000 } } });
    expect(body.comparedShare).toBeGreaterThan(0.9);
    const { findings, steps } = await comparedIn(services);
    expect(findings).toEqual([]);
    expect(steps).toContainEqual(
      expect.objectContaining({ of: 'L-1-I2, scan built against bare', code: 'measured alike', outcome: 'holds' }),
    );
    // What the later lot rests on is not put in the place of it by the earlier one.
    const other = split((cell) => {
      Object.assign(lotOf(cell), { reason: 'scanned again' });
      cell.files['lots/L-1/scans/I2-bare.ply'] = cell.files['lots/L-1/scans/I1-bare.ply']!;
      delete cell.documents['lots/L-2/lot.yaml'];
    });
    expect(await problemsOf(services, other)).toContainEqual(
      expect.objectContaining({ code: 'shape-scan', field: expect.stringMatching(/^scans\[\d\]\.file$/) }),
    );
    // Nor is it laid otherwise, or taken away.
    const revised = (change: (lot: ReturnType<typeof lotOf>, at: number) => void) =>
      split((cell) => {
        const lot = lotOf(cell);
        const at = lot.scans.findIndex(({ file }: { file: string }) => file === 'scans/I2-bare.ply');
        Object.assign(lot, { reason: 'looked at once more' });
        change(lot, at);
        delete cell.documents['lots/L-2/lot.yaml'];
      });
    const inMetres = revised(({ scans }, at) => Object.assign(scans[at], { ucum: 'm' }));
    expect(await problemsOf(services, inMetres)).toContainEqual(
      expect.objectContaining({ code: 'compared-later', found: expect.stringMatching(/scan built of lot L-2/) }),
    );
    const gone = revised(({ scans }, at) => scans.splice(at, 1));
    expect(await problemsOf(services, gone)).toContainEqual(
      expect.objectContaining({ code: 'compared-later', field: 'scans' }),
    );
    // What has nothing to do with it may be said anew.
    const free = revised(() => {});
    await services.intake.run(free, 'local:tester', { check: true });
    await services.store.close();
  });

  it.each<[name: string, change: (child: ReturnType<typeof lotOf>) => void, field: string]>([
    ['a scan that is not there', (child) => Object.assign(child.scans[0].against, { scan: 'none' }), 'against.scan'],
    ['one before the earlier one', (child) => Object.assign(child.scans[0], { at: '2031-03-02T15:00:00+01:00' }), 'at'],
    ['one by the name of the earlier one', (child) => Object.assign(child.scans[0], { scan: 'bare' }), 'scan'],
  ])('are refused with %s', async (_name, change, field) => {
    const services = await fresh();
    const told = await problemsOf(
      services,
      split((_cell, child) => change(child)),
    );
    expect(told).toContainEqual(expect.objectContaining({ file: 'lots/L-2/lot.yaml', field: `scans[0].${field}` }));
    expect(await services.store.read.entries.current('lot', 'L-2')).toBeUndefined();
    await services.store.close();
  });
});

it('takes a repaired part with the history of what it was, and a bar again of which the metal was taken off', async () => {
  const services = await fresh();
  await services.intake.run(
    cellWith((cell) => {
      const given = { part: 'L-1-I2', as: 'stock part', at: '2031-04-02T08:00:00+02:00', by: 'P-QE' };
      lotOf(cell).fates = [given];
      // It was milled in a closure that went on where the one in which it was built had stopped.
      const [first] = lotOf(cell).builds;
      const { log, powder, ...again } = first;
      const times = { openedAt: '2031-03-07T18:00:00+01:00', closedAt: '2031-03-07T08:00:00+01:00' };
      const continues = { build: first.build, fromLayer: 2 };
      lotOf(cell).builds.push({ ...again, ...times, build: `${first.build}b`, powder: [], continues });
      lotOf(cell).implants[1].alsoIn = [{ build: `${first.build}b`, steps: ['mill'] }];
      cell.documents['site/repaired.yaml'] = stockDocument(9, {
        implant: 'L-1-I2',
        why: 'a boss broke off (invented)',
      });
      cell.documents['site/stock-1.yaml']!.takenOff = [
        { implant: 'L-1-I1', at: '2031-04-20T08:00:00+02:00', by: 'P-OP', how: 'milled off and etched (invented)' },
      ];
      cell.documents['site/broken.yaml'] = {
        ...{ kind: 'nonconformity', format: 1, nonconformity: 'NC-9', says: 'a boss broke off (invented)' },
        opened: { by: 'P-QE', at: '2031-04-01T08:00:00+02:00' },
        touches: [{ kind: 'implant', key: 'L-1-I2' }],
        evaluation: { cause: 'invented', riskFile: 'no', by: 'P-QE', at: '2031-04-01T09:00:00+02:00' },
        disposition: [{ units: ['L-1-I2'], as: 'rework', justification: 'built on again (invented)' }],
      };
      addLot(cell, 'L-2', 102, '2031-05-05', { rm: 230, thickness: 1.5 });
      lotOf(cell, 'L-2').implants[0].builtOn = 'B-9';
      lotOf(cell, 'L-2').implants[1].builtOn = 'B-1';
      // What came of it is stock once more.
      lotOf(cell, 'L-2').fates = [{ part: 'L-2-I1', as: 'stock part', at: '2031-05-20T08:00:00+02:00', by: 'P-QE' }];
      cell.documents['site/again.yaml'] = stockDocument(10, { implant: 'L-2-I1', why: 'it broke again (invented)' });
      addLot(cell, 'L-3', 103, '2031-06-05', { rm: 230, thickness: 1.5 });
      lotOf(cell, 'L-3').implants[0].builtOn = 'B-10';
    }),
    'local:tester',
  );
  const { facts, dossierSha256 } = await services.assessor.assess('L-2', 'local:tester');
  const [origin] = facts.stock.origins;
  expect(origin).toMatchObject({ stockPart: 'B-9', implant: 'L-1-I2', lot: 'L-1', fate: { as: 'stock part' } });
  expect(origin!.heats.length).toBeGreaterThan(0);
  expect(origin!.builds).toEqual(['M1-101', 'M1-101b']);
  // It was built on a bar, of which most of its metal is.
  const { body: received } = (await services.store.read.entries.current('receipt', 'R-BAR'))!;
  expect(origin!.builtOn).toEqual({
    ...{ stockPart: 'B-2', material: 'mg-bar' },
    receipt: {
      receipt: 'R-BAR',
      heats: [`${received.supplier}:H-BAR`],
      certificate: received.certificate!.number,
      expiry: received.expiry,
    },
  });
  const third = (await services.assessor.assess('L-3', 'local:tester')).facts;
  expect(third.stock.origins.map(({ stockPart, implant }) => `${stockPart} ${implant}`)).toEqual([
    'B-10 L-2-I1',
    'B-9 L-1-I2',
  ]);
  expect(third.stock.origins.map(({ builtOn }) => builtOn)).toEqual([
    { stockPart: 'B-9', material: 'mg-bar' },
    origin!.builtOn,
  ]);
  expect(stockMetals(third, third.lot.body.implants[0]!).flatMap(({ receipts }) => receipts)).toContain('R-BAR');
  expect(origin!.events).toEqual([
    { kind: 'nonconformity', key: 'NC-9', what: 'rework', at: '2031-04-01T08:00:00+02:00' },
  ]);
  expect(facts.stock.uses.map(({ part, lot }) => `${part} ${lot}`)).toEqual(['L-1-I1 L-1', 'L-2-I2 L-2', 'L-2-I1 L-2']);
  // What was built on cannot be taken back, nor leave.
  for (const fates of [[], [{ part: 'L-1-I2', as: 'scrapped', at: '2031-04-02T08:00:00+02:00', by: 'P-QE' }]]) {
    const problems = await problemsOf(
      services,
      cellWith((cell) => Object.assign(lotOf(cell), { fates, reason: 'taken back' })),
    );
    expect(problems).toContainEqual(
      expect.objectContaining({
        ...{ code: 'stock-taken-back', file: 'lots/L-1/lot.yaml', field: 'fates' },
        found: `${fates.length === 0 ? 'nothing' : '"scrapped"'} of L-1-I2, which is stock part B-9`,
      }),
    );
  }
  const leaving = cellWith((cell) => {
    cell.documents['site/handover.yaml'] = {
      ...{ kind: 'handover', format: 1, handover: 'HO-2', implants: ['L-1-I2'] },
      to: { institution: 'Invented Hospital', address: 'Invented Street 2' },
      ...{ at: '2031-03-20T08:00:00+01:00', by: 'P-QE', carrier: 'by hand', condition: 'sealed' },
    };
  });
  expect(await problemsOf(services, leaving)).toContainEqual(
    expect.objectContaining({ code: 'stock-left-the-cell', field: 'implants[0]' }),
  );
  // A certificate of what it was made of that is corrected later is asked about in each lot that rests on it.
  expect(origin!.corrected).toBeUndefined();
  const isOutOfDate = async (lot: string) => (await services.overview.of(lot)).outOfDate;
  expect(await isOutOfDate('L-2')).toBe(false);
  const correcting = cellWith(({ documents }) => {
    for (const name of Object.keys(documents)) if (documents[name]!.receipt !== 'R-1') delete documents[name];
    const [receipt] = Object.values(documents);
    const { number } = receipt!.certificate;
    Object.assign(receipt!.certificate, { number: `${number}a`, issued: '2031-06-20' });
    Object.assign(receipt!, { corrects: { certificate: number, why: 'invented' }, reason: 'a new certificate came' });
  });
  await services.intake.run(correcting, 'local:tester');
  const frozen = (await services.store.read.lotFiles.byDigest(dossierSha256))!;
  for (const [lot, serial] of [
    ['L-2', 'L-2-I1'],
    ['L-3', 'L-3-I1'],
  ] as const) {
    expect(await isOutOfDate(lot)).toBe(true);
    const again = await services.assessor.assess(lot, 'local:tester');
    expect(again.dossierSha256).not.toBe(dossierSha256);
    const check = again.assessment.checks.find(({ code }) => code === 'corrections-judged')!;
    const under = check.findings.filter(({ rule }) => rule === 'corrected after what it is built on');
    expect(under.map(({ facts: told, units }) => [told.receipt, told.was, units])).toContainEqual([
      ...['R-1', 'L-1-I2'],
      [serial],
    ]);
  }
  // What was frozen before stays as it was, and the impact of the receipt leads to these lots by itself.
  expect((await services.store.read.lotFiles.byDigest(dossierSha256))!).toEqual(frozen);
  const asked = { from: undefined, to: undefined, bias: undefined, uncertainty: undefined, without: false };
  const impact = impactDocument(await services.impacts.of({ id: 'R-1', ...asked }), { code: 'IM-1' });
  expect(impact.lots).toEqual(['L-1', 'L-2', 'L-3']);
  expect(impact.decisions).toContainEqual(expect.objectContaining({ implant: 'L-3-I1' }));
  // Nothing of the case of the former part comes along.
  expect(JSON.stringify([facts.stock, [...facts.caseParts.keys()]])).not.toContain('K-101-2');
  await services.store.close();
});
