import fs from 'node:fs';
import path from 'node:path';
import Database from 'better-sqlite3';
import fc from 'fast-check';
import { storedFaultText } from '../../src/report/phrases/stored-faults.js';
import { moments } from '../../src/statistics/summary.js';
import { poolTotals } from '../../src/store/gather-history.js';
import { historyDigest, type SummarisedValues } from '../../src/store/histories.js';
import type { Store } from '../../src/store/store.js';
import { ACTOR, openStore, temporaryFolder } from './open-store.js';

const FAMILY = 'F';
const CHARACTERISTIC = 'rm';
const NEXT_CENTURY = '2131-01-01T00:00:00.000Z';

const { folder, remove } = temporaryFolder();
let store: Store;
beforeAll(async () => {
  store = await openStore(path.join(folder, 'property'));
});
afterAll(async () => {
  await store.close();
  remove();
});

const row = (family: string, lot: string, context: string, values: readonly number[]): SummarisedValues => {
  const known = values.length === 0 ? undefined : moments(values);
  return {
    family,
    characteristic: CHARACTERISTIC,
    build: `B-${lot}`,
    builtAt: '2031-02-03T08:00:00+01:00',
    context,
    n: values.length,
    mean: known?.mean ?? null,
    sumSquaredDeviations: known?.sumSquares ?? null,
    min: known?.min ?? null,
    max: known?.max ?? null,
    censored: 0,
    values: values.map((value, index) => ['S', '', index + 1, value]),
    takenOut: [],
  };
};

const add = (lot: string, rows: readonly SummarisedValues[]) =>
  store.change(ACTOR, (change) => change.histories.add(lot, '0'.repeat(64), rows));

it('gives the sums of all single values that stand, whatever was replaced and in whatever contexts they are', async () => {
  const value = fc.integer({ min: -400, max: 400 }).map((n) => 230 + n / 100);
  const content = fc.dictionary(fc.constantFrom('a', 'b', 'c'), fc.array(value, { minLength: 1, maxLength: 6 }), {
    maxKeys: 3,
  });
  const acts = fc.array(fc.record({ lot: fc.integer({ min: 1, max: 6 }), content }), { minLength: 1, maxLength: 12 });
  let run = 0;
  await fc.assert(
    fc.asyncProperty(acts, async (told) => {
      run += 1;
      const family = `${FAMILY}${run}`;
      const stands = new Map<string, Record<string, number[]>>();
      for (const { lot, content: said } of told) {
        const code = `${family}-L${lot}`;
        stands.set(code, said);
        await add(
          code,
          Object.entries(said).map(([context, values]) => row(family, code, context, values)),
        );
      }
      const admitted = ['a', 'b'];
      const lots = [...stands].map(([lot, said]) => ({
        lot,
        values: admitted.flatMap((context) => said[context] ?? []),
      }));
      const counted = lots.filter(({ values }) => values.length > 0);
      const [head] = await store.read.histories.heads(family, [CHARACTERISTIC]);
      if (!head) {
        expect(counted).toEqual([]);
        return;
      }
      const asked = [family, head.ledgerSeq, NEXT_CENTURY, ''] as const;
      const found = await store.read.histories.contexts(...asked, [[CHARACTERISTIC, head.reference]]);
      const contexts = found.get(CHARACTERISTIC)!.filter(({ context }) => admitted.includes(context));
      const pairs = admitted.map((context): [string, string] => [CHARACTERISTIC, context]);
      const [members] = await store.read.histories.members(...asked, pairs);
      const sums = poolTotals(contexts, head.reference, members);
      if (counted.length === 0) {
        expect(sums.n).toBe(0);
        return;
      }
      const plain = moments(counted.flatMap(({ values }) => values));
      expect([sums.n, sums.lots, sums.builds]).toEqual([plain.n, counted.length, counted.length]);
      expect([sums.min, sums.max]).toEqual([plain.min, plain.max]);
      expect(sums.mean).toBeCloseTo(plain.mean, 6);
      expect(Math.abs(sums.sumSquaredDeviations! - plain.sumSquares)).toBeLessThanOrEqual(
        1e-8 * Math.max(1, plain.sumSquares),
      );
    }),
    { numRuns: 25, seed: 14 },
  );
});

