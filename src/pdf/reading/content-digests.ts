import { createHash } from 'node:crypto';
import { isReference, type PdfDictionary, type PdfObjects, type PdfValue } from './pdf-objects.js';

/** A part of a PDF that a reader knows. A page has its number in `of`, an attachment its name. */
export interface PdfPart {
  readonly part:
    | 'attachment'
    | 'catalogue'
    | 'properties'
    | 'metadata'
    | 'structure'
    | 'form'
    | 'fonts'
    | 'signature'
    | 'bookmarks';
  readonly of?: string;
}

/** What a PDF shows and carries, as digests that stay the same when another program writes the same objects anew. */
export interface ContentDigests {
  /** Of the pages in their order. */
  readonly pages: readonly string[];
  readonly parts: readonly (PdfPart & { readonly digest: string })[];
}

/** Entries that lead up, that a list of neighbours is told by, or that say how a stream is packed. */
const PASSED_OVER = ['/Parent', '/Prev', '/Next', '/First', '/Last', '/Length', '/Filter', '/DecodeParms'];
/** What a page takes from the node above it where it says nothing itself. */
const INHERITED = ['/MediaBox', '/CropBox', '/Resources', '/Rotate'];
/** Objects nest less deeply than that in files that are meant to be read. */
const DEEPEST = 400;
const MOST_BOOKMARKS = 20_000;

export function contentDigests(pdf: PdfObjects): ContentDigests {
  const digests = new Digests(pdf);
  const pages = pdf.pages().map((page) => pageDigest(pdf, digests, page));
  const { catalogue } = pdf;
  const names = pdf.dictionary(catalogue['/Names']);
  const rest = without(catalogue, [
    ...['/Pages', '/Metadata', '/StructTreeRoot', '/AcroForm', '/Outlines', '/Names', '/AF', '/Version'],
  ]);
  const widgets = pdf.pages().map((page) => annotationsOf(pdf, page).filter((one) => isWidget(pdf, one)));
  const form = without(pdf.dictionary(catalogue['/AcroForm']), []);
  return {
    pages,
    parts: [
      { part: 'catalogue', digest: digests.of([rest, without(names, ['/EmbeddedFiles'])]) },
      { part: 'properties', digest: digests.of(propertiesOf(pdf)) },
      { part: 'metadata', digest: hash(metadataOf(pdf)) },
      { part: 'structure', digest: new Digests(pdf, ['/Annot']).of(catalogue['/StructTreeRoot'] ?? null) },
      { part: 'form', digest: digests.of([form, widgets]) },
      { part: 'signature', digest: digests.of(pdf.fields().map((field) => signatureOf(pdf, field))) },
      { part: 'bookmarks', digest: digests.of(bookmarksOf(pdf, catalogue['/Outlines'])) },
      ...[...digests.fonts].map(([of, digest]) => ({ part: 'fonts' as const, of, digest })),
      ...attachmentsOf(pdf, digests),
    ],
  };
}

function pageDigest(pdf: PdfObjects, digests: Digests, reference: string): string {
  const own = pdf.dictionary(reference);
  const drawn = pdf.array(own['/Contents']).concat(isReference(own['/Contents']) ? own['/Contents'] : []);
  const contents = drawn.filter((item) => pdf.isStream(item));
  return digests.of([
    without(own, ['/Contents', '/Annots', ...INHERITED]),
    INHERITED.map((name) => inherited(pdf, own, name)),
    contents,
    annotationsOf(pdf, reference).filter((one) => !isWidget(pdf, one)),
  ]);
}

function inherited(pdf: PdfObjects, page: PdfDictionary, name: string): PdfValue {
  let node = page;
  for (let depth = 0; depth < DEEPEST && node[name] === undefined && '/Parent' in node; depth++) {
    node = pdf.dictionary(node['/Parent']);
  }
  return node[name] ?? null;
}

const annotationsOf = (pdf: PdfObjects, page: string): PdfValue[] => pdf.array(pdf.dictionary(page)['/Annots']);
const isWidget = (pdf: PdfObjects, annotation: PdfValue): boolean =>
  pdf.dictionary(annotation)['/Subtype'] === '/Widget';

/** The value of a field as it stands, not the name by which the form calls it. */
const signatureOf = (pdf: PdfObjects, field: PdfDictionary): PdfValue =>
  without(pdf.dictionary(field['/V']), ['/Type']);

