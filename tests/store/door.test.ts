import fs from 'node:fs';
import path from 'node:path';
import { PROGRAM_ROOT } from '../../src/base/settings.js';

/** What only some files may contain. Everything else in `src` must go through the write door or the reading side. */
const RULES: readonly { readonly what: string; readonly pattern: RegExp; readonly allowed: readonly string[] }[] = [
  {
    what: 'reaches the database',
    pattern: /from '(?:@prisma\/[^']+|better-sqlite3|node:sqlite|postgres|[^']*generated(?:-\w+)?\/[^']+)'/,
    allowed: [
      'store/db.ts',
      'store/new-rows.ts',
      'store/plain-questions.ts',
      'store/sqlite/connection.ts',
      'store/sqlite/database-client.ts',
      'store/sqlite/sqlite-engine.ts',
      'store/sqlite/recorded-tables.ts',
      'store/sqlite/file-check.ts',
      'store/sqlite/ledger-audit.ts',
      'store/sqlite/file-audit.ts',
      'store/sqlite/key-audit.ts',
      'store/sqlite/row-audit.ts',
      'store/sqlite/history-audit.ts',
      'store/sqlite/migrate.ts',
      'store/sqlite/database-copy.ts',
      'store/sqlite/service-lock.ts',
      'store/postgresql/connection.ts',
      'store/postgresql/driver.ts',
      'store/postgresql/postgresql-engine.ts',
      'store/postgresql/relocate.ts',
      'store/postgresql/snapshot.ts',
    ],
  },
  {
    what: 'writes a row through Prisma',
    pattern: /\.\w+\s*\.(?:create|createMany\w*|update|updateMany\w*|upsert|delete|deleteMany)\s*\(\s*(?:\{|\))/,
    allowed: ['store/identity-rows.ts', 'store/scan-job-rows.ts', 'store/draft-rows.ts'],
  },
  { what: 'runs a writing statement', pattern: /\$executeRaw/, allowed: [] },
  {
    what: 'has a writing statement run',
    pattern: /\bdb\.tell\(/,
    allowed: [
      'store/lease-rows.ts',
      'store/rate-rows.ts',
      'store/write-lock.ts',
      'store/recorder.ts',
      'store/history-upkeep.ts',
      'store/kept-views.ts',
      'store/identity-rows.ts',
    ],
  },
  {
    what: 'opens a transaction',
    pattern: /\$transaction|\.transaction\(/,
    allowed: [
      'store/store.ts',
      'store/sqlite/sqlite-engine.ts',
      'store/sqlite/migrate.ts',
      'store/postgresql/postgresql-engine.ts',
      'store/postgresql/snapshot.ts',
    ],
  },
  {
    what: 'runs a raw query',
    pattern: /\$queryRaw/,
    allowed: [],
  },
  {
    what: 'holds a writing statement',
    pattern: /\b(?:INSERT\s+(?:OR\s+\w+\s+)?INTO|REPLACE\s+INTO|UPDATE\s+"|DELETE\s+FROM|DROP\s+|ALTER\s+TABLE)/,
    allowed: [
      'store/sqlite/ledger.ts',
      'store/sqlite/history.ts',
      'store/sqlite/kept.ts',
      'store/plain-questions.ts',
      'store/sqlite/recorded-tables.ts',
      'store/sqlite/migrate.ts',
      'store/sqlite/database-copy.ts',
      'store/postgresql/ledger.ts',
      'store/postgresql/history.ts',
      'store/postgresql/kept.ts',
      'store/postgresql/migrate.ts',
      'store/postgresql/recorded-tables.ts',
      'store/postgresql/relocate.ts',
      'store/postgresql/snapshot.ts',
    ],
  },
  {
    what: 'makes or opens a database handle',
    pattern: /new (?:Database|PrismaClient|PrismaBetterSqlite3|KeepingDriver)\(/,
    allowed: [
      'store/sqlite/sqlite-engine.ts',
      'store/sqlite/database-client.ts',
      'store/sqlite/database-copy.ts',
      'store/sqlite/file-check.ts',
      'store/sqlite/ledger-audit.ts',
      'store/sqlite/service-lock.ts',
      'store/postgresql/relocate.ts',
      'store/postgresql/snapshot.ts',
    ],
  },
];

const SOURCES = path.join(PROGRAM_ROOT, 'src');

function sourceFiles(): string[] {
  const files = fs.readdirSync(SOURCES, { recursive: true, encoding: 'utf8' });
  return files.filter((file) => file.endsWith('.ts') && !file.startsWith(path.join('store', 'generated')));
}

const offences = (file: string, text: string): string[] =>
  RULES.filter((rule) => rule.pattern.test(text) && !rule.allowed.includes(file)).map((rule) => rule.what);

describe('the one write door', () => {
  it('is the only way to the database from anywhere in the program (ASVS 5.3.4)', () => {
    const found = sourceFiles().flatMap((file) =>
      offences(file, fs.readFileSync(path.join(SOURCES, file), 'utf8')).map((what) => `${file} ${what}`),
    );
    expect(found).toEqual([]);
  });

  it('has rules that still match what they are about', () => {
    for (const { what, pattern, allowed } of RULES) {
      const matching = allowed.filter((file) => pattern.test(fs.readFileSync(path.join(SOURCES, file), 'utf8')));
      expect([what, matching]).toEqual([what, [...allowed]]);
    }
  });

  it.each([
    ["import Database from 'better-sqlite3';", 'reaches the database'],
    ["import type { PrismaClient } from '../store/generated/client.js';", 'reaches the database'],
    ['await this.db.result.update({ where: { id } });', 'writes a row through Prisma'],
    ['await tx.entry\n  .deleteMany();', 'writes a row through Prisma'],
    ['await client.$executeRawUnsafe(sql);', 'runs a writing statement'],
    ['await this.db.tell(sql);', 'has a writing statement run'],
    ['await client.$transaction([]);', 'opens a transaction'],
    ['const sql = `DELETE FROM "Result"`;', 'holds a writing statement'],
  ])('sees %s', (text, what) => {
    expect(offences('web/page.ts', text)).toContain(what);
  });
});
