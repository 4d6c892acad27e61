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
  // A line end is never a part of a longer character.
  for (let line = 1, start = 0; start <= bytes.length; line++) {
    const end = bytes.indexOf(LINE_END, start);
    const column = wrongColumn(bytes.subarray(start, end < 0 ? bytes.length : end));
    if (column !== undefined) {
      const found = `0x${bytes[start + column.byte]!.toString(16).padStart(2, '0')}, a byte that is no UTF-8 here`;
      return { code: 'encoding', file, line, column: column.character + 1, found, expected, remedy };
    }
    if (end < 0) break;
    start = end + 1;
  }
  return { code: 'encoding', file, found: 'bytes that are no UTF-8', expected, remedy };
}

/** Where the first character of a line begins that is none, counted in bytes and in characters before it. */
function wrongColumn(line: Uint8Array): { byte: number; character: number } | undefined {
  for (let byte = 0, character = 0; byte < line.length; character++) {
    const length = [1, 2, 3, 4].find((count) => isText(line.subarray(byte, byte + count)));
    if (length === undefined) return { byte, character };
    byte += length;
  }
  return undefined;
}

function isText(bytes: Uint8Array): boolean {
  try {
    new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(bytes);
    return true;
  } catch {
    return false;
  }
}
