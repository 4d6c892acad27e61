import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { BadInputError } from '../../src/base/errors.js';
import { type ChannelMap, channelMap } from '../../src/kinds/channel-map.js';
import { scanBuild } from '../../src/process-logs/build-scan.js';
import { LocalTime } from '../../src/process-logs/logger/local-time.js';
import { LoggerClock } from '../../src/process-logs/logger/logger-clock.js';
import type { PlannedChannel, ScanPlan } from '../../src/process-logs/plan.js';
import { timestampText } from '../../src/process-logs/timestamp.js';

/** CSV as loggers write it, in the form that a channel map declares. */

const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-logger-'));
afterAll(() => fs.rmSync(folder, { recursive: true, force: true }));

const CHANNELS: PlannedChannel[] = [
  { name: 'oxygen', ucum: '[ppm]', loggedUcum: null, unitFrom: [], dewPoint: null },
  { name: 'pressure', ucum: 'mbar', loggedUcum: null, unitFrom: [], dewPoint: null },
];
const PLAN: ScanPlan = {
  build: 'M1-7',
  channels: CHANNELS,
  windows: [],
  setValues: [],
  inert: { channels: ['oxygen'], joinMs: 0 },
  closure: null,
  expected: [],
  nominalPeriodMs: 1000,
  gapLimitMs: 3000,
  clockOffsetMs: 0,
};
type Csv = NonNullable<ChannelMap['csv']>;
const CSV: Csv = {
  delimiter: 'semicolon',
  decimal: 'comma',
  headerLines: 2,
  columns: [
    { column: 'O2 (ppm)', dataItem: 'o2' },
    { column: 'Druck', dataItem: 'p' },
    { column: 'Lage', dataItem: 'layer' },
    { column: 'Schritt', dataItem: 'step' },
  ],
  time: { columns: ['Datum', 'Zeit'], form: 'DD.MM.YYYY HH:mm:ss', zone: '+01:00' },
};
const mapOf = (csv: Csv, more: Partial<ChannelMap> = {}): ChannelMap => ({
  kind: 'channel-map',
  format: 1,
  map: 'CM-2',
  revision: 1,
  title: 'invented logger',
  machine: 'M1',
  source: 'CSV logger',
  csv,
  channels: [
    { dataItem: 'o2', channel: 'oxygen', ucum: '[ppm]' },
    { dataItem: 'p', channel: 'pressure', ucum: 'Pa' },
  ],
  place: { layer: 'layer', step: 'step' },
  steps: [{ reported: 'Hämmern', step: 'peen' }],
  everySequence: 'no',
  ...more,
});

let files = 0;
function scan(text: string, map = mapOf(CSV)) {
  files += 1;
  const file = path.join(folder, `log-${files}.csv`);
  fs.writeFileSync(file, text);
  const source = { path: file, fileName: 'a.csv', channels: CHANNELS, clockOffsetMs: 0, gapLimitMs: 3000, map };
  return scanBuild({ plan: PLAN, sources: [source] });
}

const HEAD = 'Logger 7\nnot; looked; at\nDatum;Zeit;Lage;Schritt;Druck;"O2 (ppm)";Notiz\n';
const ROW = '03.03.2031;08:00:01;4;Hämmern;103250,5;7,25;\n';

it('is read with its delimiter, decimal comma, head lines, day before month and offset', async () => {
  const report = await scan(
    `${HEAD}03.03.2031;08:00:00;4;deposit;103250;8,5;"a;b"\n${ROW}03.03.2031;08:00:02;4;Hämmern;;NaN;\n`,
  );
  expect(report.rejections).toEqual([]);
  expect(report.files[0]).toMatchObject({
    rows: 3,
    firstAt: '2031-03-03T07:00:00.000Z',
    lastAt: '2031-03-03T07:00:02.000Z',
  });
  const of = (channel: string, step: string) =>
    report.summaries.find((row) => row.channel === channel && row.step === step);
  expect(of('oxygen', 'deposit')).toMatchObject({ layer: '4', n: '1', min: '8.5' });
  expect(of('pressure', 'peen')).toMatchObject({ n: '1', min: '1032.505' });
});

