import fs from 'node:fs';
import { SaxesParser } from 'saxes';
import { conversion, convert, isUnit } from '../../src/base/units.js';

/** The functional tests of UCUM (tests/reference/ucum): which codes are units, and what they are in others. */

type Case = Readonly<Record<string, string>>;

function cases(): ReadonlyMap<string, readonly Case[]> {
  const found = new Map<string, Case[]>();
  let section = '';
  const parser = new SaxesParser();
  parser.on('opentag', ({ name, attributes }) => {
    if (name !== 'case') section = name;
    else found.set(section, [...(found.get(section) ?? []), attributes]);
  });
  parser.write(fs.readFileSync('tests/reference/ucum/UcumFunctionalTests.xml', 'utf8')).close();
  return found;
}

const CASES = cases();

it('knows as units what the functional tests do', () => {
  const asked = CASES.get('validation')!;
  expect(asked.length).toBeGreaterThan(500);
  const wrong = asked.filter(({ unit = '', valid }) => isUnit(unit) !== (valid === 'true'));
  expect(wrong).toEqual([]);
});

it('converts as they do', () => {
  const asked = CASES.get('conversion')!;
  expect(asked.length).toBeGreaterThan(25);
  for (const { id, value = '', srcUnit = '', dstUnit = '', outcome = '' } of asked) {
    const { factor, offset } = conversion(srcUnit, dstUnit);
    const found = Number(value) * factor + offset;
    // An outcome is rounded to its last place, and ours to twelve digits.
    const [, decimals = '', exponent = '0'] = /^-?\d*\.?(\d*)(?:[eE]([+-]?\d+))?$/.exec(outcome)!;
    const half = Math.max(0.5 * 10 ** (Number(exponent) - decimals.length), Math.abs(Number(outcome)) * 1e-11);
    expect(Math.abs(found - Number(outcome)), `${id}: ${value} ${srcUnit} in ${dstUnit}`).toBeLessThanOrEqual(
      half * 1.000001,
    );
    expect(Number(convert(value, srcUnit, dstUnit)), id).toBeCloseTo(found, 6);
  }
});
