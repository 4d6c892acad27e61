import { createHash } from 'node:crypto';
import { AppError } from '../../base/errors.js';
import { detachedSignature } from './cms.js';
import { type PdfDictionary, readDictionary, writeDictionary } from './pdf-dictionary.js';
import { numberIn, PdfUpdate, referenceIn, unlike } from './pdf-update.js';
import type { Seal } from './seal.js';

/** What the signature dictionary says beside the signature. */
export interface SealWords {
  /** Written to the second. */
  readonly signedAt: Date;
  readonly reason: string;
  /** Who seals: the organisation or installation. */
  readonly name: string;
  /** What the field of the seal is called. */
  readonly title: string;
  /** What it is, for somebody who cannot see it. */
  readonly alt: string;
}

/**
 * Seals a rendered record: a PAdES baseline B-B signature (ETSI EN 319 142-1) over the whole file, as an incremental
 * update, so that the rendered file is the beginning of the sealed one. The field is invisible, printed by nothing, and
 * stands in the structure tree as a form element, as PDF/A-3a wants of every annotation.
 * @param pdf a file of our own renderer, not sealed yet.
 * @throws AppError UNEXPECTED for a file that our renderer did not write.
 */
export function sealPdf(pdf: Buffer, seal: Seal, words: SealWords): Buffer {
  const frame = sealFrame(pdf, words, roomFor(seal));
  const signature = detachedSignature(digestAround(frame), seal);
  return fillFrame(frame, signature);
}

/** A file that has all of its bytes but those of the signature. */
export interface SealFrame {
  readonly bytes: Buffer;
  /** Where the signature's hexadecimal string starts and ends, with its brackets. The signature covers all but this. */
  readonly from: number;
  readonly to: number;
}

/** SHA-256 of everything but the place of the signature. */
export function digestAround({ bytes, from, to }: SealFrame): Buffer {
  return createHash('sha256').update(bytes.subarray(0, from)).update(bytes.subarray(to)).digest();
}

/** Puts the signature into its place, followed by zeros. */
export function fillFrame({ bytes, from, to }: SealFrame, signature: Buffer): Buffer {
  const hex = signature.toString('hex');
  if (hex.length > to - from - 2) {
    throw new AppError(
      'UNEXPECTED',
      `a signature of ${signature.length} bytes does not fit into the place kept for it`,
    );
  }
  const filled = Buffer.from(bytes);
  filled.write(hex, from + 1, 'latin1');
  return filled;
}

/** The certificates, and ample room for names, digests and the signature. */
function roomFor({ certificates }: Seal): number {
  const known = certificates.reduce((sum, certificate) => sum + certificate.length, 0);
  return Math.ceil((known + 2048) / 1024) * 1024;
}

/**
 * The update without its signature: the same file, words and room give the same bytes, so `verify` can make it again.
 * @param room bytes that the signature may take.
 */
export function sealFrame(pdf: Buffer, words: SealWords, room: number): SealFrame {
  const update = new PdfUpdate(pdf);
  const catalogue = update.read(update.root);
  if (catalogue.has('/AcroForm')) throw unlike('it has a form');
  const page = firstPage(update, catalogue);
  const [signature, widget, appearance, element, form] = Array.from({ length: 5 }, () => update.reserve()) as Five;

  const start = update.write(signature, signatureDictionary(words, room));
  update.write(appearance, '<<\n/Type /XObject\n/Subtype /Form\n/BBox [0 0 0 0]\n/Length 0\n>>\nstream\n\nendstream');
  const place = tagForm(update, catalogue, { element, widget, page, alt: words.alt });
  update.write(widget, widgetOf({ signature, appearance, page, place, words }));
  update.write(page, withItem(update.read(page), '/Annots', `${widget} 0 R`));
  update.write(form, dictionary({ '/Fields': `[${widget} 0 R]`, '/SigFlags': '3' }));
  update.write(update.root, new Map([...catalogue, ['/AcroForm', `${form} 0 R`]]));
  return withRange(update.finish(), start, room);
}

type Five = [number, number, number, number, number];

