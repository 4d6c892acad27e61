import fs from 'node:fs';
import path from 'node:path';
import Database from 'better-sqlite3';
import fc from 'fast-check';
import { canonicalJson } from '../../src/dossier/canonical.js';
import { excludedBecause, HistoryContext, type Pool } from '../../src/dossier/pool.js';
import { storedFaultText } from '../../src/report/phrases/stored-faults.js';
import { moments } from '../../src/statistics/summary.js';
import {
  ALWAYS,
  historyDigest,
  LAST_ENTRY,
  NEVER,
  type RowTakenOut,
  type SummarisedValues,
} from '../../src/store/histories.js';
import { admittedBy, earlierSums, exclusions, oneExposure, poolTotals } from '../../src/store/history-pool.js';
import { countIn } from '../../src/store/history-sums.js';
import { inBuildOrder } from '../../src/store/history-values.js';
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
    beside: {},
  };
};

const add = (lot: string, rows: readonly SummarisedValues[]) =>
  store.change(ACTOR, (change) => change.histories.add(lot, '0'.repeat(64), rows));

const CONTEXT = {
  ...{ machine: 'M1', recipe: 'RC', recipeRevision: 1, recipeGroup: 'plates' },
  ...{ method: 'TM', methodRevision: 1, ucum: 'MPa', zoneClass: '' },
};
const CONTEXTS = [{}, { recipeRevision: 2 }, { machine: 'M2' }, { ucum: 'Pa' }].map((one) =>
  canonicalJson({ ...CONTEXT, ...one }),
);

/** What one lot says at one time: of builds, by context, values, and how many bounds and values taken out. */
const saying = fc
  .uniqueArray(
    fc.record({
      at: fc.constantFrom('02-27T23:30:00', '02-28T22:00:00', '03-01T02:00:00', '03-02T08:00:00', '12-31T23:59:00'),
      zone: fc.constantFrom('+00:00', '+14:00', '-11:00'),
      context: fc.constantFrom(...CONTEXTS),
      values: fc.array(
        fc.integer({ min: -400, max: 400 }).map((n) => 230 + n / 100),
        { maxLength: 4 },
      ),
      censored: fc.integer({ min: 0, max: 2 }),
      takenOut: fc.integer({ min: 0, max: 1 }),
    }),
    { maxLength: 5, selector: ({ at, context }) => `${at} ${context}` },
  )
  // All of a build was closed in one moment.
  .map((rows) => rows.map((one) => ({ ...one, zone: rows.find(({ at }) => at === one.at)!.zone })));

/** In whatever order lots are assessed, taken back, corrected and moved to another day. */
const acts = fc.array(fc.record({ lot: fc.integer({ min: 1, max: 5 }), said: saying }), {
  minLength: 1,
  maxLength: 12,
});

const asked = fc.record({
  before: fc.constantFrom('2031-03-01T00:00:00.000Z', '2031-03-02T08:00:00.000Z', NEXT_CENTURY),
  from: fc.constantFrom('', '2031-02-28', '2031-03-01'),
  except: fc.integer({ min: 0, max: 5 }),
});

const POOL = { recipeGroups: ['plates'], machines: ['M1'], methods: [{ method: 'TM', revision: 1 }], ucum: 'MPa' };

/** The same by a look at every single row. */
function plainly(rows: readonly SummarisedValues[], lots: readonly string[], pool: Pool) {
  const values: number[] = [];
  const byBuild = new Map<string, number[]>();
  const members = { lots: new Set<string>(), builds: new Set<string>() };
  const excluded = new Map<string, { values: number; lots: Set<string> }>();
  const leaveOut = (why: object, index: number, count: number) => {
    if (count === 0) return;
    const known = excluded.get(canonicalJson(why)) ?? { values: 0, lots: new Set() };
    known.values += count;
    known.lots.add(lots[index]!);
    excluded.set(canonicalJson(why), known);
  };
  for (const [index, { context, builtAt, build, values: own, censored }] of rows.entries()) {
    const why = excludedBecause(pool, HistoryContext.parse(JSON.parse(context)), builtAt);
    if (why) leaveOut(why, index, own.length + censored);
    else leaveOut({ code: 'only a bound', facts: {} }, index, censored);
    if (why || own.length === 0) continue;
    values.push(...own.map(([, , , value]) => value));
    byBuild.set(build, [...(byBuild.get(build) ?? []), ...own.map(([, , , value]) => value)]);
    members.lots.add(lots[index]!);
    members.builds.add(build);
  }
  return {
    values,
    builds: [...byBuild.values()],
    members,
    excluded,
    takenOut: rows.reduce((sum, { takenOut }) => sum + takenOut.length, 0),
  };
}

