import { createHash } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { setImmediate as pause } from 'node:timers/promises';
import * as yauzl from 'yauzl';
import { ZipFile } from 'yazl';
import { makeBackup } from '../../src/custody/backup.js';
import { checkIntegrity } from '../../src/custody/integrity.js';
import { isBackupPath, MANIFEST_NAME } from '../../src/custody/manifest.js';
import { restoreBackup } from '../../src/custody/restore.js';
import { canonicalJson } from '../../src/dossier/canonical.js';
import type { Event } from '../../src/ledger/event.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { temporaryFolder } from '../support/cell.js';
import { replaced } from '../support/pdf-tampering.js';
import { programHold } from '../support/program-hold.js';
import { openServices, type Services } from '../support/services.js';
import { ACTOR, cellWithRecord } from './folder.js';

const outside = temporaryFolder('backups');
const place = (name: string) => path.join(outside, name);
const OPTIONS = { compress: false, mtime: new Date('2031-01-01T00:00:00Z'), mode: 0o100600 };

let services: Services;
let data: string;
/** A good backup without keys, and what it holds. */
let good: string;
let manifest: string;
let contents: Map<string, Buffer>;

beforeAll(async () => {
  ({ services, data } = await cellWithRecord());
  good = place('good.zip');
  ({ manifestSha256: manifest } = await makeBackup(services.store, good, ACTOR, { withKeys: false }));
  contents = await unzip(good);
});
afterAll(() => services.store.close());

async function unzip(file: string): Promise<Map<string, Buffer>> {
  const zip = await yauzl.openPromise(file, { autoClose: false });
  const found = new Map<string, Buffer>();
  for await (const entry of zip.eachEntry()) {
    const chunks: Buffer[] = [];
    for await (const chunk of await zip.openReadStreamPromise(entry)) chunks.push(chunk);
    found.set(entry.fileName, Buffer.concat(chunks));
  }
  zip.close();
  return found;
}

/** Writes an archive as somebody with a general tool would. */
async function zipped(name: string, files: Iterable<[string, Buffer]>, compress = false): Promise<string> {
  const file = place(name);
  const zip = new ZipFile();
  for (const [entry, bytes] of files) zip.addBuffer(bytes, entry, { ...OPTIONS, compress });
  zip.end();
  const target = fs.createWriteStream(file);
  zip.outputStream.pipe(target);
  await new Promise<void>((resolve) => target.once('close', resolve));
  return file;
}

const with_ = (changes: Record<string, Buffer | undefined>): [string, Buffer][] =>
  [...new Map<string, Buffer | undefined>([...contents, ...Object.entries(changes)])].flatMap(([name, bytes]) =>
    bytes === undefined ? [] : [[name, bytes]],
  );

/** The manifest, changed as somebody would who wants the rest to pass. */
// biome-ignore lint/suspicious/noExplicitAny: tests spoil the manifest at any depth
function forgedManifest(change: (value: any) => void): Buffer {
  const value = JSON.parse(contents.get(MANIFEST_NAME)!.toString());
  change(value);
  return Buffer.from(canonicalJson(value));
}

const empty = (name: string) => path.join(temporaryFolder('restored'), name);
const restore = (file: string, folder = empty('data'), options = {}) => restoreBackup(file, folder, ACTOR, options);

