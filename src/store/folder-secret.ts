import { createHmac, randomBytes, timingSafeEqual } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { refuseSharedKey, writeKeyOnce } from '../base/key-file.js';
import { canonicalJson } from '../dossier/canonical.js';

/** What a code is for: one that was made for something else is none. */
export type CodePurpose =
  | 'session'
  | 'draft'
  | 'one-time link'
  | 'who tried'
  | 'where from'
  | 'reading'
  | 'intake token'
  | 'sign-in elsewhere';

/**
 * A secret of a data folder outside its database. What changes in place carries a code under it, so that whoever can write
 * the database alone makes nothing that counts. It is made where there is none: then whatever was coded before is void.
 */
export class FolderSecret {
  private secret: Buffer | undefined;

  constructor(private readonly folder: string) {}

  /** HMAC-SHA-256 over the purpose and the values, base64url. */
  code(purpose: CodePurpose, ...values: readonly (string | null)[]): string {
    return createHmac('sha256', this.read())
      .update(canonicalJson([purpose, ...values]))
      .digest('base64url');
  }

  /** Whether a code is the one of these values, compared without telling by time how much of it fits. */
  isCode(code: string, purpose: CodePurpose, ...values: readonly (string | null)[]): boolean {
    const [found, right] = [code, this.code(purpose, ...values)].map((text) => Buffer.from(text, 'utf8'));
    return found!.length === right!.length && timingSafeEqual(found!, right!);
  }

  /** The same for a check, which makes nothing: where there is no secret no code holds. */
  holds(code: string, purpose: CodePurpose, ...values: readonly (string | null)[]): boolean {
    return (this.secret !== undefined || fs.existsSync(this.file)) && this.isCode(code, purpose, ...values);
  }

  private get file(): string {
    return path.join(this.folder, 'keys', 'folder.secret');
  }

  private read(): Buffer {
    if (this.secret === undefined) {
      const { file } = this;
      if (!fs.existsSync(file)) writeKeyOnce(file, `${randomBytes(32).toString('hex')}\n`);
      refuseSharedKey(file);
      this.secret = Buffer.from(fs.readFileSync(file, 'utf8').trim(), 'hex');
    }
    return this.secret;
  }
}
