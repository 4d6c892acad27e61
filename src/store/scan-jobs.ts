import os from 'node:os';
import { setTimeout as sleep } from 'node:timers/promises';
import { AppError } from '../base/errors.js';
import type { HeldLease } from './lease-rows.js';
import type { Lease, Leases } from './leases.js';
import type { Change, Reads } from './repositories.js';
import type { ScanJob } from './scan-job-rows.js';

/** Progress is written this often at most. */
const TELL_MS = 2_000;
const LOOK_MS = 500;

const leaseOf = (id: number): string => `scan:${id}`;

/** What a scan that is under way must tell, and what it learns from it. */
export interface Claim {
  readonly id: number;
  /** Whatever stores what the scan found stores it under this. */
  readonly lease: HeldLease;
  /** Aborted when somebody cancels the scan, or another process has taken it over. */
  readonly signal: AbortSignal;
  progress(doneBytes: number, totalBytes: number): void;
  end(state: 'done' | 'failed' | 'cancelled', error?: string): Promise<void>;
  /** Leaves the scan to whoever comes next, at once. */
  release(): Promise<void>;
}

export interface WantedScan {
  readonly lot: string;
  readonly build: string;
  readonly fileName: string;
  readonly evidence: string;
  readonly totalBytes: number;
}

/** What is needed of the store: its write door and its reading side. */
interface Doors {
  readonly read: Pick<Reads, 'scanJobs' | 'leases'>;
  readonly leases: Leases;
  change<T>(actor: string, work: (change: Change) => Promise<T>): Promise<T>;
}

/** Which scans run, who runs them, and how far they are: for pages, for other processes, and after a crash. */
export class ScanJobs {
  /** Names this process to people. */
  readonly owner = `${os.hostname()} ${process.pid}`;

  constructor(private readonly store: Doors) {}

  /**
   * Takes the scan of a build for this process. One whose process does not renew its lease any more is taken over when that
   * runs out, and waited for until then.
   * @throws AppError BUSY when a living process is at it.
   */
  async claim(wanted: WantedScan): Promise<Claim> {
    let endsAt: string | undefined;
    for (;;) {
      const found = await this.tryClaim(wanted);
      if (!('busy' in found)) return this.claimed(found.id, this.store.leases.keep(found.lease));
      // Renewed while we looked: whoever has it lives.
      if (endsAt !== undefined && endsAt !== found.endsAt) throw busy(found.busy);
      endsAt = found.endsAt;
      await sleep(LOOK_MS);
    }
  }

  /** As `claim`, for whoever comes again: undefined while somebody has it. */
  async claimIfFree(wanted: WantedScan): Promise<Claim | undefined> {
    const found = await this.tryClaim(wanted);
    return 'busy' in found ? undefined : this.claimed(found.id, this.store.leases.keep(found.lease));
  }

  private async tryClaim(
    wanted: WantedScan,
  ): Promise<{ id: number; lease: HeldLease } | { busy: ScanJob; endsAt: string }> {
    return this.store.change('program', async (change) => {
      const { scanJobs, leases } = change;
      const open = await scanJobs.openFor(wanted.lot, wanted.build);
      const held = open && (await leases.of(leaseOf(open.id)));
      if (open && held) return { busy: open, endsAt: held.endsAt };
      const fresh = { ...wanted, state: 'running', owner: this.owner, doneBytes: 0 };
      const id = open?.id ?? (await scanJobs.start({ ...fresh, startedAt: new Date().toISOString() }));
      if (open) await scanJobs.change(id, fresh);
      const lease = this.store.leases.wanted(leaseOf(id));
      await this.store.leases.takeWithin(change, lease);
      return { id, lease };
    });
  }

  /** Asks for a scan that a service then does. @returns the job that is open already, if there is one. */
  async ask(wanted: WantedScan): Promise<number> {
    const startedAt = new Date().toISOString();
    return this.store.change('program', async ({ scanJobs }) => {
      const open = await scanJobs.openFor(wanted.lot, wanted.build);
      if (open !== null) return open.id;
      return scanJobs.start({ ...wanted, state: 'waiting', owner: '', doneBytes: 0, startedAt });
    });
  }

