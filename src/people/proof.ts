import type { Clock } from '../base/clock.js';
import { AppError } from '../base/errors.js';
import { ACCOUNT_EVENTS } from '../ledger/event.js';
import type { WrappedKey } from '../ledger/password-lock.js';
import type { Store } from '../store/store.js';
import { accountsFrom, passwordOf, personActor, personActorThrough } from './account-state.js';
import { AT_MACHINE, attemptOf, clearAttempts, countAttempt, type Origin } from './lockout.js';
import { type Pen, penOf, unwrapSeed, wrapSeed } from './own-key.js';
import { openedWith } from './passwords.js';

/**
 * That a person has just shown identifier and password. Nothing but a right password makes one: a look-alike has no
 * place for the hidden fields. It serves for one act, which may sign with the key of the person; what opens that key is
 * wiped then.
 */
export class Proof {
  #spent = false;
  readonly #wrapped: WrappedKey;
  readonly #secret: Buffer;

  private constructor(
    readonly person: string,
    readonly name: string,
    /** Time of the machine, ISO in UTC. */
    readonly at: string,
    /** Who stands in the audit trail for the act. */
    readonly actor: string,
    wrapped: WrappedKey,
    secret: Buffer,
  ) {
    this.#wrapped = wrapped;
    this.#secret = secret;
  }

  static isProof(value: unknown): value is Proof {
    return typeof value === 'object' && value !== null && #spent in value;
  }

  /** @throws AppError REFUSED for what is no proof, and for one that served before: identity is proven for each act. */
  static spend(value: unknown): void {
    Proof.take(value).#secret.fill(0);
  }

  private static take(value: unknown): Proof {
    if (!Proof.isProof(value)) throw new AppError('REFUSED', 'this needs identifier and password');
    if (value.#spent) throw new AppError('REFUSED', 'each act needs the password again');
    value.#spent = true;
    return value;
  }

  /**
   * Spends a proof on an act that signs with the key of its person.
   * @throws AppError REFUSED as `spend` does.
   */
  static async signing<T>(value: unknown, act: (pen: Pen) => Promise<T>): Promise<T> {
    const proof = Proof.take(value);
    try {
      return await act(penOf(proof.person, proof.name, proof.#wrapped, proof.#secret));
    } finally {
      proof.#secret.fill(0);
    }
  }

  /**
   * Spends a proof on wrapping the key of its person anew, for another password.
   * @param secret what the other password gives.
   */
  static rewrap(value: unknown, secret: Buffer): WrappedKey {
    const proof = Proof.take(value);
    const { fingerprint } = proof.#wrapped;
    const seed = unwrapSeed(proof.#wrapped, proof.person, proof.#secret);
    try {
      return wrapSeed({ seed, fingerprint }, proof.person, secret);
    } finally {
      seed.fill(0);
      proof.#secret.fill(0);
    }
  }

  /**
   * Tries a password on an open account. It takes as long for a person that does not exist.
   * @param from.origin where the person is, by which waiting grows; at the machine itself when absent.
   * @param from.through account of the machine under which a command runs by which the person acts.
   * @throws AppError REFUSED: identifier or password is wrong; LOCKED: too many attempts failed, and how long to wait; ALTERED
   *   when something was taken away from outside that says who may do what.
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
    const own = passwordOf(events, person);
    const secret = await openedWith(own?.lock, password);
    if (!secret || !own || !account) throw wrong();
    await store.whole.demandPeople();
    // The password may have been changed, or the account closed, while it was tried.
    await store.change('program', async (change) => {
      if (passwordOf(await change.events.ofTypes(ACCOUNT_EVENTS), person)?.lock.check !== own.lock.check) throw wrong();
      await clearAttempts(change, attempt, machine.now());
    });
    const actor = through === undefined ? personActor(person) : personActorThrough(person, through);
    return new Proof(account.person, account.name, machine.now().toISOString(), actor, own.wrapped, secret);
  }
}

const wrong = () => new AppError('REFUSED', 'identifier or password is wrong');
