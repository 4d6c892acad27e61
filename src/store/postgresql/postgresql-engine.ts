import fs from 'node:fs';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { setFlagsFromString } from 'node:v8';
import { AppError } from '../../base/errors.js';
import type { DataFolder } from '../data-folder.js';
import { Db } from '../db.js';
import type { AuditOptions, Engine } from '../engine.js';
import type { PrismaClient } from '../generated/client.js';
import { PrismaClient as Client } from '../generated-postgresql/client.js';
import type { LedgerReport } from '../ledger-report.js';
import type { RecordedTable } from '../recorded-table.js';
import { leaveOutPassing } from '../sqlite/database-copy.js';
import { auditLedger } from '../sqlite/ledger-audit.js';
import { shareServiceLock, takeServiceLock } from '../sqlite/service-lock.js';
import { type Connections, checkAddress, connectTo } from './connection.js';
import { askingOn, DriverOver } from './driver.js';
import { guardFaults } from './guards.js';
import { checkDatabase, isBehind, migrateAs } from './migrate.js';
import { asReached, isAway, isBusy } from './reached.js';
import { columnsOf, recordedTablesIn } from './recorded-tables.js';
import { snapshot } from './snapshot.js';
import { POSTGRESQL } from './statements.js';

const TRANSACTION_LIMIT_MS = 10 * 60_000;
/** To begin, where connections were lost. */
const MOST_TRIES = 5;
const TRY_AGAIN_MS = 10;
/** Questions of one page that are asked beside one another. */
const READERS = 4;
/** Names of folders that hold the rows while they are checked: what follows makes them different. */
const CHECK = 'check-';
const OF_A_CHECK = /^check-\w{6}$/;
const WITHOUT_SECOND_COMPILATION = '--wasm-tiering-budget=180000000';

/** PostgreSQL beside a data folder, which keeps files and keys: for more people and more lots than one file serves well. */
export class PostgresqlEngine implements Engine {
  readonly reading: Db;
  private readonly reader: Client;
  /** Made by the first change: whoever only reads needs no second client. */
  private writer: { readonly client: Client; readonly driver: DriverOver } | undefined;
  private serviceLock: { close(): void } | undefined;

  private constructor(
    private readonly folder: DataFolder,
    private readonly forReading: Connections,
    private readonly forWriting: Connections,
    readonly tables: readonly RecordedTable[],
  ) {
    setFlagsFromString(WITHOUT_SECOND_COMPILATION);
    this.reader = new Client({ adapter: new DriverOver(forReading) });
    this.reading = new Db(asKnown(this.reader), POSTGRESQL, undefined, askingOn(forReading));
  }

  /**
   * @param url with the role of the program, which owns nothing.
   * @param owner the same with the role that owns the tables; needed where these are to be made or changed.
   */
  static async open(folder: DataFolder, url: string, owner: string | undefined): Promise<PostgresqlEngine> {
    checkAddress(url);
    const forReading = connectTo(url, { most: READERS, readsOnly: true });
    const forWriting = connectTo(url, { most: 1, readsOnly: false });
    try {
      if (await isBehind(forReading)) {
        if (owner === undefined) throw withoutOwner();
        await migrateAs(owner, decodeURIComponent(new URL(url).username));
      }
      await checkDatabase(forReading);
      return new PostgresqlEngine(folder, forReading, forWriting, recordedTablesIn(await columnsOf(forReading)));
    } catch (error) {
      await Promise.all([forReading.end(), forWriting.end()]);
      throw asReached(error);
    }
  }

  async transaction<T>(work: (db: Db) => Promise<T>): Promise<T> {
    this.writer ??= writerOn(this.forWriting);
    const { client, driver } = this.writer;
    let begun = false;
    const once = () =>
      client.$transaction(
        async (tx) => {
          begun = true;
          const own = driver.transaction!;
          try {
            return await work(new Db(asKnown(tx), POSTGRESQL, undefined, own));
          } finally {
            await own.settled();
          }
        },
        { timeout: TRANSACTION_LIMIT_MS, maxWait: TRANSACTION_LIMIT_MS },
      );
    for (let tries = 1; ; tries += 1) {
      try {
        return await once();
      } catch (error) {
        // A connection that was lost while nobody used it tells so only now: nothing was done on it yet.
        if (begun || tries === MOST_TRIES || !isAway(error)) {
          // The write door tries again.
          throw isBusy(error) ? error : asReached(error);
        }
        await sleep(TRY_AGAIN_MS * tries);
      }
    }
  }

  /** The client keeps the code of the driver beside its own. */
  isBusy(error: unknown): boolean {
    return isBusy(error);
  }

  readonly isShared = true;

  becomeService(): void {
    this.serviceLock = shareServiceLock(this.folder.path);
  }

  standAlone(): void {
    this.serviceLock = takeServiceLock(this.folder.path);
  }

  async audit(options: AuditOptions): Promise<LedgerReport> {
    return this.withSnapshot(async (file) => {
      const report = await auditLedger(file, options);
      const faults = await guardFaults(this.forReading);
      if (faults.length === 0) return report;
      const reason = { code: 'other schema', facts: { faults } } as const;
      const fault = { kind: 'database', key: 'guards', revision: null, seq: null, fault: reason };
      const all = { faultCount: report.faultCount + 1, faults: [fault, ...report.faults] };
      return report.ok ? { ...report, ...all, ok: false, seq: report.size, reason } : { ...report, ...all };
    });
  }

  async copy(target: string): Promise<number> {
    await snapshot(this.forReading, target);
    return leaveOutPassing(target);
  }

  async close(): Promise<void> {
    await Promise.all([this.reader.$disconnect(), this.writer?.client.$disconnect()]);
    await Promise.all([this.forReading.end(), this.forWriting.end()]);
    this.serviceLock?.close();
  }

  /** The file lies in the data folder, whose owner alone reads it, and no longer than it is read. */
  private async withSnapshot<T>(work: (file: string) => Promise<T>): Promise<T> {
    this.removeLeftSnapshots();
    const place = fs.mkdtempSync(path.join(this.folder.path, CHECK));
    // Goes with the process, and tells so that nobody reads the file any more.
    const reads = takeServiceLock(place);
    try {
      const file = path.join(place, 'lotwright.sqlite');
      await snapshot(this.forReading, file);
      return await work(file);
    } finally {
      reads.close();
      fs.rmSync(place, { recursive: true, force: true });
    }
  }

  /** What checks left there that were killed; those that run hold their lock. */
  private removeLeftSnapshots(): void {
    for (const name of fs.readdirSync(this.folder.path).filter((one) => OF_A_CHECK.test(one))) {
      const place = path.join(this.folder.path, name);
      try {
        takeServiceLock(place).close();
      } catch {
        // It is read, or went meanwhile.
        continue;
      }
      fs.rmSync(place, { recursive: true, force: true });
    }
  }
}

function writerOn(connections: Connections) {
  const driver = new DriverOver(connections);
  return { client: new Client({ adapter: driver }), driver };
}

/** Both clients are generated from one schema, and answer alike. */
const asKnown = (client: unknown) => async () => client as PrismaClient;

const withoutOwner = (): AppError =>
  new AppError(
    'CONFLICT',
    'the tables of the database are not those of this program yet: name the role that owns them in LOTWRIGHT_STORE_OWNER, as postgresql://owner@host:5432/database, and start again',
  );
