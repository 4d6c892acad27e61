import { type CodedBy, codedText } from './coded.js';
import { roleText } from './codes.js';

interface NamedDeputy {
  readonly name: string;
  readonly of: string;
  readonly role: string;
}

/** Why an account may not be changed so, by code. The rules: `src/people/accounts.ts` and `role-rules.ts`. */
export const ACCOUNT_OBJECTIONS = {
  'identifier given': ({ person, name }: { person: string; name: string }) =>
    `the identifier ${person} belongs to ${name}; an identifier is never given to anybody else`,
  'identity not checked': () => 'nobody has checked who this is; name the day on which it was done',
  'identity checked in future': ({ day }: { day: string }) =>
    `identity cannot have been checked on ${day}, a day to come`,
  'link for oneself': () => 'nobody makes a link for themselves; change the password on your own page',
  'vouches for oneself': () => 'nobody vouches for themselves; ask somebody else',
  'vouches twice': () => 'two different people are needed',
  'needs more people': () =>
    'this person has a key already, and the link makes another in its place: two other people vouch for that, each with their password',
  'role for oneself': () => 'nobody gives a role to themselves; ask another administrator',
  'not in role': ({ name, role }: { name: string; role: string }) => `${name} is not ${roleText(role)}`,
  'no account': ({ person }: { person: string }) => `there is no account ${person}`,
  'deputy by oneself': () => 'nobody names themselves deputy; ask another administrator',
  'deputy of oneself': () => 'nobody is deputy of themselves',
  'ends before it begins': ({ from, to }: { from: string; to: string }) =>
    `the last day, ${to}, lies before the first, ${from}`,
  'last day passed': ({ to }: { to: string }) => `the last day, ${to}, has passed; a deputy is not named afterwards`,
  'first day passed': ({ from }: { from: string }) =>
    `the first day, ${from}, has passed; a deputy is not named afterwards`,
  'deputy already': ({ name, of, role }: NamedDeputy) =>
    `${name} is deputy of ${of} as ${roleText(role)} already; end that first`,
  'no deputy': ({ name, of, role }: NamedDeputy) => `${name} is no deputy of ${of} as ${roleText(role)}`,
  closed: ({ person }: { person: string }) => `the account ${person} is closed for good`,
  'linked already': ({ name }: { name: string }) =>
    `${name} is linked with a sign-in elsewhere already; end that first`,
  'subject of another': ({ name }: { name: string }) => `that sign-in is linked with the account of ${name}`,
  'not linked': ({ name }: { name: string }) => `${name} is linked with no sign-in elsewhere`,
  'last administrator': () => 'this is the last administrator who can sign in; make another one first',
  'role held': ({ role }: { role: string }) => `this person is ${roleText(role)} already`,
  'auditor and other': () => 'an auditor reads everything and changes nothing, so the role goes with no other',
  'administrator and quality': ({ role }: { role: string }) =>
    `an administrator gives no quality approval, so the role does not go with ${roleText(role)}`,
  'role without deputy': ({ role }: { role: string }) =>
    `the role of ${roleText(role)} has no deputy; give it to a second person`,
};

export type AccountObjection = CodedBy<typeof ACCOUNT_OBJECTIONS>;

export const accountObjectionText = (objection: AccountObjection): string => codedText(ACCOUNT_OBJECTIONS, objection);
