import { execFileSync, spawn } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { monitorEventLoopDelay } from 'node:perf_hooks';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import '../support/bench-clock.mjs';

/**
 * The service while it scans a large log: how long its event loop is held up, seen from inside while pages are asked for;
 * and how soon ten minutes of raw rows of that log come back from its archive.
 * LOTWRIGHT_BENCH_SERVICE_LOG_MB sets the size (500).
 */

const MEGABYTES = Number(process.env.LOTWRIGHT_BENCH_SERVICE_LOG_MB ?? 500);
/** A build of ten hours, as a cell logs it: the period follows from the size of the log. */
const BUILD_HOURS = 10;
const ROW_BYTES = 55;
const READS = 15;
const TEN_MINUTES_US = 600_000_000;
const DIST = new URL('../../dist/', import.meta.url);

export async function run() {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-log-'));
  try {
    const child = spawn(process.execPath, [fileURLToPath(import.meta.url), folder], {
      stdio: ['ignore', 'pipe', 'inherit'],
    });
    let output = '';
    for await (const chunk of child.stdout) output += chunk;
    const { delayMs, rowsMs, bytes } = JSON.parse(output.trim().split('\n').at(-1));
    const size = `${Math.round(bytes / 1e6)} MB`;
    return [
      { name: 'event loop of the service while a log is scanned, 99th percentile', of: size, figure: delayMs },
      { name: 'ten minutes of raw rows of a log, slowest', of: `${size}, ${READS} readings`, figure: rowsMs },
    ];
  } finally {
    fs.rmSync(folder, { recursive: true, force: true });
  }
}

async function measure(folder) {
  const { DataFolder } = await import(new URL('store/data-folder.js', DIST).href);
  const { LogRescans } = await import(new URL('intake/log-rescans.js', DIST).href);
  const { Store } = await import(new URL('store/store.js', DIST).href);
  const { createApplication } = await import(new URL('main.js', DIST).href);
  const { excerptBetween } = await import(new URL('process-logs/archive/archive-reader.js', DIST).href);
  const data = path.join(folder, 'data');
  const lot = writeFolder(path.join(folder, 'in'));
  execFileSync(process.execPath, [
    fileURLToPath(new URL('cli.js', DIST)),
    '--data',
    data,
    'intake',
    path.join(folder, 'in'),
  ]);
  const store = await Store.open(DataFolder.open(data));
  const [log] = await store.read.logs.ofLot(lot.code);
  const app = await createApplication(store);
  await app.listen(0, '127.0.0.1');
  const url = (await app.getUrl()).replace('[::1]', '127.0.0.1');
  await answered(url);
  const rescans = app.get(LogRescans);
  await rescans.ask(lot.code, lot.build);
  const delay = monitorEventLoopDelay({ resolution: 1 });
  let isScanning = true;
  const scanning = rescans.runLeft().finally(() => {
    isScanning = false;
  });
  delay.enable();
  while (isScanning) {
    await answered(url);
    await sleep(100);
  }
  delay.disable();
  await scanning;
  const archive = await store.archivedLog(log.facts.sha256);
  const rowsMs = await slowestRead(excerptBetween, archive, log.facts);
  await app.close();
  await store.close();
  console.log(JSON.stringify({ delayMs: delay.percentile(99) / 1e6, rowsMs, bytes: log.facts.bytes }));
}

/** The page that a stranger gets. */
async function answered(url) {
  const answer = await fetch(`${url}/sign-in`);
  if (!answer.ok) throw new Error(`the service answered ${answer.status}`);
  await answer.text();
}

/** Ten minutes at even distances over the log, each once before the ones that count: a service has run for a while. */
async function slowestRead(excerptBetween, archive, { firstAt, lastAt }) {
  const firstUs = Date.parse(firstAt) * 1000;
  const stepUs = (Date.parse(lastAt) * 1000 - TEN_MINUTES_US - firstUs) / READS;
  let slowest = 0;
  for (let read = 0; read < 2 * READS; read += 1) {
    const fromUs = firstUs + Math.floor(stepUs * (read % READS));
    const begun = performance.now();
    const found = await excerptBetween(archive, fromUs, fromUs + TEN_MINUTES_US);
    if (read >= READS) slowest = Math.max(slowest, performance.now() - begun);
    if (!(found?.length > 0)) throw new Error('ten minutes without a row');
  }
  return slowest;
}

