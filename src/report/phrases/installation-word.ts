/**
 * What rests on the word of the installation alone: its key signs the audit trail in which it stands, and no key of a person
 * does. docs/security.md says the same of each.
 */
const WORD = {
  roles:
    'who held which role, and who was an administrator: a file carries keys of people, not roles; ledger verify compares them in the folder',
  omissions:
    'that nothing came after the last statement on the lot, such as a hold or a revocation: what came before it is signed with it; ask whoever issued the file for the latest one',
  baseline: 'that no other baseline of the design was approved between the one that a lot names and its first closure',
  'omissions of a paper': 'that nothing is left out: ask whoever issued the file for the latest one',
  'program holds': 'holds that the program places by itself when a document comes in',
  refusals: 'that somebody was refused an act',
  conditions: 'what the program found to hold on the day of a release',
  'verdict changes': 'that rules of another version changed a verdict',
  times:
    'times: those of the clock of the machine, for a signature or an act that lets something go never before an earlier entry or ten minutes before a head that an authority stamped',
  intake:
    'that documents, values and files came in, when, and who brought them: people sign what a statement names, not that they brought it',
  'second place': 'which second place of the anchor was named',
  upkeep: 'backups, restores, checks of the folder and self-checks',
  reads: 'who read what, and what was given out',
  'passkey uses': 'that a passkey was used for an act',
} as const;

type Word = keyof typeof WORD;

const OF_RECORD: readonly Word[] = [
  ...([
    'roles',
    'omissions',
    'baseline',
    'program holds',
    'refusals',
    'conditions',
    'verdict changes',
    'times',
    'intake',
  ] as const),
];
const OF_PAPER: readonly Word[] = ['roles', 'omissions of a paper', 'times', 'intake'];
const OF_TRAIL: readonly Word[] = [
  ...(['program holds', 'refusals', 'conditions', 'verdict changes', 'times', 'intake'] as const),
  ...(['second place', 'upkeep', 'reads', 'passkey uses'] as const),
];

/** One sentence each, for whoever verifies a record of a lot, another paper, or the audit trail in its folder. */
export const INSTALLATION_WORD = {
  head: 'By the word of the installation alone, signed by the key of no person:',
  record: OF_RECORD.map((word) => WORD[word]),
  paper: OF_PAPER.map((word) => WORD[word]),
  trail: OF_TRAIL.map((word) => WORD[word]),
};
