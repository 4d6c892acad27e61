import { execFileSync, spawn } from 'node:child_process';
import { randomBytes } from 'node:crypto';
import fs from 'node:fs';
import http from 'node:http';
import os from 'node:os';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { BenchServer, grownFolder, isOnServer } from '../support/bench-place.mjs';

/**
 * Twenty people at once on the pages of the demo, and of a folder of a thousand lots, each a page a second, while one record
 * after another renders and one log after another is scanned: how soon the first byte of a page comes. The service is a process
 * of its own, and the people come right after its start. No more than twenty requests are under way at a time.
 * LOTWRIGHT_BENCH_DEMO names a demo that is there already, and is copied; tests/support/bench-place.mjs says how to have it
 * on the other engine.
 */

const CLI = fileURLToPath(new URL('../../bundle/cli.js', import.meta.url));
const PEOPLE = 20;
const MEASURED_MS = 10_000;
const BETWEEN_MS = 1000;
const LOTS = 1000;
const OPEN_LOTS = 20;
const PAGES_OF = (lot, found) => [
  ...['/', '/lots', `/lots/${lot}`, `/lots/${lot}/build`, `/lots/${lot}/tests`, `/lots/${lot}/checks`],
  ...['/materials', `/find?id=${found}`, '/families', '/audit'],
];
const DEMO = {
  lot: 'L-2026-014',
  build: 'HC-1-214',
  quality: 'TO',
  found: '0417',
  share: 0.95,
  name: 'first byte of a page for 20 people at once, with a record and a scan under way, 95th percentile',
};
const GROWN = {
  lot: 'L-1',
  build: 'M1-101',
  quality: 'P-QE',
  found: 'L-1',
  share: 0.99,
  name: 'first byte of a page for 20 people at once, with a record and a scan under way, 1 000 lots, 99th percentile',
};
/** A proxy stands before all of them, so that each has an address of their own. */
const PROXY = '127.0.0.1';

export async function run() {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-load-'));
  const data = path.join(folder, 'demo');
  // A server of the bench lies beside it.
  process.env.TMPDIR = folder;
  globalThis.afterAll = () => {};
  let server;
  try {
    const ready = process.env.LOTWRIGHT_BENCH_DEMO;
    if (ready) fs.cpSync(ready, data, { recursive: true });
    else execFileSync(process.execPath, [CLI, 'demo', '--data', data], { stdio: ['ignore', 'ignore', 'inherit'] });
    if (isOnServer) {
      server = await BenchServer.start();
      await server.take(data);
    }
    const found = [await loadOn(data, accountsOfDemo(data), DEMO)];
    // What happened in the invented spring of 2031 is taken in by a clock that is ahead of it, of the service too.
    await import('../support/bench-clock.mjs');
    const grown = await grownFolder(LOTS, OPEN_LOTS);
    await server?.take(grown);
    const { PASSWORD, TEST_PEOPLE } = await import('../support/people.ts');
    const accounts = Object.keys(TEST_PEOPLE).map((person) => ({ person, password: PASSWORD }));
    return [...found, await loadOn(grown, accounts, GROWN)];
  } finally {
    server?.remove();
    fs.rmSync(folder, { recursive: true, force: true });
  }
}

async function loadOn(data, accounts, asked) {
  const service = spawn(process.execPath, [CLI, '--data', data, 'serve', '--port', '0', '--proxy', PROXY], {
    stdio: ['ignore', 'pipe', 'ignore'],
  });
  try {
    const url = await saidUrl(service);
    const people = await signedIn(url, accounts);
    await settled(url, people[0]);
    const sorted = (await measure(url, people, asked)).sort((a, b) => a.ms - b.ms);
    const at = (share) => Math.round(sorted[Math.floor(sorted.length * share)].ms);
    const slowest = sorted.slice(-3).map(({ page, ms }) => `${page} ${Math.round(ms)} ms`);
    const of = `${sorted.length} pages, median ${at(0.5)}, 95th percentile ${at(0.95)} ms, slowest ${slowest.join(', ')}`;
    return { name: asked.name, of, figure: at(asked.share) };
  } finally {
    service.kill();
    await new Promise((resolve) => service.once('exit', resolve));
  }
}

