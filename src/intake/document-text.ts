import { stringify } from 'yaml';
import type { z } from 'zod';
import { kindNamed } from '../kinds/catalogue.js';
import { stepInto } from '../kinds/schema-walk.js';

/**
 * A document in YAML, as somebody would have written it: fields in the order of the schema of its kind, and every value
 * as the text that it was given as. What no schema knows comes last, so that the file can be refused with its name.
 * @param document plain data; fields that are undefined or null are left out.
 */
export function documentText(document: Readonly<Record<string, unknown>>): string {
  const kind = kindNamed(String(document.kind));
  const ordered = kind === undefined ? asText(document) : inOrder(kind.schema as unknown as z.core.$ZodTypes, document);
  // All that is read of a file is text, so nothing needs quotes for being taken for a number.
  return stringify(ordered, { schema: 'failsafe', lineWidth: 0, aliasDuplicateObjects: false });
}

function inOrder(schema: z.core.$ZodTypes, value: unknown): unknown {
  const { def } = schema._zod;
  if (def.type === 'object' && isRecord(value)) {
    const known = Object.keys(def.shape);
    const others = Object.keys(value).filter((name) => !known.includes(name));
    return fieldsOf([...known, ...others], (name) => {
      const inner = Object.hasOwn(def.shape, name) ? (def.shape[name] as z.core.$ZodTypes) : undefined;
      return inner === undefined ? asText(value[name]) : inOrder(inner, value[name]);
    });
  }
  if (def.type === 'array' && Array.isArray(value)) {
    return value.filter(isGiven).map((item) => inOrder(def.element as z.core.$ZodTypes, item));
  }
  const inner = stepInto(schema, value);
  return inner === undefined ? asText(value) : inOrder(inner, value);
}

function asText(value: unknown): unknown {
  if (Array.isArray(value)) return value.filter(isGiven).map(asText);
  if (isRecord(value)) return fieldsOf(Object.keys(value), (name) => asText(value[name]));
  // A form of a page sends line ends as the standard of its format has them.
  return isGiven(value) ? String(value).replaceAll('\r\n', '\n') : undefined;
}

function fieldsOf(names: readonly string[], valueIn: (name: string) => unknown): Record<string, unknown> {
  const fields = names.map((name) => [name, valueIn(name)] as const);
  return Object.fromEntries(fields.filter(([, value]) => value !== undefined));
}

const isGiven = (value: unknown): boolean => value !== undefined && value !== null;

const isRecord = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);
