// What one lot costs on folders of more and more lots: pages, commands, and taking in one more. `LOTWRIGHT_GROWN` names other
// sizes than those of docs/scale.md, such as `30,100`; tests/support/bench-place.mjs says how to have it on the other engine.
// On a server its processor time counts with that of the program: both share the machine.
import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { Intake } from '../../dist/intake/intake.js';
import { LotAssessor } from '../../dist/lots/lot-assessor.js';
import { createApplication } from '../../dist/main.js';
import { DataFolder } from '../../dist/store/data-folder.js';
import { Store } from '../../dist/store/store.js';
import '../support/bench-clock.mjs';
import { BenchServer, grownFolder, isOnServer } from '../support/bench-place.mjs';

const SIZES = (process.env.LOTWRIGHT_GROWN ?? '30,100,300,1000').split(',').map(Number);
/** Lots that nobody has decided on, as many as a cell works on at a time. */
const OPEN = 20;
const RUNS = 5;
/** Pages that ask of all lots. */
const OTHER_PAGES = [
  ...['/find?id=M1', '/find/rows?id=M1&match=1&part=forward', '/materials', '/families', '/nonconformities', '/audit'],
  ...[
    '/questions/lots',
    '/questions/releases',
    '/questions/recipes',
    '/questions/changed',
    '/enter/handover',
    '/prepare',
  ],
];
const ACTOR = 'local:bench';
const CLI = fileURLToPath(new URL('../../bundle/cli.js', import.meta.url));
const TIMED = '"$@" > /dev/null && times';

const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];
/** The server of the run, where there is one. */
let server;
/** Tells the processor time in milliseconds that this process and the server took from now on; asking the server is no part of it. */
function cpuClock() {
  const onServer = server?.cpuMs() ?? 0;
  const begun = process.cpuUsage();
  return () => {
    const { user, system } = process.cpuUsage(begun);
    return (user + system) / 1000 + (server?.cpuMs() ?? 0) - onServer;
  };
}

export async function run() {
  // Folders that are made once a run lie below the temporary folder.
  process.env.TMPDIR = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-grown-'));
  const cleanups = [() => fs.rmSync(process.env.TMPDIR, { recursive: true, force: true })];
  globalThis.afterAll = (work) => cleanups.push(work);
  const support = {
    ...(await import('../support/cell.ts')),
    ...(await import('../support/many-lots.ts')),
    ...(await import('../support/people.ts')),
    ...(await import('../support/signing-cell.ts')),
  };
  if (isOnServer) {
    server = await BenchServer.start();
    cleanups.push(() => server.remove());
  }
  try {
    const found = [];
    for (const lots of SIZES) {
      found.push({ lots, ...(await grown(support, lots)) });
      console.error(JSON.stringify(found.at(-1)));
    }
    const last = found.at(-1);
    const curve = (of) => found.map((one) => `${one.lots} lots ${Number(of(one).toPrecision(3))}`).join(', ');
    const slowest = ({ pages }) => Math.max(...pages.map(({ ms }) => ms));
    const largest = ({ pages }) => Math.max(...pages.map(({ bytes }) => bytes)) / 1000;
    const each = last.pages.map(({ page, ms, bytes }) => `${page} ${ms.toFixed(0)} ms ${(bytes / 1000).toFixed(0)} kB`);
    const figure = (name, of) => ({ name, of: curve(of), figure: of(last) });
    return [
      { ...figure('any page on a folder of 1 000 lots', slowest), of: `${curve(slowest)}; ${each.join(', ')}` },
      figure('any page on a folder of 1 000 lots, size', largest),
      figure('status on a folder of 1 000 lots', ({ status }) => status),
      figure('status on a folder of 1 000 lots, the first after an upgrade', ({ first }) => first),
      figure('taking in one more lot behind 1 000', ({ intake }) => intake),
      figure('assessing one more lot behind 1 000', ({ assessing }) => assessing),
    ];
  } finally {
    for (const work of cleanups.reverse()) work();
  }
}

async function grown(support, lots) {
  const folder = await grownFolder(lots, Math.min(OPEN, lots - 1));
  const moved = await server?.take(folder);
  const status = () => seconds('--data', folder, 'status');
  // Another build than the sources makes what is kept anew.
  const first = status();
  const again = median(Array.from({ length: RUNS }, status));
  const store = await Store.open(DataFolder.open(folder));
  const app = await createApplication(store);
  try {
    await app.listen(0, '127.0.0.1');
    const root = await app.getUrl();
    const headers = await signedIn(root, support.PASSWORD);
    const last = support.lotCode(lots - 1);
    const pages = [];
    const ofLot = ['', '/build', '/tests', '/materials', '/checks', '/papers'].map((page) => `/lots/${last}${page}`);
    for (const page of ['/', '/lots', ...ofLot, ...OTHER_PAGES]) {
      pages.push({ page: page.replace(last, 'LOT'), ...(await pageOf(`${root}${page}`, headers)) });
    }
    const more = oneMore(support);
    const intake = await taken(() => app.get(Intake).run(more, ACTOR));
    const assessing = await taken(() => app.get(LotAssessor).assess('L-NEW', ACTOR));
    return { ...(moved === undefined ? {} : { moved }), first, status: again, pages, intake, assessing };
  } finally {
    await app.close();
    await store.close();
  }
}

/** The folder of the cell with another lot in place of its own. */
function oneMore({ addLot, finishLots, makeCell, trainDeciders, writeCell }) {
  const cell = makeCell();
  trainDeciders(cell);
  finishLots(cell);
  for (const files of [cell.documents, cell.sheets, cell.files]) {
    for (const file of Object.keys(files)) if (file.startsWith('lots/')) delete files[file];
  }
  addLot(cell, 'L-NEW', 199, '2031-03-04', { rm: 230, thickness: 1.5 });
  return writeCell(cell);
}

async function pageOf(url, headers) {
  const ask = async () => {
    const took = cpuClock();
    const answer = await fetch(url, { headers });
    const text = await answer.text();
    if (!answer.ok) throw new Error(`${url} answered ${answer.status}: ${text.slice(0, 200)}`);
    return { ms: took(), bytes: Buffer.byteLength(text) };
  };
  await ask();
  await ask();
  const asked = [];
  for (let i = 0; i < RUNS; i++) asked.push(await ask());
  return { ms: median(asked.map(({ ms }) => ms)), bytes: asked[0].bytes };
}

/** Processor time in seconds. */
async function taken(work) {
  const took = cpuClock();
  await work();
  return took() / 1000;
}

async function signedIn(root, password) {
  const answer = await fetch(`${root}/api/v1/session`, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify({ person: 'P-QE', password }),
  });
  const { csrf } = await answer.json();
  return { Cookie: answer.headers.get('set-cookie').split(';')[0], 'X-CSRF-Token': csrf };
}

/** Processor time of one command. */
function seconds(...words) {
  const before = server?.cpuMs() ?? 0;
  const { status, stdout, stderr } = spawnSync('sh', ['-c', TIMED, 'sh', process.execPath, CLI, ...words], {
    encoding: 'utf8',
  });
  const found = /(\d+)m([\d.]+)s (\d+)m([\d.]+)s\s*$/.exec(stdout);
  if (status !== 0 || !found) throw new Error(`lotwright ${words.join(' ')} ended with ${status}: ${stderr}`);
  const [userMin, user, systemMin, system] = found.slice(1).map(Number);
  return 60 * (userMin + systemMin) + user + system + ((server?.cpuMs() ?? 0) - before) / 1000;
}
