import { once } from 'node:events';
import fs from 'node:fs';
import http from 'node:http';
import type { AddressInfo } from 'node:net';
import path from 'node:path';
import { vi } from 'vitest';
import { checkIntegrity, checkIntegrityAndRecord } from '../../src/custody/integrity.js';
import { folderFaultText } from '../../src/report/phrases/stored-faults.js';
import { AnchorFile } from '../../src/store/anchor-file.js';
import { ACTOR, openStore } from '../store/open-store.js';
import { temporaryFolder } from '../support/cell.js';
import { programHold } from '../support/program-hold.js';
import { runCommand } from '../support/run-command.js';
import { copyOfTemplate } from '../support/template.js';
import { TimeAuthority } from '../support/time-authority.js';

// Not quick: OpenSSL plays the authority.

const folder = path.join(temporaryFolder('witnesses'), 'data');
const shelf = temporaryFolder('shelf');
const authority = new TimeAuthority();
let address = '';
beforeAll(async () => {
  address = await authority.listen();
  await copyOfTemplate('held-folder', change, folder);
});
afterAll(() => authority.close());

async function change(to = folder): Promise<void> {
  const store = await openStore(to);
  await store.change(ACTOR, (change) => change.events.add(programHold(), 'pores'));
  await store.close();
}

async function faults(): Promise<string[]> {
  const store = await openStore(folder);
  const found = await checkIntegrity(store);
  await store.close();
  return found.faults.map(({ what, name, fault }) => `${what} ${name}: ${folderFaultText(fault)}`);
}

const head = async (...options: string[]) => {
  const { code, text } = await runCommand(folder, ['--json', 'ledger', 'head', ...options]);
  return { code, ...(JSON.parse(text) as { witnessed?: { token: string }[]; size?: number; root?: string }) };
};
const heads = () => fs.readdirSync(shelf).sort();

it('gives the head as a mail that tells whoever gets it what to do', async () => {
  const { text } = await runCommand(folder, ['ledger', 'head', '--mail', 'archive@hospital.invalid']);
  const [top, ...rest] = text.split('\n\n');
  expect(top).toMatch(
    /^To: archive@hospital\.invalid\nSubject: Head of the audit trail lotwright\.invalid\/\S+, 3 entries\n/,
  );
  const line = rest.find((one) => one.startsWith('lotwright.invalid/'))!;
  expect(await runCommand(folder, ['ledger', 'verify', '--head', line])).toMatchObject({ code: 0 });
  expect(text).toMatch(/^[\x20-\x7e\n]+$/);
});

it('leaves the head in the folder of a witness, replaces nothing there, and compares from then on', async () => {
  const { witnessed, size } = await head('--drop', shelf);
  expect(witnessed).toMatchObject([{ by: shelf, size, token: null }]);
  await head('--drop', shelf);
  expect(heads()).toHaveLength(2);
  const [first] = heads();
  fs.appendFileSync(path.join(shelf, first!), 'kept');
  await head('--drop', shelf);
  expect(fs.readFileSync(path.join(shelf, first!), 'utf8')).toMatch(/kept$/);
  expect(await faults()).toEqual([]);
  expect(await head('--drop', path.join(shelf, 'none'))).toMatchObject({ error: { code: 'NOT_FOUND' } });
});

it('shows whoever puts the whole folder back, with key and anchor, and names a witness that is gone', async () => {
  const files = [path.join(folder, 'lotwright.sqlite'), AnchorFile.beside(folder).file];
  const before = files.map((file) => [file, fs.readFileSync(file)] as const);
  await change();
  await head('--drop', shelf);
  const after = files.map((file) => [file, fs.readFileSync(file)] as const);
  for (const [file, bytes] of before) fs.writeFileSync(file, bytes);
  expect(await faults()).toEqual([expect.stringMatching(/^witness .*: entries were cut off: the head covers \d+/)]);
  await change();
  await change();
  await change();
  expect(await faults()).toEqual([expect.stringMatching(/^witness .*: what the head covers was changed/)]);
  for (const [file, bytes] of after) fs.writeFileSync(file, bytes);
  expect(await faults()).toEqual([]);
  fs.renameSync(shelf, `${shelf}-away`);
  expect(await faults()).toEqual([
    expect.stringMatching(/^witness .*: cannot be looked at: .*is the disk of the witness/),
  ]);
  fs.mkdirSync(shelf);
  expect(await faults()).toEqual([expect.stringMatching(/holds no head of this audit trail any more/)]);
  fs.rmdirSync(shelf);
  fs.renameSync(`${shelf}-away`, shelf);
});

