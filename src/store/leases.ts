import { AsyncLocalStorage } from 'node:async_hooks';
import { randomUUID } from 'node:crypto';
import os from 'node:os';
import { AppError } from '../base/errors.js';
import type { HeldLease, LeaseRow } from './lease-rows.js';
import type { Change, Reads } from './repositories.js';

/** Whoever has not renewed a lease for so long is taken for dead. */
export const LEASE_MS = 15_000;
export const RENEW_MS = 3000;

/** A lease that this store has: renewed by itself until it is given back, or lost. */
export interface Lease extends HeldLease {
  /** Aborted when somebody else has taken it. */
  readonly signal: AbortSignal;
  /** Leaves it to whoever comes next, at once. */
  give(): Promise<void>;
}

/** What is needed of the store: its write door and its reading side. */
interface Doors {
  readonly read: Pick<Reads, 'leases'>;
  change<T>(actor: string, work: (change: Change) => Promise<T>): Promise<T>;
}

const working = new AsyncLocalStorage<HeldLease>();
/** What renews belongs to no work. */
const apart = AsyncLocalStorage.snapshot();

/** Runs `work`, and every change that it makes, under a lease: a change of whoever lost it is refused. */
export const underLease = <T>(lease: HeldLease, work: () => T): T => working.run(lease, work);

/** The lease under which what runs now works; undefined for everything else. */
export const currentLease = (): HeldLease | undefined => working.getStore();

/** @throws AppError CONFLICT when somebody else has taken it: then nothing of the change is stored. */
export async function refuseLost({ leases }: Pick<Change, 'leases'>, lease: HeldLease): Promise<void> {
  if (await leases.isHeld(lease)) return;
  throw new AppError(
    'CONFLICT',
    'another instance of the program has taken this work over, since this one did not say for long that it lives; nothing was stored here',
    { lease: lease.name },
  );
}

/** The leases of one open store, which has a name of its own among all that share the database. */
export class Leases {
  readonly instance = randomUUID();
  private readonly held = new Map<string, { readonly lease: HeldLease; readonly stop: AbortController }>();
  private timer: NodeJS.Timeout | undefined;
  private renewing: Promise<void> = Promise.resolve();

  constructor(private readonly store: Doors) {}

  /** @returns undefined while somebody has it. */
  async take(name: string): Promise<Lease | undefined> {
    const wanted = this.wanted(name);
    const isTaken = await this.store.change('program', (change) => this.takeWithin(change, wanted));
    return isTaken ? this.keep(wanted) : undefined;
  }

  /** A taking that is not yet one. The machine is in it for people. */
  wanted(name: string): HeldLease {
    return { name, holder: `${randomUUID()} ${os.hostname()}` };
  }

  /** For a change that does more: what it took is kept by `keep` once it is stored. */
  takeWithin({ leases }: Change, wanted: HeldLease): Promise<boolean> {
    return leases.take(wanted, this.instance, LEASE_MS);
  }

  /** From now on it is renewed. */
  keep(lease: HeldLease): Lease {
    const stop = new AbortController();
    this.held.set(lease.holder, { lease, stop });
    this.timer ??= apart(() => setInterval(() => this.renewSoon(), RENEW_MS)).unref();
    return { ...lease, signal: stop.signal, give: () => this.give(lease) };
  }

  /** Does `work` if nobody else is at it. @returns whether it was done here. */
  async ifFree(name: string, work: (lease: Lease) => Promise<void>): Promise<boolean> {
    const lease = await this.take(name);
    if (lease === undefined) return false;
    try {
      await underLease(lease, () => work(lease));
    } finally {
      await lease.give();
    }
    return true;
  }

  /** Who has a lease now. */
  live(): Promise<LeaseRow[]> {
    return this.store.read.leases.live();
  }

  /** Forgets one that went with a change. */
  drop({ holder }: HeldLease): void {
    this.held.delete(holder);
    if (this.held.size > 0) return;
    clearInterval(this.timer);
    this.timer = undefined;
  }

  /** Gives all back, and renews none any more. */
  async close(): Promise<void> {
    clearInterval(this.timer);
    this.timer = undefined;
    await this.renewing;
    const left = [...this.held.values()];
    this.held.clear();
    if (left.length === 0) return;
    await this.store
      .change('program', async ({ leases }) => {
        for (const { lease } of left) await leases.give(lease);
      })
      // They end by themselves.
      .catch(() => undefined);
  }

  /** Only the next try finds out what could not be renewed now. */
  private renewSoon(): void {
    this.renewing = this.renewing.then(() => this.renew()).catch(() => undefined);
  }

  private async renew(): Promise<void> {
    // What is taken while it waits for the database is not asked for.
    const asked = [...this.held];
    if (asked.length === 0) return;
    const left = await this.store.change('program', ({ leases }) => leases.renew(this.instance, LEASE_MS));
    const holders = new Set(left.map(({ holder }) => holder));
    for (const [holder, { lease, stop }] of asked) {
      if (holders.has(holder) || !this.held.has(holder)) continue;
      this.drop(lease);
      stop.abort();
    }
  }

  private async give(lease: HeldLease): Promise<void> {
    this.drop(lease);
    await apart(() => this.store.change('program', ({ leases }) => leases.give(lease))).catch(() => undefined);
  }
}
