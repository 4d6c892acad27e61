import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import type { LogFinding } from '../../src/dossier/schema.js';
import { scanBuild } from '../../src/process-logs/build-scan.js';
import type { ExpectedZone, PlannedChannel, ScanPlan, ScanWindow } from '../../src/process-logs/plan.js';
import { LogScanner } from '../../src/process-logs/scanner.js';
import type { TextScan } from '../../src/process-logs/text-scan.js';
import { detailText } from '../../src/report/phrases/log-finding.js';
import { event, sample, streamsDocument } from '../support/mtconnect-maker.js';

/**
 * Rows that name no layer, zone or step (purging, cooling down), and lines that cannot be read at all: what either may have
 * shown must not vanish. One row a second from 08:00:00, worked out by hand.
 */

const HEADER = 'timestamp,layer,zone,step,oxygen';
const START_MS = Date.UTC(2026, 2, 2, 8, 0, 0);
const second = (at: number) => new Date(START_MS + at * 1000).toISOString();
const row = (at: number, place: string, oxygen: number | string) => `${second(at)},${place},${oxygen}`;
/** The place of a row that names none. */
const NOWHERE = ',,';
const EVERYTHING = [{ zone: null, layerFrom: null, layerTo: null }];

const oxygen: PlannedChannel = {
  name: 'oxygen',
  ucum: '[ppm]',
  loggedUcum: '[ppm]',
  unitFrom: ['lot file'],
  dewPoint: null,
};
const step = { step: 'deposit', everyLayers: 1, shortestMs: null, longestMs: null };
const zoneOf = (zone: string): ExpectedZone => ({ zone, layerFrom: 1, layerTo: 9, firstLayer: 1, steps: [step] });
const reject: ScanWindow = {
  channel: 'oxygen',
  level: 'reject',
  low: null,
  high: 100,
  minimumMs: null,
  integralLimit: null,
  scope: 'closure',
};
const inZoneA: ScanWindow = { ...reject, scope: { zone: 'A', step: 'deposit', layerFrom: 1, layerTo: 9 } };

const planOf = (changes: Partial<ScanPlan> = {}): ScanPlan => ({
  build: 'B1',
  channels: [oxygen],
  windows: [reject],
  setValues: [],
  inert: { channels: [], joinMs: 0 },
  closure: null,
  expected: [],
  nominalPeriodMs: 1000,
  gapLimitMs: 5000,
  clockOffsetMs: 0,
  ...changes,
});

function scan(lines: readonly string[], plan = planOf()): TextScan {
  const scanner = new LogScanner(plan, 'log.csv');
  scanner.push(Buffer.from(`${[HEADER, ...lines].join('\n')}\n`));
  return scanner.end();
}

const ruled = ({ part }: { part: { findings: readonly LogFinding[] } }, rule: string) =>
  part.findings.filter((finding) => finding.rule === rule);

