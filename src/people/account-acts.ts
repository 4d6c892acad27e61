import { Inject, Injectable, Optional } from '@nestjs/common';
import { type Clock, MACHINE_CLOCK, systemClock } from '../base/clock.js';
import { AppError, NotFoundError } from '../base/errors.js';
import type { Role } from '../dossier/statement.js';
import type { PersonKeys } from '../ledger/person-keys.js';
import { type AccountObjection, accountObjectionText } from '../report/phrases/account-objections.js';
import type { AccountActName } from '../report/phrases/acts.js';
import { denialText } from '../report/phrases/authority.js';
import type { Change } from '../store/repositories.js';
import { Store } from '../store/store.js';
import { accountMade, type NewAccount } from './account-made.js';
import { type Account, type AccountsByPerson, accountsIn, actingRoles, type Elsewhere } from './account-state.js';
import { Accounts, mayKeepAccounts } from './accounts.js';
import { addInvitation, signingAll, vouchingObjection } from './invitation.js';
import { INVITATION_HOURS, makeLink, type OneTimeLink } from './one-time-link.js';
import type { Pen } from './own-key.js';
import type { Proof } from './proof.js';
import { deputyConflict, roleConflict } from './role-rules.js';

export interface NewDeputy {
  readonly person: string;
  readonly deputyFor: string;
  readonly role: Role;
  readonly from: string;
  readonly to: string;
}

interface AccountAct {
  readonly proofs: readonly Proof[];
  readonly act: AccountActName;
  readonly person: string;
  readonly objection: Objection;
}

/** What an act of an administrator looks at before anything is written: why not, or undefined. */
type Objection = (accounts: AccountsByPerson, keys: PersonKeys['keys']) => AccountObjection | undefined;

/**
 * Acts of an administrator on accounts, each signed with their key; whoever makes a link vouches with it for the person who
 * opens it. What they may not do is refused and becomes an entry of the audit trail.
 */
@Injectable()
export class AccountActs {
  /** @param machine clock for links; the clock of a demo folder stands still. */
  constructor(
    private readonly store: Store,
    private readonly accounts: Accounts,
    @Optional() @Inject(MACHINE_CLOCK) private readonly machine: Clock = systemClock,
  ) {}

  /** Makes an account without roles, with the one-time link by which its person chooses a password and gets a key. */
  make(proof: Proof, account: NewAccount): Promise<OneTimeLink> {
    const made = accountMade(account);
    const today = this.accounts.today();
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
    const act: AccountAct = { proofs: [proof], act: 'make account', person: account.person, objection };
    return this.act(act, async (change, pens) => {
      await change.events.act(made, pens);
      return this.recordInvitation(change, account, pens);
    });
  }

  /**
   * A new one-time link, for a password that was lost. The old password stays until the link is used.
   * @param second somebody else who vouches for the person: needed once they have a key, since the link makes another.
   */
  invite(proof: Proof, person: string, reason?: string, second?: Proof): Promise<OneTimeLink> {
    const proofs = second ? [proof, second] : [proof];
    const vouching = proofs.map((one) => one.person);
    const objection: Objection = (accounts, keys) =>
      person === proof.person
        ? { code: 'link for oneself' }
        : (closed(accounts, person) ?? vouchingObjection(keys, person, vouching));
    return this.act({ proofs, act: 'make one-time link', person, objection }, (change, pens, accounts) =>
      this.recordInvitation(change, accounts.get(person)!, pens, reason),
    );
  }

  private recordInvitation(
    change: Change,
    account: Pick<Account, 'person' | 'name'>,
    pens: readonly Pen[],
    reason?: string,
  ): Promise<OneTimeLink> {
    const link = makeLink(this.store.secret, account.person, this.machine.now(), INVITATION_HOURS);
    return addInvitation(change, account, link, { pens, reason });
  }

  giveRole(proof: Proof, person: string, role: Role, reason?: string): Promise<void> {
    const today = this.accounts.today();
    const objection: Objection = (accounts) =>
      closed(accounts, person) ??
      (person === proof.person ? { code: 'role for oneself' } : undefined) ??
      roleConflict(rolesToKeepApart(accounts.get(person)!, today, role), role);
    return this.act({ proofs: [proof], act: `give role ${role}`, person, objection }, (change, pens) =>
      change.events.act({ type: 'role-given', person, role }, pens, reason),
    );
  }

  takeRole(proof: Proof, person: string, role: Role, reason: string): Promise<void> {
    const objection: Objection = (accounts) => {
      const account = accounts.get(person)!;
      if (!account.roles.includes(role)) return { code: 'not in role', facts: { name: account.name, role } };
      return role === 'administrator' ? lastAdministrator(accounts, person) : undefined;
    };
    return this.act({ proofs: [proof], act: `take role ${role}`, person, objection }, (change, pens) =>
      change.events.act({ type: 'role-taken', person, role }, pens, reason),
    );
  }

