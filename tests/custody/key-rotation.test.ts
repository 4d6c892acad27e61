import { createPublicKey, verify } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { makeBackup } from '../../src/custody/backup.js';
import { checkIntegrity } from '../../src/custody/integrity.js';
import { rotateKey } from '../../src/custody/key-rotation.js';
import { openStore } from '../store/open-store.js';
import { temporaryFolder } from '../support/cell.js';

const ACTOR = 'local:tester';
let folder: string;

beforeEach(() => {
  folder = path.join(temporaryFolder('keys'), 'data');
});

const keyFile = () => path.join(folder, 'keys', 'installation.pem');

it('replaces the key (ASVS 6.2.4), names both fingerprints with the reason, and lets the old key vouch for the new one', async () => {
  const store = await openStore(folder);
  const old = store.key;
  const oldPrivate = fs.readFileSync(keyFile(), 'utf8');
  const rotated = await rotateKey(store, ACTOR, 'yearly change');
  await store.close();
  expect(rotated.replaced).toBe(old.fingerprint);

  const next = await openStore(folder);
  try {
    expect(next.key.fingerprint).toBe(rotated.fingerprint);
    expect(fs.readFileSync(keyFile(), 'utf8')).not.toBe(oldPrivate);
    expect(fs.statSync(keyFile()).mode & 0o777).toBe(0o600);
    expect(fs.readdirSync(path.dirname(keyFile()))).toEqual(['installation.pem']);
    const made = (await next.read.events.ofTypes(['key-made'])).at(-1)!;
    expect(made).toMatchObject({ reason: 'yearly change', event: { replaces: old.fingerprint } });
    const { endorsement, fingerprint } = made.event as { endorsement: string; fingerprint: string };
    expect(fingerprint).toBe(rotated.fingerprint);
    // RFC 8032 as node:crypto checks it: the holder of the old key said which key follows.
    const signature = Buffer.from(endorsement, 'base64');
    expect(verify(null, Buffer.from(fingerprint), createPublicKey(old.publicPem), signature)).toBe(true);
    // What the old key signed stays valid, and the trail goes on under the new one.
    await next.change(ACTOR, (change) => change.events.add({ type: 'hold-placed', lot: 'L', units: [] }, 'x'));
    expect(await next.verifyLedger()).toMatchObject({ ok: true });
    expect((await checkIntegrity(next)).faults).toEqual([]);
    const forged = { ...made.event, fingerprint: 'a'.repeat(64), replaces: rotated.fingerprint } as typeof made.event;
    await next.change(ACTOR, (change) => change.events.add(forged));
    expect((await checkIntegrity(next)).faults).toContainEqual({
      what: 'key',
      name: 'a'.repeat(64),
      fault: { code: 'key not vouched for' },
    });
  } finally {
    await next.close();
  }
});

it('takes a lost key for what it is: a new one is made, named, and not vouched for', async () => {
  const store = await openStore(folder);
  const { fingerprint } = store.key;
  await store.close();
  fs.rmSync(keyFile());
  const next = await openStore(folder);
  try {
    const made = (await next.read.events.ofTypes(['key-made'])).at(-1)!.event;
    expect(made).toMatchObject({ replaces: fingerprint });
    expect(made).not.toHaveProperty('endorsement');
    expect(await next.verifyLedger()).toMatchObject({ ok: true });
  } finally {
    await next.close();
  }
});

it('refuses while a service runs, without a reason, and to open a key that others can read (ASVS 6.4.1)', async () => {
  const service = await openStore(folder);
  service.becomeService();
  const store = await openStore(folder);
  await expect(rotateKey(store, ACTOR, 'x')).rejects.toMatchObject({ code: 'BUSY' });
  await expect(rotateKey(store, ACTOR, ' ')).rejects.toMatchObject({ code: 'BAD_INPUT' });
  await store.close();
  await service.close();
  fs.chmodSync(keyFile(), 0o640);
  await expect(openStore(folder)).rejects.toMatchObject({ code: 'CONFLICT' });
});

it('leaves a key that was prepared and not taken over out of a backup, and makes another next time', async () => {
  const store = await openStore(folder);
  const { InstallationKey } = await import('../../src/store/installation-key.js');
  const prepared = InstallationKey.prepare(folder);
  const file = path.join(temporaryFolder('backup'), 'b.zip');
  await makeBackup(store, file, ACTOR, { withKeys: true });
  expect(fs.readFileSync(file).includes('installation-next')).toBe(false);
  const rotated = await rotateKey(store, ACTOR, 'again');
  expect(rotated.fingerprint).not.toBe(prepared.fingerprint);
  await store.close();
});