function accountsOfDemo(data) {
  const lines = fs.readFileSync(path.join(data, 'people.txt'), 'utf8').split('\n');
  return lines.flatMap((line) => {
    const [, person, password] = /^(\S+)\s+(\S+)\s{2,}\S/.exec(line) ?? [];
    return person ? [{ person, password }] : [];
  });
}

/** Each of them may be there at several desks. */
async function signedIn(url, accounts) {
  const people = [];
  for (let n = 0; n < PEOPLE; n += 1) {
    const address = `192.0.2.${n + 1}`;
    const body = JSON.stringify(accounts[n % accounts.length]);
    const headers = { 'content-type': 'application/json', 'x-forwarded-for': address };
    const answer = await fetch(`${url}/api/v1/session`, { method: 'POST', body, headers });
    if (!answer.ok) throw new Error(`nobody could sign in: ${answer.status} ${await answer.text()}`);
    const cookie = answer.headers.getSetCookie()[0].split(';')[0];
    people.push({ ...accounts[n % accounts.length], address, cookie, csrf: (await answer.json()).csrf });
  }
  return people;
}

async function measure(url, people, { lot, build, quality: by, found }) {
  const pages = PAGES_OF(lot, found);
  const end = performance.now() + MEASURED_MS;
  const isOver = () => performance.now() >= end;
  const quality = people.find(({ person }) => person === by);
  const waits = [];
  const reads = async (person, first) => {
    await sleep((first / PEOPLE) * BETWEEN_MS);
    for (let page = first; !isOver(); page += 1) {
      const address = pages[page % pages.length];
      waits.push({ page: address, ms: await firstByteMs(url + address, person) });
      await sleep(BETWEEN_MS);
    }
  };
  const send = async (at, isRight, betweenMs) => {
    const headers = { cookie: quality.cookie, 'x-csrf-token': quality.csrf, 'x-forwarded-for': quality.address };
    while (!isOver()) {
      const body = new URLSearchParams({ 'form-number': randomBytes(16).toString('base64url') });
      const answer = await fetch(url + at, { method: 'POST', headers, body, redirect: 'manual' });
      if (!isRight(answer.status)) throw new Error(`${at} answered ${answer.status}: ${await answer.text()}`);
      await answer.text();
      await sleep(betweenMs);
    }
  };
  await Promise.all([
    ...people.map(reads),
    send(`/api/v1/lots/${lot}/records`, (status) => status === 201, 0),
    // One that is under way already is left alone.
    send(`/lots/${lot}/logs/${build}/scan`, (status) => status === 303 || status === 409, 500),
  ]);
  return waits;
}

/** After an upgrade, and in a folder that a command left with many changes, the service first makes what lists say of lots. */
async function settled(url, { cookie, address }) {
  const headers = { cookie, 'x-forwarded-for': address };
  while ((await (await fetch(url, { headers })).text()).includes('looked at again')) await sleep(500);
}

function firstByteMs(address, { cookie, address: from }) {
  const begun = performance.now();
  return new Promise((resolve, reject) => {
    const headers = { cookie, 'x-forwarded-for': from };
    http
      .get(address, { headers }, (answer) => {
        if (answer.statusCode !== 200) reject(new Error(`${address} answered ${answer.statusCode}`));
        answer.once('data', () => resolve(performance.now() - begun));
        answer.resume();
      })
      .once('error', reject);
  });
}

async function saidUrl(service) {
  let said = '';
  for await (const chunk of service.stdout) {
    said += chunk;
    const [url] = /http:\/\/127\.0\.0\.1:\d+/.exec(said) ?? [];
    if (url) return url;
  }
  throw new Error('the service ended before it said its address');
}
