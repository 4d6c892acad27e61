/** A draft carries a mark on each page; only a final record calls itself so. */
export type RecordState = 'draft' | 'not-final' | 'final';
