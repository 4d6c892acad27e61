import fs from 'node:fs';
import path from 'node:path';
import { systemClock } from '../../src/base/clock.js';
import { outputFor } from '../../src/cli/output.js';
import { AuditTrail } from '../../src/custody/audit-trail.js';
import { checkFolder } from '../../src/custody/integrity.js';
import { run as runAnchor } from '../../src/custody/keys-anchor-run.js';
import { renewAnchor, replaceLostKey } from '../../src/custody/outside-acts.js';
import { witnessFaults } from '../../src/custody/witnesses.js';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import { ACCOUNT_EVENTS, type Event, subjectOfEvent } from '../../src/ledger/event.js';
import { Proof } from '../../src/people/proof.js';
import { folderFaultText, storedFaultText } from '../../src/report/phrases/stored-faults.js';
import { AnchorFile } from '../../src/store/anchor-file.js';
import { ENGINE } from '../../src/store/chosen-engine.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { newRowsText } from '../../src/store/recorded-table.js';
import { recordedTablesOf } from '../../src/store/sqlite/recorded-tables.js';
import { Store } from '../../src/store/store.js';
import { fillEveryTable, result } from '../store/fill.js';
import { AnchorPlace } from '../support/anchor-place.js';
import { temporaryFolder } from '../support/cell.js';
import { attackDatabase, forgeEvent, forgeStatement, OwnKey, type Sql } from '../support/intruder.js';
import { withPens } from '../support/pens.js';
import { makeTestPeople, PASSWORD } from '../support/people.js';
import { programHold } from '../support/program-hold.js';
import { openServices } from '../support/services.js';
import { copyOfTemplate } from '../support/template.js';

const ACTOR = 'local:tester';
let folder: string;

/** A folder with people, and with a value that fails. */
async function makeFolder(to: string): Promise<void> {
  const services = await openServices(to);
  await makeTestPeople(services);
  await withPens(services, ['P-QE'], (pens) =>
    services.store.change(ACTOR, fillEveryTable(services.store.key, pens.get('P-QE'))),
  );
  await services.store.change(ACTOR, (change) =>
    change.results.add('L-1', 'more.csv', [result({ line: '9', value: '0.4' })]),
  );
  await services.store.close();
}

beforeEach(async () => {
  folder = path.join(temporaryFolder('outside'), 'data');
  await copyOfTemplate('outside', makeFolder, folder);
});

const anchorFile = () => AnchorFile.beside(folder).file;
const keyFile = () => path.join(folder, 'keys', 'installation.pem');
const open = () => Store.open(DataFolder.open(folder));
const anchoredSize = () => Number(AnchorFile.beside(folder).read().head!.text.split('\n')[1]);
const openUnanchored = () => {
  const data = DataFolder.open(folder);
  return Store.open(data, undefined, { anchored: false });
};
const attack = (work: (sql: Sql) => void) => attackDatabase(folder, work);

async function faults(): Promise<string[]> {
  const report = await ENGINE.auditFolder(DataFolder.open(folder), { anchor: AnchorFile.beside(folder) });
  expect(report.ok).toBe(false);
  return report.faults.map(({ kind, key, fault }) => `${kind} ${key}: ${storedFaultText(fault)}`);
}

/** Whatever asks the folder says no: start, check, audit. */
async function expectRefused(named: RegExp): Promise<void> {
  await expect(open()).rejects.toMatchObject({ code: 'ALTERED' });
  expect((await checkFolder(DataFolder.open(folder), ACTOR)).faults.length).toBeGreaterThan(1);
  expect((await faults()).join('\n')).toMatch(named);
}

const keyInUse = (sql: Sql) =>
  sql.prepare(`SELECT subjectKey FROM "Event" WHERE type = 'key-made' ORDER BY id DESC`).pluck().get() as string;

const forgedRelease = (sql: Sql, own: OwnKey) => {
  const text = sql.prepare('SELECT statement FROM "Signature" LIMIT 1').pluck().get() as string;
  forgeStatement(sql, own.statement({ ...JSON.parse(text), meaning: 'released', step: 'distribution' }));
};

