import { createPrivateKey, createPublicKey, generateKeyPairSync, type KeyObject, sign } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { AppError } from '../base/errors.js';
import { refuseSharedKey, writeKeyOnce } from '../base/key-file.js';
import { fingerprintOf } from '../dossier/public-key.js';
import { syncFolder } from './evidence/plain-file.js';

/**
 * The Ed25519 key of one installation. It signs statements of people and heads of the audit trail; it is not the key
 * that seals files. Whoever holds it can sign in the name of the installation, so it lies apart, for its owner only.
 */
export class InstallationKey {
  readonly publicPem: string;
  readonly fingerprint: string;

  private constructor(private readonly key: KeyObject) {
    this.publicPem = createPublicKey(key).export({ type: 'spki', format: 'pem' }).toString();
    this.fingerprint = fingerprintOf(this.publicPem);
  }

  /**
   * Reads the key of a data folder, or makes one where there is none.
   * @throws AppError CONFLICT when the file is no Ed25519 key, or others may read it.
   */
  static openOrMake(folder: string): InstallationKey {
    const file = path.join(folder, 'keys', 'installation.pem');
    if (!fs.existsSync(file)) writeNewKey(file);
    refuseSharedKey(file);
    const key = readKey(file);
    if (key?.asymmetricKeyType !== 'ed25519') {
      throw new AppError('CONFLICT', `${file} is no Ed25519 private key in PEM; restore it from a backup with keys`);
    }
    return new InstallationKey(key);
  }

  /** Makes the key that is to follow, beside the one in use. */
  static prepare(folder: string): InstallationKey {
    const file = nextKeyFile(folder);
    fs.rmSync(file, { force: true });
    writeNewKey(file);
    return new InstallationKey(readKey(file)!);
  }

  /** Puts the prepared key in the place of the one in use, which is gone then. */
  static takeOver(folder: string): void {
    fs.renameSync(nextKeyFile(folder), path.join(folder, 'keys', 'installation.pem'));
    syncFolder(path.join(folder, 'keys'));
  }

  /** Ed25519 (RFC 8032) over the UTF-8 bytes of the text. */
  sign(text: string): Buffer {
    return sign(null, Buffer.from(text, 'utf8'), this.key);
  }
}

const nextKeyFile = (folder: string): string => path.join(folder, 'keys', 'installation-next.pem');

function readKey(file: string): KeyObject | undefined {
  try {
    return createPrivateKey(fs.readFileSync(file));
  } catch {
    return undefined;
  }
}

function writeNewKey(file: string): void {
  writeKeyOnce(file, generateKeyPairSync('ed25519').privateKey.export({ type: 'pkcs8', format: 'pem' }).toString());
}
