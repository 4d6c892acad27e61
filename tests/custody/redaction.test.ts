import fs from 'node:fs';
import path from 'node:path';
import { makeBackup } from '../../src/custody/backup.js';
import { checkIntegrity } from '../../src/custody/integrity.js';
import { redactEvidence } from '../../src/custody/redaction.js';
import { restoreBackup } from '../../src/custody/restore.js';
import { sha256Hex } from '../../src/dossier/canonical.js';
import type { Event } from '../../src/ledger/event.js';
import { Proof } from '../../src/people/proof.js';
import { EvidenceFolder } from '../../src/store/evidence/evidence-folder.js';
import { makeCellWithHistory, temporaryFolder, writeCell } from '../support/cell.js';
import { makeTestPeople, PASSWORD, provedActs } from '../support/people.js';
import { openServices, type Services } from '../support/services.js';
import { ACTOR } from './folder.js';

const SCAN = 'an invented scan';
const SCAN_SHA256 = sha256Hex(SCAN);
const NOTE = 'an invented letter';
const NOTE_SHA256 = sha256Hex(NOTE);

let services: Services;
let folder: string;

beforeAll(async () => {
  const cell = makeCellWithHistory(1);
  cell.documents['lots/L-1/lot.yaml']!.attachments = [
    { file: 'attachments/scan.txt', title: 'CT scan', personalData: true },
    { file: 'attachments/letter.txt', title: 'letter of the supplier' },
  ];
  cell.files['lots/L-1/attachments/scan.txt'] = SCAN;
  cell.files['lots/L-1/attachments/letter.txt'] = NOTE;
  folder = writeCell(cell);
  services = await openServices(path.join(temporaryFolder('redaction'), 'data'));
  await services.intake.run(folder, ACTOR);
  await makeTestPeople(services);
  await provedActs(services).giveRole('P-AD', 'P-RE', 'regulatory');
});
afterAll(() => services.store.close());

const prove = (person: string) => services.accounts.prove(person, PASSWORD);
const redact = async (sha256: string, first: string, second: string, reason = 'the letter names a patient') =>
  redactEvidence(services.store, sha256, [await prove(first), await prove(second)], reason);

