import fc from 'fast-check';
import { checkDigit, checkPair } from '../../src/base/element-strings/check-characters.js';
import { contentFault } from '../../src/base/element-strings/content.js';
import {
  carrierText,
  humanReadable,
  missingBeside,
  readBracketed,
  readElementString,
} from '../../src/base/element-strings/element-string.js';
import { allIdentifiers, identifierAt } from '../../src/base/element-strings/identifiers.js';
import { readScannedCode } from '../../src/base/element-strings/scanned-code.js';
import { elementsOf, unitIdentifierOf } from '../../src/base/element-strings/unit-identifier.js';

const YEAR = 2031;
const GS = '\u001d';
const GTIN = '09506000134352';
const UNIT = { gtin: GTIN, lot: 'L-2031-004', serial: '26-031' };
const faultOf = (ai: string, content: string, year = YEAR) => contentFault(identifierAt(ai)!, content, year);

it.each([
  ['0950600013435', '2', 'GTIN-14 of the GS1 example company prefix 9506000'],
  ['629104150021', '3', 'GTIN-13 6291041500213, the worked example of the check digit in the GS1 documentation'],
  ['03600029145', '2', 'UPC-A 036000291452, as printed in textbooks on bar codes'],
  ['400638133393', '1', 'EAN-13 4006381333931, as printed in textbooks on bar codes'],
])('computes the check digit of %s as %s (%s; from memory)', (digits, expected) => {
  expect(checkDigit(digits)).toBe(expected);
});

it('computes the pair of check characters of the published example of a model number', () => {
  // Global Model Number 1987654Ad4X4bL5ttr2310c2K: GS1 General Specifications, section 7.9.5.
  expect(checkPair('1987654Ad4X4bL5ttr2310c')).toBe('2K');
});

it('knows every published identifier by its own beginning, and no other', () => {
  const all = allIdentifiers();
  expect(all).toHaveLength(539);
  for (const { ai } of all) expect(identifierAt(`${ai}0000`)?.ai).toBe(ai);
  const starts = Array.from({ length: 10_000 }, (_, number) => String(number).padStart(4, '0'));
  const known = starts.filter((start) => identifierAt(start) !== undefined);
  expect(known).toHaveLength(all.reduce((total, { ai }) => total + 10 ** (4 - ai.length), 0));
});

it('notices every single wrong digit of a GTIN', () => {
  for (let place = 0; place < 14; place++) {
    for (let by = 1; by < 10; by++) {
      const digits = [...GTIN];
      digits[place] = String((Number(digits[place]) + by) % 10);
      expect(faultOf('01', digits.join(''))).toContain('check digit');
    }
  }
});

it.each([
  ['17', '310228', undefined],
  ['17', '310230', 'a real day'],
  ['17', '311301', 'a real day'],
  ['17', '320229', undefined],
  ['17', '310229', 'a real day'],
  ['17', '310200', undefined],
  ['17', '310000', 'a real day'],
  ['17', '31022', '6 digits'],
  ['17', '31022A', 'digits'],
  ['7003', '3102281859', undefined],
  ['7003', '3102002359', 'a real day'],
  ['7003', '3102282400', 'hours and minutes'],
  ['7003', '3102282360', 'hours and minutes'],
  ['8008', '31022823', undefined],
  ['8008', '3102282359', undefined],
  ['8008', '310228235960', '00 to 59'],
  ['8008', '3102282', '2 digits'],
  ['7007', '310228310301', undefined],
  ['7007', '310228310332', 'a real day'],
  ['10', 'A'.repeat(20), undefined],
  ['10', 'A'.repeat(21), '1 to 20 characters'],
  ['10', 'a b', 'character set 82'],
  ['10', 'Ä', 'character set 82'],
  ['10', `!"%&'()*+,-./:;<=>?_`, undefined],
  ['8010', '9506000A#-/', undefined],
  ['8010', '9506000a', 'capitals'],
  ['8010', 'A506000', 'company prefix'],
  ['253', '9506000134352', undefined],
  ['253', '9506000134352Z1', undefined],
  ['253', '9506000134353', 'check digit'],
  ['3103', '001500', undefined],
  ['3103', '01500', '6 digits'],
  ['8006', '095060001343520102', undefined],
  ['8006', '095060001343520201', 'number of a piece'],
  ['8013', '1987654Ad4X4bL5ttr2310c2K', undefined],
  ['8013', '1987654Ad4X4bL5ttr2310c2X', 'pair of check characters'],
  ['4330', '001234-', undefined],
  ['4330', '001234+', 'minus'],
  ['91', 'B'.repeat(90), undefined],
  ['91', 'B'.repeat(91), '1 to 90 characters'],
])('checks the content of (%s) %s: %s', (ai, content, expected) => {
  const fault = faultOf(ai, content);
  if (expected === undefined) expect(fault).toBeUndefined();
  else expect(fault).toContain(expected);
});

it.each([
  [2031, '81', '2081', undefined],
  [2031, '82', '1982', 'a real day'],
  [2099, '48', '2148', undefined],
])('in %i reads the year %s as %s', (year, two, full, fault) => {
  // 29 February tells the century only by the year that it is put in: so the day is read, too.
  const elements = readElementString(`11${two}0301`, year);
  expect(unitIdentifierOf(elements, year)).toEqual({ productionDay: `${full}-03-01` });
  expect(faultOf('11', `${two}0229`, year) === undefined).toBe(Number(full) % 4 === 0 && fault === undefined);
});

