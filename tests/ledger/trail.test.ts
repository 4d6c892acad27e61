import { ENTRY_TYPES, LedgerEntry, subjectOfEntry } from '../../src/ledger/entry.js';
import { Event } from '../../src/ledger/event.js';
import { TRAIL_ACTS } from '../../src/ledger/trail.js';
import { trailSubjectText } from '../../src/report/phrases/kinds.js';
import { actText, EVENT_ACTS } from '../../src/report/phrases/trail-acts.js';
import {
  actChoices,
  bodyChanges,
  entryChanges,
  eventChanges,
  statementChanges,
} from '../../src/report/trail-changes.js';

const common = {
  version: 1 as const,
  seq: 3,
  at: '2031-03-04T09:00:00.000Z',
  offset: '+00:00',
  actor: 'person:P-QE',
  tables: {},
};
const HASH = 'ab'.repeat(32);

describe('old and new values of a thing', () => {
  it('are told field by field, where they differ', () => {
    const before = { title: 'Plate', zones: [{ zone: 'a', powerW: 220 }, { zone: 'b' }], note: null };
    const after = { title: 'Plate', zones: [{ zone: 'a', powerW: 240 }], note: 'new', wet: false };
    expect(bodyChanges(before, after).map(({ what, before: old, after: now }) => [what, old, now])).toEqual([
      ['zones[0].powerW', '220', '240'],
      ['zones[1].zone', 'b', null],
      ['note', 'none', 'new'],
      ['wet', null, 'false'],
    ]);
  });

  it('are all new for the first revision, and none for the same', () => {
    expect(bodyChanges(undefined, { a: { b: '1' } })).toEqual([
      { what: 'a.b', before: null, after: '1', reason: null },
    ]);
    expect(bodyChanges({ a: [1, 2] }, { a: [1, 2] })).toEqual([]);
  });
});

describe('what the trail tells of an event', () => {
  it('holds no password, no hash of one and no token', () => {
    const told = eventChanges({
      type: 'password-set',
      person: 'P-1',
      lock: { derivation: 'argon2id', memoryKib: 8, passes: 1, lanes: 1, salt: '', check: HASH },
      wrapped: { cipher: 'aes-256-gcm', fingerprint: HASH, iv: '', tag: '', seed: '' },
      invitation: HASH,
    });
    expect(told).toEqual([{ what: 'person', before: null, after: 'P-1', reason: null }]);
    const invited = eventChanges({
      type: 'invitation-made',
      person: 'P-1',
      tokenSha256: HASH,
      expiresAt: '2031-03-04T09:00:00.000Z',
      link: HASH,
      replaces: null,
      endorsements: [{ person: 'P-2', key: 'f'.repeat(64), signature: HASH }],
    });
    expect(JSON.stringify(invited)).not.toContain(HASH);
  });

  it('names the implants of a hold', () => {
    const told = eventChanges({ type: 'hold-placed', lot: 'L-1', units: ['I-1', 'I-2'] });
    expect(told.map(({ what, after }) => `${what} ${after}`)).toEqual(['lot L-1', 'units[0] I-1', 'units[1] I-2']);
  });
});

describe('what the trail tells of a signature', () => {
  it('is by whom, in which role and for whom, on what, with which outcome', () => {
    const told = statementChanges({
      format: 1,
      meaning: 'decided',
      subjects: [{ kind: 'recipe', key: 'R', revision: 2, digest: HASH }],
      beside: [{ kind: 'assessment', digest: HASH }],
      units: ['I-1'],
      step: null,
      outcome: 'accepted',
      reason: 'within the study',
      person: {
        code: 'P-1',
        name: 'Quinn Example',
        role: 'quality engineer',
        deputyFor: 'P-2',
        key: HASH,
        recoveredBy: ['P-3', 'P-4'],
      },
      at: common.at,
      offset: common.offset,
      installation: HASH,
      demo: true,
    });
    expect(told.map(({ what, after }) => `${what}: ${after}`)).toEqual([
      'by: Quinn Example, quality engineer for P-2',
      `key of the person: ${HASH}, recovered: P-3 and P-4 vouched`,
      'implants: I-1',
      'outcome: accepted',
      `SHA-256 of recipe R, revision 2: ${HASH}`,
      `beside it: assessment: ${HASH}`,
    ]);
  });
});

describe('every act', () => {
  const ENTRIES: readonly LedgerEntry[] = [
    { ...common, type: 'folder-created', program: 'p' },
    { ...common, type: 'revision-recorded', kind: 'recipe', key: 'R', revision: 2, digest: HASH },
    { ...common, type: 'evidence-received', sha256: HASH, bytes: 1, fileName: 'a.csv' },
    { ...common, type: 'results-recorded', lot: 'L', file: 'a.csv', rows: 2, corrections: 1 },
    {
      ...common,
      type: 'log-scanned',
      lot: 'L',
      build: 'B',
      evidence: HASH,
      planSha256: HASH,
      scanner: 's',
      findings: 0,
    },
    { ...common, type: 'event-recorded', event: 'hold-placed', subject: { kind: 'lot', key: 'L' } },
    {
      ...common,
      type: 'statement-signed',
      meaning: 'decided',
      subject: { kind: 'log finding', key: 'F' },
      subjects: 60,
      person: 'P',
      digest: HASH,
    },
    { ...common, type: 'dossier-frozen', lot: 'L', digest: HASH },
    { ...common, type: 'assessment-made', lot: 'L', dossier: HASH, digest: HASH, program: 'p' },
    { ...common, type: 'lot-summarised', lot: 'L', dossier: HASH, rows: 1 },
    { ...common, type: 'capability-stated', family: 'F', characteristic: 'rm', number: 1, digest: HASH },
    {
      ...common,
      type: 'record-issued',
      number: 'LR-L',
      revision: 1,
      lot: 'L',
      dossier: HASH,
      enclosure: HASH,
      fileSha256: HASH,
    },
  ];

  it('has words, a subject and, where nothing else tells it, values of its own', () => {
    expect(new Set(ENTRIES.map(({ type }) => type))).toEqual(new Set(ENTRY_TYPES));
    const told = ENTRIES.map(
      (entry) => `${actText(LedgerEntry.parse(entry))}: ${trailSubjectText(subjectOfEntry(entry))}`,
    );
    expect(told).toEqual([
      'data folder made: data folder of this installation',
      'changed: recipe R, revision 2',
      `file received: evidence file ${HASH}`,
      'results recorded or corrected: results of lot L',
      'log scanned: log of build B',
      'hold placed: lot L',
      'signed: decided: log finding F and 59 more',
      'lot file frozen: lot file of lot L',
      'assessed: assessment of lot L',
      'summarised for trends: values of lot L',
      'capability stated: capability of F rm',
      'record issued: record LR-L, revision 1',
    ]);
    const silent = ENTRIES.filter((entry) => entryChanges(entry).length === 0).map(({ type }) => type);
    expect(silent).toEqual(['revision-recorded', 'event-recorded', 'statement-signed']);
  });

  it('can be searched for, each once', () => {
    const acts = actChoices().map(({ act }) => act);
    expect(new Set(acts)).toEqual(new Set(TRAIL_ACTS));
    expect(actChoices().filter(({ words }) => !words)).toEqual([]);
    expect(Object.keys(EVENT_ACTS).sort()).toEqual(Event.options.map(({ shape }) => shape.type.value).sort());
    expect(new Set(acts).size).toBe(acts.length);
    expect(acts).toEqual(expect.arrayContaining(Event.options.map((option) => `event:${option.shape.type.value}`)));
    expect(acts).toContain('statement-signed');
  });
});
