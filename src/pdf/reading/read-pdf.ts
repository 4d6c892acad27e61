import { PAGE_MARK } from '../identity.js';
import { type PdfDictionary, PdfObjects, type PdfValue } from './pdf-objects.js';
import { UnreadablePdf } from './unreadable.js';

/** A signature field of a PDF that has been signed: a seal, or what others signed. */
export interface PdfSignature {
  readonly field: string;
  readonly byteRange: readonly number[];
  /** As the signature's dictionary says them: not covered by anything until the signature is found to hold. */
  readonly name: string;
  readonly reason: string;
  readonly time: string;
  /** As it stands in its place, with the zeros behind it. */
  readonly value: Uint8Array;
}

/** The number of a page in the record, and of how many. */
export interface PagePlace {
  readonly page: number;
  readonly of: number;
}

/** What a record's PDF says of itself and carries. */
export interface PdfContents {
  readonly keywords: string;
  /** The metadata packet; empty when there is none. */
  readonly metadata: string;
  /** Pages of the file, each by what it says of its place in the record: undefined where it says nothing. */
  readonly pages: readonly (PagePlace | undefined)[];
  readonly attachments: ReadonlyMap<string, Uint8Array>;
  /** In the order in which they were made: a later one covers more. */
  readonly signatures: readonly PdfSignature[];
  /** Whether the reader of PDF had to overlook something. */
  readonly isDamaged: boolean;
}

/**
 * Reads the attachments, the keywords and the signature fields of a PDF. Runs in a worker thread with a memory limit:
 * the file comes from anywhere.
 * @throws UnreadablePdf when the bytes are no whole PDF, or unpack to more than a record does.
 */
export async function readPdf(bytes: Uint8Array): Promise<PdfContents> {
  const pdf = await PdfObjects.read(bytes);
  const attachments = new Map<string, Uint8Array>();
  for (const { dictionary } of pdf.dictionaries()) {
    if (dictionary['/Type'] !== '/Filespec') continue;
    const name = pdf.text(dictionary['/UF']) || pdf.text(dictionary['/F']);
    const data = pdf.streamData(pdf.dictionary(dictionary['/EF'])['/F']);
    if (data === undefined || attachments.has(name)) {
      throw new UnreadablePdf({ code: 'attachment unreadable', name });
    }
    attachments.set(name, data);
  }
  return {
    keywords: pdf.text(pdf.dictionary(pdf.trailer['/Info'])['/Keywords']),
    metadata: Buffer.from(pdf.streamData(pdf.catalogue['/Metadata']) ?? []).toString('utf8'),
    pages: pdf.pages().map((page) => placeOf(pdf, page)),
    attachments,
    signatures: pdf
      .fields()
      .flatMap((field) => signatureOf(pdf, field))
      .sort((a, b) => reach(a) - reach(b)),
    isDamaged: pdf.isDamaged,
  };
}

function placeOf(pdf: PdfObjects, page: string): PagePlace | undefined {
  const own = pdf.dictionary(pdf.dictionary(pdf.dictionary(page)['/PieceInfo'])[`/${PAGE_MARK}`]);
  const { '/Page': number, '/Of': of } = pdf.dictionary(own['/Private']);
  return Number.isSafeInteger(number) && Number.isSafeInteger(of)
    ? { page: Number(number), of: Number(of) }
    : undefined;
}

/** A string that is no text is written in hexadecimal digits. */
function bytesOf(value: PdfValue | undefined): Uint8Array {
  const text = typeof value === 'string' ? value : '';
  return text.startsWith('b:') ? Buffer.from(text.slice(2), 'hex') : Buffer.from(text.slice(2), 'latin1');
}

function signatureOf(pdf: PdfObjects, field: PdfDictionary): PdfSignature[] {
  if (field['/FT'] !== '/Sig' || field['/V'] === undefined) return [];
  const value = pdf.dictionary(field['/V']);
  return [
    {
      field: pdf.text(field['/T']),
      byteRange: pdf.array(value['/ByteRange']).map(Number),
      name: pdf.text(value['/Name']),
      reason: pdf.text(value['/Reason']),
      time: pdf.text(value['/M']),
      value: bytesOf(value['/Contents']),
    },
  ];
}

/** How much of the file a signature covers; nothing when it does not say in the usual way. */
function reach({ byteRange }: PdfSignature): number {
  return (byteRange[2] ?? 0) + (byteRange[3] ?? 0);
}
