import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import path from 'node:path';
import { systemClock } from '../src/base/clock.js';
import { serve } from '../src/main.js';
import { formNumber } from '../src/web/form-once.js';
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
