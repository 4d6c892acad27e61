import { AppError } from '../base/errors.js';
import type { PageWords } from './page-words.js';
import type { RecordState } from './record-state.js';

/** What the record says of itself on every page, in its metadata and in its file ID. */
export interface RecordIdentity {
  /** Number of the record, such as `LR-2031-004`. */
  readonly number: string;
  readonly revision: string;
  readonly title: string;
  readonly subject: string;
  /** The organisation that issues the record. */
  readonly author: string;
  /** SHA-256 of the dossier, 64 lower-case hexadecimal digits: the identity of the content. */
  readonly digest: string;
  /** SHA-256 of the enclosure, which names every attachment by its own; in the metadata, so that a program finds it. */
  readonly enclosure?: string;
  /** Time of printing; the only time that appears in the file. */
  readonly printedAt: Date;
  /** Name and version of the program that made the record. */
  readonly program: string;
  readonly state: RecordState;
  /** What the engine says around it. */
  readonly words: PageWords;
}

/** Under this name every page says which of how many it is, so that one that was taken out can be named. */
export const PAGE_MARK = 'LotwrightRecord';

/** @throws AppError for a digest that is none, or a time of printing that is no time. */
export function checkIdentity({ digest, printedAt }: RecordIdentity): void {
  if (!/^[0-9a-f]{64}$/.test(digest)) {
    throw new AppError('UNEXPECTED', `"${digest}" is no SHA-256 in lower-case hexadecimal digits`, { digest });
  }
  if (Number.isNaN(printedAt.getTime())) throw new AppError('UNEXPECTED', 'the time of printing is no time');
}

/** The first twelve digits: enough to compare by eye. The full digest stands on page 1 and in the metadata. */
export function shortDigest(digest: string): string {
  return digest.slice(0, 12);
}
