import { createHash } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import { BadInputError } from '../base/errors.js';
import { kindNamed } from '../kinds/catalogue.js';
import type { Reads } from '../store/repositories.js';
import type { ReadFolder } from './read-folder.js';
import { readResultSheet } from './results-file.js';

/** A result sheet that was made on a page. */
export interface MadeSheet {
  /** Path in the folder of the lot: `results/TM-T-a1b2.csv`. */
  readonly file: string;
  readonly text: string;
}

/**
 * The folder of a lot as it is stored, without the files that came with it, and with one more sheet.
 * @param root folder to which the sheet is written.
 * @throws NotFoundError without such a lot; BadInputError for a sheet that cannot be read.
 */
export async function storedLotWith(
  read: Reads,
  root: string,
  lot: string,
  { file, text }: MadeSheet,
): Promise<ReadFolder> {
  const { body, text: stored } = await read.entries.currentOrThrow('lot', lot);
  const bytes = Buffer.from(text);
  const at = path.join(root, path.posix.basename(file));
  fs.writeFileSync(at, bytes, { flag: 'wx', mode: 0o600 });
  const { rows, problems } = readResultSheet(file, bytes);
  if (problems.length > 0) throw new BadInputError(problems);
  const sheet = { file, path: at, sha256: createHash('sha256').update(bytes).digest('hex'), rows };
  const document = {
    file: 'lot.yaml',
    bytes: Buffer.from(stored),
    kind: kindNamed('lot')!,
    written: body,
    body,
    lineOf: () => 1,
  };
  return {
    site: [],
    lots: [{ folder: '.', document, lot: body, files: [], sheets: [sheet], exposures: [], isStored: true }],
    unused: [],
  };
}
