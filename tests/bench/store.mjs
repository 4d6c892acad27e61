// Recording 100 000 results through the write door against bare inserts, and a trace against its bare query.
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import Database from 'better-sqlite3';
import { DataFolder } from '../../dist/store/data-folder.js';
import { Store } from '../../dist/store/store.js';

const ROWS = 100_000;
const ENTRIES = 100_000;
const LINKS_EACH = 3;

const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];

function resultRow(index) {
  return {
    specimen: `W-${index % 500}`,
    piece: '',
    characteristic: `c${index % 20}`,
    replicate: String(Math.floor(index / 500) + 1),
    value: (230 + (index % 97) / 10).toFixed(1),
    ucum: 'MPa',
    reportedValue: (230 + (index % 97) / 10).toFixed(1),
    reportedUcum: 'MPa',
    standardUncertainty: '',
    startedAt: '',
    measuredAt: '2031-03-04T09:00:00+01:00',
    instrument: 'I-RIG',
    analyst: 'P-AN',
    method: 'TM-T',
    methodRevision: '1',
    enteredBy: '',
    checkedBy: '',
    file: 'results/tensile.csv',
    evidence: '0'.repeat(64),
    line: String(index + 2),
    reason: '',
  };
}

/** The same columns, row by row in one transaction, as a program without Prisma would write them. */
function bareInserts(folder, rows) {
  const db = new Database(path.join(folder, 'bare.sqlite'));
  db.pragma('journal_mode = WAL');
  db.pragma('synchronous = FULL');
  const names = Object.keys(rows[0]);
  db.exec(`CREATE TABLE r (id INTEGER PRIMARY KEY, ${names.map((name) => `"${name}"`).join(', ')})`);
  db.exec('CREATE INDEX a ON r (specimen, characteristic)');
  db.exec('CREATE INDEX b ON r (instrument)');
  db.exec('CREATE INDEX c ON r (analyst)');
  const insert = db.prepare(
    `INSERT INTO r (${names.map((name) => `"${name}"`).join(', ')}) VALUES (${names.map(() => '?').join(', ')})`,
  );
  const start = performance.now();
  db.transaction(() => {
    for (const row of rows) insert.run(...names.map((name) => row[name]));
  })();
  const ms = performance.now() - start;
  db.close();
  fs.rmSync(path.join(folder, 'bare.sqlite'));
  return ms;
}

async function recordingRatio(store, folder) {
  const rows = Array.from({ length: ROWS }, (_, index) => resultRow(index));
  const ratios = [];
  for (let round = 0; round < 3; round++) {
    const bare = bareInserts(folder, rows);
    const start = performance.now();
    await store.change('bench', (change) => change.results.add(`L-${round}`, 'results/tensile.csv', rows));
    ratios.push((performance.now() - start) / bare);
  }
  return median(ratios);
}

/** A genealogy of blends: each entry rests on three among the 300 before it, drawn from a fixed seed. */
function fillGenealogy(database) {
  let seed = 20310304;
  const draw = (below) => {
    seed = (seed * 16807) % 2147483647;
    return Math.floor((seed / 2147483647) * below);
  };
  const db = new Database(database);
  db.transaction(() => {
    const entry = db.prepare('INSERT INTO "Entry" (kind, key, recordedAt, ledgerSeq) VALUES (?, ?, ?, 1)');
    const revision = db.prepare(
      'INSERT INTO "Revision" (entryId, number, name, body, digest, recordedAt, recordedOffset, actor, ledgerSeq) VALUES (?, 1, ?, ?, ?, ?, ?, ?, 1)',
    );
    const link = db.prepare('INSERT INTO "Link" (fromRevisionId, name, toEntryId, ledgerSeq) VALUES (?, ?, ?, 1)');
    const ids = [];
    for (let index = 0; index < ENTRIES; index++) {
      const at = '2031-03-04T09:00:00.000Z';
      const id = entry.run('powder-state', `PS-${index}`, at).lastInsertRowid;
      const from = revision.run(id, `state ${index}`, '{}', '', at, '+00:00', 'bench').lastInsertRowid;
      for (let k = 0; k < LINKS_EACH && index > 0; k++) {
        link.run(from, 'contains powder state', ids[index - 1 - draw(Math.min(index, 300))]);
      }
      ids.push(id);
    }
  })();
  db.close();
}

/**
 * What a program without revisions, ties, distances and Prisma would ask: the entries reached, with kind and key. It goes
 * over links in their own direction or against it, by their names, as every walk has to.
 */
const bareQuery = (along, against) => `
WITH RECURSIVE reached(id) AS (
  SELECT CAST(? AS INTEGER)
  UNION
  SELECT l."toEntryId" FROM reached CROSS JOIN "Revision" r ON r."entryId" = reached.id
    CROSS JOIN "Link" l ON l."fromRevisionId" = r."id" WHERE +l."name" ${along} ('measured on', 'stands for')
  UNION
  SELECT r."entryId" FROM reached CROSS JOIN "Link" l ON l."toEntryId" = reached.id
    CROSS JOIN "Revision" r ON r."id" = l."fromRevisionId" WHERE +l."name" ${against} ('measured on', 'stands for')
)
SELECT e.* FROM reached JOIN "Entry" e ON e."id" = reached.id`;

async function traceRatio(store, database) {
  fillGenealogy(database);
  const bare = new Database(database, { readonly: true });
  const walks = [
    ['back', `PS-${ENTRIES - 1}`, bareQuery('NOT IN', 'IN')],
    ['forward', `PS-${ENTRIES * 0.9}`, bareQuery('IN', 'NOT IN')],
  ];
  const figures = [];
  for (const [direction, key, sql] of walks) {
    const [{ id }] = await store.read.trace.named(key);
    const query = bare.prepare(sql);
    const ratios = [];
    for (let round = 0; round < 5; round++) {
      const start = performance.now();
      const expected = query.all(id).length;
      const middle = performance.now();
      const { entries } = await store.read.trace.reach([id], direction);
      ratios.push((performance.now() - middle) / (middle - start));
      if (entries.length !== expected) throw new Error(`traced ${entries.length} entries, expected ${expected}`);
    }
    figures.push(median(ratios));
  }
  bare.close();
  return Math.max(...figures);
}

export async function run() {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-'));
  const data = DataFolder.open(path.join(folder, 'data'));
  const store = await Store.open(data);
  try {
    const recording = await recordingRatio(store, folder);
    const trace = await traceRatio(store, data.database);
    return [
      { name: 'intake of 100 000 results through the write door', figure: recording },
      { name: 'trace in 100 000 entries and 300 000 links, with names, distances and ties', figure: trace },
    ];
  } finally {
    await store.close();
    fs.rmSync(folder, { recursive: true });
  }
}
