import type { Text } from './text-layout.js';

export interface Column {
  readonly head: string;
  /** Unit of measure, printed below the head. */
  readonly unit?: string;
  /** `decimal` puts the decimal points of plain numbers under each other; other text in it stands at the left. */
  readonly align?: 'left' | 'right' | 'decimal';
  /** Share of the table's width. Give it to all columns or to none: without any, widths follow the contents. */
  readonly width?: number;
}

export interface TableRow {
  readonly cells: readonly Text[];
  /** Name under which links reach the row. */
  readonly anchor?: string;
  /** A bar and a tint: this row needs to be looked at. One of its cells says why, in words. */
  readonly attention?: boolean;
}