  /** Names somebody who acts in the role of another person from one day to another, both included. */
  nameDeputy(proof: Proof, deputy: NewDeputy, reason?: string): Promise<void> {
    const { person, deputyFor, role, from, to } = deputy;
    const today = this.accounts.today();
    const objection: Objection = (accounts) => {
      const replaced = accounts.get(deputyFor);
      if (!replaced) return { code: 'no account', facts: { person: deputyFor } };
      if (person === proof.person) return { code: 'deputy by oneself' };
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
    return this.act({ proofs: [proof], act: `name deputy as ${role}`, person, objection }, (change, pens) =>
      change.events.act({ type: 'deputy-named', person, deputyFor, role, from, to }, pens, reason),
    );
  }

  endDeputy(proof: Proof, deputy: Pick<NewDeputy, 'person' | 'deputyFor' | 'role'>, reason: string): Promise<void> {
    const { person, deputyFor, role } = deputy;
    const objection: Objection = (accounts) =>
      accounts.get(person)!.deputies.some((one) => isSameDeputy(one, deputy))
        ? undefined
        : { code: 'no deputy', facts: { name: person, of: deputyFor, role } };
    return this.act({ proofs: [proof], act: `end deputy as ${role}`, person, objection }, (change, pens) =>
      change.events.act({ type: 'deputy-ended', person, deputyFor, role }, pens, reason),
    );
  }

  /** From now on whoever a provider of sign-ins calls so gets in as this person. It signs nothing. */
  linkElsewhere(proof: Proof, person: string, elsewhere: Elsewhere, reason?: string): Promise<void> {
    const objection: Objection = (accounts) => {
      const account = accounts.get(person)!;
      const other = [...accounts.values()].find((one) => isSameElsewhere(one.elsewhere, elsewhere));
      if (account.elsewhere !== null) return { code: 'linked already', facts: { name: account.name } };
      if (other !== undefined) return { code: 'subject of another', facts: { name: other.name } };
      return closed(accounts, person);
    };
    return this.act({ proofs: [proof], act: 'link sign-in', person, objection }, (change, pens) =>
      change.events.act({ type: 'elsewhere-linked', person, ...elsewhere }, pens, reason),
    );
  }

  /** Ends that, and all sessions of the person: one of them may have begun so. */
  unlinkElsewhere(proof: Proof, person: string, reason: string): Promise<void> {
    const objection: Objection = (accounts) => {
      const { elsewhere, name } = accounts.get(person)!;
      return elsewhere === null ? { code: 'not linked', facts: { name } } : undefined;
    };
    const act: AccountAct = { proofs: [proof], act: 'unlink sign-in', person, objection };
    return this.act(act, async (change, pens, accounts) => {
      await change.events.act(
        { type: 'elsewhere-unlinked', person, ...accounts.get(person)!.elsewhere! },
        pens,
        reason,
      );
      await change.identity.endSessionsOf(person);
    });
  }

  /** Closes an account for good: roles, deputies, links and sessions end. What the person signed stays. */
  close(proof: Proof, person: string, reason: string): Promise<void> {
    const objection: Objection = (accounts) => closed(accounts, person) ?? lastAdministrator(accounts, person);
    return this.act({ proofs: [proof], act: 'close account', person, objection }, async (change, pens) => {
      await change.events.act({ type: 'account-closed', person }, pens, reason);
      await change.identity.endSessionsOf(person);
    });
  }

  /** Runs an act of an administrator; what is refused is recorded, in the same change that looked. */
  private async act<T>(
    { proofs, act, person, objection }: AccountAct,
    work: (change: Change, pens: readonly Pen[], accounts: AccountsByPerson) => Promise<T>,
  ): Promise<T> {
    const { person: by, actor } = proofs[0]!;
    const perform = async (change: Change, pens: readonly Pen[]): Promise<{ why: string } | { done: T }> => {
      const accounts = await accountsIn(change);
      if (act !== 'make account' && !accounts.has(person)) throw new NotFoundError('account', person);
      const authority = mayKeepAccounts(by, actingRoles(accounts, by, this.accounts.today()));
      const { keys } = (await change.events.knownKeys()).people;
      const objects = authority.may ? objection(accounts, keys) : undefined;
      if (authority.may && objects === undefined) return { done: await work(change, pens, accounts) };
      const why = authority.may ? accountObjectionText(objects!) : denialText(authority.why);
      const subject = { kind: 'account', key: person };
      await change.events.add({ type: 'act-refused', act, subject, lot: null, person: by, why });
      return { why };
    };
    const outcome = await signingAll(proofs, (pens) => this.store.change(actor, (change) => perform(change, pens)));
    if ('why' in outcome) throw new AppError('REFUSED', outcome.why);
    return outcome.done;
  }
}

const closed = (accounts: AccountsByPerson, person: string): AccountObjection | undefined =>
  accounts.get(person)?.closedAt == null ? undefined : { code: 'closed', facts: { person } };

const isSameDeputy = (one: { deputyFor: string; role: Role }, other: { deputyFor: string; role: Role }): boolean =>
  one.deputyFor === other.deputyFor && one.role === other.role;

export const isSameElsewhere = (one: Elsewhere | null, other: Elsewhere): boolean =>
  one !== null && addressOf(one.issuer) === addressOf(other.issuer) && one.subject === other.subject;

/** A host alone is the same address with and without its closing slash, in small and in capital letters. */
const addressOf = (issuer: string): string => (URL.canParse(issuer) ? new URL(issuer).href : issuer);

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
