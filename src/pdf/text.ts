import type { Flow } from './flow.js';
import { PAGE, TEXT_WIDTH } from './sheet.js';
import {
  ACCENT,
  ATTENTION_BAR,
  ATTENTION_FILL,
  BODY,
  baseLine,
  HEAD_FILL,
  HEADING,
  INK,
  LINK,
  lineHeight,
  MUTED,
  SMALL,
  SMALL_STRONG,
  STRONG,
  TITLE,
} from './style.js';
import { breakLines, type Fragment, type Line, naturalWidths, type Text, type TextSetting } from './text-layout.js';

export interface CalloutSpec {
  /** `caution` and `exception` carry a heavy bar, `note` a light one. The title says in words what it is. */
  readonly kind: 'caution' | 'exception' | 'note';
  readonly title: string;
  /** One text as a paragraph, several as a list. */
  readonly items: readonly Text[];
  /** In small letters. */
  readonly small?: boolean;
}

/** A name and its value. */
export type Fact = readonly [label: string, value: Text];

export interface PlacedLine {
  readonly line: Line;
  readonly x: number;
  /** Top of the line. */
  readonly y: number;
}

/** Draws lines of one page as content of the open element; each stretch that is a link becomes an element of its own. */
export function drawLines(flow: Flow, placed: readonly PlacedLine[], setting: TextSetting, colour: string): void {
  const { sheet } = flow;
  const base = baseLine(setting);
  let pending: (() => void)[] = [];
  const flush = () => {
    const draws = pending;
    pending = [];
    if (draws.length === 0) return;
    sheet.content(() => {
      for (const draw of draws) draw();
    });
  };
  for (const { line, x, y } of placed) {
    let left = x;
    for (const fragment of line.fragments) {
      const at = left;
      const draw = (ink: string) => sheet.text(fragment, at, y + base, setting.sizePt, ink);
      if (fragment.to === undefined) pending.push(() => draw(colour));
      else {
        flush();
        drawLink(flow, fragment, { x: at, y, w: fragment.width, h: lineHeight(setting) }, () => draw(LINK));
      }
      left += fragment.width;
    }
  }
  flush();
}

function drawLink(
  flow: Flow,
  fragment: Fragment,
  box: { x: number; y: number; w: number; h: number },
  draw: () => void,
): void {
  const anchor = fragment.to!;
  const alt = flow.identity.words.leadsTo(fragment.text.trim(), flow.known.anchors.get(anchor) ?? 0);
  flow.leadsTo(anchor);
  flow.sheet.open('Link', { alt });
  flow.sheet.content(draw);
  flow.sheet.link(box, anchor, alt);
  flow.sheet.close();
}

/** Draws lines below each other over as many pages as they need. */
export function runLines(
  flow: Flow,
  lines: readonly Line[],
  setting: TextSetting,
  x: number,
  colour: string = INK,
): void {
  const height = lineHeight(setting);
  let rest = lines;
  while (rest.length > 0) {
    flow.need(height);
    const fitting = Math.max(1, Math.floor((flow.roomLeft + 0.01) / height));
    // The last line does not stand alone on a page.
    const here = rest.slice(0, fitting === rest.length - 1 && fitting > 2 ? fitting - 1 : fitting);
    drawLines(
      flow,
      here.map((line, index) => ({ line, x, y: flow.y + index * height })),
      setting,
      colour,
    );
    flow.y += here.length * height;
    rest = rest.slice(fitting);
  }
}

export function drawTitle(flow: Flow, title: string, subtitle: Text | undefined): void {
  flow.need(60);
  flow.sheet.open('H1', { title });
  runLines(flow, breakLines(title, TITLE, TEXT_WIDTH), TITLE, PAGE.left, ACCENT);
  flow.sheet.close();
  if (subtitle !== undefined) {
    flow.sheet.open('P');
    runLines(flow, breakLines(subtitle, BODY, TEXT_WIDTH), BODY, PAGE.left, MUTED);
    flow.sheet.close();
  }
  flow.y += 8;
}

