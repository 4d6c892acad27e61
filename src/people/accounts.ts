import { Inject, Injectable, Optional } from '@nestjs/common';
import { type Clock, MACHINE_CLOCK, stamp, systemClock } from '../base/clock.js';
import { localDay } from '../base/stamp.js';
import type { ActingRole } from '../dossier/statement.js';
import { ACCOUNT_EVENTS } from '../ledger/event.js';
import { Store } from '../store/store.js';
import { currentAddress, currentSession } from '../web/identity.js';
import { type Account, type AccountsByPerson, accountsFrom, actingRoles } from './account-state.js';
import { actNamed } from './acts.js';
import { type Authority, authorityFor } from './authority.js';
import { AT_MACHINE, type Origin } from './lockout.js';
import { Passkeys } from './passkeys/passkeys.js';
import { Proof } from './proof.js';

/** An account with the roles in which its person acts on the day that was asked about. */
export interface AccountOnDay {
  readonly account: Account;
  readonly acting: readonly ActingRole[];
}

const MANAGE_ACCOUNTS = actNamed('manage accounts, roles and deputies');

/** Whether somebody who acts in these roles keeps accounts, by the table of authority. */
export const mayKeepAccounts = (person: string, roles: readonly ActingRole[]): Authority =>
  authorityFor(MANAGE_ACCOUNTS, { code: person, roles, qualifiedFor: [] }, {});

/** Accounts of people: how they stand, which follows from events, and the proof that somebody is whose account it is. */
@Injectable()
export class Accounts {
  private known: { readonly lastEventId: number; readonly accounts: AccountsByPerson } | undefined;
  /** Second factors of those who made one. */
  readonly passkeys: Passkeys;

  /** @param machine clock for locks; the clock of a demo folder stands still. */
  constructor(
    private readonly store: Store,
    @Optional() @Inject(MACHINE_CLOCK) private readonly machine: Clock = systemClock,
  ) {
    this.passkeys = new Passkeys(store);
  }

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

  /**
   * Proves by the password, and by a passkey where the person has one: that the form being answered brought.
   * @throws AppError as `provePassword` does; PasskeyError REFUSED without a passkey that holds.
   */
  async prove(person: string, password: string): Promise<Proof> {
    const proof = await this.provePassword(person, password);
    try {
      await this.passkeys.demand(person);
      return proof;
    } catch (error) {
      Proof.spend(proof);
      throw error;
    }
  }

  /**
   * By the password alone: for whoever asks for the passkey in a further step.
   * @throws AppError REFUSED: identifier or password is wrong; LOCKED: too many attempts failed, and how long to wait.
   */
  provePassword(person: string, password: string): Promise<Proof> {
    return Proof.demand(this.store, this.machine, person, password, { origin: originOf(person) });
  }
}

/** Whoever is signed in and proves it again does so in their session, wherever they are. */
function originOf(person: string): Origin {
  const [session, address] = [currentSession(), currentAddress()];
  if (session?.person === person) return { kind: 'session', name: session.id };
  return address === undefined ? AT_MACHINE : { kind: 'address', name: address };
}
