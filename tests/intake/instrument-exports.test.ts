import type { AddressInfo } from 'node:net';
import path from 'node:path';
import type { NestExpressApplication } from '@nestjs/platform-express';
import { BadInputError } from '../../src/base/errors.js';
import { readExport } from '../../src/intake/instrument-exports.js';
import { readFolder } from '../../src/intake/read-folder.js';
import type { InstrumentProfile } from '../../src/kinds/instrument-profile.js';
import { createApplication } from '../../src/main.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { makeTestPeople } from '../support/people.js';
import { Sender } from '../support/sender.js';
import { signIn } from '../support/service.js';
import { openServices, type Services } from '../support/services.js';
import { type MadeCell, workbookOf } from '../support/workbook.js';
import { zipOf } from '../support/zip.js';

const table: InstrumentProfile['tables'][number] = {
  headerLines: 2,
  columns: [
    { column: 'Probe', is: 'specimen' },
    { column: 'Zeit', is: 'measuredAt' },
  ],
  values: [{ column: 'Rm', characteristic: 'rm', ucum: 'MPa', uncertainty: 'u(Rm)' }],
  constants: {
    ...{ instrument: 'I-RIG', analyst: 'P-AN', replicate: 'counted' },
    method: { method: 'TM-T', revision: 1 },
  },
};
const PROFILE: InstrumentProfile = {
  ...{ kind: 'instrument-profile', format: 1, profile: 'RIG', revision: 1, title: 'Tensile rig (invented)' },
  ...{ delimiter: 'semicolon', decimal: 'comma' },
  time: { form: 'DD.MM.YYYY HH:mm:ss', zone: '+01:00' },
  tables: [table],
};

const HEAD = 'Probe;Zeit;Kraft;Rm;u(Rm)';
const day = (time: string) => `04.03.2031 ${time}`;
const text = (rows: readonly string[], head = HEAD) =>
  ['Rig 7, invented', 'series 12', head, ...rows].map((line) => `${line}\r\n`).join('');
const reading = (source: string, profile: InstrumentProfile = PROFILE) =>
  readExport('exports/RIG/a.csv', Buffer.from(source), profile);

const ROWS = [
  `L-1-W1;${day('09:00:00')};1,2;231,5;1,1`,
  `L-1-W1;${day('09:05:00')};1,2;231,9;`,
  `L-1-W2;${day('09:10:00')};1,3;<232,5;`,
];

it('makes of each value a row of results, with decimal points, counted replicates, moments and the line it came from', async () => {
  const { rows, problems } = await reading(text(ROWS));
  expect(problems).toEqual([]);
  expect(
    rows.map((row) => [row.line, row.specimen, row.replicate, row.value, row.standardUncertainty, row.measuredAt]),
  ).toEqual([
    [4, 'L-1-W1', 1, '231.5', '1.1', '2031-03-04T08:00:00.000Z'],
    [5, 'L-1-W1', 2, '231.9', '', '2031-03-04T08:05:00.000Z'],
    [6, 'L-1-W2', 1, '<232.5', '', '2031-03-04T08:10:00.000Z'],
  ]);
  expect(rows[0]).toMatchObject({
    characteristic: 'rm',
    ucum: 'MPa',
    instrument: 'I-RIG',
    analyst: 'P-AN',
    method: 'TM-T',
  });
});

it('reads several tables below each other, and leaves out what was not measured', async () => {
  const second = {
    ...table,
    ...{ begins: '[Chemistry]', headerLines: 0 },
    values: [
      { column: 'Zn', characteristic: 'zn', ucum: '%' },
      { column: 'Fe', characteristic: 'fe', ucum: '[ppm]' },
    ],
  };
  const profile = { ...PROFILE, tables: [{ ...table, begins: '[Strength]', headerLines: 0 }, second] };
  const source = `Rig 7\n[Strength]\n${HEAD}\n${ROWS.join('\n')}\n\n[Chemistry]\nProbe;Zeit;Zn;Fe\nL-1-W1;${day('10:00:00')};0,41;\n`;
  const { rows, problems } = await reading(source, profile);
  expect(problems).toEqual([]);
  expect(rows.map(({ specimen, characteristic, value }) => [specimen, characteristic, value])).toEqual([
    ['L-1-W1', 'rm', '231.5'],
    ['L-1-W1', 'rm', '231.9'],
    ['L-1-W2', 'rm', '<232.5'],
    ['L-1-W1', 'zn', '0.41'],
  ]);
  expect((await reading(source.replace('[Chemistry]', '[Chem]'), profile)).problems).toMatchObject([
    { found: 'no such line', expected: 'a line "[Chemistry]"' },
  ]);
});

