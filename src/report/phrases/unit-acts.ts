import { capital } from './capital.js';
import { kindText } from './kinds.js';

/** Words of each act on units of a lot, by the last part of its address. */
export const UNIT_ACT_WORDS = {
  hold: {
    title: 'Place a hold',
    lead: 'Units on hold cannot be released until a quality engineer lifts the hold. What was decided stays on record.',
  },
  'lift-hold': { title: 'Lift a hold', lead: 'The units go on from where they stood.' },
  revoke: {
    title: 'Revoke a release',
    lead: 'A release is never erased: it stays on record with the revocation beside it. Units that have left need a recall.',
  },
};

/** Of the page on which a document is withdrawn. */
export const WITHDRAWAL = {
  title: 'Withdraw a document for cause',
  lead: (kind: string, key: string, revision: string) =>
    `${capital(kindText(kind))} ${key} revision ${revision}: from now on no unit that rests on it can be released without a decision of a process and a quality engineer. It stays on record.`,
  already: (reason: string) => `it is withdrawn already: ${reason}`,
};
