import fs from 'node:fs';
import path from 'node:path';
import Database from 'better-sqlite3';
import { DataFolder } from '../../src/store/data-folder.js';
import { Store } from '../../src/store/store.js';
import { ACTOR, openStore, temporaryFolder } from '../store/open-store.js';
import { programHold } from '../support/program-hold.js';
import { runCommand } from '../support/run-command.js';

let folder: string;
let remove: () => void;

beforeEach(async () => {
  ({ folder, remove } = temporaryFolder());
  await change();
});
afterEach(() => remove());

async function change(): Promise<void> {
  const store = await openStore(folder);
  await store.change(ACTOR, (change) => change.events.add(programHold(), 'pores'));
  await store.close();
}

const ledger = (...words: string[]) => runCommand(folder, words);
const custody = (...words: string[]) => runCommand(folder, words);

const attack = (statement: string): void => {
  const sql = new Database(path.join(folder, 'lotwright.sqlite'));
  sql.exec(`DROP TRIGGER "guard_Event_update"; ${statement}`);
  sql.close();
};

describe('ledger head', () => {
  it('prints one line: name, entries, root, signature; and notes that it was given out', async () => {
    const { code, text } = await ledger('ledger', 'head');
    expect(code).toBe(0);
    expect(text).toMatch(/^lotwright\.invalid\/[0-9a-f]{16} 3 [\w+/]{43}= [\w+/]{91}=\n$/);
    const { text: json } = await ledger('--json', 'ledger', 'head');
    const head = JSON.parse(json) as Record<string, string | number>;
    expect(Object.keys(head)).toEqual(['origin', 'size', 'root', 'line', 'checkpoint', 'key', 'verifierKey']);
    expect(head.size).toBe(4);
    const store = await openStore(folder);
    const given = await store.read.events.ofTypes(['exported']);
    await store.close();
    expect(given.map(({ event }) => event)).toMatchObject([
      { what: 'signed head', filter: { entries: '3' } },
      { what: 'signed head', filter: { entries: '4' } },
    ]);
  });
});

describe('ledger verify', () => {
  it('demands the bytes that a document was read from', async () => {
    const store = await openStore(folder);
    const body = { kind: 'supplier', format: 1, supplier: 'S1', title: 'Invented' };
    await store.change(ACTOR, ({ entries }) =>
      entries.add({ kind: 'supplier', key: 'S1', name: 'Invented', body, links: [] }),
    );
    await store.close();
    expect((await ledger('ledger', 'verify')).code).toBe(0);
    const { code, text } = await ledger('ledger', 'verify', '--evidence');
    expect(code).toBe(6);
    expect(text).toContain('supplier S1');
    expect(text).toContain('the file that it was read from is none of the evidence');
  });

  it('says that the trail holds, and that it has only grown since a head', async () => {
    const { text: line } = await ledger('ledger', 'head');
    await change();
    const { code, text } = await ledger('ledger', 'verify', '--evidence', '--head', line.trim());
    expect(text).toContain('The audit trail holds: 5 entries');
    expect(text).toContain('has only grown since: from 3 to 5 entries');
    expect(text).toContain('0 files were hashed again: evidence, records');
    expect(text).toMatch(/signed by the key of no person:\n(?: {2}.*\n)* {2}backups, restores, checks of the folder/);
    expect(code).toBe(0);
  });

  it('takes a head from a file, with cosigners that it shows', async () => {
    const { text: note } = await ledger('ledger', 'head', '--note');
    const file = path.join(folder, 'head.txt');
    // The cosigner of the example of C2SP tlog-cosignature: its signature is over another text, and is only shown.
    const cosigner =
      '— witness.example.com/w1 jWbPPwAAAABkGFDLEZMHwSRaJNiIDoe9DYn/zXcrtPHeolMI5OWXEhZCB9dlrDJsX3b2oyin1nPZqhf5nNo0xUe+mbIUBkBIfZ+qnA==\n';
    fs.writeFileSync(file, note + cosigner);
    const { code, text } = await ledger('ledger', 'verify', '--head-file', file);
    expect(text).toContain('Also signed by witness.example.com/w1 (key 8d66cf3f)');
    expect(code).toBe(0);
  });

  it('names what was changed although the guards are gone, and exits with 6', async () => {
    attack(`UPDATE "Event" SET reason = 'none' WHERE type = 'hold-placed'`);
    const { code, text } = await ledger('ledger', 'verify');
    expect(text).toContain('entry 3, lot L-1: its row in Event is not as it was recorded');
    expect(text).toContain('database guards: guard_Event_update is missing');
    expect(code).toBe(6);
    const { text: json } = await ledger('--json', 'ledger', 'verify');
    expect(JSON.parse(json)).toMatchObject({
      ok: false,
      seq: 3,
      faultCount: 2,
      faults: [{ kind: 'lot', key: 'L-1' }, {}],
    });
  });

  it('exits with 6 for a ledger that is not the one of the head', async () => {
    const { text: line } = await ledger('ledger', 'head');
    remove();
    ({ folder, remove } = temporaryFolder());
    await (await Store.open(DataFolder.open(folder))).close();
    await change();
    const { code, text } = await ledger('ledger', 'verify', '--head', line.trim());
    expect(text).toContain('of another audit trail');
    expect(code).toBe(6);
  });

  it('says which line is no head, which file is none, and that there is no folder, and makes nothing', async () => {
    expect(await ledger('ledger', 'verify', '--head', 'x')).toMatchObject({ code: 2 });
    const missing = await ledger('ledger', 'verify', '--head-file', path.join(folder, 'none'));
    expect(missing).toMatchObject({ code: 2, text: expect.stringContaining('--head-file: found') });
    remove();
    expect(await ledger('ledger', 'verify')).toMatchObject({
      code: 7,
      text: expect.stringContaining('no data folder at'),
    });
    expect(fs.existsSync(folder)).toBe(false);
  });

  it('says that a database is damaged', async () => {
    const handle = fs.openSync(path.join(folder, 'lotwright.sqlite'), 'r+');
    fs.writeSync(handle, Buffer.alloc(64, 7), 0, 64, 0);
    fs.closeSync(handle);
    const { code, text } = await ledger('ledger', 'verify');
    expect([code, text]).toEqual([6, expect.stringContaining('the database is damaged and cannot be read')]);
  });

  it.each([
    ['the key of the folder', `UPDATE "Event" SET body = '{' WHERE type = 'key-made'`, 'entry 2'],
    ['a record of something', `UPDATE "Event" SET body = x'ff', reason = 7 WHERE type = 'hold-placed'`, 'entry 3'],
  ])('and the check name a row that cannot be read, %s, and exit with 6', async (_, statement, entry) => {
    attack(statement);
    const verified = await ledger('ledger', 'verify');
    expect(verified).toMatchObject({ code: 6, text: expect.stringContaining(entry) });
    const checked = await custody('check');
    expect(checked).toMatchObject({
      code: 6,
      text: expect.stringContaining('its row in Event is not as it was recorded'),
    });
    for (const { text } of [verified, checked]) expect(text).not.toMatch(/\n\s+at /);
  });
});
