import fs from 'node:fs';
import path from 'node:path';
import Database from 'better-sqlite3';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import { headLine, parseHead } from '../../src/ledger/checkpoint.js';
import { leafHash } from '../../src/ledger/tree.js';
import { storedFaultText } from '../../src/report/phrases/stored-faults.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { signedCheckpoint } from '../../src/store/ledger-proofs.js';
import type { LedgerReport } from '../../src/store/ledger-report.js';
import { newRowsText } from '../../src/store/recorded-table.js';
import { recordedTablesOf } from '../../src/store/sqlite/recorded-tables.js';
import { Store } from '../../src/store/store.js';
import { attackDatabase, hashAgain, type Sql } from '../support/intruder.js';
import { isOnServer } from '../support/run-on-server.js';
import { copyOfTemplate } from '../support/template.js';
import { fillEveryTable, result } from './fill.js';
import { ACTOR, openStore, temporaryFolder } from './open-store.js';

let folder: string;
let remove: () => void;
let store: Store;

beforeEach(async () => {
  ({ folder, remove } = temporaryFolder());
  await copyOfTemplate('attacked', makeWithEverything, folder);
  store = await openStore(folder);
});
afterEach(async () => {
  await store.close();
  remove();
});

async function makeWithEverything(to: string): Promise<void> {
  const made = await openStore(to);
  await made.change(ACTOR, fillEveryTable(made.key));
  const [first] = await made.read.results.current('L-1');
  const corrected = result({ value: '1.3', reason: 'misread', replacesId: first!.id });
  await made.change(ACTOR, (change) => change.results.add('L-1', 'results/thickness.csv', [corrected]));
  for (let step = 1; step <= 5; step += 1) {
    await made.change(ACTOR, (change) =>
      change.entries.add({ kind: 'family', key: 'F-1', name: 'Plate', body: { format: 1, step }, links: [] }),
    );
  }
  await made.close();
}

const attack = (work: (sql: Sql) => void): Promise<void> => attackDatabase(folder, work);

const run = (statement: string) => (sql: Sql) => {
  expect(sql.prepare(statement).run().changes).toBeGreaterThan(0);
};

const faultsOf = (report: LedgerReport): string[] =>
  report.faults.map(({ kind, key, fault }) => `${kind} ${key}: ${storedFaultText(fault)}`);
const reasonOf = (report: LedgerReport): string => (report.ok ? '' : storedFaultText(report.reason));
const headText = ({ head }: LedgerReport): string => storedFaultText(head!.found);

/** Changes the latest revision of the family and its ledger entry so that they agree with each other. */
function rewriteFamily(sql: Sql): void {
  const { id, seq } = sql.prepare('SELECT id, ledgerSeq AS seq FROM "Revision" ORDER BY id DESC').get() as {
    id: number;
    seq: number;
  };
  const body = canonicalJson({ format: 1, step: 99 });
  const digest = sha256Hex(body);
  sql.prepare('UPDATE "Revision" SET body = ?, digest = ? WHERE id = ?').run(body, digest, id);
  const table = recordedTablesOf(sql).find(({ name }) => name === 'Revision')!;
  const row = sql.prepare('SELECT * FROM "Revision" WHERE id = ?').get(id) as Record<string, unknown>;
  const sha256 = sha256Hex(newRowsText(table, [row]));
  const entry = JSON.parse(sql.prepare('SELECT body FROM "LedgerEntry" WHERE seq = ?').pluck().get(seq) as string);
  const changed = canonicalJson({ ...entry, digest, tables: { Revision: { rows: 1, first: id, sha256 } } });
  sql.prepare('UPDATE "LedgerEntry" SET body = ? WHERE seq = ?').run(changed, seq);
}

