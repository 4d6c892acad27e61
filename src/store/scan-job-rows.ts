import type { Db } from './db.js';
import type { Recorder } from './recorder.js';

/** One scan of the log of a build, under way or past. Times are those of the machine, also in a demo folder. */
export interface ScanJob {
  readonly id: number;
  readonly lot: string;
  readonly build: string;
  readonly fileName: string;
  /** SHA-256 of the first file; empty while the files are not yet kept. */
  readonly evidence: string;
  readonly state: string;
  /** Machine and number of the process that works on it, for people: who has it is told by its lease. */
  readonly owner: string;
  readonly doneBytes: number;
  readonly totalBytes: number;
  readonly startedAt: string;
  readonly endedAt: string | null;
  readonly error: string | null;
}

/** Scans under way and past. The table changes in place, and makes no entry in the audit trail: what a scan finds does. */
export class ScanJobRows<R = unknown> {
  constructor(private readonly db: Db<R>) {}

  /** Scans that wait or run. */
  async open(): Promise<ScanJob[]> {
    return (await this.db.client()).scanJob.findMany({
      where: { state: { in: ['waiting', 'running'] } },
      orderBy: { id: 'asc' },
    });
  }

  /** Scans of one build, the last one first. */
  async ofBuild(lot: string, build: string, take = 5): Promise<ScanJob[]> {
    return (await this.db.client()).scanJob.findMany({ where: { lot, build }, orderBy: { id: 'desc' }, take });
  }

  async byId(id: number): Promise<ScanJob | null> {
    return (await this.db.client()).scanJob.findUnique({ where: { id } });
  }

  async openFor(lot: string, build: string): Promise<ScanJob | null> {
    return (await this.db.ask(this.db.sql.OPEN_SCAN, lot, build))[0] ?? null;
  }

  async start(this: ScanJobRows<Recorder>, job: Omit<ScanJob, 'id' | 'endedAt' | 'error'>): Promise<number> {
    return (await (await this.db.client()).scanJob.create({ data: job })).id;
  }

  async change(this: ScanJobRows<Recorder>, id: number, data: Partial<Omit<ScanJob, 'id'>>): Promise<void> {
    await (await this.db.client()).scanJob.updateMany({ where: { id }, data });
  }
}
