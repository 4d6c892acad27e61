import fs from 'node:fs';
import path from 'node:path';
import { systemActor } from '../../src/cli/run.js';
import { makeBackup } from '../../src/custody/backup.js';
import { checkIntegrity, inWords } from '../../src/custody/integrity.js';
import { ReadHeads } from '../../src/custody/read-heads.js';
import { restoreBackup } from '../../src/custody/restore.js';
import { storedFaultText } from '../../src/report/phrases/stored-faults.js';
import { temporaryFolder } from '../support/cell.js';
import { runCommand } from '../support/run-command.js';
import { startTestService, type TestService } from '../support/service.js';

let service: TestService;
let heads: ReadHeads;
beforeAll(async () => {
  service = await startTestService();
  heads = new ReadHeads(service.services.store, (says) => expect.fail(says));
  await heads.start();
});
afterAll(async () => {
  await heads.stop();
  await service.close();
});

const page = async (person: string, query = '') => {
  const { status, text } = await (await service.as(person)).get(`/audit/reads${query}`);
  const rows = [...text.matchAll(/<tr><td[\s\S]*?<\/tr>/g)].map(([row]) => row.replaceAll(/<[^>]+>|\s+/g, ' ').trim());
  return { status, text, rows };
};

it('shows auditors and administrators who read which case when, and nobody else (ASVS 8.3.5)', async () => {
  const { store } = service.services;
  const lot = (await store.read.entries.current('lot', 'L-1'))!.body;
  const { serial, case: ofCase } = lot.implants[0]!;
  const { sha256 } = (await store.read.evidence.page(''))[0]!;
  await service.ask.get('/lots/L-1/tests');
  await (await service.as('P-RE')).get('/api/v1/lots/L-01');
  await service.ask.get(`/evidence/${sha256}`);
  await service.ask.get('/find').query({ id: 'L-1-I1' });
  await service.ask.get('/sign').query({ thing: 'lot file L-1', meaning: 'reviewed' });
  await service.ask.get('/people');
  await service.ask.get('/lots');

  const { rows } = await page('P-AU');
  expect(rows).toHaveLength(6);
  // A list names the cases that stood on it.
  expect(rows.shift()).toMatch(/P-QE +page +K-.* more +\/lots$/);
  expect(rows[0]).toMatch(/P-QE +what is signed lot file L-1 .*\/sign$/);
  expect(rows.at(-1)).toMatch(new RegExp(`P-QE +lot L-1 .*${ofCase}.*/lots/L-1/tests$`));
  expect((await page('P-AD', `?thing=${serial}`)).rows).toHaveLength(4);
  expect((await page('P-AD', `?thing=${ofCase}&person=P-QE`)).rows.length).toBeGreaterThanOrEqual(2);
  expect((await page('P-AD', `?thing=${sha256.slice(0, 12)}`)).rows).toHaveLength(1);
  expect((await page('P-AD', '?person=P-RE')).rows).toEqual([expect.stringContaining('/api/v1/lots/L-01')]);
  expect((await page('P-QE')).status).toBe(403);
  expect((await service.ask.get('/audit')).text).not.toContain('/audit/reads');
});

it('is bound to the audit trail: ledger verify and check name a line that was changed', async () => {
  const { store } = service.services;
  await service.ask.get('/lots/L-1');
  const before = await store.read.ledger.size();
  await heads.tell();
  await heads.tell();
  expect((await store.read.ledger.size()) - before).toBe(1);
  const verify = async () =>
    (await store.verifyLedger({ files: true })).faults.map((one) => storedFaultText(one.fault));
  expect(await verify()).toEqual([]);
  expect((await checkIntegrity(store)).faults).toEqual([]);

  // What was read since is in no backup: it is bound to a secret that none holds.
  await service.ask.get('/lots/L-1');
  const [file] = store.reads.files();
  const where = path.join(store.folder.reads, file!);
  const text = fs.readFileSync(where, 'utf8');
  const folder = temporaryFolder('backup');
  await makeBackup(store, path.join(folder, 'b.zip'), 'local:tester', { withKeys: false });
  const { integrity } = await restoreBackup(path.join(folder, 'b.zip'), path.join(folder, 'restored'), 'local:tester');
  expect(integrity.faults).toEqual([]);
  expect(text.startsWith(fs.readFileSync(path.join(folder, 'restored', 'reads', file!), 'utf8'))).toBe(true);
  fs.writeFileSync(where, text.replace(/"P-QE"(?=[^\n]*\n$)/, '"P-PE"'));
  expect(await verify()).toEqual([`${file} was altered`]);
  fs.writeFileSync(where, text.replace('P-QE', 'P-PE'));
  expect(await verify()).toEqual([`${file} was altered`]);
  expect((await checkIntegrity(store)).faults.map(inWords)).toEqual([
    { what: 'readings', name: file, says: 'was altered' },
  ]);
  fs.rmSync(where);
  expect(await verify()).toEqual([`${file} is missing`]);
  fs.writeFileSync(where, text);
  expect(await verify()).toEqual([]);
});

it('notes in the audit trail what a command reads at the machine, but of those that show no case', async () => {
  const { store } = service.services;
  const data = store.folder.path;
  expect((await runCommand(data, ['trace', 'L-1-I1', '--back'])).code).toBe(0);
  expect((await runCommand(data, ['status'])).code).toBe(0);
  expect((await runCommand(data, ['keys', 'list'])).code).toBe(0);
  const noted = (await store.read.events.ofTypes(['read-at-machine'])).map(({ actor, event }) => [actor, event]);
  expect(noted).toEqual([
    [systemActor(), { type: 'read-at-machine', asked: 'trace L-1-I1 --back' }],
    [systemActor(), { type: 'read-at-machine', asked: 'status' }],
  ]);

  const free = fs
    .readdirSync('src', { recursive: true, encoding: 'utf8' })
    .filter(
      (file) => file.endsWith('-command.ts') && fs.readFileSync(`src/${file}`, 'utf8').includes('isNoted: false'),
    );
  expect(free.map((file) => path.basename(file)).sort()).toEqual([
    'backup-command.ts',
    'intake-command.ts',
    'keys-command.ts',
    'ledger-command.ts',
    'legal-hold-command.ts',
    'look-at-command.ts',
    'people-command.ts',
    'redact-command.ts',
    'self-check-command.ts',
  ]);
});