describe('a backup (ASVS 8.1.5)', () => {
  it('is one archive that general tools read, with the SHA-256 of every file in its manifest', () => {
    const listed = JSON.parse(contents.get(MANIFEST_NAME)!.toString());
    expect(createHash('sha256').update(contents.get(MANIFEST_NAME)!).digest('hex')).toBe(manifest);
    for (const { path: name, bytes, sha256 } of listed.files) {
      const found = contents.get(name)!;
      expect([name, found.length, createHash('sha256').update(found).digest('hex')]).toEqual([name, bytes, sha256]);
    }
    expect(listed.files.map((file: { path: string }) => file.path)).toEqual(
      [...contents.keys()].filter((name) => name !== MANIFEST_NAME),
    );
    expect([...contents.keys()]).toContain('records/LR-L-1-r1.pdf');
    expect([...contents.keys()].filter((name) => name.startsWith('keys/'))).toEqual([]);
    expect(fs.statSync(good).mode & 0o777).toBe(0o600);
    expect(fs.readdirSync(data).filter((name) => name.startsWith('backup'))).toEqual([]);
  });

  it('is an entry of the audit trail, and never replaces a file or lies in the folder that it saves', async () => {
    const events = await services.store.read.events.ofTypes(['backup-made']);
    expect(events.at(-1)!.event).toMatchObject({ manifestSha256: manifest, withKeys: false, damaged: 0 });
    const attempt = (file: string) => makeBackup(services.store, file, ACTOR, { withKeys: false });
    await expect(attempt(good)).rejects.toMatchObject({ code: 'CONFLICT' });
    await expect(attempt(path.join(data, 'x.zip'))).rejects.toMatchObject({ code: 'CONFLICT' });
    await expect(attempt(path.join(data, 'records', 'x.zip'))).rejects.toMatchObject({ code: 'CONFLICT' });
    await expect(attempt(place('nowhere/x.zip'))).rejects.toMatchObject({ code: 'NOT_FOUND' });
  });

  it('restores elsewhere, verifies there, and goes on once the key is put back', async () => {
    const folder = empty('data');
    const result = await restore(good, folder, { manifestSha256: manifest });
    expect(result).toMatchObject({ needsKey: true, integrity: { faults: [] } });
    const locked = await openServices(folder);
    expect(await locked.store.read.events.ofTypes(['folder-restored'])).toEqual([]);
    const hold: Event = programHold();
    await expect(locked.store.change(ACTOR, (change) => change.events.add(hold, 'x'))).rejects.toMatchObject({
      code: 'CONFLICT',
      message: expect.stringContaining('installation.pem is missing'),
    });
    await locked.store.close();
    fs.cpSync(path.join(data, 'keys', 'installation.pem'), path.join(folder, 'keys', 'installation.pem'));
    const restored = await openServices(folder);
    try {
      expect(await restored.store.verifyLedger({ files: true })).toMatchObject({ ok: true });
      expect(result.fingerprint).toBe(services.store.key.fingerprint);
      const [named, ...others] = await restored.store.read.events.ofTypes(['folder-restored']);
      expect(named).toMatchObject({ actor: ACTOR, event: { manifestSha256: manifest, withKeys: false } });
      expect(others).toEqual([]);
      const { units } = (await restored.assessor.assess('L-1', ACTOR)).assessment;
      expect(units.map((unit) => unit.verdict)).toEqual(
        (await services.current.of('L-1'))!.assessment.units.map((unit) => unit.verdict),
      );
      expect((await verifyRecord(path.join(folder, 'records', 'LR-L-1-r1.pdf'))).answer).toBe('issuer not compared');
    } finally {
      await restored.store.close();
    }
  });

  it('with keys goes on with the same key, which others cannot read', async () => {
    const file = place('keys.zip');
    await makeBackup(services.store, file, ACTOR, { withKeys: true });
    const folder = empty('data');
    const result = await restore(file, folder);
    expect(result).toMatchObject({ needsKey: false, fingerprint: services.store.key.fingerprint });
    expect(fs.statSync(path.join(folder, 'keys', 'installation.pem')).mode & 0o777).toBe(0o600);
  });

  it('clears away the copy of the database that a killed one left a day ago', async () => {
    const [old, young] = ['backup-old.sqlite', 'backup-young.sqlite'].map((name) => path.join(data, name)) as [
      string,
      string,
    ];
    for (const file of [old, young]) fs.writeFileSync(file, 'left behind');
    const twoDaysAgo = new Date(Date.now() - 2 * 86_400_000);
    fs.utimesSync(old, twoDaysAgo, twoDaysAgo);
    await makeBackup(services.store, place('sweep.zip'), ACTOR, { withKeys: false });
    expect([fs.existsSync(old), fs.existsSync(young)]).toEqual([false, true]);
    fs.rmSync(young);
  });

  it('holds one moment, while changes go on', async () => {
    let going = true;
    const writing = (async () => {
      for (let number = 0; going; number += 1) {
        await services.store.change(ACTOR, (change) =>
          change.events.add(programHold('L-1', [`U-${number}`]), 'a change meanwhile'),
        );
        // The database answers without ever leaving the loop, so others get their turn here.
        await pause();
      }
    })();
    const file = place('meanwhile.zip');
    try {
      await makeBackup(services.store, file, ACTOR, { withKeys: false });
    } finally {
      going = false;
      await writing;
    }
    await restore(file);
  });

  it('saves what is damaged as it is, and names it', async () => {
    const { services: other, data: folder } = await cellWithRecord();
    try {
      const [first, second] = await other.store.evidence.list();
      fs.chmodSync(await other.store.evidence.pathOf(first!), 0o644);
      fs.appendFileSync(await other.store.evidence.pathOf(first!), 'x');
      fs.rmSync(await other.store.evidence.pathOf(second!));
      const { damaged } = await makeBackup(other.store, place('damaged.zip'), ACTOR, { withKeys: false });
      expect(damaged.map(({ path: name, says }) => [path.basename(name), says])).toEqual([
        [first, 'was altered'],
        [second, 'is missing'],
      ]);
      expect(fs.existsSync(path.join(folder, 'folder.json'))).toBe(true);
      const { integrity } = await restore(place('damaged.zip'));
      expect(integrity.faults.map((fault) => fault.name)).toEqual([first, second]);
    } finally {
      await other.store.close();
    }
  });
});

