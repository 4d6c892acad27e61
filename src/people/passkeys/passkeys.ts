import { createHash } from 'node:crypto';
import { isIP } from 'node:net';
import type { z } from 'zod';
import { AppError, BadInputError } from '../../base/errors.js';
import { type Passkey, passkeyEndText, passkeyText } from '../../ledger/passkey.js';
import { currentOf } from '../../ledger/person-keys.js';
import type { PasskeyFault } from '../../report/phrases/passkeys.js';
import type { Change } from '../../store/repositories.js';
import type { Store } from '../../store/store.js';
import { currentRequest } from '../../web/identity.js';
import type { Pen } from '../own-key.js';
import { Proof } from '../proof.js';
import { PasskeyError } from './passkey-fault.js';
import { type Asked, Assertion, checkAssertion, Registration, readRegistration } from './webauthn.js';

const MOST_OF_A_PERSON = 10;

/** Refusals of a passkey stand in the audit trail as those of this act. */
const USE = 'use a passkey';

/**
 * Passkeys: a second factor beside the password, for whoever made one. Which there are follows from events that their
 * people signed with their own keys, so that neither the database nor the installation key makes one.
 */
export class Passkeys {
  private known: { readonly lastEventId: number; readonly passkeys: readonly Passkey[] } | undefined;

  constructor(private readonly store: Store) {}

  /** Those of a person that count now. */
  async of(person: string): Promise<readonly Passkey[]> {
    return (await this.all()).filter((one) => one.person === person);
  }

  /** Those of everybody. */
  async all(): Promise<readonly Passkey[]> {
    const lastEventId = await this.store.read.events.lastId();
    if (this.known?.lastEventId !== lastEventId) {
      this.known = { lastEventId, passkeys: await this.store.read.events.passkeys() };
    }
    return this.known.passkeys;
  }

  /**
   * Lets a person pass who has no passkey, or who used one for the form that is being answered. At the machine itself, where
   * no request is answered, there is none to ask for.
   * @param session to which the form was given: that of the request, where nothing else is said.
   * @throws PasskeyError REFUSED; one whose counter went back becomes an entry of the audit trail.
   */
  async demand(person: string, session = currentRequest()?.session?.id): Promise<void> {
    const request = currentRequest();
    const own = request ? await this.of(person) : [];
    if (!request || own.length === 0) return;
    const assertions = givenIn(request.passkeys?.given ?? [], Assertion);
    // A form may bring those of two people.
    const given = assertions.find(({ id }) => own.some(({ credential }) => credential === id));
    if (given === undefined) throw new PasskeyError(await this.noneOf(own, assertions.length > 0, request.host));
    const passkey = own.find(({ credential }) => credential === given.id)!;
    const { counter } = checkAssertion(given, passkey, this.asked(person, session));
    const { form } = request.passkeys!;
    const fault = await this.store.change(`person:${person}`, (change) => this.use(change, passkey, counter, form));
    if (fault) throw new PasskeyError(fault);
  }

  private async noneOf(own: readonly Passkey[], others: boolean, host: string): Promise<PasskeyFault> {
    if (others) return { code: 'unknown credential' };
    const hosts = [...new Set(own.map((one) => one.host))];
    return hosts.includes(host) ? { code: 'needed' } : { code: 'another host', facts: { hosts } };
  }

  /** Two uses at once are held against each other, since one change follows the other. */
  private async use(
    change: Change,
    { person, credential, counter: first }: Passkey,
    counter: number,
    form: string,
  ): Promise<PasskeyFault | undefined> {
    const before = (await change.events.passkeyCounter(credential)) ?? first;
    // Authenticators that do not count stay at 0 for ever (Web Authentication level 2, 7.2, step 21).
    if (counter > before || (counter === 0 && before === 0)) {
      await change.events.add({ type: 'passkey-used', person, credential, counter, form });
      return undefined;
    }
    const error = new PasskeyError({ code: 'counter went back', facts: { found: counter, before } });
    const subject = { kind: 'account', key: person };
    await change.events.add({ type: 'act-refused', act: USE, subject, lot: null, person, why: error.message });
    return error.fault;
  }

