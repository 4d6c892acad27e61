import type { Flow, Heading } from './flow.js';
import { widthOf } from './shaping.js';
import { PAGE } from './sheet.js';
import { BODY, baseLine, HAIRLINE, INK, lineHeight, STRONG } from './style.js';
import { drawLines } from './text.js';
import { breakLines, type Line, type TextSetting } from './text-layout.js';

const INDENT = 14;
/** Keeps titles out of the page numbers' way. */
const NUMBER_ROOM = 40;

/** The table of contents, from what the pass before found out; empty in the first pass. */
export function drawContents(flow: Flow, deepest: 1 | 2 | 3): void {
  const entries = flow.contents().filter((heading) => heading.listed && heading.level <= deepest);
  if (entries.length === 0) return;
  flow.sheet.open('TOC');
  for (const entry of entries) drawEntry(flow, entry);
  flow.sheet.close();
  flow.y += 8;
}

function drawEntry(flow: Flow, { level, text, anchor, page }: Heading): void {
  const setting = level === 1 ? STRONG : BODY;
  const x = PAGE.left + (level - 1) * INDENT;
  const lines = breakLines(text, setting, PAGE.right - x - NUMBER_ROOM);
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
  drawLines(flow, [...placed, { line: number, x: PAGE.right - number.width, y: lastY }], setting, INK);
  flow.sheet.link({ x, y: flow.y, w: PAGE.right - x, h: lines.length * height }, anchor, alt);
  flow.sheet.close();
  flow.sheet.close();
  flow.sheet.close();
  drawLeader(flow, x + lines.at(-1)!.width + 5, PAGE.right - number.width - 5, lastY + baseLine(setting));
  flow.y += lines.length * height;
}

function numberLine(text: string, setting: TextSetting): Line {
  const width = widthOf(text, setting.face, setting.sizePt);
  return { fragments: [{ text, face: setting.face, width, to: undefined }], width };
}

function drawLeader(flow: Flow, from: number, to: number, y: number): void {
  if (to > from) flow.sheet.artifact('layout', () => flow.sheet.line(from, y, to, y, HAIRLINE, 0.4));
}
