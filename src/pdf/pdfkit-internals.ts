import PDFDocument from 'pdfkit';

/**
 * The parts of pdfkit 0.20 behind its public interface that an archival file needs. They are named here and nowhere
 * else, so that an update of pdfkit has one place to be compared with.
 */
export type PdfkitDocument = Omit<
  PDFKit.PDFDocument,
  'outline' | 'struct' | 'font' | 'goTo' | 'page' | 'ref' | 'push'
> & {
  /** File identifier. */
  _id: Buffer;
  /** The font chosen last. */
  _font: EmbeddedFont;
  _root: Reference;
  /** Writes the metadata packet; replaced, since pdfkit's own does not escape markup. */
  _addInfo(): void;
  outline: OutlineItem;
  page: Page;
  font(parsed: unknown, key: string): void;
  ref(data: unknown): Reference;
  struct(tag: string, options: Readonly<Record<string, unknown>>): StructureElement;
  goTo(
    x: number,
    y: number,
    w: number,
    h: number,
    destination: string,
    options: Readonly<Record<string, unknown>>,
  ): void;
  /** End of the stream that the document is; replaced, so that no unread chunks pile up. */
  push(chunk: Uint8Array | null): boolean;
};

export interface Reference {
  readonly data: Record<string, unknown> & { Names?: { data: Record<string, NameTree | undefined> } };
  end(content?: Uint8Array): void;
}

/** Sorts its keys by the rules of a language; the standard wants them in the order of their bytes. */
export interface NameTree {
  _compareKeys(a: string, b: string): number;
}

interface Page {
  readonly dictionary: Reference;
  readonly fonts: Record<string, unknown>;
}

export interface StructureElement {
  add(child: StructureElement | (() => void)): void;
  end(): void;
}

export interface OutlineItem {
  readonly children: readonly OutlineItem[];
  readonly outlineData: Record<string, unknown>;
  addItem(title: string, options: { readonly expanded: boolean }): OutlineItem;
}

export interface EmbeddedFont {
  readonly id: string;
  /** Maps glyphs of the font file to those of the part that is embedded. */
  readonly subset: { includeGlyph(glyph: number): number };
  readonly widths: (number | undefined)[];
  readonly unicode: (readonly number[] | undefined)[];
  ref(): unknown;
}

export function createDocument(options: Readonly<Record<string, unknown>>): PdfkitDocument {
  return new PDFDocument(options) as unknown as PdfkitDocument;
}

/** A PDF string: pdfkit writes a plain JavaScript string as a PDF name. */
export function pdfString(text: string): object {
  return Object(text);
}
