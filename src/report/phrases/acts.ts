import { textBy } from './coded.js';
import { roleText } from './codes.js';

/** What each act of the table of authority is called, behind "to" or by itself; the table names acts by these codes. */
export const ACT_WORDS = {
  'sign a document as its author': 'sign a document as its author',
  'approve a document': 'approve a document',
  'approve a legal route': 'approve a legal route',
  'sign a statement': 'sign a statement',
  'review a capability statement': 'review a capability statement',
  'approve a qualification': 'approve a qualification',
  'check a certificate': 'check a certificate',
  'check an acceptance': 'check an acceptance',
  'accept or reject a receipt': 'accept or reject a receipt',
  'accept a stock part': 'accept a stock part',
  'accept a load': 'accept a load',
  'sign results as performed': 'sign results as performed',
  'check typed values': 'check typed values',
  'decide a finding': 'decide a finding',
  'decide a disposition': 'decide a disposition',
  'decide an impact': 'decide an impact',
  'decide a build at risk': 'decide a build at risk',
  'close a nonconformity': 'close a nonconformity',
  'close a corrective action': 'close a corrective action, once its effect was shown',
  'close a recall': 'close a recall',
  'review a lot': 'review a lot',
  'release units for sterilisation': 'release units for sterilisation',
  'release units for distribution': 'release units for distribution',
  'reject units': 'reject units',
  'take documents in': 'take documents in',
  'place a hold': 'place a hold',
  'lift a hold': 'lift a hold',
  'place a legal hold': 'place a legal hold',
  'lift a legal hold': 'lift a legal hold',
  'withdraw a document for cause': 'withdraw a document for cause',
  'revoke a release': 'revoke a release',
  'look at changed verdicts': 'look at changed verdicts',
  'remove the bytes of evidence': 'remove the bytes of an evidence file',
  'manage accounts, roles and deputies': 'manage accounts, roles and deputies',
};
export type ActName = keyof typeof ACT_WORDS;

/** Acts on accounts, as refusals name them. */
export const ACCOUNT_ACT_WORDS = {
  'make account': 'make an account',
  'make one-time link': 'make a one-time link',
  'close account': 'close an account',
  'link sign-in': 'link a sign-in elsewhere',
  'unlink sign-in': 'end a sign-in elsewhere',
  'use a passkey': 'use a passkey',
};

/** The same of acts that name a role behind them. */
export const ROLE_ACT_WORDS = {
  'give role': (role: string) => `give the role ${role}`,
  'take role': (role: string) => `take the role ${role} away`,
  'name deputy as': (role: string) => `name a deputy as ${role}`,
  'end deputy as': (role: string) => `end a deputy as ${role}`,
};

/** What is recorded of an act on an account that was refused. */
export type AccountActName = keyof typeof ACCOUNT_ACT_WORDS | `${keyof typeof ROLE_ACT_WORDS} ${string}`;

const authorityAct = textBy(ACT_WORDS);
const accountAct = textBy(ACCOUNT_ACT_WORDS);

/** `release units`; what an act is called, of whatever table. */
export function actNameText(act: string): string {
  const ofRole = Object.entries(ROLE_ACT_WORDS).find(([name]) => act.startsWith(`${name} `));
  if (ofRole) return ofRole[1](roleText(act.slice(ofRole[0].length + 1)));
  return Object.hasOwn(ACT_WORDS, act) ? authorityAct(act) : accountAct(act);
}
