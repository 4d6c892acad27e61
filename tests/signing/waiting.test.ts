import { writeCell } from '../support/cell.js';
import { provedActs } from '../support/people.js';
import { addLotWithPeaks, refusalOf, SigningCell } from '../support/signing-cell.js';

let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open((what) => {
    addLotWithPeaks(what, 'L-A', 201, { 2: 60, 62: 70, 12: 25 });
    what.documents['site/cases/L-A-1.yaml']!.neededBy = '2031-04-01';
  });
  for (const lot of ['L-1', 'L-A']) await cell.services.assessor.assess(lot, 'local:tester');
});
afterAll(() => cell.close());

const waiting = async (lot: string | null) => (await cell.services.waiting.all()).filter((item) => item.lot === lot);

describe('what waits', () => {
  it('is the review of a lot first, by whoever may give it, and its release only after that', async () => {
    expect(await waiting('L-1')).toEqual([
      expect.objectContaining({ thing: 'lot file:L-1', meaning: 'reviewed', who: ['P-QE'], neededBy: '2031-12-01' }),
    ]);
    await cell.review('L-1');
    expect(await waiting('L-1')).toEqual([
      expect.objectContaining({
        meaning: 'released',
        step: 'distribution',
        who: ['P-RE'],
        units: ['L-1-I1', 'L-1-I2'],
      }),
    ]);
    await cell.release('L-1', ['L-1-I1']);
    expect((await waiting('L-1')).map(({ units }) => units)).toEqual([['L-1-I2']]);
    await cell.release('L-1', ['L-1-I2']);
    expect(await waiting('L-1')).toEqual([]);
  });

  it('comes by the day on which it is needed', async () => {
    const days = (await cell.services.waiting.all()).map(({ neededBy }) => neededBy ?? '9999');
    expect(days).toEqual([...days].sort());
    expect(days[0]).toBe('2031-04-01');
  });

  it('puts findings of one kind into one group, and leaves out alerts and what a person has decided', async () => {
    const decisions = async () => (await waiting('L-A')).filter(({ meaning }) => meaning === 'decided');
    const open = await decisions();
    // The two excursions, and what each of them says of the coupon.
    const kinds = open.map(({ thing }) => thing.split(':')[0]);
    expect(kinds).toEqual(['log finding', 'log finding', 'check finding', 'check finding']);
    expect(new Set(open.map(({ group }) => group)).size).toBe(2);
    for (const { who } of open) expect(who).toEqual(['P-PE', 'P-QE']);
    const [first] = open;
    const signed = await cell.decide('P-PE', [first!.thing]);
    expect(signed.statement.outcome).toBe('accepted');
    const left = await decisions();
    expect(left.find(({ thing }) => thing === first!.thing)!.who).toEqual(['P-QE']);
  });

  it('lists what nobody may sign, since that is a deadlock, and lists it for somebody once a role is given', async () => {
    await cell.services.assessor.assess('L-A', 'local:tester');
    await provedActs(cell.services).takeRole('P-AD', 'P-QE', 'quality engineer', 'left');
    const review = async () => (await waiting('L-A')).find(({ meaning }) => meaning === 'reviewed')!;
    expect((await review()).who).toEqual([]);
    expect(await refusalOf(cell.review('L-A'))).toContain('needs the role quality engineer');
    await provedActs(cell.services).giveRole('P-AD', 'P-QE', 'quality engineer', 'came back');
    expect((await review()).who).toEqual(['P-QE']);
  });

  it('asks the only approver for the authorship of no document that somebody else could write', async () => {
    cell.cell.documents['site/recipe-3.yaml'] = { ...cell.cell.documents['site/recipe.yaml'], revision: 3 };
    writeCell(cell.cell, cell.root);
    await cell.services.intake.run(cell.root, 'local:tester');
    const recipe = async () => (await waiting(null)).filter(({ thing }) => thing.startsWith('recipe:RC@3'));
    expect(await recipe()).toEqual([expect.objectContaining({ meaning: 'performed', who: ['P-AN', 'P-PE'] })]);
    await cell.sign('P-PE', 'recipe:RC@3', { meaning: 'performed' });
    expect(await recipe()).toEqual([expect.objectContaining({ meaning: 'approved', who: ['P-QE'] })]);
    await cell.sign('P-QE', 'recipe:RC@3', { meaning: 'approved' });
    expect(await recipe()).toEqual([]);
  });
});