it.each([
  ['a decimal point', '03.03.2031;08:00:02;4;x;103250.5;7;', 'number'],
  ['a mark of thousands', '03.03.2031;08:00:02;4;x;103.250,5;7;', 'number'],
  ['month before day', '03.13.2031;08:00:02;4;x;1;7;', 'timestamp'],
  ['a year of two digits', '03.03.31;08:00:02;4;x;1;7;', 'timestamp'],
  ['a 30 February', '30.02.2031;08:00:02;4;x;1;7;', 'timestamp'],
  ['a field too many, as a decimal comma makes one', '03.03.2031;08:00:02;4;x;1;7;;', 'number of fields'],
  ['a layer that is no number', '03.03.2031;08:00:02;4b;x;1;7;', 'layer'],
  ['a quote that is not closed', '03.03.2031;08:00:02;4;"x;1;7;', 'quotes'],
  ['a tab', '03.03.2031;08:00:02;4;x\t;1;7;', 'control character'],
])('rejects a row with %s', async (_name, line, code) => {
  const report = await scan(`${HEAD}${ROW}${line}\n`);
  expect(report.rejections).toMatchObject([{ line: 5, code, file: 'a.csv' }]);
  expect(report.rows).toBe(1);
});

it.each([
  ['a column that is not there', HEAD.replace('Druck', 'Druck 2'), 'Druck'],
  ['a column that is there twice', HEAD.replace('Notiz', 'Zeit'), 'Zeit'],
  ['another delimiter', HEAD.replaceAll(';', ','), 'Datum'],
  ['fewer lines above it', HEAD.replace('Logger 7\n', ''), 'Datum'],
])('refuses a head line with %s', async (_name, head, field) => {
  const error = await scan(`${head}${ROW}${ROW}`).catch((reason) => reason);
  expect((error as BadInputError).problems[0]).toMatchObject({ code: 'log-header', field, line: 3 });
});

