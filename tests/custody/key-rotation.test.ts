// Not quick: each key of it is made, and each change goes to the disk and to the anchor.
import { createPublicKey, verify } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { makeBackup } from '../../src/custody/backup.js';
import { checkIntegrity } from '../../src/custody/integrity.js';
import { rotateKey } from '../../src/custody/key-rotation.js';
import { successionText } from '../../src/ledger/key-chain.js';
import { isKeyLocked } from '../../src/store/installation-key.js';
import { rememberPassphrase } from '../../src/store/key-passphrase.js';
import type { Store } from '../../src/store/store.js';
import { openStore } from '../store/open-store.js';
import { temporaryFolder } from '../support/cell.js';
import { programHold } from '../support/program-hold.js';

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
    expect(fs.readdirSync(path.dirname(keyFile()))).toEqual(['anchor.txt', 'installation.pem']);
    const made = (await next.read.events.ofTypes(['key-made'])).at(-1)!;
    expect(made).toMatchObject({ reason: 'yearly change', event: { replaces: old.fingerprint } });
    const { endorsement, fingerprint } = made.event as { endorsement: string; fingerprint: string };
    expect(fingerprint).toBe(rotated.fingerprint);
    // RFC 8032 as node:crypto checks it: the holder of the old key said which key follows.
    const signature = Buffer.from(endorsement, 'base64');
    const text = Buffer.from(successionText({ fingerprint, replaces: old.fingerprint }));
    expect(verify(null, text, createPublicKey(old.publicPem), signature)).toBe(true);
    // What the old key signed stays valid, and the trail goes on under the new one.
    await next.change(ACTOR, (change) => change.events.add(programHold('L'), 'x'));
    expect(await next.verifyLedger()).toMatchObject({ ok: true });
    expect((await checkIntegrity(next)).faults).toEqual([]);
  } finally {
    await next.close();
  }
});

it('finishes at the next start what a program that ended in between left of a rotation', async () => {
  const store = await openStore(folder);
  const oldPrivate = fs.readFileSync(keyFile(), 'utf8');
  const { fingerprint } = await rotateKey(store, ACTOR, 'yearly change');
  await store.close();
  fs.renameSync(keyFile(), path.join(folder, 'keys', 'installation-next.pem'));
  fs.writeFileSync(keyFile(), oldPrivate, { mode: 0o600 });
  const next = await openStore(folder);
  expect(next.key).toMatchObject({ fingerprint, isHeld: true });
  expect(fs.readdirSync(path.dirname(keyFile()))).toEqual(['anchor.txt', 'installation.pem']);
  await next.close();
  fs.writeFileSync(keyFile(), oldPrivate);
  await expect(openStore(folder)).rejects.toMatchObject({
    code: 'CONFLICT',
    message: expect.stringContaining(fingerprint),
  });
});

it('refuses while a service runs, without a reason, and to open a key that others can read (ASVS 6.4.1)', async () => {
  const service = await openStore(folder);
  await service.becomeService();
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

it('is locked by a passphrase (ASVS 6.4.1): without it everything is read and nothing signed, a rotation keeps the lock', async () => {
  const place = (store: Store) => store.change(ACTOR, (change) => change.events.add(programHold('L'), 'x'));
  const plain = await openStore(folder);
  plain.key.lock(folder, 'four quiet lanterns');
  await plain.close();
  expect(fs.readFileSync(keyFile(), 'utf8')).not.toContain('PRIVATE KEY');
  expect(fs.statSync(keyFile()).mode & 0o777).toBe(0o600);
  const locked = await openStore(folder);
  expect(await locked.verifyLedger()).toMatchObject({ ok: true });
  await expect(place(locked)).rejects.toMatchObject({ message: expect.stringContaining('no passphrase was given') });
  await locked.close();
  try {
    rememberPassphrase('another one');
    const wrong = await openStore(folder);
    await expect(place(wrong)).rejects.toMatchObject({ message: expect.stringContaining('does not open it') });
    await wrong.close();
    rememberPassphrase('four quiet lanterns');
    const store = await openStore(folder);
    const { fingerprint } = await rotateKey(store, ACTOR, 'yearly change');
    await store.close();
    expect(isKeyLocked(folder)).toBe(true);
    const next = await openStore(folder);
    await place(next);
    expect(next.key).toMatchObject({ fingerprint, isHeld: true });
    await next.close();
  } finally {
    rememberPassphrase(undefined);
  }
});
