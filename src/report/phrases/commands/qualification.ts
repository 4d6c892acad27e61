import { verdictText } from '../codes.js';

const LOTS = { toClose: 'to close', earlier: 'earlier', story: 'what may go wrong after a build' };

/** What the command that plays the invented scenario prints around the facts. */
export const DEMO_LINES = {
  playing: (folder: string) => `Playing an invented scenario into ${folder}. Everything in it is fictional.`,
  lot: (lot: string, what: keyof typeof LOTS, counts: string) => `Lot ${lot} (${LOTS[what]}): ${counts}`,
  unit: (serial: string, verdict: string) => `  ${serial}: ${verdictText(verdict)}`,
  why: (says: string) => `    ${says}`,
  record: (number: string, file: string) => `  record ${number}: ${file}`,
  people: (file: string) => `People and their passwords, for you alone: ${file}`,
  /** First line of the file of people. */
  ofPeople: 'Invented people of this demo, with the passwords that were drawn for them.',
  lookAround: 'Look around:',
  commands: (folder: string, record: string, family: string) => [
    `  npx lotwright --data ${folder} serve                          pages on this machine`,
    `  npx lotwright --data ${folder} status`,
    `  npx lotwright --data ${folder} trace H7731                   everything made with this heat`,
    `  npx lotwright --data ${folder} trend rm --family ${family}`,
    `  npx lotwright verify ${record}`,
  ],
};

/** Of the command that tries the installed program on this machine. */
export const SELF_CHECK_LINES = {
  program: (program: string, node: string, system: string) => `${program} on Node ${node}, ${system}`,
  held: (group: string, name: string) => `  holds   ${group}: ${name}`,
  failed: (group: string, name: string, expected: string, found: string) =>
    `  FAILED  ${group}: ${name}: expected ${expected}, found ${found}`,
  report: (passed: boolean, sha256: string) =>
    `${passed ? 'Everything holds' : 'NOT everything holds'}. Report ${sha256}.`,
  acceptance: (says: string) => `Acceptance: ${says}.`,
};
