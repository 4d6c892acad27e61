import type { Statement as Signed } from '../../../dossier/statement.js';
import { timeText } from '../../../dossier/time-text.js';
import { verdictText } from '../codes.js';
import { DECISION, type LiesOver } from '../decision.js';
import { signedAsText } from '../release-steps.js';

interface Unit {
  readonly serial: string;
  readonly verdict: string;
  readonly now?: string;
  readonly decision: (Pick<Signed, 'meaning' | 'step' | 'at'> & { readonly by: string }) | null;
  readonly over: readonly LiesOver[];
}

interface RecordState {
  readonly number: string;
  readonly revision: number;
  readonly draft: boolean;
  readonly final: boolean;
}

interface Statement {
  readonly number: number;
  readonly family: string;
  readonly characteristic: string;
  readonly draft: boolean;
}

/** What the command that verifies a record prints around what its steps found. */
export const VERIFY_LINES = {
  noStatement: (file: string) => `${file} is JSON, but no capability statement of this program`,
  statement: ({ number, family, characteristic, draft }: Statement) =>
    `Capability statement ${number}, ${characteristic} of family ${family}: ${draft ? 'DRAFT, not reviewed' : 'reviewed'}`,
  record: ({ number, revision, draft, final }: RecordState) =>
    `Record ${number}, revision ${revision}: ${draft ? 'DRAFT, no implant is decided' : final ? 'final' : 'NOT FINAL'}`,
  paper: ({ number, entries }: { readonly number: string; readonly entries: number }) =>
    `${number}: an answer as of entry ${entries} of the audit trail`,
  unit: ({ serial, verdict, now, decision, over }: Unit) => {
    const decided = decision ? `${signedAsText(decision)} by ${decision.by}, ${timeText(decision.at)}` : DECISION.open;
    const assessed = `${verdictText(verdict)}${now === undefined ? '' : `; this version: ${verdictText(now)}`}`;
    return `  ${serial}: ${[...over.map((one) => DECISION[one]), decided].join('; ')} (${assessed})`;
  },
};

const NOT_THE_SAME = 'That is not the same as true, complete or released.';

/** The answer in words, by its code. */
export const VERIFY_ANSWERS = {
  'as issued': `As issued, by the key you trust. ${NOT_THE_SAME}`,
  'issuer not compared': `The issuer was not compared: give the fingerprint that you trust by --key. The file agrees with itself, as far as it can show. ${NOT_THE_SAME}`,
  'another issuer': 'OF ANOTHER ISSUER: not signed by the key you gave. The file agrees with itself.',
  'saved again':
    'SAVED AGAIN by another program: the bytes are not those that were issued, the content is the same. Ask for the file as issued.',
  altered: 'ALTERED: do not rely on this file.',
  'another version':
    'Nothing was found altered, but it claims to be of another version of the program: this one assesses differently, or cannot compare all of it. What was not compared stands below.',
  'no record': 'NOT A RECORD of this program: there is nothing to verify.',
};

/** @param draft of a draft nobody signed a head, so that there may be no key to compare. */
export function answerText(answer: keyof typeof VERIFY_ANSWERS, draft: boolean): string {
  return `${VERIFY_ANSWERS[answer]}${draft && answer === 'issuer not compared' ? ' It is a DRAFT.' : ''}`;
}

/** How a step stands. */
export const VERIFY_OUTCOMES = {
  holds: 'holds',
  'does not hold': 'does not hold',
  differs: 'differs',
  'not known': 'not known',
  'not checked': 'not checked',
};
