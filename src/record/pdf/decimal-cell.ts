import type { Text } from './text-layout.js';

export interface DecimalParts {
  /** Up to the decimal point, with sign and censoring: `<0`, `−12`. */
  readonly whole: string;
  /** From the decimal point on, empty for a whole number. */
  readonly fraction: string;
}

const NUMBER = /^([<>≤≥±]?\s?[+\-−]?\d[\d ]*)((?:\.\d+)?(?:[eE][+-]?\d+)?)$/;

/** The parts of a plain number as it was reported; nothing for any other text, which is set as text. */
export function decimalParts(cell: Text): DecimalParts | undefined {
  if (typeof cell !== 'string') return undefined;
  const match = NUMBER.exec(cell);
  return match ? { whole: match[1]!, fraction: match[2]! } : undefined;
}
