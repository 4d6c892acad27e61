import { anyKindNamed, type BodyOf } from '../kinds/catalogue.js';
import { readBody } from '../kinds/formats.js';
import { ReadOnce } from './read-once.js';
import { readable } from './readable.js';

/** Most bodies that are kept as they were read. */
const MOST_KEPT = 4000;

const kept = new ReadOnce<unknown>(MOST_KEPT);

/**
 * The one place where a stored text becomes a document: it is read by the schema of its kind. A revision never changes, so
 * what was read is kept, frozen, by its digest; those read longest ago go first.
 * @throws AppError ALTERED when it is no such document, which only damage or an attack brings about.
 */
export function bodyOf<K extends string>(kind: K, digest: string, text: string): BodyOf<K> {
  const found = kept.of(`${kind} ${digest}`, () => read(kind, text));
  return found as BodyOf<K>;
}

function read(kind: string, text: string): unknown {
  return readable(`a stored ${kind}`, () => {
    const value: unknown = JSON.parse(text);
    const known = anyKindNamed(kind);
    return known ? readBody(known, value) : value;
  });
}
