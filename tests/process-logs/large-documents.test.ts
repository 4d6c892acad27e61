import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import type { ChannelMap } from '../../src/kinds/channel-map.js';
import { scanBuild } from '../../src/process-logs/build-scan.js';
import type { Observation } from '../../src/process-logs/mtconnect/observation.js';
import { ObservationBatch } from '../../src/process-logs/mtconnect/observation-batch.js';
import type { ScanPlan } from '../../src/process-logs/plan.js';
import { uniformNumbers } from '../support/numbers.js';

/** Documents of a stream that are larger than what is held in memory: sorted in runs on disk, they say the same. */

const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-large-documents-'));
afterAll(() => fs.rmSync(folder, { recursive: true, force: true }));

const condition = (line: number) =>
  ({ dataItem: 'c', element: 'Fault', value: `täglich ${line}`, line }) as Observation;

/** All that a batch tells of three documents of random observations, of which some wait for the next one. */
function toldBy(inMemory: number, seed: number): readonly unknown[] {
  const batch = new ObservationBatch(['a'], path.join(folder, 'archive'), inMemory);
  const random = uniformNumbers(seed);
  const told: unknown[] = [];
  let line = 0;
  for (const size of [300, 7, 150]) {
    batch.clear();
    for (let index = 0; index < size; index += 1) {
      line += 1;
      // Few times and many sequences, so that times are equal and order is by sequence.
      const at = batch.add(Math.floor(random() * 60), Math.floor(random() * 1e6), index % 5, random(), line);
      if (index % 7 === 0) batch.texts.set(at, `text ${line} ${'x'.repeat(index)}`);
      else if (index % 11 === 0) batch.conditions.set(at, condition(line));
    }
    told.push(batch.earliestUs(), batch.lowestSequenceUs());
    batch.eachBySequence((...one) => told.push(one));
    if (size === 7) batch.add(batch.earliestUs(), 0, -6, Number.NaN, line);
    batch.settle(size === 150 ? Number.POSITIVE_INFINITY : 40);
    for (let at = batch.peek(); at >= 0; at = batch.peek()) {
      const numbers = [batch.timeUs[at], batch.sequence[at], batch.role[at], batch.value[at], batch.line[at]];
      const { value, line: of } = batch.conditions.get(at) ?? { value: null, line: null };
      told.push([...numbers, batch.texts.get(at), value, of]);
      batch.skip();
    }
  }
  batch.clear();
  expect(batch.isEmpty).toBe(true);
  batch.close();
  return told;
}

it.each([1, 2, 13, 64, 299, 300])('are told alike where %i observations are held in memory', (inMemory) => {
  for (const seed of [1, 2, 3]) expect(toldBy(inMemory, seed)).toEqual(toldBy(1_000_000, seed));
  // Of the files on disk nothing is left that has a name.
  expect(fs.readdirSync(folder)).toEqual([]);
});

const CHANNELS = ['a', 'b', 'c', 'd', 'e', 'f', 'g', 'h', 'i', 'j'];
const PERIOD_MS = 20;
const START = Date.UTC(2031, 2, 3, 7);

/** One document that lists each data item by itself from its first observation to its last, as an agent does. */
function* oneDocument(each: number, lost: number): Generator<string> {
  const all = each * CHANNELS.length;
  yield `<?xml version="1.0" encoding="UTF-8"?>
<MTConnectStreams xmlns="urn:mtconnect.org:MTConnectStreams:2.7"><Header creationTime="2031-03-03T07:00:00Z" sender="s" instanceId="1" version="2.7.0" bufferSize="${all}" firstSequence="1" lastSequence="${all}" nextSequence="${all + 1}"/><Streams><DeviceStream name="d" uuid="d"><ComponentStream component="Device" name="d" componentId="d"><Samples>
`;
  for (const [channel, name] of CHANNELS.entries()) {
    let piece = '';
    for (let at = 0; at < each; at += 1) {
      const sequence = 1 + at * CHANNELS.length + channel;
      if (sequence === lost) continue;
      const value = name === 'd' && at === each - 2 ? 101 : at % 100;
      piece += `<Load dataItemId="${name}" timestamp="${new Date(START + at * PERIOD_MS).toISOString()}" sequence="${sequence}">${value}</Load>\n`;
      if (piece.length > 1 << 20) {
        yield piece;
        piece = '';
      }
    }
    yield piece;
  }
  yield '</Samples></ComponentStream></DeviceStream></Streams></MTConnectStreams>\n';
}

/** 300 000 are more than is held in memory; ten million in the long run alone. */
const EACH = process.env.LOTWRIGHT_TEST_LONG === '1' ? 1_000_000 : 30_000;

it('of any number of observations are read in the order of time, with the value and the number that are wrong found', async () => {
  const file = path.join(folder, 'stream.xml');
  const lost = EACH * 5 + 3;
  await pipeline(Readable.from(oneDocument(EACH, lost)), fs.createWriteStream(file));
  const channels = CHANNELS.map((name) => ({ name, ucum: '1', loggedUcum: null, unitFrom: [], dewPoint: null }));
  const window = {
    level: 'action',
    low: 0,
    high: 100,
    minimumMs: null,
    integralLimit: null,
    scope: 'closure',
  } as const;
  const plan: ScanPlan = {
    ...{ build: 'M1-7', channels, windows: CHANNELS.map((channel) => ({ channel, ...window })), setValues: [] },
    ...{ inert: { channels: [], joinMs: 0 }, closure: null, expected: [], nominalPeriodMs: PERIOD_MS },
    ...{ gapLimitMs: 1000, clockOffsetMs: 0 },
  };
  const map: ChannelMap = {
    ...{ kind: 'channel-map', format: 1, map: 'CM-1', revision: 1, title: 'invented cell', machine: 'M1' },
    ...{ source: 'MTConnect streams', place: {}, everySequence: 'yes' },
    channels: CHANNELS.map((name) => ({ dataItem: name, channel: name, ucum: '1' })),
  };
  const source = { path: file, fileName: 'a.xml', channels, clockOffsetMs: 0, gapLimitMs: 1000, map };
  const report = await scanBuild({ plan, sources: [source] });
  expect(report.rows).toBe(EACH);
  const at = (index: number) => new Date(START + index * PERIOD_MS).toISOString();
  const { findings } = report.part;
  expect(findings).toHaveLength(2);
  expect(findings.find(({ rule }) => rule === 'observations lost')!.facts).toMatchObject({
    what: { code: 'sequence numbers', from: lost, to: lost },
  });
  expect(findings.find(({ channel }) => channel === 'd')).toMatchObject({
    ...{ startedAt: at(EACH - 2), endedAt: at(EACH - 1) },
  });
  expect(report.summaries.map(({ n }) => n)).toEqual(CHANNELS.map(() => String(EACH)));
});