it('stores nothing when a lot says the same again', async () => {
  await add('L-same', [row('SAME', 'L-same', 'a', [1, 2])]);
  const size = await store.read.ledger.size();
  await add('L-same', [row('SAME', 'L-same', 'a', [1, 2])]);
  expect(await store.read.ledger.size()).toBe(size);
});

describe('its chain', () => {
  const made = path.join(folder, 'chain');
  beforeAll(async () => {
    const chained = await openStore(made);
    for (const lot of ['L-1', 'L-2', 'L-3', 'L-1']) {
      const values = [230, 231, await chained.read.ledger.size()];
      await chained.change(ACTOR, (change) =>
        change.histories.add(lot, '0'.repeat(64), [row(FAMILY, lot, 'a', values)]),
      );
    }
    await chained.close();
  });

  type Sql = Database.Database;
  const reseal = (sql: Sql, from: number) => {
    const rows = sql.prepare('SELECT * FROM "LotSummary" WHERE position >= ? ORDER BY position').all(from) as Record<
      string,
      unknown
    >[];
    let previous =
      (
        sql.prepare('SELECT digest FROM "LotSummary" WHERE position = ?').get(from - 1) as
          | { digest: string }
          | undefined
      )?.digest ?? '';
    for (const { id, ledgerSeq: _, digest: __, ...said } of rows) {
      const digest = historyDigest({ ...said, previous } as never);
      sql.prepare('UPDATE "LotSummary" SET previous = ?, digest = ? WHERE id = ?').run(previous, digest, id);
      previous = digest;
    }
  };

  it.each<[string, (sql: Sql) => void, RegExp]>([
    [
      'a changed sum',
      (sql) => sql.exec('UPDATE "LotSummary" SET mean = 9 WHERE position = 2'),
      /position 2: its digest is not the one/,
    ],
    [
      'a changed value with its digest made anew',
      (sql) => {
        sql.exec(`UPDATE "LotSummary" SET "values" = '[]' WHERE position = 2`);
        const {
          id: _,
          ledgerSeq: __,
          digest: ___,
          ...said
        } = sql.prepare('SELECT * FROM "LotSummary" WHERE position = 2').get() as Record<string, unknown>;
        sql.prepare('UPDATE "LotSummary" SET digest = ? WHERE position = 2').run(historyDigest(said as never));
      },
      /position 3: it is not chained with the row before it/,
    ],
    [
      'a removed row',
      (sql) => sql.exec('DELETE FROM "LotSummary" WHERE position = 2'),
      /position 3: position 2 is missing before it/,
    ],
    [
      'a row that stands in place of one of another lot, with the chain made anew',
      (sql) => {
        sql.exec('UPDATE "LotSummary" SET replaces = 2 WHERE position = 4');
        reseal(sql, 4);
      },
      /position 4: it stands in place of position 2/,
    ],
    [
      'two rows that changed places, with the chain made anew',
      (sql) => {
        sql.exec(
          'UPDATE "LotSummary" SET position = 99 WHERE position = 2; UPDATE "LotSummary" SET position = 2 WHERE position = 3; UPDATE "LotSummary" SET position = 3 WHERE position = 99',
        );
        reseal(sql, 1);
      },
      // The chain is whole again; the ledger knows the rows.
      /^summaries of lot L-2: its row in LotSummary/,
    ],
  ])('is told of %s', async (_, attack, expected) => {
    const copy = fs.mkdtempSync(path.join(folder, 'attack-'));
    fs.cpSync(made, copy, { recursive: true });
    const sql = new Database(path.join(copy, 'lotwright.sqlite'));
    const triggers = sql.prepare("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").all() as {
      name: string;
      sql: string;
    }[];
    for (const { name } of triggers) sql.exec(`DROP TRIGGER "${name}"`);
    attack(sql);
    for (const trigger of triggers) sql.exec(trigger.sql);
    sql.close();
    const opened = await openStore(copy);
    try {
      const { ok, faults } = await opened.verifyLedger();
      expect(ok).toBe(false);
      expect(faults.map(({ kind, key, fault }) => `${kind} ${key}: ${storedFaultText(fault)}`)).toContainEqual(
        expect.stringMatching(expected),
      );
    } finally {
      await opened.close();
    }
  });
});
