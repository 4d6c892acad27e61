/** A word of a page with its box in points, as pdftotext finds it. */
export interface WordBox {
  readonly page: number;
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
  readonly word: string;
}

/** Words of `pdftotext -bbox`. */
export function wordBoxes(xml: string): WordBox[] {
  return xml.split('<page ').flatMap((part, page) =>
    [...part.matchAll(/<word xMin="(.*?)" yMin="(.*?)" xMax="(.*?)" yMax="(.*?)">(.*?)<\/word>/g)].map((match) => {
      const [left, top, right, bottom] = match.slice(1, 5).map(Number) as [number, number, number, number];
      return { page, left, top, right, bottom, word: match[5]! };
    }),
  );
}

/** Boxes reach from ascent to descent, which is more than the letters: a fifth of it at each end is air. */
export function overlaps(words: readonly WordBox[]): string[] {
  const found: string[] = [];
  words.forEach((a, index) => {
    // By index: copies of all that follows took half of the time with ten thousand rows.
    for (let next = index + 1; words[next]?.page === a.page; next += 1) {
      const b = words[next]!;
      const air = Math.min(a.bottom - a.top, b.bottom - b.top) * 0.45;
      const across = Math.min(a.right, b.right) - Math.max(a.left, b.left) > 0.7;
      const along = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > air;
      if (across && along) found.push(`page ${a.page}: "${a.word}" and "${b.word}"`);
    }
  });
  return found;
}

/** Words that leave the margins of a record's page. */
export const outsideMargins = (words: readonly WordBox[]): WordBox[] =>
  words.filter((word) => word.left < 53 || word.right > 542.5 || word.top < 30 || word.bottom > 825);
