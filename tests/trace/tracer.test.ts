import { CurrentAssessments } from '../../src/lots/current-assessments.js';
import type { Store } from '../../src/store/store.js';
import type { Tie, TracedEntry } from '../../src/store/traces.js';
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
    events: { ofTypes: async () => [] },
    ledger: { size: async () => 0, root: async () => '' },
    trace: {
      named: async () => [{ id: 0, kind: 'machine', key: 'M1' }],
      reach: async () => ({ entries: [entry(0), ...ids.map(entry)], ties }),
    },
  };
  return { store: { read } as unknown as Store, looks: () => looks };
}

it('looks at each tie a few times, however many lots hang on a machine', async () => {
  const lots = 3000;
  const { store, looks } = countingStore(lots);
  const { matches } = await new Tracer(store, new CurrentAssessments(store)).trace('M1', { forward: true });
  expect(matches[0]!.forward).toHaveLength(lots);
  expect(matches[0]!.forward![0]!.via).toBe('on machine M1');
  expect(looks()).toBeLessThan(5 * lots);
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
    const matches = await cell.services.tracer.matches(scanned);
    expect(matches.map(({ entry }) => entry.key)).toEqual([key]);
  });

  it.each([
    [']d2010950600013435210L-2\u001d21L-1-I1', 'the code says lot L-2, and serial L-1-I1 is of lot L-1'],
    [']d2010950600013435310L-1', 'check digit'],
    [']d20109506000134352', 'expected a serial'],
  ])('is not found by the scanned code %j: %s', async (scanned, message) => {
    await expect(cell.services.tracer.matches(scanned)).rejects.toThrow(message);
  });
});
