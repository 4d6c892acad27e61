/** Bytes of one file, and of all together: whatever is more is named by its digest alone, so that the file can still be sent. */
const MOST_CARRIED = { ofOne: 4 * 2 ** 20, ofAll: 16 * 2 ** 20 } as const;

interface Sized {
  readonly sha256: string;
  readonly bytes: number;
}

/** The order in which files are carried. */
export const smallestFirst = (a: Sized, b: Sized): number => a.bytes - b.bytes || (a.sha256 < b.sha256 ? -1 : 1);

/** Which of files that nothing else keeps out are too large: taken the smallest first, each by itself and all together. */
export function tooLarge(files: readonly Sized[]): ReadonlySet<string> {
  const once = [...new Map(files.map((one) => [one.sha256, one])).values()].sort(smallestFirst);
  const left = new Set<string>();
  let sum = 0;
  for (const { sha256, bytes } of once) {
    if (bytes > MOST_CARRIED.ofOne || sum + bytes > MOST_CARRIED.ofAll) left.add(sha256);
    else sum += bytes;
  }
  return left;
}