describe('an untouched folder', () => {
  it('verifies, with every row looked at', async () => {
    const report = await store.verifyLedger();
    expect(report).toMatchObject({ ok: true, faultCount: 0, faults: [], root: (await store.proofs.signedHead()).root });
    // Key, hold, evidence, two entries, seven revisions, two links, three results, log, summary, finding, signature, what
    // it covers, dossier, part, assessment, what trends read, what was stated of a capability, record.
    expect(report.rows).toBe(29);
  });
});

describe('rows of the ledger', () => {
  it.each<[string, string, number, RegExp]>([
    ['edited', `UPDATE "LedgerEntry" SET body = replace(body, 'F-1', 'F-2') WHERE seq = 4`, 4, /not the text/],
    ['deleted', 'DELETE FROM "LedgerEntry" WHERE seq = 5', 5, /entry 5 is missing: the next one is 6/],
    [
      'replaced by another entry',
      'UPDATE "LedgerEntry" SET (body, leaf) = (SELECT body, leaf FROM "LedgerEntry" WHERE seq = 9) WHERE seq = 4',
      4,
      /says that it is entry 9/,
    ],
  ])('%s are named', async (_what, statement, seq, reason) => {
    await attack(run(statement));
    const report = await store.verifyLedger();
    expect(report).toMatchObject({ ok: false, seq });
    expect(reasonOf(report)).toMatch(reason);
  });

  it('in another order are named', async () => {
    await attack((sql) => {
      sql.exec('UPDATE "LedgerEntry" SET seq = -6 WHERE seq = 6; UPDATE "LedgerEntry" SET seq = 6 WHERE seq = 7');
      sql.exec('UPDATE "LedgerEntry" SET seq = 7 WHERE seq = -6');
    });
    expect(await store.verifyLedger()).toMatchObject({
      ok: false,
      seq: 6,
      reason: { code: 'another number', facts: { seq: 7 } },
    });
  });

  it('deleted from the middle name what they recorded', async () => {
    await attack(run('DELETE FROM "LedgerEntry" WHERE seq = 4'));
    expect(faultsOf(await store.verifyLedger())).toContainEqual(
      expect.stringMatching(
        /^Revision row 1 \(Plate\): it names entry 4 of the audit trail, which does not record it$/,
      ),
    );
  });

  it('cut at the end are named, with what they recorded', async () => {
    await attack(run('DELETE FROM "LedgerEntry" WHERE seq > 20'));
    const report = await store.verifyLedger();
    expect(report).toMatchObject({ ok: false, seq: 21 });
    expect(faultsOf(report).join('\n')).toMatch(/entries are missing at the end: there were 21/);
    expect(faultsOf(report).join('\n')).toMatch(/Revision row 7 .*: it names entry 21/);
  });

  it('cut with rows, nodes and size are seen by the head that was signed last', async () => {
    await attack((sql) => {
      sql.exec('DELETE FROM "LedgerEntry" WHERE seq > 20; DELETE FROM "Revision" WHERE ledgerSeq > 20');
      hashAgain(sql);
    });
    expect(await store.verifyLedger()).toMatchObject({
      ok: false,
      faults: [
        {
          kind: 'audit trail',
          key: 'signed head',
          fault: {
            code: 'last head',
            facts: { what: 'another size', signed: 21, found: 20 },
          },
        },
        { kind: 'key', key: 'anchor', fault: { code: 'anchored head', facts: { found: { code: 'entries cut off' } } } },
        { kind: 'audit trail', key: 'kept-views', fault: { code: 'kept beyond the end' } },
      ],
    });
  });

  it('added behind the last one are named', async () => {
    await attack((sql) => {
      const { body } = sql.prepare('SELECT body FROM "LedgerEntry" WHERE seq = 21').get() as { body: string };
      const added = body.replace('"seq":21', '"seq":22');
      sql.prepare('INSERT INTO "LedgerEntry" VALUES (22, ?, ?)').run(added, leafHash(added));
    });
    const report = await store.verifyLedger();
    expect(report).toMatchObject({ ok: false, seq: 22, reason: { code: 'entry added from outside' } });
  });

  it('hashed again without their nodes are named by the nodes', async () => {
    await attack((sql) => {
      rewriteFamily(sql);
      const { seq, body } = sql.prepare('SELECT seq, body FROM "LedgerEntry" WHERE seq = 21').get() as never as {
        seq: number;
        body: string;
      };
      sql.prepare('UPDATE "LedgerEntry" SET leaf = ? WHERE seq = ?').run(leafHash(body), seq);
    });
    expect((await store.verifyLedger()).ok).toBe(false);
  });

  it.each<[string, string, RegExp]>([
    [
      'a changed node',
      `UPDATE "LedgerNode" SET hash = replace(hash, substr(hash, 1, 4), '0000') WHERE level = 2`,
      /node over entries 1 to 4/,
    ],
    ['a removed node', 'DELETE FROM "LedgerNode" WHERE level = 1 AND "index" = 9', /node over entries 19 to 20/],
    [
      'an added node',
      `INSERT INTO "LedgerNode" VALUES (1, 500, 'x')`,
      /node over entries 1001 to 1002: no entries complete/,
    ],
  ])('name %s of the tree', async (_what, statement, expected) => {
    await attack(run(statement));
    expect(faultsOf(await store.verifyLedger())[0]).toMatch(expected);
  });
});

