/** The few parts of fontkit that the record uses; the package ships no types. Lengths are in font units. */
declare module 'fontkit' {
  export interface Glyph {
    readonly id: number;
    readonly advanceWidth: number;
    readonly codePoints: number[];
    readonly path: { toSVG(): string };
  }

  export interface GlyphPosition {
    readonly xAdvance: number;
    readonly xOffset: number;
    readonly yOffset: number;
  }

  export interface Font {
    readonly unitsPerEm: number;
    readonly ascent: number;
    readonly descent: number;
    hasGlyphForCodePoint(codePoint: number): boolean;
    glyphForCodePoint(codePoint: number): Glyph;
    layout(
      text: string,
      features?: Readonly<Record<string, boolean>>,
    ): { readonly glyphs: readonly Glyph[]; readonly positions: readonly GlyphPosition[] };
  }

  export function openSync(file: string): Font;
}