it.each<[what: string, source: string, field: string | undefined, found: RegExp]>([
  ['a column that is missing', text(ROWS, 'Probe;Zeit;Kraft;R;u(Rm)'), 'Rm', /no column "Rm"/],
  ['a column that is doubled', text(ROWS, 'Probe;Zeit;Rm;Rm;u(Rm)'), 'Rm', /the column "Rm" 2 times/],
  ['thousands that may be decimals', text([`L-1-W1;${day('09:00:00')};1;1.231,5;`]), 'Rm', /1 231,5/],
  ['a decimal point where commas are declared', text([`L-1-W1;${day('09:00:00')};1;231.5;`]), 'Rm', /231 5/],
  ['a time in another form', text(['L-1-W1;2031-03-04 09:00;1;231,5;']), 'Zeit', /2031-03-04 09:00/],
  ['a row of another length', text([`L-1-W1;${day('09:00:00')};1;231,5`]), undefined, /4 fields/],
  ['a last line that is not ended', text([ROWS[0]!]).trimEnd(), undefined, /a last line without line end/],
  ['a specimen that is no code', text([`?;${day('09:00:00')};1;231,5;`]), 'Probe', /\?/],
])('refuses %s', async (_, source, field, found) => {
  const { rows, problems } = await reading(source);
  expect(rows).toEqual([]);
  expect(problems).toHaveLength(1);
  expect(problems[0]!.field).toBe(field);
  expect(problems[0]!.found).toMatch(found);
});

it.each([
  ['right', `;L-1-W1;${day('09:00:00')};1,2;231,5`, ['Probe', 'Zeit']],
  ['left', `${day('09:00:00')};1;231,5;1,1;`, ['Probe', 'Zeit']],
])('refuses columns that are shifted to the %s, each cell that says so', async (_, row, fields) => {
  const { rows, problems } = await reading(text([row]));
  expect(rows).toEqual([]);
  expect(problems.map(({ field, line }) => [field, line])).toEqual(fields.map((field) => [field, 4]));
});

it('reads a last line that is not ended where the profile says that it may be so', async () => {
  const open = text(ROWS).trimEnd();
  expect((await reading(open, { ...PROFILE, lastLine: 'may be open' })).rows).toEqual((await reading(text(ROWS))).rows);
});

