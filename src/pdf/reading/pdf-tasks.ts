import { type Differences, differences } from './differing-parts.js';
import { type PdfContents, readPdf } from './read-pdf.js';

/** What is done with PDFs that come from anybody. */
export type PdfTask =
  | { readonly task: 'read'; readonly bytes: Uint8Array }
  | { readonly task: 'compare'; readonly before: Uint8Array; readonly after: Uint8Array };

export function runPdfTask(task: PdfTask): Promise<PdfContents | Differences> {
  return task.task === 'read' ? readPdf(task.bytes) : differences(task.before, task.after);
}
