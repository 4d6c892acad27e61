import type { Face } from './fonts.js';
import { drawableText, widthOf } from './shaping.js';
import { visibleText } from './visible-text.js';

/** A stretch of text; `to` makes it a link to the anchor of that name in the same record. */
export interface StyledSpan {
  readonly text: string;
  readonly style?: Face;
  readonly to?: string;
}

export type Span = string | StyledSpan;

/** Text as sections write it: a plain string, or a list of stretches. A `\n` begins a new line. */
export type Text = string | readonly Span[];

/** A part of one line that is set in one face. Widths are in points. */
export interface Fragment {
  readonly text: string;
  readonly face: Face;
  readonly width: number;
  readonly to: string | undefined;
}

export interface Line {
  readonly fragments: readonly Fragment[];
  readonly width: number;
}

export interface TextSetting {
  readonly face: Face;
  readonly sizePt: number;
}

interface Word {
  readonly parts: readonly Fragment[];
  readonly width: number;
}

/** Breaks a text into lines no wider than `widthPt`. A word that is wider than a whole line is broken within. */
export function breakLines(text: Text, setting: TextSetting, widthPt: number): Line[] {
  const oneLine = asSingleLine(text, setting, widthPt);
  return oneLine ? [oneLine] : paragraphsOf(text, setting).flatMap((words) => fill(words, setting, widthPt));
}

/** Widths of a text in points: on one line, and of its longest word. */
export function naturalWidths(text: Text, setting: TextSetting): { readonly full: number; readonly word: number } {
  if (typeof text === 'string' && /^[!-~]*$/.test(text)) {
    const full = widthOf(text, setting.face, setting.sizePt);
    return { full, word: full };
  }
  const lines = paragraphsOf(text, setting);
  const blank = widthOf(' ', setting.face, setting.sizePt);
  const lineWidth = (words: readonly Word[]) => words.reduce((sum, word) => sum + word.width + blank, -blank);
  return {
    full: Math.max(0, ...lines.map(lineWidth)),
    word: lines.reduce((widest, words) => words.reduce((most, word) => Math.max(most, word.width), widest), 0),
  };
}

/** The common case, without cutting into words: a plain string that fits. */
function asSingleLine(text: Text, setting: TextSetting, widthPt: number): Line | undefined {
  if (typeof text !== 'string' || !/^[!-~]+(?: [!-~]+)*$/.test(text)) return undefined;
  const width = widthOf(text, setting.face, setting.sizePt);
  if (width > widthPt) return undefined;
  return { fragments: [{ text, face: setting.face, width, to: undefined }], width };
}

function paragraphsOf(text: Text, setting: TextSetting): Word[][] {
  const paragraphs: Fragment[][][] = [[]];
  let glued = false;
  for (const span of typeof text === 'string' ? [text] : text) {
    const { text: raw, style, to } = typeof span === 'string' ? { text: span, style: undefined, to: undefined } : span;
    const face = style ?? setting.face;
    for (const token of drawableText(visibleText(raw), face).split(/(\n| +)/)) {
      if (token === '') continue;
      const words = paragraphs.at(-1)!;
      if (token === '\n') paragraphs.push([]);
      else if (token[0] !== ' ') {
        const part: Fragment = { text: token, face, width: widthOf(token, face, setting.sizePt), to };
        if (glued) words.at(-1)!.push(part);
        else words.push([part]);
      }
      glued = token !== '\n' && token[0] !== ' ';
    }
  }
  return paragraphs.map((words) => words.map(toWord));
}

function toWord(parts: readonly Fragment[]): Word {
  return { parts, width: parts.reduce((sum, part) => sum + part.width, 0) };
}

function fill(words: readonly Word[], setting: TextSetting, widthPt: number): Line[] {
  const blank = widthOf(' ', setting.face, setting.sizePt);
  const lines: Line[] = [];
  /** Words of the line that is being filled. Most texts have one line or two, and all have a page of neighbours: no more is kept. */
  let line: Word[] = [];
  let used = 0;
  for (const word of words) {
    const isTooLong = word.width > widthPt;
    // Each piece of a word that is broken begins a line; so does what does not fit beside what stands there.
    for (const piece of isTooLong ? breakWord(word, setting, widthPt) : [word]) {
      if (used > 0 && (isTooLong || used + blank + piece.width > widthPt)) {
        lines.push(joinLine(line, setting));
        line = [];
        used = 0;
      }
      used += (used > 0 ? blank : 0) + piece.width;
      line.push(piece);
    }
  }
  if (line.length > 0 || lines.length === 0) lines.push(joinLine(line, setting));
  return lines;
}

/** Joins the words of a line with blanks; neighbours of the same face and link become one fragment. */
function joinLine(words: readonly Word[], { sizePt }: TextSetting): Line {
  const fragments: Fragment[] = [];
  let width = 0;
  let text = '';
  let last: Fragment | undefined;
  const end = () => {
    if (last === undefined) return;
    const { face, to } = last;
    const own = widthOf(text, face, sizePt);
    fragments.push({ text, face, width: own, to });
    width += own;
  };
  for (const [index, { parts }] of words.entries()) {
    for (const [place, part] of parts.entries()) {
      const gap = index > 0 && place === 0 ? ' ' : '';
      if (last !== undefined && last.face === part.face && last.to === part.to) {
        text += gap + part.text;
        continue;
      }
      // A blank beside a link belongs to what is none.
      const isBefore = last !== undefined && last.to === undefined;
      if (isBefore) text += gap;
      end();
      text = isBefore || last === undefined ? part.text : gap + part.text;
      last = part;
    }
  }
  end();
  return { fragments, width };
}

/** Signs after which a long identifier is better broken than in the middle of a group. */
const GOOD_BREAK = /[-/_.,:;@+=&?]$/;

function breakWord(word: Word, { sizePt }: TextSetting, widthPt: number): Word[] {
  const pieces: Word[] = [];
  let parts: Fragment[] = [];
  let used = 0;
  for (const part of word.parts) {
    let rest = part.text;
    while (rest !== '') {
      const taken = longestPrefix(rest, part.face, sizePt, widthPt - used);
      if (taken !== '' || used === 0) {
        const text = taken === '' ? firstCluster(rest) : taken;
        const width = widthOf(text, part.face, sizePt);
        parts.push({ ...part, text, width });
        used += width;
        rest = rest.slice(text.length);
      }
      if (rest !== '') {
        pieces.push(toWord(parts));
        parts = [];
        used = 0;
      }
    }
  }
  if (parts.length > 0) pieces.push(toWord(parts));
  return pieces;
}

/** No line of the record holds more characters; keeps the search short in an endless word. */
const LONGEST_LINE = 1000;

/** As much of the text as fits, ending after a good break where one lies in its second half. */
function longestPrefix(text: string, face: Face, sizePt: number, widthPt: number): string {
  const clusters = text.slice(0, LONGEST_LINE).match(/.\p{M}*/gsu)!;
  let fitting = 0;
  let low = 0;
  let high = clusters.length;
  while (low <= high) {
    const middle = (low + high) >> 1;
    if (widthOf(clusters.slice(0, middle).join(''), face, sizePt) <= widthPt) {
      fitting = middle;
      low = middle + 1;
    } else high = middle - 1;
  }
  if (fitting === clusters.length) return clusters.join('');
  for (let end = fitting; end > fitting / 2; end--) {
    const prefix = clusters.slice(0, end).join('');
    if (GOOD_BREAK.test(prefix)) return prefix;
  }
  return clusters.slice(0, fitting).join('');
}

function firstCluster(text: string): string {
  return /^.\p{M}*/su.exec(text)![0];
}
