import { QUESTIONS } from '../../src/trace/auditor-questions.js';
import { addLotWithPeaks, SigningCell } from '../support/signing-cell.js';

/** Two lots of one powder, the second with an excursion; of the first one implant is released, then the other rejected. */
let cell: SigningCell;

beforeAll(async () => {
  cell = await SigningCell.open((made) => addLotWithPeaks(made, 'L-2', 102, { 10: 60 }));
  await cell.review('L-1');
  await cell.release('L-1', ['L-1-I1']);
  cell.folder.advanceTo('2031-03-06T12:00:00Z');
  await cell.reject('L-1', ['L-1-I2'], 'scratched (invented)');
});
afterAll(() => cell.close());

const ask = (name: keyof typeof QUESTIONS, within: (moment: string) => boolean = () => true) =>
  QUESTIONS[name]({ read: cell.services.store.read, current: cell.services.current, within });

it('lists lots with what was decided, and none outside the period', async () => {
  const rows = await ask('lots');
  expect(rows.find(([lot]) => lot === 'L-1')!.slice(3)).toEqual(['1', '2', '1', '1', '0']);
  expect(await ask('lots', () => false)).toEqual([]);
});

it('says who released and rejected what on which lot file', async () => {
  const digest = (await cell.services.store.read.lotFiles.latest('L-1'))!.digest;
  const rows = await ask('releases');
  expect(rows.map(([, ...row]) => row)).toEqual([
    ['L-1', 'released', 'L-1-I1', 'P-RE', 'releaser', digest, ''],
    ['L-1', 'rejected', 'L-1-I2', 'P-RE', 'releaser', digest, 'scratched (invented)'],
  ]);
  expect(await ask('releases', (at) => at > '2031-03-06')).toHaveLength(1);
});

it('names the recipe revisions that ran with approvals from before, and nobody where there were none', async () => {
  const rows = await ask('recipes');
  expect(rows.find(([build]) => build === 'M1-101')!.at(-1)).toMatch(/^P-QE, 2031-01-/);
  expect(rows.every((row) => row.length === 6)).toBe(true);
});

it('tells what came in after the first release', async () => {
  expect(await ask('changed')).toEqual([]);
  const [lot] = Object.values(cell.cell.documents).filter(({ kind, lot: code }) => kind === 'lot' && code === 'L-1');
  lot!.reason = 'noted later (invented)';
  lot!.steps.push({ step: 'clean', at: '2031-03-05T10:00:00+01:00', by: 'P-OP' });
  await cell.intake();
  expect((await ask('changed')).map(([lot, , what, , , reason]) => [lot, what, reason])).toEqual([
    ['L-1', 'lot file, revision 2', 'noted later (invented)'],
  ]);
});

it('lists lots that shared powder, and findings that two people accepted, by both', async () => {
  const rows = await ask('shared');
  expect(rows.filter(([kind]) => kind === 'powder state').map(([, , ...row]) => row)).toEqual([['2', 'L-1 L-2']]);
  expect(await ask('excursions')).toEqual([]);
  const [finding] = await cell.logFindings('L-2', 'action');
  for (const person of ['P-PE', 'P-QE']) await cell.decide(person, [finding!]);
  const key = finding!.slice('log finding:'.length, finding!.indexOf('#'));
  expect((await ask('excursions')).map(([, , ...row]) => row)).toEqual([
    [key, 'P-PE', 'process engineer', 'invented rationale'],
    [key, 'P-QE', 'quality engineer', 'invented rationale'],
  ]);
});

it('has nothing to tell of the others where nothing is', async () => {
  for (const name of ['unqualified', 'recalls'] as const) expect(await ask(name)).toEqual([]);
});