it.each([
  [`01${GTIN}0${GS}`, 'at character 17'],
  [`01${GTIN}10A${GS}10A`, 'a second (10)'],
  [`01${GTIN}01${GTIN}`, 'a second (01)'],
  [`01${GTIN}3712`, '(01) beside (37)'],
  [`01${GTIN}21A${GS}235B`, '(21) beside (235)'],
  [`01${GTIN}3102001234${GS}3103001234`, '(3102) beside (3103)'],
  [`01${GTIN}10${GS}21A`, '"" of (10)'],
  [`01${GTIN}${GS}${GS}10A`, 'application identifier'],
  [`01${GTIN}8110ABC`, 'application identifier'],
  [`01${GTIN}10A${GS}17310230`, '"310230" of (17) at character 21'],
])('refuses %j: %s', (scanned, message) => {
  expect(() => readElementString(scanned, YEAR)).toThrow(message);
});

it.each(['01095060001343', '11310500123', '1131', '10', '2'])('refuses the cut carrier %s', (scanned) => {
  expect(() => readElementString(scanned, YEAR)).toThrow('cannot stand in a GS1 code');
});

it('tells what must stand beside an identifier and does not', () => {
  expect(missingBeside(readElementString(`01${GTIN}10A`, YEAR))).toEqual([]);
  expect(missingBeside(readElementString('10A', YEAR))).toEqual([
    { ai: '10', oneOf: ['(01)', '(02)', '(03)', '(8006)', '(8026)'] },
  ]);
  const price = missingBeside(readElementString(`01${GTIN}3922100`, YEAR));
  expect(price[0]!.oneOf).toContain('(01) with (31nn)');
});

it('puts elements of fixed length first, and lot and serial last', () => {
  const elements = elementsOf({ ...UNIT, productionDay: '2031-05-04', expiryDay: '2033-02-28' });
  expect(humanReadable(elements)).toBe('(01)09506000134352(11)310504(17)330228(10)L-2031-004(21)26-031');
});

it.each([
  [{ expiryDay: '2031-02-30' }, 'a real day'],
  [{ expiryDay: '2031-02' }, 'a calendar day'],
  [{ expiryDay: '310504' }, 'a calendar day'],
  [{ gtin: '09506000134353' }, 'check digit'],
  [{ serial: 'A'.repeat(21) }, '1 to 20 characters'],
  [{ serial: 'x\u001dy' }, 'character set 82'],
  [{ lot: '' }, 'some content'],
])('writes no code of %j: %s', (change, message) => {
  expect(() => elementsOf({ ...UNIT, ...change })).toThrow(message);
});

it('takes no month without a day as the day of a device', () => {
  expect(() => unitIdentifierOf(readElementString('17310200', YEAR), YEAR)).toThrow('day 00');
});

const days = fc.date({ min: new Date('2001-01-01'), max: new Date('2060-12-31'), noInvalidDate: true });
const day = days.map((date) => date.toISOString().slice(0, 10));
const code = fc.stringMatching(/^[!"%&'()*+,\-./0-9:;<=>?A-Z_a-z]{1,20}$/);

it('reads back what it wrote, whatever lot and serial hold', () => {
  fc.assert(
    fc.property(day, day, code, code, (productionDay, expiryDay, lot, serial) => {
      const unit = { gtin: GTIN, productionDay, expiryDay, lot, serial };
      const read = readScannedCode(`]d2${carrierText(elementsOf(unit), GS)}`, YEAR);
      expect(read.form === 'element string' && unitIdentifierOf(read.elements, YEAR)).toEqual(unit);
    }),
  );
});

const written = '(01)09506000134352(10)L-1(21)26-031';
const elements = readBracketed(written, YEAR);

it.each([
  [`]d201${GTIN}10L-1${GS}2126-031`, elements],
  [`${GS}01${GTIN}10L-1${GS}2126-031${GS}`, elements],
  [`01${GTIN}10L-1${GS}2126-031`, elements],
  [`01${GTIN}2126-031`, [elements[0], elements[2]]],
  [` ${written} `, elements],
  [']d126-031', '26-031'],
  ['26-031', '26-031'],
  ['0109506000134353', '0109506000134353'],
  ['01', '01'],
])('reads %j as scanned', (scanned, expected) => {
  const read = readScannedCode(scanned, YEAR);
  expect(read).toEqual(
    typeof expected === 'string' ? { form: 'text', text: expected } : { form: 'element string', elements: expected },
  );
});

it.each([
  [`]d2${GTIN}`, 'application identifier'],
  [']C126-031', 'application identifier'],
  [`01${GTIN}17310230`, 'a real day'],
  ['(01)09506000134353', 'check digit'],
  ['(10)A(21', 'application identifier'],
  ['(10)A(x)', 'application identifier'],
  ['(0)1', undefined],
  ['(011)9506000134352', 'application identifier'],
])('refuses %j as scanned: %s', (scanned, message) => {
  if (message === undefined) expect(readScannedCode(scanned, YEAR).form).toBe('text');
  else expect(() => readScannedCode(scanned, YEAR)).toThrow(message);
});
