import { Inject, Injectable, Optional } from '@nestjs/common';
import { type Clock, localDay, MACHINE_CLOCK, stamp, systemClock } from '../base/clock.js';
import { AppError, NotFoundError } from '../base/errors.js';
import { sha256Hex } from '../dossier/canonical.js';
import type { ActingRole, Role } from '../dossier/statement.js';
import { Code, Text } from '../kinds/fields.js';
import type { Event } from '../ledger/event.js';
import { type AccountObjection, accountObjectionText } from '../report/phrases/account-objections.js';
import { denialText } from '../report/phrases/authority.js';
import type { Change } from '../store/repositories.js';
import { Store } from '../store/store.js';
import {
  ACCOUNT_EVENTS,
  type Account,
  type AccountsByPerson,
  accountsFrom,
  actingRoles,
  personActor,
} from './account-state.js';
import { type Authority, actNamed, authorityFor } from './authority.js';
import { clearAttempts } from './lockout.js';
import { FIRST_LINK_HOURS, INVITATION_HOURS, makeLink, type OneTimeLink } from './one-time-link.js';
import { checkPassword, hashPassword } from './passwords.js';
import { Proof } from './proof.js';
import { deputyConflict, roleConflict } from './role-rules.js';

/** An account with the roles in which its person acts on the day that was asked about. */
export interface AccountOnDay {
  readonly account: Account;
  readonly acting: readonly ActingRole[];
}

export interface NewAccount {
  readonly person: string;
  readonly name: string;
  /** Day on which somebody looked at who this is (21 CFR 11.100(b)). */
  readonly identityCheckedOn: string | null;
}

export interface NewDeputy {
  readonly person: string;
  readonly deputyFor: string;
  readonly role: Role;
  readonly from: string;
  readonly to: string;
}

const MANAGE_ACCOUNTS = actNamed('manage accounts, roles and deputies');

/** Whether somebody who acts in these roles keeps accounts, by the table of authority. */
export const mayKeepAccounts = (person: string, roles: readonly ActingRole[]): Authority =>
  authorityFor(MANAGE_ACCOUNTS, { code: person, roles, qualifiedFor: [] }, {});

/** What an act of an administrator looks at before anything is written: why not, or undefined. */
type Objection = (accounts: AccountsByPerson) => AccountObjection | undefined;

/**
 * Accounts of people. How they stand follows from events; whoever acts is an administrator, and what they may not do is
 * refused and becomes an entry of the audit trail.
 */
@Injectable()
export class Accounts {
  private known: { readonly lastEventId: number; readonly accounts: AccountsByPerson } | undefined;

  /** @param machine clock for links and locks; the clock of a demo folder stands still. */
  constructor(
    private readonly store: Store,
    @Optional() @Inject(MACHINE_CLOCK) private readonly machine: Clock = systemClock,
  ) {}

  // Reading.

  /** Every account that was ever made, by the code of the person. */
  async people(): Promise<AccountsByPerson> {
    const lastEventId = await this.store.read.events.lastId();
    if (this.known?.lastEventId !== lastEventId) {
      this.known = { lastEventId, accounts: accountsFrom(await this.store.read.events.ofTypes(ACCOUNT_EVENTS)) };
    }
    return this.known.accounts;
  }

  /** An account as it stands now, with the roles of a day (today, when none is named); undefined when there is none. */
  async state(person: string, day = this.today()): Promise<AccountOnDay | undefined> {
    const accounts = await this.people();
    const account = accounts.get(person);
    return account && { account, acting: actingRoles(accounts, person, day) };
  }

  /** The day on the clock of this folder, where this machine stands. */
  today(): string {
    return localDay(stamp(this.store.clock));
  }

  // Proving who one is.

  /** @throws AppError REFUSED: identifier or password is wrong; LOCKED: too many attempts failed, and how long to wait. */
  prove(person: string, password: string): Promise<Proof> {
    return Proof.demand(this.store, this.machine, person, password);
  }

  // The first administrator.

