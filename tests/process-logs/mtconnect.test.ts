import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { BadInputError } from '../../src/base/errors.js';
import type { LogFinding } from '../../src/dossier/schema.js';
import type { ChannelMap } from '../../src/kinds/channel-map.js';
import type { BuildReport } from '../../src/process-logs/build-report.js';
import { scanBuild } from '../../src/process-logs/build-scan.js';
import type { PlannedChannel, ScanPlan } from '../../src/process-logs/plan.js';
import { detailText } from '../../src/report/phrases/log-finding.js';
import { condition, event, type MadeObservation, sample, streamsDocument } from '../support/mtconnect-maker.js';

/**
 * Streams of a machine that speaks MTConnect. What the documents may hold comes from the published schema, named in the
 * maker; what their parts mean from ANSI/MTC1.4, Part 1 (protocol: sequence numbers, instanceId) and Part 3 (streams:
 * UNAVAILABLE, conditions), cited from memory.
 */

const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-mtconnect-'));
afterAll(() => fs.rmSync(folder, { recursive: true, force: true }));

const CHANNELS: PlannedChannel[] = ['oxygen', 'pressure'].map((name, index) => ({
  name,
  ucum: ['[ppm]', 'mbar'][index]!,
  loggedUcum: null,
  unitFrom: [],
  dewPoint: null,
}));

const MAP: ChannelMap = {
  kind: 'channel-map',
  format: 1,
  map: 'CM-1',
  revision: 1,
  title: 'invented cell',
  machine: 'M1',
  source: 'MTConnect streams',
  channels: [
    { dataItem: 'o2', channel: 'oxygen', ucum: '[ppm]' },
    { dataItem: 'p', channel: 'pressure', ucum: 'Pa' },
  ],
  place: { layer: 'ln', zone: 'zn', step: 'st' },
  steps: [{ reported: 'HAMMER', step: 'peen' }],
  conditions: [{ dataItem: 'sys', warning: 'alert', fault: 'action' }],
  everySequence: 'yes',
};

const PLAN: ScanPlan = {
  build: 'M1-7',
  channels: CHANNELS,
  windows: [
    { channel: 'oxygen', level: 'action', low: null, high: 50, minimumMs: null, integralLimit: null, scope: 'closure' },
  ],
  setValues: [],
  inert: { channels: ['oxygen'], joinMs: 0 },
  closure: null,
  expected: [],
  nominalPeriodMs: 1000,
  gapLimitMs: 3000,
  clockOffsetMs: 0,
};

const at = (second: number, ms = 0): string => new Date(Date.UTC(2031, 2, 3, 7, 0, second, ms)).toISOString();

/** The state of the machine, then oxygen once a second from `from` to `to`. */
function usual(from: number, to: number, oxygen: (second: number) => string = () => '8'): MadeObservation[] {
  const state = [
    event('LayerNumber', 'ln', at(from), 1, '4'),
    event('ZoneName', 'zn', at(from), 2, 'P1'),
    event('Execution', 'st', at(from), 3, 'deposit'),
    sample('p', at(from), 4, '103250'),
  ];
  const seconds = Array.from({ length: to - from + 1 }, (_, index) => from + index);
  return [...state, ...seconds.map((second, index) => sample('o2', at(second), 5 + index, oxygen(second)))];
}

let files = 0;

const scan = (text: string, changes: { map?: ChannelMap; plan?: ScanPlan } = {}) => scanFiles([text], changes);

/** In the order in which a lot names them. */
async function scanFiles(
  texts: readonly string[],
  { map = MAP, plan = PLAN }: { map?: ChannelMap; plan?: ScanPlan } = {},
): Promise<BuildReport> {
  const sources = texts.map((text, index) => {
    files += 1;
    const file = path.join(folder, `stream-${files}.xml`);
    fs.writeFileSync(file, text);
    const fileName = texts.length === 1 ? 'logs/stream.xml' : `logs/stream-${index + 1}.xml`;
    return { path: file, fileName, channels: CHANNELS, clockOffsetMs: 0, gapLimitMs: 3000, map };
  });
  return scanBuild({ plan, sources });
}

const ruled = (report: BuildReport, rule: string): LogFinding[] =>
  report.part.findings.filter((finding) => finding.rule === rule);

