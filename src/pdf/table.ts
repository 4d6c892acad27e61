import { AppError } from '../base/errors.js';
import type { Column, TableRow } from './column.js';
import { CELL_PAD, columnWidths } from './column-widths.js';
import { decimalParts } from './decimal-cell.js';
import type { Flow } from './flow.js';
import { widthOf } from './shaping.js';
import { PAGE, TEXT_WIDTH } from './sheet.js';
import {
  ATTENTION_BAR,
  ATTENTION_FILL,
  baseLine,
  CAPTION,
  CELL,
  CELL_HEAD,
  HAIRLINE,
  HEAD_FILL,
  INK,
  lineHeight,
  MUTED,
  STRONG,
} from './style.js';
import { drawLines, drawParagraph, type PlacedLine, runLines } from './text.js';
import { breakLines, type Line, type Text, type TextSetting } from './text-layout.js';

export interface TableSpec {
  readonly caption: string;
  readonly columns: readonly Column[];
  /** A row is its cells, or its cells with an anchor or a mark. The first cell is the head of its row. */
  readonly rows: readonly (TableRow | readonly Text[])[];
  /** Stands in place of a table without rows. */
  readonly empty?: string;
}

interface PlacedColumn extends Column {
  readonly x: number;
  readonly w: number;
  /** Where decimal points stand, for `decimal` columns with numbers. */
  readonly pointX: number;
}

const ROW_HEIGHT = lineHeight(CELL);
const ROW_PAD = 1.7;
const INNER = 2 * CELL_PAD;
const MOST_KEPT_ROWS = 8;
/** A first row up to this height stays on the page of its head; a taller one is cut in slices anyway. */
const LARGEST_KEPT_ROW = (PAGE.bottom - PAGE.top) / 3;
const LARGEST_KEPT_TABLE = (PAGE.bottom - PAGE.top) / 4;
const TALLEST_HEAD = (PAGE.bottom - PAGE.top) / 3;

/** A table over as many pages as it needs: heads repeat, texts wrap, and nothing is cut off or overlaps. */
export function drawTable(flow: Flow, spec: TableSpec): void {
  const rows = spec.rows.map(asRow);
  flow.space(4);
  if (rows.length === 0) {
    drawParagraph(flow, [{ text: spec.caption, style: 'bold' }, `: ${spec.empty ?? flow.identity.words.noRows}`], true);
    return;
  }
  const columns = placeColumns(spec.columns, rows);
  const head = columns.map((column) => breakLines(column.head, CELL_HEAD, column.w - INNER));
  const headHeight = headHeightOf(columns, head);
  if (headHeight > TALLEST_HEAD) {
    throw new AppError('BAD_INPUT', `the heads of the table "${spec.caption}" are too long to repeat on every page`, {
      heads: columns.map((column) => column.head),
    });
  }
  const lay = (row: TableRow) => columns.map((column, index) => layCell(column, row.cells[index] ?? ''));
  // Further rows are laid as they are drawn: a long table is never held whole beside all that it is drawn of.
  const first = rows.slice(0, rows.length > MOST_KEPT_ROWS ? 1 : rows.length).map(lay);
  flow.need(headHeight + keptHeight(first.map(heightOf), rows.length) + lineHeight(STRONG) + 2);

  flow.sheet.open('Table');
  drawCaption(flow, spec.caption);
  drawHead(flow, columns, head, headHeight);
  flow.sheet.open('TBody');
  const turnPage = () => {
    flow.addPage();
    repeatHead(flow, spec.caption, columns, head, headHeight);
  };
  let cells = first[0]!;
  rows.forEach((row, index) => {
    const following = rows[index + 1];
    const next = first[index + 1] ?? (following === undefined ? [] : lay(following));
    const height = heightOf(cells);
    // The last row does not stand alone on a page.
    const isLastButOne = index > 0 && index === rows.length - 2;
    const both = isLastButOne ? height + heightOf(next) : 0;
    if (height <= flow.roomLeft && both > flow.roomLeft && both <= LARGEST_KEPT_ROW) turnPage();
    drawRow(flow, columns, row, cells, turnPage);
    cells = next;
  });
  flow.sheet.close();
  flow.sheet.close();
  flow.y += 8;
}

