import path from 'node:path';
import { BadInputError, type Problem } from '../../src/base/errors.js';
import { type Cell, makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { openServices, type Services } from '../support/services.js';

const LOT = 'lots/L-1/lot.yaml';
const PS_1 = 'site/powder.yaml';
/** The build of the cell was closed at 08:00 and opened at 08:02. */
const OPENED = '2031-03-03T08:02:00+01:00';

/** One for all that is refused: nothing of it is stored. */
let fresh: Services;
let services: Services;
beforeAll(async () => {
  fresh = await openServices(path.join(temporaryFolder('data'), 'data'));
});
beforeEach(() => {
  services = fresh;
});
afterAll(() => fresh.store.close());

/** Services over a folder of their own, for tests that store something. */
async function alone(work: () => Promise<void>): Promise<void> {
  const others = services;
  services = await openServices(path.join(temporaryFolder('data'), 'data'));
  await work().finally(() => services.store.close());
  services = others;
}

const take = (cell: Cell) => services.intake.run(writeCell(cell), 'local:tester');

async function problemsOf(cell: Cell): Promise<readonly Problem[]> {
  const before = await services.store.read.ledger.size();
  const error = await take(cell).catch((caught: unknown) => caught);
  expect(error).toBeInstanceOf(BadInputError);
  expect(await services.store.read.ledger.size()).toBe(before);
  return (error as BadInputError).problems;
}

function cellWith(change: (documents: Cell['documents']) => void): Cell {
  const cell = makeCell();
  change(cell.documents);
  return cell;
}

const powder = (state: string, madeAt: string, inputs: readonly object[], more: object = {}) => ({
  kind: 'powder-state',
  format: 1,
  state,
  operation: 'blend',
  madeAt,
  madeBy: 'P-OP',
  inputs,
  ...more,
});

const consumable = (code: string, made: readonly object[], inUseFrom = '2031-02-01T08:00:00+01:00') => ({
  kind: 'consumable',
  format: 1,
  consumable: code,
  category: 'tip',
  material: 'carbide',
  made,
  by: 'P-OP',
  inUseFrom,
});

const tips = (receivedAt = '2031-01-20T08:00:00+01:00') => ({
  kind: 'receipt',
  format: 1,
  receipt: 'R-9',
  supplier: 'S1',
  material: 'carbide',
  category: 'tool',
  supplierLot: 'T-1',
  quantity: { value: '10', ucum: '1' },
  receivedAt,
  status: 'quarantine',
});

describe('an input that was there only after what was made of it', () => {
  it('is refused when it is a powder state, with both times', async () => {
    const [problem, ...others] = await problemsOf(
      cellWith((documents) => {
        documents['site/PS-2.yaml'] = powder('PS-2', '2031-01-14T07:59:59+01:00', [{ state: 'PS-1', massG: '10' }]);
      }),
    );
    expect(others).toEqual([]);
    expect(problem).toEqual({
      code: 'input-after-mixture',
      file: 'site/PS-2.yaml',
      line: 8,
      field: 'inputs[0].state',
      found: 'powder state PS-1, made 2031-01-14T08:00:00+01:00',
      expected: 'something that was there at 2031-01-14T07:59:59+01:00, when it went into powder state PS-2',
      remedy: 'correct one of the two times, or name what really went in',
    });
  });

  it('is told by the moment, whatever the offset, and lets equal moments pass', async () => {
    await alone(async () => {
      await take(
        cellWith((documents) => {
          documents['site/PS-2.yaml'] = powder('PS-2', '2031-01-14T07:00:00Z', [{ state: 'PS-1', massG: '10' }]);
        }),
      );
    });
  });

  it.each([
    [
      'a receipt in powder',
      (documents: Cell['documents']) => {
        documents['site/receipt.yaml']!.receivedAt = '2031-01-14T09:00:00+01:00';
        documents['site/receipt.yaml']!.acceptance.at = '2031-01-14T10:00:00+01:00';
      },
      { file: PS_1, field: 'inputs[0].receipt', found: 'receipt R-1, received 2031-01-14T09:00:00+01:00' },
    ],
    [
      'powder in a build',
      (documents: Cell['documents']) => {
        documents[PS_1]!.madeAt = '2031-03-03T08:03:00+01:00';
      },
      { file: LOT, field: 'builds[0].powder[0].state', found: 'powder state PS-1, made 2031-03-03T08:03:00+01:00' },
    ],
    [
      'a consumable in a build',
      (documents: Cell['documents']) => {
        documents['site/tips.yaml'] = tips();
        documents['site/tip.yaml'] = consumable('TIP-7', [{ receipt: 'R-9' }], '2031-03-04T08:00:00+01:00');
        documents[LOT]!.builds[0].consumables = [{ consumable: 'TIP-7', step: 'peen' }];
      },
      { file: LOT, field: 'builds[0].consumables[0].consumable', found: expect.stringContaining('in use from') },
    ],
    [
      'a receipt in a consumable',
      (documents: Cell['documents']) => {
        documents['site/tips.yaml'] = tips('2031-02-02T08:00:00+01:00');
        documents['site/tip.yaml'] = consumable('TIP-7', [{ receipt: 'R-9' }]);
      },
      { file: 'site/tip.yaml', field: 'made[0].receipt', found: expect.stringContaining('receipt R-9, received') },
    ],
  ] as const)('is refused when it is %s', async (_, change, expected) => {
    expect(await problemsOf(cellWith(change))).toEqual([
      expect.objectContaining({ code: 'input-after-mixture', line: expect.any(Number), ...expected }),
    ]);
  });

  it('is not asked of a build that is only planned', async () => {
    await alone(async () => {
      const cell = cellWith((documents) => {
        documents[PS_1]!.madeAt = '2031-03-03T08:03:00+01:00';
        Object.assign(documents[LOT]!.builds[0], { state: 'planned', log: undefined });
      });
      for (const name of Object.keys(cell.sheets)) delete cell.sheets[name];
      for (const name of Object.keys(cell.files)) delete cell.files[name];
      await take(cell);
    });
  });

  it('is refused too when the time of what is stored would be moved behind what was made of it', async () => {
    await alone(async () => {
      await take(makeCell());
      const changed = cellWith((documents) => {
        for (const name of Object.keys(documents)) if (name !== PS_1) delete documents[name];
        Object.assign(documents[PS_1]!, { madeAt: '2031-03-03T09:00:00+01:00', reason: 'typed wrongly' });
      });
      expect(await problemsOf({ ...changed, sheets: {}, files: {} })).toEqual([
        expect.objectContaining({
          code: 'input-after-mixture',
          file: PS_1,
          field: 'madeAt',
          found: 'made 2031-03-03T09:00:00+01:00',
          expected: `a time not after ${OPENED}, when it went into build M1-101`,
        }),
      ]);
    });
  });

  it('is what was recovered before the chamber was opened', async () => {
    const recovered = (madeAt: string) =>
      cellWith((documents) => {
        documents['site/PS-2.yaml'] = powder('PS-2', madeAt, [{ state: 'PS-1', massG: '50' }], {
          operation: 'recover',
        });
        Object.assign(documents[LOT]!.builds[0].powder[0], { recoveredG: '50', recoveredInto: 'PS-2' });
      });
    expect(await problemsOf(recovered('2031-03-03T08:01:00+01:00'))).toEqual([
      expect.objectContaining({ code: 'recovered-before-opening', field: 'builds[0].powder[0].recoveredInto' }),
    ]);
    await alone(async () => {
      await take(recovered(OPENED));
    });
  });
});

it('refuses consumables that contain each other, and ends', async () => {
  const problems = await problemsOf(
    cellWith((documents) => {
      documents['site/a.yaml'] = consumable('BATH-1', [{ consumable: 'BATH-2' }]);
      documents['site/b.yaml'] = consumable('BATH-2', [{ consumable: 'BATH-1' }]);
    }),
  );
  expect(problems).toEqual([
    expect.objectContaining({
      code: 'consumable-loop',
      field: 'made[0].consumable',
      found: 'a consumable that contains itself: BATH-1 contains BATH-2 contains BATH-1',
    }),
  ]);
});

it('refuses a state that contains itself through twenty others, and one that closes such a loop later', async () => {
  const chain = (documents: Cell['documents'], first: object) => {
    for (let n = 0; n <= 20; n++) {
      const input = n === 0 ? first : { state: `PS-C${n - 1}`, massG: '10' };
      documents[`site/PS-C${n}.yaml`] = powder(`PS-C${n}`, OPENED, [input], { yieldG: '10' });
    }
  };
  const closed = { state: 'PS-C20', massG: '10' };
  const loop = expect.objectContaining({
    code: 'powder-loop',
    file: 'site/PS-C0.yaml',
    field: 'inputs[0].state',
    found: expect.stringMatching(/PS-C0 contains PS-C20 contains PS-C19.*PS-C1 contains PS-C0$/),
  });
  const whole = cellWith((documents) => chain(documents, closed));
  expect(await problemsOf(whole)).toEqual([loop]);
  await alone(async () => {
    await take(cellWith((documents) => chain(documents, { receipt: 'R-1', massG: '10' })));
    const later = cellWith((documents) => {
      for (const name of Object.keys(documents)) if (!name.startsWith('site/PS-C')) delete documents[name];
    });
    later.documents['site/PS-C0.yaml'] = { ...powder('PS-C0', OPENED, [closed], { yieldG: '10' }), reason: 'mistyped' };
    expect(await problemsOf({ ...later, sheets: {}, files: {} })).toEqual([loop]);
  });
});

describe('documents that come together', () => {
  const together = (change: (documents: Cell['documents']) => void) =>
    cellWith((documents) => {
      documents['site/receipt.yaml']!.massG = '1000300';
      change(documents);
    });

  it('count together: each of two mixes is small enough, and both are not', async () => {
    const mix = (code: string) => powder(code, OPENED, [{ receipt: 'R-1', massG: '200' }]);
    await alone(async () => {
      await take(
        together((documents) => {
          documents['site/PS-2.yaml'] = mix('PS-2');
        }),
      );
    });
    const [problem, ...others] = await problemsOf(
      together((documents) => {
        documents['site/PS-2.yaml'] = mix('PS-2');
        documents['site/PS-3.yaml'] = mix('PS-3');
      }),
    );
    expect(others).toEqual([]);
    expect(problem).toMatchObject({
      code: 'more-taken-than-there-was',
      found: expect.stringContaining('1000400 g taken of 1000300 g of receipt R-1'),
    });
  });

  it('count what a consumable took, and a receipt in kilograms', async () => {
    const problems = await problemsOf(
      cellWith((documents) => {
        documents['site/media.yaml'] = { ...tips(), quantity: { value: '2.5', ucum: 'kg' } };
        for (const [code, value] of Object.entries({ 'MEDIA-1': '1.6', 'MEDIA-2': '0.901' })) {
          documents[`site/${code}.yaml`] = consumable(code, [{ receipt: 'R-9', quantity: { value, ucum: 'kg' } }]);
        }
      }),
    );
    expect(problems).toEqual([
      expect.objectContaining({ found: expect.stringContaining('2501 g taken of 2500 g of receipt R-9') }),
    ]);
  });

  it('take no more pieces than came in, counted with what is stored', async () => {
    const one = (code: string, value = '4') => consumable(code, [{ receipt: 'R-9', quantity: { value, ucum: '1' } }]);
    await alone(async () => {
      const cell = (...last: readonly object[]) =>
        cellWith((documents) => {
          documents['site/tips.yaml'] = tips();
          for (const [index, document] of last.entries()) documents[`site/tip-${index}.yaml`] = document;
        });
      await take(cell(one('TIP-1'), one('TIP-2')));
      const [problem, ...others] = await problemsOf(cell(one('TIP-3', '3')));
      expect(others).toEqual([]);
      expect(problem).toMatchObject({
        code: 'more-taken-than-there-was',
        file: 'site/tip-0.yaml',
        field: 'made[0].receipt',
        found:
          '11 pieces taken of 10 pieces of receipt R-9: 4 pieces by consumable TIP-1 + 4 pieces by consumable TIP-2 + 3 pieces by consumable TIP-3',
      });
      await take(cell(one('TIP-3', '2')));
      const fewer = cell();
      Object.assign(fewer.documents['site/tips.yaml']!, {
        quantity: { value: '9', ucum: '1' },
        reason: 'counted again',
      });
      expect(await problemsOf(fewer)).toEqual([expect.objectContaining({ file: 'site/tips.yaml', field: 'quantity' })]);
    });
  });

  it('take no more out of a state than its yield, and nothing of what was thrown away', async () => {
    const from = (more: object) =>
      cellWith((documents) => {
        documents['site/PS-2.yaml'] = powder('PS-2', OPENED, [{ state: 'PS-1', massG: '100' }], more);
        documents['site/PS-3.yaml'] = powder('PS-3', OPENED, [{ state: 'PS-2', massG: '95' }]);
      });
    const [yielded] = await problemsOf(from({ operation: 'sieve', yieldG: '94.9', lossG: '5' }));
    expect(yielded!.found).toContain('95 g taken of 94.9 g of powder state PS-2');
    const [lost] = await problemsOf(from({ operation: 'sieve', lossG: '5.1' }));
    expect(lost!.found).toContain('95 g taken of 94.9 g');
    const [discarded] = await problemsOf(from({ operation: 'discard' }));
    expect(discarded!.found).toContain('95 g taken of 0 g');
    await alone(async () => {
      await take(from({ operation: 'sieve', lossG: '5' }));
    });
  });
});

/** A load that names implants of the lot of which a step names the load, with all that both rest on. */
function cellWithLoad(): Cell {
  return cellWith((documents) => {
    documents['site/tips.yaml'] = tips();
    documents['site/tip.yaml'] = consumable('TIP-7', [{ receipt: 'R-9', quantity: { value: '1', ucum: '1' } }]);
    documents['site/load.yaml'] = {
      kind: 'process-load',
      format: 1,
      load: 'ST-12',
      step: 'sterilise',
      contractor: 'S1',
      at: '2031-03-04T09:00:00+01:00',
      by: 'P-OP',
      cycle: [{ parameter: 'dose', value: '27.1', ucum: 'kGy', min: '25' }],
      implants: ['L-1-I1', 'L-1-I2'],
      coupons: ['L-1-W1', 'L-1-W2'],
    };
    documents['site/changeover.yaml'] = {
      kind: 'changeover',
      format: 1,
      changeover: 'CO-1',
      machine: 'M1',
      fromAlloy: 'Zn-Mg',
      toAlloy: 'Mg-Zn-Ca',
      at: '2031-03-02T09:00:00+01:00',
      by: 'P-OP',
      cleaned: ['hopper'],
      verified: { what: 'swab', result: 'passed', by: 'P-QE' },
    };
    Object.assign(documents[LOT]!.builds[0], {
      consumables: [{ consumable: 'TIP-7', step: 'peen', uses: 12 }],
      changeover: 'CO-1',
      lineClearance: { by: 'P-QE', at: '2031-03-03T07:50:00+01:00' },
    });
    documents[LOT]!.steps = [{ step: 'sterilise', at: '2031-03-04T09:00:00+01:00', by: 'P-OP', load: 'ST-12' }];
  });
}

describe('kinds that tell of material and of what comes after the build', () => {
  it('are taken in together with the lot that names them and that they name, and again change nothing', async () => {
    await alone(async () => {
      const report = await take(cellWithLoad());
      expect(report.documents.map(({ kind }) => kind)).toEqual(
        expect.arrayContaining(['consumable', 'process-load', 'changeover', 'lot']),
      );
      expect((await take(cellWithLoad())).documents).toEqual([]);
    });
  });

  it('stand in the lot file, with the receipt from which a tip was taken', async () => {
    await alone(async () => {
      await take(cellWithLoad());
      const { facts } = await services.assessor.assess('L-1', 'local:tester');
      const pinned = facts.dossier.pinned.map(({ kind, key }) => `${kind} ${key}`);
      expect(pinned).toEqual(
        expect.arrayContaining(['consumable TIP-7', 'receipt R-9', 'process-load ST-12', 'changeover CO-1']),
      );
      expect(pinned.filter((name) => name.startsWith('lot '))).toEqual(['lot L-1']);
    });
  });

  it.each([
    [
      'a load that nobody recorded',
      (d: Cell['documents']) => delete d['site/load.yaml'],
      { file: LOT, field: 'steps[0].load', found: 'process load ST-12' },
    ],
    [
      'a consumable that nobody recorded',
      (d: Cell['documents']) => delete d['site/tip.yaml'],
      { file: LOT, field: 'builds[0].consumables[0].consumable', found: 'consumable TIP-7' },
    ],
    [
      'a changeover that nobody recorded',
      (d: Cell['documents']) => delete d['site/changeover.yaml'],
      { file: LOT, field: 'builds[0].changeover', found: 'changeover CO-1' },
    ],
    [
      'an implant that nobody built',
      (d: Cell['documents']) => Object.assign(d['site/load.yaml']!, { implants: ['L-1-I1', 'L-1-I9'] }),
      { file: 'site/load.yaml', field: 'implants[1]', found: 'implant L-1-I9' },
    ],
    [
      'a rework instruction that nobody wrote',
      (d: Cell['documents']) => Object.assign(d[LOT]!.steps[0], { instruction: { instruction: 'RW-1', revision: 2 } }),
      { file: LOT, field: 'steps[0].instruction', found: 'rework instruction RW-1 revision 2' },
    ],
    [
      'a material specification that nobody wrote',
      (d: Cell['documents']) =>
        Object.assign(d['site/receipt.yaml']!, { materialSpecification: { material: 'mg-powder', revision: 1 } }),
      {
        file: 'site/receipt.yaml',
        field: 'materialSpecification',
        found: 'material specification mg-powder revision 1',
      },
    ],
  ] as const)('are refused when they name %s', async (_, change, expected) => {
    const cell = cellWithLoad();
    change(cell.documents);
    expect(await problemsOf(cell)).toContainEqual(
      expect.objectContaining({ code: 'unknown-reference', remedy: expect.stringContaining('take in'), ...expected }),
    );
  });
});