/** A site with nothing but what a lot needs, and a lot whose build yielded nothing and was logged all the same. */
function writeFolder(folder) {
  const at = (day, time) => `2031-03-0${day}T${time}:00Z`;
  const claim = { by: 'P-1', at: at(1, '09:00') };
  const common = { format: 1 };
  const documents = {
    'site/person.json': {
      kind: 'person',
      ...common,
      person: 'P-1',
      name: 'Bench Example',
      function: 'quality engineer',
    },
    'site/family.json': {
      kind: 'family',
      ...common,
      family: 'F',
      revision: 1,
      title: 'Bench',
      alloy: 'Mg',
      intendedUse: 'bench',
      route: 'custom-made',
      sterile: 'non-sterile',
      lifetime: { years: 1, basis: 'bench' },
      effectiveFrom: at(1, '08:00'),
    },
    'site/machine.json': {
      kind: 'machine',
      ...common,
      machine: 'M',
      title: 'Bench',
      location: 'here',
      does: ['deposit'],
    },
    'site/supplier.json': { kind: 'supplier', ...common, supplier: 'S', title: 'Bench' },
    'site/receipt.json': {
      kind: 'receipt',
      ...common,
      receipt: 'R',
      supplier: 'S',
      material: 'mg-powder',
      category: 'powder',
      supplierLot: 'L',
      heats: ['1'],
      massG: '5000',
      receivedAt: at(1, '10:00'),
      status: 'quarantine',
    },
    'site/powder.json': {
      kind: 'powder-state',
      ...common,
      state: 'PS',
      operation: 'fill',
      madeAt: at(1, '12:00'),
      madeBy: 'P-1',
      inputs: [{ receipt: 'R', massG: '2000' }],
    },
    'site/method.json': {
      kind: 'method',
      ...common,
      method: 'TM',
      revision: 1,
      title: 'Bench',
      destructive: 'non-destructive',
      effectiveFrom: at(1, '08:00'),
    },
    'site/specification.json': {
      kind: 'specification',
      ...common,
      specification: 'SP',
      revision: 1,
      title: 'Bench',
      family: 'F',
      effectiveFrom: at(1, '08:00'),
      characteristics: [
        {
          characteristic: 'size',
          title: 'Size',
          ucum: 'mm',
          method: { method: 'TM', revision: 1 },
          measuredOn: 'implant',
          replicates: 1,
          lower: '1',
          direction: 'higher-is-better',
          decision: { rule: 'simple' },
          rounding: { rule: 'absolute' },
          due: 'before-release',
          plan: 'every-unit',
        },
      ],
      materials: [],
      pooling: { recipeGroups: ['a'], machines: ['M'], methodRevisions: 'same', rationale: 'bench' },
    },
  };
  const periodMs = (BUILD_HOURS * 3_600_000) / ((MEGABYTES * 1e6) / ROW_BYTES);
  const lot = {
    kind: 'lot',
    ...common,
    lot: 'L-1',
    family: 'F',
    specification: { specification: 'SP', revision: 1 },
    opened: claim,
    builds: [
      {
        build: 'M-1',
        machine: 'M',
        run: 1,
        closedAt: at(2, '08:00'),
        openedAt: at(2, '18:00'),
        operator: 'P-1',
        powder: [{ state: 'PS', chargedG: '100' }],
        log: {
          file: 'logs/run.csv',
          channels: [
            { channel: 'oxygen', ucum: '[ppm]' },
            { channel: 'moisture', ucum: '[ppm]' },
            { channel: 'power', ucum: 'W' },
          ],
          nominalPeriodMs: Math.max(1, Math.round(periodMs)),
          gapLimitMs: 1000,
        },
      },
    ],
  };
  for (const [name, body] of Object.entries({ ...documents, 'lots/L-1/lot.json': lot })) {
    const file = path.join(folder, name.replace(/json$/, 'yaml'));
    fs.mkdirSync(path.dirname(file), { recursive: true });
    // JSON is YAML.
    fs.writeFileSync(file, JSON.stringify(body));
  }
  writeLog(path.join(folder, 'lots/L-1/logs/run.csv'), periodMs);
  return { code: 'L-1', build: 'M-1' };
}

function writeLog(file, periodMs) {
  fs.mkdirSync(path.dirname(file), { recursive: true });
  const out = fs.openSync(file, 'w');
  const startMs = Date.UTC(2031, 2, 2, 8);
  let text = 'timestamp,layer,zone,step,oxygen,moisture,power\n';
  let written = 0;
  for (let row = 0; written < MEGABYTES * 1e6; row += 1) {
    const time = new Date(startMs + Math.floor(row * periodMs)).toISOString();
    const layer = 1 + Math.floor((row * periodMs) / 60_000);
    const wave = (row * 2654435761) % 997;
    text += `${time},${layer},Z1,deposit,${(8 + wave / 500).toFixed(2)},${(6 + wave / 700).toFixed(2)},${300 + (wave % 7)}\n`;
    if (text.length < 1 << 20) continue;
    written += fs.writeSync(out, text);
    text = '';
  }
  fs.writeSync(out, text);
  fs.closeSync(out);
}

if (process.argv[1] === fileURLToPath(import.meta.url)) await measure(process.argv[2]);
