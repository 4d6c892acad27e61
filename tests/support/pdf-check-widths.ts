import type { ShownGlyphs } from './pdf-check-content.js';
import type { PdfDictionary, PdfObjects, PdfValue } from './pdf-objects.js';

/**
 * Widths of glyphs that pages show: those that the file states have to be those of the font that it carries (ISO 19005-3, 6.2.11.5;
 * ISO 14289-1, 7.21.5; clause numbers from memory), or readers place and select other text than what is seen. The font is
 * read here by its tables alone (ISO/IEC 14496-22: head, maxp, hhea, hmtx), and not by the library that wrote it.
 */
export function checkWidths(pdf: PdfObjects, shown: ShownGlyphs): string[] {
  return [...shown].flatMap(([font, glyphs]) => {
    const [descendant] = pdf.array(pdf.dictionary(font)['/DescendantFonts']);
    return checkFont(pdf, pdf.dictionary(descendant), glyphs);
  });
}

/** In thousandths of an em: two roundings of one width lie no farther apart. */
const TOLERANCE = 1;
/** Of a glyph of which nothing else is said (ISO 32000-1, 9.7.4.3). */
const DEFAULT_WIDTH = 1000;

function checkFont(pdf: PdfObjects, font: PdfDictionary, glyphs: ReadonlySet<number>): string[] {
  const name = String(font['/BaseFont']);
  const program = pdf.bytes(pdf.dictionary(font['/FontDescriptor'])['/FontFile2']);
  const advances = advancesOf(program);
  if (advances === undefined) return [`31-020 font ${name} carries no TrueType program whose widths can be read`];
  const stated = statedWidths(pdf, font);
  const fallback = typeof font['/DW'] === 'number' ? font['/DW'] : DEFAULT_WIDTH;
  return [...glyphs].flatMap((glyph) => {
    const advance = advances[glyph];
    if (advance === undefined) return [`31-020 font ${name} does not have the glyph ${glyph}, which is shown`];
    const width = stated.get(glyph) ?? fallback;
    if (Math.abs(width - advance) <= TOLERANCE) return [];
    return [`31-020 font ${name} states the width ${width} for glyph ${glyph}, which is ${advance.toFixed(1)} wide`];
  });
}

/** The array of widths: `first [width …]`, or `first last width`. */
function statedWidths(pdf: PdfObjects, font: PdfDictionary): Map<number, number> {
  const widths = new Map<number, number>();
  const items = pdf.array(font['/W']).map((item) => pdf.get(item));
  for (let at = 0; at < items.length; ) {
    const [first, next] = [Number(items[at]), items[at + 1] as PdfValue];
    if (Array.isArray(next)) {
      for (const [index, width] of next.entries()) widths.set(first + index, Number(pdf.get(width)));
      at += 2;
    } else {
      for (let glyph = first; glyph <= Number(next); glyph++) widths.set(glyph, Number(items[at + 2]));
      at += 3;
    }
  }
  return widths;
}

/** How far each glyph moves the pen, in thousandths of an em; undefined for what is no TrueType program. */
function advancesOf(program: Buffer): number[] | undefined {
  const tables = new Map<string, Buffer>();
  const count = program.length < 12 ? 0 : program.readUInt16BE(4);
  for (let at = 12; at < 12 + 16 * count && at + 16 <= program.length; at += 16) {
    const from = program.readUInt32BE(at + 8);
    tables.set(program.toString('latin1', at, at + 4), program.subarray(from, from + program.readUInt32BE(at + 12)));
  }
  const [head, maxp, hhea, hmtx] = ['head', 'maxp', 'hhea', 'hmtx'].map((tag) => tables.get(tag));
  if (!head || !maxp || !hhea || !hmtx) return undefined;
  const unitsPerEm = head.readUInt16BE(18);
  const long = hhea.readUInt16BE(34);
  // Glyphs behind the last that has an advance of its own share that one.
  return Array.from({ length: maxp.readUInt16BE(4) }, (_, glyph) => {
    const advance = hmtx.readUInt16BE(4 * Math.min(glyph, long - 1));
    return (advance * 1000) / unitsPerEm;
  });
}