describe('whoever has the database alone', () => {
  it('names no key: one that vouches for itself is not endorsed by the key before', async () => {
    const own = new OwnKey();
    await attack((sql) => {
      forgeEvent(sql, own.named(keyInUse(sql)));
      forgedRelease(sql, own);
      own.signHead(sql);
    });
    await expectRefused(new RegExp(`key ${own.fingerprint}: the key before it did not vouch for it`));
    expect((await faults()).join('\n')).toMatch(/it names a key that is none of this folder/);
  });

  it('names no key in the place of a lost one', async () => {
    const own = new OwnKey();
    await attack((sql) => {
      forgeEvent(sql, own.named(keyInUse(sql), ['P-AD', 'P-QE']));
      forgedRelease(sql, own);
      own.signHead(sql);
    });
    await expectRefused(/it stands for a lost key, and the anchor outside the database knows nothing of that/);
    expect((await faults()).join('\n')).toMatch(/the two people that it names did not sign it with their keys/);
  });

  it('accepts no other audit trail in the name of two people', async () => {
    const { persons, before, ledgerSize, root } = {
      persons: ['P-AD', 'P-QE'],
      before: null,
      ledgerSize: 3,
      root: sha256Hex('x'),
    };
    await attack((sql) => forgeEvent(sql, { type: 'anchor-renewed', persons, before, ledgerSize, root }));
    expect((await faults()).join('\n')).toMatch(
      /folder data: .*: the two people that it names did not sign it with their keys/,
    );
  });

  it('names no key without any endorsement', async () => {
    const own = new OwnKey();
    await attack((sql) => {
      const { endorsement, acceptance, ...bare } = own.named(keyInUse(sql));
      forgeEvent(sql, bare);
      own.signHead(sql);
    });
    await expectRefused(/it did not sign that it follows the key before it/);
  });

  it('signs nothing under a key that nobody named', async () => {
    const own = new OwnKey();
    await attack((sql) => {
      forgedRelease(sql, own);
      own.signHead(sql);
    });
    await expectRefused(/it names a key that is none of this folder/);
  });

  it('changes no value, however everything is hashed and signed again', async () => {
    const own = new OwnKey();
    await attack((sql) => {
      turnFailingValue(sql);
      forgeEvent(sql, own.named(keyInUse(sql)));
      own.signHead(sql);
    });
    await expectRefused(/key anchor: what the head covers was changed/);
  });

  it('writes no audit trail of its own from the first key on', async () => {
    const own = new OwnKey();
    await attack((sql) => {
      const { endorsement, acceptance, ...bare } = own.named('');
      const body = canonicalJson({ ...bare, replaces: null });
      sql.prepare(`UPDATE "Event" SET body = ?, subjectKey = ? WHERE type = 'key-made'`).run(body, own.fingerprint);
      own.signHead(sql);
    });
    await expectRefused(new RegExp(`key ${own.fingerprint}: it is not the first key`));
  });
});

describe('whoever writes into the database of a service that runs', () => {
  const COLUMNS = 'type, subjectKind, subjectKey, body, recordedAt, recordedOffset, actor, reason, ledgerSeq';
  const insert = (sql: Sql, event: Event, seq: number) => {
    const like = sql.prepare(`SELECT recordedAt, recordedOffset, actor FROM "Event" WHERE ledgerSeq = ?`).get(seq) ?? {
      ...{ recordedAt: '2031-01-01T00:00:00.000Z', recordedOffset: '+00:00', actor: 'program' },
    };
    const { kind, key } = subjectOfEvent(event);
    const values = [event.type, kind, key, canonicalJson(event), ...Object.values(like), null, seq];
    sql.prepare(`INSERT INTO "Event" (${COLUMNS}) VALUES (${values.map(() => '?').join(', ')})`).run(...values);
  };
  const role: Event = { type: 'role-given', person: 'P-OP', role: 'quality engineer' };

  const passwordOf = (sql: Sql, person: string) =>
    JSON.parse(
      sql
        .prepare(`SELECT body FROM "Event" WHERE type = 'password-set' AND subjectKey = ?`)
        .pluck()
        .get(person) as string,
    ) as Extract<Event, { type: 'password-set' }>;

  it.each<[string, (sql: Sql) => void]>([
    ['gives a role by a row of an entry that recorded another', (sql) => insert(sql, role, 4)],
    ['gives a role by a row of no entry', (sql) => insert(sql, role, 9000)],
    [
      'gives a role by an entry of their own, signed by no key of the chain',
      (sql) => {
        forgeEvent(sql, role);
        new OwnKey().signHead(sql);
      },
    ],
    ['sets their own password for another', (sql) => insert(sql, { ...passwordOf(sql, 'P-OP'), person: 'P-QE' }, 9000)],
    [
      'turns the password of another into theirs',
      (sql) => {
        const body = canonicalJson({ ...passwordOf(sql, 'P-OP'), person: 'P-QE' });
        sql.prepare(`UPDATE "Event" SET body = ? WHERE type = 'password-set' AND subjectKey = 'P-QE'`).run(body);
      },
    ],
  ])('%s: nobody proves who they are any more until it is mended', async (_what, change) => {
    const store = await open();
    await attack(change);
    const refused = { code: 'ALTERED', message: expect.stringContaining('changed the database from outside') };
    await expect(prove(store, 'P-QE')).rejects.toMatchObject(refused);
    await expect(store.read.events.ofTypes(ACCOUNT_EVENTS)).rejects.toMatchObject(refused);
    await store.close();
  });

  it.each<[string, (sql: Sql) => void]>([
    ['takes a role away', (sql) => sql.exec(`DELETE FROM "Event" WHERE type = 'role-given' AND subjectKey = 'P-OP'`)],
    [
      'takes a key of a person away',
      (sql) => sql.exec(`DELETE FROM "Event" WHERE type = 'person-key-made' AND subjectKey = 'P-OP'`),
    ],
    [
      'takes an event away with the entry that recorded it',
      (sql) => {
        const seq = sql
          .prepare(`SELECT ledgerSeq FROM "Event" WHERE type = 'role-given' AND subjectKey = 'P-OP'`)
          .pluck()
          .get();
        sql.exec(`DELETE FROM "Event" WHERE ledgerSeq = ${seq}; DELETE FROM "LedgerEntry" WHERE seq = ${seq}`);
      },
    ],
  ])('%s: so does nobody, though the rest is as it was recorded', async (_what, change) => {
    const store = await open();
    await attack(change);
    await expect(prove(store, 'P-QE')).rejects.toMatchObject({ code: 'ALTERED' });
    await store.close();
  });
});

