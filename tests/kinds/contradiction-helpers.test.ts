import fc from 'fast-check';
import { endsTooEarly, exactlyOne, needed, senseless, tooMuch } from '../../src/kinds/contradictions.js';
import { ownChecker, reversed, tooEarly } from '../../src/kinds/kind.js';

const DAY = 86_400_000;
const OFFSETS = ['Z', '+01:00', '-08:00', '+13:45'] as const;

/** A moment as somebody at that offset writes it down. */
function momentAt(time: number, offset: (typeof OFFSETS)[number]): string {
  if (offset === 'Z') return new Date(time).toISOString();
  const [, sign, hours, minutes] = /^([+-])(\d\d):(\d\d)$/.exec(offset)!;
  const shift = (sign === '-' ? -1 : 1) * (Number(hours) * 60 + Number(minutes)) * 60_000;
  return new Date(time + shift).toISOString().replace('Z', offset);
}

const time = fc.integer({ min: Date.parse('2000-01-02'), max: Date.parse('2060-01-01') });
const offset = fc.constantFrom(...OFFSETS);

describe('times', () => {
  it('are in the order of the moments, at whatever offsets they were written', () => {
    fc.assert(
      fc.property(time, time, offset, offset, (a, b, from, to) => {
        const [first, second] = [momentAt(a, from), momentAt(b, to)];
        expect(tooEarly('at', second, first, 'it began').length).toBe(b < a ? 1 : 0);
        expect(endsTooEarly('at', second, first).length).toBe(b <= a ? 1 : 0);
      }),
      { seed: 14 },
    );
  });

  it('are compared by the day where one of them is a day: the day of a moment is that of its place', () => {
    fc.assert(
      fc.property(time, offset, fc.integer({ min: -3, max: 3 }), (at, place, days) => {
        const moment = momentAt(at, place);
        const day = new Date(Date.parse(moment.slice(0, 10)) + days * DAY).toISOString().slice(0, 10);
        expect(tooEarly('on', day, moment, 'it was received').length).toBe(days < 0 ? 1 : 0);
        expect(tooEarly('at', moment, day, 'they were taken').length).toBe(days > 0 ? 1 : 0);
        expect(endsTooEarly('to', day, moment).length).toBe(days <= 0 ? 1 : 0);
      }),
      { seed: 14 },
    );
  });

  it('say what is expected, and of what', () => {
    expect(tooEarly('closed', '2031-01-01', '2031-01-02', 'it was opened')).toEqual([
      {
        field: 'closed',
        found: '2031-01-01',
        expected: 'not before 2031-01-02, when it was opened',
        remedy: 'correct one of the two times',
      },
    ]);
    expect(endsTooEarly('to', '2031-01-02', '2031-01-02')[0]!.expected).toBe('a day after 2031-01-02');
    expect(endsTooEarly('to', '2031-01-02T00:00:00Z', '2031-01-02T01:00:00Z')[0]!.expected).toBe(
      'a moment after 2031-01-02T01:00:00Z',
    );
  });
});

it('compares ends and parts as numbers, not as text', () => {
  expect(reversed('x', { lower: '9', upper: '10' })).toEqual([]);
  expect(reversed('x', { lower: '1e1', upper: '9.99' })).toHaveLength(1);
  expect(tooMuch('x', '0.10', '0.1', 'the whole')).toEqual([]);
  expect(tooMuch('x', '10', '9', 'the whole')[0]!.expected).toBe('at most 9, the whole');
});

it('says nothing of what is absent', () => {
  expect(tooEarly('a', undefined, '2031-01-01', '')).toEqual([]);
  expect(endsTooEarly('a', '2031-01-01', undefined)).toEqual([]);
  expect(reversed('a', { upper: '1' })).toEqual([]);
  expect(tooMuch('a', '1', undefined, '')).toEqual([]);
  expect(ownChecker('a', undefined, 'P-1')).toEqual([]);
});

it('asks for what has to be there, for one way of several, and against what cannot be', () => {
  expect(needed('why', undefined, 'nothing is named', 'a reason')).toHaveLength(1);
  expect(needed('why', 'so', 'nothing is named', 'a reason')).toEqual([]);
  expect(senseless('due', '2031-01-01', 'nothing is due')).toHaveLength(1);
  expect(senseless('due', undefined, 'nothing is due')).toEqual([]);
  expect(ownChecker('witness', 'P-1', 'P-1')).toHaveLength(1);
  expect(ownChecker('witness', 'P-2', 'P-1')).toEqual([]);
  expect(exactlyOne({ mesh: 'a', box: undefined }, 'zone')).toEqual([]);
  expect(exactlyOne({ mesh: undefined, box: undefined }, 'zone')).toMatchObject([{ found: 'none of them' }]);
  expect(exactlyOne({ mesh: 'a', box: {} }, 'zone')).toMatchObject([{ found: 'mesh and box', remedy: 'leave one' }]);
});
