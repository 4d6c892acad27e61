import { codeOf } from '../base/characters.js';
import { AppError } from '../base/errors.js';
import type { TextMetric } from '../base/scene.js';
import {
  type Face,
  faceSize,
  fontForAll,
  kerning,
  type LoadedFont,
  type PlainGlyph,
  plainGlyph,
  type ShapedGlyph,
} from './fonts.js';
import { oneLine, ordinaryBlanks, visibleText } from './visible-text.js';

/** Glyphs of one font, from left to right. */
export interface Run {
  readonly font: LoadedFont;
  readonly glyphs: readonly ShapedGlyph[];
}

/** A text holds characters that no embedded font can draw. Nothing was drawn in their place. */
export class MissingGlyphError extends AppError {
  constructor(
    readonly characters: readonly string[],
    readonly text: string,
  ) {
    const named = characters.map((character) => `"${character}" [${codeOf(character)}]`).join(', ');
    const excerpt = text.length > 80 ? `${text.slice(0, 80)}…` : text;
    super(
      'BAD_INPUT',
      `the record's fonts have no sign for ${named} in the text "${excerpt}"; write it in letters that they have`,
      { characters, text: excerpt },
    );
  }
}

/** The characters of a text that no font of the record has, each once. Empty for a text that can be printed. */
export function missingCharacters(text: string, face: Face = 'regular'): string[] {
  const printed = ordinaryBlanks(visibleText(text)).replaceAll('\n', '');
  return [...new Set(printed)].filter((character) => !plainGlyph(face, character.codePointAt(0)!));
}

/**
 * Visible text as the fonts can draw it: a character that none has is written as its code, as one that cannot be seen is.
 * Documents with such characters are refused before they are stored; this is for what comes another way, as from a log.
 */
export function drawableText(text: string, face: Face): string {
  if (ONLY_COMMON.test(text)) return text;
  return text.replace(/[^\n]/gu, (character) => {
    const drawn = ordinaryBlanks(character);
    return plainGlyph(face, drawn.codePointAt(0)!) ? character : `[${codeOf(character)}]`;
  });
}

/** Letters of which the first fonts are known to have all. */
const ONLY_COMMON = /^[\n\x20-\x7e\u00a1-\u00ac\u00ae-\u017f]*$/;

/** Letters that are joined, stacked or written from right to left need the font's own layout rules. */
const NEEDS_LAYOUT = /[\p{M}\p{Script=Hebrew}\p{Script=Arabic}\p{Script=Nko}\p{Script=Syriac}\p{Script=Lao}]/u;

/**
 * The glyphs of one line of visible text.
 * @throws MissingGlyphError where no font has a character.
 */
export function shape(text: string, face: Face): Run[] {
  const line = ordinaryBlanks(text);
  if (!NEEDS_LAYOUT.test(line)) return shapePlain(line, face);
  return inDrawingOrder(line).flatMap((piece) => shapePiece(piece, face));
}

/** Width of one line of visible text in points. */
export function widthOf(text: string, face: Face, sizePt: number): number {
  const known = measured[face];
  let width = known.get(text);
  if (width === undefined) {
    width = measure(ordinaryBlanks(text), face);
    if (known.size === MOST_MEASURED) known.clear();
    if (text.length <= LONGEST_MEASURED) known.set(text, width);
  }
  return (width / 1000) * faceSize(face, sizePt);
}

/**
 * Widths that were asked for, in thousandths of an em: a record is laid out two or three times, and its words and numbers
 * repeat. Bounded, since a service goes on for weeks.
 */
const measured: Readonly<Record<Face, Map<string, number>>> = {
  regular: new Map(),
  bold: new Map(),
  italic: new Map(),
  mono: new Map(),
};
const MOST_MEASURED = 20_000;
const LONGEST_MEASURED = 120;

function measure(line: string, face: Face): number {
  if (NEEDS_LAYOUT.test(line)) return advanceOf(shape(line, face));
  let width = 0;
  let before: PlainGlyph | undefined;
  for (const character of line) {
    const glyph = glyphOrError(face, character, line);
    width += glyph.advance + (before ? kerning(before, glyph) : 0);
    before = glyph;
  }
  return width;
}

/** Measures the texts of charts as they are drawn into the record. */
export const textMetric: TextMetric = (text, sizePt, bold) => {
  const face = bold ? 'bold' : 'regular';
  return widthOf(drawableText(oneLine(text), face), face, sizePt);
};

