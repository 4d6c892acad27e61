import { CurrentAssessments } from '../../src/lots/current-assessments.js';
import { LotOverview } from '../../src/lots/lot-overview.js';
import type { Reads } from '../../src/store/repositories.js';
import type { Store } from '../../src/store/store.js';
import type { Tie, TracedEntry } from '../../src/store/traces.js';
import { identify } from '../../src/trace/identifiers.js';
import { Tracer } from '../../src/trace/tracer.js';
import { SigningCell } from '../support/signing-cell.js';

/** Reads of a store in which so many lots hang on one machine, that count how often a tie is looked at. */
function countingStore(lots: number): { store: Store; looks: () => number } {
  let looks = 0;
  const entry = (id: number): TracedEntry => ({
    ...{ id, kind: id === 0 ? 'machine' : 'lot', key: id === 0 ? 'M1' : `L-${id}`, name: '' },
    ...{ revision: 1, depth: id === 0 ? 0 : 1 },
  });
  const ids = Array.from({ length: lots }, (_, index) => index + 1);
  const ties = ids.map(
    (id): Tie => ({
      get source() {
        looks += 1;
        return id;
      },
      ...{ target: 0, near: 0, name: 'on machine', massG: null, count: null, revision: null },
    }),
  );
  const read = {
    identified: { holding: async () => [], by: async () => [] },
    events: { ofTypes: async () => [] },
    ledger: { size: async () => 0, root: async () => '' },
    trace: {
      named: async () => [{ id: 0, kind: 'machine', key: 'M1' }],
      reach: async () => ({ entries: [entry(0), ...ids.map(entry)], ties }),
      earlier: async () => [],
    },
  };
  const clock = { now: () => new Date(0) };
  return { store: { read, clock } as unknown as Store, looks: () => looks };
}

it('looks at each tie a few times, however many lots hang on a machine', async () => {
  const lots = 3000;
  const { store, looks } = countingStore(lots);
  const { matches } = await new Tracer(store, new CurrentAssessments(store), new LotOverview(store)).trace('M1', {
    forward: true,
  });
  expect(matches[0]!.forward).toHaveLength(lots);
  expect(matches[0]!.forward![0]!.via).toBe('on machine M1');
  expect(looks()).toBeLessThan(5 * lots);
});

it('finds a finding of a release check by its first digits, where nothing else is called so', async () => {
  const { store } = countingStore(0);
  const named = { trace: { named: async () => [] }, identified: store.read.identified } as unknown as Reads;
  const checkFindings = async () => [{ lot: 'L-7', id: `${'ab12'.repeat(2)}${'0'.repeat(56)}` }];
  const asked = { read: named, asOf: undefined, now: new Date(0), checkFindings };
  expect(await identify({ ...asked, text: 'AB12AB12' })).toMatchObject([{ kind: 'lot', key: 'L-7' }]);
  expect(await identify({ ...asked, text: 'ab12ab1' })).toEqual([]);
  expect(await identify({ ...asked, text: 'ab12ab13' })).toEqual([]);
});

