import path from 'node:path';
import { sent } from '../../src/base/same-program.js';
import assessInThisThread from '../../src/lots/assess-worker.js';
import type { RecordContent } from '../../src/records/render-record.js';
import renderInThisThread from '../../src/records/render-worker.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { addLot, type Cell, makeCellWithHistory, temporaryFolder, writeCell } from '../support/cell.js';
import { openServices, type Services } from '../support/services.js';

const ACTOR = 'local:tester';
const LOT = 'lots/L-1/lot.yaml';
const folder = path.join(temporaryFolder('data'), 'data');
let services: Services;
let cell: Cell;

beforeAll(async () => {
  services = await openServices(DataFolder.createDemo(folder, '2031-06-01T12:00:00Z'));
  cell = makeCellWithHistory(2);
  await services.intake.run(writeCell(cell), ACTOR);
});
afterAll(() => services.store.close());

const outOfDate = async () => (await services.overview.of('L-1')).outOfDate;

async function takeIn(change: (cell: Cell) => void): Promise<void> {
  change(cell);
  await services.intake.run(writeCell(cell), ACTOR);
}

it('assesses the same in a worker: the same lot file, and nothing stored a second time', async () => {
  const { dossierSha256, assessmentSha256 } = await services.assessor.assess('L-1', ACTOR);
  const size = await services.store.read.ledger.size();
  expect(await assessInThisThread(sent({ folder, lot: 'L-1', actor: ACTOR, what: 'lot as it stands' }))).toEqual({
    value: { dossierSha256, assessmentSha256 },
  });
  expect(await assessInThisThread(sent({ folder, lot: 'L-1', actor: ACTOR, what: 'stored lot file' }))).toEqual({
    value: null,
  });
  expect(await services.store.read.ledger.size()).toBe(size);
  expect(await assessInThisThread(sent({ folder, lot: 'L-9', actor: ACTOR, what: 'lot as it stands' }))).toMatchObject({
    code: 'NOT_FOUND',
  });
});

it('does nothing for another build of the program: it was replaced while the service runs', async () => {
  const size = await services.store.read.ledger.size();
  const task = { folder, lot: 'L-1', actor: ACTOR, what: 'lot as it stands' } as const;
  expect(await assessInThisThread({ build: '0123456789ab', task })).toMatchObject({
    code: 'BUSY',
    message: expect.stringMatching(/build 0123456789ab runs, and build [0-9a-f]{12} lies .*start the service again/),
  });
  expect(await renderInThisThread({ build: '0123456789ab', task: {} as RecordContent })).toMatchObject({
    code: 'BUSY',
  });
  expect(await services.store.read.ledger.size()).toBe(size);
});

it('reads the stored assessment of this very program, and leaves the log summaries in the store', async () => {
  const fresh = await services.assessor.assess('L-1', ACTOR);
  const latest = (await services.current.of('L-1'))!;
  expect(latest.assessment).toEqual(fresh.assessment);
  expect(latest.facts.results).toEqual(fresh.facts.results);
  expect(() => latest.facts.summaries).toThrow('left out');
  expect(fresh.facts.summaries.length).toBeGreaterThan(0);
});

describe('a lot whose facts changed since its assessment', () => {
  beforeEach(() => services.assessor.assess('L-1', ACTOR));

  it('is not marked while nothing changed, nor by another lot of the family, whenever that was built', async () => {
    expect(await outOfDate()).toBe(false);
    await takeIn((copy) => addLot(copy, 'L-2', 102, '2031-04-01', { rm: 229, thickness: 1.5 }));
    await takeIn(({ sheets }) => {
      const [row] = sheets['lots/L-00/results/tensile.csv']!;
      sheets['lots/L-00/results/tensile.csv']!.push({ ...row!, replicate: '3' });
    });
    for (const other of ['L-2', 'L-00']) await services.assessor.assess(other, ACTOR);
    expect(await outOfDate()).toBe(false);
  });

  it.each<[string, (cell: Cell) => void]>([
    [
      'its lot file says more',
      ({ documents }) => {
        documents[LOT]!.steps = [{ step: 'clean', at: '2031-03-04T07:00:00+01:00', by: 'P-OP' }];
      },
    ],
    [
      'an instrument was calibrated',
      ({ documents }) => {
        documents['site/instruments/rig.yaml']!.calibrations.push({
          certificate: 'K-2',
          at: '2031-05-01T08:00:00+02:00',
          due: '2032-05-01T08:00:00+02:00',
          asFound: 'in tolerance',
          asLeft: 'in tolerance',
          traceableTo: 'invented',
        });
      },
    ],
    [
      'a value was corrected',
      ({ sheets }) => {
        Object.assign(sheets['lots/L-1/results/tensile.csv']![0]!, {
          value: '230.9',
          reason: 'read from the wrong line',
        });
      },
    ],
  ])('is marked because %s', async (_, change) => {
    await takeIn(change);
    expect(await outOfDate()).toBe(true);
    const [line] = (await services.overview.list()).filter(({ lot }) => lot === 'L-1');
    expect(line).toEqual(await services.overview.of('L-1'));
  });
});