  /** A new link for the first administrator, in place of any earlier one; undefined once there is an account. */
  async makeFirstLink(): Promise<OneTimeLink | undefined> {
    if ((await this.people()).size > 0) return undefined;
    const link = makeLink(this.machine.now(), FIRST_LINK_HOURS);
    return this.store.change('program', async (change) => {
      if ((await accountsIn(change)).size > 0) return undefined;
      const { tokenSha256, expiresAt } = link;
      await change.events.add({ type: 'administrator-link-made', tokenSha256, expiresAt });
      return link;
    });
  }

  /**
   * Makes the first administrator, who alone gives a role to themselves.
   * @throws AppError REFUSED when the link is not the latest one, has run out, or somebody was faster; BadInputError for
   * a code, name or password that will not do.
   */
  async makeFirst(token: string, { person, name, password }: { person: string; name: string; password: string }) {
    checkPassword(password, { person, name });
    const hash = await hashPassword(password);
    const tokenSha256 = sha256Hex(token);
    await this.store.change(personActor(person), async (change) => {
      await this.checkFirstLink(tokenSha256, await change.events.ofTypes(['administrator-link-made', 'account-made']));
      await change.events.add(accountMade({ person, name, identityCheckedOn: null }));
      await change.events.add({ type: 'role-given', person, role: 'administrator' });
      await change.events.add({ type: 'password-set', person, hash, invitation: tokenSha256 });
    });
  }

  private checkFirstLink(tokenSha256: string, events: readonly { event: Event }[]): void {
    const made = events.some(({ event }) => event.type === 'account-made');
    const latest = events.findLast(({ event }) => event.type === 'administrator-link-made')?.event;
    if (made || latest?.type !== 'administrator-link-made' || latest.tokenSha256 !== tokenSha256) throw unknownLink();
    if (latest.expiresAt <= this.machine.now().toISOString()) throw ranOut(latest.expiresAt);
  }

  /**
   * For whom a link is, without using it.
   * @throws AppError REFUSED when it is unknown, used, replaced or has run out.
   */
  async openLink(
    token: string,
  ): Promise<{ readonly first: true } | { readonly first: false; readonly account: Account }> {
    const tokenSha256 = sha256Hex(token);
    const accounts = await this.people();
    if (accounts.size > 0) return { first: false, account: this.invited(accounts, tokenSha256) };
    this.checkFirstLink(tokenSha256, await this.store.read.events.ofTypes(['administrator-link-made']));
    return { first: true };
  }

  /** The same for the page behind the link: why it does not work, or for whom it is; nobody has an account with the first. */
  async findLink(
    token: string,
  ): Promise<{ readonly why: string } | { readonly why: null; readonly account: Account | undefined }> {
    try {
      const link = await this.openLink(token);
      return { why: null, account: link.first ? undefined : link.account };
    } catch (error) {
      if (error instanceof AppError && error.code === 'REFUSED') return { why: error.message };
      throw error;
    }
  }

  private invited(accounts: AccountsByPerson, tokenSha256: string): Account {
    const account = [...accounts.values()].find((one) => one.invitation?.tokenSha256 === tokenSha256);
    if (!account?.invitation) throw unknownLink();
    const { expiresAt } = account.invitation;
    if (expiresAt <= this.machine.now().toISOString()) throw ranOut(expiresAt);
    return account;
  }

  // Passwords.

  /**
   * Sets the password of the person to whom a one-time link was given, and ends their sessions.
   * @throws AppError REFUSED when the link is unknown, used, replaced or has run out; BadInputError for a weak password.
   */
  async setPassword(token: string, password: string): Promise<Account> {
    const tokenSha256 = sha256Hex(token);
    const { person, name } = this.invited(await this.people(), tokenSha256);
    checkPassword(password, { person, name });
    const hash = await hashPassword(password);
    return this.store.change(personActor(person), async (change) => {
      const account = this.invited(await accountsIn(change), tokenSha256);
      await this.recordPassword(change, person, hash, tokenSha256);
      return account;
    });
  }

  /** Replaces the password of the person who has just proved the old one, and ends their sessions. */
  async changePassword(proof: Proof, password: string): Promise<void> {
    Proof.spend(proof);
    const { person, name } = proof;
    checkPassword(password, { person, name });
    const hash = await hashPassword(password);
    await this.store.change(personActor(person), (change) => this.recordPassword(change, person, hash, null));
  }

