import type { RecordState } from './record-state.js';

/** What the engine says by itself on a page and in the metadata. Whoever renders gives the words: the engine has none. */
export interface PageWords {
  /** The watermark of a draft. */
  readonly draftMark: string;
  /** In the head of each page. */
  readonly head: (number: string, revision: string, state: RecordState) => string;
  readonly page: (page: number, pages: number) => string;
  /** What a link says to somebody who cannot see it. */
  readonly leadsTo: (text: string, page: number) => string;
  /** In the place of a table without rows. */
  readonly noRows: string;
  /** What the properties of a record in the metadata are, for whoever reads the metadata by themselves. */
  readonly properties: Readonly<
    Record<'schema' | 'number' | 'revision' | 'digest' | 'state' | 'accessible' | 'accessiblePart', string>
  >;
}
