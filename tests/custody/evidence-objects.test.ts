import fs from 'node:fs';
import path from 'node:path';
import { makeBackup } from '../../src/custody/backup.js';
import { checkIntegrity } from '../../src/custody/integrity.js';
import { redactEvidence } from '../../src/custody/redaction.js';
import { restoreBackup } from '../../src/custody/restore.js';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { Store } from '../../src/store/store.js';
import { makeCellWithHistory, temporaryFolder, writeCell } from '../support/cell.js';
import { keyOf, ObjectServer } from '../support/object-server.js';
import { makeTestPeople, PASSWORD, provedActs } from '../support/people.js';
import { runCommand } from '../support/run-command.js';
import { openServices, type Services } from '../support/services.js';
import { ACTOR } from './folder.js';

const LETTER = 'an invented letter';
const LETTER_SHA256 = sha256Hex(LETTER);
const SCAN = 'an invented scan';
const SCAN_SHA256 = sha256Hex(SCAN);

const server = new ObjectServer();
const data = path.join(temporaryFolder('objects'), 'data');
let services: Services;

/** A cell whose lot came first without, then with attachments. */
const cell = (isLater: boolean) => {
  const made = makeCellWithHistory(1);
  if (!isLater) return writeCell(made);
  made.documents['lots/L-1/lot.yaml']!.attachments = [
    { file: 'scan.txt', title: 'CT scan', personalData: true },
    { file: 'letter.txt', title: 'letter of the supplier' },
  ];
  Object.assign(made.files, { 'lots/L-1/scan.txt': SCAN, 'lots/L-1/letter.txt': LETTER });
  return writeCell(made);
};
const objects = () => [...server.objects.keys()].map((key) => key.replace('cell/', '')).sort();
const faults = async () =>
  (await checkIntegrity(services.store)).faults.map(({ what, name, fault }) => [what, name, fault]);

beforeAll(async () => {
  await server.listen();
  process.env.LOTWRIGHT_EVIDENCE_KEY = server.credentials.accessKeyId;
  process.env.LOTWRIGHT_EVIDENCE_SECRET = server.credentials.secretAccessKey;
  services = await openServices(data);
  await services.intake.run(cell(false), ACTOR);
  await makeTestPeople(services);
  await provedActs(services).giveRole('P-AD', 'P-RE', 'regulatory');
});
afterAll(async () => {
  await services.store.close();
  await server.close();
  for (const name of ['KEY', 'SECRET', 'CREDENTIALS']) delete process.env[`LOTWRIGHT_EVIDENCE_${name}`];
});

it('moves the evidence of a folder there in one command; who had the folder open stores nothing in the former place', async () => {
  const before = await services.store.evidence.list();
  const { code, text } = await runCommand(data, ['relocate', '--evidence', server.address()]);
  expect([code, text]).toEqual([0, expect.stringMatching(/Moved \d+ files of evidence, .* read again from there/)]);
  expect(objects()).toEqual(before);
  expect(fs.existsSync(path.join(data, 'evidence.moved', before[0]!.slice(0, 2), before[0]!))).toBe(true);
  const size = await services.store.read.ledger.size();
  await expect(services.intake.run(cell(true), ACTOR)).rejects.toThrow('moved elsewhere meanwhile');
  expect(await services.store.read.ledger.size()).toBe(size);
  await services.store.close();
  services = await openServices(data);
  expect(await faults()).toEqual([]);
  expect(await services.store.verifyLedger({ files: true })).toMatchObject({ ok: true });
  await expect(runCommand(data, ['relocate', '--evidence', server.address()])).resolves.toMatchObject({ code: 2 });
});

it('refuses a place that another installation uses, and leaves the folder as it was', async () => {
  const other = path.join(temporaryFolder('other'), 'data');
  const second = await openServices(other);
  await second.store.evidence.keep(Buffer.from('of the other'));
  await second.store.close();
  const { code, text } = await runCommand(other, ['relocate', '--evidence', server.address()]);
  expect([code, text]).toEqual([2, expect.stringContaining('which this folder does not have')]);
  expect(DataFolder.open(other).evidenceStore).toBeUndefined();
  expect(await (await Store.open(DataFolder.open(other))).evidence.list()).toEqual([sha256Hex('of the other')]);
});

it('stores nothing of an intake when the credentials have expired, and all of it with new ones from a file', async () => {
  const size = await services.store.read.ledger.size();
  server.expired.push('cell-1');
  server.credentials = { accessKeyId: 'cell-2', secretAccessKey: 'another', sessionToken: 'of an hour' as string };
  const refused = { code: 'STORAGE', message: expect.stringContaining('have expired') };
  await expect(services.intake.run(cell(true), ACTOR)).rejects.toMatchObject(refused);
  expect(await services.store.read.ledger.size()).toBe(size);
  const file = path.join(path.dirname(data), 'credentials.json');
  const { accessKeyId: key, secretAccessKey: secret, sessionToken: token } = server.credentials;
  fs.writeFileSync(file, JSON.stringify({ key, secret, token }), { mode: 0o600 });
  process.env.LOTWRIGHT_EVIDENCE_CREDENTIALS = file;
  await services.intake.run(cell(true), ACTOR);
  expect(objects()).toEqual(expect.arrayContaining([LETTER_SHA256, `personal/${SCAN_SHA256}`]));
  expect(await services.store.evidence.liesApart(SCAN_SHA256)).toBe(true);
  expect(await faults()).toEqual([]);
  expect(fs.readFileSync(path.join(data, 'folder.json'), 'utf8')).not.toContain(secret);
});

