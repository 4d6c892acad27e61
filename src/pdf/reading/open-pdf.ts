import fs from 'node:fs';
import { AppError, BadInputError } from '../../base/errors.js';
import { MOST } from '../../base/limits.js';
import { WorkerPool } from '../../base/worker-pool.js';
import { PAGE_MARK } from '../identity.js';
import { RECORD_NAMESPACE } from '../metadata.js';
import type { Differences } from './differing-parts.js';
import { type PdfTask, runPdfTask } from './pdf-tasks.js';
import type { PdfContents } from './read-pdf.js';
import { UnreadablePdf, type WhyUnreadable, whyUnreadable } from './unreadable.js';

const LARGEST_MB = MOST.pdfBytes >> 20;
const MEMORY_MB = 256;
const END = '%%EOF';

const pool = new WorkerPool<PdfTask, PdfContents | Differences>(new URL('./pdf-worker.js', import.meta.url), MEMORY_MB);

/** What is wrong with a file as a whole: where it was cut, or what was added, or that its parts do not fit together. */
export type PdfDamage =
  | { readonly code: 'damaged' }
  | { readonly code: 'cut'; readonly at: number }
  | { readonly code: 'added'; readonly bytes: number };

export interface OpenedPdf {
  readonly bytes: Buffer;
  readonly contents: PdfContents;
  /** When something could still be read of it. */
  readonly damage?: PdfDamage;
}

/** Something that cannot be a PDF record at all. */
export type NoPdf =
  | { readonly code: 'folder' | 'broken link' | 'no file' | 'empty' }
  | { readonly code: 'too large'; readonly megabytes: number; readonly most: number }
  | { readonly code: 'no PDF'; readonly looksLike: 'picture' | 'ZIP' | 'text' | 'unknown' };

/** What could not be opened, and whether it bears a mark of a record of this program: then it was altered. */
export class UnopenedPdf extends AppError {
  constructor(
    readonly why: NoPdf | WhyUnreadable,
    readonly isMarked: boolean,
  ) {
    super('ALTERED', `the file is no whole PDF: ${why.code}`, { why });
  }
}

/**
 * Reads a PDF that may come from anybody: in a worker thread, with limits of size, memory and time. A file that is cut
 * or has something behind its end is read up to the last end that it has.
 * @throws BadInputError when there is no such file or it may not be read, UnopenedPdf for any other that is no whole PDF.
 */
export async function openPdf(file: string): Promise<OpenedPdf> {
  const bytes = readFile(file);
  const isMarked = [PAGE_MARK, RECORD_NAMESPACE].some((mark) => bytes.includes(mark));
  if (bytes.length === 0) throw new UnopenedPdf({ code: 'empty' }, false);
  if (!bytes.subarray(0, 1024).includes('%PDF-')) {
    throw new UnopenedPdf({ code: 'no PDF', looksLike: looksLike(bytes) }, isMarked);
  }
  try {
    return await readWhole(bytes);
  } catch (error) {
    const why = whyUnreadable(error);
    if (!why) throw error;
    throw new UnopenedPdf(why, isMarked);
  }
}

async function readWhole(bytes: Buffer): Promise<OpenedPdf> {
  try {
    const contents = await read(bytes);
    return contents.isDamaged ? { bytes, contents, damage: { code: 'damaged' } } : { bytes, contents };
  } catch (error) {
    if (whyUnreadable(error)?.code !== 'no whole PDF') throw error;
    return readToLastEnd(bytes, error);
  }
}

async function readToLastEnd(bytes: Buffer, error: unknown): Promise<OpenedPdf> {
  const last = bytes.lastIndexOf(END);
  if (last === -1) throw new UnreadablePdf({ code: 'cut' });
  const end = last + END.length + 1;
  const rest = bytes.subarray(end);
  if (rest.length === 0) throw error;
  const contents = await read(bytes.subarray(0, end));
  const cut = /^\s*\d+ \d+ obj/.test(rest.toString('latin1', 0, 64));
  return { bytes, contents, damage: cut ? { code: 'cut', at: end } : { code: 'added', bytes: rest.length } };
}

const read = (bytes: Buffer) => inWorker({ task: 'read', bytes }) as Promise<PdfContents>;

/**
 * How two states of a PDF differ; null when one is too damaged to tell.
 * @param before the one from which the other was made, if nobody touched it.
 */
export async function whatDiffers(before: Buffer, after: Buffer): Promise<Differences | null> {
  try {
    return (await inWorker({ task: 'compare', before, after })) as Differences;
  } catch (error) {
    if (whyUnreadable(error)) return null;
    throw error;
  }
}

/** In memory that the thread which reads it shares: each copy that it got would cost as much as the file. */
function readShared(file: string, size: number): Buffer {
  const bytes = Buffer.from(new SharedArrayBuffer(size));
  const handle = fs.openSync(file, 'r');
  try {
    let at = 0;
    for (let read = -1; at < size && read !== 0; at += read) read = fs.readSync(handle, bytes, at, size - at, at);
    return bytes.subarray(0, at);
  } finally {
    fs.closeSync(handle);
  }
}

/** Nothing is read of what cannot be a record: a pipe would never end. */
function readFile(file: string): Buffer {
  const found = fs.statSync(file, { throwIfNoEntry: false });
  if (!found) {
    if (fs.lstatSync(file, { throwIfNoEntry: false })) throw new UnopenedPdf({ code: 'broken link' }, false);
    throw new BadInputError([
      { code: 'file-missing', file, expected: 'a PDF record', remedy: 'name an existing file' },
    ]);
  }
  if (found.isDirectory()) throw new UnopenedPdf({ code: 'folder' }, false);
  if (!found.isFile()) throw new UnopenedPdf({ code: 'no file' }, false);
  const megabytes = Math.ceil(found.size / 1024 / 1024);
  if (megabytes > LARGEST_MB) throw new UnopenedPdf({ code: 'too large', megabytes, most: LARGEST_MB }, false);
  try {
    return readShared(file, found.size);
  } catch {
    const remedy = 'ask for the right to read it';
    throw new BadInputError([{ code: 'file-unreadable', file, expected: 'a file that may be read', remedy }]);
  }
}

/** By the first bytes that the formats begin with. */
function looksLike(bytes: Buffer): (NoPdf & { code: 'no PDF' })['looksLike'] {
  const head = bytes.toString('latin1', 0, 16);
  if (/^(\x89PNG|\xff\xd8\xff|GIF8|II\*\0|MM\0\*|BM|RIFF....WEBP)/s.test(head)) return 'picture';
  if (head.startsWith('PK\x03\x04')) return 'ZIP';
  return bytes
    .subarray(0, 4096)
    .every((byte) => (byte >= 0x20 && byte < 0x7f) || byte === 9 || byte === 10 || byte === 13)
    ? 'text'
    : 'unknown';
}

/** Run from TypeScript sources, where there is no compiled worker, the task is done in this thread, with the same result. */
async function inWorker(task: PdfTask): Promise<PdfContents | Differences> {
  if (!pool.isCompiled) return runPdfTask(task);
  const signal = AbortSignal.timeout(MOST.pdfMs);
  try {
    return await pool.run(task, { signal });
  } catch (error) {
    if (whyUnreadable(error) || (error instanceof AppError && error.code === 'BUSY')) throw error;
    // Whatever else the reader stumbles over, its own words tell nobody anything.
    throw new UnreadablePdf({ code: signal.aborted ? 'too slow' : 'too much' });
  }
}