/** So much of what follows stays on the page of its heading. */
const KEEP_WITH_HEADING = 48;

export function drawHeading(
  flow: Flow,
  level: 1 | 2 | 3,
  text: string,
  anchor: string,
  { listed = true, keepPt = KEEP_WITH_HEADING }: { readonly listed?: boolean; readonly keepPt?: number },
): void {
  const setting = HEADING[level];
  const lines = breakLines(text, setting, TEXT_WIDTH);
  flow.beforeHeading(anchor);
  const start = flow.y;
  flow.space(setting.sizePt * 0.9);
  flow.need(lines.length * lineHeight(setting) + keepPt);
  flow.anchor(anchor);
  flow.heading(level, text, anchor, listed);
  flow.sheet.bookmark(level, text, flow.y);
  flow.sheet.open(`H${level}`, { title: text });
  runLines(flow, lines, setting, PAGE.left, level === 3 ? INK : ACCENT);
  flow.sheet.close();
  flow.y += 3;
  flow.headingDrawn(anchor, start);
}

export function drawParagraph(flow: Flow, text: Text, small: boolean, leads = false): void {
  const setting = small ? SMALL : BODY;
  const lines = breakLines(text, setting, TEXT_WIDTH);
  flow.need(Math.min(lines.length, 2) * lineHeight(setting));
  const start = flow.y;
  flow.sheet.open('P');
  runLines(flow, lines, setting, PAGE.left);
  flow.sheet.close();
  flow.y += 5;
  if (leads) flow.leadDrawn(start);
}

const BULLET_INDENT = 11;

export function drawList(flow: Flow, items: readonly Text[], small: boolean): void {
  if (items.length === 0) return;
  const setting = small ? SMALL : BODY;
  const x = PAGE.left;
  flow.sheet.open('L');
  const bullet = breakLines('•', setting, TEXT_WIDTH);
  for (const item of items) {
    const lines = breakLines(item, setting, TEXT_WIDTH - BULLET_INDENT);
    flow.need(Math.min(lines.length, 2) * lineHeight(setting));
    flow.sheet.open('LI');
    flow.sheet.open('Lbl');
    drawLines(flow, [{ line: bullet[0]!, x: x + 1, y: flow.y }], setting, INK);
    flow.sheet.close();
    flow.sheet.open('LBody');
    runLines(flow, lines, setting, x + BULLET_INDENT);
    flow.sheet.close();
    flow.sheet.close();
    flow.y += 1.5;
  }
  flow.sheet.close();
  flow.y += 4;
}

/** Names with their values in two columns: a list whose labels are the names. */
export function drawFacts(flow: Flow, facts: readonly Fact[], small: boolean): void {
  if (facts.length === 0) return;
  const settings = small ? { label: SMALL_STRONG, value: SMALL } : { label: STRONG, value: BODY };
  const widest = Math.max(0, ...facts.map(([label]) => naturalWidths(label, settings.label).full));
  const labelWidth = Math.min(widest, TEXT_WIDTH * 0.36);
  const rows = facts.map(([label, value]) => ({
    label: breakLines(label, settings.label, labelWidth + 0.01),
    value: breakLines(value, settings.value, TEXT_WIDTH - labelWidth - 12),
  }));
  const height = lineHeight(settings.value);
  // A block that is not long stays on one page.
  const all = rows.reduce((sum, row) => sum + Math.max(row.label.length, row.value.length) * height + 1.5, 0);
  if (all <= LARGEST_KEPT_BLOCK) flow.need(all);
  flow.sheet.open('L');
  for (const row of rows) drawFact(flow, row, settings, PAGE.left + labelWidth + 12);
  flow.sheet.close();
  flow.y += 5;
}

/** A block of names and values up to this height is not broken over pages. */
const LARGEST_KEPT_BLOCK = 200;

