import { AppError } from '../../src/base/errors.js';
import { conversion, convert, convertDifference, expectedUnit, isUnit } from '../../src/base/units.js';

describe('codes', () => {
  it.each(['MPa', '[ppm]', '%', 'mm/a', 'ug/g', 'mg/(cm2.d)', 'Cel', 'um', 'L/min', '[psi]', '1', '[ppm]{vol}'])(
    'knows %s',
    (code) => expect(isUnit(code)).toBe(true),
  );
  it.each([
    '/min',
    '10*-3/uL',
    'kg.m2.s-3',
    'm[H2O]',
    'B[10.nV]',
    '[m/s2/Hz^(1/2)]',
    'KiBy',
    '(g.m)/s',
    '{cells}/L',
    'dB',
  ])('knows %s', (code) => expect(isUnit(code)).toBe(true));
  // UCUM, section 3: a prefix stands before metric units alone; ucum-essence.xml says which are.
  it.each(['kmin', 'ma', 'm[psi]', 'kCel', 'mh', 'k[ppm]', 'm%', 'kd', 'umm', 'Kim', 'mdeg', 'm[in_i]/s', 'L/kmin'])(
    'refuses the prefix of %s',
    (code) => {
      expect(isUnit(code)).toBe(false);
      expect(expectedUnit(code, 'mm')).toContain('takes no prefix');
    },
  );
  it.each([
    'm/',
    '10+3/ul',
    '{a}rad2{b}',
    '{|}1',
    'mmol/kg[H20]',
    'g/12h',
    'ug(8.h)',
    'm..s',
    '()',
    '(m',
    'm)',
    'm{b',
    'rad2{錠}',
  ])('refuses the form of %s, after the functional tests of UCUM', (code) => expect(isUnit(code)).toBe(false));
  it.each([
    ['Mpa', 'MPa'],
    ['psi', '[psi]'],
    ['PPM', '[ppm]'],
    ['N/mm²', 'N/mm2'],
    ['kmin', 'min'],
    ['mmm', 'mm or mm2 or mm3'],
  ])('says of %s what may be meant: %s', (code, meant) => {
    expect(expectedUnit(code, 'mm')).toMatch(new RegExp(`; did you mean ${meant.replace(/[[\]]/g, '\\$&')}\\?$`));
  });
  it.each(['Mpa', 'PPM', 'psi', 'ksi', 'micron', '', 'N//m', 'MPa ', 'x'.repeat(61)])('refuses "%s"', (code) =>
    expect(isUnit(code)).toBe(false),
  );
});

describe('exact conversion', () => {
  it.each([
    { value: '0.10', from: '%', to: '[ppm]', expected: '1000', source: 'definition of percent and ppm' },
    { value: '35', from: '[ppm]', to: '%', expected: '0.0035', source: 'definition' },
    { value: '1', from: '[in_i]', to: 'mm', expected: '25.4', source: 'international inch, exact since 1959' },
    { value: '215.0', from: 'MPa', to: 'N/mm2', expected: '215.0', source: '1 MPa = 1 N/mm2, SI' },
    { value: '12.30', from: 'mbar', to: 'Pa', expected: '1230', source: '1 bar = 100 kPa, SI brochure table 8 note' },
    { value: '0.285', from: 'mm', to: 'um', expected: '285', source: 'SI prefix' },
    { value: '285', from: 'um', to: 'mm', expected: '0.285', source: 'SI prefix' },
    { value: '-40', from: 'Cel', to: 'K', expected: '233.15', source: 'SI brochure 2.3.1: 273.15 K' },
    { value: '1.5e-3', from: 'g', to: 'mg', expected: '1.5', source: 'SI prefix' },
    { value: '12.3', from: 'mg/cm2', to: 'g/m2', expected: '123', source: '1 mg/cm2 = 10 g/m2' },
    { value: '0.10', from: 'MPa', to: 'MPa', expected: '0.10', source: 'same unit: as written' },
  ])('$value $from is $expected $to ($source)', ({ value, from, to, expected }) => {
    expect(convert(value, from, to)).toBe(expected);
  });
});

describe('conversion to twelve digits', () => {
  it.each([
    { value: '32', from: '[degF]', to: 'Cel', expected: 0, source: 'freezing point of water, definition' },
    { value: '212', from: '[degF]', to: 'Cel', expected: 100, source: 'boiling point, definition' },
    {
      value: '1',
      from: '[psi]',
      to: 'kPa',
      expected: 6.894757293168,
      source: 'NIST SP 811 appendix B.8, 6.894 757 E+00',
    },
    { value: '1', from: 'mm/a', to: 'um/d', expected: 1000 / 365.25, source: 'UCUM: a = 365.25 d' },
    { value: '1', from: 'g/h', to: 'g/min', expected: 1 / 60, source: '60 minutes in an hour' },
  ])('$value $from is $expected $to ($source)', ({ value, from, to, expected }) => {
    expect(Math.abs(Number(convert(value, from, to)) - expected)).toBeLessThanOrEqual(1e-11 * Math.max(1, expected));
  });

  it('agrees with factor and offset', () => {
    const { factor, offset } = conversion('[degF]', 'Cel');
    expect(100 * factor + offset).toBeCloseTo(37.7777777778, 9);
    expect(conversion('%', '[ppm]')).toEqual({ factor: 10_000, offset: 0 });
    expect(conversion('[ppm]', '%')).toEqual({ factor: 0.0001, offset: 0 });
  });

  it('leaves the offset out of a difference', () => {
    expect(convertDifference('0.5', 'Cel', 'K')).toBe('0.5');
    expect(Number(convertDifference('9', '[degF]', 'K'))).toBeCloseTo(5, 10);
  });

  it('returns text without exponent, also for very small values', () => {
    expect(convert('1e-9', '[psi]', 'MPa')).toMatch(/^0\.0{11}689475729317\d*$/);
  });
});

describe('refusals name the units', () => {
  it.each([
    { from: 'MPa', to: 'N', reason: /MPa cannot be converted to N/ },
    { from: 'Mpa', to: 'MPa', reason: /"Mpa" is no UCUM code/ },
    { from: 'MPa', to: 'ksi', reason: /"ksi" is no UCUM code/ },
    { from: 'Cel', to: '[ppm]', reason: /Cel cannot be converted to \[ppm\]/ },
    { from: 'dB', to: '1', reason: /no factor leads/ },
    { from: 'mL/L', to: 'mg/kg', reason: /by volume, mg\/kg by mass/ },
    { from: '[ppm]{vol}', to: 'ug/g', reason: /by volume, ug\/g by mass/ },
    { from: 'g', to: 'mol', reason: /g cannot be converted to mol/ },
  ])('$from to $to', ({ from, to, reason }) => {
    expect(() => convert('1', from, to)).toThrow(AppError);
    expect(() => convert('1', from, to)).toThrow(reason);
  });

  it('refuses a value that is no decimal', () => {
    expect(() => convert('1,5', 'MPa', 'Pa')).toThrow(/expected a decimal number/);
  });
});
