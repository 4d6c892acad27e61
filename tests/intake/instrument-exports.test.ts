import path from 'node:path';
import { BadInputError } from '../../src/base/errors.js';
import { readExport } from '../../src/intake/instrument-exports.js';
import type { InstrumentProfile } from '../../src/kinds/instrument-profile.js';
import { makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { openServices } from '../support/services.js';

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

it('makes of each value a row of results, with decimal points, counted replicates, moments and the line it came from', () => {
  const { rows, problems } = reading(text(ROWS));
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

it('reads several tables below each other, and leaves out what was not measured', () => {
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
  const { rows, problems } = reading(source, profile);
  expect(problems).toEqual([]);
  expect(rows.map(({ specimen, characteristic, value }) => [specimen, characteristic, value])).toEqual([
    ['L-1-W1', 'rm', '231.5'],
    ['L-1-W1', 'rm', '231.9'],
    ['L-1-W2', 'rm', '<232.5'],
    ['L-1-W1', 'zn', '0.41'],
  ]);
  expect(reading(source.replace('[Chemistry]', '[Chem]'), profile).problems).toMatchObject([
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
  ['a specimen that is no code', text([`?;${day('09:00:00')};1;231,5;`]), 'Probe', /\?/],
])('refuses %s', (_, source, field, found) => {
  const { rows, problems } = reading(source);
  expect(rows).toEqual([]);
  expect(problems).toHaveLength(1);
  expect(problems[0]!.field).toBe(field);
  expect(problems[0]!.found).toMatch(found);
});

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
    // Taken in again, nothing is new.
    expect((await services.intake.run(writeCell(cell), 'local:tester')).results.recorded).toBe(0);
  } finally {
    await services.store.close();
  }
});
