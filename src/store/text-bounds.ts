/**
 * Texts that begin with `start` are those from it up to, and without, the text that follows all of them. Compared byte by
 * byte on an index, as every engine here does: LIKE takes `_` and `%` for signs, knows no case, and looks at every row.
 * @param start not empty.
 */
export function boundsOfStart(start: string): { readonly from: string; readonly before: string } {
  const letters = [...start];
  const last = letters.pop()!.codePointAt(0)!;
  // No text holds half of a surrogate pair, so the letter after U+D7FF is U+E000.
  const next = last === 0xd7ff ? 0xe000 : last + 1;
  return { from: start, before: letters.join('') + String.fromCodePoint(next) };
}
