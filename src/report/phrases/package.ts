import { ABSENT } from './absent.js';
import { PAPER } from './paper.js';

/** Words in the package of a record: what it is, and what was left out of it. */
export const PACKAGE = {
  identifier: (number: string, revision: number) => `${number} revision ${revision}`,
  description: (lot: string, demo: boolean) => `Lot record ${lot} with what it carries${demo ? PAPER.demo : ''}`,
  noEvidence: 'Evidence stays with the cell: it speaks of every implant of the lot.',
  removed: (sha256: string) => `${sha256}: its bytes were removed for good.`,
  apart: (sha256: string) => `${sha256}: personal data, kept apart.`,
  noOrganisation: ABSENT.notStated,
};
