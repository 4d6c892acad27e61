import { execFileSync, spawn } from 'node:child_process';
import { createWriteStream, mkdtempSync, rmSync, statSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { fileURLToPath } from 'node:url';

/**
 * The whole job on a stream of MTConnect documents against `sha256sum` of the same file in the same run, and the memory of
 * a process that does nothing else. Medians of several runs. LOTWRIGHT_BENCH_LOG_MB sets the sizes (60,240).
 */

const SIZES_MB = (process.env.LOTWRIGHT_BENCH_LOG_MB ?? '60,240').split(',').map(Number);
const REPEATS = 3;
const SCAN = new URL('../../dist/process-logs/build-scan.js', import.meta.url).href;
const CHANNELS = 12;
/** Observations of one channel in one document: two seconds at 50 Hz. */
const IN_DOCUMENT = 100;
const PERIOD_MS = 20;

export async function run() {
  const results = [];
  for (const megabytes of SIZES_MB) results.push(...(await measure(megabytes)));
  return results;
}

async function measure(megabytes) {
  const folder = mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-'));
  try {
    const file = path.join(folder, 'stream.xml');
    await pipeline(Readable.from(documents(megabytes * 1_000_000)), createWriteStream(file));
    const ratios = [];
    let resident = 0;
    for (let repeat = 0; repeat < REPEATS; repeat += 1) {
      const start = process.hrtime.bigint();
      execFileSync('sha256sum', [file]);
      const hashS = Number(process.hrtime.bigint() - start) / 1e9;
      const scan = await scanAlone(file);
      ratios.push(scan.seconds / hashS);
      resident = Math.max(resident, scan.residentMb);
    }
    const size = `${Math.round(statSync(file).size / 1e6)} MB`;
    return [
      { name: 'MTConnect stream, whole job', of: size, figure: ratios.sort((a, b) => a - b)[1] },
      { name: 'MTConnect stream, resident memory whatever the size', of: size, figure: resident },
    ];
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** Scans in a process of its own, so that its memory is that of the scan. */
async function scanAlone(file) {
  const own = fileURLToPath(import.meta.url);
  const child = spawn(process.execPath, [own, file], { stdio: ['ignore', 'pipe', 'inherit'] });
  let output = '';
  for await (const chunk of child.stdout) output += chunk;
  return JSON.parse(output);
}

const names = Array.from({ length: CHANNELS }, (_, index) => `channel-${index + 1}`);

async function scanForMeasurement(file) {
  const { scanBuild } = await import(SCAN);
  const channels = names.map((name) => ({ name, ucum: '1', loggedUcum: null, unitFrom: [], dewPoint: null }));
  const window = { level: 'action', low: 0, high: 99, minimumMs: null, integralLimit: null, scope: 'closure' };
  const plan = {
    build: 'BENCH-1',
    channels,
    windows: names.map((channel) => ({ channel, ...window })),
    setValues: [],
    inert: { channels: [], joinMs: 0 },
    closure: null,
    expected: [],
    nominalPeriodMs: PERIOD_MS,
    gapLimitMs: 1000,
    clockOffsetMs: 0,
  };
  const map = {
    ...{ kind: 'channel-map', format: 1, map: 'CM-1', revision: 1, title: 'bench', machine: 'M1' },
    source: 'MTConnect streams',
    channels: names.map((channel) => ({ dataItem: `item-${channel}`, channel, ucum: '1' })),
    place: {},
    everySequence: 'yes',
  };
  const start = process.hrtime.bigint();
  const sources = [{ path: file, fileName: 'stream.xml', channels, clockOffsetMs: 0, gapLimitMs: 1000, map }];
  const report = await scanBuild({ plan, sources });
  const seconds = Number(process.hrtime.bigint() - start) / 1e9;
  if (report.part.findings.length > 0) throw new Error(JSON.stringify(report.part.findings[0]));
  console.log(JSON.stringify({ seconds, residentMb: process.resourceUsage().maxRSS / 1000 }));
}

/** Documents one behind the other, each listing its observations by data item, as an agent does. */
function* documents(size) {
  let written = 0;
  for (let index = 0; written < size; index += 1) {
    const text = documentText(index);
    written += text.length;
    yield text;
  }
}

function documentText(index) {
  const first = 1 + index * CHANNELS * IN_DOCUMENT;
  const startMs = Date.UTC(2031, 2, 3, 7) + index * IN_DOCUMENT * PERIOD_MS;
  const next = first + CHANNELS * IN_DOCUMENT;
  const lines = names.flatMap((name, channel) =>
    Array.from({ length: IN_DOCUMENT }, (_, at) => {
      const time = new Date(startMs + at * PERIOD_MS).toISOString();
      const value = (40 + 9 * Math.sin((index * IN_DOCUMENT + at) / (20 + channel))).toFixed(3);
      const attributes = `dataItemId="item-${name}" timestamp="${time}" sequence="${first + at * CHANNELS + channel}"`;
      return `          <Load ${attributes} name="${name}">${value}</Load>`;
    }),
  );
  return `<?xml version="1.0" encoding="UTF-8"?>
<MTConnectStreams xmlns="urn:mtconnect.org:MTConnectStreams:2.7">
  <Header creationTime="2031-03-03T07:00:00Z" sender="bench" instanceId="1" version="2.7.0" bufferSize="131072" firstSequence="1" lastSequence="${next - 1}" nextSequence="${next}"/>
  <Streams>
    <DeviceStream name="cell" uuid="cell-1">
      <ComponentStream component="Device" name="cell" componentId="d1">
        <Samples>
${lines.join('\n')}
        </Samples>
      </ComponentStream>
    </DeviceStream>
  </Streams>
</MTConnectStreams>
`;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) await scanForMeasurement(process.argv[2]);
