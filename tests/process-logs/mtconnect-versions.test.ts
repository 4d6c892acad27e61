import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { SaxesParser } from 'saxes';
import { BadInputError } from '../../src/base/errors.js';
import type { ChannelMap } from '../../src/kinds/channel-map.js';
import { STREAM_VERSIONS } from '../../src/kinds/stream-versions.js';
import { scanBuild } from '../../src/process-logs/build-scan.js';
import { DocumentParser } from '../../src/process-logs/mtconnect/document-parser.js';
import type { Observation } from '../../src/process-logs/mtconnect/observation.js';
import { orderOf } from '../../src/process-logs/mtconnect/order-of.js';
import type { PlannedChannel, ScanPlan } from '../../src/process-logs/plan.js';
import { condition, event, type MadeObservation, sample, streamsDocument } from '../support/mtconnect-maker.js';
import { uniformNumbers } from '../support/numbers.js';

/** What the versions 1.1 to 2.7 of the standard hold beyond single values: sets, tables, series, conditions by id. */

const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-mtconnect-versions-'));
afterAll(() => fs.rmSync(folder, { recursive: true, force: true }));

const CHANNELS: PlannedChannel[] = [
  { name: 'force', ucum: 'N', loggedUcum: null, unitFrom: [], dewPoint: null },
  { name: 'load', ucum: '%', loggedUcum: null, unitFrom: [], dewPoint: null },
];
const PLAN: ScanPlan = {
  build: 'M1-7',
  channels: CHANNELS,
  windows: [
    { channel: 'force', level: 'action', low: null, high: 90, minimumMs: null, integralLimit: null, scope: 'closure' },
  ],
  setValues: [],
  inert: { channels: [], joinMs: 0 },
  closure: null,
  expected: [],
  nominalPeriodMs: 1000,
  gapLimitMs: 3000,
  clockOffsetMs: 0,
};
const at = (second: number, ms = 0): string => new Date(Date.UTC(2031, 2, 3, 7, 0, second, ms)).toISOString();
const mapOf = (channels: ChannelMap['channels'], more: Partial<ChannelMap> = {}): ChannelMap => ({
  kind: 'channel-map',
  format: 1,
  map: 'CM-1',
  revision: 1,
  title: 'invented cell',
  machine: 'M1',
  source: 'MTConnect streams',
  channels,
  place: {},
  everySequence: 'yes',
  ...more,
});
const PLAIN = mapOf([
  { dataItem: 'f', channel: 'force', ucum: 'N' },
  { dataItem: 'l', channel: 'load', ucum: '%' },
]);
const SET = mapOf([
  { dataItem: 'v', channel: 'force', ucum: 'N', key: 'R1' },
  { dataItem: 'v', channel: 'load', ucum: '%', key: 'R2' },
]);

let files = 0;
function scan(text: string, map: ChannelMap = PLAIN, plan: ScanPlan = PLAN) {
  files += 1;
  const file = path.join(folder, `stream-${files}.xml`);
  fs.writeFileSync(file, text);
  const source = { path: file, fileName: 'a.xml', channels: CHANNELS, clockOffsetMs: 0, gapLimitMs: 3000, map };
  return scanBuild({ plan, sources: [source] });
}

const summary = async (...args: Parameters<typeof scan>) =>
  Object.fromEntries(
    (await scan(...args)).summaries.map(({ channel, n, min, max }) => [channel, `${n}: ${min} to ${max}`]),
  );

const forces = (from: number, to: number, first = 1): MadeObservation[] =>
  Array.from({ length: to - from + 1 }, (_, index) =>
    sample('f', at(from + index), first + index, String(from + index)),
  );
/** An observation with markup as its content, and attributes. */
const made = (
  element: string,
  id: string,
  second: number,
  sequence: number,
  value: string,
  more = {},
): MadeObservation => ({
  ...(element.endsWith('Series')
    ? sample(id, at(second), sequence, value)
    : event(element, id, at(second), sequence, value)),
  element,
  more,
});

