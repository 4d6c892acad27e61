import { AsyncLocalStorage } from 'node:async_hooks';
import { randomBytes } from 'node:crypto';
import { Injectable, type OnApplicationShutdown } from '@nestjs/common';
import { AppError, NotFoundError } from '../base/errors.js';
import { MOST } from '../base/limits.js';

/** What work that takes long tells, and what it learns. */
export interface JobRun {
  /** Aborted when its starter cancels it, or the service stops. Work that is being stored already ends as it would. */
  readonly signal: AbortSignal;
  /** How far it is, in whatever it counts. */
  progress(done: number, total: number): void;
}

export interface WantedJob {
  /** What it is done to: of one key one runs at a time, and whoever asks again is led to it. */
  readonly key: string;
  /** Jobs that take about as long as one another. */
  readonly sort: string;
  /** What it does, as people read it. */
  readonly title: string;
  readonly starter: { readonly person: string; readonly name: string };
  /** Where its starter goes on when it came to nothing. */
  readonly back: string;
  /** Whether others may see where its result stands. */
  readonly isPrivate?: boolean;
  /** Its parts are stored one by one, and stay when it is cut off. */
  readonly isInParts?: boolean;
  /** @returns the address where the result stands. */
  readonly work: (run: JobRun) => Promise<string>;
}

export type JobState = 'waiting' | 'running' | 'done' | 'failed' | 'cancelled';

/** Whoever asked waits so long for a result before they see the page of the job. */
const GRACE_MS = 1500;
/** Jobs that ended and are still told of. */
const KEPT = 200;

/** Nothing that work does belongs to the request, the form or the person that began it, but what it was told of them. */
const apart = AsyncLocalStorage.snapshot();

/** One piece of work that somebody asked for. */
export class Job {
  readonly id = randomBytes(16).toString('base64url');
  readonly askedAt = new Date();
  state: JobState = 'waiting';
  startedMs: number | undefined;
  done = 0;
  total = 0;
  to: string | undefined;
  error: unknown;
  private readonly stop = new AbortController();
  private settle: (() => void) | undefined;
  /** Resolves when it has ended, however. */
  readonly ended = new Promise<void>((resolve) => {
    this.settle = resolve;
  });

  constructor(readonly wanted: WantedJob) {}

  get isOpen(): boolean {
    return this.state === 'waiting' || this.state === 'running';
  }

  get address(): string {
    return `/jobs/${this.id}`;
  }

  async run(): Promise<void> {
    this.state = 'running';
    this.startedMs = performance.now();
    const { signal } = this.stop;
    const progress = (done: number, total: number) => Object.assign(this, { done, total });
    try {
      this.to = await apart(() => this.wanted.work({ signal, progress }));
      this.end('done');
    } catch (error) {
      this.error = error;
      this.end(signal.aborted ? 'cancelled' : 'failed');
    }
  }

  cancel(): void {
    this.stop.abort();
    if (this.state === 'waiting') this.end('cancelled');
  }

  private end(state: JobState): void {
    this.state = state;
    this.settle!();
  }
}

/**
 * Work that takes longer than somebody waits for a page: a few at a time, the others in turn, and no more than a few wait.
 * It is kept in memory: what it stores is stored whole or not at all, so a service that is started anew has nothing to go
 * on with.
 */
@Injectable()
export class Jobs implements OnApplicationShutdown {
  private readonly all = new Map<string, Job>();
  private readonly tookMs = new Map<string, number>();
  private readonly ends = new Map<JobState, number>();

  /**
   * Begins work, or gives that of the same key that is under way.
   * @throws AppError BUSY when too much waits already.
   */
  begin(wanted: WantedJob): Job {
    const same = this.open().find((job) => job.wanted.key === wanted.key);
    if (same) return same;
    const waiting = this.open().filter(({ state }) => state === 'waiting').length;
    if (waiting >= MOST.jobsWaiting) {
      const waitS = Math.max(
        5,
        Math.ceil(((this.tookMs.get(wanted.sort) ?? 10_000) * waiting) / 1000 / MOST.jobsAtOnce),
      );
      throw new AppError('BUSY', `${waiting} others wait already; nothing was done: try again in ${waitS} seconds`, {
        waitS,
      });
    }
    const job = new Job(wanted);
    this.all.set(job.id, job);
    this.forgetOld();
    void job.ended.then(() => {
      this.ends.set(job.state, (this.ends.get(job.state) ?? 0) + 1);
      this.startNext();
    });
    this.startNext();
    return job;
  }

