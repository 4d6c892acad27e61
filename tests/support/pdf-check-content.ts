import type { PdfObjects } from './pdf-objects.js';

/** Marked content by page and number: `12 0 R#3`. */
export type TaggedContent = Map<string, { readonly page: string; readonly number: number }>;

/** Glyphs that pages show, by the reference of their font. */
export type ShownGlyphs = Map<string, Set<number>>;

type Marking = 'artifact' | 'tagged' | 'other';

const PAINTING = new Set(['f', 'F', 'f*', 'S', 's', 'B', 'B*', 'b', 'b*', 'Tj', 'TJ', 'Do', 'sh', "'", '"']);
const TOKEN =
  /\((?:\\.|[^\\()])*\)|<<(?:[^<>]|<[0-9a-fA-F]*>|<<[^<>]*>>)*>>|<[0-9a-fA-F\s]*>|[[\]]|\/[^\s/[\]<>()]+|[^\s/[\]<>()]+/g;
const OPERATOR = /^(?:[A-Za-z][A-Za-z0-9]?\*?|BMC|BDC|EMC|[A-Za-z]{3}|'|")$/;

/**
 * Everything painted on a page is either an artifact or in the structure; adds what is in the structure to `content`, and
 * what is set in type to `shown`.
 */
export function checkPageContent(
  pdf: PdfObjects,
  page: string,
  number: number,
  content: TaggedContent,
  shown: ShownGlyphs,
): string[] {
  const dictionary = pdf.dictionary(page);
  const fonts = pdf.dictionary(pdf.dictionary(dictionary['/Resources'])['/Font']);
  const found: string[] = [];
  if (dictionary['/Tabs'] !== '/S') found.push(`page ${number} does not tab in the order of the structure`);
  const markings: Marking[] = [];
  /** The font in force at each level of the graphics state that was saved. */
  const saved: string[] = [];
  let font = '';
  let isBalanced = true;
  let operands: string[] = [];
  for (const token of pdf.bytes(dictionary['/Contents']).toString('latin1').match(TOKEN) ?? []) {
    if (!OPERATOR.test(token)) {
      operands.push(token);
      continue;
    }
    if (token === 'BDC' || token === 'BMC') {
      const marking = markingOf(operands);
      if (markings.length > 0 && marking !== 'other') found.push(`page ${number} nests marked content`);
      if (marking === 'tagged') found.push(...addContent(page, number, operands, content));
      markings.push(marking);
    } else if (token === 'EMC') {
      if (markings.pop() === undefined) found.push(`page ${number} ends marked content that was not begun`);
    } else if (token === 'q') saved.push(font);
    else if (token === 'Q') {
      isBalanced &&= saved.length > 0;
      font = saved.pop() ?? font;
    } else if (token === 'Tf') font = String(fonts[operands[0] ?? '']);
    else if (PAINTING.has(token) && !markings.some((marking) => marking !== 'other')) {
      found.push(`page ${number} paints (${token}) outside the structure and outside artifacts`);
    }
    if (/^[kK]$/.test(token)) found.push(`page ${number} uses CMYK without an output intent for it`);
    if (token === 'TJ' || token === 'Tj') {
      const glyphs = glyphsIn(operands);
      // Glyph 0 is the box for a missing character.
      if (glyphs.includes(0)) found.push(`page ${number} shows a character that its font does not have`);
      const own = shown.get(font) ?? new Set();
      for (const glyph of glyphs) own.add(glyph);
      shown.set(font, own);
    }
    operands = [];
  }
  if (markings.length > 0) found.push(`page ${number} leaves marked content open`);
  if (!isBalanced || saved.length > 0)
    found.push(`page ${number} does not restore the graphics state as often as it saves it`);
  return found;
}

function markingOf(operands: readonly string[]): Marking {
  if (operands[0] === '/Artifact') return 'artifact';
  return /\/MCID \d+/.test(operands[1] ?? '') ? 'tagged' : 'other';
}

function addContent(page: string, number: number, operands: readonly string[], content: TaggedContent): string[] {
  const id = Number(/\/MCID (\d+)/.exec(operands[1]!)![1]);
  const key = `${page}#${id}`;
  const repeated = content.has(key);
  content.set(key, { page, number: id });
  return repeated ? [`page ${number} uses the content number ${id} twice`] : [];
}

/** Texts are strings of two bytes a glyph. */
function glyphsIn(operands: readonly string[]): number[] {
  const shown = operands.filter((operand) => /^<[0-9a-f]+>$/.test(operand));
  return shown.flatMap((operand) => operand.slice(1, -1).match(/.{4}/g) ?? []).map((code) => Number.parseInt(code, 16));
}
