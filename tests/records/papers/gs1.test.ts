import fc from 'fast-check';
import { checkDigit } from '../../../src/kinds/gtin.js';
import { elementsOf, humanReadable, readCarrier } from '../../../src/records/papers/gs1.js';

const UNIT = { gtin: '09506000134352', lot: 'L-2031-004', serial: '26-031' };

it.each([
  ['0950600013435', '2', 'GTIN-14 of the GS1 example company prefix 9506000'],
  ['629104150021', '3', 'GTIN-13 6291041500213, the worked example of the check digit in the GS1 documentation'],
  ['03600029145', '2', 'UPC-A 036000291452, as printed in textbooks on bar codes'],
  ['400638133393', '1', 'EAN-13 4006381333931, as printed in textbooks on bar codes'],
])('computes the check digit of %s as %s (%s; from memory)', (digits, expected) => {
  expect(checkDigit(digits)).toBe(expected);
});

it('notices every single wrong digit of a GTIN', () => {
  for (let place = 0; place < 14; place++) {
    for (let by = 1; by < 10; by++) {
      const digits = [...UNIT.gtin];
      digits[place] = String((Number(digits[place]) + by) % 10);
      expect(() => elementsOf({ ...UNIT, gtin: digits.join('') })).toThrow('check digit');
    }
  }
});

it('puts elements of fixed length first, and lot and serial last', () => {
  const elements = elementsOf({ ...UNIT, productionDay: '2031-05-04', expiryDay: '2033-02-28' });
  expect(humanReadable(elements)).toBe('(01)09506000134352(11)310504(17)330228(10)L-2031-004(21)26-031');
});

it.each([
  ['2031-02-30', 'a day that no calendar has'],
  ['2031-02-00', 'day 00, which healthcare items may not carry'],
  ['2031-02', 'a month alone'],
  ['310504', 'no calendar day'],
])('refuses %s as expiry: %s', (expiryDay) => {
  expect(() => elementsOf({ ...UNIT, expiryDay })).toThrow('a real calendar day');
});

it.each([
  ['A'.repeat(21), 'longer than 20 characters'],
  ['Ä-1', 'a letter outside set 82'],
  ['a b', 'a blank'],
  ['', 'nothing'],
  ['x\u001dy', 'the separator'],
])('refuses %j as serial: %s', (serial) => {
  expect(() => elementsOf({ ...UNIT, serial })).toThrow('the serial');
});

it('reads back what it wrote, with the separator that the carrier needs after the lot', () => {
  const days = fc.date({ min: new Date('2001-01-01'), max: new Date('2060-12-31'), noInvalidDate: true });
  const day = days.map((date) => date.toISOString().slice(0, 10));
  const code = fc.stringMatching(/^[A-Z0-9._-]{1,20}$/);
  fc.assert(
    fc.property(day, day, code, code, (productionDay, expiryDay, lot, serial) => {
      const elements = elementsOf({ gtin: UNIT.gtin, productionDay, expiryDay, lot, serial });
      const carrier = elements.map(({ ai, content }) => ai + content + (ai === '10' ? '\u001d' : '')).join('');
      expect(readCarrier(`]d2${carrier}`, 2031)).toEqual({ gtin: UNIT.gtin, productionDay, expiryDay, lot, serial });
    }),
  );
});

it.each([
  ['0109506000134352', 2031],
  ['99123', 2031],
])('refuses or reads %s', (scanned, year) => {
  if (scanned.startsWith('01')) expect(readCarrier(scanned, year)).toEqual({ gtin: '09506000134352' });
  else expect(() => readCarrier(scanned, year)).toThrow('application identifier');
});

it.each(['01095060001343', '11310500', '1131', '10'])('refuses the cut or impossible carrier %s', (scanned) => {
  expect(() => readCarrier(scanned, 2031)).toThrow('cannot stand in a GS1 code');
});
