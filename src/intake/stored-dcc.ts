import fs from 'node:fs';
import { NotFoundError } from '../base/errors.js';
import { MOST } from '../base/limits.js';
import type { Store } from '../store/store.js';
import { DCC_HEAD, isDcc } from './dcc.js';

/** Whether a file on record is a digital calibration certificate that can be read. What lies apart, or was redacted, is none. */
export async function isStoredDcc({ read, evidence }: Store, sha256: string): Promise<boolean> {
  const { bytes } = await read.evidence.info(sha256);
  if (bytes > MOST.certificateBytes || (await evidence.liesApart(sha256))) return false;
  const path = await evidence.pathOf(sha256).catch((error: unknown) => {
    if (error instanceof NotFoundError) return undefined;
    throw error;
  });
  if (path === undefined) return false;
  const file = await fs.promises.open(path);
  try {
    const { buffer, bytesRead } = await file.read(Buffer.alloc(DCC_HEAD), 0, DCC_HEAD, 0);
    return isDcc(buffer.subarray(0, bytesRead));
  } finally {
    await file.close();
  }
}