/** A short table stays on one page; of a longer one its first row stays with the head. @param heights of all rows, or the first. */
function keptHeight(heights: readonly number[], rows: number): number {
  const all = heights.reduce((sum, height) => sum + height, 0);
  if (rows <= MOST_KEPT_ROWS && all <= LARGEST_KEPT_TABLE) return all;
  const first = heights[0]!;
  return first <= LARGEST_KEPT_ROW ? Math.max(4 * ROW_HEIGHT, first) : 4 * ROW_HEIGHT;
}

function asRow(row: TableRow | readonly Text[]): TableRow {
  return 'cells' in row ? row : { cells: row };
}

function placeColumns(columns: readonly Column[], rows: readonly TableRow[]): PlacedColumn[] {
  const widths = columnWidths(columns, rows, TEXT_WIDTH);
  let x: number = PAGE.left;
  return columns.map((column, index) => {
    const w = widths[index]!;
    const placed = { ...column, x, w, pointX: pointOf(column, rows, index, x, w) };
    x += w;
    return placed;
  });
}

/** The decimal point stands so that the widest number fills the column from the right. */
function pointOf(column: Column, rows: readonly TableRow[], index: number, x: number, w: number): number {
  if (column.align !== 'decimal') return 0;
  let fraction = 0;
  for (const row of rows) {
    const parts = decimalParts(row.cells[index] ?? '');
    if (parts) fraction = Math.max(fraction, widthOf(parts.fraction, 'regular', CELL.sizePt));
  }
  return x + w - CELL_PAD - fraction;
}

function headHeightOf(columns: readonly PlacedColumn[], head: readonly Line[][]): number {
  const lines = columns.map((column, index) => head[index]!.length + (column.unit === undefined ? 0 : 1));
  return Math.max(...lines) * ROW_HEIGHT + 2 * ROW_PAD;
}

function drawCaption(flow: Flow, caption: string): void {
  flow.sheet.open('Caption');
  runLines(flow, breakLines(caption, STRONG, TEXT_WIDTH), STRONG, PAGE.left);
  flow.sheet.close();
  flow.y += 2;
}

function drawHead(flow: Flow, columns: readonly PlacedColumn[], head: readonly Line[][], height: number): void {
  drawHeadGround(flow, height);
  flow.sheet.open('THead');
  flow.sheet.open('TR');
  columns.forEach((column, index) => {
    flow.sheet.open('TH', { scope: 'Column' });
    drawHeadCell(flow, column, head[index]!, (draw) => flow.sheet.content(draw));
    flow.sheet.close();
  });
  flow.sheet.close();
  flow.sheet.close();
  flow.y += height;
}

/** On later pages the head helps the eye; the structure has it once. */
function repeatHead(
  flow: Flow,
  caption: string,
  columns: readonly PlacedColumn[],
  head: readonly Line[][],
  height: number,
): void {
  const line = breakLines(`${caption}, continued`, CAPTION, TEXT_WIDTH)[0]!;
  const y = flow.y;
  flow.sheet.artifact('repeated', () => paintLine(flow, line, PAGE.left, y, CAPTION, MUTED));
  flow.y += lineHeight(CAPTION) + 2;
  drawHeadGround(flow, height);
  columns.forEach((column, index) => {
    drawHeadCell(flow, column, head[index]!, (draw) => flow.sheet.artifact('repeated', draw));
  });
  flow.y += height;
}

function drawHeadGround(flow: Flow, height: number): void {
  const y = flow.y;
  flow.sheet.artifact('layout', () => {
    flow.sheet.rect({ x: PAGE.left, y, w: TEXT_WIDTH, h: height }, HEAD_FILL);
    flow.sheet.line(PAGE.left, y + height, PAGE.right, y + height, MUTED, 0.7);
  });
}

function drawHeadCell(flow: Flow, column: PlacedColumn, lines: readonly Line[], put: (draw: () => void) => void): void {
  const top = flow.y + ROW_PAD;
  put(() => {
    lines.forEach((line, index) => {
      paintLine(flow, line, headX(column, line), top + index * ROW_HEIGHT, CELL_HEAD, INK);
    });
    if (column.unit === undefined) return;
    const unit = breakLines(column.unit, CELL, column.w - INNER)[0]!;
    paintLine(flow, unit, headX(column, unit), top + lines.length * ROW_HEIGHT, CELL, MUTED);
  });
}

function headX(column: PlacedColumn, line: Line): number {
  const atRight = column.align === 'right' || column.align === 'decimal';
  return atRight ? column.x + column.w - CELL_PAD - line.width : column.x + CELL_PAD;
}

