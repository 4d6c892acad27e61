import { createPrivateKey, createPublicKey, generateKeyPairSync, type KeyObject, sign } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { AppError } from '../base/errors.js';
import { refuseSharedKey, writeKeyOnce } from '../base/key-file.js';
import { fingerprintOf } from '../dossier/public-key.js';
import { syncFolder } from './evidence/plain-file.js';
import { isLocked, lockKey, unlockKey } from './locked-key.js';

/** A key of which the public half is known. */
export interface PublicHalf {
  readonly fingerprint: string;
  readonly publicPem: string;
}

/**
 * The Ed25519 key of one installation. It signs statements of people and heads of the audit trail; it is not the key
 * that seals files. Whoever holds it can sign in the name of the installation, so it lies apart, for its owner only, and
 * locked by a passphrase where somebody wants that.
 */
export class InstallationKey implements PublicHalf {
  readonly publicPem: string;
  readonly fingerprint: string;

  private constructor(
    private readonly key: KeyObject | Withheld,
    publicPem: string,
    private readonly passphrase?: string,
  ) {
    this.publicPem = publicPem;
    this.fingerprint = fingerprintOf(publicPem);
  }

  /**
   * Reads the key of a data folder in which nothing is recorded yet, or makes one where there is none.
   * @throws AppError CONFLICT when the file is no Ed25519 key, or others may read it.
   */
  static openOrMake(folder: string, passphrase?: string): InstallationKey {
    const file = keyFile(folder);
    if (!fs.existsSync(file)) writeNewKey(file, passphrase);
    const key = readKey(file, passphrase);
    if ('why' in key) throw withheld(key);
    return InstallationKey.withPrivate(key, passphrase);
  }

  /**
   * Reads the key that the audit trail names last. Without its file, or without the passphrase that opens it, everything
   * can be read and nothing signed.
   * @throws AppError CONFLICT when the file is another key, none, or others may read it.
   */
  static openKnown(folder: string, last: PublicHalf, passphrase?: string): InstallationKey {
    InstallationKey.finishTakeOver(folder, last, passphrase);
    const file = keyFile(folder);
    const key: KeyObject | Withheld = fs.existsSync(file) ? readKey(file, passphrase) : { file, why: 'missing' };
    if ('why' in key) return new InstallationKey(key, last.publicPem);
    const opened = InstallationKey.withPrivate(key, passphrase);
    if (opened.fingerprint === last.fingerprint) return opened;
    throw new AppError(
      'CONFLICT',
      `${file} holds the key ${opened.fingerprint}, and the audit trail names ${last.fingerprint} last: ` +
        'put that key there, or run ledger verify if nobody changed the file',
    );
  }

  /** Makes the key that is to follow, beside the one in use. It is locked as this one is. */
  static prepare(folder: string, passphrase?: string): InstallationKey {
    const file = nextKeyFile(folder);
    fs.rmSync(file, { force: true });
    writeNewKey(file, passphrase);
    return InstallationKey.withPrivate(readKey(file, passphrase) as KeyObject, passphrase);
  }

  /** Puts the prepared key in the place of the one in use, which is gone then. */
  static takeOver(folder: string): void {
    fs.renameSync(nextKeyFile(folder), keyFile(folder));
    syncFolder(path.join(folder, 'keys'));
  }

  /** Whether it can sign. */
  get isHeld(): boolean {
    return !('why' in this.key);
  }

  /** Makes the key that is to follow this one. */
  prepareNext(folder: string): InstallationKey {
    return InstallationKey.prepare(folder, this.passphrase);
  }

  /**
   * Writes the file of the key anew, locked by a passphrase, or open without one.
   * @throws AppError CONFLICT when the key is not held.
   */
  lock(folder: string, passphrase: string | undefined): void {
    const pem = this.held().export({ type: 'pkcs8', format: 'pem' }).toString();
    const file = keyFile(folder);
    const temporary = `${file}.${process.pid}.new`;
    fs.writeFileSync(temporary, passphrase === undefined ? pem : lockKey(pem, passphrase), {
      mode: 0o600,
      flush: true,
    });
    fs.renameSync(temporary, file);
    syncFolder(path.dirname(file));
  }

  /**
   * Ed25519 (RFC 8032) over the UTF-8 bytes of the text.
   * @throws AppError CONFLICT when the key is lost or locked.
   */
  sign(text: string): Buffer {
    return sign(null, Buffer.from(text, 'utf8'), this.held());
  }

  /** A service that could sign nothing shall not start for a wrong passphrase. @throws AppError CONFLICT. */
  refuseLocked(): void {
    this.held();
  }

  private held(): KeyObject {
    if ('why' in this.key) throw withheld(this.key);
    return this.key;
  }

  private static withPrivate(key: KeyObject, passphrase?: string): InstallationKey {
    const publicPem = createPublicKey(key).export({ type: 'spki', format: 'pem' }).toString();
    return new InstallationKey(key, publicPem, passphrase);
  }

  /** A key that the audit trail names already, and whose program ended before it took its place. */
  private static finishTakeOver(folder: string, last: PublicHalf, passphrase: string | undefined): void {
    const file = nextKeyFile(folder);
    if (!fs.existsSync(file)) return;
    const next = readKey(file, passphrase);
    const isNamed = !('why' in next) && InstallationKey.withPrivate(next).fingerprint === last.fingerprint;
    if (isNamed) InstallationKey.takeOver(folder);
  }
}

const keyFile = (folder: string): string => path.join(folder, 'keys', 'installation.pem');
const nextKeyFile = (folder: string): string => path.join(folder, 'keys', 'installation-next.pem');

/** Whether the key of a folder asks for a passphrase. */
export const isKeyLocked = (folder: string): boolean =>
  fs.existsSync(keyFile(folder)) && isLocked(fs.readFileSync(keyFile(folder), 'utf8'));

/** Why the private half cannot be used. */
interface Withheld {
  readonly file: string;
  readonly why: 'missing' | 'locked' | 'not opened';
}

function withheld({ file, why }: Withheld): AppError {
  switch (why) {
    case 'missing':
      return new AppError(
        'CONFLICT',
        `${file} is missing: put the key back, or let two people make another: keys replace`,
      );
    case 'locked':
      return new AppError('CONFLICT', `${file} is locked, and no passphrase was given (docs/operations.md, Keys)`);
    case 'not opened':
      return new AppError('CONFLICT', `${file} is locked, and the passphrase that was given does not open it`);
  }
}

/** @returns the key, or why there is none to be had. @throws AppError CONFLICT for a file that is none, or is shared. */
function readKey(file: string, passphrase: string | undefined): KeyObject | Withheld {
  refuseSharedKey(file);
  const text = fs.readFileSync(file, 'utf8');
  const pem = isLocked(text) ? passphrase !== undefined && unlockKey(text, passphrase) : text;
  if (pem === false) return { file, why: 'locked' };
  if (pem === undefined) return { file, why: 'not opened' };
  const key = parsed(pem);
  if (key?.asymmetricKeyType === 'ed25519') return key;
  throw new AppError('CONFLICT', `${file} is no Ed25519 private key in PEM; restore it from a backup with keys`);
}

function parsed(pem: string): KeyObject | undefined {
  try {
    return createPrivateKey(pem);
  } catch {
    return undefined;
  }
}

function writeNewKey(file: string, passphrase: string | undefined): void {
  const pem = generateKeyPairSync('ed25519').privateKey.export({ type: 'pkcs8', format: 'pem' }).toString();
  writeKeyOnce(file, passphrase === undefined ? pem : lockKey(pem, passphrase));
}
