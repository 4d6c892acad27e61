import fs from 'node:fs';
import { AppError, BadInputError } from '../../base/errors.js';
import { WorkerPool } from '../../base/worker-pool.js';
import type { DifferingPart } from './differing-parts.js';
import { type PdfTask, runPdfTask } from './pdf-tasks.js';
import type { PdfContents } from './read-pdf.js';

const LARGEST_FILE = 256 * 1024 * 1024;
const MEMORY_MB = 1024;
const LONGEST_MS = 60_000;
const END = '%%EOF';

const pool = new WorkerPool<PdfTask, PdfContents | DifferingPart[]>(
  new URL('./pdf-worker.js', import.meta.url),
  MEMORY_MB,
);

/** What is wrong with a file as a whole: what the reader of PDF complains of, or where it was cut, or what was added. */
export type PdfDamage =
  | { readonly code: 'complaint'; readonly complaint: string }
  | { readonly code: 'cut'; readonly at: number }
  | { readonly code: 'added'; readonly bytes: number };

export interface OpenedPdf {
  readonly bytes: Buffer;
  readonly contents: PdfContents;
  /** When something could still be read of it. */
  readonly damage?: PdfDamage;
}

/**
 * Reads a PDF that may come from anybody: in a worker thread, with limits of size, memory and time. A file that is cut
 * or has something behind its end is read up to the last end that it has.
 * @throws BadInputError when there is no such file or it is too large, AppError ALTERED when nothing can be read.
 */
export async function openPdf(file: string): Promise<OpenedPdf> {
  const bytes = readFile(file);
  if (!bytes.subarray(0, 1024).includes('%PDF-')) throw new AppError('ALTERED', 'the file is no PDF');
  try {
    const contents = await read(bytes);
    const [complaint] = contents.complaints;
    if (complaint === undefined) return { bytes, contents };
    return { bytes, contents, damage: { code: 'complaint', complaint } };
  } catch (error) {
    if (!(error instanceof AppError)) throw error;
    return readToLastEnd(bytes, error);
  }
}

async function readToLastEnd(bytes: Buffer, error: AppError): Promise<OpenedPdf> {
  const last = bytes.lastIndexOf(END);
  if (last === -1) throw new AppError('ALTERED', `the file was cut: it has no end. ${error.message}`);
  const end = last + END.length + 1;
  const rest = bytes.subarray(end);
  if (rest.length === 0) throw error;
  const contents = await read(bytes.subarray(0, end));
  const cut = /^\s*\d+ \d+ obj/.test(rest.toString('latin1', 0, 64));
  return { bytes, contents, damage: cut ? { code: 'cut', at: end } : { code: 'added', bytes: rest.length } };
}

const read = (bytes: Buffer) => inWorker({ task: 'read', bytes }) as Promise<PdfContents>;

/**
 * In which parts two states of a PDF differ; null when one is too damaged to tell.
 * @param before of the same renderer as `after`.
 */
export async function whatDiffers(before: Buffer, after: Buffer): Promise<DifferingPart[] | null> {
  try {
    return (await inWorker({ task: 'compare', before, after })) as DifferingPart[];
  } catch (error) {
    if (error instanceof AppError) return null;
    throw error;
  }
}

function readFile(file: string): Buffer {
  const size = fs.statSync(file, { throwIfNoEntry: false })?.size;
  if (size === undefined) {
    throw new BadInputError([
      { code: 'file-missing', file, expected: 'a PDF record', remedy: 'name an existing file' },
    ]);
  }
  if (size > LARGEST_FILE) {
    const expected = `at most ${LARGEST_FILE}`;
    throw new BadInputError([{ code: 'too-large', file, found: `${size} bytes`, expected, remedy: 'check the file' }]);
  }
  return fs.readFileSync(file);
}

/** Run from TypeScript sources, where there is no compiled worker, the task is done in this thread, with the same result. */
async function inWorker(task: PdfTask): Promise<PdfContents | DifferingPart[]> {
  if (!pool.isCompiled) return runPdfTask(task);
  const signal = AbortSignal.timeout(LONGEST_MS);
  try {
    return await pool.run(task, { signal });
  } catch (error) {
    if (error instanceof AppError) throw error;
    if (signal.aborted) throw new AppError('ALTERED', `the file cannot be read within ${LONGEST_MS / 1000} s`);
    throw new AppError('ALTERED', `the file cannot be read: ${(error as Error).message}`);
  }
}
