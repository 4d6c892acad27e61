import type { RecordPage } from '../../pdf/page.js';
import type { TableSpec } from '../../pdf/table.js';
import { noneOf } from '../../report/phrases/absent.js';

/** A table where it has a row; else its caption joins those of which there is none. */
export function tableOr(pdf: RecordPage, none: string[], spec: TableSpec): void {
  if (spec.rows.length > 0) pdf.table(spec);
  else none.push(spec.caption);
}

/** What there is none of, named once for all. */
export function sayNone(pdf: RecordPage, none: readonly string[]): void {
  if (none.length > 0) pdf.paragraph(noneOf(none), { small: true });
}
