import { randomUUID } from 'node:crypto';
import os from 'node:os';
import { AppError } from '../base/errors.js';
import { isGone } from '../base/process-gone.js';
import type { Change, Reads } from './repositories.js';
import type { ScanJob } from './scan-job-rows.js';

/** A process that has not renewed its lease for so long is taken for dead. */
export const LEASE_MS = 20_000;
/** Progress is written this often at most. */
const RENEW_MS = 2_000;
const OWNER_PARTS = ' ';

/** What a scan that is under way must tell, and what it learns from it. */
export interface Claim {
  readonly id: number;
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
  readonly read: Pick<Reads, 'scanJobs'>;
  change<T>(actor: string, work: (change: Change) => Promise<T>): Promise<T>;
}

/** Which scans run, who runs them, and how far they are: for pages, for other processes, and after a crash. */
export class ScanJobs {
  /** Names this process among all that share the folder. */
  readonly owner = [os.hostname(), process.pid, randomUUID().slice(0, 8)].join(OWNER_PARTS);

  constructor(private readonly store: Doors) {}

  /**
   * Takes the scan of a build for this process. One that another process began and no longer renews is taken over.
   * @throws AppError BUSY when a living process is at it.
   */
  async claim(wanted: WantedScan): Promise<Claim> {
    const now = Date.now();
    const id = await this.store.change('program', async ({ scanJobs }) => {
      const open = await scanJobs.openFor(wanted.lot, wanted.build);
      if (open !== null && open.state === 'running' && isHeld(open, now)) throw busy(open);
      const fresh = { ...wanted, state: 'running', owner: this.owner, leaseUntil: lease(now), doneBytes: 0 };
      if (open === null) return scanJobs.start({ ...fresh, startedAt: new Date(now).toISOString() });
      await scanJobs.change(open.id, fresh);
      return open.id;
    });
    return this.claimed(id);
  }

  /** Asks for a scan that the service then does. @returns the job that is open already, if there is one. */
  async ask(wanted: WantedScan): Promise<number> {
    const now = new Date().toISOString();
    return this.store.change('program', async ({ scanJobs }) => {
      const open = await scanJobs.openFor(wanted.lot, wanted.build);
      if (open !== null) return open.id;
      return scanJobs.start({ ...wanted, state: 'waiting', owner: '', leaseUntil: now, doneBytes: 0, startedAt: now });
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

  /** Scans that wait, and those whose process is dead: somebody has to take them up. */
  async left(): Promise<ScanJob[]> {
    const now = Date.now();
    const open = await this.store.read.scanJobs.open();
    return open.filter((job) => job.state === 'waiting' || !isHeld(job, now));
  }

  /** Whether a scan was done, cancelled or given up meanwhile, by whomever. */
  async hasEnded(id: number): Promise<boolean> {
    return (await this.store.read.scanJobs.byId(id))?.endedAt !== null;
  }

  private claimed(id: number): Claim {
    const stop = new AbortController();
    let [doneBytes, totalBytes] = [0, 0];
    let renewing = Promise.resolve();
    const renew = () => {
      renewing = renewing.then(() => this.renew(id, doneBytes, totalBytes, stop)).catch(() => undefined);
    };
    const timer = setInterval(renew, RENEW_MS);
    timer.unref();
    return {
      id,
      signal: stop.signal,
      progress: (done, total) => {
        doneBytes = done;
        totalBytes = total;
      },
      end: async (state, error) => {
        clearInterval(timer);
        await renewing;
        await this.end(id, state, state === 'done' ? totalBytes : doneBytes, totalBytes, error);
      },
      release: async () => {
        clearInterval(timer);
        await renewing;
        await this.store.change('program', ({ scanJobs }) => scanJobs.change(id, { leaseUntil: lease(-LEASE_MS) }));
      },
    };
  }

  private async renew(id: number, doneBytes: number, totalBytes: number, stop: AbortController): Promise<void> {
    await this.store.change('program', async ({ scanJobs }) => {
      const job = await scanJobs.byId(id);
      if (job === null || job.state !== 'running' || job.owner !== this.owner) stop.abort();
      else await scanJobs.change(id, { leaseUntil: lease(Date.now()), doneBytes, totalBytes });
    });
  }

  private async end(id: number, state: string, doneBytes: number, totalBytes: number, error?: string): Promise<void> {
    await this.store.change('program', async ({ scanJobs }) => {
      const job = await scanJobs.byId(id);
      // Cancelled, or taken over: then it is no longer ours to end.
      if (job === null || job.state !== 'running' || job.owner !== this.owner) return;
      const endedAt = new Date().toISOString();
      await scanJobs.change(id, { state, doneBytes, totalBytes, endedAt, error: error ?? null });
    });
  }
}

/**
 * Whether its process still has it: the lease holds, and a process of this machine has not ended without a word. A number
 * that another process has got meanwhile only makes us wait for the lease.
 */
function isHeld({ leaseUntil, owner }: ScanJob, now: number): boolean {
  const [host, pid] = owner.split(OWNER_PARTS);
  return Date.parse(leaseUntil) > now && !(host === os.hostname() && isGone(Number(pid)));
}

const lease = (now: number): string => new Date(now + LEASE_MS).toISOString();

function busy({ build, owner, doneBytes, totalBytes }: ScanJob): AppError {
  const percent = totalBytes > 0 ? Math.floor((100 * doneBytes) / totalBytes) : 0;
  return new AppError(
    'BUSY',
    `the log of build ${build} is being scanned by another process (${owner}), ${percent} % done; wait for it, or cancel it`,
    { build, owner },
  );
}
