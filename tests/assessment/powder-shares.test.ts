import { Matrix, solve } from 'ml-matrix';
import { powderShares, shareOf } from '../../src/assessment/powder-shares.js';
import type { Reach, Tie } from '../../src/store/traces.js';

/** A back reach of powder: `1` to `receipts` are receipts, the higher numbers states, each made of lower ones. */
function powder(receipts: number, made: Readonly<Record<number, Readonly<Record<number, number>>>>): Reach {
  const ties = Object.entries(made).flatMap(([state, inputs]) =>
    Object.entries(inputs).map(
      ([input, massG]): Tie => ({
        ...{ source: Number(state), near: Number(state), target: Number(input), massG: String(massG) },
        ...{
          name: Number(input) <= receipts ? 'contains receipt' : 'contains powder state',
          count: null,
          revision: null,
        },
      }),
    ),
  );
  const ids = new Set(ties.flatMap(({ source, target }) => [source, target]));
  const entries = [...ids].map((id) => ({
    ...{ id, key: id <= receipts ? `R${id}` : `S${id}`, kind: id <= receipts ? 'receipt' : 'powder-state' },
    ...{ name: '', revision: 1, depth: 0 },
  }));
  return { entries, ties };
}

/** Always the same numbers between 0 and 1 (Numerical Recipes, 2nd edition, 7.1, "ranqd1"). */
function sameNumbers(seed: number): () => number {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
}

it.each([3, 17, 101])('are what a linear solve of the mass balances gives, seed %d', (seed) => {
  const random = sameNumbers(seed);
  const [receipts, states] = [6, 40];
  const made: Record<number, Record<number, number>> = {};
  for (let state = receipts + 1; state <= receipts + states; state += 1) {
    made[state] = { [state - 1]: 1 + Math.round(random() * 500) };
    for (let more = 0; more < 3; more += 1) {
      made[state]![1 + Math.floor(random() * (state - 1))] = 1 + Math.round(random() * 500);
    }
  }
  // x of a receipt is its own; x of a state is the mean of its inputs by mass: (I − A) x = b, solved by ml-matrix.
  const n = receipts + states;
  const left = Matrix.eye(n);
  const right = Matrix.zeros(n, receipts);
  for (let receipt = 0; receipt < receipts; receipt += 1) right.set(receipt, receipt, 1);
  for (const [state, inputs] of Object.entries(made)) {
    const total = Object.values(inputs).reduce((sum, massG) => sum + massG, 0);
    for (const [input, massG] of Object.entries(inputs)) left.set(Number(state) - 1, Number(input) - 1, -massG / total);
  }
  const expected = solve(left, right).getRow(n - 1);
  const shares = new Map(powderShares(n, powder(receipts, made)).map(({ receipt, fraction }) => [receipt, fraction]));
  expected.forEach((fraction, index) => {
    expect(shares.get(`R${index + 1}`) ?? 0).toBeCloseTo(fraction, 12);
  });
  expect([...shares.values()].reduce((sum, fraction) => sum + fraction, 0)).toBeCloseTo(1, 12);
  // Forward, of one receipt, of two together, and of a state, whose share a solve with it as a source of its own gives.
  expect(shareOf(new Set([1]), powder(receipts, made)).get(n)).toBeCloseTo(expected[0]!, 12);
  expect(shareOf(new Set([1, 2]), powder(receipts, made)).get(n)).toBeCloseTo(expected[0]! + expected[1]!, 12);
  const state = receipts + 10;
  const { [state]: _, ...others } = made;
  const of = powderShares(n, powder(receipts, { ...others, [state]: { 1: 1 } }));
  const without = powderShares(n, powder(receipts, { ...others, [state]: { 2: 1 } }));
  const fractionIn = (all: typeof of) => all.find(({ receipt }) => receipt === 'R1')?.fraction ?? 0;
  expect(shareOf(new Set([state]), powder(receipts, made)).get(n)).toBeCloseTo(
    fractionIn(of) - fractionIn(without),
    12,
  );
});

it('counts powder once by each way that it came: 100 g of R1 twice blended with 100 g of R2', () => {
  const reach = powder(2, { 3: { 1: 100, 2: 100 }, 4: { 1: 100, 2: 100 }, 5: { 3: 150, 4: 50 } });
  expect(powderShares(5, reach)).toEqual([
    { receipt: 'R1', fraction: 0.5 },
    { receipt: 'R2', fraction: 0.5 },
  ]);
});

it('gives no fraction to what lies on a loop', () => {
  const reach = powder(2, { 3: { 4: 50, 1: 50 }, 4: { 3: 50 }, 5: { 2: 60, 3: 40 } });
  expect(powderShares(5, reach)).toEqual([{ receipt: 'R2', fraction: 0.6 }]);
  expect([3, 4, 5].map((id) => shareOf(new Set([1]), reach).get(id))).toEqual([undefined, undefined, undefined]);
});

it('takes what a build took, and nothing where no powder is', () => {
  expect(powderShares(1, powder(1, {}))).toEqual([]);
});

it('looks at each state once: 10 000 states, each of which went into two others', () => {
  const made: Record<number, Record<number, number>> = {};
  for (let state = 2; state <= 10_000; state += 1)
    made[state] = { [state - 1]: 1, ...(state > 3 ? { [state - 2]: 1 } : {}) };
  const shares = powderShares(10_000, powder(1, made));
  expect(shares).toHaveLength(1);
  expect(shares[0]!.fraction).toBeCloseTo(1, 9);
  expect(shareOf(new Set([1]), powder(1, made)).get(10_000)).toBeCloseTo(1, 9);
});