describe('a ledger that was hashed again as a whole', () => {
  it('is seen by the signature of the head that was left, when the intruder has no key', async () => {
    await attack((sql) => {
      rewriteFamily(sql);
      hashAgain(sql);
    });
    expect(await store.verifyLedger()).toMatchObject({
      ok: false,
      faultCount: 2,
      reason: { facts: { what: 'another audit trail' } },
      faults: [{}, { key: 'anchor', fault: { facts: { found: { code: 'covered entries changed' } } } }],
    });
  });

  it('is seen when the intruder leaves the old signature under a new head, or takes the head away', async () => {
    await attack((sql) => {
      rewriteFamily(sql);
      const { size, root } = hashAgain(sql);
      const { head } = sql.prepare('SELECT head FROM "LedgerLock"').get() as { head: string };
      const forged = parseHead(head).text.replace(
        /\n.*\n.*\n$/,
        `\n${size}\n${Buffer.from(root, 'hex').toString('base64')}\n`,
      );
      sql.prepare('UPDATE "LedgerLock" SET head = ?').run(head.replace(parseHead(head).text, forged));
    });
    expect(await store.verifyLedger()).toMatchObject({
      ok: false,
      reason: {
        code: 'last head',
        facts: { what: 'not readable', error: expect.stringContaining('was not signed by the key') },
      },
    });
    await attack(run('UPDATE "LedgerLock" SET head = NULL'));
    expect(await store.verifyLedger()).toMatchObject({
      ok: false,
      reason: { facts: { what: 'is missing' } },
    });
  });

  it('takes no further entry', async () => {
    await attack((sql) => {
      rewriteFamily(sql);
      hashAgain(sql);
    });
    const refused = {
      code: 'ALTERED',
      message: expect.stringContaining('does not hold (another audit trail)'),
    };
    await expect(openStore(folder)).rejects.toMatchObject(refused);
    await expect(
      store.change(ACTOR, (change) => change.results.add('L-1', 'more.csv', [result({ line: '9' })])),
    ).rejects.toMatchObject(refused);
  });

  it('is shown only by a head that was kept elsewhere, when the intruder holds key and anchor too', async () => {
    const kept = headLine((await store.proofs.signedHead()).note);
    await attack((sql) => {
      rewriteFamily(sql);
      const { size, root } = hashAgain(sql);
      const { origin } = parseOrigin(kept);
      const { checkpoint } = signedCheckpoint(store.key, { origin, size, root });
      sql.prepare('UPDATE "LedgerLock" SET head = ?').run(checkpoint);
    });
    expect(faultsOf(await store.verifyLedger())).toEqual([
      expect.stringMatching(/^key anchor: what the head covers was changed: the first 21 entries/),
    ]);
    await store.anchorAnew(null);
    expect(await store.verifyLedger()).toMatchObject({ ok: true });
    const report = await store.verifyLedger({ head: parseHead(kept) });
    expect(report).toMatchObject({ ok: false, head: { grownOnly: false, signedBy: store.key.fingerprint } });
    expect(headText(report)).toMatch(/what the head covers was changed: the first 21 entries/);
  });
});

