import { hash } from 'node:crypto';
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
  return write(value, []);
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

/**
 * Whether a text is the canonical one of the value that it was read as. It is asked of a million entries: where the engine
 * writes the same text again, only the order of names is left to look at.
 */
export function isCanonicalJson(text: string, value: unknown): boolean {
  // Half a surrogate pair can stand in a text only as an escape, and the engine writes it back as it came.
  if (!text.includes('\\ud') && JSON.stringify(value) === text) return isInOrder(value);
  try {
    return canonicalJson(value) === text;
  } catch {
    return false;
  }
}

function isInOrder(value: unknown): boolean {
  if (typeof value !== 'object' || value === null) return true;
  if (Array.isArray(value)) return value.every(isInOrder);
  let before: string | undefined;
  for (const [name, member] of Object.entries(value)) {
    if ((before !== undefined && before > name) || !isInOrder(member)) return false;
    before = name;
  }
  return true;
}

/** SHA-256 in lower-case hexadecimal; a text is hashed as its UTF-8 bytes. */
export function sha256Hex(textOrBytes: string | Uint8Array): string {
  return hash('sha256', textOrBytes, 'hex');
}

/** The digest of a value: SHA-256 over the UTF-8 bytes of its canonical text. */
export function digestOf(value: unknown): string {
  return sha256Hex(canonicalJson(value));
}

/** Where in the value the writer is: names and indexes, outermost first. It is made a text only when something is refused. */
type Place = (string | number)[];

function write(value: unknown, place: Place): string {
  switch (typeof value) {
    case 'string':
      return writeString(value, place);
    case 'boolean':
      return value ? 'true' : 'false';
    case 'number':
      if (!Number.isFinite(value)) throw refused(place, `the number ${value}`);
      return String(value);
    case 'object':
      if (value === null) return 'null';
      return Array.isArray(value) ? writeArray(value, place) : writeObject(value, place);
    default:
      throw refused(place, value === undefined ? 'no value' : `a ${typeof value}`);
  }
}

function writeString(text: string, place: Place): string {
  if (!text.isWellFormed()) throw refused(place, 'a text with half a surrogate pair');
  return JSON.stringify(text);
}

function writeArray(items: readonly unknown[], place: Place): string {
  let text = '';
  for (let index = 0; index < items.length; index += 1) {
    place.push(index);
    text += `${index === 0 ? '' : ','}${write(items[index], place)}`;
    place.pop();
  }
  return `[${text}]`;
}

function writeObject(object: object, place: Place): string {
  const prototype: unknown = Object.getPrototypeOf(object);
  if (prototype !== Object.prototype && prototype !== null) throw refused(place, `a ${object.constructor.name}`);
  let text = '';
  for (const name of Object.keys(object).sort()) {
    place.push(name);
    const member = `${writeString(name, place)}:${write((object as Record<string, unknown>)[name], place)}`;
    text += text === '' ? member : `,${member}`;
    place.pop();
  }
  return `{${text}}`;
}

function refused(place: Place, found: string): AppError {
  const named = place.reduce<string>((text, step) => text + (typeof step === 'number' ? `[${step}]` : `.${step}`), '$');
  return new AppError('BAD_INPUT', `${named} holds ${found}, which has no canonical JSON`, { place: named });
}