function advanceOf(runs: readonly Run[]): number {
  return runs.reduce((sum, run) => run.glyphs.reduce((inRun, glyph) => inRun + glyph.advance, sum), 0);
}

function glyphOrError(face: Face, character: string, text: string): PlainGlyph {
  const glyph = plainGlyph(face, character.codePointAt(0)!);
  if (!glyph) throw new MissingGlyphError(missingCharacters(text, face), text);
  return glyph;
}

function shapePlain(text: string, face: Face): Run[] {
  const runs: { font: LoadedFont; glyphs: ShapedGlyph[] }[] = [];
  const glyphs: PlainGlyph[] = [];
  for (const character of text) glyphs.push(glyphOrError(face, character, text));
  let run: (typeof runs)[number] | undefined;
  for (const [index, glyph] of glyphs.entries()) {
    const next = glyphs[index + 1];
    const closer = next ? kerning(glyph, next) : 0;
    const shaped = closer === 0 ? glyph : { ...glyph, advance: glyph.advance + closer };
    if (run?.font !== glyph.font) {
      run = { font: glyph.font, glyphs: [] };
      runs.push(run);
    }
    run.glyphs.push(shaped);
  }
  return runs;
}

function shapePiece(piece: string, face: Face): Run[] {
  if (!NEEDS_LAYOUT.test(piece)) return shapePlain(piece, face);
  const font = fontForAll(face, piece);
  if (!font) return shapePlain(piece, face);
  const { glyphs, positions } = font.font.layout(piece, { liga: false });
  const shaped = glyphs.map((glyph, index) => {
    const position = positions[index]!;
    return {
      id: glyph.id,
      codePoints: glyph.codePoints,
      width: glyph.advanceWidth * font.scale,
      advance: position.xAdvance * font.scale,
      xOffset: position.xOffset * font.scale,
      yOffset: position.yOffset * font.scale,
    };
  });
  return [{ font, glyphs: shaped }];
}

const RIGHT_TO_LEFT =
  /^[\p{Script=Hebrew}\p{Script=Arabic}\p{Script=Nko}\p{Script=Syriac}][\p{Script=Hebrew}\p{Script=Arabic}\p{Script=Nko}\p{Script=Syriac}\p{M}]*/u;
const NUMBER = /^\p{Nd}+(?:[.,:/-]\p{Nd}+)*/u;
const LEFT_TO_RIGHT = /^\p{L}[\p{L}\p{M}]*/u;

/**
 * Cuts a line into pieces and puts them in drawing order: the pieces of a stretch of right-to-left words, with the
 * numbers and signs between them, change places; letters within a piece are left to the font.
 * This is the plain case of the Unicode bidirectional algorithm (UAX #9) in a paragraph that runs from left to right.
 */
function inDrawingOrder(line: string): string[] {
  const pieces = cutByDirection(line);
  const ordered: string[] = [];
  let at = 0;
  while (at < pieces.length) {
    const stretch = pieces[at]!.rightToLeft ? stretchLength(pieces, at) : 1;
    const texts = pieces.slice(at, at + stretch).map((piece) => piece.text);
    ordered.push(...(stretch > 1 ? texts.reverse() : texts));
    at += stretch;
  }
  return ordered;
}

interface Piece {
  readonly text: string;
  readonly rightToLeft: boolean;
  readonly leftToRight: boolean;
  readonly number: boolean;
}

function cutByDirection(line: string): Piece[] {
  const pieces: Piece[] = [];
  let rest = line;
  while (rest !== '') {
    const word = RIGHT_TO_LEFT.exec(rest)?.[0];
    const letters = word ? undefined : LEFT_TO_RIGHT.exec(rest)?.[0];
    const number = word || letters ? undefined : NUMBER.exec(rest)?.[0];
    const text = word ?? letters ?? number ?? signWithMarks(rest);
    pieces.push({
      text,
      rightToLeft: word !== undefined,
      leftToRight: letters !== undefined,
      number: number !== undefined,
    });
    rest = rest.slice(text.length);
  }
  return pieces;
}

function signWithMarks(rest: string): string {
  return /^.\p{M}*/su.exec(rest)![0];
}

/** Number of pieces from a right-to-left word to the last such word or number before the next left-to-right word. */
function stretchLength(pieces: readonly Piece[], start: number): number {
  let length = 1;
  for (let index = start; index < pieces.length && !pieces[index]!.leftToRight; index++) {
    if (pieces[index]!.rightToLeft || pieces[index]!.number) length = index - start + 1;
  }
  return length;
}