function firstPage(update: PdfUpdate, catalogue: PdfDictionary): number {
  const kids = update.read(referenceIn(catalogue, '/Pages')).get('/Kids') ?? '';
  const first = /^\[\s*(\d+) 0 R/.exec(kids);
  if (!first) throw unlike('it has no first page');
  return Number(first[1]);
}

/** Filled in once it is known where the signature stands; of fixed length, so that nothing moves. */
const RANGE_PLACE = '[0 ********** ********** **********]';

function signatureDictionary({ signedAt, reason, name }: SealWords, room: number): PdfDictionary {
  return dictionary({
    '/Type': '/Sig',
    '/Filter': '/Adobe.PPKLite',
    '/SubFilter': '/ETSI.CAdES.detached',
    '/ByteRange': RANGE_PLACE,
    '/Contents': `<${'0'.repeat(room * 2)}>`,
    '/M': `(${pdfTime(signedAt)})`,
    '/Name': pdfText(name),
    '/Reason': pdfText(reason),
  });
}

/** Annotation flags of ISO 32000-1, table 165: printed (4), locked (128). */
const FLAGS = '132';

interface WidgetParts {
  readonly signature: number;
  readonly appearance: number;
  readonly page: number;
  /** Key of the widget in the parent tree. */
  readonly place: number;
  readonly words: SealWords;
}

function widgetOf({ signature, appearance, page, place, words }: WidgetParts): PdfDictionary {
  return dictionary({
    '/Type': '/Annot',
    '/Subtype': '/Widget',
    '/FT': '/Sig',
    '/T': '(Seal)',
    '/TU': pdfText(words.title),
    '/V': `${signature} 0 R`,
    '/Rect': '[0 0 0 0]',
    '/F': FLAGS,
    '/AP': `<< /N ${appearance} 0 R >>`,
    '/P': `${page} 0 R`,
    '/StructParent': String(place),
  });
}

/** Adds a form element at the end of the document's own, and names it in the parent tree. @returns its key there. */
function tagForm(
  update: PdfUpdate,
  catalogue: PdfDictionary,
  { element, widget, page, alt }: { element: number; widget: number; page: number; alt: string },
): number {
  const rootNumber = referenceIn(catalogue, '/StructTreeRoot');
  const root = update.read(rootNumber);
  const place = numberIn(root, '/ParentTreeNextKey');
  const document = soleItem(root, '/K');
  update.write(
    element,
    dictionary({
      '/S': '/Form',
      '/P': `${document} 0 R`,
      '/Alt': pdfText(alt),
      '/Pg': `${page} 0 R`,
      '/K': `[<< /Type /OBJR /Obj ${widget} 0 R /Pg ${page} 0 R >>]`,
    }),
  );
  const tree = readDictionary(root.get('/ParentTree') ?? '');
  tree.set('/Limits', `[0 ${place}]`);
  root.set('/ParentTree', writeDictionary(withItem(tree, '/Nums', `${place} ${element} 0 R`)));
  root.set('/ParentTreeNextKey', String(place + 1));
  update.write(rootNumber, root);
  update.write(document, withItem(update.read(document), '/K', `${element} 0 R`));
  return place;
}

/** The structure tree has one element at its root, for the document. */
function soleItem(entries: PdfDictionary, name: string): number {
  const found = /^\[?\s*(\d+) 0 R\s*\]?$/.exec(entries.get(name) ?? '');
  if (!found) throw unlike(`${name} names not one thing`);
  return Number(found[1]);
}

/** The dictionary with one more item at the end of an array, which may not be there yet. */
function withItem(entries: PdfDictionary, name: string, item: string): PdfDictionary {
  const before = entries.get(name) ?? '[]';
  if (!before.endsWith(']')) throw unlike(`${name} is no array of its own`);
  return new Map([...entries, [name, `${before.slice(0, -1)} ${item}]`]]);
}

function withRange(bytes: Buffer, start: number, room: number): SealFrame {
  const from = bytes.indexOf('/Contents <', start) + '/Contents '.length;
  const to = from + room * 2 + 2;
  const range = `[0 ${from} ${to} ${bytes.length - to}]`.padEnd(RANGE_PLACE.length);
  bytes.write(range, bytes.indexOf(RANGE_PLACE, start), 'latin1');
  return { bytes, from, to };
}

function dictionary(entries: Readonly<Record<string, string>>): PdfDictionary {
  return new Map(Object.entries(entries));
}

/** A text string (ISO 32000-1, 7.9.2.2): plain where it is ASCII, else UTF-16 with a byte order mark. */
function pdfText(text: string): string {
  if (/^[\x20-\x7e]*$/.test(text)) return `(${text.replace(/[\\()]/g, '\\$&')})`;
  return `<feff${Buffer.from(text, 'utf16le').swap16().toString('hex')}>`;
}

function pdfTime(moment: Date): string {
  return `D:${moment.toISOString().replace(/\.\d+Z$|[-:T]/g, '')}Z`;
}
