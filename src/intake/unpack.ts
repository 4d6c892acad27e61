import { isUtf8 } from 'node:buffer';
import fs from 'node:fs';
import { crc32 } from 'node:zlib';
import * as yauzl from 'yauzl';
import { explained } from '../base/disk-trouble.js';
import { BadInputError, type Problem } from '../base/errors.js';
import type { Most } from '../base/limits.js';
import { type IncomingFolder, tooLarge, tooMuch } from './incoming-folder.js';
import { nameNotUtf8, noPlainFile, tooManyFiles } from './odd-files.js';

/** Ways in which an entry may be packed. */
const STORED = 0;
const DEFLATED = 8;
/** Flag of an entry. Without it a name is in the letters of the first PC, of which each byte is one. */
const NAMES_ARE_UTF8 = 0x800;
/** Kind of file in the upper half of the attributes, as systems of the Unix family write it. */
const KIND = 0o170000;
const KINDS: ReadonlyMap<number, string> = new Map([
  [0o120000, 'a link'],
  [0o020000, 'a device'],
  [0o060000, 'a device'],
  [0o010000, 'a pipe'],
  [0o140000, 'a socket'],
]);

/** A file of the archive, by its list of contents. */
interface Listed {
  readonly name: string;
  readonly entry: yauzl.Entry;
}

/**
 * Unpacks a ZIP into a folder. All that its list of contents says is checked before anything is unpacked, and what comes
 * out is counted, whatever the list says.
 * @throws BadInputError with everything that is wrong with it. The folder may then hold a part of it.
 */
export async function unpack(file: string, folder: IncomingFolder, most: Most): Promise<void> {
  const zip = await yauzl.openPromise(file, { autoClose: false, decodeStrings: false }).catch(refuseArchive);
  try {
    if (zip.entryCount > most.files) throw new BadInputError([tooManyFiles(most.files)]);
    const listed = await list(zip, folder).catch(refuseArchive);
    folder.problems.push(...sizeProblems(listed, fs.statSync(file).size, most));
    folder.refuseProblems();
    for (const { name, entry } of listed) await unpackOne(zip, name, entry, folder);
  } finally {
    zip.close();
  }
}

/** @returns the files that are wanted. What is wrong with the others is told by the folder. */
async function list(zip: yauzl.ZipFile, folder: IncomingFolder): Promise<Listed[]> {
  const listed: Listed[] = [];
  for await (const entry of zip.eachEntry()) {
    const { generalPurposeBitFlag, fileNameRaw, extraFields } = entry;
    const name = yauzl.getFileNameLowLevel(generalPurposeBitFlag, fileNameRaw, extraFields, true);
    if (generalPurposeBitFlag & NAMES_ARE_UTF8 && !isUtf8(fileNameRaw)) {
      folder.problems.push(nameNotUtf8('', fileNameRaw));
      continue;
    }
    if (!folder.accept(name)) continue;
    const problem = entryProblem(name, entry);
    if (problem) folder.problems.push(problem);
    else if (!name.endsWith('/')) listed.push({ name, entry });
  }
  return listed;
}

function entryProblem(file: string, entry: yauzl.Entry): Problem | undefined {
  const { compressionMethod: method } = entry;
  const kind = (entry.externalFileAttributes >>> 16) & KIND;
  const isKnown = kind === 0 || kind === 0o100000 || (kind === 0o040000 && file.endsWith('/'));
  if (!isKnown) {
    return noPlainFile(file, KINDS.get(kind) ?? 'neither a file nor a folder');
  }
  if (entry.isEncrypted()) {
    return {
      code: 'encrypted',
      file,
      found: 'an encrypted file',
      expected: 'files without a password',
      remedy: 'pack the folder again without a password',
    };
  }
  if (method !== STORED && method !== DEFLATED) {
    return {
      code: 'packing',
      file,
      found: `packing method ${method}`,
      expected: 'files that are stored or deflated, as every ZIP program can',
      remedy: 'pack the folder again by the ordinary method',
    };
  }
  return undefined;
}

/** Sizes as the list of contents tells them: what claims too much is not begun. */
function sizeProblems(listed: readonly Listed[], archiveBytes: number, most: Most): Problem[] {
  const { uploadFileBytes, uploadBytes, packedRatio: ratio, packedFreely } = most;
  const packed = (size: number, from: number) => size > packedFreely && size > ratio * from;
  const problems = listed.flatMap(({ name, entry: { uncompressedSize: size, compressedSize } }) => {
    if (size > uploadFileBytes) return [tooLarge(name, uploadFileBytes)];
    return packed(size, compressedSize) ? [tooPacked(size, compressedSize, ratio, name)] : [];
  });
  const total = listed.reduce((sum, { entry }) => sum + entry.uncompressedSize, 0);
  if (total > uploadBytes) problems.push(tooMuch(uploadBytes));
  // Entries may share their packed bytes.
  else if (packed(total, archiveBytes) && problems.length === 0) problems.push(tooPacked(total, archiveBytes, ratio));
  return problems;
}

async function unpackOne(zip: yauzl.ZipFile, name: string, entry: yauzl.Entry, folder: IncomingFolder): Promise<void> {
  let sum = 0;
  async function* checked(): AsyncGenerator<Buffer> {
    for await (const block of await zip.openReadStreamPromise(entry)) {
      sum = crc32(block, sum);
      yield block;
    }
    if (sum !== entry.crc32) throw new Error('its checksum does not fit its bytes');
  }
  try {
    await folder.fill(name, checked());
  } catch (error) {
    // The library names bytes that do not fit in plain errors; those of the disk have a code.
    if (explained(error) !== error || error instanceof BadInputError || (error as NodeJS.ErrnoException).syscall)
      throw error;
    throw new BadInputError([
      {
        code: 'archive',
        file: name,
        found: (error as Error).message,
        expected: 'the bytes that the list of contents of the ZIP tells',
        remedy: 'pack the folder again',
      },
    ]);
  }
}

function refuseArchive(error: Error): never {
  if (error instanceof BadInputError) throw error;
  throw new BadInputError([
    {
      code: 'archive',
      found: error.message,
      expected: 'a whole ZIP',
      remedy: 'pack the folder again and send it again',
    },
  ]);
}

const tooPacked = (size: number, from: number, ratio: number, file?: string): Problem => ({
  code: 'packed-too-well',
  ...(file === undefined ? {} : { file }),
  found: `${size} bytes out of ${from}`,
  expected: `at most ${ratio} times as many bytes as the ZIP has`,
  remedy: 'send the folder itself, or take it in by the command "lotwright intake"',
});
