import fs from 'node:fs';
import path from 'node:path';
import { systemClock } from '../../src/base/clock.js';
import { AuditTrail } from '../../src/custody/audit-trail.js';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import type { SignedStatement } from '../../src/dossier/statement.js';
import { checkpointText, signatureOf, writeNote } from '../../src/ledger/checkpoint.js';
import { ACCOUNT_EVENTS, type Event, subjectOfEvent } from '../../src/ledger/event.js';
import { ACTS_OF_PEOPLE, renewalText } from '../../src/ledger/signed-acts.js';
import { Proof } from '../../src/people/proof.js';
import { storedFaultText } from '../../src/report/phrases/stored-faults.js';
import { AnchorFile } from '../../src/store/anchor-file.js';
import { ENGINE } from '../../src/store/chosen-engine.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { InstallationKey } from '../../src/store/installation-key.js';
import { newRowsText } from '../../src/store/recorded-table.js';
import { recordedTablesOf } from '../../src/store/sqlite/recorded-tables.js';
import { Store } from '../../src/store/store.js';
import { fillEveryTable } from '../store/fill.js';
import { temporaryFolder } from '../support/cell.js';
import { attackDatabase, forgeAct, forgeEvent, forgeStatement, hashAgain, type Sql } from '../support/intruder.js';
import { withPens } from '../support/pens.js';
import { makeTestPeople, PASSWORD } from '../support/people.js';
import { signedBy, TestPerson } from '../support/person-keys.js';
import { openServices } from '../support/services.js';
import { copyOfTemplate } from '../support/template.js';

const ACTOR = 'local:tester';
let folder: string;
let key: InstallationKey;

async function makeFolder(to: string): Promise<void> {
  const services = await openServices(to);
  await makeTestPeople(services);
  await withPens(services, ['P-QE'], (pens) =>
    services.store.change(ACTOR, fillEveryTable(services.store.key, pens.get('P-QE'))),
  );
  await services.store.close();
}

beforeEach(async () => {
  folder = path.join(temporaryFolder('people-outside'), 'data');
  await copyOfTemplate('people-outside', makeFolder, folder);
  key = InstallationKey.openOrMake(folder);
});

const open = () => Store.open(DataFolder.open(folder));
const attack = (work: (sql: Sql) => void) => attackDatabase(folder, work);

/** Signs the head over whatever is there, as only the key of the installation can. */
function signHead(sql: Sql, by: InstallationKey = key): void {
  const { size, root } = hashAgain(sql);
  const origin = (sql.prepare('SELECT head FROM "LedgerLock"').pluck().get() as string).split('\n')[0]!;
  const text = checkpointText({ origin, size, root });
  const signature = signatureOf({ name: origin, publicPem: by.publicPem }, by.sign(text));
  sql.prepare('UPDATE "LedgerLock" SET head = ?').run(writeNote({ text, signatures: [signature] }));
}

async function faults(): Promise<string> {
  const report = await ENGINE.auditFolder(DataFolder.open(folder), { anchor: AnchorFile.beside(folder) });
  return report.faults
    .map(({ kind, key, seq, fault }) => `${kind} ${key}, ${seq}: ${storedFaultText(fault)}`)
    .join('\n');
}

const reviewIn = (sql: Sql): SignedStatement => {
  const row = sql.prepare('SELECT statement, digest, personSignature, signature FROM "Signature"').get() as never as {
    statement: string;
  } & SignedStatement;
  return { ...row, statement: JSON.parse(row.statement as never) };
};

/** The review that is there, as a release by somebody else. */
const releaseIn = (sql: Sql, change: Partial<SignedStatement['statement']> = {}): SignedStatement['statement'] => ({
  ...reviewIn(sql).statement,
  meaning: 'released',
  step: 'distribution',
  ...change,
});

const again = (statement: SignedStatement['statement'], personSignature: string): SignedStatement => {
  const text = canonicalJson(statement);
  return { statement, digest: sha256Hex(text), personSignature, signature: key.sign(text).toString('base64') };
};

const EVE = new TestPerson('P-EVE', 'Eve Example');
const DAYS = { from: '2031-03-01', to: '2031-03-31' };
const ELSEWHERE = { issuer: 'https://idp.example', subject: 'q-4711' };
const TOKEN = { person: 'P-AD', name: 'line 2', tokenSha256: sha256Hex('x') };