it.each(STREAM_VERSIONS)('reads version %s', async (version) => {
  expect(await summary(streamsDocument({ observations: forces(0, 4), version }))).toMatchObject({ force: '5: 0 to 4' });
});

it.each(['1.0', '1.9', '2.8', '3.0', '2.70', '1'])('refuses %s, which is none of these versions', async (version) => {
  const error = await scan(streamsDocument({ observations: forces(0, 4), version })).catch((reason) => reason);
  expect((error as BadInputError).problems[0]).toMatchObject({ code: 'mtconnect-root', line: 2 });
});

describe('sets and tables of values', () => {
  it('are passed by where no channel is one of their values', async () => {
    const set = made('VariableDataSet', 'x', 1, 6, '<Entry key="A">1</Entry><Entry key="A">2</Entry>', { count: '2' });
    const table = made('WorkOffsetTable', 'y', 1, 7, '<Entry key="A"><Cell key="B">1</Cell></Entry>', { count: '1' });
    expect(await summary(streamsDocument({ observations: [...forces(0, 4), set, table] }))).toMatchObject({
      force: '5: 0 to 4',
    });
  });

  it('hold each value until it is told anew, removed, reset or unavailable', async () => {
    const set = (second: number, sequence: number, content: string, more = {}) =>
      made('VariableDataSet', 'v', second, sequence, content, { count: '1', ...more });
    const report = await scan(
      streamsDocument({
        observations: [
          set(0, 1, '<Entry key="R1">10</Entry><Entry key="R2">50</Entry><Entry key="R3">x</Entry>'),
          set(1, 2, '<Entry key="R1"> 11 </Entry>'),
          set(2, 3, '<Entry key="R2" removed="true"/>'),
          set(3, 4, '<Entry key="R2">60</Entry>', { resetTriggered: 'MANUAL' }),
          set(4, 5, '<Entry key="R1">12</Entry>'),
          set(5, 6, 'UNAVAILABLE', { count: '0' }),
          event('Execution', 'e', at(6), 7, 'READY'),
        ],
        version: '1.5',
      }),
      SET,
    );
    const of = (channel: string) => report.summaries.find((row) => row.channel === channel)!;
    expect(of('force')).toMatchObject({ n: '4', min: '10', max: '12' });
    expect(of('load')).toMatchObject({ n: '4', min: '50', max: '60' });
    expect(report.rejections).toEqual([]);
  });

  it('give a channel one cell of one row', async () => {
    const map = mapOf([
      { dataItem: 'w', channel: 'force', ucum: 'N', key: 'G54', cell: 'X' },
      { dataItem: 'w', channel: 'load', ucum: '%', key: 'G54', cell: 'Y' },
    ]);
    const row = (second: number, sequence: number, x: string) =>
      made(
        'WorkOffsetTable',
        'w',
        second,
        sequence,
        `<Entry key="G54"><Cell key="X">${x}</Cell><Cell key="Y">9</Cell></Entry>`,
        {
          count: '1',
        },
      );
    expect(
      await summary(streamsDocument({ observations: [row(0, 1, '3'), row(1, 2, '4')], version: '2.7' }), map),
    ).toMatchObject({ force: '2: 3 to 4' });
  });

  it.each([
    ['a set where the map names no key', '<Entry key="R1">1</Entry>', PLAIN, 'f'],
    ['a value where the map names a key', '5', SET, 'v'],
    ['a key that stands twice', '<Entry key="R1">1</Entry><Entry key="R1">2</Entry>', SET, 'v'],
    ['an entry without a key', '<Entry>1</Entry>', SET, 'v'],
    ['text beside entries', 'x<Entry key="R1">1</Entry>', SET, 'v'],
    ['text behind entries', '<Entry key="R1">1</Entry>x', SET, 'v'],
    ['text beside cells', '<Entry key="R1"><Cell key="a">1</Cell>x</Entry>', SET, 'v'],
    ['something inside a cell', '<Entry key="R1"><Cell key="a"><b key="c"/></Cell></Entry>', SET, 'v'],
  ])('are refused with their line when they are %s', async (_name, content, map, id) => {
    const observations = [made('VariableDataSet', id, 0, 1, content, { count: '1' })];
    const error = await scan(streamsDocument({ observations }), map).catch((reason) => reason);
    expect((error as BadInputError).problems[0]).toMatchObject({ file: 'a.xml', line: 8 });
  });
});

