import { randomBytes, timingSafeEqual } from 'node:crypto';
import { Inject, Injectable, Optional } from '@nestjs/common';
import { type Clock, MACHINE_CLOCK, systemClock } from '../base/clock.js';
import { sha256Hex } from '../dossier/canonical.js';
import type { SessionRow } from '../store/identity-rows.js';
import { Store } from '../store/store.js';
import type { Session } from '../web/identity.js';
import { type AccountOnDay, Accounts } from './accounts.js';
import { SignedInElsewhere } from './elsewhere/sign-in-elsewhere.js';
import { Proof } from './proof.js';

const MINUTE_MS = 60_000;
/** A session ends when nothing was asked for so long (OWASP ASVS 4.0, 3.3.2, level 2: at most 30 minutes). */
export const IDLE_LIMIT_MS = 30 * MINUTE_MS;
/** And after so long in any case (the same: at most 12 hours). */
export const ABSOLUTE_LIMIT_MS = 12 * 60 * MINUTE_MS;
/** Requests follow each other quickly; the time of the last one is written down once a minute. */
const TOUCH_MS = MINUTE_MS;

/** What a browser is given once; the store keeps only the digest of the token. */
export interface NewSession {
  /** 256 random bits, base64url. */
  readonly token: string;
  readonly csrf: string;
  /** Time of the machine, ISO in UTC. */
  readonly endsAt: string;
}

/** Who is signed in. Limits follow the clock of the machine, since that of a demo folder stands still. */
@Injectable()
export class Sessions {
  constructor(
    private readonly store: Store,
    private readonly accounts: Accounts,
    @Optional() @Inject(MACHINE_CLOCK) private readonly machine: Clock = systemClock,
  ) {}

  /**
   * Begins a session for a person who has just proved who they are, here or to the provider that they are linked with.
   * @param former token that the browser sent, whose session ends: a token that was there before is never taken over.
   */
  async begin(proof: Proof | SignedInElsewhere, former?: string): Promise<NewSession> {
    if (proof instanceof SignedInElsewhere) proof.spend();
    else Proof.spend(proof);
    const { person } = proof;
    const now = this.machine.now();
    const state = await this.accounts.state(person);
    const session = {
      token: randomBytes(32).toString('base64url'),
      csrf: randomBytes(32).toString('base64url'),
      endsAt: new Date(now.getTime() + ABSOLUTE_LIMIT_MS).toISOString(),
    };
    await this.store.change('program', async ({ identity }) => {
      await identity.dropForms(ago(now, ABSOLUTE_LIMIT_MS));
      await identity.dropSessions({ endsBefore: now.toISOString(), unseenSince: ago(now, IDLE_LIMIT_MS) });
      if (former !== undefined) await identity.endSession(sha256Hex(former));
      const row = {
        tokenSha256: sha256Hex(session.token),
        person,
        csrf: session.csrf,
        startedAt: now.toISOString(),
        seenAt: now.toISOString(),
        endsAt: session.endsAt,
      };
      await identity.startSession({ ...row, code: this.codeOf(row, state) });
    });
    return session;
  }

  /** The session that a token belongs to; undefined when it is unknown or over. */
  async find(token: string): Promise<Session | undefined> {
    const row = await this.store.read.identity.session(sha256Hex(token));
    const now = this.machine.now();
    if (!row || isOver(row, now)) return undefined;
    const state = await this.accounts.state(row.person);
    if (!state || state.account.closedAt !== null) return undefined;
    if (!this.store.secret.isCode(row.code, 'session', ...said(row, state))) return undefined;
    if (now.getTime() - Date.parse(row.seenAt) >= TOUCH_MS) {
      const seen = { ...row, seenAt: now.toISOString() };
      const code = this.codeOf(seen, state);
      await this.store.change('program', ({ identity }) => identity.touchSession({ ...seen, code }));
    }
    const { person, csrf, endsAt } = row;
    const passkeys = (await this.accounts.passkeys.of(person)).map(({ credential }) => credential);
    return { person, name: state.account.name, acting: state.acting, csrf, endsAt, id: row.tokenSha256, passkeys };
  }

  private codeOf(row: Omit<SessionRow, 'code'>, state: AccountOnDay | undefined): string {
    return this.store.secret.code('session', ...said(row, state));
  }

  async end(token: string): Promise<void> {
    await this.store.change('program', ({ identity }) => identity.endSession(sha256Hex(token)));
  }
}

/** All that a session says, and when the password was set by which it began: one of before is none after that. */
const said = (row: Omit<SessionRow, 'code'>, state: AccountOnDay | undefined): (string | null)[] => [
  ...[row.tokenSha256, row.person, row.csrf, row.startedAt, row.seenAt, row.endsAt],
  state?.account.passwordSetAt ?? null,
];

/** Over by age, by silence, or because the clock was set back: then nobody can tell its age. */
function isOver(row: SessionRow, now: Date): boolean {
  const unseenMs = now.getTime() - Date.parse(row.seenAt);
  return now.toISOString() >= row.endsAt || unseenMs >= IDLE_LIMIT_MS || unseenMs < -MINUTE_MS;
}

const ago = (now: Date, ms: number): string => new Date(now.getTime() - ms).toISOString();

/** Whether a form carries the token of its session, compared without telling by time how much of it fits. */
export function carriesToken(session: Session, sent: unknown): boolean {
  if (typeof sent !== 'string') return false;
  const [one, other] = [sent, session.csrf].map((text) => Buffer.from(sha256Hex(text), 'hex'));
  return timingSafeEqual(one!, other!);
}
