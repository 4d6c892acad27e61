import { assess } from '../../src/assessment/assess.js';
import { lotsMade } from '../../src/design-file/lots-made.js';
import type { DesignIndex } from '../../src/design-history/design-index.js';
import { canonicalJson, digestOf } from '../../src/dossier/canonical.js';
import { firstClosedAt } from '../../src/kinds/build-chain.js';
import { placesOfAllLots } from '../../src/lots/unit-places.js';
import { summaryOf } from '../../src/report/lot-summary.js';
import { summaryLines } from '../../src/report/summary-lines.js';
import { rowsOfLot } from '../../src/sheets/waiting-values.js';
import { impactDocument } from '../../src/trace/impact-document.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { assessmentDisagreements } from '../support/by-note/compare.js';
import { addLot, type Cell } from '../support/cell.js';
import { edited } from '../support/lot-facts.js';
import { attachedOf } from '../support/note-files.js';
import { refusalOf, SigningCell } from '../support/signing-cell.js';

/** A lot that was split from another: its units keep the evidence of their build, and are released in it alone. */
let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open(split);
});
afterAll(() => cell.close());

const MOVED = '2031-03-04T12:00:00+01:00';
const MOVE = 'moves/MV-1.yaml';
const SHEET = 'lots/L-2/results/size.csv';

function split({ documents }: Cell): void {
  documents['lots/L-2/lot.yaml'] = {
    ...{ kind: 'lot', format: 1, lot: 'L-2', family: 'PLATE', specification: { specification: 'SP', revision: 3 } },
    ...{ opened: { by: 'P-QE', at: '2031-03-04T11:50:00+01:00' }, splitFrom: 'L-1', steps: [] },
    labels: {
      printed: 1,
      used: 1,
      destroyed: 0,
      inspected: { sample: 1, by: 'P-OP', at: '2031-03-04T13:00:00+01:00' },
    },
  };
  documents[MOVE] = {
    ...{ kind: 'unit-move', format: 1, move: 'MV-1', fromLot: 'L-1', toLot: 'L-2', implants: ['L-1-I2'] },
    ...{ why: 'waits for a further test', by: 'P-QE', at: MOVED },
  };
}

const assessed = async (lot: string) => cell.services.assessor.assess(lot, 'local:tester');

it('judges the units that came over by the evidence of their build, as the note says, and once each', async () => {
  const [parent, child] = [await assessed('L-1'), await assessed('L-2')];
  const told = ({ assessment }: typeof parent) =>
    assessment.units.map(({ serial, verdict, releasable }) => [serial, verdict, releasable]);
  expect(told(child)).toEqual([['L-1-I2', 'conforms', true]]);
  expect(told(parent)).toEqual([
    ['L-1-I1', 'conforms', true],
    ['L-1-I2', 'conforms', false],
  ]);
  const { body } = child.facts.lot;
  expect(body).toMatchObject({ builds: [{ build: 'M1-101' }], coupons: [{ coupon: 'L-1-W2', standsFor: ['L-1-I2'] }] });
  // What was done to the whole lot before the move was done to the unit that left it.
  expect(body.steps.map(({ step }) => step)).toEqual(['clean', 'pack']);
  expect(child.facts.logParts.get('M1-101')).toEqual(parent.facts.logParts.get('M1-101'));
  for (const { facts, assessment } of [parent, child]) {
    expect(assessmentDisagreements(attachedOf(facts, assessment))).toEqual([]);
    const signatures = facts.signatures.filter(({ statement }) => statement.subjects[0]?.kind !== 'unit-move');
    const unsigned = { ...facts, signatures, dossier: { ...facts.dossier, signatures: [...signatures] } };
    const without = assess(unsigned, 'test');
    expect(assessmentDisagreements(attachedOf(unsigned, without))).toEqual([]);
    const [found] = without.checks.find(({ code }) => code === 'moves-signed')!.findings;
    expect(found).toMatchObject({ rule: 'no approval', units: ['L-1-I2'] });
    expect(without.units.find(({ serial }) => serial === 'L-1-I2')).toMatchObject({ verdict: 'cannot be decided' });
  }
  const lines = ({ facts, assessment }: typeof parent) =>
    summaryLines(summaryOf(facts, assessment), facts).map(({ says }) => says);
  expect(lines(parent)).toContainEqual('Went on in lot L-2 by move MV-1 (L-1-I2)');
  expect(lines(child)).toContainEqual('Came over from lot L-1, where it was built, by move MV-1 (L-1-I2)');
});

