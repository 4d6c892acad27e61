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

/** So much of a file tells what it is. */
const HEAD = 1024;
const at = (head: Buffer, place: number, signs: string): boolean =>
  head.subarray(place, place + signs.length).toString('latin1') === signs;

/**
 * What says of itself who a patient is, or shows them, and by what it is known: DICOM PS3.10, 7.1; the magic of NIfTI-1 and
 * NIfTI-2; the first line of NRRD; the first segment of HL7 version 2; the root of CDA; the type of a resource of FHIR.
 */
const OF_PATIENTS: readonly (readonly [what: string, is: (head: Buffer) => boolean])[] = [
  ['an image in DICOM, which tells who the patient is', (head) => at(head, 128, 'DICM')],
  [
    'an image in NIfTI, which may show who the patient is',
    (head) => at(head, 344, 'n+1\0') || at(head, 344, 'ni1\0') || at(head, 4, 'n+2\0') || at(head, 4, 'ni2\0'),
  ],
  ['an image in NRRD, which may show who the patient is', (head) => at(head, 0, 'NRRD000')],
  ['a message in HL7, which tells who the patient is', (head) => /^[\uFEFF\v\s]*MSH\|/.test(head.toString('utf8'))],
  [
    'a clinical document (CDA), which tells who the patient is',
    (head) => /<(?:\w+:)?ClinicalDocument[\s>]/.test(head.toString('utf8')),
  ],
  [
    'a resource of FHIR, which tells who the patient is',
    (head) => /^[\uFEFF\s]*\{[\s\S]*"resourceType"\s*:/.test(head.toString('utf8')),
  ],
];

/** What a document attaches that may tell who a patient is, and is not said to be personal data: it would go into packages. */
export const patientImageProblems = (document: ReadDocument, files: readonly FoundAttachment[]): Problem[] =>
  files.flatMap(({ use, path, field, name }) => {
    const what = use === 'attachment' ? ofPatient(path) : undefined;
    if (what === undefined) return [];
    return [
      {
        code: 'patient-not-kept-apart',
        file: document.file,
        line: document.lineOf(field),
        field,
        found: `${name}, ${what}`,
        expected: 'a file under attachments with personalData: true beside it, or one that names nobody',
        remedy: 'say so: it is then kept apart, shown on no page and put into no package',
      },
    ];
  });

function ofPatient(file: string): string | undefined {
  const handle = fs.openSync(file, 'r');
  try {
    const bytes = Buffer.alloc(HEAD);
    const head = bytes.subarray(0, fs.readSync(handle, bytes, 0, HEAD, 0));
    return OF_PATIENTS.find(([, is]) => is(head))?.[0];
  } finally {
    fs.closeSync(handle);
  }
}
