import { createHash } from 'node:crypto';
import { createReadStream } from 'node:fs';
import { type FileHandle, open } from 'node:fs/promises';
import { createGunzip } from 'node:zlib';
import type { LogFacts } from '../dossier/schema.js';
import { BadInputError, type Problem } from '../errors.js';
import type { ScanPlan } from './plan.js';
import { LogScanner, SCANNER } from './scanner.js';
import type { TextScan } from './text-scan.js';

export interface ScanRequest {
  readonly path: string;
  /** Name of the file as the person knows it, for messages and for the record. */
  readonly fileName: string;
  readonly plan: ScanPlan;
}

/** What a scan says of a file: what the dossier keeps, and counts for the one who took it in. */
export interface ScanReport extends Omit<TextScan, 'textSha256' | 'planSha256' | 'rows' | 'rejectedRows'> {
  readonly facts: LogFacts;
}

/** The file as it came, before unpacking. */
interface Received {
  readonly sha256: string;
  readonly bytes: number;
}

const READ_SIZE = 1 << 20;
/** Progress is told each time so many bytes of text were read. */
const PROGRESS_BYTES = 16 << 20;

/**
 * Scans one log, plain or gzip (told by its first bytes, since evidence has no file extension), in this thread.
 * @param onProgress called with the rows accepted so far.
 * @throws BadInputError naming what is wrong with the file as a whole; single bad lines are in the report.
 */
export async function scanFile(request: ScanRequest, onProgress?: (rows: number) => void): Promise<ScanReport> {
  const { path, fileName, plan } = request;
  const scanner = new LogScanner(plan, fileName);
  let textBytes = 0;
  let told = 0;
  const scan = async (source: AsyncIterable<Uint8Array>) => {
    for await (const chunk of source) {
      scanner.push(chunk);
      textBytes += chunk.length;
      if (textBytes - told < PROGRESS_BYTES) continue;
      told = textBytes;
      onProgress?.(scanner.rows);
    }
  };
  const file = await open(path);
  try {
    if (await startsAsGzip(file)) {
      await unpack(path, scan);
      return asReport(scanner.end(), request, await received(file));
    }
    await scan(chunksOf(file));
    const text = scanner.end();
    return asReport(text, request, { sha256: text.textSha256, bytes: textBytes });
  } catch (error) {
    const problem = gzipProblem(error, fileName, scanner.rows);
    throw problem === undefined ? error : new BadInputError([problem]);
  } finally {
    await file.close();
  }
}

/**
 * The bytes of a file in large chunks. Two buffers take turns: one is read into while the other is scanned, and nothing is
 * left for the garbage collector. A chunk is only valid until the next one is asked for.
 */
async function* chunksOf(file: FileHandle): AsyncGenerator<Uint8Array> {
  let current = Buffer.allocUnsafe(READ_SIZE);
  let other = Buffer.allocUnsafe(READ_SIZE);
  let position = 0;
  let pending = file.read(current, 0, READ_SIZE, position);
  try {
    for (;;) {
      const { bytesRead } = await pending;
      if (bytesRead === 0) return;
      position += bytesRead;
      pending = file.read(other, 0, READ_SIZE, position);
      yield current.subarray(0, bytesRead);
      [current, other] = [other, current];
    }
  } finally {
    // When the scan gives up, a read is still under way, and its buffer must not be let go before it is done.
    await pending.catch(() => undefined);
  }
}

/** Unpacks a gzip file into the sink: members one behind the other are one text, zeros behind the last are padding. */
async function unpack(path: string, sink: (text: AsyncIterable<Uint8Array>) => Promise<void>): Promise<void> {
  const packed = createReadStream(path, { highWaterMark: READ_SIZE });
  const text = createGunzip({ chunkSize: READ_SIZE });
  packed.on('error', (error) => text.destroy(error));
  try {
    await sink(packed.pipe(text));
  } finally {
    packed.destroy();
    text.destroy();
  }
}

/** Hash and size of the bytes as received, padding included, which unpacking need not read. */
async function received(file: FileHandle): Promise<Received> {
  const hash = createHash('sha256');
  let bytes = 0;
  for await (const chunk of chunksOf(file)) {
    hash.update(chunk);
    bytes += chunk.length;
  }
  return { sha256: hash.digest('hex'), bytes };
}

function asReport(
  { textSha256, planSha256, rows, rejectedRows, ...rest }: TextScan,
  { fileName, plan }: ScanRequest,
  { sha256, bytes }: Received,
): ScanReport {
  const facts = {
    build: plan.build,
    fileName,
    sha256,
    textSha256,
    bytes,
    rows,
    rejectedRows,
    firstAt: rest.firstAt,
    lastAt: rest.lastAt,
    scanner: SCANNER,
    planSha256,
  };
  return { ...rest, facts };
}

async function startsAsGzip(file: FileHandle): Promise<boolean> {
  const { bytesRead, buffer } = await file.read(Buffer.alloc(2), 0, 2, 0);
  return bytesRead === 2 && buffer[0] === 0x1f && buffer[1] === 0x8b;
}

const GZIP_TROUBLE: Readonly<Record<string, Pick<Problem, 'code' | 'expected'>>> = {
  Z_BUF_ERROR: { code: 'gzip-cut', expected: 'a gzip file that is complete to its last byte' },
  Z_DATA_ERROR: { code: 'gzip-damaged', expected: 'a gzip file whose checksums agree with its content' },
};

function gzipProblem(error: unknown, fileName: string, rows: number): Problem | undefined {
  const { code, message } = error as NodeJS.ErrnoException;
  const trouble = GZIP_TROUBLE[code ?? ''];
  if (trouble === undefined) return undefined;
  const remedy = 'copy the file again from where it was packed; nothing of it was used';
  return { ...trouble, file: fileName, found: `${message} after ${rows} rows`, remedy };
}
