import type { Cell } from '../cell.js';

type Document = Cell['documents'][string];

/** One document that says something which cannot be true together with the rest of it. */
export interface Spoilt {
  readonly what: string;
  /** Kind of the document that is spoilt. */
  readonly kind: string;
  readonly spoil: (document: Document) => void;
  /** Where it is told. */
  readonly field: string;
}

export const spoilt = (kind: string, what: string, field: string, spoil: Spoilt['spoil']): Spoilt => ({
  ...{ kind, what, field, spoil },
});
