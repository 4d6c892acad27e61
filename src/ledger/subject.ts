/** What an entry of the ledger is about. */
export interface Subject {
  readonly kind: string;
  readonly key: string;
  readonly revision: number | null;
}

export const plainSubject = (kind: string, key: string): Subject => ({ kind, key, revision: null });

export const subjectText = ({ kind, key, revision }: Subject): string =>
  `${kind} ${key}${revision === null ? '' : `, revision ${revision}`}`;