describe('a workbook', () => {
  // Day 47 911 is 4 March 2031 (ISO/IEC 29500, 1900 date system); 9:00 is 0.375 of a day. In the other system it is 1462 less.
  const [HEADS, DAY] = [['Probe', 'Zeit', 'Rm', 'u(Rm)'], 47_911];
  const at = (day: number) => ({ day: day + 0.375 });
  const SHEETS = {
    Notes: [['Rig 7, invented']],
    Strength: [['Rig 7'], ['series 12'], HEADS, ['L-1-W1', at(DAY), 231.5, 1.1], ['L-1-W2', at(DAY), 0.1 + 0.2, null]],
    Chemistry: [[], ['[Zinc]'], ['Probe', 'Zeit', 'Zn'], [{ inline: 'L-1-W1' }, '04.03.2031 10:00:00', '<0,41']],
  };
  const strength = (time: MadeCell, rm: MadeCell) => ({
    Strength: [['Rig 7'], ['series 12'], HEADS, ['L-1-W1', time, rm, null]],
  });
  const zinc = {
    ...{ ...table, sheet: 'Chemistry', begins: '[Zinc]', headerLines: 0 },
    values: [{ column: 'Zn', characteristic: 'zn', ucum: '%' }],
  };
  const BOOK: InstrumentProfile = { ...PROFILE, tables: [{ ...table, sheet: 'Strength' }, zinc] };
  const read = async (sheets: Parameters<typeof workbookOf>[0], profile = BOOK, form = {}) =>
    readExport('exports/RIG/a.xlsx', await workbookOf(sheets, form), profile);
  const told = ({ rows }: Awaited<ReturnType<typeof read>>) =>
    rows.map((row) => [row.line, row.specimen, row.characteristic, row.value, row.standardUncertainty, row.measuredAt]);
  const TOLD = [
    [4, 'L-1-W1', 'rm', '231.5', '1.1', '2031-03-04T08:00:00.000Z'],
    [5, 'L-1-W2', 'rm', '0.3', '', '2031-03-04T08:00:00.000Z'],
    [4, 'L-1-W1', 'zn', '<0.41', '', '2031-03-04T09:00:00.000Z'],
  ];

  it('is read sheet by sheet: texts, numbers as they are shown, days by the clock of the profile', async () => {
    const found = await read(SHEETS);
    expect(found.problems).toEqual([]);
    expect(told(found)).toEqual(TOLD);
  });

  it('may hold a sheet with a chart alone, which is none to read from', async () => {
    expect(told(await read(SHEETS, BOOK, { chartSheet: true }))).toEqual(TOLD);
  });

  it('may count its days from 1904, and has its first sheet read where none is named', async () => {
    const { Strength } = SHEETS;
    const later = Strength.map((row) => row.map((cell) => (isDay(cell) ? at(DAY - 1462) : cell)));
    const found = await read({ Strength: later }, PROFILE, { date1904: true });
    expect(told(found)).toEqual(TOLD.slice(0, 2));
  });

  it.each<[what: string, profile: InstrumentProfile, sheets: Parameters<typeof workbookOf>[0], found: RegExp]>([
    ['a sheet that is missing', BOOK, { ...SHEETS, Strength: [], Chemistry: [] }, /no column "Probe"|no such line/],
    [
      'a sheet of another name',
      { ...BOOK, tables: [{ ...table, sheet: 'Tension' }] },
      SHEETS,
      /the sheets Notes, Strength, Chemistry/,
    ],
    [
      'a day of a clock whose zone nobody names',
      { ...BOOK, time: { form: 'ISO' } },
      SHEETS,
      /2031-03-04 09:00:00\.000/,
    ],
    ['a percentage, by its number', PROFILE, strength(at(DAY), { share: 0.05 }), /^"5%"$/],
    ['a percentage, by its code', PROFILE, strength(at(DAY), { share: 0.0525, coded: true }), /^"5[.,]25%"$/],
    ['a time without a day', PROFILE, strength({ day: 0.375 }, 231.5), /^"a time without a day"$/],
  ])('refuses %s', async (_, profile, sheets, found) => {
    const { problems } = await read(sheets, profile);
    expect(problems[0]!.found).toMatch(found);
  });

  it('is refused where it is none, and where a text stands for it', async () => {
    const bytes = await workbookOf(SHEETS);
    const problemsOf = async (name: string, content: Buffer) => (await readExport(name, content, BOOK)).problems;
    expect(await problemsOf('a.xlsx', Buffer.from('PK nothing'))).toMatchObject([
      { code: 'packed-document', file: 'a.xlsx' },
    ]);
    expect(await problemsOf('a.xlsx', bytes.subarray(0, 300))).toMatchObject([{ code: 'packed-document' }]);
    const other = await zipOf([{ name: 'xl/workbook.xml', bytes: Buffer.from('<workbook') }]);
    expect(await problemsOf('a.xlsx', other)).toMatchObject([{ code: 'workbook' }]);
    const first = (await problemsOf('a.csv', Buffer.from(text(ROWS))))[0]!;
    expect([first.found, first.expected]).toEqual([
      'a text, which has no sheets',
      'a workbook (.xlsx) with the sheet Strength',
    ]);
  });
});

const isDay = (cell: unknown): boolean => typeof cell === 'object' && cell !== null && 'day' in cell;

it('takes the export in as evidence of its values, tied to the profile, and refuses one that nobody knows', async () => {
  const cell = makeCell();
  delete cell.sheets['lots/L-1/results/tensile.csv'];
  cell.documents['site/rig-profile.yaml'] = structuredClone(PROFILE);
  const name = 'lots/L-1/exports/RIG/2031-03-04.csv';
  cell.files[name] = text([
    ...ROWS.slice(0, 2),
    ...['09:10', '09:15'].map((at) => `L-1-W2;${day(`${at}:00`)};1;232,5;`),
  ]);
  const services = await openServices(path.join(temporaryFolder('data'), 'data'));
  try {
    const { files } = cell;
    const log = 'lots/L-1/logs/run.csv';
    const other = { ...cell, files: { 'lots/L-1/exports/RIG-2/a.csv': files[name]!, [log]: files[log]! } };
    const refused = await services.intake.run(writeCell(other), 'local:tester').catch((error: unknown) => error);
    expect((refused as BadInputError).problems).toMatchObject([
      { code: 'unknown-profile', file: 'lots/L-1/exports/RIG-2/a.csv' },
    ]);
    const report = await services.intake.run(writeCell(cell), 'local:tester');
    expect(report.unusedFiles).toEqual([]);
    const { facts, assessment } = await services.assessor.assess('L-1', 'local:tester');
    const own = facts.results.filter(({ characteristic }) => characteristic === 'rm');
    expect(own.map(({ file, line, value }) => [file, line, value])).toEqual([
      ['exports/RIG/2031-03-04.csv', '4', '231.5'],
      ['exports/RIG/2031-03-04.csv', '5', '231.9'],
      ['exports/RIG/2031-03-04.csv', '6', '232.5'],
      ['exports/RIG/2031-03-04.csv', '7', '232.5'],
    ]);
    const judged = assessment.characteristics.filter(({ characteristic }) => characteristic === 'rm');
    expect(judged.map(({ verdict }) => verdict)).toEqual(['conforms', 'conforms']);
    const sheet = facts.resultSets.get(own[0]!.evidence)!;
    const profiles = await services.store.read.entries.tiedTo(
      'result-set',
      'instrument-profile',
      'RIG',
      'results read by',
    );
    expect(profiles.map(({ key }) => key)).toEqual([sheet.key]);
    // Taken in again, nothing is new; nor in the same file by itself, for the lot that is stored.
    expect((await services.intake.run(writeCell(cell), 'local:tester')).results.recorded).toBe(0);
    const alone = (lot: string, rows: readonly string[]) =>
      services.intake.run(
        writeCell({ documents: {}, sheets: {}, files: { [`exports/${lot}/RIG/2031-03-04.csv`]: text(rows) } }),
        'local:tester',
      );
    const same = [...ROWS.slice(0, 2), ...['09:10', '09:15'].map((at) => `L-1-W2;${day(`${at}:00`)};1;232,5;`)];
    expect(await alone('L-1', same)).toMatchObject({ results: { recorded: 0 }, unusedFiles: [] });
    const unknown = await alone('L-7', same).catch((error: unknown) => error);
    expect((unknown as BadInputError).problems).toMatchObject([
      { code: 'unknown-lot', file: 'exports/L-7/RIG/2031-03-04.csv' },
    ]);
    const spoilt = await alone('L-1', [`L-1-W1;${day('09:00:00')};1;1.231,5;`]).catch((error: unknown) => error);
    expect((spoilt as BadInputError).problems).toMatchObject([{ file: 'exports/L-1/RIG/2031-03-04.csv' }]);
  } finally {
    await services.store.close();
  }
});

