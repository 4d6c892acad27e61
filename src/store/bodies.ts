import { anyKindNamed, type BodyOf } from '../kinds/catalogue.js';
import { readBody } from '../kinds/formats.js';
import { readable } from './readable.js';

/** Most bodies that are kept as they were read. */
const MOST_KEPT = 4000;

const kept = new Map<string, unknown>();

/**
 * The one place where a stored text becomes a document: it is read by the schema of its kind. A revision never changes, so
 * what was read is kept, frozen, by its digest; those read longest ago go first.
 * @throws AppError ALTERED when it is no such document, which only damage or an attack brings about.
 */
export function bodyOf<K extends string>(kind: K, digest: string, text: string): BodyOf<K> {
  const name = `${kind} ${digest}`;
  const found = kept.get(name) ?? frozen(read(kind, text));
  kept.delete(name);
  kept.set(name, found);
  if (kept.size > MOST_KEPT) kept.delete(kept.keys().next().value!);
  return found as BodyOf<K>;
}

function read(kind: string, text: string): unknown {
  return readable(`a stored ${kind}`, () => {
    const value: unknown = JSON.parse(text);
    const known = anyKindNamed(kind);
    return known ? readBody(known, value) : value;
  });
}

function frozen<T>(value: T): T {
  if (value === null || typeof value !== 'object') return value;
  for (const inner of Object.values(value)) frozen(inner);
  return Object.freeze(value);
}
