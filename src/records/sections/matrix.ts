import { appliedLimits } from '../../assessment/study-limits.js';
import type { Column } from '../../pdf/column.js';
import type { RecordPage } from '../../pdf/page.js';
import { lotMatrix, type MatrixRow } from '../../report/lot-matrix.js';
import { appliedLimitsText } from '../../report/phrases/limits.js';
import { LOT_MATRIX } from '../../report/phrases/lot-matrix.js';
import { type RecordView, shownUnits } from '../record-view.js';

/** So many implants fit beside each other; more stand in further tables. */
const MOST_BESIDE = 4;

/** Page 2: implants against everything that is asked of them, each cell with the page that tells more. */
export function drawMatrix(pdf: RecordPage, view: RecordView): void {
  const { facts, assessment } = view;
  const units = shownUnits(view).map(({ serial }) => serial);
  const asked = new Map(
    facts.specification.body.characteristics.map((item) => [
      item.characteristic,
      LOT_MATRIX.characteristic(item.title, appliedLimitsText(item, appliedLimits(facts, item))),
    ]),
  );
  const headOf = ({ of }: MatrixRow) =>
    'aspect' in of ? LOT_MATRIX.aspects[of.aspect] : (asked.get(of.characteristic) ?? of.characteristic);
  pdf.heading(1, LOT_MATRIX.title, { listed: false });
  const blocks = Math.ceil(units.length / MOST_BESIDE);
  for (let block = 0; block < blocks; block++) {
    const beside = units.slice(block * MOST_BESIDE, (block + 1) * MOST_BESIDE);
    pdf.table({
      caption: blocks === 1 ? LOT_MATRIX.caption : LOT_MATRIX.captionOf(block + 1, blocks),
      columns: [{ head: LOT_MATRIX.asked, width: 5 }, ...beside.map((head): Column => ({ head, width: 3 }))],
      rows: lotMatrix(facts, assessment, beside).map((row) => ({
        cells: [
          headOf(row),
          ...row.cells.map(({ state, anchor }) => [
            `${LOT_MATRIX.states[state]}, `,
            { text: LOT_MATRIX.page(pdf.pageOf(anchor)), to: anchor },
          ]),
        ],
        attention: row.cells.some(({ state }) => AGAINST.has(state)),
      })),
    });
  }
  if (units.length === 0) pdf.paragraph(LOT_MATRIX.noImplant);
}

const AGAINST: ReadonlySet<string> = new Set(['does not conform', 'cannot be decided', 'blocks release']);
