import fs from 'node:fs';
import path from 'node:path';
import Database from 'better-sqlite3';
import { vi } from 'vitest';
import { DailyCheck } from '../../src/custody/daily-check.js';
import { checkIntegrity, checkIntegrityAndRecord } from '../../src/custody/integrity.js';
import { folderFaultText } from '../../src/report/phrases/stored-faults.js';
import type { Services } from '../support/services.js';
import { until } from '../support/until.js';
import { ACTOR, cellWithRecord } from './folder.js';

let services: Services;
let data: string;

beforeEach(async () => {
  ({ services, data } = await cellWithRecord());
});
afterEach(() => services.store.close());

const names = async () =>
  (await checkIntegrity(services.store)).faults.map(({ what, name, fault }) => [what, name, folderFaultText(fault)]);

it('names evidence that was swapped, cut, emptied, deleted, or put in the place of another', async () => {
  const { evidence } = services.store;
  const [swapped, cut, emptied, deleted, other] = (await evidence.list()) as [string, string, string, string, string];
  const write = async (sha256: string, bytes: Buffer | string) => {
    fs.chmodSync(await evidence.pathOf(sha256), 0o644);
    fs.writeFileSync(await evidence.pathOf(sha256), bytes);
  };
  await write(swapped, fs.readFileSync(await evidence.pathOf(other)));
  await write(cut, fs.readFileSync(await evidence.pathOf(cut)).subarray(0, -1));
  await write(emptied, '');
  fs.rmSync(await evidence.pathOf(deleted));
  const faults = await names();
  expect(faults.map(([what, name]) => [what, name])).toEqual(
    [swapped, cut, emptied, deleted].sort().map((name) => ['evidence', name]),
  );
  expect(faults.find(([, name]) => name === deleted)![2]).toMatch(/is missing/);
  expect(faults.find(([, name]) => name === cut)![2]).toMatch(/was altered/);
  await expect(evidence.verify(cut)).rejects.toMatchObject({ code: 'ALTERED' });
});

it('names a record whose file was altered or is gone, and lists files that nothing names', async () => {
  const record = path.join(services.store.folder.records, 'LR-L-1-r1.pdf');
  fs.appendFileSync(record, ' ');
  expect(await names()).toEqual([['record', 'LR-L-1-r1.pdf', 'was altered']]);
  fs.rmSync(record);
  const stray = path.join(data, 'stray.txt');
  fs.writeFileSync(stray, 'nobody named me');
  const { sha256 } = await services.store.evidence.keep(stray);
  const report = await checkIntegrity(services.store);
  expect(report.faults).toEqual([
    {
      what: 'record',
      name: 'LR-L-1-r1.pdf',
      fault: { code: 'kept file', facts: { fault: { code: 'is missing' }, fileName: null } },
    },
  ]);
  expect(report.unreferenced).toEqual([sha256]);
});

it('names an archive of raw rows that was altered, in the check and in the audit, and misses none that is gone', async () => {
  const [log] = await services.store.read.logs.ofLot('L-1');
  const { sha256 } = log!.facts;
  const { archive } = await services.store.archivedLog(sha256);
  const index = JSON.parse(fs.readFileSync(`${archive}.json`, 'utf8'));
  index.members[0].line = 7;
  fs.writeFileSync(`${archive}.json`, JSON.stringify(index));
  expect(await names()).toEqual([['archive', sha256, 'was altered']]);
  const { faults } = await services.store.verifyLedger({ files: true });
  expect(faults.map(({ kind, key }) => [kind, key])).toEqual([['archive', sha256]]);
  services.store.archives.remove(sha256);
  expect(await names()).toEqual([]);
});

it('names a row that was changed from outside', async () => {
  const sql = new Database(path.join(data, 'lotwright.sqlite'));
  sql.exec(`DROP TRIGGER "guard_Revision_update"; UPDATE "Revision" SET "name" = 'x' WHERE "id" = 1`);
  sql.close();
  expect((await names()).length).toBeGreaterThan(0);
});

it('notes the result as an event: files, faults by name', async () => {
  const { store } = services;
  const clean = await checkIntegrityAndRecord(store, ACTOR);
  const lastEvent = async () => (await store.read.events.ofTypes(['integrity-checked'])).at(-1)!.event;
  expect(await lastEvent()).toMatchObject({ files: clean.files, faultCount: 0, faults: [] });
  const [first] = await store.evidence.list();
  fs.rmSync(await store.evidence.pathOf(first!));
  await checkIntegrityAndRecord(store, ACTOR);
  expect(await lastEvent()).toMatchObject({ faultCount: 1, faults: [{ what: 'evidence', name: first }] });
});

it('is done once a day while a service runs, and says when there is trouble', async () => {
  const { store } = services;
  const [first] = await store.evidence.list();
  fs.rmSync(await store.evidence.pathOf(first!));
  const said: string[] = [];
  const daily = new DailyCheck(store, { firstLookMs: 1, lookEveryMs: 20, onTrouble: (says) => said.push(says) });
  daily.start();
  const count = async () => (await store.read.events.ofTypes(['integrity-checked'])).length;
  await until(() => said.length > 0);
  const looks = vi.spyOn(store.read.events, 'ofTypes');
  await until(() => looks.mock.calls.length >= 3);
  looks.mockRestore();
  daily.stop();
  expect(said).toEqual([expect.stringContaining('found faults')]);
  expect(await count()).toBe(1);
});
