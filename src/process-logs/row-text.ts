const NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?$/;
const SPACE = 32;
const DELETE = 127;

/** True for a decimal with a point, with or without exponent: not `1,5`, `0x10`, `1_000`, `Infinity` or ` 1.5`. */
export function isNumberText(text: string): boolean {
  return NUMBER.test(text);
}

/** A layer is a whole number without sign. @returns undefined for anything else. */
export function readLayer(text: string, longest: number): number | undefined {
  return text.length <= longest && /^\d+$/.test(text) ? Number(text) : undefined;
}

export function hasControlCharacter(text: string): boolean {
  for (let index = 0; index < text.length; index += 1) {
    const code = text.charCodeAt(index);
    if (code < SPACE || code === DELETE) return true;
  }
  return false;
}
