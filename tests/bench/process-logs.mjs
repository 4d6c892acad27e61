import { execFileSync, spawn } from 'node:child_process';
import { createReadStream, createWriteStream, mkdtempSync, rmSync, statSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { pipeline } from 'node:stream/promises';
import { fileURLToPath } from 'node:url';
import { createGzip } from 'node:zlib';
import { EvidenceFiles } from '../../dist/store/evidence/evidence-files.js';

/**
 * The whole job on a log (hash, validate, summarise, findings, outline) against `sha256sum` of the same file in the same
 * run; the same for gzip; the copy into the evidence that comes before; and the memory of a process that does nothing
 * else. Medians of several runs.
 * LOTWRIGHT_BENCH_LOG_MB sets the sizes (100,500).
 */

const SIZES_MB = (process.env.LOTWRIGHT_BENCH_LOG_MB ?? '100,500').split(',').map(Number);
const REPEATS = 3;
const SCAN = new URL('../../dist/process-logs/scan-stream.js', import.meta.url).href;

export async function run() {
  const results = [];
  for (const megabytes of SIZES_MB) results.push(...(await measure(megabytes)));
  return results;
}

async function measure(megabytes) {
  const folder = mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-'));
  try {
    const plain = path.join(folder, 'log.csv');
    const packed = path.join(folder, 'log.csv.gz');
    await pipeline(logBytes(megabytes * 1_000_000), createWriteStream(plain));
    await pipeline(createReadStream(plain), createGzip({ level: 6 }), createWriteStream(packed));
    const hashS = [];
    const copyRuns = [];
    const plainRuns = [];
    const packedRuns = [];
    const archiveRuns = [];
    for (let repeat = 0; repeat < REPEATS; repeat += 1) {
      hashS.push(secondsOf(() => execFileSync('sha256sum', [plain])));
      copyRuns.push({ seconds: await copySeconds(plain, path.join(folder, 'evidence')) });
      plainRuns.push(await scanAlone(plain));
      packedRuns.push(await scanAlone(packed));
      archiveRuns.push(await scanAlone(plain, path.join(folder, 'archive')));
    }
    const base = median(hashS);
    const size = `${Math.round(statSync(plain).size / 1e6)} MB`;
    const resident = Math.max(...[...plainRuns, ...packedRuns, ...archiveRuns].map((result) => result.residentMb));
    const ratio = (runs) => median(runs.map((result) => result.seconds)) / base;
    return [
      { name: 'process log, copied into the evidence', of: size, figure: ratio(copyRuns) },
      { name: 'process log, whole job', of: size, figure: ratio(plainRuns) },
      { name: 'process log, gzip', of: size, figure: ratio(packedRuns) },
      { name: 'process log, with its archive', of: size, figure: ratio(archiveRuns) },
      { name: 'process log, resident memory whatever the size', of: size, figure: resident },
    ];
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function median(values) {
  return [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];
}

function secondsOf(work) {
  const start = process.hrtime.bigint();
  work();
  return Number(process.hrtime.bigint() - start) / 1e9;
}

/** Copied, hashed and synced, as intake does before it scans. */
async function copySeconds(file, folder) {
  const evidence = EvidenceFiles.inFolder(folder);
  const start = process.hrtime.bigint();
  const received = await evidence.receive(file);
  const seconds = Number(process.hrtime.bigint() - start) / 1e9;
  received.drop();
  return seconds;
}

/** Scans in a process of its own, so that its memory is that of the scan. */
async function scanAlone(file, archive) {
  const args = archive === undefined ? [file] : [file, archive];
  const child = spawn(process.execPath, [fileURLToPath(import.meta.url), ...args], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  let output = '';
  for await (const chunk of child.stdout) output += chunk;
  return JSON.parse(output);
}

async function scanForMeasurement(file, archive) {
  const { scanFile } = await import(SCAN);
  const start = process.hrtime.bigint();
  const request = { path: file, fileName: path.basename(file), plan: benchPlan() };
  const report = await scanFile(archive === undefined ? request : { ...request, archive });
  const seconds = Number(process.hrtime.bigint() - start) / 1e9;
  const residentMb = process.resourceUsage().maxRSS / 1000;
  const { rows } = report.facts;
  console.log(JSON.stringify({ seconds, residentMb, rows, findings: report.part.findings.length }));
}

const CHANNELS = [
  ['oxygen', '[ppm]', 12, 3, 2],
  ['moisture', '[ppm]', 8, 2, 2],
  ['pressure', 'mbar', 1032, 4, 1],
  ['laser-power', 'W', 300, 6, 1],
  ['scan-speed', 'mm/s', 8, 0.3, 3],
  ['powder-flow', 'g/min', 4, 0.2, 3],
  ['shield-gas', 'L/min', 12, 0.5, 2],
  ['melt-pool', 'Cel', 655, 9, 1],
  ['peen-force', 'N', 45, 2, 2],
  ['spindle-load', '%', 20, 4, 1],
  ['plate-temperature', 'Cel', 120, 1.5, 1],
  ['dew-point', 'Cel', -62, 1, 1],
].map(([name, ucum, typical, spread, decimals]) => ({ name, ucum, typical, spread, decimals }));
const ZONES = ['P1-bridge', 'P1-hole', 'P2-bridge', 'P2-hole', 'W1-coupon'];
const STEPS = ['deposit', 'peen', 'mill'];
const PERIOD_MS = 2;
/** Ten seconds: a short step of one zone. */
const ROWS_PER_STEP = 5000;

/** Three levels on every channel, as a full recipe has them. */
function benchPlan() {
  return {
    build: 'BENCH-1',
    channels: CHANNELS.map(({ name, ucum }) => ({
      name,
      ucum,
      loggedUcum: ucum,
      unitFrom: ['lot file'],
      dewPoint: null,
    })),
    windows: CHANNELS.flatMap(({ name, typical, spread }) =>
      ['alert', 'action', 'reject'].map((level, index) => ({
        channel: name,
        level,
        low: typical - (3 + index / 3) * spread,
        high: typical + (3 + index / 3) * spread,
        minimumMs: index === 0 ? 20 : null,
        integralLimit: null,
        scope: 'closure',
      })),
    ),
    setValues: [],
    inert: { channels: ['oxygen', 'moisture', 'pressure'], joinMs: 1000 },
    closure: { closedAt: '2026-03-02T07:15:00Z', openedAt: '2026-03-03T07:15:00Z' },
    expected: ZONES.map((zone) => ({ zone, layerFrom: 1, layerTo: 100_000, firstLayer: 1, steps: [] })),
    nominalPeriodMs: PERIOD_MS,
    gapLimitMs: 100,
    clockOffsetMs: 0,
  };
}

/** A log at 500 Hz of at least so many bytes. Written apart from the tests' maker, since this runs without TypeScript. */
function* logBytes(size) {
  const next = random(20_260_302);
  const wander = CHANNELS.map(() => 0);
  const startMs = Date.UTC(2026, 2, 2, 7, 15, 0);
  const header = `timestamp,layer,zone,step,${CHANNELS.map((channel) => channel.name).join(',')}\n`;
  let written = header.length;
  let text = header;
  for (let row = 0; written < size; row += 1) {
    const block = Math.floor(row / ROWS_PER_STEP);
    const layer = Math.floor(block / (ZONES.length * STEPS.length)) + 1;
    const zone = ZONES[block % ZONES.length];
    const step = STEPS[Math.floor(block / ZONES.length) % STEPS.length];
    let line = `${new Date(startMs + row * PERIOD_MS).toISOString()},${layer},${zone},${step}`;
    for (let index = 0; index < CHANNELS.length; index += 1) {
      const { typical, spread, decimals } = CHANNELS[index];
      wander[index] = wander[index] * 0.98 + (next() - 0.5) * spread * 0.5;
      line += next() < 0.0001 ? ',' : `,${(typical + wander[index]).toFixed(decimals)}`;
    }
    text += `${line}\n`;
    if (text.length > 1 << 20) {
      written += text.length;
      yield Buffer.from(text);
      text = '';
    }
  }
  yield Buffer.from(text);
}

/** Mulberry32: uniform numbers in [0, 1), equal on every machine. */
function random(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  };
}

if (process.argv[1] === fileURLToPath(import.meta.url)) await scanForMeasurement(process.argv[2], process.argv[3]);