describe('a time series', () => {
  const series = (second: number, sequence: number, values: string, more = {}) =>
    made('ForceTimeSeries', 'f', second, sequence, values, { sampleCount: String(values.split(' ').length), ...more });

  it('is one row for each value, the last at the time of the observation', async () => {
    const values = Array.from({ length: 10 }, (_, index) => (index === 4 ? '95' : '5')).join(' ');
    const report = await scan(
      streamsDocument({ observations: [series(1, 1, values, { sampleRate: '10' })], version: '2.0' }),
    );
    expect(report.rows).toBe(10);
    expect(report.files[0]).toMatchObject({ firstAt: at(0, 100), lastAt: at(1) });
    expect(report.part.findings).toMatchObject([{ rule: 'excursion', startedAt: at(0, 500), endedAt: at(0, 600) }]);
  });

  it('may begin before what was told last, in an earlier document', async () => {
    const map = mapOf([
      { dataItem: 'f', channel: 'force', ucum: 'N', sampleRateHz: '2' },
      { dataItem: 'l', channel: 'load', ucum: '%' },
    ]);
    const first = streamsDocument({ observations: [sample('l', at(0), 1, '40'), sample('l', at(4), 2, '41')] });
    const second = streamsDocument({ observations: [series(5, 3, '1 2 3 4 5 6 7 8 9')], firstSequence: 1 });
    const report = await scan(first + second, map);
    expect(report.rejections).toEqual([]);
    expect(report.rows).toBe(10);
    expect(report.files[0]).toMatchObject({ firstAt: at(0), lastAt: at(5) });
  });

  it.each([
    [
      'another number of values than it says',
      series(1, 1, '1 2', { sampleRate: '1', sampleCount: '3' }),
      '"sampleCount":"3"',
    ],
    ['no rate anywhere', series(1, 1, '1 2'), '"sampleRate":""'],
    ['no number as its rate', series(1, 1, '1 2', { sampleRate: 'fast' }), '"sampleRate":"fast"'],
  ])('with %s is a rejected line', async (_name, observation, found) => {
    const report = await scan(streamsDocument({ observations: [sample('l', at(0), 2, '1'), observation] }));
    expect(report.rejections).toMatchObject([{ line: 9, code: 'time series', field: 'force' }]);
    expect(report.rejections[0]!.found).toContain(found);
  });
});

it('tells two open conditions of one native code apart by their id, and ends both at a normal of that code', async () => {
  const map = mapOf(PLAIN.channels, { conditions: [{ dataItem: 'sys', warning: 'alert', fault: 'action' }] });
  const of = (id: string) => ({ nativeCode: 'F2', ...(id === '' ? {} : { conditionId: id }) });
  const report = await scan(
    streamsDocument({
      observations: [
        ...forces(0, 9),
        condition('Fault', 'sys', at(1), 11, of('a')),
        condition('Fault', 'sys', at(2), 12, of('b')),
        condition('Normal', 'sys', at(3), 13, of('a')),
        condition('Fault', 'sys', at(4), 14, of('c')),
        condition('Normal', 'sys', at(6), 15, of('')),
      ],
      version: '2.3',
    }),
    map,
  );
  const found = report.part.findings.filter(({ rule }) => rule === 'machine condition');
  expect(found.map(({ startedAt, endedAt }) => [startedAt, endedAt])).toEqual([
    [at(1), at(3)],
    [at(2), at(6)],
    [at(4), at(6)],
  ]);
});

