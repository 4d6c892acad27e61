import fs from 'node:fs';
import path from 'node:path';
import { checkIntegrity, inWords } from '../../src/custody/integrity.js';
import { ReadHeads } from '../../src/custody/read-heads.js';
import { storedFaultText } from '../../src/report/phrases/stored-faults.js';
import { KeptFiles } from '../../src/store/kept-files.js';
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

  const { rows } = await page('P-AU');
  expect(rows).toHaveLength(5);
  expect(rows[0]).toMatch(/P-QE +what is signed lot file L-1 .*\/sign$/);
  expect(rows.at(-1)).toMatch(new RegExp(`P-QE +lot L-1 .*${ofCase}.*/lots/L-1/tests$`));
  expect((await page('P-AD', `?thing=${serial}`)).rows).toHaveLength(3);
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

  const [file] = store.reads.files();
  const where = path.join(store.folder.reads, file!);
  const text = fs.readFileSync(where, 'utf8');
  fs.writeFileSync(where, text.replace('P-QE', 'P-PE'));
  expect(await verify()).toEqual([`${file} was altered`]);
  expect((await checkIntegrity(store)).faults.map(inWords)).toEqual([
    { what: 'readings', name: file, says: 'was altered' },
  ]);
  fs.rmSync(where);
  expect(await verify()).toEqual([`${file} is missing`]);
  fs.writeFileSync(where, text);
  expect(new KeptFiles(store.folder).readsFault(file!, [])).toBeUndefined();
  expect(await verify()).toEqual([]);
});
