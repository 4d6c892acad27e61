import fs from 'node:fs';
import { MOST } from '../base/limits.js';
import { ofThisProgram } from '../base/same-program.js';
import { answering } from '../base/worker-answer.js';
import { type CalibrationCertificate, readDcc } from './dcc.js';

export interface DccTask {
  /** What people call the file. */
  readonly name: string;
  readonly path: string;
}

/** @throws BadInputError as `readDcc`. */
export async function readDccAt({ name, path }: DccTask): Promise<CalibrationCertificate> {
  const file = await fs.promises.open(path);
  try {
    // One that is longer is refused by its length, and not read to its end.
    const bytes = Buffer.alloc(Math.min(MOST.certificateBytes + 1, (await file.stat()).size));
    const { bytesRead } = await file.read(bytes, 0, bytes.length, 0);
    return readDcc(name, bytes.subarray(0, bytesRead));
  } finally {
    await file.close();
  }
}

/** Runs in a worker thread. */
export default answering(ofThisProgram(readDccAt));
