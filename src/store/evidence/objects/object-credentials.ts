import fs from 'node:fs';
import { z } from 'zod';
import { AppError } from '../../../base/errors.js';
import { refuseSharedKey } from '../../../base/key-file.js';

/** What a server knows us by. It stands in the surroundings or in a file of its own, and never in a data folder or a log. */
export interface ObjectCredentials {
  readonly key: string;
  readonly secret: string;
  /** Of credentials that run out. */
  readonly token?: string | undefined;
}

const CredentialsFile = z.strictObject({
  key: z.string().min(1),
  secret: z.string().min(1),
  token: z.string().min(1).optional(),
});

/**
 * Those that the surroundings name now: a file, `LOTWRIGHT_EVIDENCE_CREDENTIALS`, is read each time, so that whoever renews
 * credentials that run out need not start the service again.
 * @throws AppError STORAGE when there are none, CONFLICT for a file that others may read.
 */
export function credentialsGiven(address: string): ObjectCredentials {
  const { LOTWRIGHT_EVIDENCE_CREDENTIALS: file, LOTWRIGHT_EVIDENCE_KEY: key } = process.env;
  if (file) return readFile(file);
  const { LOTWRIGHT_EVIDENCE_SECRET: secret, LOTWRIGHT_EVIDENCE_TOKEN: token } = process.env;
  if (key && secret) return { key, secret, ...(token ? { token } : {}) };
  throw new AppError(
    'STORAGE',
    `the evidence lies at ${address}, and nothing names a key for it: set LOTWRIGHT_EVIDENCE_KEY and LOTWRIGHT_EVIDENCE_SECRET, or LOTWRIGHT_EVIDENCE_CREDENTIALS`,
  );
}

function readFile(file: string): ObjectCredentials {
  const unusable = (why: string) =>
    new AppError('STORAGE', `the file of LOTWRIGHT_EVIDENCE_CREDENTIALS, ${file}, ${why}`);
  if (!fs.existsSync(file)) throw unusable('is not there');
  refuseSharedKey(file);
  const read = CredentialsFile.safeParse(parsed(fs.readFileSync(file, 'utf8')));
  // What is wrong with it may hold the secret.
  if (!read.success) throw unusable('holds no JSON object with key, secret and, where there is one, token');
  return read.data;
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}
