import { createHash } from 'node:crypto';
import { AppError } from '../base/errors.js';

/**
 * The one text that stands for a value, by RFC 8785 (JSON Canonicalization Scheme): no white space, object names sorted
 * by UTF-16 code units, numbers and strings written as ECMAScript writes them. Digests are taken over this text.
 *
 * Refused, because they have no canonical text or would change silently: NaN and infinities, undefined, holes in
 * arrays, lone surrogates, big integers, and every object that is not a plain one.
 * @throws AppError BAD_INPUT naming the place in the value.
 */
export function canonicalJson(value: unknown): string {
  return write(value, '$');
}

/**
 * Reads a text that must already be in canonical form.
 * A repeated object name is refused too: reading drops one of the two, so that writing again gives another text.
 * @throws AppError BAD_INPUT when the text is no JSON, or JSON in another form.
 */
export function parseCanonicalJson(text: string): unknown {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    throw new AppError('BAD_INPUT', 'the text is not JSON');
  }
  if (canonicalJson(value) !== text) {
    throw new AppError('BAD_INPUT', 'the text is JSON, but not in the canonical form of RFC 8785');
  }
  return value;
}

/** SHA-256 in lower-case hexadecimal; a text is hashed as its UTF-8 bytes. */
export function sha256Hex(textOrBytes: string | Uint8Array): string {
  return createHash('sha256').update(textOrBytes).digest('hex');
}

/** The digest of a value: SHA-256 over the UTF-8 bytes of its canonical text. */
export function digestOf(value: unknown): string {
  return sha256Hex(canonicalJson(value));
}

function write(value: unknown, place: string): string {
  switch (typeof value) {
    case 'string':
      return writeString(value, place);
    case 'boolean':
      return value ? 'true' : 'false';
    case 'number':
      if (!Number.isFinite(value)) throw refused(place, `the number ${value}`);
      return JSON.stringify(value);
    case 'object':
      if (value === null) return 'null';
      return Array.isArray(value) ? writeArray(value, place) : writeObject(value, place);
    default:
      throw refused(place, value === undefined ? 'no value' : `a ${typeof value}`);
  }
}

/** In Unicode mode the two halves of a pair are one character, so this finds only halves that stand alone. */
const LONE_SURROGATE = /\p{Surrogate}/u;

function writeString(text: string, place: string): string {
  if (LONE_SURROGATE.test(text)) throw refused(place, 'a text with half a surrogate pair');
  return JSON.stringify(text);
}

function writeArray(items: readonly unknown[], place: string): string {
  const parts: string[] = [];
  for (let index = 0; index < items.length; index += 1) parts.push(write(items[index], `${place}[${index}]`));
  return `[${parts.join(',')}]`;
}

function writeObject(object: object, place: string): string {
  const prototype: unknown = Object.getPrototypeOf(object);
  if (prototype !== Object.prototype && prototype !== null) throw refused(place, `a ${object.constructor.name}`);
  const names = Object.keys(object).sort();
  const members = names.map((name) => {
    const inner = `${place}.${name}`;
    return `${writeString(name, inner)}:${write((object as Record<string, unknown>)[name], inner)}`;
  });
  return `{${members.join(',')}}`;
}

function refused(place: string, found: string): AppError {
  return new AppError('BAD_INPUT', `${place} holds ${found}, which has no canonical JSON`, { place });
}
