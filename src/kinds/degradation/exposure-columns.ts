import type { z } from 'zod';
import { Exposure } from './exposure.js';

/** What a sheet does not say: it follows from the lot, or from the sheet itself. */
const FOLLOWS: ReadonlySet<string> = new Set(['kind', 'format', 'specimenIs', 'evidence']);

interface Column {
  /** Path in the document: `massG.afterCleaning`. */
  readonly name: string;
  readonly isRequired: boolean;
}

function columnsOf(shape: z.core.$ZodShape, prefix: string, isAsked: boolean): Column[] {
  return Object.entries(shape).flatMap(([field, type]) => {
    if (prefix === '' && FOLLOWS.has(field)) return [];
    const { def } = (type as z.core.$ZodTypes)._zod;
    const isOptional = def.type === 'optional';
    const inner = isOptional ? (def.innerType as z.core.$ZodTypes)._zod.def : def;
    const name = `${prefix}${field}`;
    if (inner.type === 'object') return columnsOf(inner.shape, `${name}.`, isAsked && !isOptional);
    return [{ name, isRequired: isAsked && !isOptional }];
  });
}

const COLUMNS = columnsOf(Exposure.shape, '', true);

/** Columns of an exposure sheet: the fields of an exposure by their paths, one row an exposure of one specimen. */
export const EXPOSURE_COLUMNS = {
  all: COLUMNS.map(({ name }) => name),
  required: COLUMNS.filter(({ isRequired }) => isRequired).map(({ name }) => name),
};

/**
 * The document that a row says, in the shape in which somebody would have written it: empty cells are left out,
 * instruments are parted by blanks.
 */
export function exposureOfRow(cells: Readonly<Record<string, string>>): Record<string, unknown> {
  const document: Record<string, unknown> = { kind: 'exposure', format: '1' };
  for (const [name, text] of Object.entries(cells)) {
    if (text === '') continue;
    const [field, inner] = name.split('.') as [string, string?];
    if (inner === undefined) document[field] = field === 'instruments' ? text.split(/\s+/) : text;
    else document[field] = { ...(document[field] as object | undefined), [inner]: text };
  }
  return document;
}
