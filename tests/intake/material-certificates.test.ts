import fs from 'node:fs';
import type { BadInputError } from '../../src/base/errors.js';
import { MOST } from '../../src/base/limits.js';
import { readCertificate } from '../../src/intake/material-certificates.js';
import { type CertificateProfile, certificateProfile } from '../../src/kinds/certificate-profile.js';
import type { CertificateLine } from '../../src/kinds/receipt.js';
import { makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { openServices, type Services } from '../support/services.js';

/** Certificates of material as suppliers hand them over: CSV or XML, of invented forms, read by a declared profile. */

type Line = (typeof CertificateLine)['_output'];

const PROFILE: CertificateProfile = {
  ...{ kind: 'certificate-profile', format: 1, profile: 'ZN-LAB', revision: 1, title: 'a laboratory (invented)' },
  ...{ csv: { delimiter: 'semicolon', headerLines: 1 }, decimal: 'comma' },
  identity: [{ column: 'Schmelze', is: 'heat' }],
  columns: {
    ...{ property: 'Element', value: 'Wert', unit: 'Einheit', uncertainty: 'U', coverageFactor: 'k' },
    ...{ detectionLimit: 'NWG', method: 'Verfahren' },
  },
  uncertainty: { is: 'expanded' },
  properties: [
    { name: 'Zink', property: 'Zn', unit: 'Gew.-%', ucum: '%{mass}', need: 'always' },
    { name: 'Blei', property: 'Pb', unit: 'mg/kg', ucum: 'mg/kg', need: 'may be left out' },
  ],
};
const RECEIPT = { heats: ['0417'], supplierLot: 'A-1', certificate: { number: 'C-9' } };
const CSV = `Zeugnis (erfunden)
Schmelze;Element;Wert;Einheit;U;k;NWG;Verfahren
0417;Zink;99,2;Gew.-%;0,06;2;;"ICP; OES"

0417;Blei;<3;mg/kg;;;3;ICP-MS
0418;Zink;98,1;Gew.-%;0,06;2;;ICP-OES
`;
const XML_PROFILE: CertificateProfile = {
  ...PROFILE,
  csv: undefined,
  xml: { namespace: 'urn:example:mtc', row: '/Certificate/Analysis/Element' },
  decimal: 'point',
  identity: [{ column: '/Certificate/Head/Number', is: 'certificate' }],
  columns: { property: '@symbol', value: 'Value', unit: 'Value/@unit', uncertainty: 'Uncertainty' },
  uncertainty: { is: 'expanded', coverageFactor: '2' },
};
const XML = `<?xml version="1.0" encoding="UTF-8"?>
<c:Certificate xmlns:c="urn:example:mtc" xmlns:o="urn:example:other">
  <c:Head><c:Number>C-9</c:Number></c:Head>
  <c:Analysis>
    <c:Element symbol="Zink"><c:Value unit="Gew.-%"> 99.2 </c:Value><c:Uncertainty>0.06</c:Uncertainty><o:Value>1</o:Value></c:Element>
    <c:Element symbol="Blei"><c:Value unit="mg/kg">&lt;3</c:Value></c:Element>
    <o:Element symbol="Blei"><c:Value unit="mg/kg">4</c:Value></o:Element>
  </c:Analysis>
</c:Certificate>
`;

const read = (text: string, profile = PROFILE, receipt = RECEIPT) =>
  readCertificate('cert.csv', Buffer.from(text), profile, receipt);
function told(text: string, profile = PROFILE, receipt = RECEIPT): string[] {
  try {
    read(text, profile, receipt);
    return [];
  } catch (error) {
    return (error as BadInputError).problems.map(
      ({ line, field, found, expected }) => `${line} ${field ?? ''}: ${found}; ${expected}`,
    );
  }
}

it('reads the rows of its heat, each with unit, uncertainty, coverage factor, method and line', () => {
  expect(read(CSV)).toEqual([
    {
      ...{ property: 'Zn', value: '99.2', ucum: '%{mass}', method: 'ICP; OES', line: 3 },
      ...{ uncertainty: '0.03', coverageFactor: '2' },
    },
    { property: 'Pb', value: '<3', ucum: 'mg/kg', detectionLimit: '3', method: 'ICP-MS', line: 5 },
  ]);
  for (const { line, value } of read(CSV)) expect(CSV.split('\n')[line! - 1]).toContain(value.replace('.', ','));
});

it('reads XML by paths, and nothing of another namespace', () => {
  expect(read(XML, XML_PROFILE)).toEqual([
    { property: 'Zn', value: '99.2', ucum: '%{mass}', uncertainty: '0.03', coverageFactor: '2', line: 5 },
    { property: 'Pb', value: '<3', ucum: 'mg/kg', line: 6 },
  ]);
});

it('keeps a standard uncertainty as it stands there', () => {
  const { coverageFactor: _, ...columns } = PROFILE.columns!;
  const profile: CertificateProfile = { ...PROFILE, columns, uncertainty: { is: 'standard' } };
  expect(read(CSV, profile)[0]).toMatchObject({ uncertainty: '0.06' });
  expect(read(CSV, profile)[0]).not.toHaveProperty('coverageFactor');
});

const csv = (from: string | RegExp, to: string): string => {
  const changed = CSV.replace(from, to);
  expect(changed).not.toBe(CSV);
  return changed;
};

it.each<[string, string, string[]]>([
  [
    'columns that are shifted to the right',
    csv('0417;Zink;99,2;', '0417;;Zink;99,2;'),
    ['3 : 9 fields; 8, as in the head line'],
  ],
  [
    'columns that are shifted within the row',
    csv('0417;Zink;99,2;Gew.-%;0,06;2;;', '0417;;Zink;99,2;Gew.-%;0,06;2;'),
    ['3 Element: nothing; a property that the profile names'],
  ],
  [
    'a value that stands where its unit should',
    csv('99,2;Gew.-%', 'Gew.-%;99,2'),
    ['3 Einheit: 99,2; Gew.-%, as the profile has it for Zink'],
  ],
  [
    'a head that is shifted',
    csv('Schmelze;Element;', ';Schmelze;Element;'),
    [
      '3 : 8 fields; 9, as in the head line',
      '5 : 8 fields; 9, as in the head line',
      '6 : 8 fields; 9, as in the head line',
    ],
  ],
  [
    'a column that is missing',
    csv('Einheit', 'Unit'),
    ['2 Einheit: no column "Einheit"; each column of the profile once'],
  ],
  [
    'a column that is there twice',
    csv(';NWG;', ';Wert;'),
    [
      '2 Wert: the column "Wert" 2 times; each column of the profile once',
      '2 NWG: no column "NWG"; each column of the profile once',
    ],
  ],
  ['another unit', csv('mg/kg', 'g/kg'), ['5 Einheit: g/kg; mg/kg, as the profile has it for Blei']],
  [
    'two units for one value',
    csv('0418;Zink;98,1;', '0417;Zink;98,1;'),
    ['6 Element: Zn; it once: line 3 says it too'],
  ],
  ['a property that nobody named', csv('Blei', 'Cadmium'), ['5 Element: Cadmium; a property that the profile names']],
  [
    'a property that is missing',
    csv('0417;Zink', '0418;Zink'),
    ['2 Element: no Zink; every property that the profile always asks for'],
  ],
  ['a certificate of another heat', csv(/0417/g, '0419'), ['2 Schmelze: 0419, 0418; heat 0417']],
  [
    'no value',
    csv('99,2', ''),
    ['3 Wert: nothing; a decimal number with a point, with < or > where the certificate has one'],
  ],
  [
    'a mark of thousands',
    csv('99,2', '1.099,2'),
    ['3 Wert: 1.099,2; a decimal number with a point, with < or > where the certificate has one'],
  ],
  [
    'a row that does not say of which heat it is',
    csv('0417;Blei', ';Blei'),
    ['5 Schmelze: nothing; heat 0417, letter by letter, or another heat'],
  ],
  [
    'a row of which the heat is written with a space',
    csv('0417;Blei', '04 17;Blei'),
    ['5 Schmelze: 04 17; heat 0417, letter by letter, or another heat'],
  ],
  ['an uncertainty without its factor', csv('0,06;2;;"', '0,06;;;"'), ['3 k: nothing; its coverage factor']],
  [
    'an uncertainty in hexadecimal digits',
    csv('0,06', '0x10'),
    ['3 U: 0x10; a decimal number with a point, such as 0.10'],
  ],
  ['an uncertainty below nothing', csv('0,06', '-0,06'), ['3 U: -0,06; a number above zero']],
  ['a quote that is not closed', csv('OES"', 'OES'), ['3 : a quote that is not closed; 8, as in the head line']],
  [
    'a file that is empty',
    '',
    expect.arrayContaining(['2 Element: no column "Element"; each column of the profile once']) as never,
  ],
])('refuses %s, with its line', (_, text, says) => {
  expect(told(text)).toEqual(says);
});

it('passes by rows of another heat and remarks, and no row that may be of its own', () => {
  const receipt = { ...RECEIPT, heats: ['H-1'] };
  const rows = (...more: string[]) => [CSV.replace('0417;Zink', 'H-1;Zink').replace('0417;Blei', 'H-2;Blei'), ...more];
  expect(told(rows(';;;;;;;seen by me', '').join('\n'), PROFILE, receipt)).toEqual([]);
  expect(read(rows().join(''), PROFILE, receipt).map(({ property }) => property)).toEqual(['Zn']);
  for (const alike of ['h-1', 'H- 1', 'H\u20111', '\uFF28-1', 'H\u200B-1'])
    expect(told(rows(`${alike};Blei;3;mg/kg;;;;\n`).join(''), PROFILE, receipt)).toEqual([
      `7 Schmelze: ${alike}; heat H-1, letter by letter, or another heat`,
    ]);
});

it('reads no row by its heat for several heats, or for none', () => {
  expect(told(CSV, PROFILE, { ...RECEIPT, heats: ['0417', '0418'] })).toEqual([
    '2 Schmelze: 0417, 0418; heat 0417 or 0418',
  ]);
  expect(told(CSV, PROFILE, { ...RECEIPT, heats: [] })).toHaveLength(1);
});

const xml = (from: string | RegExp, to: string): string => {
  const changed = XML.replace(from, to);
  expect(changed).not.toBe(XML);
  return changed;
};

it.each<[string, string, RegExp]>([
  ['another root', xml(/c:Certificate/g, 'c:Report'), /^2 : a root element c:Report/],
  ['another namespace', xml('urn:example:mtc', 'urn:example:mtc2'), /^2 : a root element/],
  [
    'two values in one row',
    xml('<c:Value unit="mg/kg">', '<c:Value unit="g/kg">3</c:Value><c:Value unit="mg/kg">'),
    /^6 : Value a second time in Element; one of each/,
  ],
  ['elements inside a value', xml('&lt;3', '<c:b>3</c:b>'), /^6 : elements inside Value/],
  ['an element of others inside a value', xml('99.2', '99<o:b>9</o:b>.2'), /^5 : elements inside Value/],
  [
    'an element of others inside what it is known by',
    xml('C-9', 'C<o:b/>-9'),
    /^3 : elements inside Number, where a value is read/,
  ],
  [
    'a number of a certificate in small letters',
    xml('C-9', 'c-9'),
    /^5 \/Certificate\/Head\/Number: c-9; certificate C-9, letter by letter, or another certificate$/,
  ],
  ['another certificate', xml('C-9', 'C-8'), /^2 \/Certificate\/Head\/Number: C-8; certificate C-9$/],
  [
    'a unit that is not there',
    xml(' unit="mg/kg"', ''),
    /^6 Value\/@unit: nothing; mg\/kg, as the profile has it for Blei$/,
  ],
  [
    'a document type',
    xml('<c:Certificate', '<!DOCTYPE a [<!ENTITY b "c">]><c:Certificate'),
    /^2 : a document type declaration/,
  ],
  ['what is cut', XML.slice(0, 400), /unclosed tag|unterminated|unexpected end/i],
  ['no row', xml(/c:Element/g, 'c:Row'), /^2 : no \/Certificate\/Analysis\/Element; an element for each value$/],
])('refuses XML with %s, with its line', (_, text, says) => {
  expect(told(text, XML_PROFILE)[0]).toMatch(says);
});

it('reads the own text of an element, and none on both sides of another one', () => {
  const profile: CertificateProfile = {
    ...XML_PROFILE,
    columns: { property: '@symbol', value: '.', unit: '@unit' },
    uncertainty: undefined,
  };
  const of = (inner: string) =>
    `<c:Certificate xmlns:c="urn:example:mtc" xmlns:o="urn:example:other">
<c:Head><c:Number>C-9</c:Number></c:Head><c:Analysis>
<c:Element symbol="Zink" unit="Gew.-%">${inner}</c:Element></c:Analysis></c:Certificate>`;
  expect(read(of('0.53'), profile)).toMatchObject([{ property: 'Zn', value: '0.53', line: 3 }]);
  for (const inner of ['0.5<c:Old>0.7</c:Old>3', '0.5<o:Old>0.7</o:Old>3'])
    expect(told(of(inner), profile)).toEqual([
      '3 : elements inside Element, where a value is read; one of each in a row',
    ]);
});

it('tells so many bad lines of a file and no more', () => {
  expect(told(`${CSV}${'0417;short\n'.repeat(MOST.problemsOfFile + 500)}`)).toHaveLength(MOST.problemsOfFile);
});

describe('a certificate with one property a column', () => {
  const { columns: _, ...rest } = PROFILE;
  const WIDE: CertificateProfile = {
    ...rest,
    propertyColumns: {
      ...{ units: 'in the line below the head line', coverageFactor: 'k', method: 'Verfahren', passedBy: ['Datum'] },
      uncertainties: [{ of: 'Zink', column: 'U(Zink)' }],
    },
  };
  const [zinc, lead] = PROFILE.properties as [CertificateProfile['properties'][0], CertificateProfile['properties'][0]];
  const named: CertificateProfile = {
    ...WIDE,
    csv: { delimiter: 'semicolon', headerLines: 0 },
    identity: [{ column: 'Schmelze', is: 'heat' }],
    propertyColumns: { units: 'in the names of the columns' },
    uncertainty: undefined,
    properties: [
      { ...zinc, name: 'Zink [Gew.-%]', unit: undefined },
      { ...lead, name: 'Blei [mg/kg]', unit: undefined },
    ],
  };
  const TEXT = `Zeugnis (erfunden)
Schmelze;Datum;Zink;U(Zink);k;Blei;Verfahren;
;;Gew.-%;Gew.-%;;mg/kg;;
0416;2031-01-01;98,7;0,06;2;5;ICP-OES;
0417;2031-01-02;99,2;0,06;2;<3;"ICP; OES";
Bemerkung: erfunden;;;;;;;
`;
  const wide = (from: string | RegExp, to: string): string => {
    const changed = TEXT.replace(from, to);
    expect(changed).not.toBe(TEXT);
    return changed;
  };

  it('is read by its heat: each value with the unit below its name, uncertainty, factor, method, line and column', () => {
    expect(certificateProfile.schema.safeParse(WIDE).success).toBe(true);
    expect(certificateProfile.contradictions!(WIDE)).toEqual([]);
    expect(read(TEXT, WIDE)).toEqual([
      {
        ...{ property: 'Zn', value: '99.2', ucum: '%{mass}', method: 'ICP; OES', line: 5, column: 'Zink' },
        ...{ uncertainty: '0.03', coverageFactor: '2' },
      },
      { property: 'Pb', value: '<3', ucum: 'mg/kg', method: 'ICP; OES', line: 5, column: 'Blei' },
    ]);
  });

  it('is read with units in the names of its columns', () => {
    expect(certificateProfile.contradictions!(named)).toEqual([]);
    const text = 'Schmelze;Zink [Gew.-%];Blei [mg/kg]\n0417;99,2;\n';
    expect(read(text, named)).toEqual([
      { property: 'Zn', value: '99.2', ucum: '%{mass}', line: 2, column: 'Zink [Gew.-%]' },
    ]);
    expect(told(text.replace('[Gew.-%]', '[ppm]'), named)).toEqual([
      '1 Zink [Gew.-%]: no column "Zink [Gew.-%]"; each column of the profile once',
      '1 Zink [ppm]: the column "Zink [ppm]"; a column that the profile names, be it under passedBy',
    ]);
    // What may be left out may lack its column.
    expect(read('Schmelze;Zink [Gew.-%]\n0417;99,2\n', named)).toHaveLength(1);
  });

  it.each<[string, string, string[]]>([
    [
      'a row that is shifted to the right, beside the names',
      wide('0417;2031-01-02;99,2;0,06;2;<3;"ICP; OES";', '0417;2031-01-02;;99,2;0,06;2;<3;"ICP; OES"'),
      ['5 : ICP; OES in a column without a name; a name of the profile above each value'],
    ],
    [
      'a row that is shifted within it',
      wide('99,2;0,06;2;<3;"ICP; OES";', ';99,2;0,06;2;<3;'),
      ['5 Zink: nothing; a decimal number with a point, with < or > where the certificate has one'],
    ],
    ['a row of another length', wide('0417;2031-01-02;', '0417;'), ['5 : 7 fields; 8, as in the head line']],
    [
      'names that are shifted over the units',
      wide('Zink;U(Zink);k;Blei', 'Blei;Zink;U(Zink);k'),
      ['3 U(Zink): nothing; Gew.-%, the unit of Zink', '3 Blei: Gew.-%; mg/kg, as the profile has it for Blei'],
    ],
    [
      'an uncertainty in another unit',
      wide('Gew.-%;Gew.-%', 'Gew.-%;mg/kg'),
      ['3 U(Zink): mg/kg; Gew.-%, the unit of Zink'],
    ],
    [
      'an uncertainty in per cent of its value',
      wide('Gew.-%;Gew.-%', 'Gew.-%;%'),
      ['3 U(Zink): %; Gew.-%, the unit of Zink'],
    ],
    ['another unit', wide('mg/kg', 'g/kg'), ['3 Blei: g/kg; mg/kg, as the profile has it for Blei']],
    [
      'no line of units',
      wide(';;Gew.-%;Gew.-%;;mg/kg;;\n', ''),
      ['3 Zink: 98,7; Gew.-%, as the profile has it for Zink', '3 Blei: 5; mg/kg, as the profile has it for Blei'],
    ],
    [
      'an empty line in place of the units',
      wide(';;Gew.-%;Gew.-%;;mg/kg;;', ''),
      ['3 : nothing; the units, below the names of the columns'],
    ],
    [
      'a column that nobody named',
      wide(';Blei;', ';Cadmium;'),
      ['2 Cadmium: the column "Cadmium"; a column that the profile names, be it under passedBy'],
    ],
    [
      'a column that is there twice',
      wide(';Datum;', ';Blei;'),
      ['2 Blei: the column "Blei" 2 times; each column of the profile once'],
    ],
    [
      'two rows of one heat',
      wide('0416;', '0417;'),
      ['5 Zink: Zn; it once: line 4 says it too', '5 Blei: Pb; it once: line 4 says it too'],
    ],
    [
      'a property that is always needed and not there',
      wide('99,2;0,06;', ';;'),
      ['2 Zink: no Zink; every property that the profile always asks for'],
    ],
    [
      'an uncertainty without its value',
      wide('99,2;', ';'),
      ['5 Zink: nothing; a decimal number with a point, with < or > where the certificate has one'],
    ],
    ['an uncertainty without its factor', wide('0,06;2;<3', '0,06;;<3'), ['5 k: nothing; its coverage factor']],
    ['no row of its heat', wide('0417;', '0418;'), ['2 Schmelze: 0416, 0418, Bemerkung: erfunden; heat 0417']],
  ])('is refused with %s', (_, text, says) => {
    expect(told(text, WIDE)).toEqual(says);
  });

  it.each<[string, Partial<CertificateProfile>, string]>([
    ['both layouts', { columns: PROFILE.columns }, 'columns'],
    ['neither', { propertyColumns: undefined, uncertainty: undefined }, 'columns'],
    ['a property without its unit', { properties: [{ ...zinc, unit: undefined }, lead] }, 'properties[0].unit'],
    ['XML', { csv: undefined, xml: { row: '/a/b' } }, 'propertyColumns'],
    [
      'one column for two things',
      { propertyColumns: { ...WIDE.propertyColumns!, method: 'Blei' } },
      'propertyColumns.method',
    ],
    [
      'an uncertainty of nothing',
      { propertyColumns: { ...WIDE.propertyColumns!, uncertainties: [{ of: 'Zinn', column: 'U' }] } },
      'propertyColumns.uncertainties[0].of',
    ],
    ['uncertainties of which it does not say what they are', { uncertainty: undefined }, 'uncertainty'],
    ['two factors', { uncertainty: { is: 'expanded', coverageFactor: '2' } }, 'uncertainty.coverageFactor'],
  ])('has no profile with %s', (_, change, field) => {
    expect(certificateProfile.contradictions!({ ...WIDE, ...change }).map((one) => one.field)).toContain(field);
  });
});

it('whose last line is not ended is refused, since it may be cut, but where the profile says that it may be so', () => {
  const open = CSV.trimEnd();
  expect(told(open)).toEqual(['6 : a last line without line end; a whole file']);
  const profile: CertificateProfile = { ...PROFILE, csv: { ...PROFILE.csv!, lastLine: 'may be open' } };
  expect(read(open, profile)).toEqual(read(CSV));
});

describe('a receipt whose certificate is read by a profile', () => {
  let services: Services;
  beforeAll(async () => {
    services = await openServices(`${temporaryFolder('certificates')}/data`);
  });
  afterAll(() => services.store.close());

  const profile = {
    ...{ kind: 'certificate-profile', format: 1, profile: 'R-LAB', revision: 1, title: 'a laboratory (invented)' },
    ...{
      csv: { delimiter: 'comma', headerLines: 0 },
      decimal: 'point',
      identity: [{ column: 'lot', is: 'supplier lot' }],
    },
    columns: { property: 'what', value: 'value', unit: 'unit' },
  };

  /** The receipt of the small cell, with the file in place of its lines, or beside them. */
  function folder(change: (certificate: { lines?: Partial<Line>[] }) => void = () => undefined) {
    const cell = makeCell();
    const receipt = cell.documents['site/receipt.yaml']! as {
      supplierLot: string;
      certificate: { lines: { property: string; value: string; ucum: string }[]; readBy?: object; file?: string };
    };
    const { lines } = receipt.certificate;
    const properties = lines.map(({ property, ucum }) => ({
      name: property,
      property,
      unit: ucum,
      ucum,
      need: 'always',
    }));
    cell.documents['site/certificate-profile.yaml'] = { ...profile, properties };
    Object.assign(receipt.certificate, { readBy: { profile: 'R-LAB', revision: 1 }, file: 'certificate.csv' });
    cell.files['site/certificate.csv'] = [
      'lot,what,value,unit',
      ...lines.map(({ property, value, ucum }) => `${receipt.supplierLot},${property},${value},${ucum}`),
      '',
    ].join('\n');
    change(receipt.certificate);
    const root = temporaryFolder('certificate-folder');
    writeCell(cell, root);
    return { root: `${root}/site`, lines };
  }
  const refusal = (root: string) =>
    services.intake.run(root, 'local:tester').then(
      () => [],
      (error: BadInputError) =>
        error.problems.map(({ file, field, found, expected }) => `${file} ${field}: ${found}; ${expected}`),
    );

  it('is refused where it says something else than the file, with both places', async () => {
    const { root, lines } = folder((certificate) => {
      certificate.lines![0]!.value = '1.5';
    });
    const [first] = lines as [(typeof lines)[0]];
    expect(await refusal(root)).toEqual([
      expect.stringMatching(
        /^(?:site\/)?receipt\.yaml certificate\.lines\[0\]\.value: 1\.5 .*\(line 2\), as (?:site\/)?certificate\.csv says$/,
      ),
    ]);
    expect(first.value).toBe('1.5');
  });

  it.each<[keyof Line, string]>([
    ['uncertainty', '0.02'],
    ['coverageFactor', '2'],
    ['detectionLimit', '0.001'],
    ['method', 'ICP-OES'],
    ['line', '9'],
  ])('is refused where %s is written and stands nowhere in the file', async (field, value) => {
    const { root } = folder((certificate) => {
      Object.assign(certificate.lines![0]!, { [field]: field === 'line' ? Number(value) : value });
    });
    const stands = field === 'line' ? '2' : 'nothing';
    expect(await refusal(root)).toEqual([
      expect.stringMatching(
        new RegExp(`certificate\\.lines\\[0\\]\\.${field}: ${value}; ${stands}, as (?:site/)?certificate\\.csv says$`),
      ),
    ]);
  });

  it('is refused by heat where it is of two, at its heats, with what to do', async () => {
    const cell = folder();
    const [profileFile, receiptFile] = ['certificate-profile', 'receipt'].map(
      (name) => `${cell.root}/${name}.yaml`,
    ) as [string, string];
    const change = (file: string, to: (text: string) => string) =>
      fs.writeFileSync(file, to(fs.readFileSync(file, 'utf8')));
    change(profileFile, (text) => text.replace('supplier lot', 'heat'));
    change(receiptFile, (text) => text.replace(/heats:[\s\S]*?(?=\n\w)/, 'heats: [H-7, H-8]'));
    const error = await services.intake.run(cell.root, 'local:tester').catch((raised: unknown) => raised);
    expect((error as BadInputError).problems).toContainEqual(
      expect.objectContaining({
        ...{ code: 'certificate-heats', field: 'heats', found: '2 heats: H-7, H-8' },
        ...{ line: expect.any(Number), remedy: expect.stringContaining('a receipt of each heat') },
      }),
    );
  });

  it('is refused where the file was exchanged between reading and keeping it', async () => {
    const { root } = folder((certificate) => delete certificate.lines);
    const exchanged = `${root}/certificate.csv`;
    const receive = services.store.evidence.receive.bind(services.store.evidence);
    const spy = vi.spyOn(services.store.evidence, 'receive').mockImplementation((...given) => {
      if (given[0] === exchanged) fs.appendFileSync(exchanged, 'other,row,1,%\n');
      return receive(...given);
    });
    const found = await refusal(root);
    spy.mockRestore();
    expect(found).toEqual([
      expect.stringMatching(/certificate\.csv undefined: other bytes than were checked; a file to which nobody writes/),
    ]);
    expect(await services.store.read.entries.current('receipt', 'R-1')).toBeUndefined();
  });

  it('is refused without the profile, and with neither lines nor profile', async () => {
    const other = folder((certificate) =>
      Object.assign(certificate, { readBy: { profile: 'NONE', revision: 1 }, lines: undefined }),
    );
    expect(await refusal(other.root)).toContainEqual(expect.stringContaining('certificate.readBy.profile'));
    const none = folder((certificate) => {
      Object.assign(certificate, { readBy: undefined, lines: undefined });
    });
    expect(await refusal(none.root)).toContainEqual(expect.stringContaining('certificate.lines: no lines'));
  });

  it('keeps what is written of how the sample was taken, which no profile reads', async () => {
    const { root, lines } = folder((certificate) => {
      certificate.lines![0]!.sampling = 'turnings, 5 g';
    });
    const taken = await openServices(`${temporaryFolder('sampling')}/data`);
    await taken.intake.run(root, 'local:tester');
    const { body } = (await taken.store.read.entries.current('receipt', 'R-1'))!;
    expect(body.certificate!.lines).toEqual(
      lines.map((one, index) => ({ ...one, ...(index === 0 ? { sampling: 'turnings, 5 g' } : {}), line: index + 2 })),
    );
    await taken.store.close();
  });

  it('has the lines of the file on record, each with its line, and the file as evidence', async () => {
    const { root, lines } = folder((certificate) => delete certificate.lines);
    await services.intake.run(root, 'local:tester');
    const { body, revision } = (await services.store.read.entries.current('receipt', 'R-1'))!;
    expect(body.certificate!.lines).toEqual(lines.map((one, index) => ({ ...one, line: index + 2 })));
    const [file] = (
      await services.store.read.entries.evidenceNamedBy([{ kind: 'receipt', key: 'R-1', revision }])
    ).filter(({ name }) => name === 'certificate');
    const kept = fs.readFileSync(await services.store.evidence.pathOf(file!.sha256), 'utf8').split('\n');
    for (const { line, value } of body.certificate!.lines as Line[]) expect(kept[line! - 1]).toContain(`,${value},`);
    // The same once more changes nothing.
    await services.intake.run(root, 'local:tester');
    expect((await services.store.read.entries.current('receipt', 'R-1'))!.revision).toBe(revision);
  });
});
