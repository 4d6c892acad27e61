import os from 'node:os';
import { writeCell } from '../support/cell.js';
import { PASSWORD } from '../support/people.js';
import { runCommand } from '../support/run-command.js';
import { SigningCell } from '../support/signing-cell.js';

let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open();
});
afterAll(() => cell.close());

/** The command, which takes in a supplier that was not there before. */
function takeIn(supplier: string, more: readonly string[], password = PASSWORD) {
  const document = { kind: 'supplier', format: 1, supplier, title: 'Invented supplier' };
  const folder = writeCell({ documents: { 'supplier.yaml': document }, sheets: {}, files: {} });
  return runCommand(cell.folder.path, ['--json', 'intake', folder, ...more], `${password}\n`);
}

const byPerson = ['--password-stdin', '--person'];
const local = `local:${os.userInfo().username}`;

async function actorOf(supplier: string, person?: string): Promise<string | undefined> {
  const { trail, ledger } = cell.services.store.read;
  const [entry] = await trail.before({ thing: supplier, person }, (await ledger.size()) + 1, 1);
  return entry?.actor;
}

it('names the account of the machine, and the person beside it who proved to be there', async () => {
  expect(await takeIn('S-A', [])).toMatchObject({ code: 0 });
  expect(await actorOf('S-A')).toBe(local);
  expect(await takeIn('S-B', [...byPerson, 'P-OP'])).toMatchObject({ code: 0 });
  const both = `person:P-OP through ${local}`;
  expect(await actorOf('S-B')).toBe(both);
  for (const asked of ['P-OP', 'person:P-OP', os.userInfo().username, local, both]) {
    expect(await actorOf('S-B', asked)).toBe(both);
  }
  for (const other of ['P-O', 'P', 'person:P-QE', 'local:nobody']) expect(await actorOf('S-B', other)).toBeUndefined();
});

it('is told by the trace of that person', async () => {
  const { matches } = await cell.services.tracer.trace('P-OP');
  expect(JSON.stringify(matches)).toContain('supplier S-B, revision 1');
  expect(JSON.stringify(matches)).not.toContain('supplier S-A, revision 1');
});

it.each([
  ['a wrong password', 'P-OP', 'nine loud lanterns', 'identifier or password is wrong'],
  ['a person without an account', 'GHOST', PASSWORD, 'identifier or password is wrong'],
  ['an auditor', 'P-AU', PASSWORD, 'an auditor reads everything and changes nothing'],
])('refuses %s with 5, and stores nothing', async (_, person, password, why) => {
  const { code, text } = await takeIn('S-C', [...byPerson, person], password);
  expect([code, text]).toEqual([5, expect.stringContaining(why)]);
  expect(await cell.services.store.read.entries.current('supplier', 'S-C')).toBeUndefined();
});

it('records what an auditor tried, under person and machine', async () => {
  const { trail, ledger } = cell.services.store.read;
  await takeIn('S-C', [...byPerson, 'P-AU']);
  const [entry] = await trail.before({ person: 'P-AU' }, (await ledger.size()) + 1, 1);
  expect(entry).toMatchObject({ event: 'act-refused', actor: `person:P-AU through ${local}` });
});
