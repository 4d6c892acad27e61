/** What entries are about, beside documents and what people sign; with words in `src/report/phrases/kinds.ts`. */
export type SubjectKind =
  | 'folder'
  | 'evidence'
  | 'results of lot'
  | 'log of build'
  | 'lot file of lot'
  | 'assessment of lot'
  | 'summaries of lot'
  | 'capability of'
  | 'record'
  | 'entry'
  | 'key'
  | 'account'
  | 'audit trail'
  | 'program'
  | 'family history';

/** What an entry of the ledger is about. */
export interface Subject {
  readonly kind: string;
  readonly key: string;
  readonly revision: number | null;
  /** How many more things of the kind it covers, where it covers more than the one that it names. */
  readonly others?: number;
}

export const plainSubject = (kind: SubjectKind, key: string): Subject => ({ kind, key, revision: null });
