import path from 'node:path';
import { z } from 'zod';
import { AppError } from '../base/errors.js';
import { canonicalJson } from '../dossier/canonical.js';

const Digest = z.string().regex(/^[0-9a-f]{64}$/);

/**
 * The only paths that a backup may hold, written out one by one: no other name is ever created on the disk, so that no
 * archive can lead outside the folder it is unpacked into.
 */
const PATHS: readonly RegExp[] = [
  /^folder\.json$/,
  /^lotwright\.sqlite$/,
  /^evidence\/(?:personal\/)?[0-9a-f]{2}\/[0-9a-f]{64}(?:\.redacted)?$/,
  /^records\/[\p{L}\p{N}][\p{L}\p{N}._-]{0,120}\.[a-z]{2,4}$/u,
  /^reads\/\d{4}-\d{2}-\d{2}\.jsonl$/,
  /^keys\/[a-z0-9][a-z0-9-]{0,60}\.[a-z]{2,4}$/,
];

/** The path that a file of evidence has in a backup, by the name that it has where evidence lies: in groups, by two digits. */
export function evidencePath(name: string): string {
  const base = path.posix.basename(name);
  return path.posix.join('evidence', path.posix.dirname(name), base.slice(0, 2), base);
}

export const isBackupPath = (name: string): boolean => PATHS.some((pattern) => pattern.test(name));

const BackupFile = z.strictObject({
  path: z.string().refine(isBackupPath, { error: 'a path that a backup may hold' }),
  bytes: z.int().nonnegative(),
  sha256: Digest,
});
export type BackupFile = z.infer<typeof BackupFile>;

/** What a backup holds: the last file of the archive, and what all others are compared with. */
export const Manifest = z.strictObject({
  format: z.literal(1),
  program: z.string(),
  madeAt: z.iso.datetime(),
  demo: z.boolean(),
  withKeys: z.boolean(),
  ledger: z.strictObject({ size: z.int().nonnegative(), root: Digest }),
  files: z.array(BackupFile),
  /** Files that were not as received when they were copied. They are in the archive as they were found. */
  damaged: z.array(z.strictObject({ path: z.string(), says: z.string() })),
});
export type Manifest = z.infer<typeof Manifest>;

export const MANIFEST_NAME = 'manifest.json';

export const manifestText = (manifest: Manifest): string => canonicalJson(Manifest.parse(manifest));

/** @throws AppError ALTERED when the text is no manifest of this program. */
export function readManifest(text: string): Manifest {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    throw new AppError('ALTERED', `${MANIFEST_NAME} of the backup is not JSON: it was altered`, {
      file: MANIFEST_NAME,
    });
  }
  const parsed = Manifest.safeParse(value);
  if (!parsed.success) {
    const { path, message } = parsed.error.issues[0]!;
    const where = path.map(String).join('.');
    throw new AppError('ALTERED', `${MANIFEST_NAME} of the backup was altered: ${where}: ${message}`, {
      file: MANIFEST_NAME,
    });
  }
  const paths = parsed.data.files.map((file) => file.path);
  if (new Set(paths).size !== paths.length) {
    throw new AppError('ALTERED', `${MANIFEST_NAME} of the backup names a file twice`, { file: MANIFEST_NAME });
  }
  return parsed.data;
}
