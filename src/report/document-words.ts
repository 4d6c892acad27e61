import { z } from 'zod';
import { timeText } from '../dossier/time-text.js';
import { kindNamed } from '../kinds/catalogue.js';
import type { Kind } from '../kinds/kind.js';
import { stepInto } from '../kinds/schema-walk.js';
import { fieldText } from './phrases/field-words.js';
import { entryText } from './phrases/kinds.js';

/** One field of a document in words. */
export interface Said {
  readonly field: string;
  readonly label: string;
  /** Items of a list that are no single words stand in lines of their own. */
  readonly text: string;
}

type Schema = z.core.$ZodTypes | undefined;

/**
 * What a document says, field by field in the order of its schema; its own code is left out.
 * @param without fields that are told elsewhere.
 */
export function saidBy(
  { kind: name, body }: { readonly kind: string; readonly body: unknown },
  without: readonly string[],
): Said[] {
  const kind = kindNamed(name);
  const told = kind === undefined ? [] : keyFieldOf(kind, body as object);
  return ordered(body as object, kind?.schema as Schema)
    .filter(({ field }) => !without.includes(field) && !told.includes(field))
    .map(({ field, value, schema }) => ({ field, label: labelOf(field, name), text: textOf(value, schema) }));
}

/** The field that is the code of a document; none where its code is put together of several. */
function keyFieldOf(kind: Pick<Kind, 'key'>, body: object): string[] {
  const read = new Set<string>();
  const noted = new Proxy(body, {
    get(target, field) {
      read.add(String(field));
      return Reflect.get(target, field);
    },
  });
  kind.key(noted);
  return read.size === 1 ? [...read] : [];
}

function labelOf(field: string, kind?: string): string {
  const { label, unit } = fieldText(field, kind);
  return unit === undefined ? label : `${label} (${unit})`;
}

function textOf(value: unknown, schema: Schema): string {
  if (value === null || typeof value !== 'object') return timeText(String(value));
  const holder = holderOf(schema, value);
  if (Array.isArray(value)) {
    const item = holder?._zod.def.type === 'array' ? (holder._zod.def.element as z.core.$ZodTypes) : undefined;
    const texts = value.map((one) => refText(one) ?? textOf(one, item));
    return texts.join(value.every((one) => typeof one === 'string' || refText(one) !== undefined) ? ', ' : '\n');
  }
  return (
    refText(value) ??
    ordered(value, holder)
      .map(({ field, value: inner, schema: within }) => `${labelOf(field)}: ${textOf(inner, within)}`)
      .join('; ')
  );
}

/** `UN-1 revision 2` for what names a revision: with its kind, or with one field that says of what kind it is. */
function refText(value: unknown): string | undefined {
  if (value === null || typeof value !== 'object' || Array.isArray(value)) return undefined;
  const { kind, key, revision, ...rest } = value as Readonly<Record<string, unknown>>;
  const others = Object.values(rest);
  if (typeof kind === 'string' && typeof key === 'string' && others.length === 0) {
    return entryText(kind, key, revision === undefined ? null : Number(revision));
  }
  const [code] = others;
  const isPinned = revision !== undefined && kind === undefined && key === undefined && others.length === 1;
  return isPinned && typeof code === 'string' ? `${code} revision ${revision}` : undefined;
}

/** Fields in the order of the schema: canonical JSON has them by the alphabet. */
function ordered(value: object, schema: Schema): { field: string; value: unknown; schema: Schema }[] {
  const holder = holderOf(schema, value);
  const shape = holder?._zod.def.type === 'object' ? (holder._zod.def.shape as Record<string, Schema>) : {};
  const places = Object.keys(shape);
  const placeOf = (field: string) => (places.includes(field) ? places.indexOf(field) : places.length);
  return Object.entries(value)
    .map(([field, inner]) => ({ field, value: inner as unknown, schema: shape[field] }))
    .sort((a, b) => placeOf(a.field) - placeOf(b.field));
}

/** The schema that describes a value itself. */
function holderOf(schema: Schema, value: unknown): Schema {
  let found = schema;
  for (let inner = found && stepInto(found, value); inner !== undefined; inner = stepInto(found!, value)) found = inner;
  return found;
}
