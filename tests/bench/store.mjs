// Recording 100 000 results through the write door against bare inserts.
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import Database from 'better-sqlite3';
import { DataFolder } from '../../dist/store/data-folder.js';
import { Store } from '../../dist/store/store.js';

const ROWS = 100_000;

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

export async function run() {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-'));
  const data = DataFolder.open(path.join(folder, 'data'));
  const store = await Store.open(data);
  try {
    const recording = await recordingRatio(store, folder);
    return [{ name: 'intake of 100 000 results through the write door', figure: recording }];
  } finally {
    await store.close();
    fs.rmSync(folder, { recursive: true });
  }
}
