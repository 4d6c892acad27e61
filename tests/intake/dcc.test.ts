import fs from 'node:fs';
import path from 'node:path';
import type { BadInputError } from '../../src/base/errors.js';
import { conversion, isUnit } from '../../src/base/units.js';
import { readDcc } from '../../src/intake/dcc.js';
import * as worker from '../../src/intake/dcc-in-worker.js';
import { ucumOfDsi } from '../../src/intake/dcc-units.js';
import { readFolder } from '../../src/intake/read-folder.js';
import { makeCell, temporaryFolder, writeCell } from '../support/cell.js';

/**
 * Digital calibration certificates (DCC): a published one, kept with its source in tests/reference/dcc, and changes of it.
 * The forms of D-SI 2, which it does not use, are from memory of the schema SI_Format of D-SI 2.
 */

const FILE = 'tests/reference/dcc/dcc_gp_temperature_typical_v12.xml';
const PUBLISHED = fs.readFileSync(FILE, 'utf8');
const read = (text: string) => readDcc('a.xml', Buffer.from(text));

it('reads the published certificate: who, what, when, and each value with unit, uncertainty, coverage factor and line', () => {
  const { readings, ...told } = read(PUBLISHED);
  expect(told).toEqual({
    ...{ version: '3.1.1', identifier: 'GP_DCC_temperature_typical_1.2', begins: '1957-08-13', ends: '1957-08-13' },
    ...{ laboratory: 'Kalibrierfirma GmbH', conformity: ['pass'], recalibrateBy: '1959-10-22', signatures: [] },
    identifications: ['string-manufacturer-item', 'string-customer-item', 'string-calibrationLaboratory-item'],
  });
  expect(readings.map(({ quantity, place, value, ucum }) => [quantity, place, value, ucum])).toEqual([
    ...['306.248', '373.121', '448.253', '523.319', '593.154'].map((value, at) => ['Bezugswert', at + 1, value, 'K']),
    ...['306.32', '373.21', '448.36', '523.31', '593.07'].map((value, at) => [
      'Angezeigter Messwert Kalibriergegenstand',
      at + 1,
      value,
      'K',
    ]),
    ...['0.072', '0.089', '0.107', '-0.009', '-0.084'].map((value, at) => ['Messabweichung', at + 1, value, 'K']),
  ]);
  expect(readings.slice(0, 10).every(({ uncertainty }) => uncertainty === null)).toBe(true);
  for (const { uncertainty, line } of readings.slice(10)) {
    expect(uncertainty).toEqual({ is: 'expanded', value: '0.061', coverageFactor: '2' });
    expect(PUBLISHED.split('\n')[line - 1]).toContain('<si:realListXMLList>');
  }
});

const OLD = /<si:expandedUncXMLList>[\s\S]*?<\/si:expandedUncXMLList>/;
const inForm = (inner: string) =>
  PUBLISHED.replace(
    OLD,
    `<si:measurementUncertaintyUnivariateXMLList>${inner}</si:measurementUncertaintyUnivariateXMLList>`,
  );

it('reads uncertainties as D-SI 2 writes them', () => {
  const expanded =
    '<si:expandedMUXMLList><si:valueExpandedMUXMLList>0.06 0.06 0.06 0.07 0.07</si:valueExpandedMUXMLList><si:coverageFactorXMLList>2</si:coverageFactorXMLList></si:expandedMUXMLList>';
  const wide = read(inForm(expanded)).readings.at(-1)!;
  expect(wide.uncertainty).toEqual({ is: 'expanded', value: '0.07', coverageFactor: '2' });
  const standard =
    '<si:standardMUXMLList><si:valueStandardMUXMLList>0.03</si:valueStandardMUXMLList></si:standardMUXMLList>';
  expect(read(inForm(standard)).readings.at(-1)!.uncertainty).toEqual({
    is: 'standard',
    value: '0.03',
    coverageFactor: '1',
  });
});