describe('a stream that is well', () => {
  it('becomes one row for each time, with units by UCUM and the place as reported', async () => {
    const report = await scan(streamsDocument({ observations: usual(0, 9) }));
    expect(report.rows).toBe(10);
    expect(report.part.findings).toEqual([]);
    const pressure = report.summaries.find((row) => row.channel === 'pressure')!;
    expect(pressure).toMatchObject({ layer: '4', zone: 'P1', step: 'deposit', ucum: 'mbar', n: '10', min: '1032.5' });
    expect(report.files).toMatchObject([{ fileName: 'logs/stream.xml', rows: 10, rejectedRows: 0, firstAt: at(0) }]);
    expect(report.files[0]!.channels!.map(({ unitFrom }) => unitFrom)).toEqual([['channel map'], ['channel map']]);
  });

  it('reads documents one behind the other, in any namespace prefix, and takes what both hold once', async () => {
    const all = usual(0, 9);
    const first = streamsDocument({ observations: all.slice(0, 9) });
    const second = streamsDocument({ observations: all.slice(6) })
      .replaceAll(/<(\/?)(?=[A-Z])/g, '<$1m:')
      .replace('xmlns="urn:mtconnect.org:MTConnectStreams:1.4"', '');
    const one = await scan(streamsDocument({ observations: all }));
    const two = await scan(`${first}\n\n${second}`);
    expect(two.part).toEqual(one.part);
    expect(two.summaries).toEqual(one.summaries);
  });

  it('brings what is grouped by data item into the order of time, and maps reported steps', async () => {
    const observations = [
      ...usual(0, 5),
      event('Execution', 'st', at(3), 11, 'HAMMER'),
      event('LayerNumber', 'ln', at(4), 12, '5'),
    ];
    const report = await scan(streamsDocument({ observations }));
    const oxygen = report.summaries.filter((row) => row.channel === 'oxygen');
    expect(oxygen.map(({ layer, step, n }) => [layer, step, n])).toEqual([
      ['4', 'deposit', '3'],
      ['4', 'peen', '1'],
      ['5', 'peen', '2'],
    ]);
  });

  it('finds an excursion with its line, from the moment to the next value inside', async () => {
    const report = await scan(streamsDocument({ observations: usual(0, 9, (s) => (s >= 4 && s < 7 ? '61.5' : '8')) }));
    const [excursion] = ruled(report, 'excursion');
    expect(excursion).toMatchObject({ startedAt: at(4), endedAt: at(7), places: [{ zone: 'P1', layerFrom: 4 }] });
    expect(excursion!.facts).toMatchObject({ worst: 61.5, limit: 50, durationMs: 3000, lineFrom: 13 });
  });

  it('holds a value until the next one, so that a channel that is reported on change is not missing', async () => {
    const report = await scan(streamsDocument({ observations: usual(0, 60) }));
    expect(ruled(report, 'missing values')).toEqual([]);
    expect(report.summaries.find((row) => row.channel === 'pressure')).toMatchObject({ n: '61', observedMs: '61000' });
  });

  it('takes the state before the closure as state and not as rows', async () => {
    const plan = { ...PLAN, closure: { closedAt: at(120), openedAt: at(130) } };
    const observations = [
      ...usual(0, 0),
      ...usual(120, 130)
        .slice(4)
        .map((item) => ({ ...item, sequence: item.sequence + 1 })),
    ];
    const report = await scan(streamsDocument({ observations }), { plan });
    expect(report.files[0]!.firstAt).toBe(at(120));
    expect(ruled(report, 'gap')).toEqual([]);
  });
});

