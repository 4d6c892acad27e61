import fc from 'fast-check';
import { powderSharesOfState } from '../../src/assessment/powder-shares.js';
import { virginFractions } from '../../src/assessment/virgin-powder.js';

interface State {
  readonly operation?: string;
  /** Grams by the name of what went in: `R-…` a receipt, `S-…` a state. */
  readonly inputs: Readonly<Record<string, number>>;
}

function powder(states: Readonly<Record<string, State>>) {
  const powderStates = new Map(
    Object.entries(states).map(([state, { operation = 'blend', inputs }]) => {
      const from = Object.entries(inputs).map(([name, grams]) => {
        const massG = String(grams);
        return name.startsWith('R-') ? { receipt: name, massG } : { state: name, massG };
      });
      return [state, { body: { state, operation, inputs: from } }];
    }),
  );
  const names = ['R-1', 'R-2', 'R-used'];
  const receipts = new Map(names.map((name) => [name, { body: { state: name === 'R-used' ? 'used' : 'virgin' } }]));
  return { powderStates, receipts } as never;
}

const sum = (shares: readonly { fraction: number }[]) => shares.reduce((all, { fraction }) => all + fraction, 0);

// By hand: 150 g of 600 g were used before, and of the last blend 400 g of 1000 g are recovered powder.
it('counts recovered powder, and powder bought used, as used by mass', () => {
  const facts = powder({
    'S-1': { inputs: { 'R-1': 450, 'R-used': 150 } },
    'S-2': { operation: 'recover', inputs: { 'S-1': 400 } },
    'S-3': { operation: 'top-up', inputs: { 'S-2': 400, 'R-2': 600 } },
  });
  expect([...virginFractions(facts)].sort()).toEqual([
    ['S-1', 0.75],
    ['S-2', 0],
    ['S-3', 0.6],
  ]);
  // 0.4 of it is S-1, which is three quarters R-1.
  const shares = powderSharesOfState(facts, 'S-3').map(({ receipt, fraction }) => [receipt, fraction.toFixed(12)]);
  expect(shares).toEqual([
    ['R-2', '0.600000000000'],
    ['R-1', '0.300000000000'],
    ['R-used', '0.100000000000'],
  ]);
});

const grams = fc.integer({ min: 1, max: 5000 });

it('changes no fraction where powder is split and joined again, and fractions add up to one', () => {
  fc.assert(
    fc.property(grams, grams, grams, fc.integer({ min: 1, max: 99 }), (a, b, c, percent) => {
      const first = { 'S-1': { inputs: { 'R-1': a, 'R-2': b, 'R-used': c } } };
      const total = a + b + c;
      const split = {
        ...first,
        'S-2': { operation: 'split', inputs: { 'S-1': (total * percent) / 100 } },
        'S-3': { operation: 'split', inputs: { 'S-1': (total * (100 - percent)) / 100 } },
        'S-4': { inputs: { 'S-2': (total * percent) / 100, 'S-3': (total * (100 - percent)) / 100 } },
      };
      const facts = powder(split);
      const [before, after] = ['S-1', 'S-4'].map((state) => powderSharesOfState(facts, state));
      expect(sum(before!)).toBeCloseTo(1, 12);
      for (const { receipt, fraction } of before!) {
        expect(after!.find((share) => share.receipt === receipt)!.fraction).toBeCloseTo(fraction, 12);
      }
      const virgin = virginFractions(facts);
      expect(virgin.get('S-4')).toBeCloseTo(virgin.get('S-1')!, 12);
      expect(virgin.get('S-1')).toBeCloseTo((a + b) / total, 12);
    }),
  );
});

it('has no fraction for what lies on a loop', () => {
  const facts = powder({ 'S-1': { inputs: { 'S-2': 1, 'R-1': 1 } }, 'S-2': { inputs: { 'S-1': 1 } } });
  expect(virginFractions(facts).size).toBe(0);
});