it('reads the standard uncertainty of an interval, in the form of D-SI 1 and of D-SI 2', () => {
  const bounds = 'Min>-0.1< Max>0.1<'.split(' ').map((one) => {
    const [name, value] = one.split(/[><]/);
    return `<si:interval${name}XMLList>${value}</si:interval${name}XMLList>`;
  });
  const interval = (name: string, value: string) =>
    `<si:${name}XMLList><si:${value}XMLList>0.03</si:${value}XMLList>${bounds.join('')}</si:${name}XMLList>`;
  const older = PUBLISHED.replace(OLD, interval('coverageInterval', 'standardUnc'));
  for (const text of [older, inForm(interval('coverageIntervalMU', 'valueStandardMU'))]) {
    const readings = read(text).readings.slice(10);
    expect(readings.map(({ uncertainty }) => uncertainty)).toEqual(
      Array.from({ length: 5 }, () => ({ is: 'standard', value: '0.03', coverageFactor: '1' })),
    );
  }
  // As an interval that does not say it: never a value without uncertainty.
  expect(() => read(PUBLISHED.replaceAll('expandedUncXMLList', 'coverageIntervalXMLList'))).toThrow(
    /no standardUncXMLList/,
  );
});

it('names the element of an uncertainty that it does not read, and none where none is stated', () => {
  const other = read(PUBLISHED.replaceAll('expandedUncXMLList', 'ellipsoidalRegionMUXMLList')).readings;
  expect(other.map(({ uncertainty, uncertaintyAs }) => [uncertainty, uncertaintyAs])).toEqual([
    ...Array.from({ length: 10 }, () => [null, null]),
    ...Array.from({ length: 5 }, () => [null, 'ellipsoidalRegionMUXMLList']),
  ]);
  const beside = PUBLISHED.replace(OLD, '').replaceAll('</dcc:quantity>', '<dcc:relativeUncertainty/></dcc:quantity>');
  expect(read(beside).readings.at(-1)).toMatchObject({ uncertainty: null, uncertaintyAs: 'relativeUncertainty' });
  expect(read(PUBLISHED).readings.every(({ uncertaintyAs }) => uncertaintyAs === null)).toBe(true);
});

it('reads unit and uncertainty of all values of a list, but of those that state their own', () => {
  const list = `<si:realList><si:listUnit>\\metre</si:listUnit><si:listUnivariateUnc><si:expandedUnc>
<si:uncertainty>0.01</si:uncertainty><si:coverageFactor>2</si:coverageFactor></si:expandedUnc></si:listUnivariateUnc>
<si:real><si:value>2.34</si:value></si:real>
<si:real><si:value>3.34</si:value><si:unit>\\milli\\metre</si:unit><si:expandedUnc><si:uncertainty>0.02</si:uncertainty>
<si:coverageFactor>3</si:coverageFactor></si:expandedUnc></si:real>
<si:real><si:value>4.34</si:value><si:otherUnc/></si:real></si:realList>`;
  const text = PUBLISHED.replace(
    /(<dcc:results>[\s\S]*?<dcc:data>)[\s\S]*(<\/dcc:data>[\s\S]*?<\/dcc:results>)/,
    (_, before, after) => `${before}<dcc:quantity>${list}</dcc:quantity>${after}`,
  );
  expect(
    read(text).readings.map(({ value, ucum, uncertainty, uncertaintyAs }) => [
      ...[value, ucum, uncertainty?.value, uncertainty?.coverageFactor, uncertaintyAs],
    ]),
  ).toEqual([
    ['2.34', 'm', '0.01', '2', null],
    ['3.34', 'mm', '0.02', '3', null],
    ['4.34', 'm', undefined, undefined, 'otherUnc'],
  ]);
});

it.each([
  ['\\metre', 'm'],
  ['\\milli\\metre\\tothe{2}', 'mm2'],
  ['\\kilogram\\metre\\tothe{-3}', 'kg.m-3'],
  ['\\newton\\per\\milli\\metre\\tothe{2}', 'N.mm-2'],
  ['\\degreeCelsius', 'Cel'],
  ['\\micro\\gram\\per\\gram', 'ug.g-1'],
  ['\\one', '1'],
])('writes the unit %s as %s', (unit, ucum) => {
  expect(ucumOfDsi(unit)).toBe(ucum);
  expect(isUnit(ucum)).toBe(true);
});

