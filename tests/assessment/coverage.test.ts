import { couponGaps, coverageOf, notRepresented } from '../../src/assessment/coverage.js';
import type { Facts } from '../../src/dossier/facts.js';
import type { LogFinding } from '../../src/dossier/schema.js';

/** A coupon that was built outside the affected layers does not represent them (domain rule; layers worked out by hand). */

const part = (zones: readonly [string, number, number][]) =>
  zones.map(([zone, from, to]) => ({ zone, recipeZone: 'span', layers: { from, to } }));

const facts = {
  lot: {
    body: {
      builds: [{ build: 'B1' }, { build: 'B2' }],
      implants: [
        {
          serial: 'I1',
          build: 'B1',
          zones: part([
            ['I1-span', 1, 24],
            ['I1-skin', 25, 30],
          ]),
        },
        { serial: 'I2', build: 'B1', zones: part([['I2-span', 1, 24]]) },
      ],
      coupons: [
        { coupon: 'W1', build: 'B1', standsFor: ['I1'], zones: part([['W1-bar', 1, 12]]) },
        { coupon: 'W2', build: 'B1', standsFor: ['I1', 'I2'], zones: part([['W2-bar', 1, 24]]) },
        { coupon: 'W9', build: 'B2', standsFor: ['I1'], zones: part([['W9-bar', 1, 24]]) },
      ],
    },
  },
} as unknown as Facts;

type Place = LogFinding['places'][number];
const place = (zone: string | null, layerFrom: number | null, layerTo: number | null): Place => ({
  zone,
  layerFrom,
  layerTo,
});
const finding = (places: readonly Place[], level: LogFinding['level'] = 'action'): LogFinding => ({
  id: `finding of ${places.length}`,
  build: 'B1',
  rule: 'excursion',
  level,
  channel: 'oxygen',
  ucum: '[ppm]',
  startedAt: null,
  endedAt: null,
  places: [...places],
  steps: [],
  facts: {},
});

describe('what a coupon does not represent', () => {
  it('is nothing where the coupon shared every affected layer; a coupon of another build shared none', () => {
    expect(notRepresented(facts, finding([place(null, 10, 12)]))).toEqual([
      { implant: 'I1', coupon: 'W9', layers: [{ from: 10, to: 12 }] },
    ]);
  });

  it('is the affected layers above the coupon', () => {
    const rows = notRepresented(facts, finding([place(null, 10, 26)]));
    expect(rows).toContainEqual({ implant: 'I1', coupon: 'W1', layers: [{ from: 13, to: 26 }] });
    expect(rows).toContainEqual({ implant: 'I1', coupon: 'W2', layers: [{ from: 25, to: 26 }] });
    expect(rows.filter(({ implant }) => implant === 'I2')).toEqual([]);
  });

  it('is a zone of the implant alone, of which the coupon had another history', () => {
    expect(notRepresented(facts, finding([place('I2-span', 5, 6)]))).toEqual([
      { implant: 'I2', coupon: 'W2', layers: [{ from: 5, to: 6 }] },
    ]);
  });

  it('is told in pieces where the coupon shared layers in between', () => {
    const places = [place('I1-span', 2, 9), place('W1-bar', 4, 5), place('W2-bar', 1, 24)];
    expect(notRepresented(facts, finding(places)).filter(({ coupon }) => coupon !== 'W9')).toEqual([
      {
        implant: 'I1',
        coupon: 'W1',
        layers: [
          { from: 2, to: 3 },
          { from: 6, to: 9 },
        ],
      },
    ]);
  });

  it('covers the whole implant when the finding names no layer', () => {
    expect(notRepresented(facts, finding([place(null, null, null)]))).toContainEqual({
      implant: 'I1',
      coupon: 'W2',
      layers: [{ from: 25, to: 30 }],
    });
  });

  it('is nothing when the finding touches no implant', () => {
    expect(notRepresented(facts, finding([place('W1-bar', 1, 4)]))).toEqual([]);
  });
});

describe('what a finding touches', () => {
  const everybody = { implants: ['I1', 'I2'], coupons: ['W1', 'W2'] };

  it('is the parts whose zones and layers it names', () => {
    expect(coverageOf(facts, finding([place('I1-skin', 25, 25)]))).toEqual({ implants: ['I1'], coupons: [] });
    expect(coverageOf(facts, finding([place(null, 13, 14)]))).toEqual({ implants: ['I1', 'I2'], coupons: ['W2'] });
  });

  // Nobody can say which part of the build was spared by what happened at a place where none was built.
  it.each([
    ['an unknown zone', [place('chamber', 0, 0)]],
    ['an unknown zone at a layer that parts have', [place('chamber', 3, 3)]],
    ['a layer that no part has', [place(null, 0, 0)]],
    ['a layer that the zone does not have', [place('I1-skin', 3, 3)]],
    ['one known place and one unknown', [place('I1-span', 3, 3), place('chamber', 3, 3)]],
    ['no place at all', []],
  ])('is every part of its build, and of no other, at %s', (_, places) => {
    expect(coverageOf(facts, finding(places))).toEqual(everybody);
  });
});

describe('whether a coupon speaks for an implant', () => {
  it('lists the action and reject findings in which it does not, and no alert', () => {
    const alert = finding([place('I2-span', 1, 1)], 'alert');
    const shared = finding([place(null, 3, 4)]);
    const alone = finding([place('I2-span', 5, 6)], 'reject');
    expect(couponGaps(facts, [alert, shared, alone], 'W2', 'I2')).toEqual([
      { finding: alone, layers: [{ from: 5, to: 6 }] },
    ]);
    expect(couponGaps(facts, [alert, shared], 'W2', 'I2')).toEqual([]);
  });
});