  /**
   * Registers the passkey that the form being answered brought.
   * @throws PasskeyError for one that does not hold, BadInputError when the form brought none.
   */
  make(proof: Proof, label: string): Promise<void> {
    const { person } = proof;
    return Proof.signing(proof, async (pen) => {
      const { host, passkeys } = currentRequest()!;
      const [given] = givenIn(passkeys?.given ?? [], Registration);
      if (given === undefined) throw noneGiven();
      if (!isName(host)) throw new PasskeyError({ code: 'no name', facts: { host } });
      const made = readRegistration(given, this.asked(person));
      await this.store.change(proof.actor, async (change) => {
        const key = await keyInForce(change, pen);
        const known = await change.events.passkeys();
        if (known.some(({ credential }) => credential === made.credential)) {
          throw new PasskeyError({ code: 'made already' });
        }
        if (known.filter((one) => one.person === person).length >= MOST_OF_A_PERSON) {
          throw new PasskeyError({ code: 'too many', facts: { most: MOST_OF_A_PERSON } });
        }
        const passkey = { person, label, host, ...made, key };
        await change.events.add({ type: 'passkey-made', ...passkey, signature: pen.sign(passkeyText(passkey)) });
      });
    });
  }

  /** Takes a passkey of their own away from a person, for good. @throws AppError CONFLICT when they have no such one. */
  end(proof: Proof, credential: string): Promise<void> {
    const { person } = proof;
    return Proof.signing(proof, (pen) =>
      this.store.change(proof.actor, async (change) => {
        const own = (await change.events.passkeys()).filter((one) => one.person === person);
        if (!own.some((one) => one.credential === credential)) throw gone();
        const end = { person, credential, key: await keyInForce(change, pen) };
        await change.events.add({ type: 'passkey-ended', ...end, signature: pen.sign(passkeyEndText(end)) });
      }),
    );
  }

  /** Identifier of an account for authenticators, which show it to nobody: 32 bytes that tell nothing of the person. */
  accountOf(person: string): Buffer {
    return createHash('sha256').update(`${this.store.key.fingerprint} ${person}`).digest();
  }

  private asked(person: string, session = currentRequest()?.session?.id): Asked {
    const { origin, host, passkeys } = currentRequest()!;
    const challenge = session === undefined ? undefined : passkeys?.challenge(session);
    if (challenge === undefined) throw new PasskeyError({ code: 'not asked here' });
    return { challenge, origin, host, account: this.accountOf(person) };
  }
}

/** Whether browsers make passkeys for such a host. */
export const isName = (host: string): boolean => isIP(host.replace(/^\[|\]$/g, '')) === 0;

function givenIn<T>(texts: readonly string[], schema: z.ZodType<T>): T[] {
  return texts.flatMap((text) => {
    try {
      const found = schema.safeParse(JSON.parse(text));
      return found.success ? [found.data] : [];
    } catch {
      return [];
    }
  });
}

/** @throws AppError REFUSED when the key of the pen is not that of its person any more. */
async function keyInForce(change: Change, pen: Pen): Promise<string> {
  const own = currentOf((await change.events.knownKeys()).people.keys, pen.person);
  if (own?.fingerprint !== pen.fingerprint) throw new PasskeyError({ code: 'no key' });
  return own.fingerprint;
}

const gone = () =>
  new AppError('CONFLICT', 'this passkey is none of yours, or was taken away before; nothing was done');

const noneGiven = () =>
  new BadInputError([
    {
      code: 'passkey',
      field: 'passkey',
      found: 'none',
      expected: 'what the browser gives for a new passkey',
      remedy: 'use the page in a browser that runs the script of this service, and follow what it asks',
    },
  ]);