it('cuts off what is finer than a microsecond', async () => {
  const text = streamsDocument({ observations: forces(0, 4) }).replaceAll('.000Z"', '.123456789Z"');
  expect((await scan(text)).files[0]!.firstAt).toBe(at(0).replace('.000Z', '.123456Z'));
});

describe('what an agent sends in several parts', () => {
  const documents = [forces(0, 2), forces(3, 5, 4), []].map((observations, index) =>
    streamsDocument({ observations, firstSequence: 1, ...(index === 2 ? { nextSequence: 7 } : {}) }),
  );
  const part = (text: string) =>
    `--a8e12eced4fb871ac096a99bf9728425\r\nContent-type: text/xml\r\nContent-length: ${text.length}\r\n\r\n${text}\r\n`;

  it('is read with its boundaries and headers, however it was saved', async () => {
    const parts = `HTTP/1.1 200 OK\r\nContent-Type: multipart/x-mixed-replace;boundary=a8e\r\n\r\n${documents.map(part).join('')}`;
    const [plain, multipart] = [
      await scan(documents.join('')),
      await scan(`${parts}--a8e12eced4fb871ac096a99bf9728425--`),
    ];
    expect(multipart.summaries).toEqual(plain.summaries);
    expect(multipart.part).toEqual(plain.part);
  });

  it.each([
    ['text between documents', documents.join('and then\n')],
    ['text behind the last', `${documents.join('')}and then`],
    ['the answer of a server that failed', `HTTP/1.1 500 Oh\r\n\r\n${documents.join('')}`],
  ])('is refused with %s', async (_name, text) => {
    const error = await scan(text).catch((reason) => reason);
    expect((error as BadInputError).problems[0]).toMatchObject({ code: 'xml' });
  });
});

