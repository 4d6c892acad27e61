import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { monitorEventLoopDelay } from 'node:perf_hooks';
import { fileURLToPath } from 'node:url';
import v8 from 'node:v8';

const PAGES = 200;
const TABLES = 60;
const ROWS_PER_TABLE = 92;
const MEDIAN_OF = 3;

/** Each measurement runs in a process of its own, so that start, memory and warming up count for both alike. */
function measure(what, ...more) {
  const child = spawnSync(process.execPath, [fileURLToPath(import.meta.url), what, ...more], { encoding: 'utf8' });
  if (child.status !== 0) throw new Error(`measuring ${what} failed:\n${child.stderr}`);
  return JSON.parse(child.stdout);
}

function median(values) {
  return [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];
}

/** A record of 200 tagged pages with 60 charts against 200 pages of plain text by pdfkit, in wall time and memory. */
export async function run() {
  const records = Array.from({ length: MEDIAN_OF }, () => measure('record'));
  const plain = Array.from({ length: MEDIAN_OF }, () => measure('plain'));
  const ratio = median(records.map((one) => one.ms)) / median(plain.map((one) => one.ms));
  const memory = Math.max(...records.map((one) => one.megabytes));
  const pages = records[0].pages;
  if (pages < PAGES) throw new Error(`the record has only ${pages} pages`);
  const loop = measure('loop');
  if (loop.pages < PAGES) throw new Error(`the lot record has only ${loop.pages} pages`);
  return [
    { name: 'record of 200 pages, tagged, 60 charts', of: `${pages} pages`, figure: ratio },
    { name: 'record of 200 pages, memory', of: `${pages} pages`, figure: memory },
    {
      name: 'event loop while a lot record of 200 pages renders, 99th percentile',
      of: `${loop.pages} pages`,
      figure: loop.delayMs,
    },
    { name: 'record of a lot of the demo, the first of a process', of: `${loop.demoPages} pages`, figure: loop.firstS },
  ];
}

/** Rows of one lot's result sheet, repeated until the record has its pages. */
const RESULT_ROWS = 7200;

/** How long the thread that asked is held up while a worker renders a whole lot record. */
async function renderInWorkerAndWatch() {
  const { renderInWorker } = await import('../../dist/records/render-in-worker.js');
  const { long: content, demo } = await contents();
  // The first record starts the thread and reads the fonts, as in a service that runs for a while.
  await renderInWorker(content);
  const delay = monitorEventLoopDelay({ resolution: 1 });
  const start = performance.now();
  delay.enable();
  const { pdf } = await renderInWorker(content);
  delay.disable();
  const delayMs = delay.percentile(99) / 1e6;
  const ms = performance.now() - start;
  return { ms, delayMs, pages: pageCount(Buffer.from(pdf)), ...firstOfProcess(demo) };
}

