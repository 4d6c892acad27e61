import type { z } from 'zod';
import type { TieName } from './ties.js';

/** A directed, named tie from one revision to an entry; pinned to a revision where it matters. */
export interface LinkDraft {
  readonly name: TieName;
  readonly kind: string;
  readonly key: string;
  readonly revision?: number;
  readonly massG?: string;
  /** How many of it, where it is counted. */
  readonly count?: number;
  /** Set where a lot file that carries this document does without what the link leads to. */
  readonly aside?: true;
  /** Where in the document the reference stands, for the problem report. */
  readonly field: string;
}

/**
 * A tie to another entry.
 * @param field where in the document the reference stands.
 */
export const tie = (
  name: TieName,
  kind: string,
  key: string,
  field: string,
  more: Pick<LinkDraft, 'revision' | 'massG' | 'count' | 'aside'> = {},
): LinkDraft => ({ name, kind, key, field, ...more });

/**
 * An identity that a document brings into being beside its own: the heats of a receipt, the implants of a lot.
 * It has revisions and links of its own, so that a trace runs through the implant and not through the whole lot.
 */
export interface Declared {
  readonly kind: string;
  readonly key: string;
  readonly name: string;
  readonly body: unknown;
  readonly links: readonly LinkDraft[];
  readonly field: string;
}

/** Something in one document that cannot be true together with another part of the same document. */
export interface Contradiction {
  readonly field: string;
  readonly found: string;
  readonly expected: string;
  readonly remedy: string;
}

/** A file that the document names as its evidence. */
export interface NamedFile {
  readonly path: string;
  readonly field: string;
  readonly name:
    | 'certificate'
    | 'log'
    | 'units of a log'
    | 'results'
    | 'report'
    | 'scan'
    | 'model'
    | 'attachment'
    | 'approval'
    | 'personal data';
}

/** A part of a document that people sign by itself, by the digest of what of it they decided on. */
export interface SignablePart {
  readonly kind: string;
  readonly key: string;
  readonly digest: string;
}

/** SHA-256 of the canonical JSON of a value. */
export type DigestOf = (value: unknown) => string;

export interface Kind<T = unknown> {
  readonly kind: string;
  /** `document`: carries its own revision number. `running`: numbered by the store. */
  readonly numbering: 'document' | 'running';
  readonly purpose: string;
  /** Of its newest format. */
  readonly schema: z.ZodType<T>;
  /** Its formats before that, format 1 first (docs/architecture.md, how formats grow). */
  readonly earlier?: readonly EarlierFormat[];
  key(document: T): string;
  /** A short name for lists and traces. */
  name(document: T): string;
  links(document: T): LinkDraft[];
  declares(document: T): Declared[];
  contradictions(document: T): Contradiction[];
  files(document: T): NamedFile[];
  /** Code of the case that it tells of: such a document stands in the part of that case, which may be withheld. */
  caseOf?(document: T): string;
  /**
   * What signatures cover. Absent where it is the whole revision; running entries grow, and there a signature covers only
   * the part that was decided on, so that later facts void nothing.
   */
  signable?(document: T, digestOf: DigestOf): SignablePart[];
}

/** A format of a kind that is written no more: what was written in it is read for ever. */
export interface EarlierFormat {
  readonly schema: z.ZodType;
  /**
   * What a document of this format says, in the shape of the next one. Parts that people sign by themselves keep their
   * digests. The parameter is whatever `schema` gives.
   */
  // biome-ignore lint/suspicious/noExplicitAny: each format has a shape of its own
  upgrade(document: any): unknown;
}

/** A kind that has no document of its own: another document or a file brings its entries into being. */
export interface DeclaredKind<T = unknown> {
  readonly kind: string;
  readonly schema: z.ZodType<T>;
  readonly earlier?: readonly EarlierFormat[];
  /** As of a kind with documents. */
  caseOf?(entry: T): string;
}

type Optional = 'declares' | 'contradictions' | 'files' | 'links';

/** Fills in what a kind does not need. */
export function defineKind<T>(kind: Omit<Kind<T>, Optional> & Partial<Pick<Kind<T>, Optional>>): Kind<T> {
  const nothing = () => [];
  return { links: nothing, declares: nothing, contradictions: nothing, files: nothing, ...kind };
}

/** The signed original of an approval that was given elsewhere. */
export function originalOf(approval: { original?: string | undefined } | undefined, field: string): NamedFile[] {
  return approval?.original === undefined
    ? []
    : [{ path: approval.original, field: `${field}.original`, name: 'approval' }];
}

/** The tie to whoever is said to have approved a document. */
export const approvedBy = (approval: { by: string } | undefined): LinkDraft[] =>
  approval === undefined ? [] : [tie('approval claimed by', 'person', approval.by, 'approval.by')];

/** Fields of which each value may occur only once in a list. */
export function repeated(values: readonly string[], field: (index: number) => string, what: string): Contradiction[] {
  return values.flatMap((value, index) =>
    values.indexOf(value) === index
      ? []
      : [
          {
            field: field(index),
            found: `${what} "${value}" a second time`,
            expected: `each ${what} once`,
            remedy: 'rename one of the two or remove the repetition',
          },
        ],
  );
}

/**
 * A time that lies before another that cannot be later. Of a calendar date and a moment only the dates are compared.
 * @param what what happened at the earlier of the two: `it was received`.
 */
export function tooEarly(
  field: string,
  time: string | undefined,
  earliest: string | undefined,
  what: string,
): Contradiction[] {
  if (time === undefined || earliest === undefined) return [];
  const isDay = time.length === 10 || earliest.length === 10;
  const isEarly = isDay ? time.slice(0, 10) < earliest.slice(0, 10) : Date.parse(time) < Date.parse(earliest);
  if (!isEarly) return [];
  const expected = `not before ${earliest}, when ${what}`;
  return [{ field, found: time, expected, remedy: 'correct one of the two times' }];
}

/** Somebody who looks after what they did themselves. */
export function ownChecker(field: string, checker: string | undefined, doer: string): Contradiction[] {
  if (checker !== doer) return [];
  const expected = 'another person than the one who did it';
  return [{ field, found: checker, expected, remedy: 'let a second person look at it' }];
}

/** Two limits of which the lower one is not above the upper one. */
export function reversed(
  field: string,
  { lower, upper }: { readonly lower?: string | undefined; readonly upper?: string | undefined },
): Contradiction[] {
  if (lower === undefined || upper === undefined || Number(lower) <= Number(upper)) return [];
  const expected = 'a lower one that is not above the upper one';
  return [{ field, found: `${lower} to ${upper}`, expected, remedy: 'swap or correct the two' }];
}