/** An act of a person of each type there is. */
const ACTS: readonly (readonly [string, Event])[] = [
  ['a hold', { type: 'hold-placed', lot: 'L-1', units: ['IMP-1'] }],
  ['the end of a hold', { type: 'hold-lifted', lot: 'L-1', units: ['IMP-1'] }],
  ['a revocation', { type: 'release-revoked', lot: 'L-1', units: ['IMP-1'], step: 'distribution' }],
  ['a withdrawal', { type: 'document-withdrawn', kind: 'method', key: 'TM-1', revision: 1 }],
  ['a look at changed verdicts', { type: 'verdict-changes-seen', lot: 'L-1', entries: [3] }],
  ['a legal hold', { type: 'legal-hold-placed', lot: 'L-1' }],
  ['the end of a legal hold', { type: 'legal-hold-lifted', lot: 'L-1' }],
  ['a role', { type: 'role-given', person: 'P-OP', role: 'releaser' }],
  ['the loss of a role', { type: 'role-taken', person: 'P-QE', role: 'quality engineer' }],
  ['a deputy', { type: 'deputy-named', person: 'P-OP', deputyFor: 'P-QE', role: 'quality engineer', ...DAYS }],
  ['the end of a deputy', { type: 'deputy-ended', person: 'P-OP', deputyFor: 'P-QE', role: 'quality engineer' }],
  ['a closed account', { type: 'account-closed', person: 'P-QE' }],
  ['an account', { type: 'account-made', person: 'P-EVE', name: 'Eve Example', identityCheckedOn: '2031-03-01' }],
  ['a redaction', { type: 'evidence-redacted', sha256: 'f'.repeat(64), persons: ['P-QE', 'P-AD'] }],
  ['a link to a provider of sign-ins', { type: 'elsewhere-linked', person: 'P-QE', ...ELSEWHERE }],
  ['the end of such a link', { type: 'elsewhere-unlinked', person: 'P-QE', ...ELSEWHERE }],
  ['a token of a program', { type: 'intake-token-made', ...TOKEN, expiresAt: '2032-01-01T00:00:00Z' }],
  ['the end of a token', { type: 'intake-token-ended', ...TOKEN }],
];

const bodyOf = (sql: Sql, type: string, person: string) =>
  JSON.parse(
    sql.prepare('SELECT body FROM "Event" WHERE type = ? AND subjectKey = ?').pluck().get(type, person) as string,
  );
const keyOf = (sql: Sql, person: string): string => bodyOf(sql, 'person-key-made', person).fingerprint;
/** What the administrator signed when they gave the operator a role. */
const signaturesOf = (sql: Sql, type: string) => bodyOf(sql, type, 'P-OP').signatures;