const parseOrigin = (line: string): { origin: string } => ({ origin: line.split(' ')[0]! });

describe('a head that was kept elsewhere', () => {
  it('proves that the ledger has only grown', async () => {
    const kept = parseHead(headLine((await store.proofs.signedHead()).note));
    await store.change(ACTOR, (change) => change.results.add('L-1', 'more.csv', [result({ line: '9' })]));
    const report = await store.verifyLedger({ head: kept });
    expect(report).toMatchObject({ ok: true, head: { grownOnly: true, size: 21, signedBy: store.key.fingerprint } });
    expect(headText(report)).toMatch(/has only grown since: from 21 to 22 entries/);
  });

  it('says that a key is not known here, and compares all the same', async () => {
    const other = temporaryFolder();
    const stranger = await Store.open(DataFolder.open(other.folder));
    const { origin, size, root } = await store.proofs.signedHead();
    const { note } = signedCheckpoint(stranger.key, { origin, size, root });
    await stranger.close();
    other.remove();
    const report = await store.verifyLedger({ head: note });
    expect(report).toMatchObject({ ok: true, head: { grownOnly: true, signedBy: null } });
    expect(headText(report)).toMatch(/the key that signed it is not known here/);
  });

  it('of another folder is refused', async () => {
    const other = temporaryFolder();
    const stranger = await Store.open(DataFolder.open(other.folder));
    const { note } = await stranger.proofs.signedHead();
    await stranger.close();
    other.remove();
    const report = await store.verifyLedger({ head: note });
    expect(report).toMatchObject({ ok: false, head: { grownOnly: false } });
    expect(headText(report)).toMatch(/of another audit trail/);
  });

  it('is refused when it was copied wrongly', async () => {
    const line = headLine((await store.proofs.signedHead()).note).replace(' 21 ', ' 20 ');
    await expect(store.verifyLedger({ head: parseHead(line) })).rejects.toMatchObject({ code: 'ALTERED' });
  });
});

const RESULT_COLUMNS = [
  ...['lot', 'specimen', 'piece', 'characteristic', 'replicate', 'value', 'ucum', 'reportedValue', 'reportedUcum'],
  ...['standardUncertainty', 'measuredAt', 'recordedAt', 'instrument', 'analyst', 'method', 'methodRevision'],
  ...['startedAt', 'enteredBy', 'checkedBy', 'file', 'evidence', 'line', 'reason', 'ledgerSeq'],
].join(', ');

describe('evidence files', () => {
  const fileOf = async (bytes: string): Promise<string> => {
    const source = path.join(folder, 'source.csv');
    fs.writeFileSync(source, bytes);
    const kept = await store.evidence.keep(source);
    await store.change(ACTOR, (change) => change.evidence.add({ ...kept, fileName: 'logs/one.csv' }));
    return await store.evidence.pathOf(kept.sha256);
  };

  it.each<[string, (file: string) => void, RegExp]>([
    ['swapped', (file) => fs.writeFileSync(file, 'other'), /logs\/one.csv was altered/],
    ['truncated', (file) => fs.truncateSync(file, 3), /logs\/one.csv was altered/],
    ['deleted', (file) => fs.rmSync(file), /logs\/one.csv is missing/],
  ])('that were %s are named, when they are asked for', async (_what, work, expected) => {
    const file = await fileOf('what the machine wrote\n');
    fs.chmodSync(file, 0o644);
    work(file);
    expect(await store.verifyLedger()).toMatchObject({ ok: true, files: null });
    const report = await store.verifyLedger({ files: true });
    expect(report).toMatchObject({ ok: false, files: 3 });
    expect(faultsOf(report).join('\n')).toMatch(expected);
  });
});

