import fs from 'node:fs';
import path from 'node:path';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { EvidenceFiles } from '../../src/store/evidence/evidence-files.js';
import { EvidenceObjects } from '../../src/store/evidence/objects/evidence-objects.js';
import { objectPlace } from '../../src/store/evidence/objects/object-place.js';
import { relocateEvidence } from '../../src/store/evidence/relocate-evidence.js';
import { Store } from '../../src/store/store.js';
import { keyOf, ObjectServer } from '../support/object-server.js';
import { temporaryFolder } from './open-store.js';

const SCAN = Buffer.from('an invented scan of a patient');
const SHA256 = sha256Hex(SCAN);
const PLAIN = keyOf(SHA256);
const APART = keyOf(`personal/${SHA256}`);

let server: ObjectServer;
let folder: string;
let remove: () => void;

beforeEach(async () => {
  ({ folder, remove } = temporaryFolder());
  server = new ObjectServer();
  await server.listen();
});
afterEach(async () => {
  remove();
  await server.close();
});

const portAt = (part: string) => {
  const { accessKeyId: key, secretAccessKey: secret, sessionToken: token } = server.credentials;
  const options = { credentials: () => ({ key, secret, token }), firstWaitMs: 1, silenceMs: 400 };
  return new EvidenceObjects(objectPlace(server.address()), path.join(folder, part), options);
};
const evidenceAt = (part = 'here', isMoved = () => false) =>
  new EvidenceFiles(portAt(part), path.join(folder, part, 'incoming'), isMoved);
const tombstone = { format: 1 as const, sha256: SHA256, redactedAt: '2026-05-04T10:00:00Z', persons: ['P-1', 'P-2'] };
const asked = (method: string) => server.log.filter((line) => line.startsWith(`${method} cell/`)).length;

/** Set apart, while the store does not let go of what lies under its plain name. */
async function inBothPlaces(): Promise<EvidenceFiles> {
  const evidence = evidenceAt();
  await evidence.keep(SCAN);
  server.instead = ({ method, key }, _request, response) => {
    if (method !== 'DELETE' || key !== PLAIN) return false;
    response.writeHead(403).end('<Error><Code>AccessDenied</Code></Error>');
    return true;
  };
  await expect(evidence.keep(SCAN, { personalData: true })).rejects.toMatchObject({ code: 'STORAGE' });
  server.instead = undefined;
  expect([...server.objects.keys()].sort()).toEqual([PLAIN, APART].sort());
  return evidence;
}

describe('bytes that lie apart and under their plain name too', () => {
  it('go from both by a redaction', async () => {
    await (await inBothPlaces()).redact(tombstone);
    expect([...server.objects.keys()]).toEqual([`${APART}.redacted`]);
  });

  it('go from the plain one when they are received again', async () => {
    const evidence = await inBothPlaces();
    await evidence.keep(SCAN);
    expect([...server.objects.keys()]).toEqual([APART]);
    await evidence.verify(SHA256);
  });

  it('are gone from the one when the other cannot be removed, and the redaction says so', async () => {
    const evidence = await inBothPlaces();
    server.instead = ({ method, key }, _request, response) => {
      if (method !== 'DELETE' || key !== APART) return false;
      response.writeHead(403).end('<Error><Code>AccessDenied</Code></Error>');
      return true;
    };
    await expect(evidence.redact(tombstone)).rejects.toThrow('these credentials may not do that there');
    expect(server.objects.has(PLAIN)).toBe(false);
    server.instead = undefined;
    await evidence.redact(tombstone);
    expect([...server.objects.keys()]).toEqual([`${APART}.redacted`]);
  });
});

it('asks the network nothing inside a change about what was sent ahead', async () => {
  const evidence = evidenceAt();
  await evidence.keep(Buffer.from('known before'));
  const received = [
    await evidence.receive(Buffer.from('known before')),
    await evidence.receive(SCAN, { personalData: true }),
    await evidence.receive(Buffer.from('a log')),
  ];
  const ahead = await evidence.sendAhead(received);
  server.log.length = 0;
  await evidence.keepAll(received, ahead);
  expect(server.log).toEqual([]);
  for (const { sha256 } of received) await evidence.verify(sha256);
  // Of what was not sent ahead it still looks what is there.
  const late = await evidence.receive(Buffer.from('late'));
  server.log.length = 0;
  await evidence.keepAll([...received, late], ahead);
  expect(server.log.filter((line) => line.startsWith('HEAD')).every((line) => line.includes(late.sha256))).toBe(true);
  await evidence.verify(late.sha256);
  for (const one of [...received, late]) one.drop();
});

