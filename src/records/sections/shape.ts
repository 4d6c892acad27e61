import type { Facts } from '../../dossier/facts.js';
import type { RecordPage } from '../../pdf/page.js';
import { SHAPE } from '../../report/phrases/record-shape.js';
import { shapeTables } from '../../report/shape-rows.js';

/** Each scan of a finished implant: its zones against their profiles, and how it looks from three sides. */
export function drawShapes(pdf: RecordPage, facts: Facts): boolean {
  const tables = shapeTables(facts);
  if (tables.length === 0) return false;
  pdf.heading(2, SHAPE.title);
  for (const { caption, rows, notes, figure } of tables) {
    if (rows.length > 0)
      pdf.table({
        caption,
        columns: [
          { head: SHAPE.zone, width: 2.4 },
          { head: SHAPE.profile, unit: 'mm', width: 2.2 },
          { head: SHAPE.points, width: 1.5 },
          { head: SHAPE.share, width: 1.5 },
          { head: SHAPE.spread, unit: 'mm', width: 2.8 },
          { head: SHAPE.worst, unit: 'mm', width: 1.8 },
          { head: SHAPE.other, unit: 'mm', width: 2.2 },
        ],
        rows: rows.map((cells) => ({ cells: [...cells] })),
      });
    for (const note of notes) pdf.paragraph(note, { small: true });
    if (figure) pdf.figure(figure);
  }
  return true;
}