describe('rows without layer, zone and step', () => {
  const closure = { closedAt: second(0), openedAt: second(300) };
  const plan = planOf({
    closure,
    expected: [
      { ...zoneOf('A'), layerTo: 1 },
      { ...zoneOf('B'), layerTo: 1 },
    ],
  });
  const lines = Array.from({ length: 301 }, (_, at) => {
    if (at >= 120 && at < 150) return row(at, '1,A,deposit', 8);
    if (at >= 150 && at < 180) return row(at, '1,B,deposit', 8);
    return row(at, NOWHERE, at >= 40 && at < 60 ? 950 : 8);
  });

  it('are kept, cover every unit, and make a log of purge, build and cooling complete', () => {
    const result = scan(lines, plan);
    expect(result).toMatchObject({ rows: 301, rejectedRows: 0 });
    expect(result.part.findings).toMatchObject([
      {
        rule: 'excursion',
        level: 'reject',
        startedAt: second(40),
        endedAt: second(60),
        places: EVERYTHING,
        facts: { worst: 950, limit: 100, rows: 20 },
      },
    ]);
  });

  it('are read alike on the fast way and on the careful one', () => {
    const careful = scan(
      lines.map((line) => line.replace(',,,', ',,"",')),
      plan,
    );
    expect(careful.part).toEqual(scan(lines, plan).part);
    expect(careful.summaries).toEqual(scan(lines, plan).summaries);
  });

  it('are found missing where the log is cut at either end', () => {
    const cut = scan(lines.slice(90, 210), plan);
    expect(ruled(cut, 'log starts late')).toMatchObject([{ startedAt: second(0), endedAt: second(90) }]);
    expect(ruled(cut, 'log ends early')).toMatchObject([{ startedAt: second(210), endedAt: second(300) }]);
  });

  it('cover what their layer says where it is one of the lot, and everything where it is not', () => {
    const placesOf = (place: string) =>
      ruled(scan([row(0, place, 950), row(1, place, 8)], planOf({ expected: [zoneOf('A')] })), 'excursion')[0]!.places;
    expect(placesOf('7,,purge')).toEqual([{ zone: null, layerFrom: 7, layerTo: 7 }]);
    expect(placesOf('0,,purge')).toEqual(EVERYTHING);
    expect(placesOf('0,chamber,purge')).toEqual(EVERYTHING);
    // Nobody knows how a zone that the lot does not know counts its layers.
    expect(placesOf('7,chamber,purge')).toEqual(EVERYTHING);
    expect(placesOf('0,A,deposit')).toEqual([{ zone: 'A', layerFrom: null, layerTo: null }]);
  });

  it('are an action finding where they leave open to which limits of zone and step they belong', () => {
    const strange = (place: string, windows: ScanWindow[]) =>
      scan([row(0, '1,A,deposit', 8), row(1, place, 950), row(2, '1,A,deposit', 8)], {
        ...planOf({ expected: [{ ...zoneOf('A'), layerTo: 1 }] }),
        windows,
      }).part.findings.map(({ rule, level, places, facts }) => [rule, level, places, detailText(facts.what!)]);
    const inLayer = (zone: string | null) => [{ zone, layerFrom: 1, layerTo: 1 }];
    expect(strange('1,A,', [inZoneA])).toEqual([['unknown step', 'action', inLayer('A'), 'none named in A']]);
    expect(strange('1,,deposit', [inZoneA])).toEqual([
      ['unknown zone', 'action', inLayer(null), 'none named for deposition'],
    ]);
    expect(strange('1,A,', [])).toEqual([['unknown step', 'alert', inLayer('A'), 'none named in A']]);
    expect(strange('1,,idle', [inZoneA])).toEqual([]);
  });
});

describe('lines that are rejected', () => {
  const bad = (at: number, place = '1,A,deposit') => row(at, place, 'ERR');
  const closure = { closedAt: second(0), openedAt: second(100) };
  const rejected = (lines: readonly string[], plan?: ScanPlan) =>
    ruled(scan(lines, plan), 'rows rejected').map(({ level, startedAt, endedAt, places, facts }) => ({
      level,
      from: startedAt,
      to: endedAt,
      places,
      rows: facts.rows,
      lines: [facts.lineFrom, facts.lineTo],
    }));
  const good = (at: number, place = '1,A,deposit') => row(at, place, 8);

  it('are at action level from the first one on, wherever a limit had to be kept', () => {
    const lines = [good(0), bad(1), good(2)];
    const places = [{ zone: 'A', layerFrom: 1, layerTo: 1 }];
    const found = { from: second(0), to: second(2), places, rows: 1, lines: [3, 3] };
    expect(rejected(lines)).toEqual([{ level: 'action', ...found }]);
    expect(rejected(lines, planOf({ windows: [] }))).toEqual([{ level: 'alert', ...found }]);
    const setting = { channel: 'oxygen', value: 8, scope: inZoneA.scope as Exclude<ScanWindow['scope'], 'closure'> };
    expect(rejected(lines, planOf({ windows: [], setValues: [setting] }))).toEqual([{ level: 'action', ...found }]);
  });

  it('lie anywhere between the rows before and behind them', () => {
    const placesOf = (next: string) => rejected([good(0, '3,A,deposit'), bad(1), good(2, next)])[0]!.places;
    expect(placesOf('6,A,peen')).toEqual([{ zone: 'A', layerFrom: 3, layerTo: 6 }]);
    expect(placesOf('3,B,deposit')).toEqual([{ zone: null, layerFrom: 3, layerTo: 3 }]);
    expect(placesOf(NOWHERE)).toEqual(EVERYTHING);
  });

  it('are counted by hole, and by reason', () => {
    const lines = [good(0), bad(1), 'rubbish', bad(2), good(3), good(4), bad(5), good(6)];
    expect(ruled(scan(lines), 'rows rejected').map(({ facts }) => facts)).toEqual([
      { what: { code: 'rejected', reason: 'number of fields' }, rows: 1, lineFrom: 4, lineTo: 4, durationMs: 3000 },
      {
        what: { code: 'rejected', reason: 'number' },
        rows: 3,
        occurrences: 2,
        lineFrom: 3,
        lineTo: 8,
        durationMs: 5000,
      },
    ]);
  });

  it('are noted while the chamber is open, when nothing had to be watched there', () => {
    const plan = planOf({ closure });
    const outside = [...[-3, -1, 0].map((at) => good(at, NOWHERE)), ...[100, 102].map((at) => good(at, NOWHERE))];
    const lines = [outside[0]!, bad(-2), ...outside.slice(1, 4), bad(101), outside[4]!];
    expect(rejected(lines, { ...plan, gapLimitMs: 200_000 })).toMatchObject([{ level: 'alert', rows: 2 }]);
    const inside = [good(0, NOWHERE), bad(1), good(2, NOWHERE)];
    expect(rejected(inside, plan)).toMatchObject([{ level: 'action', rows: 1 }]);
  });

  it('at either end of a log cover everything, and nothing is forgiven for the time that they stood for', () => {
    const plan = planOf({ closure });
    const rows = Array.from({ length: 61 }, (_, index) => good(index + 20));
    expect(scan(rows, plan).part.findings).toEqual([]);
    const result = scan([bad(0), ...rows, bad(99)], plan);
    expect(
      result.part.findings.map(({ rule, level, startedAt, endedAt }) => [rule, level, startedAt, endedAt]),
    ).toEqual([
      ['log starts late', 'action', second(0), second(20)],
      ['rows rejected', 'action', second(0), second(100)],
      ['log ends early', 'action', second(81), second(100)],
    ]);
    expect(ruled(result, 'rows rejected')[0]!.places).toEqual(EVERYTHING);
  });
});

