import { type DifferingPart, differingParts } from './differing-parts.js';
import { type PdfContents, readPdf } from './read-pdf.js';

/** What is done with PDFs that come from anybody. */
export type PdfTask =
  | { readonly task: 'read'; readonly bytes: Uint8Array }
  | { readonly task: 'compare'; readonly before: Uint8Array; readonly after: Uint8Array };

export function runPdfTask(task: PdfTask): Promise<PdfContents | DifferingPart[]> {
  return task.task === 'read' ? readPdf(task.bytes) : differingParts(task.before, task.after);
}
