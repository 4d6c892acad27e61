import type { z } from 'zod';
import { LaterFormError } from '../base/errors.js';
import { parseForm, readKnown } from '../base/later-form.js';
import type { DeclaredKind } from './kind.js';

/** Schemas of every format of a kind, that of format 1 first. */
export const schemasOf = ({ earlier = [], schema }: DeclaredKind): readonly z.ZodType[] => [
  ...earlier.map((format) => format.schema),
  schema,
];

/** The number of its newest format. */
export const newestFormat = (kind: DeclaredKind): number => schemasOf(kind).length;

/** A document as it says it, which is what is stored and hashed, and in the newest shape, on which everybody works. */
export interface ReadAsWritten<T> {
  readonly written: unknown;
  readonly body: T;
}

/**
 * Reads a document that somebody hands in, of any format of its kind.
 * @throws LaterFormError for a format that this program does not know, ZodError for a document that is not of its format.
 */
export function readAnyFormat<T>(kind: DeclaredKind<T>, document: unknown): ReadAsWritten<T> {
  const { schema, upgraded } = formOf(kind, document);
  const written = schema.parse(document);
  return { written, body: upgraded(written) };
}

/**
 * A document that was stored, in the newest shape.
 * @param passOver told what only a later version knows of it; without that, such a document is refused.
 * @throws LaterFormError for what only a later version reads, ZodError for a document that is not of its format.
 */
export function readBody<T>(kind: DeclaredKind<T>, document: unknown, passOver?: (later: string) => void): T {
  const { schema, upgraded } = formOf(kind, document);
  const what = `a document of kind ${kind.kind}`;
  if (passOver === undefined) return upgraded(parseForm(what, schema, document));
  const { known, whole, later } = readKnown(what, schema, document);
  if (later === undefined) return upgraded(known);
  passOver(`${what} has ${later}`);
  // What people sign of a document by itself keeps its digest only with all of it.
  return upgraded(whole);
}

function formOf<T>(kind: DeclaredKind<T>, document: unknown): { schema: z.ZodType; upgraded(written: unknown): T } {
  const format = formatOf(document);
  const known = schemasOf(kind);
  if (format > known.length) {
    throw new LaterFormError(
      `a document of kind ${kind.kind} and format ${format}: this program knows ${knownFormats(kind)}`,
      {
        format,
      },
    );
  }
  const upgrades = (kind.earlier ?? []).slice(format - 1);
  return {
    schema: known[format - 1]!,
    upgraded: (written) => upgrades.reduce((value, { upgrade }) => upgrade(value), written) as T,
  };
}

/** Such as: format 1, or formats 1 to 3. */
export const knownFormats = (kind: DeclaredKind): string =>
  newestFormat(kind) === 1 ? 'format 1' : `formats 1 to ${newestFormat(kind)}`;

/** What says no format is of format 1, and so is what says something that is none: its schema then says what is wrong. */
function formatOf(document: unknown): number {
  const said = Number((document as { format?: unknown } | null)?.format);
  return Number.isInteger(said) && said > 0 ? said : 1;
}