describe('whoever has the database and the installation key, and no password but their own', () => {
  it('signs nothing in the name of a person', async () => {
    await attack((sql) => {
      const release = releaseIn(sql);
      forgeStatement(sql, again(release, key.sign(canonicalJson(release)).toString('base64')));
      signHead(sql);
    });
    expect(await faults()).toMatch(/statement of Quentin Example \(P-QE\): the person did not sign it/);
    const store = await open();
    const { lines } = await new AuditTrail(store).page({ act: 'statement-signed' }, 1);
    await store.close();
    expect(lines[0]!.changes.at(-1)).toMatchObject({
      what: 'DOES NOT HOLD',
      after: expect.stringMatching(/did not sign/),
    });
  });

  it('moves no signature of a person to another statement', async () => {
    await attack((sql) => {
      forgeStatement(sql, again(releaseIn(sql), reviewIn(sql).personSignature));
      signHead(sql);
    });
    expect(await faults()).toMatch(/entry|lot L-1.*statement of Quentin Example \(P-QE\): the person did not sign it/);
  });

  it('turns no statement that is there, however all is signed and hashed again', async () => {
    await attack((sql) => {
      const { statement, personSignature, digest } = reviewIn(sql);
      const turned = again({ ...statement, reason: 'looked at nothing' }, personSignature);
      rewrite(sql, 'Signature', { digest }, { ...turned, statement: canonicalJson(turned.statement) });
      signHead(sql);
    });
    expect(await faults()).toMatch(/statement of Quentin Example \(P-QE\): the person did not sign it/);
  });

  it('is tried by an act of each type', () => {
    expect(new Set(ACTS.map(([, { type }]) => type))).toEqual(new Set(ACTS_OF_PEOPLE));
  });

  it.each(ACTS.map(([what, event]) => [what, event] as const))(
    'performs no act of a person, whatever they sign beneath it: %s',
    async (_what, event) => {
      await attack((sql) => {
        const signed = (signature: string, by = keyOf(sql, 'P-AD')) => [{ person: 'P-AD', key: by, signature }];
        const earlier = signaturesOf(sql, 'role-given');
        for (const sign of [
          () => [],
          (text: string) => signed(key.sign(text).toString('base64')),
          (text: string) => signed(EVE.sign(text)),
          (text: string) => signed(EVE.sign(text), EVE.fingerprint),
          (text: string) => [{ person: EVE.person, key: EVE.fingerprint, signature: EVE.sign(text) }],
          () => earlier,
        ]) {
          forgeAct(sql, event, 'person:P-AD', sign);
        }
        signHead(sql);
      });
      const said = (await faults()).split('\n').map((line) => line.replace(/^.*?, \d+: .*, by person:P-AD: /, ''));
      expect(said).toEqual(
        event.type === 'evidence-redacted'
          ? Array(6).fill('the two people that it names did not sign it with their keys')
          : [
              'nobody signed it',
              'the person did not sign it: the signature of their key does not belong to it',
              'the person did not sign it: the signature of their key does not belong to it',
              'it names a key of a person for which nobody vouches',
              'it names the key of somebody else',
              'the person did not sign it: the signature of their key does not belong to it',
            ],
      );
      const store = await open();
      const { lines } = await new AuditTrail(store).page({ act: `event:${event.type}` }, 1);
      expect(lines[0]!.changes.at(-1)).toMatchObject({ what: 'DOES NOT HOLD' });
      const read = store.change(ACTOR, (change) => change.events.of(subjectOfEvent(event)));
      await expect(read).rejects.toMatchObject({
        code: 'ALTERED',
        message: expect.stringMatching(/the act of person:P-AD in entry \d+ \(.*\) does not hold/),
      });
      await store.close();
    },
  );

  it('moves no act of a person to another place, and gives no role and no way in by the key of somebody who may not', async () => {
    const services = await openServices(folder);
    await withPens(services, ['P-QE'], async (pens) => {
      await attack((sql) => {
        forgeEvent(sql, bodyOf(sql, 'role-given', 'P-QE'));
        const own = pens.get('P-QE')!;
        const signing = (text: string) => [{ person: 'P-QE', key: own.fingerprint, signature: own.sign(text) }];
        forgeAct(sql, { type: 'role-given', person: 'P-OP', role: 'releaser' }, 'person:P-QE', signing);
        forgeAct(sql, { type: 'elsewhere-linked', person: 'P-RE', ...ELSEWHERE }, 'person:P-QE', signing);
        signHead(sql);
      });
    });
    const accounts = services.store.change(ACTOR, (change) => change.events.ofTypes(ACCOUNT_EVENTS));
    await expect(accounts).rejects.toMatchObject({ code: 'ALTERED' });
    await services.store.close();
    const named = await faults();
    expect(named).toMatch(/account P-QE, \d+: role given, by local:tester: it names the key of somebody else/);
    expect(named).toMatch(/account P-OP, \d+: role given, by person:P-QE: who signed it was no administrator then/);
    expect(named).toMatch(
      /account P-RE, \d+: sign-in elsewhere linked, by person:P-QE: who signed it was no administrator then/,
    );
  });

  it('signs with the key of an account of their own in no role that nobody gave it', async () => {
    const services = await openServices(folder);
    await withPens(services, ['P-QE'], async (pens) => {
      const own = pens.get('P-QE')!;
      await attack((sql) => {
        const { person } = reviewIn(sql).statement;
        for (const change of [
          { role: 'releaser' },
          { role: 'quality engineer' },
          { role: 'releaser', deputyFor: 'P-RE' },
        ] as const) {
          const release = releaseIn(sql, { person: { ...person, ...change } });
          forgeStatement(sql, again(release, own.sign(canonicalJson(release))));
        }
        signHead(sql);
      });
    });
    await services.store.close();
    const named = (await faults()).match(/statement of Quentin Example \(P-QE\): .*/g);
    expect(named).toEqual(Array(2).fill(expect.stringContaining('did not hold the role that it names')));
    const store = await open();
    const inAct = store.change(ACTOR, (change) => change.signatures.ofKind('lot'));
    await expect(inAct).rejects.toMatchObject({ code: 'ALTERED', message: expect.stringMatching(/role not held/) });
    await store.close();
  });

  it('acts with the key of an account of their own in no role that may do so, and no two without the roles it takes', async () => {
    const services = await openServices(folder);
    await withPens(services, ['P-OP', 'P-QE'], async (pens) => {
      const signing = (...persons: string[]) => {
        const own = persons.map((person) => pens.get(person)!);
        return (text: string) =>
          own.map(({ person, fingerprint, sign }) => ({ person, key: fingerprint, signature: sign(text) }));
      };
      const on = { lot: 'L-1', units: ['IMP-1'] };
      const forbidden: Event[] = [
        { type: 'hold-lifted', ...on },
        { type: 'release-revoked', ...on, step: 'distribution' },
        { type: 'document-withdrawn', kind: 'method', key: 'TM-1', revision: 1 },
        { type: 'verdict-changes-seen', lot: 'L-1', entries: [3] },
        { type: 'legal-hold-placed', lot: 'L-1' },
        { type: 'legal-hold-lifted', lot: 'L-1' },
      ];
      await attack((sql) => {
        for (const event of forbidden) forgeAct(sql, event, 'person:P-OP', signing('P-OP'));
        const token = { person: 'P-QE', name: 'mes', tokenSha256: sha256Hex('x'), expiresAt: '2032-01-01T00:00:00Z' };
        forgeAct(sql, { type: 'intake-token-made', ...token }, 'person:P-OP', signing('P-OP'));
        // Theirs to do, each of them.
        forgeAct(sql, { type: 'hold-placed', ...on }, 'person:P-OP', signing('P-OP'));
        forgeAct(sql, { type: 'hold-lifted', ...on }, 'person:P-QE', signing('P-QE'));
        const persons = ['P-QE', 'P-OP'];
        forgeAct(
          sql,
          { type: 'evidence-redacted', sha256: 'f'.repeat(64), persons },
          'person:P-QE',
          signing(...persons),
        );
        const renewal = { persons, before: null, ledgerSize: 3, root: sha256Hex('x') };
        const signatures = signing(...persons)(renewalText(renewal));
        forgeEvent(sql, { type: 'anchor-renewed', ...renewal, signatures });
        signHead(sql);
      });
    });
    await services.store.close();
    const said = (await faults()).split('\n').map((line) => line.replace(/^.*?, \d+: (.*), by .*?: /, '$1: '));
    const noRole = 'who signed it held no role then that may do so';
    expect(said).toEqual([
      ...['hold lifted', 'release revoked', 'document withdrawn', 'verdict changes seen', 'legal hold placed'].map(
        (act) => `${act}: ${noRole}`,
      ),
      `legal hold lifted: ${noRole}`,
      expect.stringMatching(/token.* made.*: it names the key of somebody else$/),
      `evidence redacted: ${noRole}`,
      'anchor renewed: who signed it was no administrator then',
    ]);
    const store = await open();
    const read = store.change(ACTOR, (change) => change.events.of({ kind: 'lot', key: 'L-1' }));
    await expect(read).rejects.toMatchObject({
      code: 'ALTERED',
      message: expect.stringMatching(/not in a role of the act/),
    });
    await store.close();
  });

  it('signs and lifts no earlier than what is there already, by the entries before it and by heads that were stamped', async () => {
    const services = await openServices(folder);
    await withPens(services, ['P-QE'], async (pens) => {
      const own = pens.get('P-QE')!;
      const signing = (text: string) => [{ person: 'P-QE', key: own.fingerprint, signature: own.sign(text) }];
      await attack((sql) => {
        const last = JSON.parse(sql.prepare('SELECT max(seq), body FROM "LedgerEntry"').get()!['body' as never]);
        const moved = (ms: number) => new Date(Date.parse(last.at) + ms).toISOString();
        const review = (at: string) => {
          const statement = { ...reviewIn(sql).statement, at };
          forgeStatement(sql, again(statement, own.sign(canonicalJson(statement))));
        };
        review(moved(-3_600_000));
        review(moved(3_600_000));
        // As if no witness had a head; then as if an authority had stamped one two hours later.
        const lifted: Event = { type: 'hold-lifted', lot: 'L-1', units: ['IMP-1'] };
        forgeAct(sql, lifted, 'person:P-QE', signing, { at: moved(-60_000) });
        forgeAct(sql, { ...lifted, type: 'hold-placed' }, 'person:P-QE', signing, { at: moved(-60_000) });
        const { size, root } = hashAgain(sql);
        const stamped = { by: 'CN=Example', size, root, at: moved(7_200_000), token: 'AA==' };
        forgeEvent(sql, { type: 'head-witnessed', ...stamped });
        forgeAct(sql, lifted, 'person:P-QE', signing, { at: moved(60_000) });
        forgeAct(sql, { ...lifted, units: ['IMP-2'] }, 'person:P-QE', signing, { at: moved(7_000_000) });
        signHead(sql);
      });
    });
    await services.store.close();
    const said = (await faults())
      .split('\n')
      .map((line) => line.replace(/^.*?, \d+: it says that it was done at \S+, and /, ''));
    expect(said).toEqual([
      expect.stringMatching(/^an entry before it was made at /),
      expect.stringMatching(/^was recorded before, at /),
      expect.stringMatching(/^an entry before it was made at /),
      expect.stringMatching(/^was not there yet when CN=Example stamped the \d+ entries before it at /),
    ]);
  });

  it('claims no first key of a colleague: whoever vouches for one was an administrator when the link was made', async () => {
    const services = await openServices(folder);
    const { accountActs, accounts, store } = services;
    const nina = { person: 'P-NEW', name: 'Nina Example', identityCheckedOn: '2031-03-01' };
    await accountActs.make(await accounts.prove('P-AD', PASSWORD), nina);
    await accountActs.giveRole(await accounts.prove('P-AD', PASSWORD), 'P-NEW', 'releaser');
    await withPens(services, ['P-OP'], async (pens) => {
      const claimed = new TestPerson('P-NEW', 'Nina Example').named(key, [pens.get('P-OP')!]);
      const { person, link, replaces, endorsements } = claimed;
      const offer = { person, link: link!, replaces, endorsements, tokenSha256: sha256Hex('x') };
      await attack((sql) => {
        forgeEvent(sql, { type: 'invitation-made', ...offer, expiresAt: '2031-04-01T00:00:00Z' });
        forgeEvent(sql, { type: 'person-key-made', ...claimed });
        signHead(sql);
      });
    });
    await store.close();
    expect(await faults()).toMatch(
      /Nina Example \(P-NEW\): whoever vouches for it was no administrator when the link was made/,
    );
  });

  it('makes nobody whom no person vouches for, neither new nor in the place of another', async () => {
    await attack((sql) => {
      forgeEvent(sql, { type: 'person-key-made', ...EVE.named(key) });
      forgeEvent(sql, { type: 'person-key-made', ...EVE.named(key, [EVE]) });
      const rita = new TestPerson('P-RE', 'Rita Example');
      const fingerprint = keyOf(sql, 'P-RE');
      forgeEvent(sql, { type: 'person-key-made', ...rita.named(key, [], fingerprint) });
      forgeEvent(sql, { type: 'person-key-made', ...rita.named(key, [EVE, rita], fingerprint) });
      forgeStatement(sql, signedBy(rita, key, releaseIn(sql)));
      signHead(sql);
    });
    const named = await faults();
    expect(named).toMatch(
      new RegExp(`key ${EVE.fingerprint}, \\d+: key of Eve Example \\(P-EVE\\): the installation alone`),
    );
    expect(named).toMatch(/key of Eve Example \(P-EVE\): nobody whose key counts vouches for it/);
    expect(named).toMatch(/key of Rita Example \(P-RE\): the installation alone vouches for it/);
    expect(named).toMatch(/key of Rita Example \(P-RE\): nobody whose key counts vouches for it/);
    expect(named).toMatch(/statement of Rita Example \(P-RE\): it names a key of a person for which nobody vouches/);
  });

  it('puts no wrapped key in the place of another: the password of its own person does not open it', async () => {
    await attack((sql) => {
      const events = sql.prepare(`SELECT id, body FROM "Event" WHERE type = 'password-set'`).all() as {
        id: number;
        body: string;
      }[];
      const of = (person: string) => events.find(({ body }) => JSON.parse(body).person === person)!;
      const [op, re] = [of('P-OP'), of('P-RE')];
      // The operator's password shall open the releaser's key.
      const body = canonicalJson({ ...JSON.parse(re.body), lock: JSON.parse(op.body).lock });
      rewrite(sql, 'Event', { id: re.id }, { body });
      signHead(sql);
      fs.rmSync(AnchorFile.beside(folder).file);
    });
    AnchorFile.beside(folder).makeOnce(key.fingerprint);
    const store = await open();
    const proof = await Proof.demand(store, systemClock, 'P-RE', PASSWORD);
    await expect(Proof.signing(proof, async (pen) => pen.sign('x'))).rejects.toMatchObject({ code: 'ALTERED' });
    await store.close();
  });

  it('writes all of it anew from the first administrator on, which the anchor shows', async () => {
    await attack((sql) => {
      const { id, body } = sql.prepare(`SELECT id, body FROM "Event" WHERE type = 'person-key-made'`).get() as {
        id: number;
        body: string;
      };
      const { person, name } = JSON.parse(body);
      const own = new TestPerson(person, name, 'of an intruder');
      rewrite(sql, 'Event', { id }, { body: canonicalJson({ type: 'person-key-made', ...own.named(key) }) });
      signHead(sql);
    });
    expect(await faults()).toMatch(/key anchor, null: what the head covers was changed/);
    await expect(open()).rejects.toMatchObject({ code: 'ALTERED' });
  });
});

