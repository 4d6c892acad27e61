// The check `statement-signed` asks for what is signed here.
import { addDesigns } from '../support/documents/designs.js';
import { refusalOf, SigningCell } from '../support/signing-cell.js';

let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open((what) => {
    addDesigns(what);
    delete what.documents['site/route/permission.yaml']!.approval;
  });
  await cell.services.accountActs.giveRole('P-AD', 'P-RE', 'regulatory');
});
afterAll(() => cell.close());

const assess = () => cell.services.assessor.assess('L-1', 'local:tester');

it('lets a regulatory person approve the route, sign the statement of each implant, and then the lot be released', async () => {
  await cell.sign('P-RE', 'route-permission:RP-1@1', { meaning: 'approved' });
  await assess();
  const waiting = (await cell.services.waiting.all()).filter(({ thing }) => thing.startsWith('custom statement:'));
  expect(waiting.map(({ title, who }) => [title, who])).toEqual([
    ['statement of the custom-made device L-1-I1, lot L-1', ['P-RE']],
    ['statement of the custom-made device L-1-I2, lot L-1', ['P-RE']],
  ]);
  const first = waiting[0]!.thing;
  expect(await refusalOf(cell.sign('P-QE', first, { meaning: 'approved' }))).toContain('needs the role regulatory');
  await cell.sign('P-RE', first, { meaning: 'approved' });
  await assess();
  await cell.review('L-1');
  expect(await refusalOf(cell.release('L-1', ['L-1-I2']))).toContain('is signed by nobody');
  await cell.release('L-1', ['L-1-I1']);
  const { dossier } = (await assess()).facts;
  expect(dossier.signatures.flatMap(({ statement }) => statement.subjects.map(({ kind }) => kind))).not.toContain(
    'custom statement',
  );
});
