import path from 'node:path';
import { powderReceiptsOfBuild } from '../../src/assessment/materials.js';
import { BadInputError, type Problem } from '../../src/base/errors.js';
import { genealogyFigures } from '../../src/report/genealogy-figure.js';
import { type Cell, makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { openServices, type Services } from '../support/services.js';

const LOT = 'lots/L-1/lot.yaml';

let services: Services;
beforeEach(async () => {
  services = await openServices(path.join(temporaryFolder('data'), 'data'));
});
afterEach(() => services.store.close());

type Input = { receipt: string; massG: string } | { state: string; massG: string };

const powder = (state: string, inputs: readonly Input[], operation = 'blend') => ({
  kind: 'powder-state',
  format: 1,
  state,
  operation,
  madeAt: '2031-01-15T08:00:00+01:00',
  madeBy: 'P-OP',
  inputs,
});

/** The cell with 2000 g of 5000 g in PS-1, and further or other powder states by code. */
function cellWith(states: Readonly<Record<string, readonly Input[]>>, change: (cell: Cell) => void = () => {}): Cell {
  const cell = makeCell();
  cell.documents['site/receipt.yaml']!.massG = '5000';
  cell.documents['site/powder.yaml']!.inputs[0].massG = '2000';
  for (const [state, inputs] of Object.entries(states)) {
    const file = state === 'PS-1' ? 'site/powder.yaml' : `site/${state}.yaml`;
    cell.documents[file] = powder(state, inputs);
  }
  change(cell);
  return cell;
}

const take = (cell: Cell) => services.intake.run(writeCell(cell), 'local:tester');

async function problemsOf(cell: Cell): Promise<readonly Problem[]> {
  const before = await services.store.read.ledger.size();
  const error = await take(cell).catch((caught: unknown) => caught);
  expect(error).toBeInstanceOf(BadInputError);
  expect(await services.store.read.ledger.size()).toBe(before);
  return (error as BadInputError).problems;
}

describe('powder that would contain itself', () => {
  it('is refused with the loop', async () => {
    const problems = await problemsOf(
      cellWith({
        'PS-1': [{ state: 'PS-3', massG: '2000' }],
        'PS-2': [{ state: 'PS-1', massG: '10' }],
        'PS-3': [
          { receipt: 'R-1', massG: '1990' },
          { state: 'PS-2', massG: '10' },
        ],
      }),
    );
    expect(problems).toEqual([expect.objectContaining({ code: 'powder-loop', line: expect.any(Number) })]);
    expect(problems[0]!.found).toMatch(/PS-(\d) contains PS-\d contains PS-\d contains PS-\1$/);
  });

  it('is refused when it names itself', async () => {
    const [problem] = await problemsOf(cellWith({ 'PS-2': [{ state: 'PS-2', massG: '10' }] }));
    expect(problem).toMatchObject({ field: 'inputs[0].state', found: expect.stringContaining('PS-2 contains PS-2') });
  });

  it('is refused when a change of what is stored would close the loop', async () => {
    await take(cellWith({ 'PS-2': [{ state: 'PS-1', massG: '10' }] }));
    const changed = cellWith({}, ({ documents }) => {
      documents['site/powder.yaml']!.inputs = [{ state: 'PS-2', massG: '2000' }];
      documents['site/powder.yaml']!.reason = 'typed wrongly';
    });
    expect(await problemsOf(changed)).toContainEqual(
      expect.objectContaining({
        code: 'powder-loop',
        file: 'site/powder.yaml',
        field: 'inputs[0].state',
        line: 8,
        found: 'powder that contains itself: PS-1 contains PS-2 contains PS-1',
      }),
    );
  });
});

describe('more powder taken than there was', () => {
  it('is refused with the sum: from a powder state, over several builds and mixes', async () => {
    // PS-1 holds 2000 g; the build took 180 g.
    await take(cellWith({ 'PS-2': [{ state: 'PS-1', massG: '1500.5' }] }));
    const [problem] = await problemsOf(cellWith({ 'PS-3': [{ state: 'PS-1', massG: '319.6' }] }));
    expect(problem).toMatchObject({
      code: 'more-taken-than-there-was',
      file: 'site/PS-3.yaml',
      line: 8,
      found:
        '2000.1 g taken of 2000 g of powder state PS-1: 1500.5 g by powder state PS-2 + 319.6 g by powder state PS-3 + 180 g by build M1-101',
    });
    await take(cellWith({ 'PS-3': [{ state: 'PS-1', massG: '319.5' }] }));
  });

  it('is refused from a receipt, also when its mass is corrected downwards', async () => {
    const [problem] = await problemsOf(cellWith({ 'PS-2': [{ receipt: 'R-1', massG: '3001' }] }));
    expect(problem).toMatchObject({
      code: 'more-taken-than-there-was',
      found: expect.stringContaining('5001 g taken of 5000 g of receipt R-1'),
    });
    await take(cellWith({}));
    const less = cellWith({}, ({ documents }) => {
      documents['site/receipt.yaml']!.massG = '1999';
      documents['site/receipt.yaml']!.reason = 'weighed again';
    });
    expect(await problemsOf(less)).toEqual([
      expect.objectContaining({ file: 'site/receipt.yaml', field: 'massG', found: expect.stringContaining('2000 g') }),
    ]);
  });

  it('counts an entry by its latest revision alone', async () => {
    await take(cellWith({ 'PS-2': [{ state: 'PS-1', massG: '1800' }] }));
    const corrected = cellWith({
      'PS-2': [{ state: 'PS-1', massG: '900' }],
      'PS-3': [{ state: 'PS-1', massG: '900' }],
    });
    corrected.documents['site/PS-2.yaml']!.reason = 'digits swapped';
    await take(corrected);
  });

  it('takes what was recovered from what builds had taken, and no more', async () => {
    const recovered = (massG: string) =>
      cellWith({}, ({ documents }) => {
        documents[LOT]!.builds[0].powder[0].chargedG = '1900';
        documents['site/PS-2.yaml'] = powder('PS-2', [{ state: 'PS-1', massG }], 'recover');
      });
    const [problem] = await problemsOf(recovered('2001'));
    expect(problem!.found).toContain('2001 g recovered as powder state PS-2 + 1900 g by build M1-101');
    await take(recovered('1850'));
  });

  it('leaves a build out that is only planned', async () => {
    const planned = (state: string) =>
      cellWith({}, ({ documents, sheets, files }) => {
        Object.assign(documents[LOT]!.builds[0], { state, powder: [{ state: 'PS-1', chargedG: '2001' }] });
        if (state === 'built') return;
        delete documents[LOT]!.builds[0].log;
        for (const name of Object.keys(sheets)) delete sheets[name];
        for (const name of Object.keys(files)) delete files[name];
      });
    expect(await problemsOf(planned('built'))).toContainEqual(
      expect.objectContaining({ field: 'builds[0].powder[0].state', file: LOT }),
    );
    await take(planned('planned'));
  });
});

describe('what is stored all the same', () => {
  it('is frozen, assessed and drawn when powder contains itself', async () => {
    await take(cellWith({}));
    const store = (state: string, inputs: readonly Input[]) =>
      services.store.change('local:attacker', (change) =>
        change.entries.add({
          kind: 'powder-state',
          key: state,
          name: state,
          body: powder(state, inputs),
          links: inputs.map((input) => ({
            name: 'contains',
            to: 'state' in input ? { kind: 'powder-state', key: input.state } : { kind: 'receipt', key: input.receipt },
            massG: input.massG,
          })),
          reason: 'past the intake',
        }),
      );
    await store('PS-2', [{ state: 'PS-1', massG: '100' }]);
    await store('PS-1', [
      { state: 'PS-2', massG: '100' },
      { receipt: 'R-1', massG: '100' },
    ]);
    const { facts } = await services.assessor.assess('L-1', 'local:tester');
    expect([...facts.powderStates.keys()].sort()).toEqual(['PS-1', 'PS-2']);
    expect(powderReceiptsOfBuild(facts, 'M1-101')).toEqual(['R-1']);
    expect(genealogyFigures(facts)[0]!.alt).toContain('Graph from heats to implants');
    // And what has nothing to do with it is still taken in.
    await take(
      cellWith({}, ({ documents }) => {
        delete documents['site/powder.yaml'];
        documents['site/PS-3.yaml'] = powder('PS-3', [{ receipt: 'R-1', massG: '100' }]);
      }),
    );
  });

  it('takes no longer when each state went into two others, forty times over', async () => {
    // 2^40 paths lead from the last state to the receipt.
    const chain: Record<string, Input[]> = {};
    for (let level = 0; level < 40; level++) {
      for (const side of ['a', 'b']) {
        const massG = String(2 ** (40 - level));
        chain[`PS-${level}${side}`] =
          level === 0
            ? [{ receipt: 'R-1', massG }]
            : ['a', 'b'].map((other) => ({ state: `PS-${level - 1}${other}`, massG: String(Number(massG) / 2) }));
      }
    }
    await take(
      cellWith(chain, ({ documents }) => {
        delete documents['site/receipt.yaml']!.massG;
        documents[LOT]!.builds[0].powder = [{ state: 'PS-39a', chargedG: '1' }];
      }),
    );
    const { facts } = await services.assessor.assess('L-1', 'local:tester');
    expect(facts.powderStates.size).toBe(79);
  });
});
