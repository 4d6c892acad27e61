import { CAUTIONS } from '../cautions.js';
import type { RecordPage } from '../pdf/page.js';

/** Every caution, in full. Page 1 carries those that nobody may miss. */
export function drawCautions(pdf: RecordPage): void {
  pdf.heading(1, 'Cautions');
  pdf.list(Object.values(CAUTIONS));
}
