import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import type { SignedStatement } from '../../src/dossier/statement.js';
import type { Reads } from '../../src/store/repositories.js';
import type { Store } from '../../src/store/store.js';
import { programHold } from '../support/program-hold.js';
import {
  assessmentText,
  dossierText,
  fillEveryTable,
  logFacts,
  logPart,
  QUINN,
  result,
  signedStatement,
  summary,
} from './fill.js';
import { ACTOR, ENGINES, stopEngines, temporaryFolder } from './open-store.js';

const LOT = 'L-1';
const FILE = sha256Hex('file');
const DOSSIER = sha256Hex(dossierText);
const PART = sha256Hex('{"a":1}');
const SUMS = {
  context: canonicalJson({ machine: 'M1', method: 'M-THK' }),
  ...{ n: 2, mean: 1.2, sumSquaredDeviations: 0, min: 1.2, max: 1.2, censored: 2, takenOutCount: 0 },
};

/** What each repository answers of the rows that `fillEveryTable` puts there. */
const ANSWERS: readonly (readonly [
  what: string,
  ask: (read: Reads, store: Store) => Promise<unknown>,
  expected: (signed: SignedStatement) => unknown,
])[] = [
  [
    'the current revision of an entry, and one by its number',
    async ({ entries }) => [
      (await entries.current('lot', LOT))?.text,
      (await entries.revision('lot', LOT, 1))?.name,
      await entries.revision('lot', LOT, 2),
      await entries.current('lot', 'L-9'),
    ],
    () => [canonicalJson({ format: 1, note: 'first' }), 'Lot L-1', undefined, undefined],
  ],
  [
    'what was stated of the capability of a family',
    async ({ capabilityStatements }) => [
      (await capabilityStatements.of('F-1', 'thickness')).map(({ number, body }) => [number, body]),
      (await capabilityStatements.latest('F-1', 'thickness'))?.digest,
      await capabilityStatements.latest('F-1', 'rm'),
    ],
    () => [[[1, canonicalJson({ format: 1 })]], sha256Hex(canonicalJson({ format: 1 })), null],
  ],
  [
    'what no text on record can be: a character of number 0, half a pair; and what is asked for beside it',
    async ({ entries, identified }) => [
      await entries.current('lot', 'L\0'),
      (
        await entries.revisionsOf([
          ['lot', 'L\0'],
          ['lot', '\ud800'],
          ['lot', LOT],
        ])
      ).map(({ key }) => key),
      await identified.by('L\0'),
    ],
    () => [undefined, [LOT], []],
  ],
  [
    'the entries of a kind, and those that begin alike',
    async ({ entries }) => [
      (await entries.list('lot')).map(({ key }) => key),
      (await entries.allRevisions('family')).map(({ key, revision }) => [key, revision]),
      (await entries.revisionsStarting('lot', 'L-')).length,
      (await entries.revisionsStarting('lot', 'l-')).length,
    ],
    () => [[LOT], [['F-1', 1]], 1, 0],
  ],
  [
    'the evidence that a revision names',
    async ({ entries }) =>
      (await entries.evidenceNamedBy([{ kind: 'lot', key: LOT, revision: 1 }])).map(({ name, sha256 }) => [
        name,
        sha256,
      ]),
    () => [['log', FILE]],
  ],
  [
    'what depends on what',
    async ({ trace }) => {
      const [family] = await trace.named('F-1');
      const { entries, ties } = await trace.reach([family!.id], 'forward');
      return [entries.map(({ key, depth }) => [key, depth]), ties.map(({ massG }) => massG)];
    },
    () => [
      [
        ['F-1', 0],
        [LOT, 1],
      ],
      ['12.50'],
    ],
  ],
  [
    'what bears a name or begins with some digits',
    async ({ identified, trace }) => {
      const [family] = await trace.named('F-1');
      return [
        (await identified.by('log.csv')).map(({ as, kind, key }) => [as, kind, key]),
        (await identified.by(DOSSIER.slice(0, 12))).map(({ as, kind, key, detail }) => [as, kind, key, detail]),
        await identified.by(DOSSIER.slice(0, 7)),
        (await identified.holding(['lot'], 'first')).map(({ key }) => key),
        await identified.holding(['lot'], 'fir'),
        [...(await identified.documents([family!.id])).values()].map(({ kind }) => kind),
      ];
    },
    () => [[['file', 'lot', LOT]], [['digest of a lot file', 'lot', LOT, DOSSIER]], [], [LOT], [], ['family']],
  ],
  ['the lots that rest on a file', ({ trace }) => trace.lotsRestingOn(FILE), () => [LOT]],
  [
    'what is known of a file',
    async ({ evidence }) => [
      (await evidence.info(FILE)).fileName,
      await evidence.knows(FILE),
      await evidence.knows(PART),
      (await evidence.page('')).length,
    ],
    () => ['log.csv', true, false, 1],
  ],
  [
    'results as they were reported, and those that count',
    async ({ results }) => [
      (await results.ofLot(LOT)).rows.map(({ specimen, reportedValue, status }) => [specimen, reportedValue, status]),
      (await results.current(LOT)).length,
      [...(await results.lastRecorded())].map(([lot, at]) => [lot, Number.isFinite(Date.parse(at))]),
    ],
    () => [
      [
        ['IMP-1', '<1200', 'current'],
        ['IMP-2', '<1200', 'current'],
      ],
      2,
      [[LOT, true]],
    ],
  ],
  [
    'a log with its summaries and findings',
    async ({ logs }) => {
      const [log] = await logs.ofLot(LOT);
      return [
        log!.facts,
        await logs.summaries(log!),
        (await logs.finding(logPart.findings[0]!.id.slice(0, 12)))?.finding,
        await logs.isScanned('B-1', FILE, logFacts.planSha256),
        await logs.buildOf(FILE, 'B-2'),
      ];
    },
    () => [logFacts, [summary], logPart.findings[0], true, 'B-1'],
  ],
  [
    'a lot file with its parts',
    async ({ lotFiles }) => [
      (await lotFiles.latest(LOT))?.digest,
      (await lotFiles.byDigest(DOSSIER))?.body,
      [...(await lotFiles.parts([PART, FILE]))],
      (await lotFiles.entries(DOSSIER, sha256Hex(assessmentText))).length,
    ],
    () => [DOSSIER, dossierText, [[PART, '{"a":1}']], 2],
  ],
  [
    'an assessment, and what trends need of it',
    async ({ assessments, histories }) => [
      (await assessments.latest(LOT))?.body,
      (await assessments.byDigest(sha256Hex(assessmentText)))?.digest,
      (await histories.builds('F-1', 'thickness')).map(({ mean, n }) => [mean, n]),
    ],
    () => [assessmentText, sha256Hex(assessmentText), [[1.2, 2]]],
  ],
  [
    'the history of a family: its head, and sums and rows of builds before a moment',
    async ({ histories }) => {
      const until = '2031-06-01T00:00:00.000Z';
      const [head] = await histories.heads('F-1', ['thickness', 'rm']);
      const [known] = await histories.sums('F-1', until, '', 'L-9', ['thickness', 'rm']);
      const [own] = await histories.sums('F-1', until, '', 'L-1', ['thickness']);
      const want = {
        family: 'F-1',
        characteristic: 'thickness',
        seq: head!.ledgerSeq,
        from: '',
        to: '9999',
        values: true,
      };
      const [rows, none] = await histories.rows([
        { ...want, before: until },
        { ...want, before: '2031-05-06T05:00:00.000Z' },
      ]);
      return [
        head!.position,
        (await histories.heads('F-1', ['thickness'], head!.ledgerSeq - 1)).length,
        [known!.position, known!.parts.map(({ part, sums }) => [part, sums.contexts])],
        own!.parts.map(({ part, lots }) => [part, lots]),
        (await histories.ofLots([{ family: 'F-1', characteristic: 'thickness', lot: LOT }], head!.ledgerSeq)).length,
        rows!.map(({ lot, build, values }) => [lot, build, JSON.parse(values)]),
        none,
      ];
    },
    () => [
      1,
      0,
      [1, [['counted', [SUMS]]]],
      [['some', [LOT]]],
      1,
      [
        [
          LOT,
          'B-1',
          [
            ['IMP-1', '', 1, 1.2],
            ['IMP-2', '', 1, 1.2],
          ],
        ],
      ],
      [],
    ],
  ],
  [
    'what is said of a lot now, and whether rules of another version said it',
    async ({ assessments }) => [
      (await assessments.current('rules 1', LOT))?.body,
      (await assessments.current('rules 2', LOT))?.version,
      [...(await assessments.units('rules 2'))].map(([lot, { version }]) => [lot, version]),
      await assessments.lotsLastAssessedByOthers('rules 1'),
      await assessments.lotsLastAssessedByOthers('rules 2'),
    ],
    () => [assessmentText, 'rules 1', [[LOT, 'rules 1']], [], [LOT]],
  ],
  [
    'records by number and revision',
    async ({ records }) => [
      (await records.one('R-L-1', 1)).fileSha256,
      (await records.ofLot(LOT)).length,
      (await records.all()).length,
      await records.nextRevision('R-L-1'),
      await records.nextRevision('R-L-2'),
    ],
    () => [sha256Hex('pdf'), 1, 1, 2, 1],
  ],
  [
    'events of a thing and of a type, with their reasons',
    async ({ events }, store) => [
      (await events.of({ kind: 'lot', key: LOT })).map(({ reason, actor }) => [reason, actor]),
      (await events.ofTypes(['hold-placed'])).length,
      (await events.installationKeys()).map(({ fingerprint }) => fingerprint === store.key.fingerprint),
      (await events.lastId()) > 0,
    ],
    () => [[['pore found on the coupon', ACTOR]], 1, [true], true],
  ],
  [
    'statements by what they cover, by whom, and by the beginning of a key',
    async ({ signatures }) => [
      (await signatures.on([DOSSIER, FILE])).map(({ signed }) => signed),
      (await signatures.of({ kind: 'lot', key: LOT })).length,
      (await signatures.ofKind('lot')).length,
      (await signatures.by('P-QE')).length,
      (await signatures.starting('lot', 'L-')).length,
      (await signatures.starting('lot', 'l-')).length,
    ],
    (signed) => [[signed], 1, 1, 1, 1, 0],
  ],
  [
    'the audit trail',
    async ({ ledger, trail }) => {
      const size = await ledger.size();
      const [last] = await trail.before({}, size + 1, 1);
      return [(await ledger.page(0)).length === size, last?.seq === size];
    },
    () => [true, true],
  ],
];

