import fs from 'node:fs';
import { BadInputError } from '../../src/base/errors.js';
import { readDcc } from '../../src/intake/dcc.js';
import { readExport } from '../../src/intake/instrument-exports.js';
import { readCertificate } from '../../src/intake/material-certificates.js';
import { readQif } from '../../src/intake/qif-results.js';
import { readResultSheet } from '../../src/intake/results-file.js';
import type { CertificateProfile } from '../../src/kinds/certificate-profile.js';
import type { InstrumentProfile } from '../../src/kinds/instrument-profile.js';

/**
 * Whatever comes from a laboratory, cut at any byte: it is refused, or says what the whole says. Of a table that is cut behind a
 * whole line nobody can know that more came: then what is read is the beginning of what the whole says.
 */

const CERTIFICATE: CertificateProfile = {
  ...{ kind: 'certificate-profile', format: 1, profile: 'LAB', revision: 1, title: 'a laboratory (invented)' },
  ...{ csv: { delimiter: 'semicolon', headerLines: 0 }, decimal: 'comma' },
  identity: [{ column: 'Heat', is: 'heat' }],
  columns: { property: 'Element', value: 'Value', unit: 'Unit' },
  properties: ['Zn', 'Pb', 'Fe'].map((name) => ({
    ...{ name, property: name, unit: 'mg/kg', ucum: 'mg/kg', need: 'may be left out' },
  })),
};
const ELEMENTS = '<Certificate><Heat>0417</Heat>Xx</Certificate>\n'.replace(
  'Xx',
  ['Zn 99.25', 'Pb 0.035', 'Fe 12'].map((one) => one.replace(/(..) (.*)/, '<E s="$1" u="mg/kg">$2</E>')).join('\n'),
);
const XML: CertificateProfile = {
  ...CERTIFICATE,
  ...{ csv: undefined, xml: { row: '/Certificate/E' }, decimal: 'point' },
  identity: [{ column: '/Certificate/Heat', is: 'heat' }],
  columns: { property: '@s', value: '.', unit: '@u' },
};
const WIDE: CertificateProfile = {
  ...CERTIFICATE,
  columns: undefined,
  propertyColumns: { units: 'in the line below the head line' },
  properties: CERTIFICATE.properties.map((one) => ({ ...one, need: 'always' })),
};
const RIG: InstrumentProfile = {
  ...{ kind: 'instrument-profile', format: 1, profile: 'RIG', revision: 1, title: 'a rig (invented)' },
  ...{ delimiter: 'semicolon', decimal: 'point', time: { form: 'ISO' } },
  tables: [
    {
      headerLines: 0,
      columns: [
        { column: 'Part', is: 'specimen' },
        { column: 'At', is: 'measuredAt' },
      ],
      values: [{ column: 'Rm', characteristic: 'rm', ucum: 'MPa' }],
      constants: { instrument: 'I-1', analyst: 'P-AN', method: { method: 'TM-1', revision: 1 } },
    },
  ],
};
const SHEET = `specimen,characteristic,replicate,value,ucum,measuredAt,instrument,analyst,method,methodRevision
L-1-W1,rm,1,231.5,MPa,2031-03-04T09:00:00Z,I-1,P-AN,TM-1,1
L-1-W2,rm,1,232.25,MPa,2031-03-04T09:10:00Z,I-1,P-AN,TM-1,12
`;

const certificate = (profile: CertificateProfile) => (bytes: Buffer) =>
  readCertificate('a', bytes, profile, { heats: ['0417'], supplierLot: 'A', certificate: { number: 'C' } });
const orThrow = <Row>({ rows, problems }: { readonly rows: readonly Row[]; readonly problems: readonly unknown[] }) => {
  if (problems.length > 0) throw new BadInputError(problems as BadInputError['problems']);
  return rows;
};
const published = (name: string) => fs.readFileSync(`tests/reference/${name}`);

const XML_FILES: readonly [string, Buffer, (bytes: Buffer) => unknown, number][] = [
  ['a calibration certificate', published('dcc/dcc_gp_temperature_typical_v12.xml'), (b) => readDcc('a', b), 131],
  ['a signed one', published('dcc/signed-ecdsa.xml'), (b) => readDcc('a', b), 997],
  ['results by QIF', published('qif/testPython30.qif'), (b) => readQif('a', b), 37],
  ['a material certificate in XML', Buffer.from(ELEMENTS), certificate(XML), 1],
];

it.each(XML_FILES)('%s is refused wherever it is cut, or says the same', (_, bytes, read, step) => {
  const whole = read(bytes);
  const end = bytes.toString('utf8').trimEnd().length;
  let refused = 0;
  for (let length = 0; length < bytes.length; length += step) {
    const isWhole = Buffer.from(bytes.subarray(0, length)).toString('utf8').length >= end;
    try {
      expect(read(bytes.subarray(0, length)), String(length)).toEqual(whole);
      expect(isWhole, String(length)).toBe(true);
    } catch (error) {
      if (!(error instanceof BadInputError)) throw error;
      refused += 1;
    }
  }
  expect(refused).toBeGreaterThan(20);
});

const TABLES: readonly [string, string, (bytes: Buffer) => readonly unknown[] | Promise<readonly unknown[]>][] = [
  [
    'a material certificate',
    'Heat;Element;Value;Unit\n0417;Zn;99,25;mg/kg\n0417;Pb;0,035;mg/kg\n0417;Fe;12;mg/kg\n',
    certificate(CERTIFICATE),
  ],
  ['one with a property a column', 'Heat;Zn;Pb;Fe\n;mg/kg;mg/kg;mg/kg\n0417;99,25;0,035;12\n', certificate(WIDE)],
  [
    'the export of an instrument',
    'Part;At;Rm\r\nL-1-W1;2031-03-04T09:00:00Z;231.5\r\nL-1-W2;2031-03-04T09:10:00Z;232.25\r\n',
    async (bytes) => orThrow(await readExport('exports/RIG/a.csv', bytes, RIG)),
  ],
  ['a result sheet', SHEET, (bytes) => orThrow(readResultSheet('a.csv', bytes))],
];

it.each(TABLES)('%s is refused wherever it is cut but behind a whole line', async (_, text, read) => {
  const whole = await read(Buffer.from(text));
  expect(whole.length).toBeGreaterThan(1);
  for (let length = 1; length < text.length; length += 1) {
    const bytes = Buffer.from(text.slice(0, length));
    const told = await Promise.resolve()
      .then(() => read(bytes))
      .catch((error: unknown) => {
        if (error instanceof BadInputError) return undefined;
        throw error;
      });
    if (told === undefined) continue;
    expect(text[length - 1], text.slice(0, length)).toBe('\n');
    expect(told).toEqual(whole.slice(0, told.length));
  }
});