/** A value below its limit becomes one above, with its row, its entry and everything over them. */
function turnFailingValue(sql: Sql): void {
  const seq = sql.prepare(`SELECT ledgerSeq FROM "Result" WHERE value = '0.4'`).pluck().get() as number;
  sql.prepare(`UPDATE "Result" SET value = '1.4', reportedValue = '1.4' WHERE value = '0.4'`).run();
  const table = recordedTablesOf(sql).find(({ name }) => name === 'Result')!;
  const rows = sql.prepare('SELECT * FROM "Result" WHERE ledgerSeq = ?').all(seq) as Record<string, unknown>[];
  const entry = JSON.parse(sql.prepare('SELECT body FROM "LedgerEntry" WHERE seq = ?').pluck().get(seq) as string);
  entry.tables.Result.sha256 = sha256Hex(newRowsText(table, rows));
  sql.prepare('UPDATE "LedgerEntry" SET body = ? WHERE seq = ?').run(canonicalJson(entry), seq);
}

describe('an older database that is put back', () => {
  beforeEach(async () => {
    const { database } = DataFolder.open(folder);
    const older = fs.readFileSync(database);
    const store = await open();
    await store.change(ACTOR, (change) => change.events.add(programHold(), 'x'));
    await store.close();
    fs.writeFileSync(database, older);
  });

  it('is named by start, check and audit', async () => {
    await expectRefused(/key anchor: entries were cut off: the head covers/);
  });

  it('is accepted by two people, one of them an administrator, and the audit trail says from where it went back', async () => {
    const size = anchoredSize();
    const reason = 'the disk broke, the backup is of the day before';
    for (const [first, second] of [
      ['P-QE', 'P-RE'],
      ['P-AD', 'P-AD'],
    ] as const) {
      const store = await openUnanchored();
      await expect(renewAnchor(store, await two(store, first, second), reason)).rejects.toMatchObject({
        code: 'REFUSED',
      });
      await store.close();
    }
    const store = await openUnanchored();
    await renewAnchor(store, await two(store, 'P-AD', 'P-QE'), reason);
    await store.close();
    const next = await open();
    const [renewed] = await next.read.events.ofTypes(['anchor-renewed']);
    expect(renewed).toMatchObject({
      reason,
      event: { persons: ['P-AD', 'P-QE'], before: { size }, ledgerSize: size - 1 },
    });
    expect(await next.verifyLedger()).toMatchObject({ ok: true });
    await next.close();
  });
});

const prove = (store: Store, person: string) => Proof.demand(store, systemClock, person, PASSWORD);
const two = async (store: Store, first: string, second: string) =>
  [await prove(store, first), await prove(store, second)] as const;