it.each(['\\ell', 'metre', '\\milli', '\\metre\\per', '\\tothe{2}', '\\metre\\tothe', ''])(
  'knows %s for no unit',
  (unit) => {
    expect(ucumOfDsi(unit)).toBeUndefined();
  },
);

it('reads a value in a section of text as it is', () => {
  expect(read(PUBLISHED.replace('306.248', '306<![CDATA[.24]]>8')).readings[0]!.value).toBe('306.248');
});

it('writes a unit that means the same', () => {
  expect(conversion(ucumOfDsi('\\newton\\per\\milli\\metre\\tothe{2}')!, 'MPa')).toEqual({ factor: 1, offset: 0 });
});

const changed = (from: string | RegExp, to: string) => PUBLISHED.replace(from, to);

it.each([
  ['another root', '<certificate/>', /:1: found a root element certificate/],
  ['another version', changed('schemaVersion="3.1.1"', 'schemaVersion="9.0.0"'), /schemaVersion "9\.0\.0"/],
  ['a document type', '<!DOCTYPE a [<!ENTITY b "c">]><a/>', /document type declaration/],
  ['what is cut', PUBLISHED.slice(0, 9000), /unclosed tag/i],
  ['no identifier', changed(/<dcc:uniqueIdentifier>[^<]*<\/dcc:uniqueIdentifier>/, ''), /no uniqueIdentifier/],
  ['a day that is none', changed('1957-08-13<', 'August<'), /:\d+: found August/],
  [
    'fewer units than values',
    changed('<si:unitXMLList>\\kelvin<', '<si:unitXMLList>\\kelvin \\kelvin<'),
    /2 units for 5 values/,
  ],
  [
    'fewer uncertainties',
    changed('<si:uncertaintyXMLList>0.061<', '<si:uncertaintyXMLList>0.061 0.06<'),
    /2 uncertainties for 5/,
  ],
  [
    'an uncertainty without its factor',
    changed(/<si:coverageFactorXMLList>[^<]*<[^>]*>/, ''),
    /no coverageFactorXMLList/,
  ],
  ['a value that is none', changed('306.32 373.21', '306.32 n/a'), /"n\/a"; expected a number/],
  ['a value around an element', changed('306.248', '306<other xmlns="urn:x"/>.248'), /elements inside valueXMLList/],
  [
    'a second list of values',
    changed('<si:valueXMLList>306.248', '<si:valueXMLList>1 2 3 4 5</si:valueXMLList><si:valueXMLList>306.248'),
    /:\d+: found valueXMLList a second time in realListXMLList/,
  ],
  [
    'a second identifier',
    changed('</dcc:uniqueIdentifier>', '</dcc:uniqueIdentifier><dcc:uniqueIdentifier>C-2</dcc:uniqueIdentifier>'),
    /uniqueIdentifier a second time in coreData/,
  ],
  [
    'an identifier around an element',
    changed('<dcc:uniqueIdentifier>GP_', '<dcc:uniqueIdentifier>GP<x xmlns="urn:x"/>_'),
    /elements inside uniqueIdentifier/,
  ],
  [
    'a form beside those of hybrid',
    changed('<si:hybrid>', '<si:real><si:value>1</si:value><si:unit>\\metre</si:unit></si:real><si:hybrid>'),
    /real beside hybrid/,
  ],
  ['another encoding', changed('encoding="utf-8"', 'encoding="ISO-8859-1"'), /:1: found encoding ISO-8859-1/],
  ['an entity of its own', changed('306.248', '&much;'), /undefined entity/i],
  ['a value without end', changed('306.248', '1'.repeat(9 << 20)), /more than 8388608 bytes/],
  ['two forms that differ', changed('33.17 100.06', '33.17 101.06'), /101\.06 \\degreecelsius for 373\.21 \\kelvin/],
  [
    'two forms of two sorts',
    changed(
      '100.06 175.21 250.16 319.92</si:valueXMLList>\n\t\t\t\t\t\t\t\t\t\t<si:unitXMLList>\\degreecelsius',
      '100.06 175.21 250.16 319.92</si:valueXMLList>\n\t\t\t\t\t\t\t\t\t\t<si:unitXMLList>\\metre',
    ),
    /another sort of unit/,
  ],
])('refuses %s, with the line', (_, text, says) => {
  expect(text).not.toBe(PUBLISHED);
  expect(() => read(text)).toThrow(says);
});

