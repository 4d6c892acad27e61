import type { RecordPage } from '../../pdf/page.js';
import type { RecordView } from '../record-view.js';

/** Every caution, in full. Page 1 carries those that nobody may miss. */
export function drawCautions(pdf: RecordPage, { template }: RecordView): void {
  pdf.list(Object.values(template.cautions), { small: true });
}