/** How many builds have so many values each. */
const sizesOf = (builds: readonly (readonly number[])[]): [number, number][] =>
  [...new Set(builds.map(({ length }) => length))]
    .sort((a, b) => a - b)
    .map((size) => [size, builds.filter(({ length }) => length === size).length]);

it('gives the sums of all single values that stand, in whatever order lots came, were corrected and taken back', async () => {
  let run = 0;
  await fc.assert(
    fc.asyncProperty(acts, fc.array(asked, { minLength: 3, maxLength: 3 }), async (told, questions) => {
      run += 1;
      const family = `${FAMILY}${run}`;
      const codeOf = (lot: number) => `${family}-L${lot}`;
      const stands = new Map<string, SummarisedValues[]>();
      await store.change(ACTOR, async (change) => {
        for (const { lot, said } of told) {
          const rows = said.map(({ at, zone, context, values, censored, takenOut }) => ({
            ...row(family, codeOf(lot), context, values),
            build: `B-${lot}-${at}`,
            builtAt: `2031-${at}${zone}`,
            censored,
            takenOut: Array.from({ length: takenOut }, (): RowTakenOut => ['S', '', 9, '1', 'slip', 'P-QE']),
          }));
          stands.set(codeOf(lot), rows);
          await change.histories.add(codeOf(lot), '0'.repeat(64), rows);
        }
      });
      for (const { before, from, except } of questions) {
        const lot = codeOf(except);
        const found = (await earlierSums(store.read.histories, { family, lot, before, from }, [CHARACTERISTIC])).get(
          CHARACTERISTIC,
        );
        const isEarlier = ({ builtAt }: SummarisedValues) => new Date(builtAt).toISOString() < before;
        const rows = [...stands].flatMap(([code, own]) =>
          code === lot ? [] : own.filter(isEarlier).map((one) => [code, one] as const),
        );
        const pool = { ...POOL, from: from === '' ? undefined : from };
        const plain = plainly(
          rows.map(([, one]) => one),
          rows.map(([code]) => code),
          pool,
        );
        if (found === undefined) {
          expect(rows.flatMap(([, { n, censored, takenOut }]) => [n, censored, ...takenOut])).toEqual([]);
          continue;
        }
        const sums = poolTotals(found.counted, admittedBy(pool, found.all));
        expect([sums.n, sums.lots, sums.builds]).toEqual([
          plain.values.length,
          plain.members.lots.size,
          plain.members.builds.size,
        ]);
        expect(
          Object.fromEntries(
            exclusions(pool, found).map(({ why, values, lots }) => [canonicalJson(why), [values, lots]]),
          ),
        ).toEqual(Object.fromEntries([...plain.excluded].map(([why, { values, lots }]) => [why, [values, lots.size]])));
        expect(found.all.contexts.reduce((sum, { takenOutCount }) => sum + takenOutCount, 0)).toBe(plain.takenOut);
        if (plain.values.length === 0) continue;
        const whole = moments(plain.values);
        expect([sums.min, sums.max]).toEqual([whole.min, whole.max]);
        expect(sums.mean).toBeCloseTo(whole.mean, 6);
        expect(Math.abs(sums.sumSquaredDeviations! - whole.sumSquares)).toBeLessThanOrEqual(
          1e-8 * Math.max(1, whole.sumSquares),
        );
        expect(sums.buildSizes.map((size) => [size.values, size.builds])).toEqual(sizesOf(plain.builds));
        for (const { values: size, mean, sumSquaredDeviations } of sums.buildSizes) {
          const means = moments(plain.builds.filter(({ length }) => length === size).map((own) => moments(own).mean));
          expect(mean).toBeCloseTo(means.mean, 6);
          expect(sumSquaredDeviations).toBeCloseTo(means.sumSquares, 6);
        }
        const within = plain.builds.reduce((sum, own) => sum + moments(own).sumSquares, 0);
        expect(sums.sumSquaredWithinBuilds).toBeCloseTo(within, 6);
      }
    }),
    { numRuns: 30, seed: 14 },
  );
  // The kept sums are, to the last digit, what the rows under the heads give.
  expect(await store.verifyLedger()).toMatchObject({ ok: true });
});