function drawFact(
  flow: Flow,
  { label: labelLines, value: valueLines }: { readonly label: readonly Line[]; readonly value: readonly Line[] },
  settings: { readonly label: TextSetting; readonly value: TextSetting },
  valueX: number,
): void {
  // A name and its value stay together; only a value of many lines runs on.
  const all = Math.max(labelLines.length, valueLines.length) * lineHeight(settings.value);
  flow.need(all <= LARGEST_KEPT_BLOCK ? all : labelLines.length * lineHeight(settings.value));
  const [top, page] = [flow.y, flow.page];
  flow.sheet.open('LI');
  flow.sheet.open('Lbl');
  runLines(flow, labelLines, settings.label, PAGE.left, MUTED);
  flow.sheet.close();
  const labelEnd = flow.y;
  if (flow.page === page) flow.y = top;
  flow.sheet.open('LBody');
  runLines(flow, valueLines, settings.value, valueX);
  flow.sheet.close();
  flow.sheet.close();
  if (flow.page === page) flow.y = Math.max(flow.y, labelEnd);
  flow.y += 1.5;
}

const CALLOUT_PAD = 8;
const CALLOUT_FILL = { caution: '#f7efe2', exception: ATTENTION_FILL, note: HEAD_FILL } as const;
const CALLOUT_BAR = { caution: '#8a5a00', exception: ATTENTION_BAR, note: ACCENT } as const;

/** A box for what must not be overlooked. Its tint is drawn line by line, so that a long box may run over pages. */
export function drawCallout(flow: Flow, { kind, title, items, small = false }: CalloutSpec): void {
  const setting = small ? SMALL : BODY;
  const barWidth = kind === 'note' ? 2 : 4;
  const x = PAGE.left + barWidth + CALLOUT_PAD;
  const width = TEXT_WIDTH - barWidth - 2 * CALLOUT_PAD;
  const height = lineHeight(setting);
  const tint = (tall: number) => {
    const y = flow.y;
    flow.sheet.artifact('layout', () => {
      flow.sheet.rect({ x: PAGE.left, y, w: TEXT_WIDTH, h: tall + 0.3 }, CALLOUT_FILL[kind]);
      flow.sheet.rect({ x: PAGE.left, y, w: barWidth, h: tall + 0.3 }, CALLOUT_BAR[kind]);
    });
  };
  const pad = (tall: number) => {
    tint(tall);
    flow.y += tall;
  };
  const line = (one: Line, left: number, setting: TextSetting) => {
    const height = lineHeight(setting);
    if (flow.roomLeft < height) flow.addPage();
    tint(height);
    drawLines(flow, [{ line: one, x: left, y: flow.y }], setting, INK);
    flow.y += height;
  };

  flow.space(4);
  flow.need(3 * height + CALLOUT_PAD);
  flow.sheet.open('Div');
  pad(5);
  flow.sheet.open('P');
  for (const one of breakLines(title, STRONG, width)) line(one, x, STRONG);
  flow.sheet.close();
  if (items.length === 1) {
    flow.sheet.open('P');
    for (const one of breakLines(items[0]!, setting, width)) line(one, x, setting);
    flow.sheet.close();
  } else if (items.length > 1) calloutList(flow, items, x, width, setting, line);
  pad(6);
  flow.sheet.close();
  flow.y += 8;
}

function calloutList(
  flow: Flow,
  items: readonly Text[],
  x: number,
  width: number,
  setting: TextSetting,
  drawLine: (line: Line, x: number, setting: TextSetting) => void,
): void {
  flow.sheet.open('L');
  for (const item of items) {
    flow.sheet.open('LI');
    flow.sheet.open('LBody');
    for (const [index, line] of breakLines(item, setting, width - BULLET_INDENT).entries()) {
      drawLine(index === 0 ? withBullet(line) : line, index === 0 ? x : x + BULLET_INDENT, setting);
    }
    flow.sheet.close();
    flow.sheet.close();
  }
  flow.sheet.close();
}

/** The bullet as a fragment as wide as the indent, so that the text behind it stands in line with the next lines. */
function withBullet(line: Line): Line {
  const bullet: Fragment = { text: '•', face: 'regular', width: BULLET_INDENT, to: undefined };
  return { fragments: [bullet, ...line.fragments], width: line.width + BULLET_INDENT };
}