describe('a calibration with such a certificate', () => {
  const RIG = 'site/rig.yaml';
  /** Problems with the instrument, where the certificate is the published one for an instrument of ours. */
  async function problems(calibration: object, more: object = {}, certificate = PUBLISHED): Promise<string[]> {
    const cell = makeCell();
    const document = {
      ...{
        kind: 'instrument',
        format: 1,
        instrument: 'string-customer-item',
        title: 'a probe (invented)',
        measures: 'temperature',
      },
      calibrations: [
        {
          ...{
            certificate: 'GP_DCC_temperature_typical_1.2',
            at: '1957-08-13T10:00:00+01:00',
            due: '1958-08-13T00:00:00+01:00',
          },
          ...{ asFound: 'in tolerance', asLeft: 'in tolerance', traceableTo: 'SI (invented)', file: 'dcc.xml' },
          ...calibration,
        },
      ],
      ...more,
    };
    cell.documents[RIG] = document;
    cell.files['site/dcc.xml'] = certificate;
    const folder = temporaryFolder('dcc');
    writeCell(cell, folder);
    try {
      await readFolder(folder);
      return [];
    } catch (error) {
      return (error as BadInputError).problems.map(
        ({ file, field, found, expected }) => `${path.basename(file!)} ${field}: ${found}; ${expected}`,
      );
    }
  }

  it('is taken in where both say the same', async () => {
    expect(await problems({})).toEqual([]);
    expect(await problems({}, { instrument: 'T-7', serialNumber: 'string-manufacturer-item' })).toEqual([]);
  });

  it('is read where the service goes on answering, in the worker of its page', async () => {
    const read = vi.spyOn(worker, 'readDccFile');
    expect(await problems({})).toEqual([]);
    expect(read.mock.calls.map(([{ name }]) => name)).toEqual(['site/dcc.xml']);
    read.mockRestore();
  });

  it.each([
    [
      'another certificate',
      { certificate: 'C-1' },
      'calibrations[0].certificate: C-1; GP_DCC_temperature_typical_1.2, as site/dcc.xml says',
    ],
    [
      'another day',
      { at: '1957-08-14T10:00:00+01:00' },
      'calibrations[0].at: 1957-08-14; 1957-08-13, as site/dcc.xml says',
    ],
    [
      'a later end',
      { due: '1960-01-01T00:00:00+01:00' },
      'calibrations[0].due: 1960-01-01; 1959-10-22 at the latest, as site/dcc.xml says',
    ],
  ])('is refused where it tells of %s', async (_, calibration, says) => {
    expect(await problems(calibration)).toEqual([`rig.yaml ${says}`]);
  });

  it('is refused for another instrument, and left in tolerance where the certificate says that it fails', async () => {
    expect(await problems({}, { instrument: 'T-7' })).toEqual([
      'rig.yaml calibrations[0].file: T-7; string-manufacturer-item or string-customer-item or string-calibrationLaboratory-item, as site/dcc.xml says',
    ]);
    const failed = changed('<dcc:conformity>pass', '<dcc:conformity>fail');
    expect(await problems({}, {}, failed)).toEqual([
      'rig.yaml calibrations[0].asLeft: in tolerance; out of tolerance (fail), as site/dcc.xml says',
    ]);
    expect(await problems({ asLeft: 'out of tolerance' }, {}, failed)).toEqual([]);
    const later = changed(
      '</dcc:statements>',
      '<dcc:statement><dcc:conformity>noPass</dcc:conformity></dcc:statement></dcc:statements>',
    );
    expect((await problems({}, {}, later))[0]).toMatch(/out of tolerance \(noPass\)/);
    expect(await problems({}, {}, changed('<dcc:conformity>pass', '<dcc:conformity>noFail'))).toEqual([]);
  });

  it('is refused with the line of the certificate where that cannot be read', async () => {
    expect((await problems({}, {}, PUBLISHED.slice(0, 9000)))[0]).toMatch(/^dcc\.xml /);
  });
});