it('refuses credentials that others of the machine may read, and says what is missing without any', async () => {
  const file = process.env.LOTWRIGHT_EVIDENCE_CREDENTIALS!;
  fs.chmodSync(file, 0o644);
  await expect(services.store.evidence.list()).rejects.toThrow('set its mode to 0600');
  fs.chmodSync(file, 0o600);
  delete process.env.LOTWRIGHT_EVIDENCE_CREDENTIALS;
  delete process.env.LOTWRIGHT_EVIDENCE_SECRET;
  await expect(services.store.evidence.list()).rejects.toThrow('set LOTWRIGHT_EVIDENCE_KEY and');
  process.env.LOTWRIGHT_EVIDENCE_CREDENTIALS = file;
});

it('names an object that is missing and one that differs, and finds them again when they are back', async () => {
  const [missing, other] = objects().filter((name) => name.length === 64) as [string, string];
  const kept = [missing, other].map((name) => server.objects.get(keyOf(name))!);
  server.objects.delete(keyOf(missing));
  server.objects.set(keyOf(other), [{ ...kept[1]![0]!, bytes: Buffer.from('altered') }]);
  expect(
    (await faults()).map(([what, name, fault]) => [what, name, (fault as { facts: { fault: object } }).facts.fault]),
  ).toEqual([
    ['evidence', missing, { code: 'is missing' }],
    ['evidence', other, { code: 'was altered' }],
  ]);
  // Of the one that differs this machine has the right bytes still, and a backup gets those.
  const backup = path.join(temporaryFolder('damaged'), 'b.zip');
  const { damaged } = await makeBackup(services.store, backup, ACTOR, { withKeys: false });
  expect(damaged.map((one) => path.basename(one.path))).toEqual([missing]);
  for (const [index, name] of [missing, other].entries()) server.objects.set(keyOf(name), kept[index]!);
  expect(await faults()).toEqual([]);
});

it('is saved and comes back into a folder that needs no object store', async () => {
  const backup = path.join(temporaryFolder('backup'), 'b.zip');
  expect(await makeBackup(services.store, backup, ACTOR, { withKeys: false })).toMatchObject({ damaged: [] });
  const restored = path.join(temporaryFolder('restored'), 'data');
  const { integrity } = await restoreBackup(backup, restored, ACTOR);
  expect(integrity.faults).toEqual([]);
  expect(DataFolder.open(restored).evidenceStore).toBeUndefined();
  expect(fs.readFileSync(path.join(restored, 'evidence', LETTER_SHA256.slice(0, 2), LETTER_SHA256), 'utf8')).toBe(
    LETTER,
  );
});

it('loses the bytes of a redaction there and in the copies here, and keeps a tombstone', async () => {
  server.keepsVersions = true;
  const copy = await services.store.evidence.pathOf(LETTER_SHA256);
  const proofs = [
    await services.accounts.prove('P-QE', PASSWORD),
    await services.accounts.prove('P-RE', PASSWORD),
  ] as const;
  await redactEvidence(services.store, LETTER_SHA256, proofs, 'the letter names a patient');
  expect(server.objects.has(keyOf(LETTER_SHA256))).toBe(false);
  expect(objects()).toContain(`${LETTER_SHA256}.redacted`);
  expect(fs.existsSync(copy)).toBe(false);
  expect(await services.store.evidence.tombstone(LETTER_SHA256)).toMatchObject({ persons: ['P-QE', 'P-RE'] });
  expect(await faults()).toEqual([]);
  await services.intake.run(cell(true), ACTOR);
  expect(server.current(keyOf(LETTER_SHA256))).toBeUndefined();
});

it('is where a fresh folder begins when the surroundings name it, and another place is refused afterwards', async () => {
  const fresh = path.join(temporaryFolder('fresh'), 'data');
  process.env.LOTWRIGHT_EVIDENCE = server.address('fresh');
  try {
    const store = await Store.open(DataFolder.open(fresh));
    await store.evidence.keep(Buffer.from('first'));
    await store.close();
    expect(server.current(keyOf(sha256Hex('first'), 'fresh'))).toBeDefined();
    process.env.LOTWRIGHT_EVIDENCE = server.address('elsewhere');
    await expect(Store.open(DataFolder.open(fresh))).rejects.toMatchObject({ code: 'CONFLICT' });
  } finally {
    delete process.env.LOTWRIGHT_EVIDENCE;
  }
});
