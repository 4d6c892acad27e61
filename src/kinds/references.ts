import { z } from 'zod';
import { Sha256, Text, whole } from './fields.js';
import { type LinkDraft, repeated, tie } from './kind.js';
import type { TieName } from './ties.js';

/** References that lead to entries of more than one kind, and to the ledger. */

const KindName = z
  .string()
  .regex(/^[a-z][a-z -]{0,40}$/, { error: 'the name of a kind, such as recipe' })
  .describe('kind of the entry, such as recipe');

/** Any entry, whatever revision it has. */
export const EntryRef = z.strictObject({ kind: KindName, key: Text.describe('code of the entry') });
export type EntryRef = z.infer<typeof EntryRef>;

/** One revision of any entry. */
export const RevisionRef = EntryRef.extend({ revision: whole(1) });
export type RevisionRef = z.infer<typeof RevisionRef>;

const nameOf = (ref: EntryRef & { revision?: number }): string =>
  `${ref.kind} ${ref.key}${ref.revision === undefined ? '' : ` revision ${ref.revision}`}`;

export const tiesTo = (
  name: TieName,
  refs: readonly (EntryRef & { revision?: number })[],
  field: string,
  more: { aside?: true } = {},
): LinkDraft[] =>
  refs.map((ref, index) =>
    tie(name, ref.kind, ref.key, `${field}[${index}]`, {
      ...(ref.revision === undefined ? {} : { revision: ref.revision }),
      ...more,
    }),
  );

/** Each entry once; of one that stands there with its revision, each revision once. */
export const repeatedRefs = (refs: readonly (EntryRef & { revision?: number })[], field: string) =>
  repeated(refs.map(nameOf), (index) => `${field}[${index}]`, 'entry');

/** Codes of one kind, each in a list of its own field. */
export const tiesToCodes = (
  name: TieName,
  kind: string,
  codes: readonly string[],
  field: string,
  more: { aside?: true } = {},
): LinkDraft[] => codes.map((code, index) => tie(name, kind, code, `${field}[${index}]`, more));

/** How the audit trail stood when something was asked of the data folder. */
export const LedgerHead = z
  .strictObject({
    entries: whole(1).describe('number of entries'),
    root: Sha256.describe('root of the tree over them'),
  })
  .describe('head of the ledger at that moment, as `lotwright ledger head` prints it');

/** A person or a house outside the cell. */
export const Outside = z.strictObject({ name: Text, institution: Text });
