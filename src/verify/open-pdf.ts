import fs from 'node:fs';
import { fileURLToPath } from 'node:url';
import { Worker } from 'node:worker_threads';
import { AppError, BadInputError } from '../errors.js';
import { type PdfContents, readPdf } from './read-pdf.js';

const LARGEST_FILE = 256 * 1024 * 1024;
const MEMORY_MB = 1024;
const LONGEST_MS = 60_000;
const WORKER_FILE = fileURLToPath(new URL('./pdf-worker.js', import.meta.url));

/**
 * Reads a PDF that may come from anybody: in a worker thread, with limits of size, memory and time.
 * Run from TypeScript sources, where there is no compiled worker, it reads in this thread with the same result.
 * @throws BadInputError when there is no such file or it is too large, AppError ALTERED when it is no whole PDF.
 */
export async function openPdf(file: string): Promise<{ bytes: Buffer; contents: PdfContents }> {
  const size = fs.statSync(file, { throwIfNoEntry: false })?.size;
  if (size === undefined) {
    throw new BadInputError([
      { code: 'file-missing', file, expected: 'a PDF record', remedy: 'name an existing file' },
    ]);
  }
  if (size > LARGEST_FILE) {
    throw new BadInputError([
      {
        code: 'too-large',
        file,
        found: `${size} bytes`,
        expected: `at most ${LARGEST_FILE}`,
        remedy: 'check the file',
      },
    ]);
  }
  const bytes = fs.readFileSync(file);
  if (!bytes.subarray(0, 1024).includes('%PDF-')) throw new AppError('ALTERED', 'the file is no PDF');
  return { bytes, contents: fs.existsSync(WORKER_FILE) ? await readInWorker(bytes) : await readPdf(bytes) };
}

function readInWorker(bytes: Buffer): Promise<PdfContents> {
  return new Promise((resolve, reject) => {
    const worker = new Worker(WORKER_FILE, {
      workerData: bytes,
      resourceLimits: { maxOldGenerationSizeMb: MEMORY_MB },
      // The PDF library writes its complaints there; what matters of them comes back as a message.
      stderr: true,
      stdout: true,
    });
    const timer = setTimeout(() => {
      void worker.terminate();
      reject(new AppError('ALTERED', `the file cannot be read within ${LONGEST_MS / 1000} s`));
    }, LONGEST_MS);
    worker.once('message', (answer: PdfContents | { wrong: string }) => {
      clearTimeout(timer);
      void worker.terminate();
      if ('wrong' in answer) reject(new AppError('ALTERED', answer.wrong));
      else resolve(answer);
    });
    worker.once('error', (error) => {
      clearTimeout(timer);
      reject(new AppError('ALTERED', `the file cannot be read: ${error.message}`));
    });
  });
}
