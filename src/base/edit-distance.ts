/** Letters that have to be put in, taken out or changed, at least, to make one text of the other. */
export function editDistance(a: string, b: string): number {
  let before = Array.from({ length: b.length + 1 }, (_, index) => index);
  for (let row = 1; row <= a.length; row++) {
    const now = [row];
    for (let column = 1; column <= b.length; column++) {
      const change = before[column - 1]! + (a[row - 1] === b[column - 1] ? 0 : 1);
      now.push(Math.min(change, before[column]! + 1, now[column - 1]! + 1));
    }
    before = now;
  }
  return before[b.length]!;
}