const MEGA = canonicalJson({ ucum: 'MPa' });
const UNIT = canonicalJson({ ucum: 'Pa' });

/** Sums of a family as a lot sees them that is not in it. */
const earlierOf = async (family: string, lot = 'L-own') =>
  (await earlierSums(store.read.histories, { family, lot, before: NEXT_CENTURY, from: '' }, [CHARACTERISTIC])).get(
    CHARACTERISTIC,
  )!;
const sumsOf = async (family: string, admitted: readonly string[], except?: string) =>
  poolTotals((await earlierOf(family, except)).counted, admitted);

it.each<[string, first: readonly [context: string, values: readonly number[]], corrected: Record<string, number[]>]>([
  ['the first lot is in another unit', [UNIT, [230e6, 231e6]], {}],
  ['the first value was mistyped, and corrected since', [MEGA, [230e6]], { 'L-1': [230.002] }],
])('keeps all digits of the spread when %s', async (family, [context, values], corrected) => {
  await add('L-1', [row(family, 'L-1', context, values)]);
  const later = { 'L-2': [230.0, 230.01], 'L-3': [230.003, 229.995], ...corrected };
  for (const [lot, measured] of Object.entries(later)) await add(lot, [row(family, lot, MEGA, measured)]);
  const plain = moments(Object.values(later).flat());
  const { n, mean, sumSquaredDeviations } = await sumsOf(family, [MEGA]);
  expect(n).toBe(plain.n);
  expect(mean).toBeCloseTo(plain.mean, 6);
  expect(sumSquaredDeviations! / plain.sumSquares).toBeCloseTo(1, 6);
});

it('puts contexts together that lie far apart, and gives no spread for equal values', async () => {
  await add('L-1', [row('APART', 'L-1', 'a', [1e6, 1e6 + 1])]);
  await add('L-2', [row('APART', 'L-2', 'b', [0.1, 0.1, 0.1])]);
  await add('L-3', [row('APART', 'L-3', 'b', [0.1])]);
  const plain = moments([1e6, 1e6 + 1, 0.1, 0.1, 0.1, 0.1]);
  expect((await sumsOf('APART', ['a', 'b'])).sumSquaredDeviations! / plain.sumSquares).toBeCloseTo(1, 8);
  expect((await sumsOf('APART', ['b'])).sumSquaredDeviations).toBe(0);
});

it('counts a lot once in several contexts, and not by a row that says no more', async () => {
  await add('L-1', [row('ONCE', 'L-1', 'a', [1]), { ...row('ONCE', 'L-1', 'b', []), censored: 2 }]);
  await add('L-2', [row('ONCE', 'L-2', 'a', [2]), row('ONCE', 'L-2', 'b', [3])]);
  await add('L-3', [row('ONCE', 'L-3', 'a', [4])]);
  await add('L-3', []);
  const { counted } = await earlierOf('ONCE');
  expect(counted.contexts.map(({ context, n, censored }) => [context, n, censored])).toEqual([
    ['a', 2, 0],
    ['b', 1, 2],
  ]);
  const both = new Set(['a', 'b']);
  expect((['both', 'values', 'bounds'] as const).map((of) => countIn(counted, 'lots', both, of))).toEqual([2, 2, 1]);
});

