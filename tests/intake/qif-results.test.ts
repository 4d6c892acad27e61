import fs from 'node:fs';
import path from 'node:path';
import { BadInputError } from '../../src/base/errors.js';
import { readExport } from '../../src/intake/instrument-exports.js';
import { readQif } from '../../src/intake/qif-results.js';
import type { InstrumentProfile } from '../../src/kinds/instrument-profile.js';

/** Results by QIF (ISO 23952): published files, kept with their source in tests/reference/qif, and one of ours by the schema. */

const published = (name: string) => fs.readFileSync(path.join('tests/reference/qif', name));
/** The values by a plain reading of the text, which knows nothing of XML. */
const plainly = (text: string) =>
  [
    ...text.matchAll(
      /<CharacteristicItemId>(\d+)<\/CharacteristicItemId>(?:(?!<CharacteristicItemId>)[\s\S])*?<Value[^>]*>([^<]*)<\/Value>/g,
    ),
  ].map(([, item, value]) => [item, value]);

it.each(['testPython30.qif', 'QIF_Results_Sample.QIF'])(
  'reads each value of the published file %s, on its line',
  (name) => {
    const bytes = published(name);
    const { values, units } = readQif(name, bytes);
    expect(values.map(({ item, value }) => [item, value])).toEqual(plainly(bytes.toString('utf8')));
    expect(values.length).toBeGreaterThan(6);
    const lines = bytes.toString('utf8').split('\n');
    for (const { line } of values) expect(lines[line - 1]).toMatch(/CharacteristicMeasurement/);
    expect(units).toContainEqual(expect.objectContaining({ name: 'mm', si: 'meter', factor: 0.001, isPrimary: true }));
  },
);

interface Made {
  readonly unit?: string;
  readonly factor?: string;
  readonly value?: string;
  readonly parts?: string;
  readonly names?: readonly [string, string];
  readonly space?: string;
  readonly version?: string;
  readonly other?: string;
}

const qif = ({
  unit = 'mm',
  factor = '0.001',
  value = '<Value combinedUncertainty="0.002">1.498</Value>',
  ...made
}: Made = {}) => {
  const {
    parts = '<ActualComponentIds n="1"><Id>70</Id></ActualComponentIds>',
    names = ['T1', 'W1'],
    other = '',
    space = 'http://qifstandards.org/xsd/qif3',
    version = space.endsWith('2') ? '2.1.0' : '3.0.0',
  } = made;
  return Buffer.from(`<?xml version="1.0" encoding="UTF-8"?>
<QIFDocument xmlns="${space}" versionQIF="${version}" idMax="99">
  <FileUnits><PrimaryUnits>
    <AngularUnit><SIUnitName>radian</SIUnitName><UnitName>degree</UnitName><UnitConversion><Factor>0.0174532925199433</Factor></UnitConversion></AngularUnit>
    <LinearUnit><SIUnitName>meter</SIUnitName><UnitName>${unit}</UnitName><UnitConversion><Factor>${factor}</Factor></UnitConversion></LinearUnit>
  </PrimaryUnits><OtherUnits><LinearUnit><SIUnitName>meter</SIUnitName><UnitName>inch</UnitName><UnitConversion><Factor>0.0254</Factor></UnitConversion></LinearUnit></OtherUnits></FileUnits>
  <Characteristics><CharacteristicItems n="2">
    <ThicknessCharacteristicItem id="40"><Name>${names[0]}</Name></ThicknessCharacteristicItem>
    <WidthCharacteristicItem id="41"><Name>${names[1]}</Name></WidthCharacteristicItem>
  </CharacteristicItems></Characteristics>
  <MeasurementsResults><MeasurementResultsSet n="1"><MeasurementResults id="60">
    <InspectionTraceability><InspectionEnd>2031-03-04T09:00:00</InspectionEnd></InspectionTraceability>
    <MeasuredCharacteristics><CharacteristicMeasurements n="2">
      <ThicknessCharacteristicMeasurement id="61">
        <Status><CharacteristicStatusEnum>PASS</CharacteristicStatusEnum></Status>
        <CharacteristicItemId>40</CharacteristicItemId><TimeStamp>2031-03-04T08:30:00Z</TimeStamp>
        ${value}
      </ThicknessCharacteristicMeasurement>
      <WidthCharacteristicMeasurement id="62"><CharacteristicItemId>41</CharacteristicItemId><Value>6.01</Value></WidthCharacteristicMeasurement>
    </CharacteristicMeasurements></MeasuredCharacteristics>
    <InspectionStatus><InspectionStatusEnum>PASS</InspectionStatusEnum></InspectionStatus>${parts}
  </MeasurementResults></MeasurementResultsSet>
  <ActualComponentSets n="1"><ActualComponentSet n="2"><ActualComponent id="70"><SerialNumber>L-1-I1</SerialNumber></ActualComponent>
  <ActualComponent id="71"><SerialNumber>L-1-I2</SerialNumber></ActualComponent></ActualComponentSet></ActualComponentSets>
  </MeasurementsResults>${other}
</QIFDocument>
`);
};

