import fs from 'node:fs';
import path from 'node:path';
import Database from 'better-sqlite3';
import { explained } from '../../src/base/disk-trouble.js';
import { AppError } from '../../src/base/errors.js';
import { checkFolder } from '../../src/custody/integrity.js';
import { storedFaultText } from '../../src/report/phrases/stored-faults.js';
import { DataFolder } from '../../src/store/data-folder.js';
import type { LedgerReport } from '../../src/store/ledger-report.js';
import { auditLedger } from '../../src/store/sqlite/ledger-audit.js';
import { fillEveryTable, result } from '../store/fill.js';
import { ACTOR, openStore, temporaryFolder } from '../store/open-store.js';
import { uniformNumbers } from '../support/numbers.js';

const LONG = process.env.LOTWRIGHT_TEST_LONG;
const FLIPS = LONG ? 5000 : 50;
/** Opening the folder, and checking all of it, costs several times as much as holding its database against its ledger. */
const CHECKED = LONG ? 1 : 3;
const SEED = 20311127;

/** Everything that is recorded; sessions and the like change in place and prove nothing. */
const TABLES = [
  ...['Entry', 'Revision', 'Link', 'Evidence', 'Result', 'LogFile', 'LogSummary', 'Finding', 'Dossier', 'Part'],
  ...[
    'Assessment',
    'LotSummary',
    'Record',
    'Signature',
    'SignatureSubject',
    'Event',
    'LedgerEntry',
    'LedgerNode',
    'LedgerLock',
  ],
];
type Row = Record<string, unknown>;

const { folder, remove } = temporaryFolder();
const file = path.join(folder, 'lotwright.sqlite');
let whole: Buffer;

beforeAll(async () => {
  const store = await openStore(folder);
  await store.change(ACTOR, fillEveryTable(store.key));
  const [first] = await store.read.results.current('L-1');
  const corrected = result({ value: '1.3', reason: 'misread', replacesId: first!.id });
  await store.change(ACTOR, (change) => change.results.add('L-1', 'results/thickness.csv', [corrected]));
  for (let step = 1; step <= 40; step += 1) {
    const links = [{ name: 'family', to: { kind: 'family', key: 'F-1' } }];
    await store.change(ACTOR, (change) =>
      change.entries.add({ kind: 'recipe', key: `R-${step % 7}`, name: 'Recipe', body: { format: 1, step }, links }),
    );
  }
  await store.close();
  whole = fs.readFileSync(file);
});
afterAll(() => remove());

function put(bytes: Buffer): void {
  fs.writeFileSync(file, bytes);
  for (const rest of ['-wal', '-shm']) fs.rmSync(`${file}${rest}`, { force: true });
}

/** Rows of every table as far as they can be read, without looking at any index. */
function contentOf(): Map<string, Row[] | undefined> {
  const db = new Database(file, { readonly: true });
  const rowsOf = (table: string): Row[] | undefined => {
    try {
      return db.prepare(`SELECT rowid AS place, * FROM "${table}" NOT INDEXED ORDER BY rowid`).all() as Row[];
    } catch {
      return undefined;
    }
  };
  try {
    return new Map(TABLES.map((table) => [table, rowsOf(table)]));
  } finally {
    db.close();
  }
}

/** What is said of a folder; a damaged file may be refused as a whole, or take no more writing, but only in words. */
async function saidOf<T>(look: () => Promise<T>): Promise<T | AppError> {
  try {
    return await look();
  } catch (error) {
    const said = explained(error);
    if (!(said instanceof AppError)) throw error;
    expect(said.code).toMatch(/^(?:ALTERED|STORAGE)$/);
    return said;
  }
}

/** The entry of the audit trail, or the name, under which a row must turn up. */
function namesOf(table: string, row: Row): (number | string)[] {
  const place = `row ${row.place}`;
  switch (table) {
    case 'LedgerEntry':
      return [row.seq as number, place];
    case 'LedgerNode': {
      const [level, index] = [row.level as number, row.index as number];
      return [`node over entries ${index * 2 ** level + 1} to ${(index + 1) * 2 ** level}`, 'nodes', place];
    }
    case 'LedgerLock':
      return ['signed head'];
    default:
      return [row.ledgerSeq as number, place];
  }
}

const isNamed = ({ faults }: LedgerReport, names: readonly (number | string)[]): boolean =>
  faults.some(({ seq, key, fault }) =>
    names.some(
      (name) => name === seq || name === key || (typeof name === 'string' && storedFaultText(fault).includes(name)),
    ),
  );

const sameValues = (a: Row, b: Row): boolean => JSON.stringify(Object.values(a)) === JSON.stringify(Object.values(b));

describe('a single byte of the database that was changed', () => {
  it('never ends a check with a stack, and a row whose content it changes is named', async () => {
    const before = contentOf();
    const random = uniformNumbers(SEED);
    let changedRows = 0;
    const unseen: unknown[] = [];
    for (let flip = 0; flip < FLIPS; flip += 1) {
      // Most of the file is empty space, where nothing can be damaged.
      let at = Math.floor(random() * whole.length);
      while (whole[at] === 0) at = Math.floor(random() * whole.length);
      const damaged = Buffer.from(whole);
      damaged[at] = damaged[at]! ^ (1 << Math.floor(random() * 8));
      put(damaged);
      const report = await saidOf(() => auditLedger(file));
      const content = report instanceof AppError ? undefined : contentOf();
      if (flip % CHECKED === 0) {
        const check = await saidOf(() => checkFolder(DataFolder.open(folder), ACTOR));
        const isWhole = !(report instanceof AppError) && report.ok;
        if (!isWhole && !(check instanceof AppError)) expect([at, check.faults.length]).not.toEqual([at, 0]);
      }
      if (report instanceof AppError || content === undefined) continue;
      for (const table of TABLES) {
        const [old, now] = [before.get(table)!, content.get(table)];
        if (now === undefined) {
          if (report.ok) unseen.push([at, table, 'unreadable']);
          continue;
        }
        // A column may be called otherwise over rows that are as they were: then the tables are named, and no row.
        const namesOfColumns = (rows: readonly Row[]) => Object.keys(rows[0] ?? {}).join();
        if (namesOfColumns(now) !== namesOfColumns(old) && report.ok) unseen.push([at, table, 'columns']);
        const changed = old.filter((row) => !now.some((item) => sameValues(item, row)));
        for (const row of changed) {
          changedRows += 1;
          if (!isNamed(report, namesOf(table, row))) unseen.push([at, table, row, report.faults]);
        }
      }
    }
    put(whole);
    expect(unseen).toEqual([]);
    expect(changedRows).toBeGreaterThan(FLIPS / 10);
    if (LONG)
      console.log(`database: ${FLIPS} single bits changed from seed ${SEED}, ${changedRows} rows with them, all named`);
    expect(await auditLedger(file)).toMatchObject({ ok: true, faults: [] });
  });
});
