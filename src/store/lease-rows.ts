import type { Db } from './db.js';
import type { Recorder } from './recorder.js';

/** One taking of a lease: what a change holds against the row before it stores. */
export interface HeldLease {
  readonly name: string;
  readonly holder: string;
}

export interface LeaseRow extends HeldLease {
  readonly instance: string;
  /** By the clock of the database, ISO in UTC. */
  readonly endsAt: string;
}

/**
 * Who does what at the moment. Leases end by the clock of the database, so that clocks of instances do not matter. Taking,
 * renewing and storing all wait for the lock row of the write door: so nobody takes a lease while a change of its holder runs.
 * The table changes in place, and makes no entry in the audit trail.
 */
export class LeaseRows<R = unknown> {
  constructor(private readonly db: Db<R>) {}

  /** The time of the database, ISO in UTC. */
  async now(): Promise<string> {
    return (await this.db.ask(this.db.sql.CLOCK))[0]!.now;
  }

  /** Those whose end is not past. */
  async live(): Promise<LeaseRow[]> {
    return (await this.db.ask(this.db.sql.LEASES)).filter(({ endsAt, now }) => endsAt > now);
  }

  /** Those whose end is past, and which nobody took since. */
  async ended(): Promise<LeaseRow[]> {
    return (await this.db.ask(this.db.sql.LEASES)).filter(({ endsAt, now }) => endsAt <= now);
  }

  /** The one that somebody has now, or undefined. */
  async of(name: string): Promise<LeaseRow | undefined> {
    const [row] = await this.db.ask(this.db.sql.LEASE, name);
    return row && row.endsAt > row.now ? row : undefined;
  }

  /** Whether nobody took it since, be its end past or not. */
  async isHeld({ name, holder }: HeldLease): Promise<boolean> {
    const [row] = await this.db.ask(this.db.sql.LEASE, name);
    return row?.holder === holder;
  }

  /** @returns whether it is taken: false while somebody else has it. */
  async take(this: LeaseRows<Recorder>, lease: HeldLease, instance: string, forMs: number): Promise<boolean> {
    return (await this.db.ask(this.db.sql.LEASE_TAKE, lease.name, lease.holder, instance, forMs)).length > 0;
  }

  /** Renews all of an instance. @returns those that it still has. */
  async renew(this: LeaseRows<Recorder>, instance: string, forMs: number): Promise<readonly HeldLease[]> {
    return this.db.ask(this.db.sql.LEASES_RENEW, forMs, instance);
  }

  async give(this: LeaseRows<Recorder>, { name, holder }: HeldLease): Promise<void> {
    await this.db.tell(this.db.sql.LEASE_GIVE, name, holder);
  }
}