  private async recordPassword(change: Change, person: string, hash: string, invitation: string | null): Promise<void> {
    await change.events.add({ type: 'password-set', person, hash, invitation });
    await change.identity.endSessionsOf(person);
    await clearAttempts(change, person);
  }

  // Acts of an administrator. `by` is the code of the person who acts.

  /** Makes an account without roles, with the one-time link by which its person chooses a password. */
  make(by: string, account: NewAccount): Promise<OneTimeLink> {
    const made = accountMade(account);
    const today = this.today();
    const objection: Objection = (accounts) => {
      const same = [...accounts.keys()].find((code) => code.toLowerCase() === account.person.toLowerCase());
      if (same !== undefined) {
        return { code: 'identifier given', facts: { person: same, name: accounts.get(same)!.name } };
      }
      if (account.identityCheckedOn === null) return { code: 'identity not checked' };
      if (account.identityCheckedOn > today)
        return { code: 'identity checked in future', facts: { day: account.identityCheckedOn } };
      return undefined;
    };
    return this.act({ by, act: 'make account', person: account.person, objection }, async (change) => {
      await change.events.add(made);
      return this.recordInvitation(change, account.person);
    });
  }

  /** A new one-time link, for a password that was lost. The old password stays until the link is used. */
  invite(by: string, person: string, reason?: string): Promise<OneTimeLink> {
    const objection: Objection = (accounts) =>
      person === by ? { code: 'link for oneself' } : closed(accounts, person);
    return this.act({ by, act: 'make one-time link', person, objection }, (change) =>
      this.recordInvitation(change, person, reason),
    );
  }

  private async recordInvitation(change: Change, person: string, reason?: string): Promise<OneTimeLink> {
    const link = makeLink(this.machine.now(), INVITATION_HOURS);
    const { tokenSha256, expiresAt } = link;
    await change.events.add({ type: 'invitation-made', person, tokenSha256, expiresAt }, reason);
    return link;
  }

  giveRole(by: string, person: string, role: Role, reason?: string): Promise<void> {
    const today = this.today();
    const objection: Objection = (accounts) =>
      closed(accounts, person) ??
      (person === by ? { code: 'role for oneself' } : undefined) ??
      roleConflict(rolesToKeepApart(accounts.get(person)!, today, role), role);
    return this.act({ by, act: `give role ${role}`, person, objection }, (change) =>
      change.events.add({ type: 'role-given', person, role }, reason),
    );
  }

  takeRole(by: string, person: string, role: Role, reason: string): Promise<void> {
    const objection: Objection = (accounts) => {
      const account = accounts.get(person)!;
      if (!account.roles.includes(role)) return { code: 'not in role', facts: { name: account.name, role } };
      return role === 'administrator' ? lastAdministrator(accounts, person) : undefined;
    };
    return this.act({ by, act: `take role ${role}`, person, objection }, (change) =>
      change.events.add({ type: 'role-taken', person, role }, reason),
    );
  }

  /** Names somebody who acts in the role of another person from one day to another, both included. */
  nameDeputy(by: string, deputy: NewDeputy, reason?: string): Promise<void> {
    const { person, deputyFor, role, from, to } = deputy;
    const today = this.today();
    const objection: Objection = (accounts) => {
      const replaced = accounts.get(deputyFor);
      if (!replaced) return { code: 'no account', facts: { person: deputyFor } };
      if (person === by) return { code: 'deputy by oneself' };
      if (person === deputyFor) return { code: 'deputy of oneself' };
      if (to < from) return { code: 'ends before it begins', facts: { from, to } };
      if (to < today) return { code: 'last day passed', facts: { to } };
      if (from < today) return { code: 'first day passed', facts: { from } };
      if (!replaced.roles.includes(role)) return { code: 'not in role', facts: { name: replaced.name, role } };
      if (accounts.get(person)!.deputies.some((one) => isSameDeputy(one, deputy) && one.to >= from)) {
        const { name } = accounts.get(person)!;
        return { code: 'deputy already', facts: { name, of: replaced.name, role } };
      }
      return (
        closed(accounts, person) ??
        deputyConflict(role) ??
        roleConflict(rolesToKeepApart(accounts.get(person)!, today, role), role)
      );
    };
    return this.act({ by, act: `name deputy as ${role}`, person, objection }, (change) =>
      change.events.add({ type: 'deputy-named', person, deputyFor, role, from, to }, reason),
    );
  }

