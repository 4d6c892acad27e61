import fs from 'node:fs';
import { createServer } from 'node:http';
import net, { type AddressInfo } from 'node:net';
import path from 'node:path';
import { systemClock } from '../src/base/clock.js';
import { serve } from '../src/main.js';
import { formNumber } from '../src/web/form-once.js';
import { Watchers } from '../src/web/watchers.js';
import { temporaryFolder } from './support/cell.js';

const data = () => path.join(temporaryFolder('serve'), 'data');

it.each(['0.0.0.0', '192.168.1.5', '::'])(
  'refuses to serve other machines at %s without TLS, and says why (ASVS 9.1.1)',
  async (host) => {
    await expect(serve({ data: data(), port: 0, host })).rejects.toMatchObject({
      code: 'REFUSED',
      message: expect.stringContaining('serves this machine only'),
    });
  },
);

it.each([Number.NaN, -1, 70_000, 80.5])('refuses %s as a port', async (port) => {
  await expect(serve({ data: data(), port, host: '127.0.0.1', logFile: '/dev/null' })).rejects.toMatchObject({
    code: 'BAD_INPUT',
  });
});

it('serves at the address that it names, is the only service on its folder, and ends when told to', async () => {
  const folder = data();
  const service = await serve({ data: folder, port: 0, host: '127.0.0.1', logFile: '/dev/null' });
  try {
    expect(await (await fetch(service.url)).text()).toContain('Nobody has an account here yet');
    expect(await (await fetch(`${service.url}/health`)).json()).toEqual({ status: 'ok' });
    await expect(serve({ data: folder, port: 0, host: '127.0.0.1', logFile: '/dev/null' })).rejects.toMatchObject({
      code: 'BUSY',
    });
  } finally {
    await service.close();
  }
  await service.ended;
  await expect(fetch(service.url)).rejects.toThrow();
  const next = await serve({ data: folder, port: 0, host: '127.0.0.1', logFile: '/dev/null' });
  await next.close();
});

/** A request that has begun: what has come back is read from `answer`. */
async function halfSent(url: string, head: string) {
  const socket = net.connect(Number(new URL(url).port), '127.0.0.1');
  const said = { socket, answer: '' };
  socket.on('data', (chunk) => {
    said.answer += chunk.toString();
  });
  await new Promise((resolve) => socket.write(head, resolve));
  return said;
}

