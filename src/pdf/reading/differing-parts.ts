import { type ContentDigests, contentDigests, type PdfPart } from './content-digests.js';
import { PdfObjects } from './pdf-objects.js';

/** A part in which two states of a PDF differ, a page by its number where it stood, an added one where it stands. */
export type DifferingPart = PdfPart | { readonly part: 'page' | 'page missing' | 'page added'; readonly of: string };

/** How two states of one PDF differ. No parts when they show and carry the same, however they are written. */
export interface Differences {
  readonly parts: readonly DifferingPart[];
  readonly pages: { readonly before: number; readonly after: number };
}

/** @throws UnreadablePdf when one of them is no whole PDF. */
export async function differences(before: Uint8Array, after: Uint8Array): Promise<Differences> {
  const [first, second] = [contentDigests(await PdfObjects.read(before)), contentDigests(await PdfObjects.read(after))];
  return {
    parts: [...differingPages(first.pages, second.pages), ...differingParts(first, second)],
    pages: { before: first.pages.length, after: second.pages.length },
  };
}

function differingParts(before: ContentDigests, after: ContentDigests): PdfPart[] {
  const all = new Map<string, PdfPart>();
  const digests = [before, after].map(({ parts }) => {
    const own = new Map<string, string>();
    for (const { digest, ...part } of parts) {
      const key = JSON.stringify([part.part, part.of ?? '']);
      all.set(key, part);
      own.set(key, `${own.get(key) ?? ''} ${digest}`);
    }
    return own;
  });
  const isTold = ([key, { part }]: [string, PdfPart]): boolean => {
    const [was, is] = digests.map((own) => own.get(key));
    // Pages tell of a font that only one of them has.
    return was !== is && (part !== 'fonts' || (was !== undefined && is !== undefined));
  };
  const found = [...all].filter(isTold).map(([, part]) => (part.part === 'fonts' ? { part: part.part } : part));
  return [...new Map(found.map((part) => [JSON.stringify(part), part])).values()];
}

const MOST_COMPARED = 4_000_000;

/** Pages that are in the longest common run of both stayed; of the rest those opposite each other were changed. */
export function differingPages(before: readonly string[], after: readonly string[]): DifferingPart[] {
  const found: DifferingPart[] = [];
  const say = (part: 'page' | 'page missing' | 'page added', index: number) =>
    found.push({ part, of: String(index + 1) });
  let [a, b] = [0, 0];
  for (const [toA, toB] of [...stayed(before, after), [before.length, after.length] as const]) {
    while (a < toA && b < toB) {
      say('page', a++);
      b++;
    }
    while (a < toA) say('page missing', a++);
    while (b < toB) say('page added', b++);
    [a, b] = [toA + 1, toB + 1];
  }
  return found;
}

/** Places of the pages of a longest common run, in both. Files with more pages than can be compared have none. */
function stayed(before: readonly string[], after: readonly string[]): (readonly [number, number])[] {
  if (before.length * after.length > MOST_COMPARED) return [];
  const longest = Array.from({ length: before.length + 1 }, () => new Uint32Array(after.length + 1));
  for (let a = before.length - 1; a >= 0; a--) {
    for (let b = after.length - 1; b >= 0; b--) {
      longest[a]![b] =
        before[a] === after[b] ? longest[a + 1]![b + 1]! + 1 : Math.max(longest[a + 1]![b]!, longest[a]![b + 1]!);
    }
  }
  const pairs: (readonly [number, number])[] = [];
  for (let [a, b] = [0, 0]; a < before.length && b < after.length; ) {
    if (before[a] === after[b]) pairs.push([a++, b++]);
    else if (longest[a + 1]![b]! >= longest[a]![b + 1]!) a++;
    else b++;
  }
  return pairs;
}