describe('what is received again', () => {
  it('is read from bytes that were hashed now, and from no copy that somebody else may let go of', async () => {
    const evidence = evidenceAt();
    await evidence.keep(SCAN);
    const copy = await evidence.pathOf(SHA256);
    fs.chmodSync(copy, 0o644);
    fs.writeFileSync(copy, Buffer.alloc(SCAN.length, 7));
    const received = await evidence.receive(SCAN);
    fs.rmSync(copy);
    expect(fs.readFileSync(received.path).equals(SCAN)).toBe(true);
    fs.writeFileSync(copy, Buffer.alloc(SCAN.length, 7));
    await evidence.keepAll([received]);
    received.drop();
    const fetched = asked('GET');
    expect(fs.readFileSync(await evidence.pathOf(SHA256)).equals(SCAN)).toBe(true);
    expect(asked('GET')).toBe(fetched);
    expect(fs.readdirSync(path.join(folder, 'here', 'incoming'))).toEqual([]);
  });
});

describe('a copy that was fetched for a backup', () => {
  it('goes when the backup is done with it', async () => {
    await evidenceAt().keep(SCAN);
    const { path: copy, done } = await evidenceAt('there').placed(SHA256, 'bytes');
    done();
    expect(fs.existsSync(copy!)).toBe(false);
  });

  it.each([
    ['this process', 0],
    ['another process', 1],
  ])('stays for a reader in %s', async (_who, other) => {
    await evidenceAt().keep(SCAN);
    const service = [evidenceAt('there'), evidenceAt('there')];
    const { done } = await service[0]!.placed(SHA256, 'bytes');
    const read = await service[other]!.pathOf(SHA256);
    done();
    expect(fs.readFileSync(read).equals(SCAN)).toBe(true);
  });

  it('stays for a reader who waited for the same fetch', async () => {
    await evidenceAt().keep(SCAN);
    const evidence = evidenceAt('there');
    const [{ done }, read] = await Promise.all([evidence.placed(SHA256, 'bytes'), evidence.pathOf(SHA256)]);
    done();
    expect(fs.readFileSync(read).equals(SCAN)).toBe(true);
  });
});

it('redacts nothing in a place from which the evidence was moved, and says what to do', async () => {
  let moved = false;
  const evidence = evidenceAt('here', () => moved);
  await evidence.keep(SCAN);
  moved = true;
  await expect(evidence.redact(tombstone)).rejects.toThrow(/moved elsewhere meanwhile: start the program again/);
  moved = false;
  server.instead = ({ method }) => {
    if (method === 'DELETE') moved = true;
    return false;
  };
  await expect(evidence.redact(tombstone)).rejects.toMatchObject({ code: 'CONFLICT' });
});

it('leaves nothing in the object store that was redacted or set apart while the evidence was moved there', async () => {
  const data = path.join(folder, 'data');
  process.env.LOTWRIGHT_EVIDENCE_KEY = server.credentials.accessKeyId;
  process.env.LOTWRIGHT_EVIDENCE_SECRET = server.credentials.secretAccessKey;
  const store = await Store.open(DataFolder.open(data));
  try {
    for (const text of ['one', 'two', 'three', 'four']) await store.evidence.keep(Buffer.from(text));
    const [first, second, third, last] = (await store.evidence.list()) as [string, string, string, string];
    const at = (name: string) =>
      path.join(data, 'evidence', path.dirname(name), path.basename(name).slice(0, 2), path.basename(name));
    server.instead = ({ method, key }) => {
      if (method !== 'PUT' || key !== keyOf(last)) return false;
      server.instead = undefined;
      fs.mkdirSync(path.dirname(at(`personal/${first}`)), { recursive: true });
      fs.renameSync(at(first), at(`personal/${first}`));
      fs.writeFileSync(at(`${second}.redacted`), 'what is left of it');
      fs.rmSync(at(second));
      return false;
    };
    const { files } = await relocateEvidence(store, server.address());
    const names = [`personal/${first}`, `${second}.redacted`, third, last];
    expect([...server.objects.keys()].sort()).toEqual(names.map((name) => keyOf(name)).sort());
    expect(files).toBe(4);
  } finally {
    await store.close();
    for (const name of ['KEY', 'SECRET']) delete process.env[`LOTWRIGHT_EVIDENCE_${name}`];
  }
});