  endDeputy(by: string, deputy: Pick<NewDeputy, 'person' | 'deputyFor' | 'role'>, reason: string): Promise<void> {
    const { person, deputyFor, role } = deputy;
    const objection: Objection = (accounts) =>
      accounts.get(person)!.deputies.some((one) => isSameDeputy(one, deputy))
        ? undefined
        : { code: 'no deputy', facts: { name: person, of: deputyFor, role } };
    return this.act({ by, act: `end deputy as ${role}`, person, objection }, (change) =>
      change.events.add({ type: 'deputy-ended', person, deputyFor, role }, reason),
    );
  }

  /** Closes an account for good: roles, deputies, links and sessions end. What the person signed stays. */
  close(by: string, person: string, reason: string): Promise<void> {
    const objection: Objection = (accounts) => closed(accounts, person) ?? lastAdministrator(accounts, person);
    return this.act({ by, act: 'close account', person, objection }, async (change) => {
      await change.events.add({ type: 'account-closed', person }, reason);
      await change.identity.endSessionsOf(person);
    });
  }

  /** Runs an act of an administrator; what is refused is recorded, in the same change that looked. */
  private async act<T>(
    { by, act, person, objection }: { by: string; act: string; person: string; objection: Objection },
    work: (change: Change) => Promise<T>,
  ): Promise<T> {
    const outcome = await this.store.change(personActor(by), async (change): Promise<{ why: string } | { done: T }> => {
      const accounts = await accountsIn(change);
      if (act !== 'make account' && !accounts.has(person)) throw new NotFoundError('account', person);
      const authority = mayKeepAccounts(by, actingRoles(accounts, by, this.today()));
      const objects = authority.may ? objection(accounts) : undefined;
      if (authority.may && objects === undefined) return { done: await work(change) };
      const why = authority.may ? accountObjectionText(objects!) : denialText(authority.why);
      const subject = { kind: 'account', key: person };
      await change.events.add({ type: 'act-refused', act, subject, lot: null, person: by, why });
      return { why };
    });
    if ('why' in outcome) throw new AppError('REFUSED', outcome.why);
    return outcome.done;
  }
}

const accountsIn = async (change: Change): Promise<AccountsByPerson> =>
  accountsFrom(await change.events.ofTypes(ACCOUNT_EVENTS));

function accountMade({ person, name, identityCheckedOn }: NewAccount): Event {
  return { type: 'account-made', person: Code.parse(person), name: Text.parse(name), identityCheckedOn };
}

const unknownLink = () =>
  new AppError(
    'REFUSED',
    'this link is unknown, was used before, or a newer one has taken its place; ask for a new one',
  );

const ranOut = (expiresAt: string) =>
  new AppError('REFUSED', `this link ran out at ${expiresAt.slice(0, 16).replace('T', ' ')} UTC; ask for a new one`);

const closed = (accounts: AccountsByPerson, person: string): AccountObjection | undefined =>
  accounts.get(person)?.closedAt == null ? undefined : { code: 'closed', facts: { person } };

const isSameDeputy = (one: { deputyFor: string; role: Role }, other: { deputyFor: string; role: Role }): boolean =>
  one.deputyFor === other.deputyFor && one.role === other.role;

/** Own roles and those of a deputy, now or later. A role held once may be held twice, as oneself and as a deputy. */
function rolesToKeepApart(account: Account, today: string, added: Role): Role[] {
  const deputised = account.deputies.filter((one) => one.to >= today).map((one) => one.role);
  return [...account.roles, ...deputised.filter((role) => role !== added)];
}

/** Somebody must be left who can sign in and keep the accounts. */
function lastAdministrator(accounts: AccountsByPerson, person: string): AccountObjection | undefined {
  const isOne = (one: Account) => one.roles.includes('administrator');
  if (!isOne(accounts.get(person)!)) return undefined;
  const others = [...accounts.values()].filter((one) => isOne(one) && one.person !== person);
  if (others.some((one) => one.passwordSetAt !== null)) return undefined;
  return { code: 'last administrator' };
}