it('has a lot in no history of its own', async () => {
  await add('L-1', [row('OWN', 'L-1', 'a', [1, 2])]);
  await add('L-2', [row('OWN', 'L-2', 'a', [5])]);
  const { histories } = store.read;
  const [head] = await histories.heads('OWN', [CHARACTERISTIC]);
  expect(await sumsOf('OWN', ['a'], 'L-2')).toMatchObject({ n: 2, mean: 1.5, lots: 1 });
  const want = { family: 'OWN', characteristic: CHARACTERISTIC, seq: head!.ledgerSeq, before: NEXT_CENTURY };
  const rows = await histories.rows([
    { ...want, from: '', to: '9999', except: 'L-2' },
    { ...want, from: '', to: '9999' },
  ]);
  expect(rows.map((found) => found.map(({ lot }) => lot))).toEqual([['L-1'], ['L-1', 'L-2']]);
});

it('gives the last lots whole, although a lot has several contexts and one value of it was replaced', async () => {
  for (const lot of ['L-1', 'L-2', 'L-3']) {
    const day = `2031-02-0${lot.slice(2)}T08:00:00+01:00`;
    const said = ['a', 'b'].map((context) => ({ ...row('WHOLE', lot, context, [1, 2]), builtAt: day }));
    await add(lot, said);
    if (lot === 'L-2') await add(lot, [said[0]!, { ...row('WHOLE', lot, 'b', [1, 3]), builtAt: day }]);
  }
  const { histories } = store.read;
  const [head] = await histories.heads('WHOLE', [CHARACTERISTIC]);
  const asked = { family: 'WHOLE', characteristic: CHARACTERISTIC, seq: head!.ledgerSeq, from: '', to: '9999' };
  const want = { ...asked, before: NEXT_CENTURY, values: true };
  const found = await histories.rowsOfLastGroups(
    [
      { ...want, by: 'lot' },
      { ...want, by: 'build', except: 'L-3', contexts: ['b'] },
    ],
    2,
  );
  const told = found.map((rows) => rows.map(({ lot, context, max }) => `${lot} ${context} ${max}`));
  expect(told).toEqual([
    ['L-2 a 2', 'L-2 b 3', 'L-3 a 2', 'L-3 b 2'],
    ['L-1 b 2', 'L-2 b 3'],
  ]);
});

