import fs from 'node:fs';
import { parse } from 'yaml';
import { isUnit } from '../../src/base/units.js';
import { ChannelMap, channelMap } from '../../src/kinds/channel-map.js';
import { STREAM_VERSIONS } from '../../src/kinds/stream-versions.js';
import { STANDARD_UNITS } from '../../src/process-logs/mtconnect/standard-units.js';
import { mapText, proposeMap } from '../../src/recorder/propose-map.js';
import { readDevices } from '../../src/recorder/read-devices.js';

/**
 * Proposed channel maps. The documents of agents are published ones, kept with their source in
 * tests/reference/mtconnect; the one in this file follows MTConnectDevices_2.7.xsd of the same place.
 */

/** UnitsEnum of MTConnectDevices_2.7.xsd (github.com/mtconnect/cppagent at 708116fbb2c0, schemas/), in its order. */
const UNITS_OF_SCHEMA =
  `AMPERE CELSIUS COUNT DECIBEL DEGREE DEGREE_3D DEGREE/SECOND DEGREE/SECOND^2 HERTZ JOULE KILOGRAM LITER
LITER/SECOND MICRO_RADIAN MILLIMETER MILLIMETER_3D MILLIMETER/REVOLUTION MILLIMETER/SECOND MILLIMETER/SECOND^2 NEWTON
NEWTON_METER OHM PASCAL PASCAL_SECOND PERCENT PH REVOLUTION/MINUTE SECOND SIEMENS/METER VOLT VOLT_AMPERE
VOLT_AMPERE_REACTIVE WATT WATT_SECOND GRAM/CUBIC_METER CUBIC_MILLIMETER CUBIC_MILLIMETER/SECOND CUBIC_MILLIMETER/SECOND^2
MILLIGRAM MILLIGRAM/CUBIC_MILLIMETER MILLILITER COUNT/SECOND PASCAL/SECOND UNIT_VECTOR_3D REVOLUTION/SECOND^2
REVOLUTION/SECOND GRAM METER/SECOND^2 COULOMB CUBIC_METER SQUARE_MILLIMETER OHM_METER MILLIGRAM/LITER`.split(/\s+/);

it('knows each unit of the standard, and writes each by UCUM', () => {
  expect(Object.keys(STANDARD_UNITS).sort()).toEqual([...UNITS_OF_SCHEMA].sort());
  const codes = Object.values(STANDARD_UNITS).filter((ucum) => ucum !== null);
  expect(codes.filter((ucum) => !isUnit(ucum))).toEqual([]);
});

const item = (attributes: string) => `<DataItem ${attributes}/>`;
const devices = (items: readonly string[], { version = '2.7', more = '' } = {}) =>
  Buffer.from(`<?xml version="1.0" encoding="UTF-8"?>
<MTConnectDevices xmlns="urn:mtconnect.org:MTConnectDevices:${version}">
  <Header creationTime="2031-03-03T07:00:00Z" sender="cell" instanceId="1" version="${version}.0" bufferSize="131072"/>
  <Devices>
    <Device id="d1" name="HC-2" uuid="u1">
      <Components><Heaters id="h" name="chamber"><DataItems>
${items.join('\n')}
      </DataItems></Heaters></Components>
    </Device>${more}
  </Devices>
</MTConnectDevices>
`);

const ITEMS = [
  item('id="o2" category="SAMPLE" type="CONCENTRATION" name="Oxygen" units="PERCENT"'),
  item('id="p" category="SAMPLE" type="PRESSURE" subType="ACTUAL" units="PASCAL"'),
  item(
    'id="f" category="SAMPLE" type="LINEAR_FORCE" name="Needle force" units="NEWTON" representation="TIME_SERIES" sampleRate="100"',
  ),
  item('id="p2" category="SAMPLE" type="PRESSURE" subType="ACTUAL" units="PASCAL"'),
  item('id="pos" category="SAMPLE" type="PATH_POSITION" units="MILLIMETER_3D"'),
  item('id="x" category="SAMPLE" type="x:DUST" units="x:GRAIN"'),
  item('id="n" category="SAMPLE" type="x:COUNT"'),
  item('id="ds" category="SAMPLE" type="TEMPERATURE" units="CELSIUS" representation="DATA_SET"'),
  item('id="ly" category="EVENT" type="MATERIAL_LAYER"'),
  item('id="st" category="EVENT" type="PART_PROCESSING_STATE"'),
  item('id="zn" category="EVENT" type="x:ZONE" name="zone"'),
  item('id="sys" category="CONDITION" type="SYSTEM"'),
];
const ASKED = { code: 'CM-9', machine: 'HC-2' };
const propose = (bytes: Buffer, more: { device?: string } = {}) =>
  proposeMap(readDevices('probe.xml', bytes), { ...ASKED, ...more });