const changed = (from: string, to: string) => {
  const text = qif().toString('utf8');
  expect(text).toContain(from);
  return Buffer.from(text.replace(from, to));
};

const PROFILE: InstrumentProfile = {
  ...{
    kind: 'instrument-profile',
    format: 1,
    profile: 'CMM',
    revision: 1,
    title: 'Coordinate measuring machine (invented)',
  },
  ...{ delimiter: 'comma', decimal: 'point', time: { form: 'ISO' } },
  tables: [
    {
      headerLines: 0,
      columns: [
        { column: 'SerialNumber', is: 'specimen' },
        { column: 'TimeStamp', is: 'measuredAt' },
      ],
      values: [
        { column: 'T1', characteristic: 'thickness', ucum: 'mm', uncertainty: 'u(T1)' },
        { column: 'W1', characteristic: 'width', ucum: 'mm' },
      ],
      constants: { instrument: 'I-CMM', analyst: 'P-AN', method: { method: 'TM-D', revision: 1 } },
    },
  ],
};
const read = (bytes: Buffer, profile = PROFILE) => readExport('exports/CMM/a.qif', bytes, profile);

it('makes of each value a row of results, with serial number, time, uncertainty and the line it came from', async () => {
  const { rows, problems } = await read(qif());
  expect(problems).toEqual([]);
  expect(
    rows.map((row) => [
      row.line,
      row.specimen,
      row.characteristic,
      row.value,
      row.ucum,
      row.standardUncertainty,
      row.measuredAt,
    ]),
  ).toEqual([
    [14, 'L-1-I1', 'thickness', '1.498', 'mm', '0.002', '2031-03-04T08:30:00.000Z'],
    [19, 'L-1-I1', 'width', '6.01', 'mm', '', '2031-03-04T09:00:00.000Z'],
  ]);
});

it('reads QIF 2 alike, and passes by what nobody asked for and what has no value', async () => {
  const { rows, problems } = await read(qif({ space: 'http://qifstandards.org/xsd/qif2', value: '' }));
  expect(problems).toEqual([]);
  expect(rows.map(({ characteristic }) => characteristic)).toEqual(['width']);
  const [table] = PROFILE.tables;
  const one = { ...PROFILE, tables: [{ ...table!, values: table!.values.slice(1) }] };
  expect((await read(qif({ value: '<Value linearUnit="ell">2</Value>' }), one)).rows).toHaveLength(1);
});

it('reads its numbers with a point, whatever the profile says of other exports', async () => {
  const { rows, problems } = await read(qif(), { ...PROFILE, decimal: 'comma' });
  expect(problems).toEqual([]);
  expect(rows.map(({ value }) => value)).toEqual(['1.498', '6.01']);
});

it('reads nothing of another namespace, wherever it stands', async () => {
  const value = `<x:Value xmlns:x="urn:u" combinedUncertainty="9">777<Value>5</Value></x:Value>
    <Value combinedUncertainty="0.002">1.498</Value><x:CharacteristicItemId xmlns:x="urn:u">41</x:CharacteristicItemId>`;
  const parts = `<x:ActualComponentIds xmlns:x="urn:u"><Id>71</Id></x:ActualComponentIds>
    <ActualComponentIds n="1"><Id>70</Id></ActualComponentIds>`;
  const { rows, problems } = await read(qif({ value, parts }));
  expect(problems).toEqual([]);
  expect(rows.map((row) => [row.specimen, row.characteristic, row.value, row.standardUncertainty])).toEqual([
    ['L-1-I1', 'thickness', '1.498', '0.002'],
    ['L-1-I1', 'width', '6.01', ''],
  ]);
  const alone = '<x:Value xmlns:x="urn:u" combinedUncertainty="9">777</x:Value>';
  expect((await read(qif({ value: alone }))).rows.map(({ characteristic }) => characteristic)).toEqual(['width']);
});

it('takes the component that a value names before the one of all results', async () => {
  const value = '<ActualComponentId>71</ActualComponentId><Value>1.5</Value>';
  expect((await read(qif({ value }))).rows.map(({ specimen }) => specimen)).toEqual(['L-1-I2', 'L-1-I1']);
});

