import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { compareDecimal, decimalText, placeOf, roundDecimal } from '../../src/base/decimal.js';
import { CalculationError } from '../../src/base/errors.js';

interface RoundingItem {
  readonly id: string;
  readonly inputs: { readonly values: string[]; readonly range: string };
  readonly expected: { readonly recomputed: string[] }[];
}
const reference = JSON.parse(readFileSync('tests/reference/open.json', 'utf8')) as { items: RoundingItem[] };

describe('rounding decimal text', () => {
  it('reproduces the examples of ISO 80000-1, rules A and B (reference item A7-ROUND-ISO)', () => {
    const item = reference.items.find((each) => each.id === 'A7-ROUND-ISO')!;
    const { values, range } = item.inputs;
    expect(values.map((value) => roundDecimal(value, range, 'half-even'))).toEqual(item.expected[0]!.recomputed);
    expect(values.map((value) => roundDecimal(value, range, 'half-away'))).toEqual(item.expected[1]!.recomputed);
  });

  // By hand; each of these goes wrong when the rounding is done on a binary number.
  it.each([
    ['0.285', '0.01', 'half-even', '0.28'],
    ['0.285', '0.01', 'half-away', '0.29'],
    ['1.005', '0.01', 'half-away', '1.01'],
    ['2.675', '0.01', 'half-even', '2.68'],
    ['-12.25', '0.1', 'half-even', '-12.2'],
    ['-12.25', '0.1', 'half-away', '-12.3'],
    ['-0.04', '0.1', 'half-even', '0.0'],
    ['235', '10', 'half-even', '240'],
    ['245', '10', 'half-even', '240'],
    ['7.25', '0.5', 'half-even', '7.0'],
    ['12.3', '1.0', 'half-even', '12'],
    ['1.25e1', '1', 'half-even', '12'],
    ['3', '0.001', 'half-away', '3.000'],
    ['1234', '1e2', 'half-even', '1200'],
  ] as const)('rounds %s to %s (%s): %s', (value, place, rule, expected) => {
    expect(roundDecimal(value, place, rule)).toBe(expected);
  });

  it('agrees with whole-number arithmetic: nearest multiple, tie to even or away from zero', () => {
    fc.assert(
      fc.property(fc.bigInt(-(10n ** 30n), 10n ** 30n), fc.integer({ min: 1, max: 12 }), (units, dropped) => {
        const value = decimalText({ coefficient: units, scale: 12 });
        const place = decimalText({ coefficient: 10n ** BigInt(dropped), scale: 12 });
        const step = 10n ** BigInt(dropped);
        for (const rule of ['half-even', 'half-away'] as const) {
          const rounded = unitsOf(roundDecimal(value, place, rule));
          const distance = rounded > units ? rounded - units : units - rounded;
          expect(rounded % step).toBe(0n);
          expect(distance * 2n <= step).toBe(true);
          if (distance * 2n === step && rule === 'half-even') expect((rounded / step) % 2n).toBe(0n);
          if (distance * 2n === step && rule === 'half-away')
            expect(units < 0n ? rounded < units : rounded > units).toBe(true);
        }
      }),
    );
  });

  it.each([
    ['twelve', '0.1', 'value'],
    ['1,5', '0.1', 'value'],
    ['', '0.1', 'value'],
    ['NaN', '0.1', 'value'],
    ['1e999999999', '0.1', 'value'],
    ['1.5', '0', 'place'],
    ['1.5', '-0.1', 'place'],
    ['1.5', 'tenth', 'place'],
  ])('refuses to round %s to %s and names %s', (value, place, field) => {
    expect(() => roundDecimal(value, place, 'half-even')).toThrow(expect.objectContaining({ field }));
  });
});

describe('comparing decimal text', () => {
  it.each([
    ['1.20', '1.2', 0],
    ['0.1', '1e-1', 0],
    ['-0', '0.000', 0],
    ['0.30000000000000004', '0.3', 1],
    ['-5.4', '-5.47', 1],
    ['9.99', '10', -1],
    ['12345678901234567890.1', '12345678901234567890.2', -1],
  ] as const)('%s against %s gives %i', (a, b, expected) => {
    expect(compareDecimal(a, b)).toBe(expected);
  });

  it('orders as the numbers themselves do', () => {
    fc.assert(
      fc.property(fc.bigInt(), fc.bigInt(), fc.nat(20), (a, b, scale) => {
        const expected = a === b ? 0 : a < b ? -1 : 1;
        const text = (coefficient: bigint) => decimalText({ coefficient, scale });
        expect(compareDecimal(text(a), text(b))).toBe(expected);
      }),
    );
  });

  it('refuses what is no decimal', () => {
    expect(() => compareDecimal('<0.3', '1')).toThrow(CalculationError);
    expect(() => compareDecimal(' 1', '1')).toThrow(CalculationError);
    expect(() => compareDecimal('.', '1')).toThrow(CalculationError);
    expect(compareDecimal('1.', '1')).toBe(0);
  });
});

describe('the last place of a text', () => {
  it.each([
    ['12.30', '0.01'],
    ['120', '1'],
    ['1.2e3', '100'],
    ['1.2e-3', '0.0001'],
    ['-0.5', '0.1'],
    ['7.', '1'],
  ])('%s is written to %s', (text, place) => {
    expect(placeOf(text)).toBe(place);
  });
});

/** The number of 10^-12 units in a plain decimal text. */
function unitsOf(text: string): bigint {
  const [whole = '', fraction = ''] = text.split('.');
  return BigInt(whole + fraction.padEnd(12, '0'));
}