  /** Ends a scan that waits or runs, whoever runs it: that process learns it when it next tells how far it is. */
  async cancel(id: number): Promise<void> {
    await this.store.change('program', async ({ scanJobs }) => {
      const job = await scanJobs.byId(id);
      if (job === null || job.endedAt !== null) return;
      await scanJobs.change(id, { state: 'cancelled', endedAt: new Date().toISOString() });
    });
  }

  /** Ends a scan that nobody can take up again. */
  async giveUp(id: number, error: string): Promise<void> {
    const ended = { state: 'interrupted', endedAt: new Date().toISOString(), error };
    await this.store.change('program', ({ scanJobs }) => scanJobs.change(id, ended));
  }

  /** Scans that wait, and those whose lease ran out: somebody has to take them up. */
  async left(): Promise<ScanJob[]> {
    // First those that are open: one that somebody takes up in between is then among the leases.
    const open = await this.store.read.scanJobs.open();
    if (open.length === 0) return [];
    const held = new Set((await this.store.leases.live()).map(({ name }) => name));
    return open.filter(({ id }) => !held.has(leaseOf(id)));
  }

  /** Whether a scan was done, cancelled or given up meanwhile, by whomever. */
  async hasEnded(id: number): Promise<boolean> {
    return (await this.store.read.scanJobs.byId(id))?.endedAt !== null;
  }

  private claimed(id: number, lease: Lease): Claim {
    const stop = new AbortController();
    let [doneBytes, totalBytes] = [0, 0];
    let telling = Promise.resolve();
    const tell = () => {
      telling = telling.then(() => this.tell(id, lease, { doneBytes, totalBytes }, stop)).catch(() => undefined);
    };
    const timer = setInterval(tell, TELL_MS);
    timer.unref();
    return {
      id,
      lease: { name: lease.name, holder: lease.holder },
      signal: AbortSignal.any([stop.signal, lease.signal]),
      progress: (done, total) => {
        doneBytes = done;
        totalBytes = total;
      },
      end: async (state, error) => {
        clearInterval(timer);
        await telling;
        const done = state === 'done' ? totalBytes : doneBytes;
        await this.end(id, lease, { state, doneBytes: done, totalBytes, error: error ?? null });
        await lease.give();
      },
      release: async () => {
        clearInterval(timer);
        await telling;
        await lease.give();
      },
    };
  }

  private async tell(
    id: number,
    lease: HeldLease,
    far: Pick<ScanJob, 'doneBytes' | 'totalBytes'>,
    stop: AbortController,
  ): Promise<void> {
    await this.store.change('program', async ({ scanJobs, leases }) => {
      const job = await scanJobs.byId(id);
      if (job?.state !== 'running' || !(await leases.isHeld(lease))) stop.abort();
      else await scanJobs.change(id, far);
    });
  }

  private async end(
    id: number,
    lease: HeldLease,
    how: Pick<ScanJob, 'state' | 'doneBytes' | 'totalBytes' | 'error'>,
  ): Promise<void> {
    await this.store.change('program', async ({ scanJobs, leases }) => {
      const job = await scanJobs.byId(id);
      // Cancelled, or taken over: then it is no longer ours to end.
      if (job?.state !== 'running' || !(await leases.isHeld(lease))) return;
      await scanJobs.change(id, { ...how, endedAt: new Date().toISOString() });
    });
  }
}

function busy({ build, owner, doneBytes, totalBytes }: ScanJob): AppError {
  const percent = totalBytes > 0 ? Math.floor((100 * doneBytes) / totalBytes) : 0;
  return new AppError(
    'BUSY',
    `the log of build ${build} is being scanned by another process (${owner}), ${percent} % done; wait for it, or cancel it`,
    { build, owner },
  );
}
