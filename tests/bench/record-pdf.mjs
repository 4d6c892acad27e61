import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';

const PAGES = 200;
const TABLES = 60;
const ROWS_PER_TABLE = 92;
const MEDIAN_OF = 3;

/** Each measurement runs in a process of its own, so that start, memory and warming up count for both alike. */
function measure(what) {
  const child = spawnSync(process.execPath, [fileURLToPath(import.meta.url), what], { encoding: 'utf8' });
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
  const subject = `record of ${pages} pages, tagged, ${TABLES} charts`;
  return [figure(subject, ratio, '× plain pdfkit text pages', 6), figure(`${subject}, memory`, memory, 'MB', 300)];
}

function figure(name, value, unit, budget) {
  return { name, figure: Number(value.toPrecision(3)), unit, budget, holds: value <= budget };
}

async function drawRecord() {
  const { renderTwice } = await import('../../dist/record/pdf/render.js');
  const { textMetric } = await import('../../dist/record/pdf/shaping.js');
  const { individualsChart } = await import('../../dist/charts/individuals.js');
  const identity = {
    number: 'LR-2031-900',
    revision: '1',
    title: 'Lot record LR-2031-900',
    subject: 'A long record',
    author: 'Example Implants',
    digest: 'ab'.repeat(32),
    printedAt: new Date('2031-05-04T10:00:00Z'),
    program: 'lotwright',
    draft: true,
  };
  const start = performance.now();
  const bytes = await renderTwice(identity, (page) => {
    page.title(identity.title);
    page.heading(1, 'Contents', { newPage: true, listed: false });
    page.contents(3);
    for (let table = 0; table < TABLES; table++) drawPart(page, table, individualsChart, textMetric);
    page.heading(1, 'Notes', { newPage: true });
    for (let paragraph = 0; paragraph < 200; paragraph++) page.paragraph(PROSE.repeat(4));
  });
  return { ms: performance.now() - start, pages: pageCount(bytes) };
}

function drawPart(page, table, individualsChart, textMetric) {
  page.heading(1, `Characteristic ${table + 1}`, { newPage: true });
  for (let paragraph = 0; paragraph < 3; paragraph++) page.paragraph(PROSE.repeat(4));
  page.heading(2, `Values of characteristic ${table + 1}`);
  page.figure({
    scene: chart(table, individualsChart, textMetric),
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

function chart(table, individualsChart, textMetric) {
  const points = Array.from({ length: 60 }, (_, row) => ({ label: String(row + 1), value: value(table, row) }));
  const limits = { centre: 3.5, lowerLimit: 3.42, upperLimit: 3.58, lowerSpecification: 3.4, upperSpecification: 3.6 };
  const labels = { title: 'Thickness', valueLabel: 'Thickness /mm', orderLabel: 'Implant', decimals: 3 };
  return individualsChart({ ...labels, ...limits, points }, textMetric);
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
  const result = process.argv[2] === 'record' ? await drawRecord() : await drawPlain();
  const megabytes = process.resourceUsage().maxRSS / 1024;
  console.log(JSON.stringify({ ...result, megabytes }));
}
