import { timeText } from '../../dossier/time-text.js';

/** What is said of tokens with which programs take documents in. */
export const INTAKE_TOKENS = {
  title: 'Programs that take documents in for you',
  shownTitle: (name: string) => `Token ${name}`,
  lead: 'A program of a machine or of a laboratory sends documents to POST /api/v1/intake with a token. What comes in stands in the audit trail under your name and that of the token. It opens nothing else: no page, no other question, and no signature. A new password of yours ends it.',
  name: 'Name',
  nameHint: 'What it is for, such as melt-monitor. Letters, digits, dot, dash, underscore; at most 40.',
  days: 'Days',
  daysHint: (most: number) => `After so many it runs out, at most ${most}.`,
  none: 'You have none.',
  made: (at: string) => timeText(at),
  runsOut: (at: string) => timeText(at),
  lost: 'It was shown once and is kept nowhere. Is it lost? Then end it and make another.',
  inForce: 'in force among yours',
  through: (name: string) => `token ${name}`,
  nameTaken: (name: string) => `you have a token ${name} already; end it first, or choose another name`,
  tooMany: (most: number) => `a person has at most ${most} tokens; end one first`,
  unknown: 'this token is unknown or was ended, as by a new password; make another on the page of your account',
  ranOut: (name: string, at: string) =>
    `the token ${name} ran out at ${timeText(at)}; make another on the page of your account`,
  notHere: 'a token takes documents in, by POST /api/v1/intake, and does nothing else',
  badHeader: 'this is no token: send Authorization: Bearer and the token, as it was shown',
};
