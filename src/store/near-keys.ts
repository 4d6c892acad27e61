import { editDistance } from '../base/edit-distance.js';

interface Keyed {
  readonly kind: string;
  readonly key: string;
}

/** Letters that may differ. */
const FARTHEST = 2;
/** More than anybody looks through. */
const MOST = 8;

/** Those of which the key is spelt nearly as a text, or contains it, the nearest first. */
export function nearest(text: string, entries: readonly Keyed[]): Keyed[] {
  const asked = text.toLowerCase();
  return entries
    .map((entry) => {
      const key = entry.key.toLowerCase();
      const isPart = asked.length > FARTHEST && key.includes(asked);
      return { entry, far: isPart ? Math.min(FARTHEST, key.length - asked.length) : editDistance(key, asked) };
    })
    .filter(({ far }) => far <= Math.min(FARTHEST, Math.floor(asked.length / 2)))
    .sort((a, b) => a.far - b.far)
    .slice(0, MOST)
    .map(({ entry: { kind, key } }) => ({ kind, key }));
}
