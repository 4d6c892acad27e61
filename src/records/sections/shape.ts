import type { Facts } from '../../dossier/facts.js';
import type { RecordPage } from '../../pdf/page.js';
import { SHAPE } from '../../report/phrases/record-shape.js';
import { STOCK_CHANGE } from '../../report/phrases/stock-parts.js';
import { type ChangeTable, changeTables, shapeTables } from '../../report/shape-rows.js';

/** Each scan of a finished implant: its zones against their profiles, and how it looks from three sides. */
export function drawShapes(pdf: RecordPage, facts: Facts): boolean {
  const tables = shapeTables(facts);
  const changes = changeTables(facts);
  if (tables.length + changes.length === 0) return false;
  if (tables.length > 0) pdf.heading(2, SHAPE.title);
  for (const { caption, rows, notes, figure } of tables) {
    if (rows.length > 0)
      pdf.table({
        caption,
        columns: [
          { head: SHAPE.zone, width: 2.4 },
          { head: SHAPE.profile, unit: 'mm', width: 2.2 },
          { head: SHAPE.points, width: 1.5 },
          { head: SHAPE.seen, width: 1.4 },
          { head: SHAPE.share, width: 1.4 },
          { head: SHAPE.spread, unit: 'mm', width: 2.8 },
          { head: SHAPE.worst, unit: 'mm', width: 1.8 },
          { head: SHAPE.other, unit: 'mm', width: 2.2 },
        ],
        rows: rows.map((cells) => ({ cells: [...cells] })),
      });
    for (const note of notes) pdf.paragraph(note, { small: true });
    if (figure) pdf.figure(figure);
  }
  drawChanges(pdf, changes);
  return true;
}

/** Stock parts before and after they were built on. */
function drawChanges(pdf: RecordPage, tables: readonly ChangeTable[]): void {
  if (tables.length > 0) pdf.heading(2, STOCK_CHANGE.title);
  const { heads } = STOCK_CHANGE;
  for (const { caption, rows, notes } of tables) {
    if (rows.length > 0)
      pdf.table({
        caption,
        columns: [
          { head: heads.surface, width: 3.6 },
          { head: heads.mean, unit: 'mm', width: 1.8 },
          { head: heads.spread, unit: 'mm', width: 2.4 },
          { head: heads.worst, unit: 'mm', width: 2 },
          { head: heads.at, width: 3.6 },
        ],
        rows: rows.map((cells) => ({ cells: [...cells] })),
      });
    for (const note of notes) pdf.paragraph(note, { small: true });
  }
}