/** Another value in a row, with the entry that recorded it. */
function rewrite(sql: Sql, name: string, at: Record<string, unknown>, to: Record<string, unknown>): void {
  const where = (names: object) => Object.keys(names).map((column) => `"${column}" = @${column}`);
  const before = `SELECT ledgerSeq FROM "${name}" WHERE ${where(at).join(' AND ')}`;
  const seq = sql.prepare(before).pluck().get(at) as number;
  const named = Object.fromEntries(Object.entries(at).map(([column, value]) => [`old_${column}`, value]));
  const conditions = Object.keys(at).map((column) => `"${column}" = @old_${column}`);
  sql
    .prepare(`UPDATE "${name}" SET ${where(to).join(', ')} WHERE ${conditions.join(' AND ')}`)
    .run({ ...to, ...named });
  const table = recordedTablesOf(sql).find((item) => item.name === name)!;
  const rows = sql.prepare(`SELECT * FROM "${name}" WHERE ledgerSeq = ?`).all(seq) as Record<string, unknown>[];
  const entry = JSON.parse(sql.prepare('SELECT body FROM "LedgerEntry" WHERE seq = ?').pluck().get(seq) as string);
  entry.tables[name].sha256 = sha256Hex(newRowsText(table, rows));
  if ('digest' in to) entry.digest = to.digest;
  sql.prepare('UPDATE "LedgerEntry" SET body = ? WHERE seq = ?').run(canonicalJson(entry), seq);
}