describe('times', () => {
  const read = (form: string, zone: string | undefined, texts: string[], gapS = 3) => {
    const clock = new LoggerClock(form, zone, gapS * 1e6);
    return texts.map((text) => {
      const timeUs = clock.read(text);
      return timeUs === undefined ? undefined : timestampText(timeUs).slice(11, 23);
    });
  };
  const LOCAL = 'YYYY-MM-DD HH:mm:ss';

  it.each([
    ['ISO', undefined, '2031-03-03T08:00:00+01:00', '07:00:00.000'],
    ['unix s', undefined, '1930287600.25', '07:00:00.250'],
    ['unix ms', undefined, '1930287600250', '07:00:00.250'],
    ['MM/DD/YYYY HH:mm:ss.S', '-05:00', '03/03/2031 02:00:00.1', '07:00:00.100'],
    ['DD.MM.YYYY HH:mm:ss,S', 'Asia/Kolkata', '03.03.2031 12:30:00,125', '07:00:00.125'],
    ['YYYYMMDDTHHmmss', '+00:00', '20310303T070000', '07:00:00.000'],
    ['ISO', undefined, '2031-03-03 08:00:00', undefined],
    ['unix s', undefined, '-5', undefined],
    ['DD.MM.YYYY HH:mm:ss', '+00:00', '3.3.2031 07:00:00', undefined],
  ])('in the form %s, zone %s: %s is %s', (form, zone, text, expected) => {
    expect(read(form, zone, [text])).toEqual([expected]);
  });

  // Europe/Berlin: clocks went back from 03:00 to 02:00 on 2025-10-26, and on from 02:00 to 03:00 on 2025-03-30.
  it('go on through the hour that comes twice, told apart by what stands before', () => {
    const texts = ['01:59:59', '02:00:00', '02:59:59', '02:00:00', '02:00:01', '03:00:00'].map(
      (time) => `2025-10-26 ${time}`,
    );
    expect(read(LOCAL, 'Europe/Berlin', texts, 3599)).toEqual([
      ...['23:59:59.000', '00:00:00.000', '00:59:59.000', '01:00:00.000', '01:00:01.000', '02:00:00.000'],
    ]);
  });

  it('are refused in that hour where nothing tells them apart, and in the one that is left out', () => {
    expect(read(LOCAL, 'Europe/Berlin', ['2025-10-26 02:30:00'])).toEqual([undefined]);
    expect(read(LOCAL, 'Europe/Berlin', ['2025-10-26 01:00:00', '2025-10-26 02:30:00'])).toEqual([
      '23:00:00.000',
      undefined,
    ]);
    expect(read(LOCAL, 'Europe/Berlin', ['2025-10-26 02:59:59', '2025-10-26 03:00:00'])).toEqual([
      undefined,
      '02:00:00.000',
    ]);
    expect(read(LOCAL, 'Europe/Berlin', ['2025-03-30 01:59:59', '2025-03-30 02:30:00', '2025-03-30 03:00:00'])).toEqual(
      [...['00:59:59.000', undefined, '01:00:00.000']],
    );
  });

  it.each(['Europe/Berlin', 'America/St_Johns', 'Australia/Lord_Howe', 'Asia/Kolkata', '-03:30'])(
    'of %s mean what the zone says, all year',
    (zone) => {
      const time = new LocalTime(zone);
      const named = zone.startsWith('-') ? 'America/Halifax' : zone;
      const shown = new Intl.DateTimeFormat('sv-SE', { timeZone: named, dateStyle: 'short', timeStyle: 'medium' });
      for (let utcMs = Date.UTC(2025, 0, 1); utcMs < Date.UTC(2026, 0, 1); utcMs += 331 * 60_000) {
        const wallMs = zone.startsWith('-') ? utcMs - 210 * 60_000 : Date.parse(`${shown.format(utcMs)}Z`);
        expect(time.moments(wallMs * 1000)).toContain(utcMs * 1000);
      }
    },
  );
});

describe('a channel map for a logger', () => {
  const faults = (map: ChannelMap) => channelMap.contradictions!(map).map(({ field }) => field);

  it('is well', () => {
    expect(faults(mapOf(CSV))).toEqual([]);
    expect(channelMap.schema.safeParse(mapOf(CSV)).success).toBe(true);
  });

  it.each<[string, ChannelMap, string]>([
    ['no form', { ...mapOf(CSV), csv: undefined }, 'csv'],
    ['a form for another source', { ...mapOf(CSV), source: 'MTConnect streams' }, 'csv'],
    ['a channel without column', mapOf({ ...CSV, columns: CSV.columns.slice(1) }), 'channels[0].dataItem'],
    ['a place without column', mapOf({ ...CSV, columns: CSV.columns.slice(0, 3) }), 'place.step'],
    [
      'a pattern without zone',
      mapOf({ ...CSV, time: { columns: ['a'], form: 'YYYY-MM-DD HH:mm:ss' } }),
      'csv.time.zone',
    ],
    ['ISO with a zone', mapOf({ ...CSV, time: { columns: ['a'], form: 'ISO', zone: '+01:00' } }), 'csv.time.zone'],
    ['a zone that nobody knows', mapOf({ ...CSV, time: { ...CSV.time, zone: 'Europe/Bonn' } }), 'csv.time.zone'],
    ['no seconds', mapOf({ ...CSV, time: { ...CSV.time, form: 'DD.MM.YYYY HH:mm' } }), 'csv.time.form'],
    ['conditions', mapOf(CSV, { conditions: [{ dataItem: 'x', warning: 'alert', fault: 'alert' }] }), 'conditions'],
    ['numbers of observations', mapOf(CSV, { everySequence: 'yes' }), 'everySequence'],
  ])('is refused with %s', (_name, map, field) => {
    expect(faults(map)).toContain(field);
  });
});
