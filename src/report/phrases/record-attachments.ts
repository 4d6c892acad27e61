import { ABSENT } from './absent.js';
import { counted } from './counted.js';

/** Words of the section "attachments" of the lot record. */
export const ATTACHMENTS = {
  attachments: 'Attachments',
  name: 'Name, and what it is',
  nameOf: (name: string, what: string) => `${name}: ${what}`,
  bytes: 'Bytes',
  sha: 'SHA-256',
  dossier: 'lot file: the frozen facts',
  assessment: 'what the program says of them',
  part: 'part of the lot file',
  family: 'the family over its builds, line by line',
  template: 'order, titles and words of the record',
  note: 'how to recompute without this program',
  beside: 'what the record shows beside the lot file',
  forCase: (forCase: string | null, others: number) =>
    `This copy is meant for the institution of case ${forCase}. The facts of ${counted(others, 'other case')} are left out; their digests stand in the lot file.`,
  evidence: 'Evidence kept by the cell, by the first 12 digits of its SHA-256; in full in dossier.json',
  use: 'What it is',
  files: 'Files, with what they are of, bytes and digest',
  fileOf: (name: string, of: string, bytes: number) => `${name}${of === '' ? '' : ` of ${of}`}, ${bytes} bytes`,
  noEvidence: ABSENT.noneSentence,
};