describe('what cannot be read in a file among others', () => {
  const folder = mkdtempSync(path.join(os.tmpdir(), 'lotwright-holes-'));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  const sourceOf = (name: string, text: string) => {
    const file = path.join(folder, name);
    writeFileSync(file, text);
    return { path: file, fileName: name, channels: [oxygen], clockOffsetMs: 0, gapLimitMs: 10_000, map: null };
  };

  it('is a hole until that file goes on, over all that was done meanwhile', async () => {
    const first = [HEADER, ...[0, 1, 2, 3, 4].map((at) => row(at, `${at + 1},A,deposit`, 8))];
    const moisture = { ...oxygen, name: 'moisture' };
    const second_ = [
      'timestamp,layer,zone,step,moisture',
      row(1, NOWHERE, 4),
      row(2, NOWHERE, 'ERR'),
      row(3, NOWHERE, 4),
    ];
    const sources = [
      sourceOf('places.csv', `${first.join('\n')}\n`),
      { ...sourceOf('values.csv', `${second_.join('\n')}\n`), channels: [moisture] },
    ];
    const report = await scanBuild({ plan: planOf({ channels: [oxygen, moisture] }), sources });
    expect(report.rejectionsByCode).toEqual({ number: 1 });
    expect(ruled(report, 'rows rejected')).toMatchObject([
      {
        level: 'action',
        startedAt: second(1),
        endedAt: second(3),
        places: [{ zone: 'A', layerFrom: 2, layerTo: 4 }],
        facts: { what: { code: 'rejected', reason: 'number' }, rows: 1 },
      },
    ]);
  });

  it('lies in a stream where it was observed, not where its document begins', async () => {
    const map = {
      kind: 'channel-map' as const,
      format: 1 as const,
      map: 'CM',
      revision: 1,
      title: 'stream',
      machine: 'M1',
      source: 'MTConnect streams' as const,
      channels: [{ dataItem: 'o2', channel: 'oxygen', ucum: '[ppm]' }],
      place: { layer: 'ln', zone: 'zn', step: 'st' },
      everySequence: 'yes' as const,
    };
    const observations = [
      event('ZoneName', 'zn', second(0), 1, 'A'),
      event('Execution', 'st', second(0), 2, 'deposit'),
      ...[0, 1, 2, 3, 4].flatMap((at) => [
        event('LayerNumber', 'ln', second(at), 3 + 2 * at, String(at + 1)),
        sample('o2', second(at), 4 + 2 * at, at === 3 ? 'eight' : '8'),
      ]),
    ];
    const source = { ...sourceOf('stream.xml', streamsDocument({ observations })), map };
    const report = await scanBuild({ plan: planOf(), sources: [source] });
    expect(ruled(report, 'rows rejected')).toMatchObject([
      { level: 'action', startedAt: second(2), places: [{ zone: 'A', layerFrom: 3, layerTo: 4 }] },
    ]);
  });
});
