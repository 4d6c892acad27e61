// The audit trail: what an append costs beyond the commit, what a proof costs, and the check of a million entries.
import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import Database from 'better-sqlite3';
import { canonicalJson, sha256Hex } from '../../dist/dossier/canonical.js';
import { GrowingTree, leafHash } from '../../dist/ledger/tree.js';
import { DataFolder } from '../../dist/store/data-folder.js';
import { signedCheckpoint } from '../../dist/store/ledger-proofs.js';
import { auditLedger } from '../../dist/store/sqlite/ledger-audit.js';
import { Store } from '../../dist/store/store.js';

const ENTRIES = 1_000_000;
const ROUNDS = 60;
const WARM_UP = 20;

const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];

async function timed(work) {
  const times = [];
  for (let round = 0; round < ROUNDS; round += 1) {
    const start = performance.now();
    await work(round);
    times.push(performance.now() - start);
  }
  return median(times);
}

/** A change that stores an event and appends its entry, against one that stores a row without any. */
async function appendMs(store) {
  const session = { person: 'P', csrf: '', startedAt: '', seenAt: '', endsAt: '', code: '' };
  const bare = () => {
    const tokenSha256 = sha256Hex(String(Math.random()));
    return store.change('bench', (change) => change.identity.startSession({ ...session, tokenSha256 }));
  };
  const cause = { kind: 'lot', key: 'L', revision: 1 };
  const recorded = () =>
    store.change('bench', (change) => change.events.add({ type: 'hold-placed', lot: 'L', units: [], cause }));
  // One after the other, so that whatever else runs on the machine slows both.
  const costs = [];
  for (let round = 0; round < WARM_UP + ROUNDS; round += 1) {
    const start = performance.now();
    await bare();
    const between = performance.now();
    await recorded();
    if (round >= WARM_UP) costs.push(performance.now() - between - (between - start));
  }
  return median(costs);
}

/** One row as its entry records it. */
const recorded = (first, ...values) => ({ rows: 1, first, sha256: sha256Hex(JSON.stringify([values])) });

/** Documents as a service would have recorded them, one entry each, written without the service. */
function fill(database, key) {
  const db = new Database(database);
  db.pragma('synchronous = OFF');
  const guards = db.prepare("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").all();
  for (const { name } of guards) db.exec(`DROP TRIGGER "${name}"`);
  const entry = db.prepare('INSERT INTO "LedgerEntry" VALUES (?, ?, ?)');
  const node = db.prepare('INSERT INTO "LedgerNode" VALUES (?, ?, ?)');
  const revision = db.prepare(
    'INSERT INTO "Revision" (id, entryId, number, name, body, digest, recordedAt, recordedOffset, actor, reason, ledgerSeq) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)',
  );
  const tree = new GrowingTree();
  const grow = (seq, body) => {
    const leaf = leafHash(body);
    entry.run(seq, body, leaf);
    for (const { level, index, hash } of tree.add(leaf)) node.run(level, index, hash);
  };
  db.transaction(() => {
    const before = db.prepare('SELECT body FROM "LedgerEntry" ORDER BY seq').all();
    db.exec('DELETE FROM "LedgerEntry"; DELETE FROM "LedgerNode"');
    before.forEach(({ body }, index) => {
      grow(index + 1, body);
    });
    const common = { version: 1, at: '2031-03-04T09:00:00.000Z', offset: '+00:00', actor: 'bench' };
    const first = tree.size + 1;
    db.prepare('INSERT INTO "Entry" (id, kind, key, recordedAt, ledgerSeq) VALUES (?, ?, ?, ?, ?)').run(
      ...[1, 'lot', 'L-1', common.at, first],
    );
    for (let number = 1; tree.size < ENTRIES; number += 1) {
      const seq = tree.size + 1;
      const text = canonicalJson({ format: 1, lot: 'L-1', step: number, note: 'what a person wrote about it' });
      const digest = sha256Hex(text);
      revision.run(number, 1, number, 'L-1', text, digest, common.at, common.offset, common.actor, null, seq);
      const tables = { Revision: recorded(number, 1, number, 'L-1', text, digest, null) };
      if (seq === first) tables.Entry = recorded(1, 'lot', 'L-1');
      const entry = { ...common, type: 'revision-recorded', seq, kind: 'lot', key: 'L-1', revision: number };
      grow(seq, canonicalJson({ ...entry, digest, tables }));
    }
    const origin = db.prepare('SELECT head FROM "LedgerLock"').get().head.split('\n')[0];
    const { checkpoint } = signedCheckpoint(key, { origin, size: tree.size, root: tree.root() });
    db.prepare('UPDATE "LedgerLock" SET size = ?, head = ?').run(tree.size, checkpoint);
    for (const { sql } of guards) db.exec(sql);
  })();
  db.close();
}

/** In a process of its own, so that its memory is its own. */
function audited(database) {
  const child = spawnSync(process.execPath, [fileURLToPath(import.meta.url), database], { encoding: 'utf8' });
  if (child.status !== 0) throw new Error(child.stderr);
  return JSON.parse(child.stdout);
}

async function proofMs(store, size) {
  const proofs = (round) => {
    const seq = 1 + ((round * 7919) % (size - 1));
    return Promise.all([store.proofs.inclusion(seq, size), store.proofs.consistency(seq, size)]);
  };
  await proofs(0);
  return timed(proofs);
}

export async function run() {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-'));
  try {
    const data = DataFolder.open(path.join(folder, 'data'));
    let store = await Store.open(data);
    const append = await appendMs(store);
    const { key } = store;
    await store.close();
    fill(data.database, key);
    const { seconds, megabytes } = audited(data.database);
    store = await Store.open(data);
    const short = await proofMs(store, 1000);
    const long = await proofMs(store, ENTRIES);
    const appendLate = await appendMs(store);
    await store.close();
    return [
      { name: 'append of an entry with its event, nodes and signed head', figure: append },
      { name: 'append behind a million entries', figure: appendLate },
      { name: 'proofs of inclusion and growth in a million entries', figure: long / short },
      { name: 'check of a million entries, each with its document', figure: seconds },
      { name: 'check of a million entries, memory', figure: megabytes },
    ];
  } finally {
    fs.rmSync(folder, { recursive: true });
  }
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const start = performance.now();
  const report = await auditLedger(process.argv[2]);
  if (!report.ok) throw new Error(report.reason);
  const seconds = (performance.now() - start) / 1000;
  process.stdout.write(JSON.stringify({ seconds, megabytes: process.resourceUsage().maxRSS / 1024 }));
}