it('has the head stamped with the time by the authority that was named, and by no other', async () => {
  expect(await head('--stamp')).toMatchObject({ error: { code: 'CONFLICT' } });
  const configure = (...words: string[]) => runCommand(folder, ['ledger', 'authority', ...words]);
  expect(await configure(address)).toMatchObject({ code: 2 });
  expect(await configure('nowhere', '--certificates', authority.root)).toMatchObject({ code: 2 });
  expect(await configure(address, '--certificates', path.join(folder, 'folder.json'))).toMatchObject({ code: 2 });
  expect(await configure(address, '--certificates', authority.root)).toMatchObject({ code: 0 });
  const { witnessed, size, root } = await head('--stamp');
  const [stamp] = witnessed!;
  expect(stamp).toMatchObject({ by: 'Invented Authority', size, root });
  expect(await faults()).toEqual([]);
  const elsewhere = http.createServer((_, answer) => answer.writeHead(307, { location: address }).end());
  await once(elsewhere.listen(0, '127.0.0.1'), 'listening');
  const { port } = elsewhere.address() as AddressInfo;
  await configure(`http://127.0.0.1:${port}/`, '--certificates', authority.root);
  expect(await head('--stamp')).toMatchObject({ error: { code: 'STORAGE' } });
  elsewhere.close();
  await configure(address, '--certificates', new TimeAuthority().root);
  expect(await head('--stamp')).toMatchObject({ error: { code: 'ALTERED' } });
  expect(await faults()).toEqual([expect.stringMatching(/^witness Invented Authority: .*leads to none of those/)]);
  await configure(address, '--certificates', authority.root);
});

it('asks for a time stamp with the check of each day, and names an authority that gives none', async () => {
  const store = await openStore(folder);
  const stamps = async () =>
    (await store.read.events.ofTypes(['head-witnessed'])).filter(
      ({ event }) => 'token' in event && event.token !== null,
    ).length;
  const check = async () =>
    (await checkIntegrityAndRecord(store, ACTOR)).faults.map(({ name, fault }) => [name, folderFaultText(fault)]);
  const before = await stamps();
  expect(await check()).toEqual([]);
  expect(await stamps()).toBe(before);
  const now = Date.now();
  vi.setSystemTime(now + 21 * 3_600_000);
  try {
    expect(await check()).toEqual([]);
    expect(await stamps()).toBe(before + 1);
    expect(await check()).toEqual([]);
    expect(await stamps()).toBe(before + 1);
    vi.setSystemTime(now + 42 * 3_600_000);
    authority.close();
    expect(await head('--stamp')).toMatchObject({ error: { code: 'STORAGE' } });
    expect(await check()).toEqual([[address, expect.stringMatching(/^gave no time stamp: .*does not answer/)]]);
  } finally {
    vi.useRealTimers();
  }
  expect(await stamps()).toBe(before + 1);
  await store.close();
});

it('names a stamp of something else than the audit trail that is here', async () => {
  const store = await openStore(folder);
  const last = (await store.read.events.ofTypes(['head-witnessed'])).at(-1)!.event;
  await store.change(ACTOR, (change) => change.events.add({ ...last, size: 2 } as never));
  await store.close();
  expect(await faults()).toEqual([expect.stringMatching(/: the time stamp does not hold: it is of something else$/)]);
});
