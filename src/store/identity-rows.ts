import type { Prisma } from './generated/client.js';

/** Who is signed in. Times are those of the machine, also in a demo folder. */
export interface SessionRow {
  readonly tokenSha256: string;
  readonly person: string;
  readonly csrf: string;
  readonly startedAt: string;
  readonly seenAt: string;
  readonly endsAt: string;
}

/** Failed proofs of identity of one person. */
export interface LockoutRow {
  readonly person: string;
  readonly failures: number;
  readonly failuresEver: number;
  readonly lastFailureAt: string;
  readonly lockedUntil: string | null;
}

/** The two tables of people that change in place. They make no entry in the audit trail. */
export class IdentityRows {
  constructor(private readonly tx: Pick<Prisma.TransactionClient, 'session' | 'lockout'>) {}

  async startSession(session: SessionRow): Promise<void> {
    await this.tx.session.create({ data: session });
  }

  async touchSession(tokenSha256: string, seenAt: string): Promise<void> {
    await this.tx.session.updateMany({ where: { tokenSha256 }, data: { seenAt } });
  }

  async endSession(tokenSha256: string): Promise<void> {
    await this.tx.session.deleteMany({ where: { tokenSha256 } });
  }

  async endSessionsOf(person: string): Promise<void> {
    await this.tx.session.deleteMany({ where: { person } });
  }

  /** Clears away sessions that nobody can use any more. */
  async dropSessions(ended: { readonly endsBefore: string; readonly unseenSince: string }): Promise<void> {
    const where = { OR: [{ endsAt: { lt: ended.endsBefore } }, { seenAt: { lt: ended.unseenSince } }] };
    await this.tx.session.deleteMany({ where });
  }

  async lockout(person: string): Promise<LockoutRow | null> {
    return this.tx.lockout.findUnique({ where: { person } });
  }

  async setLockout(row: LockoutRow): Promise<void> {
    await this.tx.lockout.upsert({ where: { person: row.person }, create: row, update: row });
  }
}
