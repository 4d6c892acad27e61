import type { Clock } from '../base/clock.js';
import { AppError } from '../base/errors.js';
import type { Store } from '../store/store.js';
import { ACCOUNT_EVENTS, accountsFrom, passwordHashOf, personActor, personActorThrough } from './account-state.js';
import { AT_MACHINE, attemptOf, clearAttempts, countAttempt, type Origin } from './lockout.js';
import { fitsPassword } from './passwords.js';

/**
 * That a person has just shown identifier and password. Nothing but a right password makes one: a look-alike has no
 * place for the hidden field. It serves for one act.
 */
export class Proof {
  #spent = false;

  private constructor(
    readonly person: string,
    readonly name: string,
    /** Time of the machine, ISO in UTC. */
    readonly at: string,
    /** Who stands in the audit trail for the act. */
    readonly actor: string,
  ) {}

  static isProof(value: unknown): value is Proof {
    return typeof value === 'object' && value !== null && #spent in value;
  }

  /** @throws AppError REFUSED for what is no proof, and for one that served before: identity is proven for each act. */
  static spend(value: unknown): void {
    if (!Proof.isProof(value)) throw new AppError('REFUSED', 'this needs identifier and password');
    if (value.#spent) throw new AppError('REFUSED', 'each act needs the password again');
    value.#spent = true;
  }

  /**
   * Compares a password with that of an open account. It takes as long for a person that does not exist.
   * @param from.origin where the person is, by which waiting grows; at the machine itself when absent.
   * @param from.through account of the machine under which a command runs by which the person acts.
   * @throws AppError REFUSED: identifier or password is wrong; LOCKED: too many attempts failed, and how long to wait.
   */
  static async demand(
    store: Store,
    machine: Clock,
    person: string,
    password: string,
    { origin = AT_MACHINE, through }: { readonly origin?: Origin; readonly through?: string } = {},
  ): Promise<Proof> {
    const events = await store.read.events.ofTypes(ACCOUNT_EVENTS);
    const account = accountsFrom(events).get(person);
    const attempt = attemptOf(store, person, origin);
    await store.change('program', (change) => countAttempt(change, attempt, machine.now()));
    const hash = passwordHashOf(events, person);
    const fits = await fitsPassword(hash, password);
    if (!fits || !account) throw wrong();
    // The password may have been changed, or the account closed, while the hash was computed.
    await store.change('program', async (change) => {
      if (passwordHashOf(await change.events.ofTypes(ACCOUNT_EVENTS), person) !== hash) throw wrong();
      await clearAttempts(change, attempt, machine.now());
    });
    const actor = through === undefined ? personActor(person) : personActorThrough(person, through);
    return new Proof(account.person, account.name, machine.now().toISOString(), actor);
  }
}

const wrong = () => new AppError('REFUSED', 'identifier or password is wrong');
