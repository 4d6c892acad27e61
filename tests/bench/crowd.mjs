import { execFileSync, spawn } from 'node:child_process';
import { randomBytes } from 'node:crypto';
import fs from 'node:fs';
import http from 'node:http';
import os from 'node:os';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';

/**
 * Twenty people at once on the pages of the demo, each a page a second, while one record after another renders and one log
 * after another is scanned: how soon the first byte of a page comes. The service is a process of its own.
 * LOTWRIGHT_BENCH_CROWD_DEMO names a demo that is there already, and is copied.
 */

const CLI = fileURLToPath(new URL('../../bundle/cli.js', import.meta.url));
const PEOPLE = 20;
const MEASURED_MS = 10_000;
const BETWEEN_MS = 1000;
const LOT = 'L-2026-014';
const BUILD = 'HC-1-214';
const PAGES = [
  ...['/', '/lots', `/lots/${LOT}`, `/lots/${LOT}/build`, `/lots/${LOT}/tests`, `/lots/${LOT}/checks`],
  ...['/materials', '/find?id=0417', '/families', '/audit'],
];
/** A proxy stands before all of them, so that each has an address of their own. */
const PROXY = '127.0.0.1';

export async function run() {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-crowd-'));
  const data = path.join(folder, 'demo');
  try {
    const ready = process.env.LOTWRIGHT_BENCH_CROWD_DEMO;
    if (ready) fs.cpSync(ready, data, { recursive: true });
    else execFileSync(process.execPath, [CLI, 'demo', '--data', data], { stdio: ['ignore', 'ignore', 'inherit'] });
    const service = spawn(process.execPath, [CLI, '--data', data, 'serve', '--port', '0', '--proxy', PROXY], {
      stdio: ['ignore', 'pipe', 'ignore'],
    });
    try {
      const url = await saidUrl(service);
      const people = await signedIn(url, data);
      const waits = await measure(url, people);
      const sorted = waits.sort((a, b) => a - b);
      const figure = sorted[Math.floor(sorted.length * 0.95)];
      const name = 'first byte of a page for 20 people at once, with a record and a scan under way, 95th percentile';
      return [{ name, of: `${sorted.length} pages, median ${Math.round(sorted[sorted.length >> 1])} ms`, figure }];
    } finally {
      service.kill();
      await new Promise((resolve) => service.once('exit', resolve));
    }
  } finally {
    fs.rmSync(folder, { recursive: true, force: true });
  }
}

/** Everybody of the demo may be there at several desks. */
async function signedIn(url, data) {
  const lines = fs.readFileSync(path.join(data, 'people.txt'), 'utf8').split('\n');
  const accounts = lines.flatMap((line) => {
    const [, person, password] = /^(\S+)\s+(\S+)\s{2,}\S/.exec(line) ?? [];
    return person ? [{ person, password }] : [];
  });
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

async function measure(url, people) {
  const end = performance.now() + MEASURED_MS;
  const isOver = () => performance.now() >= end;
  const quality = people.find(({ person }) => person === 'TO');
  const waits = [];
  const reads = async (person, first) => {
    await sleep((first / PEOPLE) * BETWEEN_MS);
    for (let page = first; !isOver(); page += 1) {
      waits.push(await firstByteMs(url + PAGES[page % PAGES.length], person));
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
    send(`/api/v1/lots/${LOT}/records`, (status) => status === 201, 0),
    // One that is under way already is left alone.
    send(`/lots/${LOT}/logs/${BUILD}/scan`, (status) => status === 303 || status === 409, 500),
  ]);
  return waits;
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
