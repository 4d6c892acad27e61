import { createHash } from 'node:crypto';
import { AppError } from '../base/errors.js';
import { type NameTree, type PdfkitDocument, pdfString, type Reference } from './pdfkit-internals.js';
import type { Attachment } from './sheet.js';

const PLAIN_NAME = /^[A-Za-z0-9][A-Za-z0-9._-]{0,99}$/;

/**
 * Embeds a file by the rules of ISO 19005-3, 6.8: media type, dates, relationship, description. pdfkit's own `file`
 * writes the MD5 as 32 hexadecimal characters where ISO 32000-1 (table 46) wants its 16 bytes.
 */
export function embedFile(document: PdfkitDocument, file: Attachment, date: Date): void {
  if (!PLAIN_NAME.test(file.name)) {
    throw new AppError('BAD_INPUT', `an attachment cannot be named "${file.name}"`, { name: file.name });
  }
  const content = document.ref({
    Type: 'EmbeddedFile',
    Subtype: file.mediaType.replace('/', '#2F'),
    Params: {
      Size: file.bytes.length,
      CreationDate: date,
      ModDate: date,
      CheckSum: createHash('md5').update(file.bytes).digest(),
    },
  });
  content.end(file.bytes);
  const specification = document.ref({
    Type: 'Filespec',
    F: pdfString(file.name),
    UF: pdfString(file.name),
    Desc: pdfString(file.description),
    AFRelationship: file.relationship,
    EF: { F: content, UF: content },
  });
  specification.end();
  nameFile(document, file.name, specification);
}

function nameFile(document: PdfkitDocument, name: string, specification: Reference): void {
  const catalogue = document._root.data;
  const associated = (catalogue.AF ?? []) as Reference[];
  document.addNamedEmbeddedFile(name, specification as never);
  sortByBytes(catalogue.Names?.data.EmbeddedFiles);
  catalogue.AF = [...associated, specification];
}

/** Names are ASCII, so the order of UTF-16 code units is the order of bytes. */
export function sortByBytes(tree: NameTree | undefined): void {
  if (tree) tree._compareKeys = (a, b) => (a < b ? -1 : a > b ? 1 : 0);
}