describe('the anchor', () => {
  it('is named when it is gone, and never made anew by itself', async () => {
    const store = await open();
    fs.rmSync(anchorFile());
    const place = () => store.change(ACTOR, (change) => change.events.add(programHold()));
    await expect(place()).rejects.toMatchObject({
      code: 'ALTERED',
      message: expect.stringContaining('anchor.txt is missing'),
    });
    await store.close();
    await expectRefused(/key anchor: .*anchor.txt is missing, by which the database is known/);
    expect(fs.existsSync(anchorFile())).toBe(false);
  });

  it('advances with every change, and passes over what a sudden end left of its last line', async () => {
    const store = await open();
    const before = anchoredSize();
    const place = () => store.change(ACTOR, (change) => change.events.add(programHold()));
    await place();
    expect(anchoredSize()).toBe(before + 1);
    fs.appendFileSync(anchorFile(), 'lotwright.inval');
    await place();
    expect(anchoredSize()).toBe(before + 2);
    await store.close();
    await (await open()).close();
    fs.appendFileSync(anchorFile(), 'x\n');
    await expectRefused(/line \d+ of the anchor is not a head of the audit trail/);
  });
});

describe('an anchor in a second place', () => {
  it('is compared like the first one, and advances when a program ends', async () => {
    const second = path.join(temporaryFolder('elsewhere'), 'anchor.txt');
    const run = (options: object) => runAnchor(outputFor(true), { data: folder }, options);
    await run({ also: second });
    const sizeThere = () => Number(new AnchorFile(second).read().head!.text.split('\n')[1]);
    const before = sizeThere();
    await placeHold();
    expect(sizeThere()).toBe(before + 1);
    // Who has the folder and its first anchor puts both back, and the second one says so.
    const { database } = DataFolder.open(folder);
    const older = [database, anchorFile()].map((file) => [file, fs.readFileSync(file)] as const);
    await placeHold();
    for (const [file, bytes] of older) fs.writeFileSync(file, bytes);
    await expect(open()).rejects.toMatchObject({
      code: 'ALTERED',
      message: expect.stringMatching(/the anchor covers \d+ entries, and there are \d+/),
    });
    fs.rmSync(second);
    await expect(open()).rejects.toMatchObject({ code: 'ALTERED', message: expect.stringContaining('is missing') });
  });
});

it('names in the audit trail which second place of the anchor is meant, and check says when somebody took it out', async () => {
  const second = path.join(temporaryFolder('elsewhere'), 'anchor.txt');
  const run = () => runAnchor(outputFor(true), { data: folder }, { also: second });
  const looked = async () => {
    const store = await open();
    const [faults, events] = [await witnessFaults(store), await store.read.events.ofTypes(['second-place-named'])];
    await store.close();
    return { says: faults.map(({ name, fault }) => `${name} ${folderFaultText(fault)}`), events };
  };
  await run();
  await run();
  const { says, events } = await looked();
  expect([says, events.map(({ event }) => event)]).toEqual([
    [],
    [{ type: 'second-place-named', place: second, before: null }],
  ]);
  DataFolder.open(folder).with({ anchor: undefined });
  expect((await looked()).says).toEqual([
    expect.stringMatching(
      /anchor.txt is the second place .* the folder names none: somebody took it out of folder.json/,
    ),
  ]);
  await run();
  expect((await looked()).says).toEqual([]);
});

it('asks every second place that was ever named, whoever names another one with the key and the settings of the folder', async () => {
  const elsewhere = temporaryFolder('elsewhere');
  const [second, other] = ['anchor.txt', 'other.txt'].map((name) => path.join(elsewhere, name)) as [string, string];
  await runAnchor(outputFor(true), { data: folder }, { also: second });
  const { database } = DataFolder.open(folder);
  const older = [database, anchorFile()].map((file) => [file, fs.readFileSync(file)] as const);
  await placeHold();
  // The hold is taken back, where neither the first anchor nor a second one of their own says so.
  for (const [file, bytes] of older) fs.writeFileSync(file, bytes);
  new AnchorFile(other).replace(AnchorFile.beside(folder).read());
  DataFolder.open(folder).withSecondAnchor(other);
  const nameAndLook = async (before: string | null) => {
    const store = await open();
    await store.change(ACTOR, (change) => change.events.add({ type: 'second-place-named', place: other, before }));
    const faults = (await witnessFaults(store)).map(({ name, fault }) => `${name} ${folderFaultText(fault)}`);
    const { lines } = await new AuditTrail(store).page({ act: 'event:second-place-named' }, 1);
    await store.close();
    return { faults, told: JSON.stringify(lines[0]) };
  };
  // One that does not say in whose stead it is counts for nothing.
  expect((await nameAndLook(null)).faults).toEqual([
    expect.stringContaining(
      `${second} is the second place of the anchor by the audit trail, and the folder names ${other}`,
    ),
  ]);
  const { faults, told } = await nameAndLook(second);
  expect(faults).toEqual([
    expect.stringMatching(new RegExp(`^${second} .*entries.* changed|^${second} what the head covers`)),
  ]);
  for (const place of [second, other]) expect(told).toContain(place);
});

