import { timeText } from '../../dossier/time-text.js';
import type { Event } from '../../ledger/event.js';
import type { PersonKey } from '../../ledger/person-keys.js';
import { ABSENT } from './absent.js';
import { actNameText } from './acts.js';
import { meaningText, roleText } from './codes.js';

/** What is said of accounts, their deputies and trainings. */
export const ACCOUNTS = {
  closedSince: (at: string) => `closed since ${timeText(at)}`,
  noPassword: (link: string) => `no password yet; ${link}`,
  noLink: 'no link is open',
  open: 'open',
  openWith: (link: string) => `open; ${link}`,
  linkOpen: (until: string) => `one-time link open until ${timeText(until)}`,
  linkRanOut: (until: string) => `one-time link ran out ${timeText(until)}`,
  deputy: (role: string, of: string, name: string) => `${roleText(role)} for ${of} (${name})`,
  deputyOf: (name: string, person: string, role: string, from: string, to: string) =>
    `${name} (${person}) as ${roleText(role)}, ${from} to ${to}`,
  unknownName: 'unknown',
  span: (from: string, to: string) => `${from} to ${to}`,
  over: 'over',
  toCome: 'to come',
  actsNow: 'acts now',
  isNoMore: (person: string, role: string) => `${person} is not ${roleText(role)} any more`,
  openEnd: 'open end',
  signed: (meaning: string, name: string, role: string, at: string) =>
    `${meaningText(meaning)} by ${name}, ${roleText(role)}, ${timeText(at)}`,
  noFailures: ABSENT.none,
  failures: (ever: number, last: string) => `${ever}, last ${timeText(last)}`,
  recovered: (person: string, by: string, at: string, reason: string) =>
    `At the machine ${by} made a new link for the administrator ${person}, ${timeText(at)}: ${reason}`,
  heldBack: (until: string) => `; held back until ${timeText(until)}`,
};

type PersonKeyMade = Pick<PersonKey, 'fingerprint' | 'replaces' | 'endorsements'>;

/** `MH vouches for it`; of a recovered key which one it replaces. */
export function vouchedText({ replaces, endorsements }: Omit<PersonKeyMade, 'fingerprint'>): string {
  const people = endorsements.map(({ person }) => person);
  if (replaces !== null)
    return `${people.join(' and ') || 'nobody else'}: recovered, in the place of ${replaces.slice(0, 12)}`;
  return people.length === 0 ? 'the installation, since this is the first administrator' : people.join(' and ');
}

/** An event in the history of an account. Nothing of a password is among its words. */
export function accountEventText(event: Event): string {
  switch (event.type) {
    case 'account-made':
      return `account made for ${event.name}; identity ${event.identityCheckedOn === null ? 'not checked: first administrator' : `checked on ${event.identityCheckedOn}`}`;
    case 'account-closed':
      return 'account closed';
    case 'invitation-made':
      return `one-time link made${event.atMachine ? ' at the machine, for an administrator who could not sign in' : ''}, open until ${timeText(event.expiresAt)}${event.replaces === null ? '' : `; it makes a new key in the place of a lost one, for which ${event.endorsements.map(({ person }) => person).join(' and ') || 'nobody else'} vouched`}`;
    case 'password-set':
      return event.invitation === null ? 'password changed' : 'password set by one-time link';
    case 'person-key-made':
      return `key ${event.fingerprint.slice(0, 12)} made, vouched for by ${vouchedText(event)}`;
    case 'passkey-made':
      return `passkey “${event.label}” made for ${event.host}, vouched for by the key of its person`;
    case 'passkey-ended':
      return `passkey ${event.credential.slice(0, 12)} taken away by its person`;
    case 'intake-token-made':
      return `token ${event.name} made, with which a program takes documents in until ${timeText(event.expiresAt)}`;
    case 'intake-token-ended':
      return `token ${event.name} ended`;
    case 'role-given':
      return `role given: ${roleText(event.role)}`;
    case 'role-taken':
      return `role taken: ${roleText(event.role)}`;
    case 'deputy-named':
      return `named deputy of ${event.deputyFor} as ${roleText(event.role)}, ${event.from} to ${event.to}`;
    case 'deputy-ended':
      return `deputy of ${event.deputyFor} as ${roleText(event.role)} ended`;
    case 'elsewhere-linked':
      return `signs in as “${event.subject}” of ${event.issuer} too`;
    case 'elsewhere-unlinked':
      return `signs in as “${event.subject}” of ${event.issuer} no more`;
    case 'act-refused':
      return `refused to ${event.person}: ${actNameText(event.act)}; ${event.why}`;
    default:
      return event.type;
  }
}