/** Processor time of the first record that a process renders, which finds and reads the fonts; its start is not in it. */
function firstOfProcess(content) {
  const file = path.join(fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-record-')), 'content');
  try {
    fs.writeFileSync(file, v8.serialize(content));
    const all = Array.from({ length: MEDIAN_OF }, () => measure('first', file));
    return { firstS: median(all.map(({ seconds }) => seconds)), demoPages: all[0].pages };
  } finally {
    fs.rmSync(path.dirname(file), { recursive: true, force: true });
  }
}

async function drawFirst() {
  const { renderRecord } = await import('../../dist/records/render-record.js');
  const content = v8.deserialize(fs.readFileSync(process.argv[3]));
  const before = process.cpuUsage();
  const { pdf } = await renderRecord(content);
  const { user, system } = process.cpuUsage(before);
  return { seconds: (user + system) / 1e6, pages: pageCount(Buffer.from(pdf)) };
}

/** The content of a lot of the demo, as it is and with a long table of results. */
async function contents() {
  const { withFeatures } = await import('../../dist/cli/features.js');
  const { LotAssessor } = await import('../../dist/lots/lot-assessor.js');
  const { LotsModule } = await import('../../dist/lots/lots.module.js');
  const { runDemo } = await import('../../dist/qualification/run-demo.js');
  const { standardTemplateText } = await import('../../dist/report/standard-template.js');
  const { canonicalJson, sha256Hex } = await import('../../dist/dossier/canonical.js');
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-record-'));
  try {
    const data = path.join(folder, 'data');
    const { lots } = await runDemo({ folder: data, say: () => {} });
    const assessed = await withFeatures(data, [LotsModule], (context) =>
      context.get(LotAssessor).assess(lots.at(-1).lot, 'local:bench'),
    );
    const parts = new Map(assessed.parts);
    const dossier = structuredClone(assessed.facts.dossier);
    const results = dossier.parts.find((part) => part.name === 'results.csv');
    const [head, ...rows] = parts.get(results.sha256).trim().split('\n');
    const text = `${[head, ...Array.from({ length: RESULT_ROWS }, (_, at) => rows[at % rows.length])].join('\n')}\n`;
    results.sha256 = sha256Hex(text);
    parts.set(results.sha256, text);
    const shared = {
      assessmentText: canonicalJson(assessed.assessment),
      templateText: standardTemplateText(),
      issue: ISSUE,
    };
    return {
      long: { ...shared, dossierText: canonicalJson(dossier), parts },
      demo: { ...shared, dossierText: canonicalJson(assessed.facts.dossier), parts: new Map(assessed.parts) },
    };
  } finally {
    fs.rmSync(folder, { recursive: true, force: true });
  }
}

const ISSUE = {
  record: { number: 'LR-LONG', revision: 1, draft: true },
  program: 'Lotwright (bench)',
  node: process.versions.node,
  printedAt: '2031-05-04T10:00:00.000Z',
  printedOffset: '+00:00',
  printedBy: 'local:bench',
  signatures: [],
  states: [],
  keys: [],
  people: [],
  ledger: { size: 0, root: '0'.repeat(64), checkpoint: null, proofs: [] },
  seal: null,
  earlier: [],
  supersedes: null,
  changes: [],
  forCase: null,
};

async function drawRecord() {
  const { renderTwice } = await import('../../dist/pdf/render.js');
  const { textMetric } = await import('../../dist/pdf/shaping.js');
  const { lotsOverTime } = await import('../../dist/report/charts/lots-over-time.js');
  const { PAGE_WORDS } = await import('../../dist/report/phrases/page-words.js');
  const identity = {
    number: 'LR-2031-900',
    revision: '1',
    title: 'Lot record LR-2031-900',
    subject: 'A long record',
    author: 'Example Implants',
    digest: 'ab'.repeat(32),
    printedAt: new Date('2031-05-04T10:00:00Z'),
    program: 'lotwright',
    state: 'draft',
    words: PAGE_WORDS,
  };
  const start = performance.now();
  const bytes = await renderTwice(identity, (page) => {
    page.title(identity.title);
    page.heading(1, 'Contents', { newPage: true, listed: false });
    page.contents(3);
    for (let table = 0; table < TABLES; table++) drawPart(page, table, lotsOverTime, textMetric);
    page.heading(1, 'Notes', { newPage: true });
    for (let paragraph = 0; paragraph < 200; paragraph++) page.paragraph(PROSE.repeat(4));
  });
  return { ms: performance.now() - start, pages: pageCount(bytes) };
}

function drawPart(page, table, lotsOverTime, textMetric) {
  page.heading(1, `Characteristic ${table + 1}`, { newPage: true });
  for (let paragraph = 0; paragraph < 3; paragraph++) page.paragraph(PROSE.repeat(4));
  page.heading(2, `Values of characteristic ${table + 1}`);
  page.figure({
    scene: chart(table, lotsOverTime, textMetric),
    alt: 'Values in order',
    caption: 'In build order.',
  });
  page.heading(2, `Results of characteristic ${table + 1}`);
  page.table({
    caption: `Results ${table + 1}`,
    columns: [
      { head: 'Specimen' },
      { head: 'Characteristic' },
      { head: 'Replicate', align: 'right' },
      { head: 'Value', unit: 'mm', align: 'decimal' },
      { head: 'Lower', unit: 'mm', align: 'decimal' },
      { head: 'Upper', unit: 'mm', align: 'decimal' },
      { head: 'Verdict' },
      { head: 'Instrument' },
    ],
    rows: Array.from({ length: ROWS_PER_TABLE }, (_, row) => resultRow(table, row)),
  });
}

const PROSE =
  'Each value below was measured on the implant itself, by the method and with the instrument named in its row. ';

function value(table, row) {
  return 3.5 + 0.05 * Math.sin(table * 7.3 + row * 1.7);
}

function resultRow(table, row) {
  const cells = [
    `26-${String(row).padStart(3, '0')}`,
    'Plate thickness',
    '1',
    value(table, row).toFixed(3),
    '3.400',
    '3.600',
    'conforms',
    `CAL-${(row * 37 + table) % 900}`,
  ];
  return { cells, anchor: `row ${table} ${row}`, attention: row % 17 === 0 };
}

function chart(table, lotsOverTime, textMetric) {
  const points = Array.from({ length: 60 }, (_, row) => ({
    lot: `L-${Math.floor(row / 2)}`,
    at: new Date(Date.UTC(2031, 0, 1 + Math.floor(row / 2))).toISOString(),
    name: String(row + 1),
    value: value(table, row),
  }));
  const limits = { centre: 3.5, lowerLimit: 3.42, upperLimit: 3.58, lowerSpecification: 3.4, upperSpecification: 3.6 };
  const labels = { title: 'Thickness', valueLabel: 'Thickness /mm', decimals: 3 };
  return lotsOverTime({ ...labels, ...limits, points }, textMetric);
}

async function drawPlain() {
  const { default: PDFDocument } = await import('pdfkit');
  const { createRequire } = await import('node:module');
  const font = createRequire(import.meta.url).resolve(
    '@expo-google-fonts/source-sans-3/400Regular/SourceSans3_400Regular.ttf',
  );
  const start = performance.now();
  const document = new PDFDocument({ autoFirstPage: false, font });
  const chunks = [];
  document.on('data', (chunk) => chunks.push(chunk));
  for (let page = 0; page < PAGES; page++) {
    document.addPage().fontSize(9.5);
    for (let paragraph = 0; paragraph < 9; paragraph++) document.text(PROSE.repeat(4)).moveDown();
  }
  const ended = new Promise((resolve) => document.on('end', resolve));
  document.end();
  await ended;
  return { ms: performance.now() - start, pages: pageCount(Buffer.concat(chunks)) };
}

function pageCount(bytes) {
  return bytes.toString('latin1').match(/\/Type \/Page\n/g).length;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const measurements = { record: drawRecord, plain: drawPlain, loop: renderInWorkerAndWatch, first: drawFirst };
  const result = await measurements[process.argv[2]]();
  const megabytes = process.resourceUsage().maxRSS / 1024;
  console.log(JSON.stringify({ ...result, megabytes }));
}