describe('what a machine says of itself', () => {
  it('calls UNAVAILABLE no value, and never holds the one before', async () => {
    const report = await scan(
      streamsDocument({ observations: usual(0, 9, (s) => (s === 4 || s === 5 ? 'UNAVAILABLE' : '8')) }),
    );
    expect(ruled(report, 'missing values')).toMatchObject([{ startedAt: at(4), endedAt: at(6), channel: 'oxygen' }]);
    expect(report.summaries.find((row) => row.channel === 'oxygen')!.n).toBe('8');
  });

  it('turns a condition into a finding from fault to normal, with the level of the map', async () => {
    const observations = [
      ...usual(0, 9),
      condition('Normal', 'sys', at(0), 15),
      condition('Warning', 'sys', at(2), 16, { nativeCode: 'W7' }, 'filter'),
      condition('Fault', 'sys', at(4), 17, { nativeCode: 'F2' }, 'gas low'),
      condition('Normal', 'sys', at(6), 18, { nativeCode: 'F2' }),
    ];
    const report = await scan(streamsDocument({ observations }));
    const found = ruled(report, 'machine condition');
    expect(found.map(({ level, startedAt, endedAt }) => [level, startedAt, endedAt])).toEqual([
      ['alert', at(2), at(9)],
      ['action', at(4), at(6)],
    ]);
    const said = {
      code: 'condition',
      dataItem: 'sys',
      state: 'Fault',
      type: 'SYSTEM',
      nativeCode: 'F2',
      message: 'gas low',
    };
    expect(found[1]!.facts.what).toEqual(said);
    expect(found.map(({ facts }) => detailText(facts.what!))).toEqual([
      'sys: Warning SYSTEM W7 filter',
      'sys: Fault SYSTEM F2 gas low',
    ]);
    expect(found[1]!.places).toEqual([{ zone: 'P1', layerFrom: 4, layerTo: 4 }]);
  });

  it('ends every condition of a data item at a normal without code, and notes one that cannot be told', async () => {
    const observations = [
      ...usual(0, 9),
      condition('Fault', 'sys', at(1), 15, { nativeCode: 'A' }),
      condition('Fault', 'sys', at(2), 16, { nativeCode: 'B' }),
      condition('Normal', 'sys', at(3), 17),
      condition('Unavailable', 'sys', at(5), 18),
    ];
    const report = await scan(streamsDocument({ observations }));
    const found = ruled(report, 'machine condition').map(({ level, endedAt }) => [level, endedAt]);
    expect(found).toEqual([
      ['action', at(3)],
      ['action', at(3)],
      ['alert', at(9)],
    ]);
  });
});

describe('a number', () => {
  const withFifth = (text: string) => usual(0, 9, (second) => (second === 4 ? text : '8'));

  // What an XML reader makes one text of is one: comments and instructions are no part of it (XML 1.0, 2.4 to 2.7).
  it.each([
    '25<!-- 9 -->.5',
    '<!-- 1 -->25.5',
    '25.5<!-- 1 -->',
    '25<?x 9?>.5',
    '<![CDATA[25]]>.5',
    '&#50;5.5',
    '\n 25.5\n',
  ])('is the same written %j', async (text) => {
    const [plain, other] = [
      await scan(streamsDocument({ observations: withFifth('25.5') })),
      await scan(streamsDocument({ observations: withFifth(text) })),
    ];
    expect(plain.summaries.find(({ channel }) => channel === 'oxygen')).toMatchObject({ min: '8', max: '25.5' });
    expect(other.summaries).toEqual(plain.summaries);
    expect(other.rejections).toEqual([]);
  });

  it.each(['25 <!-- 9 -->.5', '25,5', '25.5 ppm', '25<b/>.5'])(
    'is none written %j, and is never another one',
    async (text) => {
      const scanned = await scan(streamsDocument({ observations: withFifth(text) })).catch(
        (error) => error as BadInputError,
      );
      if ('problems' in scanned) {
        expect(scanned.problems[0]).toMatchObject({ code: expect.stringMatching(/^mtconnect-/) });
        return;
      }
      expect(scanned.rejections).toMatchObject([{ code: 'number', field: 'oxygen' }]);
      expect(scanned.summaries.find(({ channel }) => channel === 'oxygen')).toMatchObject({ min: '8', max: '8' });
    },
  );
});

