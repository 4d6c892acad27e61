import type { RecordPage } from '../../pdf/page.js';

/** Said outright where this version has no facts, so that nobody takes an empty section for a clean one. */
export const NOT_RECORDED = 'not recorded by this version';

export function drawNotRecorded(pdf: RecordPage, what: string): void {
  pdf.paragraph(`${what}: ${NOT_RECORDED}.`);
}