/** Whoever saves a file again names itself and the moment. */
function propertiesOf(pdf: PdfObjects): PdfDictionary {
  return without(pdf.dictionary(pdf.trailer['/Info']), ['/Producer', '/ModDate', '/Trapped']);
}

function metadataOf(pdf: PdfObjects): string {
  const text = Buffer.from(pdf.streamData(pdf.catalogue['/Metadata']) ?? []).toString('utf8');
  return text.replace(/<(xmp:ModifyDate|xmp:MetadataDate|pdf:Producer|xmpMM:InstanceID)>[^<]*<\/\1>/g, '');
}

/** In the order in which they are shown, each with its depth. */
function bookmarksOf(pdf: PdfObjects, root: PdfValue | undefined): PdfValue[] {
  const list: PdfValue[] = [];
  const below = (node: PdfDictionary, depth: number): void => {
    let next = node['/First'];
    while (isReference(next) && list.length < MOST_BOOKMARKS && depth < DEEPEST) {
      const item = pdf.dictionary(next);
      list.push([depth, item]);
      below(item, depth + 1);
      next = item['/Next'];
    }
  };
  below(pdf.dictionary(root), 0);
  return list;
}

function attachmentsOf(pdf: PdfObjects, digests: Digests): (PdfPart & { digest: string })[] {
  return [...pdf.dictionaries()]
    .filter(({ dictionary }) => dictionary['/Type'] === '/Filespec')
    .map(({ dictionary }) => ({
      part: 'attachment',
      of: pdf.text(dictionary['/UF']) || pdf.text(dictionary['/F']),
      digest: digests.of(dictionary),
    }));
}

function without(dictionary: PdfDictionary, names: readonly string[]): PdfDictionary {
  return Object.fromEntries(Object.entries(dictionary).filter(([name]) => !names.includes(name)));
}

const hash = (text: string): string => createHash('sha256').update(text).digest('hex');

/**
 * Digests of values with all that they refer to. Numbers of objects do not count, nor whether a value stands in an object
 * of its own. Pages count by their place, fonts and
 * signatures by their name: each is a part of its own.
 */
class Digests {
  /** Of every font that was met, by its name. */
  readonly fonts = new Map<string, string>();
  private readonly known = new Map<string, string>();
  private readonly pages: ReadonlyMap<string, number>;

  /** @param ends types of objects that count by their type alone. */
  constructor(
    private readonly pdf: PdfObjects,
    private readonly ends: readonly string[] = [],
  ) {
    this.pages = new Map(pdf.pages().map((page, index) => [page, index + 1]));
  }

  of(value: PdfValue): string {
    return hash(this.text(value, 0));
  }

  private text(value: PdfValue, depth: number): string {
    if (depth > DEEPEST) return '…';
    if (isReference(value)) return this.referred(value, depth);
    if (Array.isArray(value)) return `[${value.map((item) => this.text(item, depth + 1)).join()}]`;
    if (typeof value === 'object' && value !== null) return this.entries(value, depth);
    return JSON.stringify(value);
  }

  private entries(dictionary: PdfDictionary, depth: number): string {
    const names = Object.keys(dictionary).filter((name) => !PASSED_OVER.includes(name));
    return hash(`{${names.sort().map((name) => `${name}:${this.text(dictionary[name]!, depth + 1)}`)}}`);
  }

  private referred(reference: string, depth: number): string {
    const page = this.pages.get(reference);
    if (page !== undefined) return `page ${page}`;
    const known = this.known.get(reference);
    if (known !== undefined) return known;
    // An element of the structure names the one above it.
    this.known.set(reference, `above ${depth}`);
    const named = this.named(reference, depth);
    this.known.set(reference, named);
    return named;
  }

  private named(reference: string, depth: number): string {
    const value = this.pdf.get(reference);
    const dictionary = this.pdf.dictionary(value);
    const type = String(dictionary['/Type'] ?? '');
    if (type === '/Sig' || this.ends.includes(type)) return type;
    const said = this.text(value, depth);
    const whole = this.pdf.isStream(reference) ? hash(`${said} ${this.pdf.streamDigest(reference)}`) : said;
    if (type !== '/Font' || dictionary['/Subtype'] !== '/Type0') return whole;
    const name = String(dictionary['/BaseFont']);
    this.fonts.set(name, whole);
    return name;
  }
}