function paintLine(flow: Flow, line: Line, x: number, y: number, setting: TextSetting, colour: string): void {
  let left = x;
  const base = y + baseLine(setting);
  for (const fragment of line.fragments) {
    flow.sheet.text(fragment, left, base, setting.sizePt, colour);
    left += fragment.width;
  }
}

/** A row keeps together when it fits on a page; a taller one is drawn in slices. */
function drawRow(
  flow: Flow,
  columns: readonly PlacedColumn[],
  row: TableRow,
  cells: readonly CellLine[][],
  turnPage: () => void,
): void {
  const lineCount = lineCountOf(cells);
  const height = heightOf(cells);
  const tallerThanPage = height > PAGE.bottom - PAGE.top - TALLEST_HEAD - 20;
  if (flow.roomLeft < height && !(tallerThanPage && flow.roomLeft > 6 * ROW_HEIGHT)) turnPage();
  if (row.anchor !== undefined) flow.anchor(row.anchor);

  if (height <= flow.roomLeft) {
    drawRowGround(flow, height, row.attention === true);
    drawSlice(flow, columns, cells, 0, lineCount);
    flow.y += height;
    return;
  }
  drawTallRow(flow, columns, cells, lineCount, row.attention === true, turnPage);
}

const lineCountOf = (cells: readonly CellLine[][]): number => Math.max(1, ...cells.map((cell) => cell.length));
const heightOf = (cells: readonly CellLine[][]): number => lineCountOf(cells) * ROW_HEIGHT + 2 * ROW_PAD;

interface CellLine {
  readonly line: Line;
  readonly x: number;
}

function layCell(column: PlacedColumn, cell: Text): CellLine[] {
  const parts = column.align === 'decimal' ? decimalParts(cell) : undefined;
  const left = column.x + CELL_PAD;
  if (parts) {
    const line = breakLines(cell, CELL, Number.POSITIVE_INFINITY)[0]!;
    const x = column.pointX - widthOf(parts.whole, 'regular', CELL.sizePt);
    if (x >= left - 0.01) return [{ line, x }];
  }
  return breakLines(cell, CELL, column.w - INNER).map((line) => ({
    line,
    x: column.align === 'right' ? column.x + column.w - CELL_PAD - line.width : left,
  }));
}

function drawRowGround(flow: Flow, height: number, attention: boolean): void {
  const y = flow.y;
  flow.sheet.artifact('layout', () => {
    if (attention) {
      // Leaves the line of the row above uncovered.
      flow.sheet.rect({ x: PAGE.left, y: y + 0.4, w: TEXT_WIDTH, h: height - 0.4 }, ATTENTION_FILL);
      flow.sheet.rect({ x: PAGE.left, y, w: 2.2, h: height }, ATTENTION_BAR);
    }
    flow.sheet.line(PAGE.left, y + height, PAGE.right, y + height, HAIRLINE, 0.4);
  });
}

function drawSlice(
  flow: Flow,
  columns: readonly PlacedColumn[],
  cells: readonly CellLine[][],
  from: number,
  to: number,
): void {
  flow.sheet.open('TR');
  columns.forEach((_, index) => {
    if (index === 0) flow.sheet.open('TH', { scope: 'Row' });
    else flow.sheet.open('TD');
    drawLines(flow, placed(cells[index]!, from, to, flow.y), CELL, INK);
    flow.sheet.close();
  });
  flow.sheet.close();
}

function placed(cell: readonly CellLine[], from: number, to: number, top: number): PlacedLine[] {
  return cell.slice(from, to).map(({ line, x }, index) => ({ line, x, y: top + ROW_PAD + index * ROW_HEIGHT }));
}

/** Each slice is a row of its own in the structure, since a cell cannot be read across a page's end. */
function drawTallRow(
  flow: Flow,
  columns: readonly PlacedColumn[],
  cells: readonly CellLine[][],
  lineCount: number,
  attention: boolean,
  turnPage: () => void,
): void {
  let from = 0;
  while (from < lineCount) {
    if (flow.roomLeft < ROW_HEIGHT + 2 * ROW_PAD) turnPage();
    const fitting = Math.max(1, Math.floor((flow.roomLeft - 2 * ROW_PAD) / ROW_HEIGHT));
    const to = Math.min(lineCount, from + fitting);
    const height = (to - from) * ROW_HEIGHT + 2 * ROW_PAD;
    drawRowGround(flow, height, attention);
    drawSlice(flow, columns, cells, from, to);
    flow.y += height;
    from = to;
  }
}