describe('observations that were lost', () => {
  const all = usual(0, 9);

  it('names missing sequence numbers inside a document', async () => {
    const report = await scan(
      streamsDocument({ observations: all.filter(({ sequence }) => ![9, 10].includes(sequence)) }),
    );
    expect(ruled(report, 'observations lost')).toMatchObject([
      {
        level: 'action',
        startedAt: at(3),
        endedAt: at(6),
        facts: { what: { code: 'sequence numbers', from: 9, to: 10 } },
      },
    ]);
    expect(ruled(report, 'break of inert atmosphere')).toHaveLength(1);
  });

  it('lets numbers be missing when the map says that not everything was asked for', async () => {
    const some = all.filter(({ sequence }) => ![9, 10].includes(sequence));
    const report = await scan(streamsDocument({ observations: some }), { map: { ...MAP, everySequence: 'no' } });
    expect(ruled(report, 'observations lost')).toEqual([]);
  });

  it('reports what the agent no longer held when it was asked again, whatever was asked for', async () => {
    const first = streamsDocument({ observations: all.slice(0, 8) });
    const second = streamsDocument({ observations: all.slice(11), firstSequence: 12 });
    const report = await scan(first + second, { map: { ...MAP, everySequence: 'no' } });
    expect(ruled(report, 'observations lost')).toMatchObject([
      { facts: { what: { code: 'sequence numbers', from: 9, to: 11 } } },
    ]);
  });

  it('reports a restart of the agent and forgets the state before it', async () => {
    const later = [sample('o2', at(12), 1, 'UNAVAILABLE'), sample('p', at(13), 2, '103250')];
    const second = streamsDocument({ observations: later, instanceId: '99' });
    const report = await scan(streamsDocument({ observations: all }) + second);
    expect(ruled(report, 'observations lost')).toMatchObject([
      { startedAt: at(9), endedAt: at(12), facts: { what: { code: 'agent restarted', instance: '99' } } },
    ]);
    expect(ruled(report, 'missing values')).toMatchObject([{ startedAt: at(12) }]);
  });

  it('forgets at a restart where the machine was, and ends the conditions that held', async () => {
    const held = [
      ...usual(0, 9),
      condition('Fault', 'sys', at(3), 15, { nativeCode: 'A' }),
      { ...sample('p', at(9), 16, '103250') },
    ];
    const later = [sample('o2', at(12), 1, '12'), sample('p', at(13), 2, '103250'), sample('p', at(20), 3, '103250')];
    const first = streamsDocument({ observations: held });
    const report = await scan(first + streamsDocument({ observations: later, instanceId: '99' }));
    expect(ruled(report, 'machine condition')).toMatchObject([{ startedAt: at(3), endedAt: at(12) }]);
    const one = await scan(first);
    const placed = ({ summaries }: typeof report) =>
      summaries.filter(({ zone }) => zone === 'P1').map(({ channel, layer, step, n }) => [channel, layer, step, n]);
    expect(placed(one)).not.toEqual([]);
    expect(placed(report)).toEqual(placed(one));
  });

  it('tells so many pairs of versions, and does not grow with a stream that names more', async () => {
    const documents = usual(0, 20).map((one, index) =>
      streamsDocument({ observations: [one], version: '1.4' }).replace('version="1.4.0"', `version="9.${index}"`),
    );
    expect(documents.length).toBeGreaterThan(20);
    expect(ruled(await scan(documents.join('')), 'stream names two versions')).toHaveLength(20);
  });

  it.each([
    ['2.2.0.17', '1.4', 'version 2.2.0.17 in its header; read by version 1.4, as its namespace says'],
    ['1.3', '2.7', 'version 1.3 in its header; read by version 2.7, as its namespace says'],
    ['1.40', '1.4', 'version 1.40 in its header; read by version 1.4, as its namespace says'],
    ['x'.repeat(5000), '1.4', `version ${'x'.repeat(40)} in its header; read by version 1.4, as its namespace says`],
  ])(
    'is read by its namespace, and its header of version %.20s in one of %s is told once',
    async (said, version, text) => {
      const documents = [all.slice(0, 8), all.slice(8)].map((observations) =>
        streamsDocument({ observations, version }).replace(`version="${version}.0"`, `version="${said}"`),
      );
      const report = await scan(documents.join(''));
      const usualReport = await scan(streamsDocument({ observations: all, version }));
      const told = ruled(report, 'stream names two versions');
      expect(told).toMatchObject([{ level: 'alert', places: [{ zone: null }], facts: { lineFrom: 3 } }]);
      expect(detailText(told[0]!.facts.what!)).toBe(text);
      expect(report.part.findings.filter((one) => one !== told[0])).toEqual(usualReport.part.findings);
      expect(report.summaries).toEqual(usualReport.summaries);
    },
  );

  it.each(['1.4', '1.4.0', '1.4.0.12'])('has nothing to tell of version %s in a document of 1.4', async (said) => {
    const text = streamsDocument({ observations: all }).replace('version="1.4.0"', `version="${said}"`);
    expect((await scan(text)).part.findings).toEqual([]);
  });

  it('takes the answer to a request for the current state as such', async () => {
    const current = usual(0, 0).map((item, index) => ({ ...item, sequence: 10 + 7 * index }));
    const sampled = usual(1, 5)
      .slice(4)
      .map((item, index) => ({ ...item, sequence: 60 + index }));
    const first = streamsDocument({ observations: current, nextSequence: 60 });
    const report = await scan(first + streamsDocument({ observations: sampled, firstSequence: 2 }));
    expect(ruled(report, 'observations lost')).toEqual([]);
  });
});

