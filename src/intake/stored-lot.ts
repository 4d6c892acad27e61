import { createHash } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { BadInputError, NotFoundError } from '../base/errors.js';
import { kindNamed } from '../kinds/catalogue.js';
import type { Reads } from '../store/repositories.js';
import type { InstrumentExport } from './instrument-exports.js';
import type { LotFolder, ReadFolder } from './read-folder.js';
import { readResultSheet } from './results-file.js';

/** A result sheet that was made on a page. */
export interface MadeSheet {
  /** Path in the folder of the lot: `results/TM-T-a1b2.csv`. */
  readonly file: string;
  readonly text: string;
}

/**
 * The folder of a lot as it is stored, without the files that came with it.
 * @throws NotFoundError without such a lot.
 */
export async function storedLot(read: Reads, lot: string): Promise<LotFolder> {
  const { body, text } = await read.entries.currentOrThrow('lot', lot);
  const document = {
    file: 'lot.yaml',
    bytes: Buffer.from(text),
    kind: kindNamed('lot')!,
    written: body,
    body,
    lineOf: () => 1,
  };
  return { folder: '.', document, lot: body, files: [], sheets: [], exposures: [], isStored: true };
}

/**
 * The same with one more sheet.
 * @param root folder to which the sheet is written.
 * @throws NotFoundError without such a lot; BadInputError for a sheet that cannot be read.
 */
export async function storedLotWith(
  read: Reads,
  root: string,
  lot: string,
  { file, text }: MadeSheet,
): Promise<ReadFolder> {
  const stored = await storedLot(read, lot);
  const bytes = Buffer.from(text);
  const at = path.join(root, path.posix.basename(file));
  fs.writeFileSync(at, bytes, { flag: 'wx', mode: 0o600 });
  const { rows, problems } = readResultSheet(file, bytes);
  if (problems.length > 0) throw new BadInputError(problems);
  const sheet = { file, path: at, sha256: createHash('sha256').update(bytes).digest('hex'), rows };
  return { site: [], lots: [{ ...stored, sheets: [sheet] }], unused: [] };
}

/** The same of which an export came. @throws BadInputError without such a lot. */
export async function storedLotOf(read: Reads, lot: string, { at, file }: InstrumentExport): Promise<LotFolder> {
  try {
    return await storedLot(read, lot);
  } catch (error) {
    if (!(error instanceof NotFoundError)) throw error;
    throw new BadInputError([
      {
        code: 'unknown-lot',
        file: at ?? file,
        found: `the folder exports/${lot}, and no lot ${lot}`,
        expected: 'a folder named by a lot that is stored, and in it one named by the profile of the instrument',
        remedy: 'rename the folder, or take in the lot first',
      },
    ]);
  }
}
