import type { Flow, Heading } from './flow.js';
import { widthOf } from './shaping.js';
import { PAGE, TEXT_WIDTH } from './sheet.js';
import { BODY, baseLine, HAIRLINE, INK, lineHeight, STRONG } from './style.js';
import { drawLines } from './text.js';
import { breakLines, type Line, type TextSetting } from './text-layout.js';

const INDENT = 14;
/** Keeps titles out of the page numbers' way. */
const NUMBER_ROOM = 40;

const COLUMN_GAP = 24;

/** The table of contents, from what the pass before found out; empty in the first pass. */
export function drawContents(flow: Flow, deepest: 1 | 2 | 3, columns: 1 | 2): void {
  const entries = flow.contents().filter((heading) => heading.listed && heading.level <= deepest);
  if (entries.length === 0) {
    flow.y += 8;
    return;
  }
  flow.sheet.open('TOC');
  if (columns === 1) for (const entry of entries) drawEntry(flow, entry, PAGE.left, PAGE.right);
  else drawColumns(flow, entries);
  flow.sheet.close();
  flow.y += 8;
}

/** Two columns of a table that fits on one page, read down the left one first. */
function drawColumns(flow: Flow, entries: readonly Heading[]): void {
  const width = (TEXT_WIDTH - COLUMN_GAP) / 2;
  const half = Math.ceil(entries.length / 2);
  flow.need(half * (lineHeight(STRONG) + 3));
  const [top, page] = [flow.y, flow.page];
  let lowest = top;
  for (const [index, entry] of entries.entries()) {
    if (index === half && flow.page === page) {
      lowest = flow.y;
      flow.y = top;
    }
    const left = PAGE.left + (index < half ? 0 : width + COLUMN_GAP);
    drawEntry(flow, entry, left, left + width);
  }
  flow.y = Math.max(lowest, flow.y);
}

function drawEntry(flow: Flow, { level, text, anchor, page }: Heading, left: number, right: number): void {
  const setting = level === 1 ? STRONG : BODY;
  const x = left + (level - 1) * INDENT;
  const lines = breakLines(text, setting, right - x - NUMBER_ROOM);
  const height = lineHeight(setting);
  if (level === 1) flow.space(3);
  flow.need(lines.length * height);
  flow.leadsTo(anchor);

  const number = numberLine(String(page), setting);
  const lastY = flow.y + (lines.length - 1) * height;
  const alt = `${text}, page ${page}`;
  flow.sheet.open('TOCI');
  flow.sheet.open('Reference');
  flow.sheet.open('Link', { alt });
  const placed = lines.map((line, index) => ({ line, x, y: flow.y + index * height }));
  drawLines(flow, [...placed, { line: number, x: right - number.width, y: lastY }], setting, INK);
  flow.sheet.link({ x, y: flow.y, w: right - x, h: lines.length * height }, anchor, alt);
  flow.sheet.close();
  flow.sheet.close();
  flow.sheet.close();
  drawLeader(flow, x + lines.at(-1)!.width + 5, right - number.width - 5, lastY + baseLine(setting));
  flow.y += lines.length * height;
}

function numberLine(text: string, setting: TextSetting): Line {
  const width = widthOf(text, setting.face, setting.sizePt);
  return { fragments: [{ text, face: setting.face, width, to: undefined }], width };
}

function drawLeader(flow: Flow, from: number, to: number, y: number): void {
  if (to > from) flow.sheet.artifact('layout', () => flow.sheet.line(from, y, to, y, HAIRLINE, 0.4));
}