describe('files of one recording', () => {
  const all: MadeObservation[] = [
    ...usual(0, 4),
    condition('Fault', 'sys', at(5), 10, { nativeCode: 'E1' }, 'invented'),
    ...[6, 7, 8].map((second, index) => sample('o2', at(second), 11 + index, '60')),
    event('LayerNumber', 'ln', at(9), 14, '5'),
    ...[9, 10, 11].map((second, index) => sample('o2', at(second), 15 + index, '8')),
    condition('Normal', 'sys', at(12), 18),
    ...[13, 14].map((second, index) => sample('o2', at(second), 19 + index, '8')),
  ];
  /** One document for each, as a recorder keeps them. */
  const documents = (lost: readonly number[] = []) =>
    all
      .filter(({ sequence }) => !lost.includes(sequence))
      .map((one) => streamsDocument({ observations: [one], firstSequence: 1, nextSequence: one.sequence + 1 }));
  const cut = (texts: readonly string[], places: readonly number[]) =>
    [0, ...places].map((from, index) => texts.slice(from, places[index]).join(''));
  /** Files of several have no common count of lines, and a finding is known by its facts. */
  const comparable = ({ part, summaries, rows }: BuildReport) => ({
    ...{ rows, summaries, outlines: part.outlines, gaps: part.gaps },
    findings: part.findings.map(({ id: _, facts: { lineFrom, lineTo, ...facts }, ...rest }) => ({ ...rest, facts })),
  });

  it('are read as if they were one, wherever they are cut and in whatever order they are named', async () => {
    const texts = documents();
    const whole = await scan(texts.join(''));
    expect(whole.part.findings.map(({ rule }) => rule)).toEqual(expect.arrayContaining(['machine condition']));
    for (const places of [[1], [5], [10], [12], [16], [4, 9, 13]]) {
      const pieces = cut(texts, places);
      const report = await scanFiles(pieces);
      expect(comparable(report)).toEqual(comparable(whole));
      expect(report.files.map(({ rows }) => rows).reduce((sum, rows) => sum + rows, 0)).toBe(whole.rows);
      expect(comparable(await scanFiles([...pieces].reverse()))).toEqual(comparable(whole));
    }
  });

  it('count what stands in two of them once, and miss what stands in none', async () => {
    const texts = documents();
    const whole = comparable(await scan(texts.join('')));
    expect(comparable(await scanFiles([texts.slice(0, 12).join(''), texts.slice(8).join('')]))).toEqual(whole);
    const holed = documents([12, 13]);
    const report = await scanFiles([holed.slice(0, 11).join(''), holed.slice(11).join('')]);
    expect(ruled(report, 'observations lost')).toMatchObject([
      { facts: { what: { code: 'sequence numbers', from: 12, to: 13 } } },
    ]);
    await expect(scanFiles([texts.join(''), texts.slice(3, 6).join('')])).rejects.toThrow(
      /stream-2\.xml: found no observation that is not in another file/,
    );
  });

  it('are read from the first on, though all that it told was long before the closure', async () => {
    const early = streamsDocument({ observations: usual(0, 0), firstSequence: 1, nextSequence: 6 });
    const late = Array.from({ length: 3 }, (_, index) => sample('o2', at(120 + index), 6 + index, '8'));
    const texts = [early, streamsDocument({ observations: late, firstSequence: 1, nextSequence: 9 })];
    const plan = { ...PLAN, closure: { closedAt: at(120), openedAt: at(130) } };
    const report = await scanFiles(texts, { plan });
    expect(report.files.map(({ rows, firstAt }) => [rows, firstAt])).toEqual([
      [0, null],
      [3, at(120)],
    ]);
    expect(report.summaries.map(({ layer, zone, step }) => [layer, zone, step])).toContainEqual(['4', 'P1', 'deposit']);
    expect(comparable(report).findings).toEqual(comparable(await scan(texts.join(''), { plan })).findings);
  });

  it('name the file and the line of a value that is none, though it waited for the next file', async () => {
    const map = { ...MAP, channels: [{ ...MAP.channels[0]!, sampleRateHz: '10' }, ...MAP.channels.slice(1)] };
    const texts = [
      ...usual(0, 4),
      sample('p', at(5), 10, 'high'),
      ...[6, 7, 8].map((second, index) => sample('o2', at(second), 11 + index, '8')),
    ].map((one) => streamsDocument({ observations: [one], firstSequence: 1, nextSequence: one.sequence + 1 }));
    const pieces = cut(texts, [10]);
    const report = await scanFiles(pieces, { map });
    const [alone] = (await scan(pieces[0]!, { map })).rejections;
    expect(report.rejections).toMatchObject([{ file: 'logs/stream-1.xml', line: alone!.line, field: 'pressure' }]);
    expect(report.files.map(({ rows }) => rows)).toEqual([6, 3]);
  });

  it('are none where the agent was started again between them: nothing that it told before holds', async () => {
    const later = all.slice(9).map((one, index) => ({ ...one, sequence: 1 + index }));
    const second = streamsDocument({ observations: later, instanceId: '99' });
    const report = await scanFiles([documents().slice(0, 9).join(''), second]);
    expect(report.files.map(({ rows, firstAt }) => [rows, firstAt])).toEqual([
      [9, at(0)],
      [10, at(5)],
    ]);
    expect(ruled(report, 'missing values').map(({ startedAt }) => startedAt)).toEqual([at(0), at(5)]);
  });
});

