import { spawn } from 'node:child_process';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';

const CLI = fileURLToPath(new URL('../../bundle/cli.js', import.meta.url));
const STARTS = 5;
/** V8 gives back what young objects took once a process has done next to nothing for half a minute or more. */
const REST_MS = 75_000;

/** From the command to the first answered page, and the memory held by a service that nobody asks for a while. */
export async function run() {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'lotwright-bench-service-'));
  try {
    const starts = [];
    const data = path.join(folder, 'data');
    for (let i = 0; i < STARTS; i++) starts.push(await oneStart(data, 0));
    const seconds = median(starts.map((start) => start.seconds));
    const figures = [{ name: 'start of the service', figure: seconds }];
    const idle = (await oneStart(data, REST_MS)).idleMb;
    if (!Number.isNaN(idle)) {
      figures.push({ name: 'service at rest, resident', figure: idle });
    }
    return figures;
  } finally {
    fs.rmSync(folder, { recursive: true, force: true });
  }
}

async function oneStart(data, restMs) {
  const begun = performance.now();
  const service = spawn(process.execPath, [CLI, '--data', data, 'serve', '--port', '0'], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  try {
    const url = await saidUrl(service);
    const answer = await fetch(url);
    if (!answer.ok) throw new Error(`the first page answered ${answer.status}`);
    await answer.text();
    const seconds = (performance.now() - begun) / 1000;
    await sleep(restMs);
    return { seconds, idleMb: residentMb(service.pid) };
  } finally {
    const ended = new Promise((resolve) => service.once('exit', resolve));
    service.kill('SIGTERM');
    await ended;
  }
}

function saidUrl(service) {
  return new Promise((resolve, reject) => {
    let said = '';
    service.stdout.on('data', (chunk) => {
      said += chunk;
      const url = /http:\/\/\S+/.exec(said)?.[0];
      if (url) resolve(url);
    });
    service.once('exit', (code) => reject(new Error(`the service ended with ${code}: ${said}`)));
  });
}

/** As Linux tells it; not a number elsewhere. */
function residentMb(pid) {
  const file = `/proc/${pid}/status`;
  if (!fs.existsSync(file)) return Number.NaN;
  return Number(/VmRSS:\s+(\d+) kB/.exec(fs.readFileSync(file, 'utf8'))[1]) / 1000;
}

const median = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];
