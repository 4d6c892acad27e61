import type { ActingRole, Role } from '../dossier/statement.js';
import { ACCOUNT_EVENTS, type Event, type RecordedEvent } from '../ledger/event.js';
import type { Change } from '../store/repositories.js';

/** A role of somebody else, from the first to the last day named. */
export interface Deputy {
  readonly deputyFor: string;
  readonly role: Role;
  readonly from: string;
  readonly to: string;
}

/** Who somebody is for a provider of sign-ins. */
export interface Elsewhere {
  readonly issuer: string;
  readonly subject: string;
}

/** A one-time link as the store knows it. */
export type Invitation = Omit<Extract<Event, { type: 'invitation-made' }>, 'type' | 'person'>;

/** How an account stands after everything that was recorded of it. Its password is not part of it. */
export interface Account {
  readonly person: string;
  /** The name that signatures print. */
  readonly name: string;
  readonly identityCheckedOn: string | null;
  readonly madeAt: string;
  readonly closedAt: string | null;
  readonly roles: readonly Role[];
  /** Named and not ended, whether or not their days have come. */
  readonly deputies: readonly Deputy[];
  readonly passwordSetAt: string | null;
  /** By whom else they may be let in; null for nobody. */
  readonly elsewhere: Elsewhere | null;
  /** The latest one-time link, until it is used. It may have run out. */
  readonly invitation: Invitation | null;
}

export type AccountsByPerson = ReadonlyMap<string, Account>;

/** Accounts by the code of the person, in the order in which they were made. */
export function accountsFrom(events: readonly RecordedEvent[]): AccountsByPerson {
  const accounts = new Map<string, Account>();
  for (const recorded of events) {
    const { event, at } = recorded;
    if (event.type === 'account-made') accounts.set(event.person, newAccount(event, at));
    else if ('person' in event) {
      const account = accounts.get(event.person);
      if (account) accounts.set(event.person, { ...account, ...changeBy(event, at, account) });
    }
  }
  return accounts;
}

function newAccount(event: Event & { type: 'account-made' }, at: string): Account {
  return {
    person: event.person,
    name: event.name,
    identityCheckedOn: event.identityCheckedOn,
    madeAt: at,
    closedAt: null,
    roles: [],
    deputies: [],
    passwordSetAt: null,
    elsewhere: null,
    invitation: null,
  };
}

function changeBy(event: Event, at: string, account: Account): Partial<Account> {
  const isSame = (one: Deputy) =>
    event.type === 'deputy-ended' && one.deputyFor === event.deputyFor && one.role === event.role;
  switch (event.type) {
    case 'account-closed':
      return { closedAt: at, roles: [], deputies: [], invitation: null, elsewhere: null };
    case 'invitation-made':
      return { invitation: event };
    case 'password-set':
      return { passwordSetAt: at, invitation: null };
    case 'elsewhere-linked':
      return { elsewhere: { issuer: event.issuer, subject: event.subject } };
    case 'elsewhere-unlinked':
      return { elsewhere: null };
    case 'role-given':
      return { roles: [...account.roles, event.role] };
    case 'role-taken':
      return { roles: account.roles.filter((role) => role !== event.role) };
    case 'deputy-named':
      return { deputies: [...account.deputies, deputyOf(event)] };
    case 'deputy-ended':
      return { deputies: account.deputies.filter((one) => !isSame(one)) };
    default:
      return {};
  }
}

function deputyOf({ deputyFor, role, from, to }: Event & { type: 'deputy-named' }): Deputy {
  return { deputyFor, role, from, to };
}

/**
 * Roles in which a person may act on a day (`2031-03-04`). A deputy acts between the days named, and only while the
 * other person holds the role.
 */
export function actingRoles(accounts: AccountsByPerson, person: string, day: string): ActingRole[] {
  const account = accounts.get(person);
  if (!account) return [];
  const own = account.roles.map((role): ActingRole => ({ role, deputyFor: null }));
  const deputised = account.deputies.filter(
    (one) => one.from <= day && day <= one.to && accounts.get(one.deputyFor)?.roles.includes(one.role) === true,
  );
  return [...own, ...deputised.map(({ role, deputyFor }) => ({ role, deputyFor }))];
}

/** What a person proves their password by, and the key that it unlocks. */
export type OwnPassword = Pick<Extract<Event, { type: 'password-set' }>, 'lock' | 'wrapped'>;

/** Undefined without a password, and after the account was closed. */
export function passwordOf(events: readonly RecordedEvent[], person: string): OwnPassword | undefined {
  let own: OwnPassword | undefined;
  for (const { event } of events) {
    if (event.type === 'password-set' && event.person === person) own = event;
    if (event.type === 'account-closed' && event.person === person) own = undefined;
  }
  return own;
}

/** Who is named in the audit trail when a person acts. */
export const personActor = (person: string): string => `person:${person}`;

/** The same for a person who acts by a command: beside them stands the account of the machine under which it ran. */
export const personActorThrough = (person: string, systemActor: string): string =>
  `${personActor(person)} through ${systemActor}`;

/** Accounts as a change sees them, where nobody else writes. */
export const accountsIn = async (change: Change): Promise<AccountsByPerson> =>
  accountsFrom(await change.events.ofTypes(ACCOUNT_EVENTS));
