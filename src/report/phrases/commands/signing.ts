import { ABSENT } from '../absent.js';
import { meaningText, roleText } from '../codes.js';
import { reviewKindText } from '../review-items.js';

/** What the commands on signatures print around the facts. */
export const SIGNING_LINES = {
  nothingWaits: 'Nothing waits.',
  waits: (meaning: string, title: string, where: string) => `${meaningText(meaning)}: ${title}${where}`,
  ofLot: (lot: string, neededBy: string | null) => ` (lot ${lot}, needed by ${neededBy ?? ABSENT.nobody})`,
  who: (codes: readonly string[]) =>
    `may sign: ${codes.join(', ') || 'nobody, which is a deadlock: see the page Authority'}`,
  signs: (meaning: string, title: string) => `${meaningText(meaning)}: ${title}`,
  shown: (name: string, value: string) => `${name}: ${value}`,
  change: (change: string) => `since it was signed last: ${change}`,
  mayNot: (why: string) => `you may not sign this: ${why}`,
  review: (kind: string, says: string, by: string, at: string) => `${reviewKindText(kind)}: ${says}, by ${by} at ${at}`,
  seen: (seen: string) => `seen: ${seen}`,
  signed: (meaning: string, name: string, role: string, at: string, digest: string) =>
    `${meaningText(meaning)} by ${name} (${roleText(role)}) at ${at}, statement ${digest}`,
  looked: (lot: string, entries: readonly number[]) => `Lot ${lot}: looked at entries ${entries.join(', ')}.`,
};
