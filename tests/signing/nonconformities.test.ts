import { writeCell } from '../support/cell.js';
import { refusalOf, SigningCell } from '../support/signing-cell.js';

const AT = '2031-03-05T10:00:00+01:00';
const OPEN = {
  kind: 'nonconformity',
  format: 1,
  nonconformity: 'NC-1',
  opened: { by: 'P-OP', at: AT },
  says: 'a scratch on the face (invented)',
  touches: [{ kind: 'implant', key: 'L-1-I1' }],
};
const DECIDED = {
  evaluation: { cause: 'a tool (invented)', riskFile: 'no', by: 'P-QE', at: AT },
  disposition: [{ units: ['L-1-I1'], as: 'no effect', justification: 'below the limit (invented)' }],
};
const CLOSED = { closure: { by: 'P-QE', at: AT, says: 'all was done (invented)' }, reason: 'done (invented)' };

let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open();
});
afterAll(() => cell.close());

async function takeIn(more: object): Promise<void> {
  cell.cell.documents['nonconformity.yaml'] = { ...OPEN, ...more };
  writeCell(cell.cell, cell.root);
  await cell.services.intake.run(cell.root, 'local:tester');
  await cell.services.assessor.assess('L-1', 'local:tester');
}
const waiting = async () =>
  (await cell.services.waiting.all()).filter(({ thing }) => /^(disposition|nonconformity):/.test(thing));
const decide = (person: string, thing: string) =>
  cell.sign(person, thing, { meaning: 'decided', outcome: 'accepted', reason: 'seen (invented)' });

it('is decided by process and quality, closed by quality, and holds its implant back until then, and no other', async () => {
  await takeIn({});
  await cell.review('L-1');
  expect(await refusalOf(cell.release('L-1', ['L-1-I1']))).toContain(
    'Nonconformity NC-1 is open: nobody evaluated it.',
  );
  await cell.release('L-1', ['L-1-I2']);

  await takeIn({ ...DECIDED, reason: 'evaluated (invented)' });
  const [disposition] = await waiting();
  expect(disposition).toMatchObject({ meaning: 'decided', who: expect.arrayContaining(['P-PE', 'P-QE']) });
  await decide('P-PE', disposition!.thing);
  expect((await waiting()).map(({ who }) => who)).toEqual([['P-QE']]);
  expect(await refusalOf(decide('P-RE', disposition!.thing))).toContain('needs the role');
  await decide('P-QE', disposition!.thing);
  expect(await waiting()).toEqual([]);

  await takeIn({ ...DECIDED, ...CLOSED });
  const [closure] = await waiting();
  expect(closure).toMatchObject({ meaning: 'approved', who: ['P-QE'] });
  expect(await refusalOf(cell.sign('P-PE', closure!.thing, { meaning: 'approved' }))).toContain('needs the role');
  await cell.sign('P-QE', closure!.thing, { meaning: 'approved' });
  await cell.services.assessor.assess('L-1', 'local:tester');
  await cell.review('L-1');
  await cell.release('L-1', ['L-1-I1']);
});