it('was built, in the file of the design too, when the build of its own units was closed', async () => {
  const { read } = cell.services.store;
  const { facts } = await assessed('L-2');
  // The lot from which it was split had another build before, of which nothing came over.
  const withEarlier = (row: { key: string; text: string; digest: string }) => {
    const body = JSON.parse(row.text);
    if (row.key !== 'L-1') return row;
    const times = { closedAt: '2031-02-03T08:00:00+01:00', openedAt: '2031-02-03T16:00:00+01:00' };
    body.builds.unshift({ ...body.builds[0], build: 'M1-100', ...times });
    return { ...row, text: canonicalJson(body), digest: digestOf(body) };
  };
  const revisionsTiedTo: typeof read.entries.revisionsTiedTo = async (...asked) =>
    (await read.entries.revisionsTiedTo(...asked)).map((row) => withEarlier(row) as typeof row);
  const entries = Object.assign(Object.create(read.entries), { revisionsTiedTo });
  const reads: typeof read = Object.assign(Object.create(read), { entries });
  const asOf = { size: await read.ledger.size(), moment: 0, day: '2031-03-05' };
  const lots = await lotsMade(reads, { family: 'PLATE' } as DesignIndex, asOf);
  expect(lots.map(({ lot, builtAt }) => [lot, builtAt])).toEqual([
    ['L-1', '2031-02-03T08:00:00+01:00'],
    ['L-2', firstClosedAt(facts.lot.body)],
  ]);
});

it('asks nothing of a part in the old lot that was done to it after it had left', async () => {
  const { facts } = await assessed('L-1');
  const rulesWith = (at: string) => {
    const told = { kind: 'process-load', key: 'PK-9', revision: 1, digest: '9'.repeat(64), recordedAt: at };
    const body = { kind: 'process-load', format: 1, load: 'PK-9', step: 'pack', at, by: 'P-OP', cycle: [] };
    const withLoad = edited(facts, ({ loads, lot }) => {
      loads.set('PK-9', { ...told, body: { ...body, implants: ['L-1-I2'], coupons: ['L-1-W2'] } });
      lot.body.steps.push({ step: 'pack', at, by: 'P-OP', load: 'PK-9', parts: ['L-1-W2'] });
    });
    const { checks } = assess(withLoad, 'test');
    return ['loads-named', 'coupons-represent'].map(
      (code) =>
        checks.find((check) => check.code === code)!.findings.filter(({ units }) => units.includes('L-1-I2')).length,
    );
  };
  expect(rulesWith('2031-03-04T11:59:00+01:00')).toEqual([1, 1]);
  expect(rulesWith('2031-03-04T14:00:00+01:00')).toEqual([0, 0]);
});

it('is assessed again where something was off that measured it before it was split', async () => {
  const asked = { id: 'I-RIG', from: undefined, to: undefined, bias: undefined, uncertainty: undefined, without: true };
  const answer = await cell.services.impacts.of(asked);
  expect(answer.units.map(({ serial, lot, flips }) => [serial, lot, flips])).toEqual([
    ['L-1-I1', 'L-1', true],
    ['L-1-I2', 'L-2', true],
  ]);
  expect(answer.lots.map(({ lot }) => lot)).toEqual(['L-1', 'L-2']);
  const { rows } = await cell.services.store.read.results.ofLot('L-1');
  const onRig = rows.filter((row) => row.instrument === 'I-RIG' && row.status === 'current');
  // The coupon of the unit that left is judged in both lots, and counts once, where its values were recorded.
  expect(answer.lots.reduce((sum, { count }) => sum + count, 0)).toBeGreaterThan(onRig.length);
  const named = answer.results.map(({ lot, specimen, replicate, revision }) => [
    lot,
    specimen,
    replicate,
    revision > 0,
  ]);
  expect(named.sort()).toEqual(onRig.map(({ specimen, replicate }) => ['L-1', specimen, replicate, true]).sort());
  expect(impactDocument({ ...answer, units: [] }, { code: 'IM-1' })).toMatchObject({ lots: ['L-1', 'L-2'] });
});

it('has each unit in one lot, wherever one asks, and each value in the history of its family once', async () => {
  const { store, tracer, overview } = cell.services;
  const places = await placesOfAllLots(store.read);
  expect(places.filter(({ kind }) => kind === 'implant').map(({ key, lot }) => [key, lot])).toEqual([
    ['L-1-I1', 'L-1'],
    ['L-1-I2', 'L-2'],
  ]);
  expect(new Set(places.map(({ key }) => key)).size).toBe(places.length);
  expect(await store.read.entries.unitsOfCase('K-101-2')).toEqual([{ serial: 'L-1-I2', lot: 'L-2' }]);
  const lines = await overview.list();
  expect(lines.map(({ lot, units }) => [lot, units.map(({ serial }) => serial)])).toEqual([
    ['L-1', ['L-1-I1']],
    ['L-2', ['L-1-I2']],
  ]);
  const traced = JSON.stringify(await tracer.trace('L-1-I2'));
  for (const named of ['"MV-1"', '"L-1"', '"L-2"', '"M1-101"', '"L-1-W2"']) expect(traced).toContain(named);
  expect((await rowsOfLot(store.read, 'L-2')).methods).toEqual([]);
  const history = await store.read.histories.rows(
    [
      {
        ...{ family: 'PLATE', characteristic: 'rm', seq: Number.MAX_SAFE_INTEGER, before: '9999', except: '' },
        from: '',
        to: '9999',
      },
    ],
    10,
  );
  expect(history.flat().map(({ lot }) => lot)).toEqual(['L-1']);
});

