import type { Problem } from './errors.js';
import { utf8Text } from './utf8.js';

/**
 * Text of bytes in UTF-8, or in UTF-16 that begins with its mark (RFC 2781). Nothing is guessed and nothing is put in the
 * stead of what is wrong: it is told with its place, in bytes too.
 */
export function decodedText(file: string, bytes: Uint8Array): { text: string } | { problem: Problem } {
  const [first, second, third, fourth] = bytes;
  const isLittle = first === 0xff && second === 0xfe;
  const isBig = first === 0xfe && second === 0xff;
  if (!isLittle && !isBig) return utf8Text(file, bytes);
  if (isLittle && third === 0 && fourth === 0) return { problem: wrongAt(file, 0, [], 'UTF-32 text') };
  return utf16Text(file, bytes, isLittle);
}

function utf16Text(file: string, bytes: Uint8Array, isLittle: boolean): { text: string } | { problem: Problem } {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const units = (bytes.length >> 1) - 1;
  const text = new TextDecoder(isLittle ? 'utf-16le' : 'utf-16be').decode(bytes);
  for (let unit = 0; unit < units; unit += 1) {
    const code = view.getUint16(2 + 2 * unit, isLittle);
    if (code < 0xd800 || code > 0xdfff) continue;
    const next = unit + 1 < units ? view.getUint16(4 + 2 * unit, isLittle) : 0;
    if (code < 0xdc00 && next >= 0xdc00 && next <= 0xdfff) unit += 1;
    else
      return { problem: wrongAt(file, 2 + 2 * unit, text.slice(0, unit), `0x${code.toString(16)}, half a character`) };
  }
  if (bytes.length % 2 === 0) return { text };
  return { problem: wrongAt(file, bytes.length - 1, text.slice(0, units), 'half a unit of UTF-16 at the end') };
}

/** @param before text that stands before the byte. */
function wrongAt(file: string, byte: number, before: string | readonly string[], found: string): Problem {
  const lines = typeof before === 'string' ? before.split('\n') : [''];
  return {
    code: 'encoding',
    file,
    line: lines.length,
    column: Array.from(lines.at(-1)!).length + 1,
    found: `${found} (byte ${byte + 1} of the file)`,
    expected: 'UTF-8 text, or UTF-16 that begins with its mark',
    remedy: 'save the file as UTF-8 and take it in again; a file that was cut must be copied again',
  };
}