describe('a stream that cannot be read, or is longer or deeper than one may be (ASVS 12.1.1)', () => {
  const good = streamsDocument({ observations: usual(0, 9) });
  const refusals: [string, string, { code: string; line?: number }][] = [
    [
      'a document type declaration',
      good.replace('<MTConnectStreams', '<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/hostname">]>\n<MTConnectStreams'),
      { code: 'xml-doctype', line: 2 },
    ],
    ['an entity that is not of XML itself', good.replace('>8<', '>&eight;<'), { code: 'xml' }],
    ['another root', good.replaceAll('MTConnectStreams', 'MTConnectDevices'), { code: 'mtconnect-root', line: 2 }],
    [
      'an error message of the agent',
      '<MTConnectError xmlns="urn:mtconnect.org:MTConnectError:1.4"/>',
      { code: 'mtconnect-root', line: 1 },
    ],
    [
      'another namespace',
      good.replaceAll('urn:mtconnect.org:MTConnectStreams:1.4', 'urn:x'),
      { code: 'mtconnect-root' },
    ],
    // "Billion laughs" in XML: what one entity holds, the next holds ten times (CWE-776).
    [
      'entities that stand for very much',
      good
        .replace('<MTConnectStreams', '<!DOCTYPE x [<!ENTITY a "xx"><!ENTITY b "&a;&a;&a;">]>\n<MTConnectStreams')
        .replace('>8<', '>&b;<'),
      { code: 'xml-doctype', line: 2 },
    ],
    ['nesting without end', good.replace('<Streams>', '<Streams>'.repeat(200)), { code: 'mtconnect-size' }],
    ['a name without end', good.replace('name="', `name="${'x'.repeat(3 << 20)}`), { code: 'mtconnect-size' }],
    [
      'a tag without end',
      `${good.slice(0, good.indexOf('<Streams>'))}<${'x'.repeat(3 << 20)}`,
      { code: 'mtconnect-size' },
    ],
    ['a comment without end', good.replace('<Streams>', `<!--${'x'.repeat(3 << 20)}`), { code: 'mtconnect-size' }],
    ['blanks without end', good.replace('<Streams>', `<Streams>${' '.repeat(3 << 20)}`), { code: 'mtconnect-size' }],
    ['a cut document', good.slice(0, good.length - 40), { code: 'xml' }],
    ['a tag that is not closed', good.replace('</Streams>', ''), { code: 'xml' }],
    ['an observation without a time', good.replace(/ timestamp="[^"]*"/, ''), { code: 'mtconnect-attribute', line: 8 }],
    [
      'an observation without a sequence number',
      good.replace(/ sequence="4"/, ''),
      { code: 'mtconnect-attribute', line: 8 },
    ],
    ['a sequence number below 1', good.replace('sequence="4"', 'sequence="0"'), { code: 'mtconnect-attribute' }],
    ['a time without zone', good.replace(/(timestamp="[^"]*)Z"/, '$1"'), { code: 'mtconnect-time', line: 8 }],
    ['a 30 February', good.replace('2031-03-03T07:00:00.000Z', '2031-02-30T07:00:00.000Z'), { code: 'mtconnect-time' }],
    ['a set of values', good.replace('>8<', '><Entry key="a">8</Entry><'), { code: 'mtconnect-value' }],
    ['a value without end', good.replace('>8<', `>${'8'.repeat(4001)}<`), { code: 'mtconnect-value', line: 9 }],
    ['a value that fills the memory', good.replace('>8<', `>${'8'.repeat(3 << 20)}<`), { code: 'mtconnect-value' }],
    ['another encoding', good.replace('UTF-8', 'ISO-8859-1'), { code: 'xml-encoding', line: 1 }],
    ['no observation at all', streamsDocument({ observations: [] }), { code: 'log-without-rows' }],
    ['a CSV log', 'timestamp,layer,zone,step,oxygen\n', { code: 'xml' }],
    ['nothing', '', { code: 'log-without-rows' }],
  ];

  it.each(refusals)('refuses %s with its line', async (_name, text, problem) => {
    const error = await scan(text).catch((reason: unknown) => reason);
    expect(error).toBeInstanceOf(BadInputError);
    expect((error as BadInputError).problems[0]).toMatchObject({ file: 'logs/stream.xml', ...problem });
  });

  it('refuses bytes that are not UTF-8', async () => {
    const file = path.join(folder, 'latin.xml');
    fs.writeFileSync(file, Buffer.from(good.replace('cell-1-0001', 'zelle-ä'), 'latin1'));
    const source = { path: file, fileName: 'a', channels: CHANNELS, clockOffsetMs: 0, gapLimitMs: 3000, map: MAP };
    await expect(scanBuild({ plan: PLAN, sources: [source] })).rejects.toThrow('UTF-8');
  });

  it('refuses a unit on which lot file and map do not agree, and a channel that the map does not know', async () => {
    const file = path.join(folder, 'units.xml');
    fs.writeFileSync(file, good);
    const channels = [
      { ...CHANNELS[0]!, loggedUcum: '%' },
      { ...CHANNELS[1]!, name: 'moisture' },
    ];
    const source = { path: file, fileName: 'a', channels, clockOffsetMs: 0, gapLimitMs: 3000, map: MAP };
    const error = await scanBuild({ plan: PLAN, sources: [source] }).catch((reason: unknown) => reason);
    expect((error as BadInputError).problems.map(({ field }) => field)).toEqual(['oxygen', 'moisture']);
  });

  it.each([['eight'], ['0x10'], ['1,5'], ['']])('counts the value "%s" as rejected, and as missing', async (value) => {
    const report = await scan(streamsDocument({ observations: usual(0, 9, (s) => (s === 4 ? value : '8')) }));
    expect(report.files[0]!.rejectedRows).toBe(1);
    expect(report.rejections).toMatchObject([{ code: 'number', field: 'oxygen', file: 'logs/stream.xml', line: 13 }]);
    expect(ruled(report, 'missing values')).toMatchObject([{ startedAt: at(4), endedAt: at(5) }]);
  });
});
