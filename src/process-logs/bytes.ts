export const LINE_FEED = 10;
export const CARRIAGE_RETURN = 13;
export const COMMA = 44;
export const MINUS = 45;
export const POINT = 46;
export const DIGIT_ZERO = 48;

/** Bytes as text; broken UTF-8 becomes U+FFFD, so this is for showing and for numbers, never for names. */
export function textOf(bytes: Uint8Array, start: number, end: number): string {
  return Buffer.from(bytes.buffer, bytes.byteOffset + start, end - start).toString('utf8');
}

const strict = new TextDecoder('utf-8', { fatal: true });

/** Bytes as text without a byte order mark, or undefined when they are not UTF-8. */
export function strictTextOf(bytes: Uint8Array, start: number, end: number): string | undefined {
  try {
    return strict.decode(bytes.subarray(start, end));
  } catch {
    return undefined;
  }
}

/** True when the bytes from `at` on are exactly those of `wanted`. Does not look beyond the first that differs. */
export function matches(bytes: Uint8Array, at: number, wanted: Uint8Array): boolean {
  for (let index = 0; index < wanted.length; index += 1) {
    if (bytes[at + index] !== wanted[index]) return false;
  }
  return true;
}