it('sums a long history of which every row was replaced in little time', async () => {
  const BUILDS = 2000;
  const rowsWith = (shift: number) =>
    Array.from({ length: BUILDS }, (_, index) => ({
      ...row('LONG', 'L-1', 'a', [index % 7, (index % 7) + shift]),
      build: `B-${index}`,
    }));
  await add('L-1', rowsWith(1));
  await add('L-1', rowsWith(2));
  const began = performance.now();
  const sums = await sumsOf('LONG', ['a']);
  // A look at few sums takes a millisecond. One that looks through all rows for each row takes ten seconds.
  expect(performance.now() - began).toBeLessThan(5000);
  expect([sums.n, sums.builds]).toEqual([2 * BUILDS, BUILDS]);
  expect(sums.mean).toBeCloseTo(
    moments(rowsWith(2).flatMap(({ values }) => values.map(([, , , value]) => value))).mean,
    6,
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
      'changed sums',
      (sql) => sql.exec(`UPDATE "HistorySum" SET "sums" = replace("sums", '"n":9', '"n":8') WHERE level = 0`),
      /sums: the sums that are kept of it are not those of its rows/,
    ],
    [
      'removed sums',
      (sql) => sql.exec('DELETE FROM "HistorySum" WHERE level = 3'),
      /sums 2031-02-03: the sums that are kept/,
    ],
    [
      'sums of a family that has no rows',
      (sql) => sql.exec(`UPDATE "HistorySum" SET family = 'G' WHERE level = 1`),
      /G rm sums 2031: the sums that are kept/,
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

it('gives the same rows in the same order, whichever lot and whichever context of a build came in first', async () => {
  const days = ['03-04', '02-27', '03-04', '05-01'];
  const told = days.map((day, index) => {
    const lot = `L-${index}`;
    const rows = CONTEXTS.slice(0, 3).map((context) => row('', lot, context, [index, index + 0.5]));
    return { lot, rows: rows.map((one) => ({ ...one, builtAt: `2031-${day}T08:00:00+01:00` })) };
  });
  const asRead = async (family: string, order: readonly number[]) => {
    for (const place of order) {
      const { lot, rows } = told[place]!;
      const own = rows.map((one) => ({ ...one, family }));
      await add(lot, order[0] === 0 ? own : own.toReversed());
    }
    const want = { family, characteristic: CHARACTERISTIC, seq: LAST_ENTRY, before: ALWAYS, from: NEVER, to: ALWAYS };
    const [rows] = await store.read.histories.rows([{ ...want, values: true }]);
    return rows!.sort(inBuildOrder).map(({ lot, build, context, values }) => [lot, build, context, values]);
  };
  const first = await asRead('ORDER-1', [0, 1, 2, 3]);
  expect(first).toHaveLength(12);
  expect(await asRead('ORDER-2', [3, 2, 1, 0])).toEqual(first);
  expect(await asRead('ORDER-3', [2, 0, 3, 1])).toEqual(first);
});

it('counts values of one medium, duration, face, sterilisation, flow, gas and temperature under a rule that names none: those of the last build', async () => {
  const exposed = { medium: 'SBF', mediumRevision: 1, hours: 336, face: 'peened', temperatureC: 37 };
  const contexts = [
    { ...exposed, hours: 672 },
    { ...exposed, mediumRevision: 2 },
    { ...exposed, face: 'milled' },
    { ...exposed, medium: 'HBSS' },
    { ...exposed, sterilised: true },
    { ...exposed, flowMlPerMin: '5' },
    { ...exposed, gas: 'nitrogen' },
    { ...exposed, temperatureC: 39.5 },
    exposed,
    { ...exposed, hours: 338 },
  ].map((one) => canonicalJson({ ...CONTEXT, exposed: one }));
  for (const [index, context] of contexts.entries()) {
    const one = {
      ...row('EXPOSED', `L-${index}`, context, [index, index + 1]),
      builtAt: `2031-03-${String(index + 1).padStart(2, '0')}T08:00:00Z`,
    };
    await add(`L-${index}`, [one]);
  }
  const own = await earlierOf('EXPOSED');
  const any: Pool = { recipeGroups: ['plates'], machines: ['M1'], methods: [{ method: 'TM' }], ucum: 'MPa' };
  const want = {
    family: 'EXPOSED',
    characteristic: CHARACTERISTIC,
    seq: LAST_ENTRY,
    before: ALWAYS,
    from: NEVER,
    to: ALWAYS,
  };
  const pool = await oneExposure(store.read.histories, any, own.all, (of) => ({ ...want, contexts: of }));
  expect(poolTotals(own.counted, admittedBy(pool, own.all))).toMatchObject({ n: 4, builds: 2, min: 8, max: 10 });
  expect(exclusions(pool, own).map(({ why, values }) => [why.code, Object.values(why.facts)[0], values])).toEqual(
    expect.arrayContaining([
      ['medium', 'HBSS', 2],
      ['medium', 'SBF revision 2', 2],
      ['exposure', '672 h', 2],
      ['face', 'milled', 2],
      ['sterilisation', 'sterilised before', 2],
      ['flow', '5 mL/min', 2],
      ['gas', 'nitrogen', 2],
      ['temperature', '39.5 °C', 2],
    ]),
  );
  // A later row that holds nothing but what was taken out decides nothing; one without an exposure on record does.
  const later = (name: string, day: string, context: string, values: number[]) => ({
    ...{ ...row('EXPOSED', name, context, values), builtAt: `2031-03-${day}T08:00:00Z` },
  });
  await add('L-G', [{ ...later('L-G', '11', contexts[3]!, []), takenOut: [['S', '', 9, '1', 'slip', 'P-QE']] }]);
  expect(
    await oneExposure(store.read.histories, any, (await earlierOf('EXPOSED')).all, (of) => ({ ...want, contexts: of })),
  ).toEqual(pool);
  await add('L-N', [later('L-N', '12', canonicalJson(CONTEXT), [7, 8, 9])]);
  const unexposed = await earlierOf('EXPOSED');
  const without = await oneExposure(store.read.histories, any, unexposed.all, (of) => ({ ...want, contexts: of }));
  expect(poolTotals(unexposed.counted, admittedBy(without, unexposed.all))).toMatchObject({ n: 3, builds: 1, min: 7 });
  const alike = await earlierOf('ONCE');
  expect(await oneExposure(store.read.histories, any, alike.all, () => Promise.reject() as never)).toBe(any);
});
