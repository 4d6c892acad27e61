import type { z } from 'zod';
import { LaterFormError } from '../base/errors.js';
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
 * Reads a document of any format of its kind.
 * @throws LaterFormError for a format that this program does not know, ZodError for a document that is not of its format.
 */
export function readAnyFormat<T>(kind: DeclaredKind<T>, document: unknown): ReadAsWritten<T> {
  const format = formatOf(document);
  const known = schemasOf(kind);
  if (format > known.length) {
    throw new LaterFormError(`a ${kind.title} of format ${format}: this program knows ${knownFormats(kind)}`, {
      format,
    });
  }
  const written = known[format - 1]!.parse(document);
  const body = (kind.earlier ?? []).slice(format - 1).reduce((value, { upgrade }) => upgrade(value), written);
  return { written, body: body as T };
}

/** The same for whoever needs no more than the newest shape. */
export const readBody = <T>(kind: DeclaredKind<T>, document: unknown): T => readAnyFormat(kind, document).body;

/** Such as: format 1, or formats 1 to 3. */
export const knownFormats = (kind: DeclaredKind): string =>
  newestFormat(kind) === 1 ? 'format 1' : `formats 1 to ${newestFormat(kind)}`;

/** What says no format is of format 1, and so is what says something that is none: its schema then says what is wrong. */
function formatOf(document: unknown): number {
  const said = Number((document as { format?: unknown } | null)?.format);
  return Number.isInteger(said) && said > 0 ? said : 1;
}