async function placeHold(): Promise<void> {
  const store = await open();
  await store.change(ACTOR, (change) => change.events.add(programHold()));
  await store.close();
}

describe('a lost key', () => {
  it('leaves everything readable and stops every act, until two people vouch for another', async () => {
    const lost = (await openAndClose()).key.fingerprint;
    fs.rmSync(keyFile());
    const store = await open();
    const place = () => store.change(ACTOR, (change) => change.events.add(programHold()));
    await expect(place()).rejects.toMatchObject({
      code: 'CONFLICT',
      message: expect.stringContaining('installation.pem is missing'),
    });
    expect(await store.verifyLedger()).toMatchObject({ ok: true });
    await replaceLostKey(store, await two(store, 'P-AD', 'P-RE'), 'the disk with the key broke');
    await store.close();
    const next = await open();
    const made = (await next.read.events.ofTypes(['key-made'])).at(-1)!;
    expect(made).toMatchObject({
      reason: 'the disk with the key broke',
      event: { replaces: lost, persons: ['P-AD', 'P-RE'] },
    });
    expect(next.key.fingerprint).not.toBe(lost);
    await next.change(ACTOR, (change) => change.events.add(programHold()));
    expect(await next.verifyLedger()).toMatchObject({ ok: true });
    await next.close();
    await expect(replaceLostKey(next, [] as never, 'x')).rejects.toMatchObject({ code: 'CONFLICT' });
  });

  it('with its anchor: both are made anew in one act', async () => {
    fs.rmSync(path.join(folder, 'keys'), { recursive: true });
    await expect(open()).rejects.toMatchObject({ code: 'ALTERED' });
    const store = await openUnanchored();
    await replaceLostKey(store, await two(store, 'P-AD', 'P-RE'), 'the machine burnt');
    await store.close();
    const next = await open();
    expect(await next.verifyLedger()).toMatchObject({ ok: true });
    await next.close();
  });
});

async function openAndClose(): Promise<Store> {
  const store = await open();
  await store.close();
  return store;
}

it('leaves an address by two people alone, who sign that with the audit trail that they accept', async () => {
  const looked = async () => {
    const store = await open();
    const found = (await witnessFaults(store)).map(({ fault }) => folderFaultText(fault));
    await store.close();
    return found;
  };
  /** Whoever has database and installation key: what they add stands under a head that holds. */
  const forge = async (event: Event) => {
    const alone = await open();
    await alone.change(ACTOR, (change) => change.events.add(event, 'forged'));
    await alone.close();
  };
  const renewal = async (reason: string) => {
    const store = await openUnanchored();
    const renewed = await renewAnchor(store, await two(store, 'P-AD', 'P-QE'), reason);
    await store.close();
    const next = await open();
    const { event, ...told } = (await next.read.events.ofTypes(['anchor-renewed'])).at(-1)!;
    await next.close();
    return { renewed, event: event as Extract<Event, { type: 'anchor-renewed' }>, told };
  };
  const gone = [expect.stringMatching(/somebody took it out of folder.json/)];

  // One that kept its place, so that signatures of two people are there who left none.
  const kept = await renewal('the disk broke');
  const place = new AnchorPlace();
  const url = await place.listen();
  await runAnchor(outputFor(true), { data: folder }, { also: url });
  DataFolder.open(folder).with({ anchor: undefined });
  expect([kept.renewed.leftAddress, await looked()]).toEqual([null, gone]);
  const { signatures, ...unsigned } = kept.event;
  for (const event of [kept.event, { ...kept.event, leaves: url }, { ...unsigned, leaves: url }]) {
    await forge(event);
    expect(await looked()).toEqual(gone);
  }
  expect((await faults()).filter((says) => says.includes('did not sign it with their keys'))).toHaveLength(2);

  DataFolder.open(folder).with({ anchor: url });
  const left = await renewal('the place moves');
  expect([left.renewed.leftAddress, left.event.leaves, DataFolder.open(folder).secondAnchor]).toEqual([
    ...[url, url, undefined],
  ]);
  expect(left.told).toMatchObject({ actor: 'person:P-AD', reason: 'the place moves' });
  expect(await looked()).toEqual([]);

  // What two people signed once leaves the place once: not after it was named again.
  await runAnchor(outputFor(true), { data: folder }, { also: url });
  DataFolder.open(folder).with({ anchor: undefined });
  await forge(left.event);
  expect(await looked()).toEqual(gone);
  expect(await faults()).toContainEqual(expect.stringContaining('it was signed for another place'));
  await place.close();
});
