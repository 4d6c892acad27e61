import { Inject, Injectable, Optional } from '@nestjs/common';
import { z } from 'zod';
import { type Clock, MACHINE_CLOCK, systemClock } from '../../base/clock.js';
import { AppError } from '../../base/errors.js';
import { ELSEWHERE } from '../../report/phrases/elsewhere.js';
import { Store } from '../../store/store.js';
import { isSameElsewhere } from '../account-acts.js';
import { Accounts } from '../accounts.js';
import { Provider, providerGiven } from './provider.js';

/** So long somebody may be at the provider. */
export const AWAY_MS = 10 * 60_000;
const CODE = 'sign-in elsewhere';
/** Of answers that were used: none counts twice. */
const MOST_USED = 10_000;

const Kept = z.strictObject({
  state: z.string(),
  nonce: z.string(),
  verifier: z.string(),
  next: z.string(),
  endsAt: z.iso.datetime(),
});

/** That a provider has just said who somebody is. Nothing but its answer makes one; it opens a session, once, and signs nothing. */
export class SignedInElsewhere {
  #spent = false;

  private constructor(
    readonly person: string,
    readonly name: string,
  ) {}

  static of(key: typeof OWN, person: string, name: string): SignedInElsewhere {
    if (key !== OWN) throw new AppError('REFUSED', ELSEWHERE.begunElsewhere);
    return new SignedInElsewhere(person, name);
  }

  /** @throws AppError REFUSED for one that served before. */
  spend(): void {
    if (this.#spent) throw new AppError('REFUSED', ELSEWHERE.begunElsewhere);
    this.#spent = true;
  }
}

/** Known in this file alone. */
const OWN = Symbol('answer of a provider');

/**
 * Sign-in by a provider beside local accounts. Nobody gets an account by it: an administrator links the account of a person with
 * what the provider calls them.
 */
@Injectable()
export class SignInElsewhere {
  private provider: Provider | undefined;
  private readonly used = new Set<string>();

  constructor(
    private readonly store: Store,
    private readonly accounts: Accounts,
    @Optional() @Inject(MACHINE_CLOCK) private readonly machine: Clock = systemClock,
  ) {}

  /** As people call the provider. @throws AppError NOT_FOUND when there is none. */
  get name(): string {
    return this.known().settings.name;
  }

  /**
   * @param back address to which the provider leads people back.
   * @returns where the person goes, and what their browser keeps meanwhile, with a code over it.
   */
  async begin(back: string, next: string): Promise<{ readonly address: string; readonly kept: string }> {
    const { address, ...begun } = await this.known().begin(back);
    const endsAt = new Date(this.machine.now().getTime() + AWAY_MS).toISOString();
    const text = Buffer.from(JSON.stringify({ ...begun, next, endsAt })).toString('base64url');
    return { address, kept: `${text}.${this.store.secret.code(CODE, text)}` };
  }

  /**
   * @param answer what the browser brought back. @param kept what it kept.
   * @throws AppError REFUSED, in words, for whatever does not hold, and for somebody with whom no account is linked.
   */
  async finish(
    answer: URLSearchParams,
    kept: string | undefined,
    back: string,
  ): Promise<{ readonly who: SignedInElsewhere; readonly next: string }> {
    const begun = this.open(kept);
    const claims = await this.known().finish(answer, begun, back);
    const accounts = [...(await this.accounts.people()).values()];
    const account = accounts.find((one) => isSameElsewhere(one.elsewhere, claims));
    if (account === undefined) throw new AppError('REFUSED', ELSEWHERE.unknown(claims.issuer, claims.subject));
    if (account.passwordSetAt === null) throw new AppError('REFUSED', ELSEWHERE.noPassword);
    await this.store.whole.demandPeople();
    return { who: SignedInElsewhere.of(OWN, account.person, account.name), next: begun.next };
  }

  private open(kept: string | undefined): z.infer<typeof Kept> {
    const [text = '', code = ''] = kept?.split('.') ?? [];
    if (!this.store.secret.isCode(code, CODE, text)) throw new AppError('REFUSED', ELSEWHERE.begunElsewhere);
    const begun = Kept.parse(JSON.parse(Buffer.from(text, 'base64url').toString('utf8')));
    if (begun.endsAt <= this.machine.now().toISOString()) throw new AppError('REFUSED', ELSEWHERE.tooLate);
    if (this.used.has(begun.state)) throw new AppError('REFUSED', ELSEWHERE.used);
    if (this.used.size >= MOST_USED) this.used.delete(this.used.values().next().value!);
    this.used.add(begun.state);
    return begun;
  }

  private known(): Provider {
    const settings = providerGiven();
    if (settings === undefined) throw new AppError('NOT_FOUND', ELSEWHERE.none);
    if (JSON.stringify(this.provider?.settings) !== JSON.stringify(settings)) this.provider = new Provider(settings);
    return this.provider!;
  }
}
