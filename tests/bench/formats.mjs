import { execFileSync, spawn } from 'node:child_process';
import { createWriteStream, mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import http from 'node:http';
import os from 'node:os';
import path from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { setTimeout as pause } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';

/**
 * The whole job on a stream of MTConnect documents against `sha256sum` of the same file in the same run, and the memory of
 * a process that does nothing else; the same for one document of a million observations, which is sorted on disk. Medians of
 * several runs. LOTWRIGHT_BENCH_LOG_MB sets the sizes (60,240). Then the share of a core that the recorder takes of an agent
 * that tells 50 channels ten times a second.
 */

const SIZES_MB = (process.env.LOTWRIGHT_BENCH_LOG_MB ?? '60,240').split(',').map(Number);
const REPEATS = 3;
const CLI = fileURLToPath(new URL('../../dist/cli.js', import.meta.url));
const SCAN = new URL('../../dist/process-logs/build-scan.js', import.meta.url).href;
const CHANNELS = 12;
/** Observations of one channel in one document: two seconds at 50 Hz. */
const IN_DOCUMENT = 100;
const PERIOD_MS = 20;
/** Observations of one channel in the one large document. */
const IN_LARGE = 84_000;
const RECORDED = { channels: 50, periodMs: 100, warmUpMs: 6000, measuredMs: 20_000 };

export async function run() {
  const results = [];
  for (const megabytes of SIZES_MB) {
    const names = { job: 'MTConnect stream, whole job', memory: 'MTConnect stream, resident memory whatever the size' };
    results.push(...(await measure(documents(megabytes * 1_000_000), names)));
  }
  const names = {
    job: 'MTConnect, one document of a million observations, whole job',
    memory: 'MTConnect, one document of a million observations, resident memory',
  };
  results.push(...(await measure([documentText(0, IN_LARGE)], names)), await recorderShare());
  return results;
}

async function measure(texts, names) {
  const folder = mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-'));
  try {
    const file = path.join(folder, 'stream.xml');
    await pipeline(Readable.from(texts), createWriteStream(file));
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
      { name: names.job, of: size, figure: ratios.sort((a, b) => a - b)[1] },
      { name: names.memory, of: size, figure: resident },
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

function documentText(index, each = IN_DOCUMENT) {
  const first = 1 + index * CHANNELS * each;
  const startMs = Date.UTC(2031, 2, 3, 7) + index * each * PERIOD_MS;
  const next = first + CHANNELS * each;
  const lines = names.flatMap((name, channel) =>
    Array.from({ length: each }, (_, at) => {
      const time = new Date(startMs + at * PERIOD_MS).toISOString();
      const value = (40 + 9 * Math.sin((index * each + at) / (20 + channel))).toFixed(3);
      const attributes = `dataItemId="item-${name}" timestamp="${time}" sequence="${first + at * CHANNELS + channel}"`;
      return `          <Load ${attributes} name="${name}">${value}</Load>`;
    }),
  );
  return wrapped(lines, { first: 1, next });
}

function wrapped(lines, { first, next }) {
  return `<?xml version="1.0" encoding="UTF-8"?>
<MTConnectStreams xmlns="urn:mtconnect.org:MTConnectStreams:2.7">
  <Header creationTime="2031-03-03T07:00:00Z" sender="bench" instanceId="1" version="2.7.0" bufferSize="131072" firstSequence="${first}" lastSequence="${next - 1}" nextSequence="${next}"/>
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

/** The processor time of the recorder, in percent of the time that passes, while an agent tells it all there is. */
async function recorderShare() {
  const { channels, periodMs, warmUpMs, measuredMs } = RECORDED;
  const folder = mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-'));
  const agent = http.createServer((request, response) => answer(request.url, response));
  await new Promise((listening) => agent.listen(0, '127.0.0.1', listening));
  const url = `http://127.0.0.1:${agent.address().port}`;
  const options = ['log-stream', url, '--out', path.join(folder, 'out'), '--interval', String(periodMs)];
  const recorder = spawn(process.execPath, [CLI, ...options], { stdio: 'ignore' });
  try {
    await pause(warmUpMs);
    const [from, start] = [processorMs(recorder.pid), performance.now()];
    await pause(measuredMs);
    const figure = (100 * (processorMs(recorder.pid) - from)) / (performance.now() - start);
    return { name: 'recorder of an agent', of: `${channels} channels at ${1000 / periodMs} Hz`, figure };
  } finally {
    const ended = new Promise((exit) => recorder.once('exit', exit));
    recorder.kill('SIGTERM');
    await ended;
    agent.closeAllConnections();
    agent.close();
    rmSync(folder, { recursive: true, force: true });
  }
}

let told = 0;

/** Every channel once, with the numbers that come next. */
function round() {
  const { channels } = RECORDED;
  const time = new Date().toISOString();
  const first = told + 1;
  told += channels;
  const lines = Array.from({ length: channels }, (_, at) => {
    const attributes = `dataItemId="item-${at}" timestamp="${time}" sequence="${first + at}" name="channel-${at}"`;
    return `          <Load ${attributes}>${(first % 97) + at / 10}</Load>`;
  });
  return wrapped(lines, { first: Math.max(1, first - 100_000), next: told + 1 });
}

function answer(asked, response) {
  if (asked.startsWith('/current')) {
    response.setHeader('content-type', 'text/xml');
    response.end(round());
    return;
  }
  response.setHeader('content-type', 'multipart/x-mixed-replace;boundary=a1b2');
  const timer = setInterval(() => {
    const text = round();
    response.write(`--a1b2\r\nContent-type: text/xml\r\nContent-length: ${text.length}\r\n\r\n${text}\r\n`);
  }, RECORDED.periodMs);
  response.on('close', () => clearInterval(timer));
}

/** Of a process, user and system together, by the kernel, which counts in hundredths of a second. */
function processorMs(pid) {
  const fields = readFileSync(`/proc/${pid}/stat`, 'utf8')
    .replace(/^.*\) /, '')
    .split(' ');
  return (Number(fields[11]) + Number(fields[12])) * 10;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) await scanForMeasurement(process.argv[2]);
