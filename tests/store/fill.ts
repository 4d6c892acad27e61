import { systemClock } from '../../src/base/clock.js';
import { canonicalJson, sha256Hex } from '../../src/dossier/canonical.js';
import type { LogFacts, LogFinding, LogPart } from '../../src/dossier/schema.js';
import type { SignedStatement } from '../../src/dossier/statement.js';
import type { SummaryRow } from '../../src/dossier/tables.js';
import type { InstallationKey } from '../../src/store/installation-key.js';
import type { Change } from '../../src/store/repositories.js';
import type { NewResult } from '../../src/store/results.js';
import { type Signer, signedBy, TestPerson } from '../support/person-keys.js';
import { programHold } from '../support/program-hold.js';

/** An invented result; `extra` says what is special about it. */
export const result = (extra: Partial<NewResult> = {}): NewResult => ({
  specimen: 'IMP-1',
  piece: '',
  characteristic: 'thickness',
  replicate: '1',
  value: '<1.20',
  ucum: 'mm',
  reportedValue: '<1200',
  reportedUcum: 'um',
  standardUncertainty: '0.004',
  startedAt: '',
  measuredAt: '2031-05-06T09:08:09+02:00',
  instrument: 'CMM-1',
  analyst: 'ana',
  method: 'M-THK',
  methodRevision: '2',
  enteredBy: 'ana',
  checkedBy: 'ben',
  file: 'results/thickness.csv',
  evidence: sha256Hex('file'),
  line: '2',
  reason: '',
  ...extra,
});

const finding: LogFinding = {
  id: sha256Hex('finding'),
  build: 'B-1',
  rule: 'oxygen',
  level: 'reject',
  channel: 'oxygen',
  ucum: '[ppm]',
  startedAt: '2031-05-06T05:00:00.000Z',
  endedAt: '2031-05-06T05:00:30.000Z',
  places: [{ zone: 'plate-1', layerFrom: 3, layerTo: 4 }],
  steps: ['peen'],
  facts: { worst: 812.5 },
};

export const logPart: LogPart = { build: 'B-1', findings: [finding], outlines: [], gaps: [] };

export const logFacts: LogFacts = {
  build: 'B-1',
  fileName: 'log.csv',
  sha256: sha256Hex('file'),
  textSha256: sha256Hex('file'),
  bytes: 4,
  rows: 2,
  rejectedRows: 0,
  firstAt: '2031-05-06T05:00:00.000Z',
  lastAt: '2031-05-06T06:00:00.000Z',
  scanner: 'scanner 1',
  planSha256: sha256Hex('plan'),
};

export const summary: SummaryRow = {
  build: 'B-1',
  layer: '3',
  zone: 'plate-1',
  step: 'peen',
  channel: 'oxygen',
  ucum: '[ppm]',
  n: '2',
  min: '0.1',
  max: '812.5',
  mean: '406.3',
  timeWeightedMean: '400.25',
  sd: '',
  observedMs: '30000',
  outsideMs: '1000',
};

const PART = '{"a":1}';

export const dossierText = canonicalJson({
  format: 1,
  lot: 'L-1',
  parts: [{ sha256: sha256Hex(PART), mediaType: 'application/json' }],
});
const assessment = { format: 1, verdict: 'conforms', version: 'rules 1' };
export const assessmentText = canonicalJson(assessment);

/** The only person of a folder that holds one row of everything. */
export const QUINN = new TestPerson('P-QE', 'Quinn Example');

/** Names the key of that person. */
export const nameQuinn = (key: InstallationKey) => (change: Change) =>
  change.events.add({ type: 'person-key-made', ...QUINN.named(key) });

/** A statement of that person, or of another who has a key. */
export const signedStatement = (
  key: InstallationKey,
  signer: Signer = QUINN,
  at = systemClock.now().toISOString(),
): SignedStatement =>
  signedBy(signer, key, {
    format: 1,
    meaning: 'reviewed',
    subjects: [{ kind: 'lot', key: 'L-1', revision: null, digest: sha256Hex(dossierText) }],
    beside: [{ kind: 'assessment', digest: sha256Hex(assessmentText) }],
    units: ['IMP-1'],
    step: null,
    outcome: null,
    reason: null,
    person: { role: 'quality engineer', deputyFor: null },
    at,
    offset: '+02:00',
    demo: false,
  });

/** Puts at least one row into every guarded table. @param signer somebody of the folder, where it has people. */
export const fillEveryTable =
  (key: InstallationKey, signer: Signer = QUINN) =>
  async (change: Change): Promise<void> => {
    await change.evidence.add({ sha256: sha256Hex('file'), bytes: 4, fileName: 'log.csv' });
    await change.entries.add({ kind: 'family', key: 'F-1', name: 'Plate', body: { format: 1 }, links: [] });
    await change.entries.add({
      kind: 'lot',
      key: 'L-1',
      name: 'Lot L-1',
      body: { format: 1, note: 'first' },
      links: [
        { name: 'family', to: { kind: 'family', key: 'F-1' }, massG: '12.50' },
        { name: 'log', to: { evidence: sha256Hex('file') } },
      ],
    });
    await change.results.add('L-1', 'results/thickness.csv', [result(), result({ specimen: 'IMP-2', line: '3' })]);
    await change.logs.add('L-1', { files: [logFacts], part: logPart, summaries: [summary] });
    await change.lotFiles.add(
      'L-1',
      sha256Hex(dossierText),
      dossierText,
      new Map([[sha256Hex(PART), { mediaType: 'application/json', text: PART }]]),
    );
    await change.assessments.add('L-1', sha256Hex(dossierText), 'program 1', assessment);
    await change.histories.add('L-1', sha256Hex(dossierText), [
      {
        build: 'B-1',
        builtAt: '2031-05-06T05:00:00.000Z',
        family: 'F-1',
        characteristic: 'thickness',
        context: canonicalJson({ machine: 'M1', method: 'M-THK' }),
        n: 2,
        mean: 1.2,
        sumSquaredDeviations: 0,
        min: 1.2,
        max: 1.2,
        censored: 2,
        values: [
          ['IMP-1', '', 1, 1.2],
          ['IMP-2', '', 1, 1.2],
        ],
        takenOut: [],
        beside: {},
      },
    ]);
    await change.capabilityStatements.add({
      ...{ family: 'F-1', characteristic: 'thickness', number: 1, plan: 'CAP-1', planRevision: 1 },
      body: canonicalJson({ format: 1 }),
    });
    await change.records.add({
      number: 'R-L-1',
      revision: 1,
      lot: 'L-1',
      dossierDigest: sha256Hex(dossierText),
      enclosure: canonicalJson({ format: 1 }),
      fileSha256: sha256Hex('pdf'),
    });
    await change.events.add(programHold('L-1', ['IMP-1']), 'pore found on the coupon');
    if (signer === QUINN) await nameQuinn(key)(change);
    await change.signatures.add(signedStatement(key, signer));
  };
