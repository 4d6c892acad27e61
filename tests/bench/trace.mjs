// A trace against its bare query, and the first page of an answer with 5 000 implants in it.
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import Database from 'better-sqlite3';
import { canonicalJson, sha256Hex } from '../../dist/dossier/canonical.js';
import { createApplication } from '../../dist/main.js';
import { DataFolder } from '../../dist/store/data-folder.js';
import { Store } from '../../dist/store/store.js';
import '../support/bench-clock.mjs';
import '../support/typescript.mjs';

const ENTRIES = 100_000;
const LINKS_EACH = 3;
const LOTS = 50;
const IMPLANTS_EACH = 100;

const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];

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

async function traceRatios(store, database) {
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
    const ratios = [[], []];
    for (let round = 0; round < 5; round++) {
      const start = performance.now();
      const expected = query.all(id).length;
      const middle = performance.now();
      for (const [place, asOf] of [undefined, 1].entries()) {
        const begun = performance.now();
        const { entries } = await store.read.trace.reach([id], direction, asOf);
        ratios[place].push((performance.now() - begun) / (middle - start));
        if (entries.length !== expected) throw new Error(`traced ${entries.length} entries, expected ${expected}`);
      }
    }
    figures.push(ratios.map(median));
  }
  bare.close();
  return [0, 1].map((place) => Math.max(...figures.map((figure) => figure[place])));
}

/** The lot of the small cell again and again, with many implants each: written past the door, since only reading is measured. */
function fillLots(database) {
  const db = new Database(database);
  const at = '2031-03-04T09:00:00.000Z';
  const latest = (kind, key) =>
    db
      .prepare(
        'SELECT r.body, r.name, e.id FROM "Entry" e JOIN "Revision" r ON r."entryId" = e."id" WHERE e."kind" = ? AND e."key" = ? ORDER BY r."number" DESC',
      )
      .get(kind, key);
  const entry = db.prepare('INSERT INTO "Entry" (kind, key, recordedAt, ledgerSeq) VALUES (?, ?, ?, 1)');
  const revision = db.prepare(
    'INSERT INTO "Revision" (entryId, number, name, body, digest, recordedAt, recordedOffset, actor, ledgerSeq) VALUES (?, 1, ?, ?, ?, ?, ?, ?, 1)',
  );
  const link = db.prepare('INSERT INTO "Link" (fromRevisionId, name, toEntryId, ledgerSeq) VALUES (?, ?, ?, 1)');
  const write = (kind, key, body, links) => {
    const text = canonicalJson(body);
    const id = entry.run(kind, key, at).lastInsertRowid;
    const from = revision.run(id, `${kind} ${key}`, text, sha256Hex(text), at, '+00:00', 'bench').lastInsertRowid;
    for (const [name, target] of links) link.run(from, name, target);
    return id;
  };
  const lot = latest('lot', 'L-1');
  const model = JSON.parse(lot.body);
  const implant = JSON.parse(latest('implant', model.implants[0].serial).body);
  const built = latest('build', model.builds[0].build);
  const powder = latest('powder-state', model.builds[0].powder[0].state).id;
  db.transaction(() => {
    for (let number = 1; number <= LOTS; number++) {
      const code = `L-B${number}`;
      const build = `M1-B${number}`;
      const serials = Array.from({ length: IMPLANTS_EACH }, (_, index) => `B${number}-I${index + 1}`);
      const made = write('build', build, { ...JSON.parse(built.body), build, lot: code }, [['deposited', powder]]);
      const units = serials.map((serial) => {
        const body = { ...implant, serial, lot: code, build };
        return [body, write('implant', serial, body, [['built in', made]])];
      });
      const builds = [{ ...model.builds[0], build }];
      const implants = serials.map((serial) => ({ ...model.implants[0], serial, build }));
      const body = { ...model, lot: code, builds, implants, coupons: [] };
      write('lot', code, body, [['consists of', made], ...units.map(([, id]) => ['consists of', id])]);
    }
  })();
  db.close();
  return model.builds[0].powder[0].state;
}

async function firstPage() {
  process.env.TMPDIR = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-trace-'));
  const cleanups = [() => fs.rmSync(process.env.TMPDIR, { recursive: true, force: true })];
  globalThis.afterAll = (work) => cleanups.push(work);
  const { SigningCell } = await import('../support/signing-cell.ts');
  const { PASSWORD } = await import('../support/people.ts');
  try {
    const cell = await SigningCell.open();
    const folder = cell.folder.path;
    await cell.close();
    const state = fillLots(DataFolder.open(folder).database);
    const store = await Store.open(DataFolder.open(folder));
    const app = await createApplication(store);
    try {
      await app.listen(0, '127.0.0.1');
      const root = await app.getUrl();
      const headers = await signedIn(root, PASSWORD);
      const seconds = [];
      for (let round = 0; round < 3; round++) {
        const begun = process.cpuUsage();
        const answer = await fetch(`${root}/find?id=${state}`, { headers });
        const text = await answer.text();
        const { user, system } = process.cpuUsage(begun);
        seconds.push((user + system) / 1e6);
        if (!answer.ok || !/500\d made/.test(text)) throw new Error(`the page answered ${answer.status}`);
      }
      return { seconds: seconds[0], again: median(seconds) };
    } finally {
      await app.close();
      await store.close();
    }
  } finally {
    for (const work of cleanups.reverse()) work();
  }
}

async function signedIn(root, password) {
  const answer = await fetch(`${root}/api/v1/session`, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify({ person: 'P-QE', password }),
  });
  return { Cookie: answer.headers.get('set-cookie').split(';')[0] };
}

export async function run() {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-'));
  const data = DataFolder.open(path.join(folder, 'data'));
  const store = await Store.open(data);
  let ratios;
  try {
    ratios = await traceRatios(store, data.database);
  } finally {
    await store.close();
    fs.rmSync(folder, { recursive: true });
  }
  const { seconds, again } = await firstPage();
  return [
    { name: 'trace in 100 000 entries and 300 000 links, with names, distances and ties', figure: ratios[0] },
    { name: 'the same trace as of an earlier entry', figure: ratios[1] },
    { name: 'first page of an answer with 5 000 implants', of: `again ${again.toPrecision(2)} s`, figure: seconds },
  ];
}