describe('whoever has the database alone', () => {
  it('has no act rest on a statement that they put there, and no record tell of it', async () => {
    await attack((sql) => {
      const eve = signedBy(EVE, key, reviewIn(sql).statement);
      const { seq } = sql.prepare('SELECT max(seq) AS seq FROM "LedgerEntry"').get() as { seq: number };
      sql
        .prepare('INSERT INTO "Signature" VALUES (?, ?, ?, ?, ?, ?, ?, ?)')
        .run(
          eve.digest,
          'reviewed',
          'P-EVE',
          canonicalJson(eve.statement),
          eve.personSignature,
          eve.signature,
          '',
          seq,
        );
      const [{ kind, key: thing, digest }] = eve.statement.subjects as [SignedStatement['statement']['subjects'][0]];
      sql
        .prepare('INSERT INTO "SignatureSubject" VALUES (NULL, ?, ?, ?, ?, ?)')
        .run(eve.digest, kind, thing, digest, seq);
    });
    const store = await open();
    const inAct = store.change(ACTOR, (change) => change.signatures.ofKind('lot'));
    await expect(inAct).rejects.toMatchObject({
      code: 'ALTERED',
      message: expect.stringMatching(/statement of Eve Example \(P-EVE\) in entry \d+ does not hold/),
    });
    await store.close();
    expect(await faults()).toMatch(/there are 2 rows in Signature, and 1 were recorded/);
  });
});
