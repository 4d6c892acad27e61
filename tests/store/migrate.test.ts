import { execFileSync } from 'node:child_process';
import path from 'node:path';
import Database from 'better-sqlite3';
import type { AppError } from '../../src/base/errors.js';
import { PROGRAM_ROOT } from '../../src/base/settings.js';
import { migrationsOf } from '../../src/store/migrations.js';
import { migrate } from '../../src/store/sqlite/migrate.js';
import { fillEveryTable } from './fill.js';
import { ACTOR, openStore, temporaryFolder } from './open-store.js';

const later = (name: string, sql: string) => ({ name: `29991231235959_${name}`, sql, checksum: name });

const triggersOf = (db: Database.Database): unknown[] =>
  db.prepare("SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name").all();

let db: Database.Database;
beforeEach(() => {
  db = new Database(':memory:');
});
afterEach(() => db.close());

describe('bringing a database up to date', () => {
  it('applies each migration once', () => {
    expect(migrate(db)).toEqual(migrationsOf('sqlite').map((migration) => migration.name));
    expect(migrate(db)).toEqual([]);
  });

  it('has guards and schema that belong to the migrations as committed', () => {
    const tool = path.join(PROGRAM_ROOT, 'scripts', 'write-migration.mjs');
    expect(() => execFileSync(process.execPath, [tool, '--check'], { stdio: 'pipe' })).not.toThrow();
  });

  it('leaves everything as it was when one of several migrations fails', () => {
    migrate(db);
    const before = triggersOf(db);
    const good = later('a', 'CREATE TABLE "Extra" ("id" INTEGER PRIMARY KEY);');
    const bad = later('b', 'CREATE TABLE "More" ("id" INTEGER PRIMARY KEY); INSERT INTO "Nowhere" VALUES (1);');
    expect(() => migrate(db, [...migrationsOf('sqlite'), good, bad])).toThrow('Nowhere');
    expect(triggersOf(db)).toEqual(before);
    expect(db.prepare("SELECT name FROM sqlite_master WHERE name IN ('Extra', 'More')").all()).toEqual([]);
    expect(migrate(db)).toEqual([]);
  });

  it('refuses a migration that would leave references to nothing', () => {
    migrate(db);
    const sql = `INSERT INTO "Finding" VALUES (1, 99, 'x', 'b', 'r', 'alert', NULL, 1, '{}');`;
    expect(() => migrate(db, [...migrationsOf('sqlite'), later('orphan', sql)])).toThrow('1 references would break');
  });

  it.each([
    ['edited', () => migrationsOf('sqlite').map((item) => ({ ...item, checksum: 'other' })), 'was edited after it ran'],
    ['unknown', () => [], 'written by a newer program'],
    [
      'late',
      () => [...migrationsOf('sqlite'), { name: '20000101000000_early', sql: '', checksum: 'x' }],
      'older than one that already ran',
    ],
  ])('refuses %s migrations', (_what, migrations, reason) => {
    migrate(db);
    expect(() => migrate(db, migrations())).toThrow(reason);
  });

  it('refuses a database whose guards somebody removed, weakened or added to, and names them', () => {
    migrate(db);
    const attacks: [string, string][] = [
      ['DROP TRIGGER "guard_Result_update"', 'guard_Result_update is missing'],
      [
        `DROP TRIGGER "guard_Part_delete"; CREATE TRIGGER "guard_Part_delete" BEFORE DELETE ON "Part" BEGIN SELECT 1; END`,
        'guard_Part_delete was changed',
      ],
      [
        'CREATE TRIGGER "silent" AFTER INSERT ON "LedgerLock" BEGIN DELETE FROM "LedgerLock"; END',
        'silent is not one of ours',
      ],
    ];
    for (const [sql, fault] of attacks) {
      db.exec(`SAVEPOINT attack; ${sql};`);
      const copy = new Database(db.serialize());
      expect(() => migrate(copy)).toThrow(fault);
      copy.close();
      db.exec('ROLLBACK TO attack; RELEASE attack');
    }
    expect(migrate(db)).toEqual([]);
  });

  it('says that a tampered database was altered', () => {
    migrate(db);
    db.exec('DROP TRIGGER "guard_Entry_delete"');
    const code = (): string => {
      try {
        migrate(db);
        return 'accepted';
      } catch (error) {
        return (error as AppError).code;
      }
    };
    expect(code()).toBe('ALTERED');
  });
});

describe('a migration that rebuilds a table', () => {
  // The way Prisma writes it: a new table, the rows copied, the old one dropped. Dropping takes the triggers along, and
  // with foreign keys on it deletes or refuses the rows that refer to the table.
  const REBUILD = `
    PRAGMA defer_foreign_keys=ON;
    PRAGMA foreign_keys=OFF;
    CREATE TABLE "new_LogFile" (
      "id" INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT, "lot" TEXT NOT NULL, "build" TEXT NOT NULL,
      "fileName" TEXT NOT NULL, "evidence" TEXT NOT NULL, "planSha256" TEXT NOT NULL, "scanner" TEXT NOT NULL,
      "facts" TEXT NOT NULL, "part" TEXT NOT NULL, "ledgerSeq" INTEGER NOT NULL, "note" TEXT NOT NULL DEFAULT '');
    INSERT INTO "new_LogFile" ("id", "lot", "build", "fileName", "evidence", "planSha256", "scanner", "facts", "part",
      "ledgerSeq") SELECT "id", "lot", "build", "fileName", "evidence", "planSha256", "scanner", "facts", "part",
      "ledgerSeq" FROM "LogFile";
    DROP TABLE "LogFile";
    ALTER TABLE "new_LogFile" RENAME TO "LogFile";
    CREATE UNIQUE INDEX "LogFile_build_evidence_planSha256_key" ON "LogFile"("build", "evidence", "planSha256");
    PRAGMA foreign_keys=ON;
    PRAGMA defer_foreign_keys=OFF;`;

  it('keeps the rows that refer to the table, and the guards', async () => {
    const { folder, remove } = temporaryFolder();
    const store = await openStore(folder);
    await store.change(ACTOR, fillEveryTable(store.key));
    await store.close();
    const file = new Database(path.join(folder, 'lotwright.sqlite'));
    try {
      const before = triggersOf(file);
      migrate(file, [...migrationsOf('sqlite'), later('rebuild', REBUILD)]);
      expect(triggersOf(file)).toEqual(before);
      expect(file.prepare('SELECT count(*) AS n FROM "LogSummary"').get()).toEqual({ n: 1 });
      expect(file.prepare('SELECT count(*) AS n FROM "Finding"').get()).toEqual({ n: 1 });
      expect(file.pragma('foreign_keys', { simple: true })).toBe(1);
      const attacks = [
        'UPDATE "LogFile" SET "lot" = "build"',
        'DELETE FROM "LogFile"',
        'INSERT OR REPLACE INTO "LogFile" SELECT * FROM "LogFile"',
      ];
      for (const attack of attacks) expect(() => file.exec(attack)).toThrow('LogFile is append-only');
    } finally {
      file.close();
      remove();
    }
  });
});