it.each([
  [
    'inches under the name of millimetres',
    qif({ factor: '0.0254' }),
    /a\.qif:14, T1: found mm, of which one is 0\.0254 meter/,
  ],
  ['another unit', qif({ unit: 'um', factor: '1e-6' }), /um, of which one is 0\.000001 meter/],
  [
    'a value in a unit of its own',
    qif({ value: '<Value linearUnit="inch">0.059</Value>' }),
    /inch, of which one is 0\.0254 meter/,
  ],
  [
    'a unit that is not told',
    qif({ value: '<Value linearUnit="ell">2</Value>' }),
    /the unit ell, which FileUnits does not tell/,
  ],
  [
    'two units of one name',
    qif({ unit: 'inch', value: '<Value linearUnit="inch">1</Value>' }),
    /2 units inch, inch for one value/,
  ],
  [
    'a value in two units of its own',
    qif({ value: '<Value linearUnit="inch" angularUnit="degree">1</Value>' }),
    /:17: found a value in inch and in degree; expected one unit/,
  ],
  [
    'two values of one measurement',
    qif({ value: '<Value>1</Value><Value>2</Value>' }),
    /:17: found Value a second time/,
  ],
  ['a value around an element', qif({ value: '<Value>1<b/>2</Value>' }), /:17: found an element b inside Value/],
  [
    'a value around an element of others',
    qif({ value: '<Value>1<x:b xmlns:x="urn:u">9</x:b>2</Value>' }),
    /:17: found an element b inside Value/,
  ],
  [
    'a serial number around an element',
    changed('<SerialNumber>L-1-I1', '<SerialNumber>L-1<b/>-I1'),
    /:23: found an element b inside SerialNumber/,
  ],
  [
    'two serial numbers of one component',
    changed('<SerialNumber>L-1-I1', '<SerialNumber>L-1</SerialNumber><SerialNumber>L-1-I1'),
    /:23: found SerialNumber a second time in component 70/,
  ],
  [
    'an identifier around an element',
    changed('<CharacteristicItemId>40', '<CharacteristicItemId>4<b/>0'),
    /:16: found an element b inside CharacteristicItemId/,
  ],
  [
    'another encoding that it names',
    changed('encoding="UTF-8"', 'encoding="ISO-8859-1"'),
    /:1: found encoding ISO-8859-1; expected UTF-8/,
  ],
  [
    'a version that is not that of its namespace',
    qif({ space: 'http://qifstandards.org/xsd/qif2', version: '3.0.0' }),
    /:2: found version "3\.0\.0" in a document of http:\/\/qifstandards\.org\/xsd\/qif2/,
  ],
  [
    'a value that fills the memory',
    qif({ value: `<Value>1.${'0'.repeat(3 << 20)}e5</Value>` }),
    /:17: found more than 2000 characters in Value/,
  ],
  [
    'a value behind very many blanks',
    qif({ value: `<Value>${' '.repeat(5000)}1.5</Value>` }),
    /:17: found more than 2000 characters in Value/,
  ],
  ['an entity of its own', qif({ value: '<Value>&much;</Value>' }), /:17: found undefined entity|:17: found .*entity/],
  ['two characteristics of one name', qif({ names: ['T1', 'T1'] }), /the characteristics 40 and 41 of one name/],
  [
    'several components',
    qif({ parts: '<ActualComponentIds n="2"><Id>70</Id><Id>71</Id></ActualComponentIds>' }),
    /SerialNumber/,
  ],
  ['no component', qif({ parts: '' }), /SerialNumber/],
  ['what is no number', qif({ value: '<Value>about 2</Value>' }), /about 2/],
  ['a factor that is none', qif({ factor: 'x' }), /the factor or offset "x"/],
  ['another root', Buffer.from('<results/>'), /root element results/],
  [
    'another version',
    qif({ space: 'http://qifstandards.org/xsd/qif4' }),
    /root element QIFDocument of "http:\/\/qifstandards\.org\/xsd\/qif4"/,
  ],
  ['an entity', Buffer.from('<!DOCTYPE a [<!ENTITY b "c">]><a/>'), /document type declaration/],
  ['a file that is cut', qif().subarray(0, 1900), /unclosed tag/i],
  [
    'another encoding',
    Buffer.concat([qif({ other: '<Notes>' }).subarray(0, -20), Buffer.from([0xff, 0xfe])]),
    /bytes that are not UTF-8/,
  ],
])('refuses %s, with the line', async (_, bytes, says) => {
  const { rows, problems } = await read(bytes);
  expect(problems.length).toBeGreaterThan(0);
  expect(new BadInputError(problems).message).toMatch(says);
  expect(problems.every(({ line }) => line !== undefined)).toBe(true);
  expect(rows.filter(({ characteristic }) => characteristic === 'thickness')).toEqual([]);
});

it('refuses a value of a characteristic that is not there', () => {
  const text = qif().toString('utf8').replace('<CharacteristicItemId>41<', '<CharacteristicItemId>48<');
  expect(() => readQif('a.qif', Buffer.from(text))).toThrow(
    /a\.qif:19: found a value of the characteristic 48, which is not there/,
  );
});
