export interface NumberParts {
  /** Up to the decimal point, with sign and censoring: `<0`, `−12`. */
  readonly whole: string;
  /** From the decimal point on, empty for a whole number. */
  readonly fraction: string;
}

const NUMBER = /^([<>≤≥±]?\s?[+\-−]?\d[\d ]*)((?:\.\d+)?(?:[eE][+-]?\d+)?)$/;

/** The parts of a number as it was reported, by which a column sets points below each other; nothing for other text. */
export function numberParts(text: string): NumberParts | undefined {
  const match = NUMBER.exec(text);
  return match ? { whole: match[1]!, fraction: match[2]! } : undefined;
}
