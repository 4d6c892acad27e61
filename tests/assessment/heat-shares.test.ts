import fc from 'fast-check';
import { heatShares } from '../../src/assessment/heat-shares.js';
import { powderSharesOfState, sharesOfStates } from '../../src/assessment/powder-shares.js';
import { heatTexts, percentParts } from '../../src/report/phrases/powder-shares.js';

const receipts = new Map(
  Object.entries({
    'R-1': { supplier: 'S1', heats: ['0417'] },
    'R-2': { supplier: 'S1', heats: ['0417'] },
    'R-3': { supplier: 'S2', heats: ['0417'] },
    'R-4': { supplier: 'S1', heats: ['9', '0417'] },
    'R-5': { supplier: 'S1', heats: [] },
  }).map(([code, body]) => [code, { body }]),
) as never;

it('joins deliveries of one heat of one supplier, and keeps mixed heats together', () => {
  const shares = [
    { receipt: 'R-1', fraction: 0.3 },
    { receipt: 'R-3', fraction: 0.2 },
    { receipt: 'R-2', fraction: 0.25 },
    { receipt: 'R-4', fraction: 0.15 },
    { receipt: 'R-5', fraction: 0.1 },
  ];
  const found = heatShares({ receipts }, shares);
  expect(found.map(({ supplier, heats, receipts: from }) => [supplier, heats.join(' '), from.join(' ')])).toEqual([
    ['S1', '0417', 'R-1 R-2'],
    ['S2', '0417', 'R-3'],
    ['S1', '9 0417', 'R-4'],
    ['S1', '', 'R-5'],
  ]);
  expect(heatTexts(found)).toEqual(['55.0 % 0417', '20.0 % 0417', '15.0 % 9 + 0417', '10.0 % R-5']);
});

describe('what is printed of fractions', () => {
  it('adds up where rounding each by itself would not: thirds, and sevenths', () => {
    expect(percentParts([1 / 3, 1 / 3, 1 / 3])).toEqual(['33.4', '33.3', '33.3']);
    expect(percentParts(Array.from({ length: 7 }, () => 1 / 7))).toEqual([
      ...Array.from({ length: 6 }, () => '14.3'),
      '14.2',
    ]);
  });

  it('adds up to a hundred per cent, each part within a tenth of what it is', () => {
    const masses = fc.array(fc.integer({ min: 1, max: 100_000 }), { minLength: 1, maxLength: 12 });
    fc.assert(
      fc.property(masses, (grams) => {
        const total = grams.reduce((sum, one) => sum + one, 0);
        const fractions = grams.map((one) => one / total);
        const parts = percentParts(fractions);
        const tenths = parts.map((part) => (part === '<0.1' ? 0 : Math.round(10 * Number(part))));
        expect(tenths.reduce((sum, one) => sum + one, 0)).toBe(1000);
        for (const [index, part] of tenths.entries()) expect(Math.abs(part - 1000 * fractions[index]!)).toBeLessThan(1);
      }),
    );
  });

  it('never says of what is there that it is nothing', () => {
    expect(percentParts([0.9999, 0.0001])).toEqual(['100.0', '<0.1']);
  });
});

it('works out all states in one pass as it does each by itself', () => {
  const state = fc.record({
    back: fc.array(fc.nat(9), { maxLength: 3 }),
    receipt: fc.nat(4),
    masses: fc.array(fc.integer({ min: 1, max: 500 }), { minLength: 4, maxLength: 4 }),
  });
  fc.assert(
    fc.property(fc.array(state, { minLength: 1, maxLength: 12 }), (drawn) => {
      const powderStates = new Map(
        drawn.map(({ back, receipt, masses }, index) => {
          const from = [...new Set(back.map((steps) => index - 1 - steps))].filter((one) => one >= 0);
          const inputs = [
            { receipt: `R-${receipt + 1}`, massG: String(masses[3]) },
            ...from.map((one, at) => ({ state: `S-${one}`, massG: String(masses[at]) })),
          ];
          return [`S-${index}`, { body: { state: `S-${index}`, operation: 'blend', inputs } }];
        }),
      );
      const facts = { powderStates, receipts } as never;
      for (const [code, shares] of sharesOfStates(facts)) {
        const alone = powderSharesOfState(facts, code);
        expect(shares.map(({ receipt }) => receipt).sort()).toEqual(alone.map(({ receipt }) => receipt).sort());
        for (const { receipt, fraction } of alone) {
          expect(shares.find((one) => one.receipt === receipt)!.fraction).toBeCloseTo(fraction, 12);
        }
      }
    }),
  );
});
