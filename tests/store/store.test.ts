import { spawn } from 'node:child_process';
import { once } from 'node:events';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import Database from 'better-sqlite3';
import { vi } from 'vitest';
import { PROGRAM_ROOT } from '../../src/base/settings.js';
import { digestOf, sha256Hex } from '../../src/dossier/canonical.js';
import { LedgerEntry } from '../../src/ledger/entry.js';
import { GrowingTree, leafHash } from '../../src/ledger/tree.js';
import { verifyLedger } from '../../src/ledger/verify-ledger.js';
import type { Engine } from '../../src/store/engine.js';
import type { Change } from '../../src/store/repositories.js';
import type { Store } from '../../src/store/store.js';
import { fillEveryTable, result } from './fill.js';
import { ACTOR, openStore, temporaryFolder } from './open-store.js';

let folder: string;
let remove: () => void;
let store: Store;

beforeEach(async () => {
  ({ folder, remove } = temporaryFolder());
  store = await openStore(folder);
});
afterEach(async () => {
  await store.close();
  remove();
});

/** Entries of a fresh folder: that it was made, and the key that it was given. */
const FRESH = 2;

const lot = (key: string, note: unknown = '') => ({ kind: 'lot', key, name: key, body: { note }, links: [] });

const rowCounts = (): Record<string, number> => {
  const db = new Database(path.join(folder, 'lotwright.sqlite'), { readonly: true });
  const tables = db.prepare("SELECT name FROM sqlite_master WHERE type = 'table'").all() as { name: string }[];
  const counts = tables.map(({ name }) => [
    name,
    (db.prepare(`SELECT count(*) AS n FROM "${name}"`).get() as { n: number }).n,
  ]);
  db.close();
  return Object.fromEntries(counts) as Record<string, number>;
};