it('answers what it was asked before it was told to end, says meanwhile that it is not ready, and takes nothing new', async () => {
  const service = await serve({ data: data(), port: 0, host: '127.0.0.1', logFile: '/dev/null' });
  const body = JSON.stringify({ person: 'NOBODY', password: 'seven quiet lanterns' });
  const head = `POST /api/v1/session HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\nContent-Length: ${body.length}\r\n\r\n`;
  const slow = await halfSent(service.url, head + body.slice(0, 5));
  const open = await halfSent(
    service.url,
    'GET /metrics HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\nGET /ready HTTP/1.1\r\nHost: 127.0.0.1\r\n',
  );
  await vi.waitFor(() => expect(open.answer).toContain('# EOF'));
  expect(open.answer).toContain('lotwright_requests_open 2\n');

  const closing = service.close();
  open.socket.write('\r\n');
  await vi.waitFor(() => expect(open.answer).toContain('503'));
  expect(open.answer).toMatch(/"status":"unready","why":\["it was told to end/);
  const refused = await fetch(service.url);
  expect([refused.status, refused.headers.get('retry-after')]).toEqual([503, '5']);
  expect(await refused.text()).toContain('begins nothing new; nothing was done');
  expect(slow.answer).toBe('');

  slow.socket.write(body.slice(5));
  await closing;
  // It is sent before the service ends; this process reads it when it comes to it.
  await vi.waitFor(() => expect(slow.answer).toMatch(/^HTTP\/1\.1 403/));
});

it('tells whatever watches it how it is, and the metrics to this machine alone (OpenMetrics)', async () => {
  const folder = data();
  const service = await serve({ data: folder, port: 0, host: '127.0.0.1', logFile: '/dev/null' });
  try {
    expect(await (await fetch(`${service.url}/ready`)).json()).toEqual({ status: 'ready' });
    await fetch(`${service.url}/lots/L-1`);
    const answer = await fetch(`${service.url}/metrics`);
    expect(answer.headers.get('content-type')).toBe('application/openmetrics-text; version=1.0.0; charset=utf-8');
    const families = parsedMetrics(await answer.text());
    // Signing in is where a stranger is led to.
    expect(families.get('lotwright_requests')).toMatchObject({
      type: 'counter',
      samples: { 'lotwright_requests_total{method="GET",status="200"}': 2 },
    });
    const { samples } = families.get('lotwright_request_duration_seconds')!;
    expect(samples['lotwright_request_duration_seconds_bucket{method="GET",le="+Inf"}']).toBe(3);
    expect(samples['lotwright_request_duration_seconds_count{method="GET"}']).toBe(3);
    expect(families.get('lotwright_ledger_entries')!.samples.lotwright_ledger_entries).toBeGreaterThan(0);
    expect(families.get('lotwright_jobs')!.samples).toEqual({
      'lotwright_jobs{state="running"}': 0,
      'lotwright_jobs{state="waiting"}': 0,
    });
    // Nothing was backed up or checked yet.
    expect([...families.keys()].filter((name) => name.includes('age'))).toEqual([]);
    expect([...families.values()].map(({ samples: all }) => JSON.stringify(all)).join()).not.toContain('L-1');
    expect((await fetch(`${service.url}/metrics`, { headers: { 'X-Forwarded-For': '127.0.0.1' } })).status).toBe(403);
    fs.rmSync(path.join(folder, 'evidence'), { recursive: true });
    const ready = await fetch(`${service.url}/ready`);
    expect([ready.status, await ready.json()]).toEqual([
      503,
      { status: 'unready', why: ['its files cannot be written where they lie'] },
    ]);
  } finally {
    await service.close();
  }
});

it('lets one more address read the metrics where somebody named it', () => {
  const watchers = new Watchers();
  const asks =
    (ip: string, headers = {}) =>
    () =>
      watchers.refuseOthers({ ip, headers });
  watchers.name('192.0.2.7', true);
  for (const ip of ['192.0.2.7', '::ffff:192.0.2.7', '127.0.0.1']) expect(asks(ip, { forwarded: 'x' })).not.toThrow();
  expect(asks('192.0.2.8')).toThrow('--watcher');
  watchers.name(undefined, false);
  expect(asks('192.0.2.7')).toThrow('--watcher');
});

/** Families of an OpenMetrics text. It fails where a line is not of the format. */
function parsedMetrics(text: string) {
  expect(text.endsWith('\n# EOF\n')).toBe(true);
  const families = new Map<string, { type: string; help?: string; samples: Record<string, number> }>();
  let last = '';
  for (const line of text.split('\n').slice(0, -2)) {
    const [, word, name, rest] = /^# (TYPE|UNIT|HELP) ([a-z][a-z_]*) (.+)$/.exec(line) ?? [];
    if (word === 'TYPE') {
      last = name!;
      families.set(last, { type: rest!, samples: {} });
    } else if (word === 'UNIT') expect(name!.endsWith(`_${rest}`)).toBe(true);
    else if (word === undefined) {
      const [, sample, value] = /^([a-z_]+(?:\{\w+="[^"]*"(?:,\w+="[^"]*")*\})?) (-?\d+(?:\.\d+)?(?:e[+-]\d+)?)$/.exec(
        line,
      )!;
      expect(sample!.startsWith(last)).toBe(true);
      families.get(last)!.samples[sample!] = Number(value);
    } else expect(name).toBe(last);
  }
  return families;
}

it.each(['somewhere', '10.0.0', ''])('refuses %j as the address of a watcher', async (watcher) => {
  await expect(serve({ data: data(), port: 0, host: '127.0.0.1', watcher })).rejects.toMatchObject({
    problems: [{ field: '--watcher', found: watcher }],
  });
});

it('says that a port is taken, and frees the folder', async () => {
  const other = createServer().listen(0, '127.0.0.1');
  await new Promise((resolve) => other.once('listening', resolve));
  const { port } = other.address() as AddressInfo;
  const folder = data();
  try {
    await expect(serve({ data: folder, port, host: '127.0.0.1', logFile: '/dev/null' })).rejects.toMatchObject({
      code: 'BUSY',
      message: expect.stringContaining(`port ${port}`),
    });
  } finally {
    other.close();
  }
  await (await serve({ data: folder, port: 0, host: '127.0.0.1', logFile: '/dev/null' })).close();
});

it('gives a fresh link for the first administrator at each start, until there is one (ASVS 2.5.4: no default account)', async () => {
  const folder = data();
  const start = () => serve({ data: folder, port: 0, host: '127.0.0.1', logFile: '/dev/null' });
  const former = await start();
  const oldPath = new URL(former.firstLink!.url).pathname;
  expect(oldPath).toMatch(/^\/set-up\/[\w-]{86}$/);
  await former.close();

  const service = await start();
  expect((await fetch(service.url + oldPath)).status).toBe(403);
  const { url, expiresAt } = service.firstLink!;
  expect(Date.parse(expiresAt) - systemClock.now().getTime()).toBeLessThanOrEqual(24 * 3_600_000);
  expect(await (await fetch(url)).text()).toContain('Make the first administrator');
  const form = {
    person: 'ADM',
    name: 'Mira Solberg',
    password: 'seven quiet lanterns',
    repeated: 'seven quiet lanterns',
    'form-number': formNumber(),
  };
  const made = await fetch(url, { method: 'POST', body: new URLSearchParams(form) });
  expect(await made.text()).toContain('Your password is set');
  expect((await fetch(url)).status).toBe(403);
  await service.close();

  const last = await start();
  expect(last.firstLink).toBeUndefined();
  await last.close();
});
