import { createRequire } from 'node:module';
import path from 'node:path';
import * as fontkit from 'fontkit';
import { HAN_FONT_FILE, PROGRAM_ROOT } from '../base/settings.js';

/** How a text is set. Each face names the files that are asked for a character, in order. */
export type Face = 'regular' | 'bold' | 'italic' | 'mono';

/** The mono font has tall letters; set smaller, it stands well among the others. */
const SIZE_FACTOR: Readonly<Record<Face, number>> = { regular: 1, bold: 1, italic: 1, mono: 0.87 };

/** The size at which a face is drawn where the text around it has the given size. */
export function faceSize(face: Face, sizePt: number): number {
  return sizePt * SIZE_FACTOR[face];
}

export interface LoadedFont {
  /** The file is also the key under which pdfkit keeps the font: any other key makes it parse the file again. */
  readonly file: string;
  readonly font: fontkit.Font;
  /** Turns font units into thousandths of an em. */
  readonly scale: number;
  readonly kerning: Map<number, number>;
  /** Height above and below the base line, in thousandths of an em: the font reads them from its tables at each call. */
  readonly vertical: { readonly ascent: number; readonly descent: number };
}

/** One glyph in drawing order. Lengths are in thousandths of an em. */
export interface ShapedGlyph {
  readonly id: number;
  readonly codePoints: readonly number[];
  /** Width of the glyph as the font file says. */
  readonly width: number;
  /** How far the pen moves. */
  readonly advance: number;
  readonly xOffset: number;
  readonly yOffset: number;
}

/** The glyph of a single character, before its neighbours are known. */
export interface PlainGlyph extends ShapedGlyph {
  readonly font: LoadedFont;
  readonly codePoint: number;
}

const resolve = createRequire(import.meta.url).resolve;

function fileIn(packageName: string, file: string): string {
  return path.join(path.dirname(resolve(`${packageName}/package.json`)), file);
}

const SOURCE_SANS = '@expo-google-fonts/source-sans-3';
const DEJAVU = 'dejavu-fonts-ttf';
const MICRO_HEI = path.join(PROGRAM_ROOT, HAN_FONT_FILE);

/**
 * DejaVu has the signs, the Hebrew and the Arabic letters that Source Sans lacks, Micro Hei what is written in Chinese,
 * Japanese and Korean. A file is read when a text asks for it.
 */
const FILES: Readonly<Record<Face, readonly string[]>> = {
  regular: [
    fileIn(SOURCE_SANS, '400Regular/SourceSans3_400Regular.ttf'),
    fileIn(DEJAVU, 'ttf/DejaVuSans.ttf'),
    MICRO_HEI,
  ],
  bold: [
    fileIn(SOURCE_SANS, '700Bold/SourceSans3_700Bold.ttf'),
    fileIn(DEJAVU, 'ttf/DejaVuSans-Bold.ttf'),
    fileIn(DEJAVU, 'ttf/DejaVuSans.ttf'),
    MICRO_HEI,
  ],
  italic: [
    fileIn(SOURCE_SANS, '400Regular_Italic/SourceSans3_400Regular_Italic.ttf'),
    fileIn(DEJAVU, 'ttf/DejaVuSans-Oblique.ttf'),
    fileIn(DEJAVU, 'ttf/DejaVuSans.ttf'),
    MICRO_HEI,
  ],
  mono: [fileIn(DEJAVU, 'ttf/DejaVuSansMono.ttf'), fileIn(DEJAVU, 'ttf/DejaVuSans.ttf'), MICRO_HEI],
};

/** Parsed once per process: parsing is the costly part, and parsed fonts may serve every document. */
const loaded = new Map<string, LoadedFont>();

function load(file: string): LoadedFont {
  let found = loaded.get(file);
  if (!found) {
    const font = fontkit.openSync(file);
    const scale = 1000 / font.unitsPerEm;
    const vertical = { ascent: font.ascent * scale, descent: -font.descent * scale };
    found = { file, font, scale, kerning: new Map(), vertical };
    loaded.set(file, found);
  }
  return found;
}

const glyphs: Readonly<Record<Face, Map<number, PlainGlyph | undefined>>> = {
  regular: new Map(),
  bold: new Map(),
  italic: new Map(),
  mono: new Map(),
};

/** The glyph of the first font of the face that has the character, or nothing when none has it. */
export function plainGlyph(face: Face, codePoint: number): PlainGlyph | undefined {
  const cache = glyphs[face];
  const known = cache.get(codePoint);
  if (known !== undefined || cache.has(codePoint)) return known;
  const found = findGlyph(face, codePoint);
  cache.set(codePoint, found);
  return found;
}

function findGlyph(face: Face, codePoint: number): PlainGlyph | undefined {
  for (const file of FILES[face]) {
    const font = load(file);
    if (!font.font.hasGlyphForCodePoint(codePoint)) continue;
    const glyph = font.font.glyphForCodePoint(codePoint);
    const width = glyph.advanceWidth * font.scale;
    return { font, id: glyph.id, codePoint, codePoints: [codePoint], width, advance: width, xOffset: 0, yOffset: 0 };
  }
  return undefined;
}

/** The first font of the face that has every character of the text, or nothing. */
export function fontForAll(face: Face, text: string): LoadedFont | undefined {
  const codePoints = Array.from(text, (character) => character.codePointAt(0)!);
  for (const file of FILES[face]) {
    const found = load(file);
    if (codePoints.every((point) => found.font.hasGlyphForCodePoint(point))) return found;
  }
  return undefined;
}

/** How much closer (negative) or wider two neighbours stand, in thousandths of an em. Digits and Han keep equal distances. */
export function kerning(left: PlainGlyph, right: PlainGlyph): number {
  if (left.font !== right.font || left.font.file === MICRO_HEI || isDigit(left.codePoint) || isDigit(right.codePoint))
    return 0;
  const pair = left.id * 65536 + right.id;
  let amount = left.font.kerning.get(pair);
  if (amount === undefined) {
    amount = pairKerning(left, right);
    left.font.kerning.set(pair, amount);
  }
  return amount;
}

function pairKerning(left: PlainGlyph, right: PlainGlyph): number {
  const { font, scale } = left.font;
  const { glyphs: laidOut, positions } = font.layout(String.fromCodePoint(left.codePoint, right.codePoint), {
    liga: false,
  });
  if (laidOut.length !== 2) return 0;
  return (positions[0]!.xAdvance - laidOut[0]!.advanceWidth) * scale;
}

function isDigit(codePoint: number): boolean {
  return codePoint >= 0x30 && codePoint <= 0x39;
}

/** Height of the main font of a face above and below the base line, in thousandths of an em. */
export function verticalMetrics(face: Face): LoadedFont['vertical'] {
  return load(FILES[face][0]!).vertical;
}
