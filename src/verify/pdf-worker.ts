import { parentPort, workerData } from 'node:worker_threads';
import { AppError } from '../errors.js';
import { readPdf } from './read-pdf.js';

/** Runs in a worker thread: reads the PDF that it was started with and sends the contents, or what is wrong. */
try {
  const { keywords, attachments } = await readPdf(workerData as Uint8Array);
  parentPort!.postMessage({ keywords, attachments });
} catch (error) {
  if (!(error instanceof AppError)) throw error;
  parentPort!.postMessage({ wrong: error.message });
}