  /**
   * Begins work, and waits a moment for it.
   * @returns where its result stands, or the page of the job.
   * @throws what it throws in that moment.
   */
  async beginAndWait(wanted: WantedJob): Promise<string> {
    const job = this.begin(wanted);
    let timer: NodeJS.Timeout | undefined;
    const moment = new Promise<void>((resolve) => {
      timer = setTimeout(resolve, GRACE_MS);
    });
    await Promise.race([job.ended, moment]);
    clearTimeout(timer);
    const isOwn = job.wanted.starter.person === wanted.starter.person;
    if (job.state === 'failed' && isOwn) throw job.error;
    return job.state === 'done' && isOwn ? job.to! : job.address;
  }

  /** @throws NotFoundError for what is not known, or not any more. */
  of(id: string): Job {
    const job = this.all.get(id);
    if (job) return job;
    throw new NotFoundError(
      'work',
      id,
      'any more: it ended, or the service was started anew; begin it again if it was not done',
    );
  }

  /** What waits or runs, in its order. */
  open(): Job[] {
    return [...this.all.values()].filter(({ isOpen }) => isOpen);
  }

  /** How many ended since the start, by how they did. */
  get endedBy(): ReadonlyMap<JobState, number> {
    return this.ends;
  }

  /** Waits until nothing runs any more. @param mostMs gives up after that time. */
  async drain(mostMs: number): Promise<void> {
    let timer: NodeJS.Timeout | undefined;
    const time = new Promise<void>((resolve) => {
      timer = setTimeout(resolve, mostMs);
    });
    // What only waits would begin at the end of the time.
    for (const job of this.open()) if (job.state === 'waiting') job.cancel();
    await Promise.race([Promise.all(this.open().map(({ ended }) => ended)), time]);
    clearTimeout(timer);
  }

  /** The one of this key that waits or runs. */
  under(key: string): Job | undefined {
    return this.open().find(({ wanted }) => wanted.key === key);
  }

  /** Seconds that are left at about; undefined when nothing is known of it. */
  leftS({ startedMs, done, total, wanted }: Job): number | undefined {
    const goneMs = startedMs === undefined ? 0 : performance.now() - startedMs;
    const tookMs = this.tookMs.get(wanted.sort);
    // A few counts tell nothing: then the last one of its sort says more.
    if (done > 0 && done / total >= 0.1) return Math.ceil((goneMs * (total - done)) / done / 1000);
    return tookMs === undefined ? undefined : Math.max(1, Math.ceil((tookMs - goneMs) / 1000));
  }

  /** @throws AppError REFUSED for somebody else's. */
  cancel(id: string, person: string): Job {
    const job = this.of(id);
    const { starter } = job.wanted;
    if (starter.person !== person) {
      throw new AppError('REFUSED', `${starter.name} (${starter.person}) began this, and nobody else can cancel it`);
    }
    job.cancel();
    return job;
  }

  /** The store is closed after all of it has let go. */
  async onApplicationShutdown(): Promise<void> {
    const open = this.open();
    for (const job of open) job.cancel();
    await Promise.all(open.map(({ ended }) => ended));
  }

  private startNext(): void {
    const open = this.open();
    const next = open.find(({ state }) => state === 'waiting');
    if (!next || open.filter(({ state }) => state === 'running').length >= MOST.jobsAtOnce) return;
    void next.run().then(() => {
      if (next.state === 'done') this.tookMs.set(next.wanted.sort, performance.now() - next.startedMs!);
    });
    this.startNext();
  }

  private forgetOld(): void {
    for (const [id, job] of this.all) {
      if (this.all.size <= KEPT) return;
      if (!job.isOpen) this.all.delete(id);
    }
  }
}