describe('a restore (ASVS 8.1.5, 12.1.2) refuses, names the file, and leaves nothing behind:', () => {
  async function refused(file: string, message: RegExp, options = {}): Promise<void> {
    const folder = empty('data');
    await expect(restore(file, folder, options)).rejects.toMatchObject({
      code: 'ALTERED',
      message: expect.stringMatching(message),
    });
    expect(fs.existsSync(folder)).toBe(false);
    expect(fs.readdirSync(path.dirname(folder))).toEqual([]);
  }

  const someEvidence = () => [...contents.keys()].find((name) => name.startsWith('evidence/'))!;

  it('a changed byte, wherever it is', async () => {
    const bytes = fs.readFileSync(good);
    for (const name of [someEvidence(), 'lotwright.sqlite', 'records/LR-L-1-r1.pdf', 'folder.json']) {
      const at = bytes.indexOf(contents.get(name)!) + Math.floor(contents.get(name)!.length / 2);
      const changed = Buffer.from(bytes);
      changed[at]! ^= 1;
      const file = place(`flipped-${path.basename(name)}.zip`);
      fs.writeFileSync(file, changed);
      await refused(file, new RegExp(`altered: ${name.replaceAll('.', '\\.')} `));
    }
  });

  it('a file that was swapped, removed or added', async () => {
    const name = someEvidence();
    const swapped = Buffer.from(contents.get(name)!);
    swapped[0]! ^= 1;
    await refused(await zipped('swapped.zip', with_({ [name]: swapped })), new RegExp(name));
    await refused(await zipped('removed.zip', with_({ [name]: undefined })), new RegExp(`${name} is missing`));
    await refused(await zipped('added.zip', with_({ 'records/x.pdf': swapped })), /records\/x\.pdf is not listed/);
    await refused(await zipped('no-manifest.zip', with_({ [MANIFEST_NAME]: undefined })), /manifest\.json is missing/);
  });

  it('a file that was swapped in the manifest too, since its name or the audit trail tells', async () => {
    const name = someEvidence();
    const swapped = Buffer.from('another log');
    const forged = forgedManifest((value) => {
      Object.assign(
        value.files.find((file: { path: string }) => file.path === name),
        { bytes: swapped.length, sha256: createHash('sha256').update(swapped).digest('hex') },
      );
    });
    const file = await zipped('forged.zip', with_({ [name]: swapped, [MANIFEST_NAME]: forged }));
    await refused(file, new RegExp(`${path.basename(name)} was altered`));
    await refused(file, /manifest of .* is [0-9a-f]{64}, not/, { manifestSha256: manifest });
  });

  it('a record or an audit trail that was swapped in the manifest too', async () => {
    const pdf = Buffer.from('%PDF-1.7 another');
    const forged = forgedManifest((value) => {
      Object.assign(
        value.files.find((file: { path: string }) => file.path.endsWith('.pdf')),
        { bytes: pdf.length, sha256: createHash('sha256').update(pdf).digest('hex') },
      );
      value.ledger.root = 'f'.repeat(64);
    });
    const file = await zipped('trail.zip', with_({ 'records/LR-L-1-r1.pdf': pdf, [MANIFEST_NAME]: forged }));
    await refused(file, /another audit trail than the manifest says/);
  });

  it.each([
    '../outside.txt',
    '/etc/outside.txt',
    'evidence/../../outside.txt',
    'records/..%2foutside.pdf',
    'records/\u0000.pdf',
    'C:/outside.txt',
    'evidence/ab/link',
    'keys/.hidden.pem',
    '',
  ])('a path that a backup never holds: %j', async (name) => {
    expect(isBackupPath(name)).toBe(false);
    const forged = forgedManifest((value) => value.files.push({ path: name, bytes: 1, sha256: 'a'.repeat(64) }));
    await refused(
      await zipped(`path-${Buffer.from(name).toString('hex')}.zip`, with_({ [MANIFEST_NAME]: forged })),
      /manifest\.json/,
    );
  });

  it('an archive that leads outside by its own names', async () => {
    // The library refuses such names, so they are put into a finished archive, each as long as the one it replaces.
    for (const [name, hostile] of [
      ['aa/outside.txt', '../outside.txt'],
      ['aaaa/outside.txt', '/tmp/outside.txt'],
      ['evidence/aa-outside', 'evidence\\..\\outside'.slice(0, 19)],
    ] as const) {
      const file = await zipped('slip.zip', with_({ [name]: Buffer.from('x') }));
      let bytes: Buffer = fs.readFileSync(file);
      while (bytes.includes(name)) bytes = replaced(bytes, name, hostile);
      fs.writeFileSync(file, bytes);
      await refused(file, /invalid relative path|absolute path|invalid characters|not listed/);
    }
    expect(fs.existsSync('/tmp/outside.txt')).toBe(false);
  });

  it('a decompression bomb, before anything of it is unpacked', async () => {
    const bomb = await zipped('bomb.zip', with_({ 'folder.json': Buffer.alloc(100 << 20) }), true);
    expect(fs.statSync(bomb).size).toBeLessThan(fs.statSync(good).size + (1 << 20));
    const before = process.memoryUsage.rss();
    await refused(bomb, /packed or encrypted/);
    expect(process.memoryUsage.rss() - before).toBeLessThan(64 << 20);
  });

  it('files that claim the same bytes over and over', async () => {
    // One stored file, and a directory in which twenty entries point to it: small as an archive, large unpacked.
    const file = await zipped('overlap.zip', [['evidence/00', Buffer.alloc(1 << 20, 1)]]);
    const bytes = fs.readFileSync(file);
    const end = bytes.subarray(bytes.length - 22);
    const directory = bytes.subarray(end.readUInt32LE(16), bytes.length - 22);
    const entries = Array.from({ length: 20 }, (_, number) =>
      replaced(directory, 'evidence/00', `evidence/${String(number + 10)}`),
    );
    end.writeUInt16LE(20, 8);
    end.writeUInt16LE(20, 10);
    end.writeUInt32LE(20 * directory.length, 12);
    fs.writeFileSync(file, Buffer.concat([bytes.subarray(0, end.readUInt32LE(16)), ...entries, end]));
    await refused(file, /claim more bytes than the archive has/);
  });

  it('what is no archive, and an archive that was cut', async () => {
    fs.writeFileSync(place('text.zip'), 'no archive');
    await refused(place('text.zip'), /is no backup of this program/);
    fs.writeFileSync(place('cut.zip'), fs.readFileSync(good).subarray(0, -1000));
    await refused(place('cut.zip'), /is no backup of this program/);
  });

  it('a folder that holds anything', async () => {
    const folder = temporaryFolder('not-empty');
    fs.writeFileSync(path.join(folder, 'mine.txt'), 'mine');
    await expect(restore(good, folder)).rejects.toMatchObject({ code: 'CONFLICT' });
    expect(fs.readdirSync(folder)).toEqual(['mine.txt']);
    await expect(restore(place('nowhere.zip'))).rejects.toMatchObject({ code: 'NOT_FOUND' });
  });
});

it('checks a whole folder and finds it whole', async () => {
  expect(await checkIntegrity(services.store)).toMatchObject({ faults: [], unreferenced: [] });
});
