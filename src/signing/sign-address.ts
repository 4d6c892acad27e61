import type { Meaning } from '../dossier/statement.js';
import { type Thing, thingText } from './thing.js';

/** Characters of an address at most: browsers and servers take in no more of it for sure. */
const LONGEST = 4000;

/** Things of one act at most. */
export const MOST_THINGS = 500;

/** The page on which some things are signed together. */
export interface SignAddress {
  readonly things: readonly string[];
  readonly href: string;
}

/** Addresses of the page on which things are signed, as few as there can be: more than one where one would be too long. */
export function signAddresses(things: readonly string[], meaning: Meaning): SignAddress[] {
  const found: SignAddress[] = [];
  const start = `/sign?meaning=${meaning}`;
  for (const thing of things) {
    const last = found.at(-1);
    const part = `&thing=${encodeURIComponent(thing)}`;
    if (last && last.href.length + part.length <= LONGEST && last.things.length < MOST_THINGS) {
      found[found.length - 1] = { things: [...last.things, thing], href: last.href + part };
    } else found.push({ things: [thing], href: start + part });
  }
  return found;
}

/** The page on which these things are signed in one act; undefined where they are too many for an address. */
export function signAddress(things: readonly Thing[], meaning: Meaning): string | undefined {
  const [one, ...more] = signAddresses(things.map(thingText), meaning);
  return more.length === 0 ? one?.href : undefined;
}
