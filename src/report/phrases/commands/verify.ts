import { verdictText } from '../codes.js';

/** What the command that verifies a record prints around what its steps found. */
export const VERIFY_LINES = {
  record: (number: string, revision: number) => `Record ${number}, revision ${revision}`,
  unit: (serial: string, verdict: string, now: string | undefined) =>
    `  ${serial}: ${verdictText(verdict)}${now === undefined ? '' : `; this version: ${verdictText(now)}`}`,
};

/** What comes of all steps, by verdict. */
export const VERIFY_VERDICTS = {
  unaltered: 'Unaltered, as far as the file can show. That is not the same as true, complete or released.',
  altered: 'ALTERED: do not rely on this file.',
  'of a later version':
    'Nothing was found altered, but a later version made it, and not all of it could be checked: verify it with that one.',
  'assesses differently': 'Unaltered, but this version of the program assesses differently: both are shown above.',
};

/** How a step stands. */
export const VERIFY_OUTCOMES = {
  holds: 'holds',
  'does not hold': 'does not hold',
  differs: 'differs',
  'not known': 'not known',
  'not checked': 'not checked',
};
