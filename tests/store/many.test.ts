// Not quick: it fills stores with thousands of rows.
import path from 'node:path';
import Database from 'better-sqlite3';
import fc from 'fast-check';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { soleSubject } from '../../src/dossier/statement.js';
import { KINDS } from '../../src/kinds/catalogue.js';
import { LAST_ASSESSED_BY_OTHERS } from '../../src/store/sqlite/assessments.js';

import type { Store } from '../../src/store/store.js';
import { boundsOfStart } from '../../src/store/text-bounds.js';
import { programHold } from '../support/program-hold.js';
import { nameQuinn, result, signedStatement } from './fill.js';
import { ACTOR, openStore, temporaryFolder } from './open-store.js';

/** More than the database client can name in one statement, which is 998. */
const MANY = 1200;

let folder: string;
let remove: () => void;
let store: Store;

beforeAll(async () => {
  ({ folder, remove } = temporaryFolder());
  store = await openStore(folder);
  fill();
});
afterAll(async () => {
  await store.close();
  remove();
});

const range = (length: number): number[] => Array.from({ length }, (_, index) => index);
const keyOf = (index: number): string => `K-${String(index).padStart(4, '0')}:a`;
const AT = '2031-03-04T09:00:00.000Z';

/** Entries of every kind, each third with a second revision, all resting on one file; and a lot that names as many files. */
function fill(): void {
  const db = new Database(path.join(folder, 'lotwright.sqlite'));
  const entry = db.prepare('INSERT INTO "Entry" (kind, key, recordedAt, ledgerSeq) VALUES (?, ?, ?, 1)');
  const revision = db.prepare(
    'INSERT INTO "Revision" (entryId, number, name, body, digest, recordedAt, recordedOffset, actor, ledgerSeq) VALUES (?, ?, ?, ?, ?, ?, ?, ?, 1)',
  );
  const link = db.prepare('INSERT INTO "Link" (fromRevisionId, name, toEvidence, ledgerSeq) VALUES (?, ?, ?, 1)');
  const evidence = db.prepare(
    'INSERT INTO "Evidence" (sha256, bytes, fileName, recordedAt, ledgerSeq) VALUES (?, 1, ?, ?, 1)',
  );
  db.transaction(() => {
    for (const index of range(MANY)) evidence.run(sha256Hex(`file ${index}`), `file ${index}`, AT);
    for (const { kind } of KINDS) {
      // Not in the order of the keys, so that an order in which they come was made by the question.
      for (const index of range(MANY).reverse()) {
        const { lastInsertRowid } = entry.run(kind, keyOf(index), AT);
        for (const number of index % 3 === 0 ? [1, 2] : [1]) {
          const body = JSON.stringify({ index, number });
          const row = revision.run(
            lastInsertRowid,
            number,
            `${kind} ${index}`,
            body,
            sha256Hex(body),
            AT,
            '+00:00',
            ACTOR,
          );
          if (kind === 'lot') link.run(row.lastInsertRowid, 'attached', sha256Hex('file 0'));
        }
      }
    }
    const { lastInsertRowid } = entry.run('lot', 'L-FILES', AT);
    const row = revision.run(lastInsertRowid, 1, 'lot', '{}', sha256Hex('{}'), AT, '+00:00', ACTOR);
    for (const index of range(MANY)) link.run(row.lastInsertRowid, 'attached', sha256Hex(`file ${index}`));
  })();
  db.close();
}

describe('a folder with 1 200 entries of every kind', () => {
  it.each(KINDS.map(({ kind }) => kind).filter((kind) => kind !== 'lot'))(
    'lists the latest of every %s',
    async (kind) => {
      const found = await store.read.entries.list(kind);
      expect(found.map(({ key }) => key)).toEqual(range(MANY).map(keyOf));
      expect(found.map(({ text, revision }) => ({ body: JSON.parse(text), revision }))).toEqual(
        range(MANY).map((index) => {
          const number = index % 3 === 0 ? 2 : 1;
          return { body: { index, number }, revision: number };
        }),
      );
    },
  );

  it('gives every revision, and those whose keys begin alike', async () => {
    expect(await store.read.entries.allRevisions('recipe')).toHaveLength(MANY + MANY / 3);
    const starting = await store.read.entries.revisionsStarting('recipe', 'K-0012:');
    expect(starting.map(({ key, revision }) => `${key} ${revision}`)).toEqual(['K-0012:a 1', 'K-0012:a 2']);
    expect(await store.read.entries.revisionsStarting('recipe', 'k-0012:')).toEqual([]);
    expect(await store.read.entries.revisionsStarting('recipe', 'K_0012:')).toEqual([]);
  });

  it('gives every file of a lot, and every lot that rests on a file', async () => {
    expect(await store.read.entries.evidenceNamedBy([{ kind: 'lot', key: 'L-FILES', revision: 1 }])).toHaveLength(MANY);
    expect(await store.read.trace.lotsRestingOn(sha256Hex('file 0'))).toHaveLength(MANY + 1);
  });
});

