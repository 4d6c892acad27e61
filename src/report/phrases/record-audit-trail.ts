import { ABSENT } from './absent.js';

/** Words of the section "audit trail" of the lot record. */
export const AUDIT_TRAIL = {
  lotFileAsOf: 'Lot file as of',
  asOf: (ledgerEntry: number, at: string) => `entry ${ledgerEntry}, ${at}`,
  auditTrailWhenPrinted: 'Audit trail when printed',
  sizeAndRoot: (size: number) => `${size} entries, root `,
  signedHead: 'Signed head',
  witnessed: 'Head that a witness keeps',
  left: (by: string, at: string, size: number) =>
    `${size} entries, left in ${by}, ${at}; the audit trail only grew since. Root `,
  stamped: (by: string, at: string, size: number) =>
    `${size} entries, stamped by ${by}, ${at} (RFC 3161); the audit trail only grew since. Root `,
  entries: 'Entries that this record rests on, each with its proof in enclosure.json',
  statementsAt: (entries: number) =>
    `${entries} further entries are of signed statements: each stands beside its statement on the `,
  signaturePage: 'signature page',
  entry: 'Entry',
  when: 'When',
  by: 'By',
  what: 'What',
  noProof: 'No proof is carried.',
  earlier: 'Earlier records of this lot: each stands in an audit trail that only grew since',
  record: 'Record',
  revision: 'Revision',
  entriesThen: 'Entries then',
  rootThen: 'Root then',
  none: ABSENT.noneSentence,
  changes: 'What this revision changes',
  supersedes: (number: string, revision: number) => `It supersedes ${number} revision ${revision}, enclosure `,
  noFactChanged: 'No fact changed.',
  first: 'It is the first of its number.',
  noHead: 'none: this copy carries no signed head',
};
