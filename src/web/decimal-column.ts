import { numberParts } from '../base/reported-number.js';

const FIGURE_SPACE = '\u2007';
const PUNCTUATION_SPACE = '\u2008';

export interface AlignedCell {
  readonly text: string;
  /** Blanks as wide as the digits that are missing on the right, so that points stand below each other. */
  readonly pad: string;
}

/** Cells of a column of numbers that is set flush right. Text that is no number gets no blanks. */
export function alignDecimals(cells: readonly string[]): AlignedCell[] {
  const fractions = cells.map((text) => numberParts(text)?.fraction);
  const longest = Math.max(0, ...fractions.map((fraction) => fraction?.length ?? 0));
  return cells.map((text, index) => {
    const fraction = fractions[index];
    if (fraction === undefined || fraction.length === longest) return { text, pad: '' };
    const point = fraction === '' ? PUNCTUATION_SPACE : '';
    return { text, pad: point + FIGURE_SPACE.repeat(longest - fraction.length - point.length) };
  });
}
