import type { Statement } from '../../../dossier/statement.js';
import { ABSENT } from '../absent.js';
import { roleText, verdictText } from '../codes.js';
import { signedAsText } from '../release-steps.js';
import { reviewKindText } from '../review-items.js';

type Act = Pick<Statement, 'meaning' | 'step'>;

/** What the commands on signatures print around the facts. */
export const SIGNING_LINES = {
  nothingWaits: 'Nothing waits.',
  waits: (act: Act, title: string, where: string) => `${signedAsText(act)}: ${title}${where}`,
  ofLot: (lot: string, neededBy: string | null) => ` (lot ${lot}, needed by ${neededBy ?? ABSENT.nobody})`,
  who: (codes: readonly string[]) =>
    `may sign: ${codes.join(', ') || 'nobody, which is a deadlock: see the page Authority'}`,
  signs: (act: Act, title: string) => `${signedAsText(act)}: ${title}`,
  unit: (serial: string, verdict: string, mayNot: string | null) =>
    `${serial}: ${verdictText(verdict)}${mayNot === null ? '' : `; ${mayNot}`}`,
  shown: (name: string, value: string) => `${name}: ${value}`,
  change: (change: string) => `since it was signed last: ${change}`,
  mayNot: (why: string) => `you may not sign this: ${why}`,
  exception: (says: string) => `exception: ${says}`,
  review: (kind: string, says: string, by: string, at: string) => `${reviewKindText(kind)}: ${says}, by ${by} at ${at}`,
  seen: (seen: string) => `seen: ${seen}`,
  signed: (act: Act, name: string, role: string, at: string, digest: string) =>
    `${signedAsText(act)} by ${name} (${roleText(role)}) at ${at}, statement ${digest}`,
  looked: (lot: string, entries: readonly number[]) => `Lot ${lot}: looked at entries ${entries.join(', ')}.`,
};
