import fs from 'node:fs';
import type { Problem } from '../base/errors.js';
import type { NamedFile } from '../kinds/kind.js';
import type { ReadDocument } from './yaml-document.js';

interface FoundAttachment {
  readonly name: string;
  readonly path: string;
  readonly field: string;
  readonly use: NamedFile['name'];
}

/** DICOM PS3.10, 7.1: a preamble of 128 bytes, and then these four. Such a file names its patient. */
const PREAMBLE = 128;
const MAGIC = 'DICM';

/** Images of a patient that a document attaches without saying that they are personal data: they would go into packages. */
export const patientImageProblems = (document: ReadDocument, files: readonly FoundAttachment[]): Problem[] =>
  files
    .filter(({ use, path }) => use === 'attachment' && startsAsDicom(path))
    .map(({ field, name }) => ({
      code: 'patient-not-kept-apart',
      file: document.file,
      line: document.lineOf(field),
      field,
      found: `${name}, an image in DICOM, which tells who the patient is`,
      expected: 'a file under attachments with personalData: true beside it, or one that names nobody',
      remedy: 'say so: it is then kept apart, shown on no page and put into no package',
    }));

function startsAsDicom(file: string): boolean {
  const handle = fs.openSync(file, 'r');
  try {
    const bytes = Buffer.alloc(MAGIC.length);
    const read = fs.readSync(handle, bytes, 0, MAGIC.length, PREAMBLE);
    return read === MAGIC.length && bytes.toString('latin1') === MAGIC;
  } finally {
    fs.closeSync(handle);
  }
}
