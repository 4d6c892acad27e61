import { addDesigns } from '../support/documents/designs.js';
import { SigningCell } from '../support/signing-cell.js';

const ONE = 'K-101-1';
let cell: SigningCell;
beforeEach(async () => {
  cell = await SigningCell.open((what) => addDesigns(what, 'L-1', null));
  await cell.services.assessor.assess('L-1', 'local:tester');
});
afterEach(() => cell.close());

const eventsOf = async () => {
  const events = await cell.services.store.read.events.of({ kind: 'lot', key: 'L-1' });
  return events.filter(({ event }) => event.type === 'hold-placed');
};

/** Changes a document of the first case and takes everything in again. */
async function takeIn(name: string, change: Record<string, unknown>, as = name): Promise<void> {
  const { documents } = cell.cell;
  const document = documents[`site/cases/${name}.yaml`]!;
  documents[`site/cases/${as}.yaml`] = { ...document, ...change };
  await cell.intake();
}

const CANCELLED = { is: 'cancelled', by: 'P-QE', at: '2031-03-05T10:00:00+01:00' };

it('puts the implant of a cancelled case on hold, released or not, names the cause, and lets nobody release it', async () => {
  await cell.review('L-1');
  await takeIn('L-1-1', { status: CANCELLED, reason: 'the operation is off (invented)' });
  expect(await eventsOf()).toMatchObject([
    {
      event: { units: ['L-1-I1'], cause: { kind: 'case', key: ONE, revision: 2 } },
      reason: `case ${ONE} was cancelled`,
      actor: 'local:tester',
    },
  ]);
  await cell.services.stateActs.liftHold(await cell.prove('P-QE'), 'L-1', ['L-1-I1'], 'invented');
  await cell.services.assessor.assess('L-1', 'local:tester');
  await cell.review('L-1');
  await expect(cell.release('L-1', ['L-1-I1'])).rejects.toThrow(`Case ${ONE} was cancelled`);
  await cell.release('L-1', ['L-1-I2']);
});

it('puts an implant on hold when a further iteration of its design comes in, and once only', async () => {
  await takeIn(`${ONE}-design`, { revision: 2 }, `${ONE}-design-2`);
  await takeIn('L-1-1', { designIteration: 2, reason: 'a shorter plate (invented)' });
  expect(await eventsOf()).toMatchObject([
    { event: { units: ['L-1-I1'], cause: { kind: 'case-design', key: ONE, revision: 2 } } },
  ]);
});

it('puts an implant on hold when its case asks for another iteration', async () => {
  await takeIn('L-1-1', { designIteration: 2, reason: 'a shorter plate (invented)' });
  expect(await eventsOf()).toMatchObject([
    { event: { units: ['L-1-I1'], cause: { kind: 'case', key: ONE, revision: 2 } } },
  ]);
});

it('leaves an implant alone whose case changes in other ways', async () => {
  await takeIn('L-1-1', { otherMetals: 'none', reason: 'asked for (invented)' });
  expect(await eventsOf()).toEqual([]);
});

it('moves no implant to another case', async () => {
  cell.cell.documents['lots/L-1/lot.yaml']!.implants[0].case = 'K-101-2';
  cell.cell.documents['lots/L-1/lot.yaml']!.reason = 'invented';
  await expect(cell.intake()).rejects.toThrow(/L-1-I1 for case K-101-2/);
});
