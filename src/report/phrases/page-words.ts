import type { PageWords } from '../../pdf/page-words.js';
import type { RecordState } from '../../pdf/record-state.js';

const RECORD_STATE_MARKS: Readonly<Record<RecordState, string>> = {
  draft: ' · draft',
  'not-final': ' · not final',
  final: '',
};

/** Words of every page of a record or paper, around what stands on it. */
export const PAGE_WORDS: PageWords = {
  draftMark: 'DRAFT',
  head: (number, revision, state) => `${number} · revision ${revision}${RECORD_STATE_MARKS[state]}`,
  page: (page, pages) => `Page ${page} of ${pages}`,
  leadsTo: (text, page) => `${text}, leads to page ${page}`,
  noRows: 'None recorded.',
  properties: {
    schema: 'Identity of a lot record',
    number: 'Number of the record',
    revision: 'Revision of the record',
    digest: 'SHA-256 of the dossier that the record shows',
    state: 'draft, not final or final',
    accessible: 'Mark of PDF/UA',
    accessiblePart: 'Part of ISO 14289 that the file follows',
  },
};