it('makes a channel of each sample with a unit, and says why of the others', () => {
  const { map, leftOut } = propose(devices(ITEMS));
  expect(map.channels).toEqual([
    { dataItem: 'o2', channel: 'oxygen', ucum: '%' },
    { dataItem: 'p', channel: 'chamber_pressure', ucum: 'Pa' },
    { dataItem: 'f', channel: 'needle_force', ucum: 'N', sampleRateHz: '100' },
    { dataItem: 'p2', channel: 'chamber_pressure_p2', ucum: 'Pa' },
  ]);
  expect(map.place).toEqual({ layer: 'ly', step: 'st' });
  expect(map.conditions).toEqual([{ dataItem: 'sys', warning: 'alert', fault: 'action' }]);
  expect(leftOut.map((one) => [one.item.id, one.why])).toEqual([
    ['pos', 'several numbers'],
    ['x', 'unit unknown'],
    ['n', 'unit missing'],
    ['ds', 'set'],
  ]);
});

it('writes it as a document that can be taken in, with what people have to decide beside it', () => {
  const text = mapText(propose(devices(ITEMS)));
  const map = ChannelMap.parse(parse(text));
  expect(channelMap.contradictions!(map)).toEqual([]);
  expect(text).toContain('# Left out: x (x:DUST) is in x:GRAIN, which the standard does not know.');
  expect(text).toContain('#   zn: x:ZONE, zone');
});

it.each([
  ['1.8.0.3', '2.0', '"1.8.0.3"; read by version 2.0'],
  ['2.70', '2.7', '"2.70"; read by version 2.7'],
  ['a\n"#', '2.7', '"a \\"#"; read by version 2.7'],
])('says that a header of version %j stands in a document of %s', (said, version, says) => {
  const text = devices(ITEMS, { version })
    .toString()
    .replace(`version="${version}.0"`, `version="${said.replace('"', '&quot;')}"`);
  const proposed = propose(Buffer.from(text));
  const lines = mapText(proposed)
    .split('\n')
    .filter((line) => line.includes('The header names version'));
  expect(lines).toEqual([expect.stringContaining(says)]);
  expect(lines[0]).toMatch(/^# /);
  expect(ChannelMap.parse(parse(mapText(proposed)))).toEqual(propose(devices(ITEMS, { version })).map);
});

it.each(['2.7', '2.7.0', '2.7.0.4', ''])('has nothing to say of version "%s" in a document of 2.7', (said) => {
  const text = devices(ITEMS).toString().replace('version="2.7.0"', `version="${said}"`);
  expect(propose(Buffer.from(text)).otherVersion).toBeNull();
});

it.each(STREAM_VERSIONS)('reads what an agent of version %s declares', (version) => {
  expect(propose(devices(ITEMS, { version })).map.channels).toHaveLength(4);
});

it.each([
  ['fanuc', 17],
  ['data_set', 0],
  ['configuration', 0],
])('reads the published document %s', (name, channels) => {
  const bytes = fs.readFileSync(`tests/reference/mtconnect/${name}.xml`);
  const told = readDevices(name, bytes);
  const own = bytes.toString('utf8').match(/<DataItem\s/g) ?? [];
  expect(told.devices.flatMap(({ items }) => items)).toHaveLength(own.length);
  if (channels > 0) expect(proposeMap(told, ASKED).map.channels).toHaveLength(channels);
});

const SECOND =
  '<Device id="d2" name="HC-3" uuid="u2"><DataItems><DataItem id="t2" category="SAMPLE" type="TEMPERATURE" units="CELSIUS"/></DataItems></Device>';

it('asks which device, where there are several, and maps that one alone', () => {
  const both = devices(ITEMS, { more: SECOND });
  expect(() => propose(both)).toThrow(/found 2 devices; expected one of HC-2, HC-3/);
  expect(propose(both, { device: 'HC-3' }).map.channels).toEqual([
    { dataItem: 't2', channel: 'hc_3_temperature', ucum: 'Cel' },
  ]);
  expect(() => propose(both, { device: 'HC-9' })).toThrow(/found HC-9/);
});

it.each([
  [
    'streams',
    Buffer.from('<MTConnectStreams xmlns="urn:mtconnect.org:MTConnectStreams:2.7"/>'),
    /:1: found a root element MTConnectStreams/,
  ],
  ['another version', devices(ITEMS, { version: '9.9' }), /:2: found a root element/],
  ['a document type', Buffer.from('<!DOCTYPE a [<!ENTITY b "c">]><a/>'), /document type declaration/],
  ['what is cut', devices(ITEMS).subarray(0, 700), /unclosed tag/i],
  ['a data item twice', devices([ITEMS[0]!, ITEMS[0]!]), /:8: found the data item o2 twice/],
  ['no sample with a unit', devices([ITEMS[8]!]), /no sample with a unit of the standard in HC-2/],
])('refuses %s', (_, bytes, says) => {
  expect(() => propose(bytes)).toThrow(says);
});
