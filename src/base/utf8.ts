import type { Problem } from './errors.js';

const LINE_END = 0x0a;

/** Text of bytes that must be UTF-8. A wrong byte is told with its place: nothing is put in its stead. */
export function utf8Text(file: string, bytes: Uint8Array): { text: string } | { problem: Problem } {
  try {
    return { text: new TextDecoder('utf-8', { fatal: true }).decode(bytes) };
  } catch {
    return { problem: notUtf8(file, bytes) };
  }
}

function notUtf8(file: string, bytes: Uint8Array): Problem {
  const expected = 'UTF-8 text';
  const remedy = 'save the file as UTF-8 (a sheet as "CSV UTF-8") and take it in again';
  const [first, second] = bytes;
  if ((first === 0xff && second === 0xfe) || (first === 0xfe && second === 0xff)) {
    return { code: 'encoding', file, line: 1, column: 1, found: 'UTF-16 text', expected, remedy };
  }
  let [at, line, column] = [0, 1, 1];
  for (let length = characterBytes(bytes, at); length > 0; length = characterBytes(bytes, at)) {
    const isEnd = bytes[at] === LINE_END;
    [line, column] = isEnd ? [line + 1, 1] : [line, column + 1];
    at += length;
  }
  const byte = bytes[at]!.toString(16).padStart(2, '0');
  const found = `0x${byte}, a byte that is no UTF-8 here (byte ${at + 1} of the file)`;
  return { code: 'encoding', file, line, column, found, expected, remedy };
}

/** Bytes of the character that begins at a place, by the table of well-formed sequences of Unicode (3.9); 0 when none does. */
function characterBytes(bytes: Uint8Array, at: number): number {
  const first = bytes[at] ?? 0xff;
  if (first < 0x80) return 1;
  const length = first < 0xc2 || first > 0xf4 ? 0 : first < 0xe0 ? 2 : first < 0xf0 ? 3 : 4;
  for (let place = 1; place < length; place += 1) {
    const next = bytes[at + place] ?? 0;
    const [least, most] = place === 1 ? secondBytes(first) : [0x80, 0xbf];
    if (next < least || next > most) return 0;
  }
  return length;
}

function secondBytes(first: number): readonly [number, number] {
  if (first === 0xe0) return [0xa0, 0xbf];
  if (first === 0xed) return [0x80, 0x9f];
  if (first === 0xf0) return [0x90, 0xbf];
  return [0x80, first === 0xf4 ? 0x8f : 0xbf];
}
