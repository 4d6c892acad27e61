import { AppError } from '../base/errors.js';
import type { Db } from './db.js';
import type { Recorder } from './recorder.js';
import type { SentForm } from './sent-form.js';

/** Who is signed in. Times are those of the machine, also in a demo folder. */
export interface SessionRow {
  readonly tokenSha256: string;
  readonly person: string;
  readonly csrf: string;
  readonly startedAt: string;
  readonly seenAt: string;
  readonly endsAt: string;
  /** Under the secret of the folder, over all that it says. */
  readonly code: string;
}

/** Codes for who tried to prove their identity, and from where. */
export interface LockoutKey {
  readonly person: string;
  readonly origin: string;
}

/** Failed proofs of identity of one person at one place. */
export interface LockoutRow extends LockoutKey {
  readonly failures: number;
  readonly failuresEver: number;
  readonly lastFailureAt: string;
  readonly lockedUntil: string | null;
  /** When the person last proved who they are from there. */
  readonly provedAt: string | null;
}

/**
 * Who is signed in, who failed to prove it, and which forms were sent. These tables change in place, and make no entry in
 * the audit trail.
 */
export class Identity<R = unknown> {
  constructor(private readonly db: Db<R>) {}

  async session(tokenSha256: string): Promise<SessionRow | null> {
    return (await this.db.ask(this.db.sql.SESSION, tokenSha256))[0] ?? null;
  }

  /** Where the result of a form stands that was sent before: null when nobody wrote that down, undefined for a new one. */
  async resultOfForm({ session, number }: SentForm): Promise<string | null | undefined> {
    return (await this.db.ask(this.db.sql.SENT_FORM, session, number))[0]?.result;
  }

  /** Failed proofs of identity of everybody who had any. */
  async lockouts(): Promise<LockoutRow[]> {
    return (await this.db.client()).lockout.findMany();
  }

  async lockout(key: LockoutKey): Promise<LockoutRow | undefined> {
    return (await this.db.ask(this.db.sql.LOCKOUT, key.person, key.origin))[0];
  }

  async startSession(this: Identity<Recorder>, session: SessionRow): Promise<void> {
    await (await this.db.client()).session.create({ data: session });
  }

  async touchSession(
    this: Identity<Recorder>,
    { tokenSha256, seenAt, code }: Pick<SessionRow, 'tokenSha256' | 'seenAt' | 'code'>,
  ): Promise<void> {
    await this.db.tell(this.db.sql.SESSION_TOUCH, seenAt, code, tokenSha256);
  }

  async endSession(this: Identity<Recorder>, tokenSha256: string): Promise<void> {
    await (await this.db.client()).session.deleteMany({ where: { tokenSha256 } });
  }

  async endSessionsOf(this: Identity<Recorder>, person: string): Promise<void> {
    await (await this.db.client()).session.deleteMany({ where: { person } });
  }

  /** Clears away sessions that nobody can use any more. */
  async dropSessions(
    this: Identity<Recorder>,
    ended: { readonly endsBefore: string; readonly unseenSince: string },
  ): Promise<void> {
    const where = { OR: [{ endsAt: { lt: ended.endsBefore } }, { seenAt: { lt: ended.unseenSince } }] };
    await (await this.db.client()).session.deleteMany({ where });
  }

  /**
   * Uses the number of a form up, in the change that records its act.
   * @throws AppError CONFLICT when it is used up: then nothing of the change is stored.
   */
  async useForm(this: Identity<Recorder>, form: SentForm, sentAt: string): Promise<void> {
    const { session, number } = form;
    if ((await this.resultOfForm(form)) !== undefined) {
      throw new AppError('CONFLICT', 'this form was sent before and is done; nothing was done twice');
    }
    await (await this.db.client()).sentForm.create({ data: { session, number, sentAt } });
  }

  /** Remembers where the result of a form stands, for whoever sends it again. */
  async rememberResult(
    this: Identity<Recorder>,
    { session, number }: SentForm,
    sentAt: string,
    result: string,
  ): Promise<void> {
    const where = { session_number: { session, number } };
    await (await this.db.client()).sentForm.upsert({
      where,
      create: { session, number, sentAt, result },
      update: { result },
    });
  }

  /** Forms of sessions that are over come back no more. */
  async dropForms(this: Identity<Recorder>, sentBefore: string): Promise<void> {
    await (await this.db.client()).sentForm.deleteMany({ where: { sentAt: { lt: sentBefore } } });
  }

  async setLockout(this: Identity<Recorder>, row: LockoutRow): Promise<void> {
    const { person, origin, failures, failuresEver, lastFailureAt, lockedUntil, provedAt } = row;
    const times = [lastFailureAt, lockedUntil, provedAt] as const;
    await this.db.tell(this.db.sql.LOCKOUT_SET, person, origin, failures, failuresEver, ...times);
  }

  /** Lets a person begin anew, wherever they are. */
  async clearLockouts(this: Identity<Recorder>, person: string): Promise<void> {
    await (await this.db.client()).lockout.updateMany({ where: { person }, data: { failures: 0, lockedUntil: null } });
  }

  /** Clears away what failed long ago, and places that nobody signed in from any more. */
  async dropLockouts(
    this: Identity<Recorder>,
    { failedBefore, provedBefore }: { readonly failedBefore: string; readonly provedBefore: string },
  ): Promise<void> {
    const OR = [{ provedAt: null }, { provedAt: { lt: provedBefore } }];
    await (await this.db.client()).lockout.deleteMany({ where: { lastFailureAt: { lt: failedBefore }, OR } });
  }
}
