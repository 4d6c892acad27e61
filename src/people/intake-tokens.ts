import { randomBytes } from 'node:crypto';
import { Inject, Injectable, Optional } from '@nestjs/common';
import { type Clock, MACHINE_CLOCK, systemClock } from '../base/clock.js';
import { AppError, NotFoundError } from '../base/errors.js';
import { sha256Hex } from '../dossier/canonical.js';
import type { Event, RecordedEvent } from '../ledger/event.js';
import { INTAKE_TOKENS } from '../report/phrases/intake-tokens.js';
import type { Reads } from '../store/repositories.js';
import { Store } from '../store/store.js';
import type { Session } from '../web/identity.js';
import { personActor } from './account-state.js';
import { Accounts } from './accounts.js';
import { Proof } from './proof.js';

export const LONGEST_TOKEN_DAYS = 366;
const MOST_TOKENS = 20;
const DAY_MS = 24 * 3_600_000;
/** Digits of 256 bits in base64url. */
const RANDOM_LENGTH = 43;
const CODE = 'intake token';
const EVENTS = ['intake-token-made', 'intake-token-ended', 'password-set'] as const;

/** What somebody gives to a program of theirs: all that it opens is taking documents in, in their name. */
export interface IntakeToken {
  readonly person: string;
  readonly name: string;
  readonly tokenSha256: string;
  readonly madeAt: string;
  /** Time of the machine, ISO in UTC. */
  readonly expiresAt: string;
}

/** Tokens with which programs take documents in. The store knows the SHA-256 of each, so that nobody reads one back. */
@Injectable()
export class IntakeTokens {
  /** @param machine clock by which tokens run out; the clock of a demo folder stands still. */
  constructor(
    private readonly store: Store,
    private readonly accounts: Accounts,
    @Optional() @Inject(MACHINE_CLOCK) private readonly machine: Clock = systemClock,
  ) {}

  /** Those of a person that are in force, the newest last. */
  async ofPerson(person: string): Promise<IntakeToken[]> {
    return (await this.inForce(this.store.read)).filter((one) => one.person === person);
  }

  /**
   * Makes a token; the person signs that they did.
   * @returns it, and this once.
   * @throws AppError CONFLICT for a name that one in force has, REFUSED where there are too many.
   */
  async make(proof: Proof, name: string, days: number): Promise<IntakeToken & { readonly token: string }> {
    const { person, actor } = proof;
    const now = this.machine.now();
    const expiresAt = new Date(now.getTime() + days * DAY_MS).toISOString();
    const random = randomBytes(32).toString('base64url');
    const token = `${random}${this.store.secret.code(CODE, random, person, name, expiresAt)}`;
    const made = { person, name, tokenSha256: sha256Hex(token), expiresAt };
    await Proof.signing(proof, (pen) =>
      this.store.change(actor, async (change) => {
        const own = (await this.inForce(change)).filter((one) => one.person === person);
        if (own.some((one) => one.name === name)) throw new AppError('CONFLICT', INTAKE_TOKENS.nameTaken(name));
        if (own.length >= MOST_TOKENS) throw new AppError('REFUSED', INTAKE_TOKENS.tooMany(MOST_TOKENS));
        await change.events.act({ type: 'intake-token-made', ...made }, [pen]);
      }),
    );
    return { ...made, token, madeAt: now.toISOString() };
  }

  /** Ends one of the own tokens at once. @throws NotFoundError for one that is not in force. */
  async end(proof: Proof, tokenSha256: string): Promise<void> {
    const { person, actor } = proof;
    await Proof.signing(proof, (pen) =>
      this.store.change(actor, async (change) => {
        const own = (await this.inForce(change)).find(
          (one) => one.person === person && one.tokenSha256 === tokenSha256,
        );
        if (!own) throw new NotFoundError('token', tokenSha256.slice(0, 12), INTAKE_TOKENS.inForce);
        const { name } = own;
        await change.events.act({ type: 'intake-token-ended', person, name, tokenSha256 }, [pen]);
      }),
    );
  }

  /**
   * Who stands behind a token: its person, in the roles that they have today. A token that was put into the database is
   * none, since the secret of the folder is not in it.
   * @throws AppError NOT_SIGNED_IN when it is unknown, ended or has run out, or its person has another password or no account
   *   any more; ALTERED when something was taken away from outside, such as its end.
   */
  async find(token: string): Promise<Session> {
    const tokenSha256 = sha256Hex(token);
    const own = standing(await this.events(this.store.read)).find((one) => one.tokenSha256 === tokenSha256);
    const random = token.slice(0, RANDOM_LENGTH);
    const isOwn =
      own !== undefined &&
      this.store.secret.isCode(token.slice(RANDOM_LENGTH), CODE, random, own.person, own.name, own.expiresAt);
    if (!isOwn) throw new AppError('NOT_SIGNED_IN', INTAKE_TOKENS.unknown);
    // Behind that, so that whoever sends anything at all makes nobody walk over the audit trail.
    await this.store.whole.demandPeople();
    const { person, name, expiresAt } = own;
    if (expiresAt <= this.machine.now().toISOString()) {
      throw new AppError('NOT_SIGNED_IN', INTAKE_TOKENS.ranOut(name, expiresAt));
    }
    const state = await this.accounts.state(person);
    if (!state || state.account.closedAt !== null) throw new AppError('NOT_SIGNED_IN', INTAKE_TOKENS.unknown);
    return {
      ...{ person, name: state.account.name, acting: state.acting, endsAt: expiresAt, id: tokenSha256 },
      ...{ csrf: '', passkeys: [], through: INTAKE_TOKENS.through(name) },
    };
  }

  private async inForce(from: Pick<Reads, 'events'>): Promise<IntakeToken[]> {
    const now = this.machine.now().toISOString();
    return standing(await this.events(from)).filter(({ expiresAt }) => expiresAt > now);
  }

  /** @throws AppError ALTERED when one of them is not signed by its person. */
  private async events({ events }: Pick<Reads, 'events'>): Promise<RecordedEvent[]> {
    const found = await events.ofTypes(EVENTS);
    await events.demand(found);
    return found;
  }
}

/**
 * Those that were made, by nobody but their person, and not ended; some may have run out. A new password ends all that its
 * person made before, in the order of the audit trail: whoever knew the one before may have made them.
 */
function standing(events: readonly RecordedEvent[]): IntakeToken[] {
  const tokens = new Map<string, IntakeToken>();
  for (const { event, at, actor } of events) {
    if (event.type === 'password-set') {
      for (const one of tokens.values()) if (one.person === event.person) tokens.delete(one.tokenSha256);
    }
    if (!isOfPerson(event, actor)) continue;
    if (event.type === 'intake-token-ended') tokens.delete(event.tokenSha256);
    else {
      const { person, name, tokenSha256, expiresAt } = event;
      tokens.set(tokenSha256, { person, name, tokenSha256, expiresAt, madeAt: at });
    }
  }
  return [...tokens.values()];
}

type TokenEvent = Extract<Event, { type: 'intake-token-made' | 'intake-token-ended' }>;

const isOfPerson = (event: Event, actor: string): event is TokenEvent =>
  (event.type === 'intake-token-made' || event.type === 'intake-token-ended') && actor === personActor(event.person);