// Of the guards on a server: tests/store/postgresql.test.ts.
describe.skipIf(isOnServer)('guards', () => {
  it('that were dropped are named', async () => {
    const sql = new Database(path.join(folder, 'lotwright.sqlite'));
    sql.exec('DROP TRIGGER "guard_Result_update"');
    sql.close();
    expect(faultsOf(await store.verifyLedger())).toEqual(['database guards: guard_Result_update is missing']);
  });
});

describe.skipIf(isOnServer)('an index that lost its rows', () => {
  it('is told of with the rows that it hides: pages would no longer show them', async () => {
    await store.close();
    await attack((sql) => {
      sql.unsafeMode(true);
      sql.pragma('writable_schema = ON');
      // The index now begins where an empty one lies.
      run(`UPDATE sqlite_master SET rootpage = (SELECT rootpage FROM sqlite_master WHERE name = 'ScanJob_state_idx')
        WHERE name = 'Result_lot_characteristic_idx'`)(sql);
      sql.pragma('writable_schema = OFF');
    });
    store = await openStore(folder);
    expect((await store.read.results.ofLot('L-1')).rows).toEqual([]);
    const report = await store.verifyLedger();
    expect(report.ok).toBe(false);
    expect(faultsOf(report)).toEqual(
      expect.arrayContaining(
        [1, 2, 3].map((row) => `Result row ${row}: row ${row} missing from index Result_lot_characteristic_idx`),
      ),
    );
  });
});