afterAll(stopEngines);

describe.each(ENGINES)('on %s', (_engine, open) => {
  const { folder, remove } = temporaryFolder();
  let store: Store;
  let signed: SignedStatement;

  beforeAll(async () => {
    store = await open(folder);
    await store.change(ACTOR, fillEveryTable(store.key));
    // Of what is stored it takes the moment alone.
    const [stored] = await store.read.signatures.by(QUINN.person);
    signed = signedStatement(store.key, QUINN, stored!.signed.statement.at);
  });
  afterAll(async () => {
    await store.close();
    remove();
  });

  it.each(ANSWERS)('gives %s', async (_what, ask, expected) => {
    expect(await ask(store.read, store)).toEqual(expected(signed));
  });

  it.each(ANSWERS)('gives, inside a change, %s', async (_what, ask, expected) => {
    expect(await store.change(ACTOR, (change) => ask(change, store))).toEqual(expected(signed));
  });

  it('stores nothing outside a change', async () => {
    const { events, identity } = store.read;
    // @ts-expect-error: a reading repository does not store
    await expect(events.add(programHold(LOT))).rejects.toThrow();
    // @ts-expect-error: nor where rows change in place
    await expect(identity.endSessionsOf('P')).rejects.toThrow();
  });

  it('shows a change to itself at once, to others when it is whole, and nothing of one that fails', async () => {
    const before = await store.read.results.current(LOT);
    const failing = store.change(ACTOR, async (change) => {
      await change.results.add(LOT, 'more.csv', [result({ line: '9', replicate: '2' })]);
      expect(await change.results.current(LOT)).toHaveLength(before.length + 1);
      expect(await store.read.results.current(LOT)).toEqual(before);
      throw new Error('stopped');
    });
    await expect(failing).rejects.toThrow('stopped');
    expect(await store.read.results.current(LOT)).toEqual(before);
    expect(await store.verifyLedger()).toMatchObject({ ok: true });
  });

  it('keeps sessions, failed proofs, forms and scans, and changes them in place', async () => {
    const session = { tokenSha256: FILE, person: 'P', csrf: 'c', startedAt: '1', seenAt: '1', endsAt: '9', code: 'x' };
    const counts = { failures: 1, failuresEver: 1, lastFailureAt: '1', lockedUntil: null, provedAt: null };
    const lockout = { person: 'P', origin: 'o', ...counts };
    const form = { session: FILE, number: 'n' };
    const job = { lot: LOT, build: 'B-1', fileName: 'log.csv', evidence: FILE, state: 'running', owner: 'o' };
    const scan = { ...job, doneBytes: 0, totalBytes: 9, startedAt: '1' };
    const id = await store.change(ACTOR, async ({ identity, scanJobs }) => {
      await identity.startSession(session);
      await identity.setLockout(lockout);
      await identity.setLockout({ ...lockout, failures: 2 });
      await identity.rememberResult({ ...form, isUsed: false }, '1', '/there');
      return scanJobs.start(scan);
    });
    await store.change(ACTOR, ({ scanJobs }) => scanJobs.change(id, { doneBytes: 5 }));
    const { identity, scanJobs } = store.read;
    expect(await identity.session(FILE)).toEqual(session);
    expect(await identity.lockouts()).toMatchObject([{ failures: 2 }]);
    expect(await identity.resultOfForm({ ...form, isUsed: false })).toBe('/there');
    expect((await scanJobs.open()).map((item) => item.doneBytes)).toEqual([5]);
    expect(await scanJobs.byId(id)).toMatchObject({ build: 'B-1', doneBytes: 5 });
    await store.change(ACTOR, (change) => change.identity.endSessionsOf('P'));
    expect(await identity.session(FILE)).toBeNull();
  });

  it('copies itself while it is open, and lets others beside it where the database is shared', async () => {
    expect(await store.copyDatabase(`${folder}/copy.sqlite`)).toBeGreaterThan(0);
    await store.becomeService();
    const other = await open(folder);
    if (store.isShared) await other.becomeService();
    else await expect(other.becomeService()).rejects.toMatchObject({ code: 'BUSY' });
    await expect(other.standAlone()).rejects.toMatchObject({ code: 'BUSY' });
    await other.close();
  });
});