it('finds the lots that others assessed last without reading an assessment', () => {
  const db = new Database(store.folder.database, { readonly: true });
  const plan = db.prepare(`EXPLAIN QUERY PLAN ${LAST_ASSESSED_BY_OTHERS}`).all('any') as { detail: string }[];
  db.close();
  const walks = plan.map(({ detail }) => detail).filter((detail) => /^(?:SCAN|SEARCH) (?:a|later)\b/.test(detail));
  expect(walks).toHaveLength(2);
  expect(walks.filter((detail) => !detail.includes('USING COVERING INDEX'))).toEqual([]);
});

describe('questions about a long list of digests', () => {
  // Beyond what SQLite takes as values of one statement, too.
  const others = range(40_000).map((index) => sha256Hex(`other ${index}`));

  it('find statements on any of them, and their places in the ledger', async () => {
    const signed = signedStatement(store.key);
    await store.change(ACTOR, async (change) => {
      await nameQuinn(store.key)(change);
      await change.signatures.add(signed);
    });
    const on = [...others, soleSubject(signed.statement).digest];
    expect((await store.read.signatures.on(on)).map((item) => item.signed)).toEqual([signed]);
    const inside = await store.change(ACTOR, (change) => change.signatures.on(on));
    expect(inside.map((item) => item.signed)).toEqual([signed]);
    expect(await store.read.signatures.entries([...others, signed.digest])).toEqual([inside[0]!.ledgerSeq]);
  });

  it('find parts', async () => {
    const parts = new Map(
      range(MANY).map((index) => [sha256Hex(`${index}`), { mediaType: 'text/csv', text: `${index}` }]),
    );
    await store.change(ACTOR, (change) => change.lotFiles.add('L-1', sha256Hex('lot file'), '{}', parts));
    const found = await store.read.lotFiles.parts([...others, ...parts.keys()]);
    expect(found).toEqual(new Map([...parts].map(([sha256, { text }]) => [sha256, text])));
  });

  it('find corrected values', async () => {
    const rows = range(MANY).map((index) => result({ replicate: String(index + 1), line: String(index + 2) }));
    await store.change(ACTOR, (change) => change.results.add('L-1', 'a.csv', rows));
    const known = await store.read.results.current('L-1');
    const corrections = known.map(({ id, replicate }) =>
      result({ replicate: String(replicate), reportedValue: '7', reason: 'typing error', replacesId: id }),
    );
    await store.change(ACTOR, (change) => change.results.add('L-1', 'b.csv', corrections));
    const size = await store.read.ledger.size();
    const told = await store.read.results.corrections('L-1', size);
    // More than people read is not told; all that is told has its old value.
    expect(told).toHaveLength(1000);
    expect(new Set(told.map(({ before, after }) => `${before} to ${after}`))).toEqual(new Set(['<1200 um to 7 um']));
  });

  it('find nodes of the ledger', async () => {
    await store.change(ACTOR, async (change) => {
      for (const index of range(MANY)) await change.events.add(programHold(`L-${index}`), 'invented');
    });
    const size = await store.read.ledger.size();
    const nodes = range(10).flatMap((level) => range(size >> level).map((index) => ({ level, index })));
    const hashOf = await store.read.ledger.hashes(nodes);
    expect(new Set(nodes.map(hashOf)).size).toBe(nodes.length);
  });
});

it('takes every text with a start, and no other, as lying within the bounds of that start', () => {
  // SQLite compares texts as bytes of UTF-8 (section "Collating Sequences" of its documentation); so does Buffer.
  const lies = (text: string, { from, before }: ReturnType<typeof boundsOfStart>): boolean =>
    Buffer.compare(Buffer.from(text), Buffer.from(from)) >= 0 &&
    Buffer.compare(Buffer.from(text), Buffer.from(before)) < 0;
  const letter = fc.constantFrom('a', 'A', '_', '%', ':', ';', '\ud7ff', '\ue000', '😀', 'b');
  const text = fc.string({ unit: letter, maxLength: 4 });
  fc.assert(
    fc.property(fc.string({ unit: letter, minLength: 1, maxLength: 3 }), text, (start, rest) => {
      expect(lies(start + rest, boundsOfStart(start))).toBe(true);
      expect(lies(rest, boundsOfStart(start))).toBe(rest.startsWith(start));
    }),
  );
});
