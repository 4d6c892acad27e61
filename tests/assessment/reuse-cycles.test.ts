import fc from 'fast-check';
import { reuseCycles } from '../../src/assessment/materials.js';

interface State {
  readonly operation: string;
  /** Numbers of the states that went in, and whether a used or a virgin receipt did too. */
  readonly from: readonly number[];
  readonly receipt: 'R-used' | 'R-virgin';
}

function cyclesOf(states: readonly State[]): (number | undefined)[] {
  const powderStates = new Map(
    states.map(({ operation, from, receipt }, index) => {
      const inputs = [...from.map((number) => ({ state: `S-${number}`, massG: '1' })), { receipt, massG: '1' }];
      return [`S-${index}`, { body: { state: `S-${index}`, operation, inputs } }];
    }),
  );
  const receipts = new Map(['used', 'virgin'].map((state) => [`R-${state}`, { body: { state } }]));
  const cycles = reuseCycles({ powderStates, receipts } as never);
  return states.map((_, index) => cycles.get(`S-${index}`));
}

const state = (from: readonly number[], operation = 'blend', receipt: State['receipt'] = 'R-virgin'): State => ({
  operation,
  from,
  receipt,
});

/** The same by every way back, one after the other. */
const byEveryWay = (states: readonly State[], index: number): number => {
  const { from, operation, receipt } = states[index]!;
  const before = from.map((number) => byEveryWay(states, number));
  return Math.max(receipt === 'R-used' ? 1 : 0, ...before) + (operation === 'recover' ? 1 : 0);
};

it('counts the recoveries behind powder, by the most used part of it', () => {
  expect(cyclesOf([state([]), state([0], 'recover'), state([1], 'recover'), state([0, 2], 'top-up')])).toEqual([
    0, 1, 2, 2,
  ]);
});

it('counts powder that was bought used as one', () => {
  expect(cyclesOf([state([], 'fill', 'R-used'), state([0], 'recover')])).toEqual([1, 2]);
});

it('says what counting along every way says, whatever the order of the states', () => {
  const graph = fc
    .array(
      fc.record({
        operation: fc.constantFrom('blend', 'recover', 'sieve'),
        back: fc.array(fc.nat(9), { maxLength: 3 }),
        receipt: fc.constantFrom('R-used' as const, 'R-virgin' as const),
        upward: fc.boolean(),
      }),
      { minLength: 1, maxLength: 12 },
    )
    .map((drawn) => {
      // Ties run one way only, so that nothing contains itself: to earlier numbers, or to later ones.
      const { upward } = drawn[0]!;
      return drawn.map(({ operation, back, receipt }, index) => {
        const from = back.map((steps) => (upward ? index + 1 + steps : index - 1 - steps));
        return { operation, receipt, from: from.filter((number) => number >= 0 && number < drawn.length) };
      });
    });
  fc.assert(
    fc.property(graph, (states) => {
      expect(cyclesOf(states)).toEqual(states.map((_, index) => byEveryWay(states, index)));
    }),
  );
});

it('ends for powder that contains itself, and for ten thousand states behind each other, in pairs', () => {
  expect(cyclesOf([state([1], 'recover'), state([0])])).toHaveLength(2);
  const pairs = Array.from({ length: 10_000 }, (_, index) => {
    const level = Math.floor(index / 2);
    return state(level === 0 ? [] : [2 * level - 2, 2 * level - 1], level % 2 === 1 ? 'recover' : 'blend');
  });
  expect(cyclesOf(pairs).at(-1)).toBe(2500);
});
