import { HEADS } from './heads.js';
import { PAPER } from './paper.js';

/** Words of the audit trail on paper. */
export const TRAIL_REPORT = {
  number: HEADS.auditTrail,
  title: (demo: boolean) => `${HEADS.auditTrail}${demo ? PAPER.demo : ''}`,
  subject: (origin: string) => `Entries of ${origin}`,
  lead: 'Who did what to what, when and why, with old and new values',
  searchedFor: 'Searched for',
  lines: 'Lines',
  auditTrail: HEADS.auditTrail,
  auditTrailOf: (origin: string, size: number) => `${origin}, ${size} entries`,
  root: 'Root over all entries',
  sha: 'SHA-256 of the lines',
  printed: 'Printed',
  printedOf: (at: string, by: string) => `${at} by ${by}`,
  program: 'Program',
  heading: 'Lines, oldest first',
  caption: 'Numbers are those of the entries. What lies between two of them was not searched for.',
  heads: {
    entry: 'Entry',
    when: 'When',
    who: 'Who',
    act: 'Act on what',
    values: 'Values: old, then new',
    reason: 'Reason',
  },
  empty: 'Nothing in the audit trail is as searched for.',
  everything: 'everything',
  asked: (name: string, value: string | number) => `${name} ${value}`,
  new: (what: string, after: string | null) => `${what}: ${after}`,
  removed: (what: string, before: string) => `${what}: ${before}, removed`,
  changed: (what: string, before: string, after: string) => `${what}: ${before}, then ${after}`,
  more: (values: number) => `and ${values} more values`,
};
