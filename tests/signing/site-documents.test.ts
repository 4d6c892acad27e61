import { temporaryFolder, writeCell } from '../support/cell.js';
import { SITE_DOCUMENTS } from '../support/documents/site.js';
import { provedActs } from '../support/people.js';
import { refusalOf, SigningCell } from '../support/signing-cell.js';

/** Of the documents of a site those that rest on nothing but its family. */
const TAKEN = ['route/permission', 'degradation/medium', 'design/need', 'design/input', 'design/hazard'].map(
  (name) => `site/${name}.yaml`,
);
const KINDS = ['route-permission', 'test-medium', 'user-need', 'design-input', 'hazard'];

let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open();
  const documents = Object.fromEntries(TAKEN.map((name) => [name, SITE_DOCUMENTS[name]!]));
  await cell.services.intake.run(writeCell({ documents, sheets: {}, files: {} }, temporaryFolder('site')), 'local:t');
  await provedActs(cell.services).giveRole('P-AD', 'P-RE', 'regulatory');
});
afterAll(() => cell.close());

const waiting = async () =>
  (await cell.services.waiting.all()).filter(({ thing }) => KINDS.some((kind) => thing.startsWith(`${kind}:`)));

it('waits for the author of each document first, and for no approval before that', async () => {
  const open = await waiting();
  expect(open.map(({ thing, act }) => `${act}: ${thing.split(':')[0]}`).sort()).toEqual(
    KINDS.map((kind) => `sign a document as its author: ${kind}`).sort(),
  );
  expect(await refusalOf(cell.sign('P-QE', 'user-need:UN-1@1', { meaning: 'approved' }))).toMatch(/REFUSED/);
});

it('lets quality approve what somebody else wrote, and nobody what they wrote themselves', async () => {
  await cell.sign('P-PE', 'user-need:UN-1@1', { meaning: 'performed' });
  expect(
    (await waiting()).find(({ thing, meaning }) => thing.startsWith('user-need') && meaning === 'approved'),
  ).toEqual(expect.objectContaining({ act: 'approve a document', who: ['P-QE'] }));
  await cell.sign('P-QE', 'user-need:UN-1@1', { meaning: 'approved' });
  await cell.sign('P-QE', 'hazard:HZ-1@1', { meaning: 'performed' });
  expect(await refusalOf(cell.sign('P-QE', 'hazard:HZ-1@1', { meaning: 'approved' }))).toMatch(/REFUSED/);
  expect((await waiting()).filter(({ thing }) => thing.startsWith('user-need'))).toEqual([]);
});

it('has a legal route approved by whoever knows the law, and by nobody else', async () => {
  await cell.sign('P-PE', 'route-permission:RP-1@1', { meaning: 'performed' });
  expect(await refusalOf(cell.sign('P-QE', 'route-permission:RP-1@1', { meaning: 'approved' }))).toMatch(/REFUSED/);
  const { statement } = await cell.sign('P-RE', 'route-permission:RP-1@1', { meaning: 'approved' });
  expect(statement).toMatchObject({ meaning: 'approved', person: { code: 'P-RE', role: 'regulatory' } });
});

it('tells on the trace of a document who signed it', async () => {
  const need = (await cell.services.tracer.trace('UN-1')).matches[0]!;
  const acts = need.back!.filter(({ kind }) => kind === 'act').map(({ name }) => name);
  expect(acts.join()).toMatch(/performed by P-PE/);
  expect(acts.join()).toMatch(/approved by P-QE/);
});