describe('the two ways of reading', () => {
  const text = streamsDocument({
    observations: [
      ...forces(0, 5),
      { ...sample('l', at(2), 7, ' 4\n'), more: { name: 'x y', subType: 'ACTUAL' } },
      { ...sample('l', at(3), 8, 'a'), more: { name: '&lt;' } },
      event('Block', 'b', at(3), 9, 'G1 &amp; ä'),
      made('VariableDataSet', 'v', 4, 10, '<Entry key="R1">1</Entry>', { count: '1' }),
      event('Line', 'n', at(5), 11, ''),
    ],
  });

  function read(pieces: readonly string[]): Observation[] {
    const found: Observation[] = [];
    const observation = (one: Observation) => {
      if (!Number.isNaN(one.number)) expect(one.number).toBe(Number(one.value));
      found.push({ ...one, element: '', number: Number.NaN });
    };
    const sink = { header: () => undefined, wants: () => 'all' as const, observation };
    const parser = new DocumentParser('a.xml', 1, sink);
    for (const piece of pieces) parser.write(Buffer.from(piece));
    parser.close();
    return found;
  }

  it.each([1, 3, 17, 64])('say the same of pieces of %i characters', (length) => {
    const whole = read([text]);
    expect(whole).toHaveLength(11);
    expect(read(text.match(new RegExp(`[^]{1,${length}}`, 'g'))!)).toEqual(whole);
  });

  const prefixed = (whole: string) =>
    whole.replaceAll(/<(\/?)(?=[A-Z])/g, '<$1m:').replace('xmlns="urn:mtconnect.org:MTConnectStreams:1.4"', '');

  it('say the same of a document with a prefix, which is read by the parser alone', () => {
    expect(read([prefixed(text)])).toEqual(read([text]));
  });

  /** Sixty observations of three data items, grouped or in turns, most of them as the ones before them. */
  function alike(random: () => number): string {
    const isGrouped = random() < 0.5;
    const order = random() < 0.5;
    const observations = Array.from({ length: 60 }, (_, at) => {
      const id = `i${isGrouped ? Math.floor(at / 20) : at % 3}`;
      const [time, sequence] = [`timestamp="${new Date(at * 700).toISOString()}"`, `sequence="${at + 1}"`];
      const value = [`${at}`, `-${at}.50`, '1234567890123456', 'UNAVAILABLE', '5.', '.5', '-', ''][
        random() < 0.8 ? Math.floor(random() * 2) : Math.floor(random() * 8)
      ];
      const [first, second] = order ? [time, sequence] : [sequence, time];
      return `\n  <Load ${first} dataItemId="${id}" ${second} name="n">${value}</Load>`;
    });
    return text.replace(/(<Samples>)[\s\S]*(<\/Samples>)/, `$1${observations.join('')}\n$2`);
  }

  it('say the same of observations that are like the ones before them, and of such that are nearly so', () => {
    const random = uniformNumbers(251);
    const signs = ['<', '>', ' ', '"', '.', '-', '5', '\n', 'x', ' name="m"', '<!---->', 'Z', '00', 'é', '/'];
    const outcome = (of: string) => {
      try {
        return read([of]);
      } catch (error) {
        return error instanceof BadInputError ? 'refused' : error;
      }
    };
    let [compared, refusals] = [0, 0];
    for (let run = 0; run < 1200; run += 1) {
      const whole = alike(random);
      expect(whole).toContain('<Load');
      const from = whole.indexOf('<Samples>');
      const place = from + Math.floor(random() * (whole.lastIndexOf('</Samples>') - from));
      const sign = signs[Math.floor(random() * signs.length)]!;
      const changed =
        run % 4 === 0 ? whole : whole.slice(0, place) + sign + whole.slice(place + Math.floor(random() * 3));
      const other = prefixed(changed);
      if (!isXml(changed) || !isXml(other)) continue;
      const told = outcome(changed);
      expect(told, changed).toEqual(outcome(other));
      compared += 1;
      if (told === 'refused') refusals += 1;
    }
    expect(compared).toBeGreaterThan(600);
    expect(refusals).toBeGreaterThan(30);
  });

  it('refuse a document that is cut anywhere', () => {
    const whole = text.trimEnd();
    for (let length = 1; length < whole.length; length += 7) {
      expect(() => read([whole.slice(0, length)]), String(length)).toThrow(BadInputError);
    }
  });

  it('refuse whatever is no XML', () => {
    const random = uniformNumbers(25);
    const signs = ['<', '>', '&', '"', "'", '/', ' ', 'x', '=', ']', '\u0001', '<!--', ']]>', ' id="1" id="2"'];
    let bad = 0;
    for (let run = 0; run < 1500; run += 1) {
      const place = Math.floor(random() * text.length);
      const changed =
        text.slice(0, place) +
        signs[Math.floor(random() * signs.length)] +
        text.slice(place + Math.floor(random() * 3));
      if (isXml(changed)) continue;
      bad += 1;
      expect(() => read([changed]), changed).toThrow();
    }
    expect(bad).toBeGreaterThan(500);
  });
});

function isXml(text: string): boolean {
  let ok = true;
  const parser = new SaxesParser({ xmlns: true });
  parser.on('error', () => {
    ok = false;
  });
  parser.write(text);
  parser.close();
  return ok;
}

it('orders what runs are in it, as a sort would', () => {
  const random = uniformNumbers(7);
  const first = Float64Array.from({ length: 3000 }, (_, index) => (index % 97) + Math.floor(random() * 3));
  const second = Float64Array.from({ length: 3000 }, () => Math.floor(random() * 50));
  const expected = Array.from(first.keys()).sort((a, b) => first[a]! - first[b]! || second[a]! - second[b]! || a - b);
  expect([...orderOf(0, 3000, first, second)]).toEqual(expected);
  expect([...orderOf(5, 5, first, second)]).toEqual([]);
});