describe('evidence flagged as personal data (ASVS 8.3.4)', () => {
  it('lies apart, and only its hash goes into the lot file', async () => {
    const { evidence } = services.store;
    expect(await evidence.liesApart(SCAN_SHA256)).toBe(true);
    expect(path.relative(services.store.folder.evidence, await evidence.pathOf(SCAN_SHA256))).toMatch(/^personal\//);
    expect(await evidence.liesApart(NOTE_SHA256)).toBe(false);
    const { facts, dossierText } = await services.assessor.assess('L-1', ACTOR);
    expect(facts.dossier.evidence.find((item) => item.sha256 === SCAN_SHA256)).toMatchObject({
      fileName: 'personal data',
      use: 'personal data',
    });
    expect(dossierText).not.toContain(SCAN);
  });

  it('is moved apart when the flag comes later', async () => {
    const file = path.join(temporaryFolder('later'), 'x.txt');
    fs.writeFileSync(file, 'flagged later');
    const { evidence } = services.store;
    const { sha256 } = await evidence.keep(file);
    expect(await evidence.liesApart(sha256)).toBe(false);
    await evidence.keep(file, { personalData: true });
    expect(await evidence.liesApart(sha256)).toBe(true);
    expect((await evidence.list()).filter((name) => name === sha256)).toHaveLength(1);
    await evidence.verify(sha256);
  });
});

describe('redaction', () => {
  const still = async () =>
    expect(fs.readFileSync(await services.store.evidence.pathOf(NOTE_SHA256), 'utf8')).toBe(NOTE);

  it('takes two people of two roles who have both shown who they are', async () => {
    const refused = { code: 'REFUSED' };
    await expect(redact(NOTE_SHA256, 'P-QE', 'P-QE')).rejects.toMatchObject(refused);
    await expect(redact(NOTE_SHA256, 'P-QE', 'P-OP')).rejects.toMatchObject(refused);
    await expect(redact(NOTE_SHA256, 'P-AU', 'P-RE')).rejects.toMatchObject(refused);
    await expect(redact(NOTE_SHA256, 'P-QE', 'P-RE', ' ')).rejects.toMatchObject({ code: 'BAD_INPUT' });
    await expect(redact('0'.repeat(64), 'P-QE', 'P-RE')).rejects.toMatchObject({ code: 'NOT_FOUND' });
    const alike = { person: 'P-RE', name: 'Rita', at: '2031-01-01T00:00:00Z' } as unknown as Proof;
    const forged = [await prove('P-QE'), alike] as const;
    await expect(redactEvidence(services.store, NOTE_SHA256, forged, 'why')).rejects.toMatchObject(refused);
    const refusals = (await services.store.read.events.ofTypes(['act-refused'])).map(({ event }) => event);
    expect(refusals.filter((event) => event.type === 'act-refused' && event.subject.key === NOTE_SHA256)).toHaveLength(
      3,
    );
    await still();
  });

  it('waits while a legal hold lies on a lot that rests on the file', async () => {
    const { stateActs } = services;
    await stateActs.placeLegalHold(await prove('P-QE'), 'L-1', 'a question of the court');
    await expect(redact(NOTE_SHA256, 'P-QE', 'P-RE')).rejects.toMatchObject({
      code: 'REFUSED',
      message: expect.stringContaining('a question of the court'),
    });
    await still();
    await expect(stateActs.liftLegalHold(await prove('P-QE'), 'L-1', 'answered')).rejects.toMatchObject({
      code: 'REFUSED',
    });
    await stateActs.liftLegalHold(await prove('P-RE'), 'L-1', 'answered');
  });

  it('removes the bytes, keeps hash and tombstone, and is no damage', async () => {
    const { store } = services;
    const before = await store.evidence.pathOf(NOTE_SHA256);
    await redact(NOTE_SHA256, 'P-RE', 'P-QE');
    expect(fs.existsSync(before)).toBe(false);
    expect(await store.evidence.tombstone(NOTE_SHA256)).toMatchObject({
      sha256: NOTE_SHA256,
      persons: ['P-RE', 'P-QE'],
    });
    await expect(store.evidence.verify(NOTE_SHA256)).rejects.toMatchObject({ code: 'NOT_FOUND' });
    expect(await checkIntegrity(store)).toMatchObject({ faults: [] });
    expect(await store.verifyLedger({ files: true })).toMatchObject({ ok: true });
    await expect(redact(NOTE_SHA256, 'P-RE', 'P-QE')).rejects.toMatchObject({ code: 'CONFLICT' });
  });

  it('is not undone by taking the folder in again, nor by a backup', async () => {
    await services.intake.run(folder, ACTOR);
    expect(await services.store.evidence.list()).not.toContain(NOTE_SHA256);
    const file = path.join(temporaryFolder('backup'), 'b.zip');
    await makeBackup(services.store, file, ACTOR, { withKeys: false });
    expect(fs.readFileSync(file).includes(NOTE)).toBe(false);
    const { integrity } = await restoreBackup(file, path.join(temporaryFolder('restored'), 'data'), ACTOR);
    expect(integrity.faults).toEqual([]);
  });

  it('is finished by the next check when the program ended in between', async () => {
    const { store } = services;
    const place = new EvidenceFolder(store.folder.evidence).placeOf(NOTE_SHA256);
    fs.rmSync(`${place}.redacted`);
    fs.writeFileSync(place, NOTE);
    expect(await checkIntegrity(store)).toMatchObject({ faults: [] });
    expect(fs.existsSync(place)).toBe(false);
    expect(await store.evidence.tombstone(NOTE_SHA256)).toBeDefined();
  });

  it('cannot be pretended with a tombstone alone', async () => {
    const { store } = services;
    const place = await store.evidence.pathOf(SCAN_SHA256);
    const note = { format: 1, sha256: SCAN_SHA256, redactedAt: '2031-01-01T00:00:00Z', persons: ['P-QE', 'P-RE'] };
    fs.writeFileSync(`${place}.redacted`, JSON.stringify(note));
    fs.rmSync(place);
    const { faults } = await checkIntegrity(store);
    expect(faults.map(({ name }) => name)).toEqual([SCAN_SHA256, SCAN_SHA256]);
    expect(await store.verifyLedger({ files: true })).toMatchObject({ ok: false });
  });

  it('rests on no word of the installation alone: no forged one takes bytes, nor does the forged end of a legal hold', async () => {
    const { store, stateActs } = services;
    const forge = (event: Event) => store.change(ACTOR, (change) => change.events.add(event, 'forged'));
    const rows = (await store.read.evidence.page('')).filter(
      ({ sha256 }) => ![NOTE_SHA256, SCAN_SHA256].includes(sha256),
    );
    const resting: string[] = [];
    for (const { sha256 } of rows)
      if ((await store.read.trace.lotsRestingOn(sha256)).includes('L-1')) resting.push(sha256);
    const [held, taken] = resting as [string, string];
    const bytesOf = async (sha256: string) => sha256Hex(fs.readFileSync(await store.evidence.pathOf(sha256)));

    await stateActs.placeLegalHold(await prove('P-QE'), 'L-1', 'a question of the court');
    await forge({ type: 'legal-hold-lifted', lot: 'L-1' });
    await expect(redact(held, 'P-QE', 'P-RE')).rejects.toMatchObject({
      code: 'ALTERED',
      message: expect.stringMatching(/\(legal-hold-lifted\) does not hold \(not signed\)/),
    });
    expect(await bytesOf(held)).toBe(held);

    await forge({ type: 'evidence-redacted', sha256: taken, persons: ['P-QE', 'P-RE'] });
    await checkIntegrity(store);
    expect(await bytesOf(taken)).toBe(taken);
    const file = path.join(temporaryFolder('forged'), 'b.zip');
    const { damaged } = await makeBackup(store, file, ACTOR, { withKeys: false });
    expect(damaged.map(({ path: name }) => name)).not.toContainEqual(expect.stringContaining(taken));
    expect(fs.readFileSync(file).includes(`${taken}.redacted`)).toBe(false);
  });
});