describe('the write door', () => {
  it('appends a ledger entry with every change, whose root the tree gives', async () => {
    await store.change(ACTOR, fillEveryTable(store.key));
    const entries = await store.read.ledger.page(0);
    const verdict = verifyLedger(entries);
    expect(verdict).toEqual({ ok: true, size: entries.length, root: await store.read.ledger.root(entries.length) });
    expect(await store.read.ledger.size()).toBe(entries.length);
    const types = entries.map((entry) => LedgerEntry.parse(JSON.parse(entry.body)).type);
    expect(types).toEqual([
      'folder-created',
      'event-recorded',
      'evidence-received',
      'revision-recorded',
      'revision-recorded',
      'results-recorded',
      'log-scanned',
      'dossier-frozen',
      'assessment-made',
      'lot-summarised',
      'capability-stated',
      'record-issued',
      'event-recorded',
      'event-recorded',
      'statement-signed',
    ]);
  });

  it('keeps the root of every earlier size', async () => {
    for (let step = 1; step <= 20; step += 1)
      await store.change(ACTOR, (change) => change.entries.add(lot(`L-${step}`)));
    const entries = await store.read.ledger.page(0);
    const tree = new GrowingTree();
    for (const { seq, leaf } of entries) {
      tree.add(leaf);
      expect(await store.read.ledger.root(seq)).toBe(tree.root());
    }
  });

  it('leaves nothing behind when the change throws, however late', async () => {
    const before = rowCounts();
    const failing = store.change(ACTOR, async (change) => {
      await fillEveryTable(store.key)(change);
      throw new Error('on purpose');
    });
    await expect(failing).rejects.toThrow('on purpose');
    expect(rowCounts()).toEqual(before);
    await store.change(ACTOR, (change) => change.entries.add(lot('L-1')));
    expect(verifyLedger(await store.read.ledger.page(0))).toMatchObject({ ok: true, size: FRESH + 1 });
  });

  it('leaves nothing behind when the database refuses a row', async () => {
    const before = rowCounts();
    const failing = store.change(ACTOR, async (change) => {
      await change.entries.add({ ...lot('L-1'), number: 1 });
      await change.entries.add({ ...lot('L-1', 'other'), number: 1 });
    });
    await expect(failing).rejects.toThrow();
    expect(rowCounts()).toEqual(before);
  });

  it('runs the changes of one process one after the other', async () => {
    const steps = Array.from({ length: 25 }, () =>
      store.change(ACTOR, async (change) => {
        const before = await change.entries.current('lot', 'L-1');
        await change.entries.add(lot('L-1', before?.revision ?? 0));
      }),
    );
    await Promise.all(steps);
    const revisions = await store.read.entries.revisions('lot', 'L-1');
    expect(revisions.map((item) => [item.revision, JSON.parse(item.text)])).toEqual(
      Array.from({ length: 25 }, (_, index) => [index + 1, { note: index }]),
    );
  });

  it('refuses a change inside a change, which would wait for itself', async () => {
    const outer = store.change(ACTOR, () => store.change(ACTOR, (change) => change.entries.add(lot('L-1'))));
    await expect(outer).rejects.toThrow('inside another change');
    await store.change(ACTOR, (change) => change.entries.add(lot('L-2')));
  });

  it('is closed to whoever keeps a change beyond its end', async () => {
    let kept: Change | undefined;
    await store.change(ACTOR, async (change) => {
      kept = change;
    });
    await expect(kept!.entries.add(lot('L-1'))).rejects.toThrow();
    expect(await store.read.entries.current('lot', 'L-1')).toBeUndefined();
  });

  it('does not show a change to readers before it is whole', async () => {
    await store.change(ACTOR, async (change) => {
      await change.entries.add(lot('L-1'));
      expect(await store.read.entries.current('lot', 'L-1')).toBeUndefined();
    });
    expect(await store.read.entries.current('lot', 'L-1')).toBeDefined();
  });

  it('names a ledger whose end was cut or stretched from outside, and writes nothing more', async () => {
    await store.change(ACTOR, (change) => change.entries.add(lot('L-1')));
    const raw = new Database(path.join(folder, 'lotwright.sqlite'));
    raw.exec('UPDATE "LedgerLock" SET size = size + 7');
    raw.close();
    const before = rowCounts();
    const change = store.change(ACTOR, (change) => change.entries.add(lot('L-2')));
    await expect(change).rejects.toMatchObject({ code: 'ALTERED' });
    expect(rowCounts()).toEqual(before);
  });

  it('commits with synchronous = FULL and foreign keys on', async () => {
    await store.change(ACTOR, fillEveryTable(store.key));
    const { engine } = store as unknown as { engine: Engine };
    await engine.transaction(async (db) => {
      expect(await db.ask('PRAGMA synchronous')).toEqual([{ synchronous: 2 }]);
      expect(await db.ask('PRAGMA foreign_keys')).toEqual([{ foreign_keys: 1 }]);
      expect(await db.ask('PRAGMA journal_mode')).toEqual([{ journal_mode: 'wal' }]);
    });
  });

  it('cannot be gone round by the reading connection', async () => {
    const { reading } = (store as unknown as { engine: Engine }).engine;
    const { client } = reading;
    const text = `INSERT INTO "Part" VALUES ('a', 1, 'b', 'c')`;
    await expect((await client()).$executeRawUnsafe(text)).rejects.toThrow(/readonly/);
    await expect(reading.tell(text)).rejects.toThrow(/readonly/);
  });
});