describe('a person or a unit', () => {
  let cell: SigningCell;

  beforeAll(async () => {
    cell = await SigningCell.open();
    await cell.review('L-1');
    await cell.release('L-1', ['L-1-I1']);
    await cell.reject('L-1', ['L-1-I2'], 'scratched (invented)');
  });
  afterAll(() => cell.close());

  it('is traced to what they signed and released, with dates and what it covers', async () => {
    const [match] = (await cell.services.tracer.trace('P-RE')).matches;
    expect(match!.signed!.slice(0, 2)).toMatchObject([
      { meaning: 'rejected', what: 'lot file L-1, L-1-I2', role: 'releaser', reason: 'scratched (invented)' },
      { meaning: 'released', step: 'distribution', what: 'lot file L-1, L-1-I1', role: 'releaser', reason: null },
    ]);
    for (const { at } of match!.signed!.slice(0, 2)) expect(at).toMatch(/^2031-03-05T/);
    const reviewed = (await cell.services.tracer.trace('P-QE')).matches[0]!.signed!;
    expect(reviewed).toContainEqual(expect.objectContaining({ meaning: 'reviewed', what: 'lot file L-1' }));
  });

  it('has statements; things have none', async () => {
    const [match] = (await cell.services.tracer.trace('M1')).matches;
    expect(match!.signed).toBeNull();
  });

  it('is found by an account alone', async () => {
    const [match] = (await cell.services.tracer.trace('P-AU')).matches;
    expect(match).toMatchObject({
      entry: { kind: 'person', key: 'P-AU', name: 'Aurel Example', revision: 0 },
      signed: [],
    });
    await expect(cell.services.tracer.trace('p-au')).rejects.toMatchObject({ code: 'NOT_FOUND' });
  });

  it.each([
    [']d2010950600013435210L-1\u001d21L-1-I1', 'L-1-I1'],
    ['(01)09506000134352(10)L-1(21)L-1-I1', 'L-1-I1'],
    [']d1L-1-I1', 'L-1-I1'],
    [']d2010950600013435210L-1', 'L-1'],
  ])('is found by the scanned code %j', async (scanned, key) => {
    const { matches } = await cell.services.tracer.search(scanned);
    expect(matches.map(({ entry }) => entry.key)).toEqual([key]);
  });

  it.each([
    [']d2010950600013435210L-2\u001d21L-1-I1', 'the code says lot L-2, and serial L-1-I1 is of lot L-1'],
    [']d2010950600013435310L-1', 'check digit'],
    [']d20109506000134352', 'expected a serial'],
  ])('is not found by the scanned code %j: %s', async (scanned, message) => {
    await expect(cell.services.tracer.search(scanned)).rejects.toThrow(message);
  });

  it('is not found by a code that is of another device, where its family has a device identifier', async () => {
    const { services, folder } = cell;
    folder.advanceTo('2031-03-07T12:00:00Z');
    const { body } = (await services.store.read.entries.current('family', 'PLATE'))!;
    const family = { ...body, revision: 2, route: 'patient-matched', udiDi: '09506000134352' };
    await services.intake.take([{ file: 'family.yaml', document: family }], 'local:tester');
    expect((await services.tracer.search(']d2010950600013435221L-1-I1')).matches).toHaveLength(1);
    await expect(services.tracer.search('(01)00614141123452(21)L-1-I1')).rejects.toThrow(
      'device identifier is 09506000134352',
    );
    folder.advanceTo('2031-03-08T12:00:00Z');
    const next = { ...family, revision: 3, udiDi: '00614141123452' };
    await services.intake.take([{ file: 'family.yaml', document: next }], 'local:tester');
    for (const pack of [']d2010950600013435221L-1-I1', '(01)00614141123452(21)L-1-I1']) {
      expect((await services.tracer.search(pack)).matches).toHaveLength(1);
    }
  });

  it.each([
    ['PL-77', 'receipt', 'R-1', 'found as lot at the supplier PL-77'],
    ['C-1', 'receipt', 'R-1', 'found as certificate C-1'],
    ['K-I-MIC', 'instrument', 'I-MIC', 'found as calibration certificate K-I-MIC'],
    ['IQ-1', 'process-validation', 'PV', 'found as report IQ-1'],
    ['EQ rev 1', 'equivalence-study', 'EQ', 'found as revision 1'],
    ['EQ, revision 1', 'equivalence-study', 'EQ', 'found as revision 1'],
    ['run.csv', 'lot', 'L-1', 'found as file run.csv'],
  ])('%s leads to %s %s', async (id, kind, key, found) => {
    const { matches } = await cell.services.tracer.search(id);
    expect(matches.map((match) => [match.entry.kind, match.entry.key, match.found])).toContainEqual([kind, key, found]);
    const isWhole = await cell.services.tracer.search(key);
    const own = isWhole.matches.find(({ entry }) => entry.kind === kind)!;
    const one = matches.find(({ entry }) => entry.kind === kind)!;
    expect(one.forward).toEqual(own.forward);
  });

  it('is found by the first digits of what was frozen, assessed, signed or found, and by no fewer than eight', async () => {
    const { store, tracer } = cell.services;
    const lotFile = (await store.read.lotFiles.latest('L-1'))!.digest;
    const assessment = (await store.read.assessments.latest('L-1'))!.digest;
    const [act] = (await tracer.trace('P-RE')).matches[0]!.signed!;
    const foundBy = async (id: string) =>
      (await tracer.search(id)).matches.map(({ entry, found }) => [entry.kind, entry.key, found]);
    expect(await foundBy(lotFile.slice(0, 12))).toEqual([['lot', 'L-1', `found as digest of a lot file ${lotFile}`]]);
    expect(await foundBy(assessment.slice(0, 8).toUpperCase())).toEqual([
      ['lot', 'L-1', `found as digest of an assessment ${assessment}`],
    ]);
    expect(await foundBy(act!.digest.slice(0, 12))).toEqual([
      ['act', act!.digest, `found as digest of a signed act ${act!.digest}`],
    ]);
    expect(await foundBy(lotFile.slice(0, 7))).toEqual([]);
  });
});
