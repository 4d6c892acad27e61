import { LONGEST_DOCUMENT, LONGEST_SHEET, MOST_FILES } from './folder.js';
import { DEEPEST_PATH, LONGEST_NAME_BYTES, LONGEST_PATH } from './incoming-names.js';

/**
 * What comes by the browser at most. The limits are far beyond a lot with its logs, and far below what fills a disk or
 * keeps a machine busy. docs/formats.md tells them; a test holds the two together.
 */
export const UPLOAD_LIMITS = {
  files: MOST_FILES,
  /** Bytes of a document and of a result sheet, whichever way they come: they are read whole. */
  documentBytes: LONGEST_DOCUMENT,
  sheetBytes: LONGEST_SHEET,
  /** Bytes of one file, unpacked. */
  fileBytes: 2 * 1024 ** 3,
  /** Bytes of all of them, unpacked. */
  allBytes: 4 * 1024 ** 3,
  /** Bytes that one byte of a ZIP becomes. Logs of machines become twenty to sixty. */
  ratio: 200,
  /** What may be packed as well as it likes: small files of one line repeated. */
  ratioCountsFromBytes: 1024 ** 2,
  pathCharacters: LONGEST_PATH,
  pathNames: DEEPEST_PATH,
  nameBytes: LONGEST_NAME_BYTES,
  /** Uploads that the service takes at the same time. */
  atOnce: 3,
} as const;

export type UploadLimits = { readonly [Name in keyof typeof UPLOAD_LIMITS]: number };
