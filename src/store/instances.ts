import fs from 'node:fs';
import path from 'node:path';
import { AppError } from '../base/errors.js';
import { skewFault } from './clock-skew.js';
import type { DataFolder } from './data-folder.js';
import { olderFault } from './generation.js';
import type { LeaseRow } from './lease-rows.js';
import type { Lease, Leases } from './leases.js';
import type { Change, Reads } from './repositories.js';

const SERVICE = 'service:';
const ALONE = 'alone';
/** An answer that took longer tells no time. */
const LONGEST_ANSWER_MS = 5000;

/** What is needed of the store: its doors and its leases. */
interface Doors {
  readonly read: Pick<Reads, 'leases' | 'ledger'>;
  readonly leases: Leases;
  change<T>(actor: string, work: (change: Change) => Promise<T>): Promise<T>;
}

/**
 * Services on one database. Each has a lease there, and a file of the same name in the data folder, which they share: a lease
 * without a file is that of a service with another folder, and so with other records, keys and evidence.
 */
export class Instances {
  private readonly place: string;
  private file: string | undefined;

  constructor(
    private readonly folder: DataFolder,
    private readonly store: Doors,
  ) {
    this.place = path.join(folder.path, 'instances');
  }

  /** @throws AppError BUSY while somebody must be alone, CONFLICT while a service of another folder uses the database. */
  async enter(): Promise<void> {
    const name = SERVICE + this.store.leases.instance;
    fs.mkdirSync(this.place, { recursive: true, mode: 0o700 });
    // Before the lease: whoever finds that looks for the file.
    this.file = path.join(this.place, this.store.leases.instance);
    fs.writeFileSync(this.file, '', { mode: 0o600 });
    await this.take(name, (live) => {
      if (live.some((lease) => lease.name === ALONE)) {
        throw new AppError('BUSY', 'keys or evidence are being changed by a command; start when it is done');
      }
      for (const lease of live.filter(isService)) this.refuseStrange(lease);
    });
  }

  /** @throws AppError BUSY while a service runs. */
  async enterAlone(): Promise<Lease> {
    return this.take(ALONE, (live) => {
      const other = live.find((lease) => isService(lease) || lease.name === ALONE);
      if (other === undefined) return;
      throw new AppError(
        'BUSY',
        `another service runs on this database (on ${hostOf(other)}); stop each of them, and wait a quarter of a minute for one that was killed`,
      );
    });
  }

  /** What goes with the store. */
  leave(): void {
    if (this.file !== undefined) fs.rmSync(this.file, { force: true });
  }

  /** Services that live now, this one too. */
  async living(): Promise<readonly LeaseRow[]> {
    return (await this.store.leases.live()).filter(isService);
  }

  /**
   * Why this service must not answer any more; undefined when it may: a newer program changed the database, or the clock of
   * this machine is minutes away from that of the database.
   */
  async troubles(): Promise<{ readonly older?: string; readonly skew?: string }> {
    const { ledger, leases } = this.store.read;
    const begun = Date.now();
    const now = await leases.now();
    const tookMs = Date.now() - begun;
    const skew = tookMs > LONGEST_ANSWER_MS ? undefined : skewFault(now)?.message;
    const older = olderFault(await ledger.generation())?.message;
    return { ...(older === undefined ? {} : { older }), ...(skew === undefined ? {} : { skew }) };
  }

  private async take(name: string, check: (live: readonly LeaseRow[]) => void): Promise<Lease> {
    const { leases } = this.store;
    const wanted = leases.wanted(name);
    await this.store.change('program', async (change) => {
      for (const gone of await change.leases.ended()) await change.leases.give(gone);
      check(await change.leases.live());
      if (!(await leases.takeWithin(change, wanted))) throw new AppError('BUSY', 'another command does the same');
    });
    return leases.keep(wanted);
  }

  private refuseStrange(lease: LeaseRow): void {
    const [, id] = lease.name.split(SERVICE);
    if (fs.existsSync(path.join(this.place, id!))) return;
    throw new AppError(
      'CONFLICT',
      `a service on ${hostOf(lease)} uses this database with another data folder than ${this.folder.path}: all services on one database share one folder (docs/operations.md, Several instances)`,
    );
  }
}

const isService = ({ name }: LeaseRow): boolean => name.startsWith(SERVICE);

/** Machine of whoever holds a lease, for people. */
const hostOf = ({ holder }: LeaseRow): string => holder.split(' ')[1] ?? '?';