const MORE: readonly (readonly [code: string, change: (cell: Cell) => void])[] = [
  [
    'moved-twice',
    ({ documents }) => Object.assign(documents, { 'moves/MV-2.yaml': { ...documents[MOVE], move: 'MV-2' } }),
  ],
  ['move-changed', ({ documents }) => Object.assign(documents[MOVE]!, { implants: ['L-1-I1'], reason: 'to try' })],
  [
    'move-from-split-lot',
    ({ documents }) => {
      const more = { move: 'MV-2', fromLot: 'L-2', toLot: 'L-1' };
      documents['moves/MV-2.yaml'] = { ...documents[MOVE], ...more };
    },
  ],
  [
    'fate-of-moved',
    ({ documents }) => {
      const fate = { part: 'L-1-I2', as: 'scrapped', at: '2031-03-05T09:00:00+01:00', by: 'P-QE' };
      Object.assign(documents['lots/L-1/lot.yaml']!, { fates: [fate], reason: 'to try' });
    },
  ],
  [
    'contradiction',
    ({ documents }) => {
      const step = { step: 'clean', at: '2031-03-05T09:00:00+01:00', by: 'P-OP', parts: ['L-1-I1'] };
      Object.assign(documents['lots/L-2/lot.yaml']!, { steps: [step], reason: 'to try' });
    },
  ],
  [
    'another-origin',
    (one) => {
      addLot(one, 'L-3', 103, '2031-03-04', { rm: 230, thickness: 1.5 });
      Object.assign(one.documents['lots/L-2/lot.yaml']!, { splitFrom: 'L-3', reason: 'to try' });
    },
  ],
  [
    'value-of-another-lot',
    ({ sheets }) => {
      const [, row] = sheets['lots/L-1/results/size.csv']!;
      sheets['lots/L-1/results/later.csv'] = [{ ...row!, replicate: '2', measuredAt: '2031-03-05T09:00:00+01:00' }];
    },
  ],
  [
    'value-of-another-lot',
    ({ sheets }) => {
      const [first] = sheets['lots/L-1/results/tensile.csv']!;
      sheets[SHEET] = [{ ...first!, specimen: 'L-1-W2', replicate: '3', measuredAt: '2031-03-05T09:00:00+01:00' }];
    },
  ],
];

it.each(MORE)('refuses what would put a part or a value into two lots: %s', async (code, change) => {
  const before = structuredClone({ documents: cell.cell.documents, sheets: cell.cell.sheets, files: cell.cell.files });
  change(cell.cell);
  const error = await cell.intake().then(
    () => undefined,
    (caught: { problems: readonly { code: string }[] }) => caught,
  );
  for (const name of ['documents', 'sheets', 'files'] as const) {
    const kept = cell.cell[name] as Record<string, unknown>;
    for (const key of Object.keys(kept)) delete kept[key];
    Object.assign(kept, before[name]);
  }
  expect(error?.problems.map((problem) => problem.code)).toContain(code);
});

it('reviews, holds and releases units where they are, and not where they were built', async () => {
  const { stateActs, overview } = cell.services;
  const hold = stateActs.placeHold(await cell.prove('P-QE'), 'L-1', ['L-1-I2'], 'to see');
  expect(await refusalOf(hold)).toContain('L-1-I2');
  await cell.review('L-1');
  const there = 'L-1-I2 went on in lot L-2';
  expect(await refusalOf(cell.release('L-1', ['L-1-I2']))).toContain(there);
  expect(await refusalOf(cell.reject('L-1', ['L-1-I2'], 'to try'))).toContain(there);
  await cell.release('L-1', ['L-1-I1']);
  expect((await overview.of('L-1')).closed).toBe(true);
  expect((await overview.of('L-2')).closed).toBe(false);
  await cell.review('L-2');
  await cell.release('L-2', ['L-1-I2']);
  expect((await overview.of('L-2')).units).toMatchObject([{ serial: 'L-1-I2', decision: 'released' }]);
  const { file, final } = await cell.services.issuer.issue('L-2', 'local:tester');
  expect(final).toBe(true);
  const report = await verifyRecord(file, { key: cell.services.store.key.fingerprint });
  expect(report.answer).toBe('as issued');
});