describe('rows that the ledger records', () => {
  it.each<[string, string, string, RegExp]>([
    [
      'text and digest of a document',
      `UPDATE "Revision" SET body = '{}', digest = '${sha256Hex('{}')}' WHERE number = 4`,
      'family F-1',
      /its row in Revision/,
    ],
    [
      'who made a change',
      `UPDATE "Revision" SET actor = 'x' WHERE number = 2`,
      'family F-1',
      /its actor in Revision is "x"/,
    ],
    ['a mass on a link', `UPDATE "Link" SET massG = '99' WHERE massG IS NOT NULL`, 'lot L-1', /a row in Link/],
    [
      'a result',
      `UPDATE "Result" SET value = '1.19' WHERE line = 3`,
      'results of lot L-1',
      /a row in Result is not as/,
    ],
    ['a deleted result', 'DELETE FROM "Result" WHERE line = 3', 'results of lot L-1', /1 rows in Result, and 2 were/],
    ['a removed finding', 'DELETE FROM "Finding"', 'log of build B-1', /recorded in Finding is gone/],
    ['a removed hold', `DELETE FROM "Event" WHERE type = 'hold-placed'`, 'lot L-1', /recorded in Event is gone/],
    [
      'a statement',
      `UPDATE "Signature" SET statement = replace(statement, 'IMP-1', 'IMP-2')`,
      'lot L-1',
      /its row in Signature/,
    ],
    [
      'a removed line of what was signed',
      'DELETE FROM "SignatureSubject"',
      'lot L-1',
      /recorded in SignatureSubject is gone/,
    ],
    ['a part of a lot file', `UPDATE "Part" SET body = '{"a":2}'`, 'lot file of lot L-1', /its row in Part/],
    ['a removed part', 'DELETE FROM "Part"', 'lot file of lot L-1', /recorded in Part is gone/],
    [
      'an assessment',
      `UPDATE "Assessment" SET body = replace(body, 'conforms', 'does not conform')`,
      'assessment of lot L-1',
      /its row in Assessment/,
    ],
    ['what trends read', 'UPDATE "LotSummary" SET mean = 9', 'summaries of lot L-1', /its row in LotSummary/],
    ['a record', `UPDATE "Record" SET fileSha256 = '${'0'.repeat(64)}'`, 'record R-L-1', /its row in Record/],
  ])('name %s', async (_what, statement, thing, reason) => {
    await attack(run(statement));
    const report = await store.verifyLedger();
    expect(report.ok).toBe(false);
    const named = faultsOf(report).filter((line) => line.startsWith(thing) && reason.test(line));
    expect([faultsOf(report), named.length]).not.toEqual([faultsOf(report), 0]);
  });

  it.each<[string, string, RegExp]>([
    [
      'a revision',
      `INSERT INTO "Revision" SELECT 900, entryId, 9, name, body, digest, recordedAt, recordedOffset, actor, reason, 4 FROM "Revision" WHERE number = 2`,
      /family F-1/,
    ],
    [
      'a result',
      `INSERT INTO "Result" (${RESULT_COLUMNS}) SELECT ${RESULT_COLUMNS.replace('replicate', '7')} FROM "Result" WHERE line = 3`,
      /lot L-1: there are 3 rows in Result/,
    ],
    [
      'a hold that was lifted',
      `INSERT INTO "Event" SELECT 900, 'hold-lifted', subjectKind, subjectKey, body, recordedAt, recordedOffset, actor, reason, 2000 FROM "Event" WHERE type = 'hold-placed'`,
      /Event row 900 \(hold-lifted, lot, L-1, pore found on the coupon\): it names entry 2000/,
    ],
    [
      'an entry',
      `INSERT INTO "Entry" VALUES (900, 'lot', 'L-9', '2031', 4)`,
      /family F-1: there are 2 rows in Entry, and 1 were recorded/,
    ],
    [
      'a part',
      `INSERT INTO "Part" VALUES ('${sha256Hex('x')}', 4, 'text/plain', 'x')`,
      /family F-1: it has rows in Part, and none were recorded there/,
    ],
    [
      'an event behind the last number',
      `INSERT INTO "Event" SELECT 901, 'hold-lifted', subjectKind, subjectKey, body, recordedAt, recordedOffset, actor, reason, 9e999 FROM "Event" WHERE type = 'hold-placed'`,
      /Event row 901/,
    ],
    [
      'a summary of another lot',
      `INSERT INTO "LotSummary" SELECT 900, family, characteristic, 7, 'L-7', build, builtAt, closedAt, context, n, mean, sumSquaredDeviations, min, max, censored, "values", takenOut, takenOutCount, beside, dossierDigest, replaces, previous, digest, 2000 FROM "LotSummary"`,
      /LotSummary row 900 \(F-1, thickness, L-7, .*: it names entry 2000/,
    ],
    [
      'a line of what was signed',
      `INSERT INTO "SignatureSubject" SELECT 900, '${'0'.repeat(64)}', kind, key, digest, 2000 FROM "SignatureSubject"`,
      /SignatureSubject row 900 \(lot, L-1\): it names entry 2000/,
    ],
    [
      'a finding',
      `INSERT INTO "Finding" SELECT 900, 77, identity, build, rule, level, channel, ledgerSeq, body FROM "Finding"`,
      /log of build B-1: there are 2 rows in Finding/,
    ],
  ])('name %s that nobody recorded', async (_what, statement, expected) => {
    // No whole number of a server.
    if (isOnServer && statement.includes('9e999')) return;
    await attack(run(statement));
    const report = await store.verifyLedger();
    expect(report.ok).toBe(false);
    expect(faultsOf(report).join('\n')).toMatch(expected);
  });

  it('list the first of many and count all', async () => {
    const rows = Array.from({ length: 30 }, (_, line) => result({ line: String(line) }));
    for (let lot = 0; lot < 5; lot += 1) {
      await store.change(ACTOR, (change) => change.results.add(`X-${lot}`, 'f.csv', rows));
    }
    await attack(run(`UPDATE "Result" SET ledgerSeq = 5000 WHERE lot LIKE 'X-%'`));
    const report = await store.verifyLedger();
    expect(report.faultCount).toBe(5 + 150);
    expect(report.faults).toHaveLength(100);
  });
});