describe('verifying the audit trail of a folder', () => {
  const raw = (sql: string): void => {
    const db = new Database(path.join(folder, 'lotwright.sqlite'));
    db.exec(sql);
    db.close();
  };

  beforeEach(async () => {
    for (let step = 1; step <= 8; step += 1) {
      await store.change(ACTOR, (change) => change.entries.add(lot(`L-${step}`)));
    }
  });

  it('accepts a whole one, also while changes go on', async () => {
    const verifying = Array.from({ length: 10 }, () => store.verifyLedger());
    const changing = Array.from({ length: 10 }, (_, step) =>
      store.change(ACTOR, (change) => change.entries.add(lot('L-1', step))),
    );
    for (const verdict of await Promise.all(verifying)) expect(verdict).toMatchObject({ ok: true });
    await Promise.all(changing);
    const size = FRESH + 8 + changing.length;
    expect(await store.verifyLedger()).toMatchObject({ ok: true, size, root: await store.read.ledger.root(size) });
  });

  it.each([
    ['an edited entry', `UPDATE "LedgerEntry" SET body = replace(body, 'L-4', 'L-5') WHERE seq = 6`, 6],
    ['an entry taken out of the middle', 'DELETE FROM "LedgerEntry" WHERE seq = 4', 4],
    ['a cut tail', 'DELETE FROM "LedgerEntry" WHERE seq > 6', 7],
  ])('names %s, with the guards dropped', async (_what, attack, seq) => {
    raw('DROP TRIGGER "guard_LedgerEntry_update"; DROP TRIGGER "guard_LedgerEntry_delete";');
    raw(attack);
    expect(await store.verifyLedger()).toMatchObject({ ok: false, seq });
  });

  it('names an entry that was added behind the last one, well formed and hashed', async () => {
    const last = (await store.read.ledger.entry(10))!;
    const body = last.body.replace('"seq":10', '"seq":11');
    raw(`INSERT INTO "LedgerEntry" VALUES (11, '${body}', '${leafHash(body)}')`);
    expect(await store.verifyLedger()).toMatchObject({
      ok: false,
      seq: 11,
      reason: { code: 'entry added from outside' },
    });
  });
});

describe('several programs on one folder', () => {
  const runChild = async (count: number): Promise<number> => {
    const hooks = path.join(PROGRAM_ROOT, 'tests', 'support', 'typescript.mjs');
    const script = path.join(PROGRAM_ROOT, 'tests', 'store', 'child-writer.ts');
    const args = ['--import', hooks, script, folder, String(count)];
    const child = spawn(process.execPath, args, { stdio: ['ignore', 'ignore', 'inherit'], env: childEnvironment() });
    const [code] = (await once(child, 'exit')) as [number];
    return code;
  };

  it('lose nothing and build one ledger when they write at the same time', async () => {
    const steps = 30;
    expect(await Promise.all([runChild(steps), runChild(steps)])).toEqual([0, 0]);
    const revisions = await store.read.entries.revisions('lot', 'L-1');
    expect(revisions.map((item) => item.revision)).toEqual(Array.from({ length: 2 * steps }, (_, index) => index + 1));
    // Each change read the number before its own inside the door: no two saw the same state.
    expect(revisions.map((item) => (JSON.parse(item.text) as { before: number }).before)).toEqual(
      Array.from({ length: 2 * steps }, (_, index) => index),
    );
    expect(new Set(revisions.map((item) => (JSON.parse(item.text) as { by: number }).by)).size).toBe(2);
    expect(verifyLedger(await store.read.ledger.page(0))).toMatchObject({ ok: true, size: FRESH + 2 * steps });
  });

  it('may be one service and no second one', async () => {
    const second = await openStore(folder);
    await store.becomeService();
    await expect(second.becomeService()).rejects.toThrow('another service runs on');
    await second.change(ACTOR, (change) => change.entries.add(lot('L-1')));
    await store.close();
    await second.becomeService();
    await second.close();
    store = await openStore(folder);
    await store.becomeService();
  });

  it('wait, without running the change, while another holds the database', async () => {
    const raw = new Database(path.join(folder, 'lotwright.sqlite'));
    raw.exec('BEGIN IMMEDIATE');
    let runs = 0;
    const change = store.change(ACTOR, async () => {
      runs += 1;
    });
    await sleep(300);
    expect(runs).toBe(0);
    raw.exec('COMMIT');
    raw.close();
    await change;
    expect(runs).toBe(1);
  });

  it('end the wait in a named error', async () => {
    const raw = new Database(path.join(folder, 'lotwright.sqlite'));
    raw.exec('BEGIN IMMEDIATE');
    let nowMs = 0;
    const hurried = vi.spyOn(performance, 'now').mockImplementation(() => {
      nowMs += 10_000;
      return nowMs;
    });
    try {
      const change = store.change(ACTOR, (change) => change.entries.add(lot('L-1')));
      await expect(change).rejects.toMatchObject({ code: 'BUSY' });
    } finally {
      hurried.mockRestore();
      raw.exec('ROLLBACK');
      raw.close();
    }
    await store.change(ACTOR, (change) => change.entries.add(lot('L-1')));
  });
});