it('takes no file for an export that a document names', async () => {
  const cell = makeCell();
  Object.assign(cell.documents['site/specification.yaml']!.approval, { original: 'exports/A/B/c.pdf' });
  cell.files['site/exports/A/B/c.pdf'] = '%PDF-1.7';
  cell.files['site/exports/A/B/d.csv'] = 'nobody names it';
  const { exportsFor } = await readFolder(writeCell(cell));
  expect(exportsFor!.map((one) => one.export.at)).toEqual(['site/exports/A/B/d.csv']);
});

describe('the form for one file', () => {
  let services: Services;
  let app: NestExpressApplication;
  let own: Sender;
  beforeAll(async () => {
    const cell = makeCell();
    delete cell.sheets['lots/L-1/results/tensile.csv'];
    cell.documents['site/rig-profile.yaml'] = structuredClone(PROFILE);
    services = await openServices(
      DataFolder.createDemo(path.join(temporaryFolder('data'), 'data'), '2031-03-05T12:00:00Z'),
    );
    await services.intake.run(writeCell(cell), 'local:tester');
    await makeTestPeople(services);
    app = await createApplication(services.store);
    await app.listen(0, '127.0.0.1');
    const { port } = app.getHttpServer().address() as AddressInfo;
    own = new Sender(`http://127.0.0.1:${port}`, await signIn(app, 'P-OP'));
  });
  afterAll(async () => {
    await app.close();
    await services.store.close();
  });
  const send = (lot: string, rows: readonly string[], profile = 'RIG') =>
    own.post([{ name: 'rig.csv', bytes: Buffer.from(text(rows)) }], `/intake/export/${lot}`, { profile });

  it('stands on the page of results still to come, shows what would be stored, and stores it', async () => {
    expect((await own.look('/sheets/L-1')).text).toContain('href="/intake/export/L-1"');
    expect((await own.look('/intake/export/L-1')).text).toContain('RIG: Tensile rig (invented)');
    const { to } = await send('L-1', ROWS.slice(0, 2));
    expect((await own.look(to)).text).toContain('2 results');
    expect((await own.store(to)).status).toBe(303);
    const rows = (await services.store.read.results.current('L-1')).filter(
      ({ characteristic }) => characteristic === 'rm',
    );
    expect(rows.map(({ file, value }) => [file, value])).toEqual([
      ['exports/RIG/rig.csv', '231.5'],
      ['exports/RIG/rig.csv', '231.9'],
    ]);
  });

  it('says what is wrong with it, and stores nothing', async () => {
    const { to } = await send('L-1', [`L-1-W1;${day('09:00:00')};1;1.231,5;`]);
    const { text: page } = await own.look(to);
    expect(page).toContain('1 231,5');
    expect(page).not.toContain('/store"');
    expect((await send('L-9', ROWS)).status).toBe(404);
    expect((await send('L-1', ROWS, '')).status).toBe(400);
  });
});
