import { AppError } from '../../base/errors.js';
import { type PdfDictionary, PdfObjects } from './pdf-objects.js';

/** A signature field of a PDF that has been signed: a seal, or what others signed. */
export interface PdfSignature {
  readonly field: string;
  readonly byteRange: readonly number[];
  /** As the signature's dictionary says them: not covered by anything until the signature is found to hold. */
  readonly name: string;
  readonly reason: string;
  readonly time: string;
}

/** What a record's PDF says of itself and carries. */
export interface PdfContents {
  readonly keywords: string;
  readonly attachments: ReadonlyMap<string, Uint8Array>;
  /** In the order in which they were made: a later one covers more. */
  readonly signatures: readonly PdfSignature[];
  /** What the reader of PDF had to overlook. */
  readonly complaints: readonly string[];
}

/**
 * Reads the attachments, the keywords and the signature fields of a PDF. Runs in a worker thread with a memory limit:
 * the file comes from anywhere.
 * @throws AppError ALTERED when the bytes are no whole PDF.
 */
export async function readPdf(bytes: Uint8Array): Promise<PdfContents> {
  const pdf = await PdfObjects.read(bytes);
  const attachments = new Map<string, Uint8Array>();
  for (const { dictionary } of pdf.dictionaries()) {
    if (dictionary['/Type'] !== '/Filespec') continue;
    const name = pdf.text(dictionary['/UF']) || pdf.text(dictionary['/F']);
    const data = pdf.streamData(pdf.dictionary(dictionary['/EF'])['/F']);
    if (data === undefined || attachments.has(name)) {
      throw new AppError('ALTERED', `attachment "${name}" cannot be read, or is there twice`, { attachment: name });
    }
    attachments.set(name, data);
  }
  return {
    keywords: pdf.text(pdf.dictionary(pdf.trailer['/Info'])['/Keywords']),
    attachments,
    signatures: pdf
      .fields()
      .flatMap((field) => signatureOf(pdf, field))
      .sort((a, b) => reach(a) - reach(b)),
    complaints: pdf.complaints,
  };
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
    },
  ];
}

/** How much of the file a signature covers; nothing when it does not say in the usual way. */
function reach({ byteRange }: PdfSignature): number {
  return (byteRange[2] ?? 0) + (byteRange[3] ?? 0);
}