describe('what was stored', () => {
  it('reads back as it was given, with its digests in the ledger', async () => {
    await store.change(ACTOR, fillEveryTable(store.key));
    const lotRevision = await store.read.entries.currentOrThrow('lot', 'L-1');
    expect(lotRevision).toMatchObject({
      revision: 1,
      text: '{"format":1,"note":"first"}',
      digest: digestOf({ format: 1, note: 'first' }),
    });
    const { rows } = await store.read.results.ofLot('L-1');
    expect(rows[0]).toMatchObject({ ...result(), status: 'current' });
    expect((await store.read.evidence.info(sha256Hex('file'))).fileName).toBe('log.csv');
    expect(
      (await store.read.entries.evidenceNamedBy([{ kind: 'lot', key: 'L-1', revision: 1 }])).map((item) => item.sha256),
    ).toEqual([sha256Hex('file')]);
  });

  it('keeps every character of a reported text, and the order of the rows', async () => {
    const texts = ['"', "'", '\\', '\n', '\t\u0001', 'µ ≤ é', '😀', '<0.10', '0.10', '1e-7', 'null', '{"a":[1]}', ''];
    const rows = texts.map((value, index) => result({ value, reportedValue: `${value}${value}`, line: String(index) }));
    await store.change(ACTOR, (change) => change.results.add('L-1', 'f.csv', rows));
    const read = (await store.read.results.ofLot('L-1')).rows;
    expect(read.map((row) => [row.value, row.reportedValue, row.line])).toEqual(
      rows.map((row) => [row.value, row.reportedValue, row.line]),
    );
  });

  it('keeps a corrected result beside the new one', async () => {
    await store.change(ACTOR, (change) => change.results.add('L-1', 'f.csv', [result()]));
    const [first] = await store.read.results.current('L-1');
    const corrected = result({ value: '1.31', reason: 'misread', replacesId: first!.id });
    await store.change(ACTOR, (change) => change.results.add('L-1', 'f.csv', [corrected]));
    const { rows } = await store.read.results.ofLot('L-1');
    expect(rows.map((row) => [row.value, row.status, row.reason])).toEqual([
      ['<1.20', 'corrected', ''],
      ['1.31', 'current', 'misread'],
    ]);
    const twice = store.change(ACTOR, (change) => change.results.add('L-1', 'f.csv', [corrected]));
    await expect(twice).rejects.toThrow();
  });

  it('is the same row when the same dossier, assessment or evidence comes again', async () => {
    await store.change(ACTOR, fillEveryTable(store.key));
    const before = rowCounts();
    const dossier = (await store.read.lotFiles.latest('L-1'))!;
    const assessment = (await store.read.assessments.latest('L-1'))!;
    await store.change(ACTOR, async (change) => {
      await change.evidence.add({ sha256: sha256Hex('file'), bytes: 4, fileName: 'again.csv' });
      await change.lotFiles.add('L-1', dossier.digest, dossier.body, new Map());
      await change.assessments.add(
        'L-1',
        dossier.digest,
        'program 1',
        JSON.parse(assessment.body) as { version: string },
      );
    });
    expect(rowCounts()).toEqual(before);
  });
});

/** A child runs as a plain program, without the options that the test runner needs. */
function childEnvironment(): NodeJS.ProcessEnv {
  const { NODE_OPTIONS: _unused, ...rest } = process.env;
  return rest;
}
