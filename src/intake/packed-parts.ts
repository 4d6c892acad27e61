import { crc32 } from 'node:zlib';
import * as yauzl from 'yauzl';
import { BadInputError, type Problem } from '../base/errors.js';
import { MOST } from '../base/limits.js';

/**
 * Texts of the parts of a packed document, by their names in it. What comes out is counted, whatever its list says.
 * @param wanted names of the parts that are read.
 * @throws BadInputError for what is no ZIP, is encrypted, or unpacks to more than a sheet may have.
 */
export async function unpackedParts(
  file: string,
  bytes: Uint8Array,
  wanted: RegExp,
): Promise<ReadonlyMap<string, string>> {
  const parts = new Map<string, string>();
  let room: number = MOST.sheetBytes;
  try {
    const zip = await yauzl.fromBufferPromise(Buffer.from(bytes), { autoClose: false });
    if (zip.entryCount > MOST.files) throw tooMuch(file);
    for await (const entry of zip.eachEntry()) {
      if (!wanted.test(entry.fileName)) continue;
      const blocks: Buffer[] = [];
      let sum = 0;
      for await (const block of await zip.openReadStreamPromise(entry)) {
        room -= (block as Buffer).length;
        if (room < 0) throw tooMuch(file);
        sum = crc32(block as Buffer, sum);
        blocks.push(block as Buffer);
      }
      if (sum !== entry.crc32) throw new Error(`the checksum of ${entry.fileName} does not fit its bytes`);
      parts.set(entry.fileName, Buffer.concat(blocks).toString('utf8'));
    }
  } catch (error) {
    if (error instanceof BadInputError) throw error;
    throw refused(file, (error as Error).message, 'a whole file, without a password', 'save or export it again');
  }
  return parts;
}

const refused = (file: string, found: string, expected: string, remedy: string): BadInputError => {
  const problem: Problem = { code: 'packed-document', file, found, expected, remedy };
  return new BadInputError([problem]);
};

const tooMuch = (file: string): BadInputError => {
  const found = `more than ${MOST.sheetBytes} bytes when it is unpacked`;
  return refused(file, found, `at most ${MOST.sheetBytes}`, 'export fewer rows at a time');
};
