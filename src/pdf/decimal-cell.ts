import type { Text } from './text-layout.js';

export interface DecimalParts {
  /** Up to the decimal point, with sign and censoring: `<0`, `−12`. */
  readonly whole: string;
  /** From the decimal point on, empty for a whole number. */
  readonly fraction: string;
}

const NUMBER = /^([<>≤≥±]?\s?[+\-−]?\d[\d ]*)((?:\.\d+)?(?:[eE][+-]?\d+)?)$/;

/** The parts of a plain number as it was reported, link or not; nothing for any other text, which is set as text. */
export function decimalParts(cell: Text): DecimalParts | undefined {
  const plain = plainText(cell);
  const match = plain === undefined ? null : NUMBER.exec(plain);
  return match ? { whole: match[1]!, fraction: match[2]! } : undefined;
}

/** The text of a cell that is set in one face. */
function plainText(cell: Text): string | undefined {
  if (typeof cell === 'string') return cell;
  const [only, ...more] = cell;
  if (only === undefined || more.length > 0) return undefined;
  if (typeof only === 'string') return only;
  return only.style === undefined ? only.text : undefined;
}
