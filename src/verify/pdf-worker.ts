import { parentPort, workerData } from 'node:worker_threads';
import { AppError } from '../errors.js';
import { type PdfTask, runPdfTask } from './pdf-tasks.js';

/** Runs in a worker thread: does the task that it was started with and sends the answer, or what is wrong. */
try {
  parentPort!.postMessage({ answer: await runPdfTask(workerData as PdfTask) });
} catch (error) {
  if (!(error instanceof AppError)) throw error;
  parentPort!.postMessage({ wrong: error.message });
}
