import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import http from 'node:http';
import https from 'node:https';
import net, { type AddressInfo } from 'node:net';
import path from 'node:path';
import { Writable } from 'node:stream';
import type { NestExpressApplication } from '@nestjs/platform-express';
import { pino } from 'pino';
import request from 'supertest';
import { createApplication, serve } from '../../src/main.js';
import { changesOfEveryone } from '../../src/web/access.js';
import { faultForLog } from '../../src/web/log.js';
import { LIMITS, limitRate } from '../../src/web/request-limits.js';
import { Routes } from '../../src/web/routes.js';
import { temporaryFolder } from '../support/cell.js';
import { makeTestPeople, PASSWORD } from '../support/people.js';
import { signIn } from '../support/service.js';
import { openServices, type Services } from '../support/services.js';
import { withTools } from '../support/tools.js';

let services: Services;
let app: NestExpressApplication;
let port: number;
const lines: Record<string, unknown>[] = [];
const BODY_MS = 400;

beforeAll(async () => {
  services = await openServices(path.join(temporaryFolder('hardening'), 'data'));
  await makeTestPeople(services);
  const log = pino(
    new Writable({
      write(chunk: Buffer, _encoding, done) {
        lines.push(JSON.parse(chunk.toString()) as Record<string, unknown>);
        done();
      },
    }),
  );
  app = await createApplication(services.store, { log, limits: { ...LIMITS, bodyMs: BODY_MS } });
  await app.listen(0, '127.0.0.1');
  ({ port } = app.getHttpServer().address() as AddressInfo);
});
afterAll(async () => {
  await app.close();
  await services.store.close();
});

const ask = () => request(app.getHttpServer());

/** What a raw connection answers until it is closed. */
function raw(text: string, then?: (socket: net.Socket) => void): Promise<{ answer: string; ms: number }> {
  return new Promise((resolve, reject) => {
    const begun = performance.now();
    const socket = net.connect(port, '127.0.0.1', () => {
      socket.write(text);
      then?.(socket);
    });
    let answer = '';
    socket.on('data', (chunk) => {
      answer += chunk.toString();
    });
    const cut = ['ECONNRESET', 'EPIPE'];
    socket.on('error', (error: NodeJS.ErrnoException) => (cut.includes(error.code ?? '') ? undefined : reject(error)));
    socket.on('close', () => resolve({ answer, ms: performance.now() - begun }));
  });
}

describe('bodies (ASVS 12.1.1, 13.2.2)', () => {
  it('beyond one megabyte are refused, whether announced or not, and memory does not grow with them', async () => {
    const { cookie, csrf } = await signIn(app, 'P-QE');
    const big = JSON.stringify({ values: 'x'.repeat(2 << 20) });
    const { status } = await ask()
      .post('/api/v1/calc/summary')
      .set('Cookie', cookie)
      .set('X-CSRF-Token', csrf)
      .type('json')
      .send(big);
    expect(status).toBe(413);
    const before = process.memoryUsage.rss();
    const head = `POST /api/v1/calc/summary HTTP/1.1\r\nHost: 127.0.0.1\r\nCookie: ${cookie}\r\nX-CSRF-Token: ${csrf}\r\nContent-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n`;
    const piece = `10000\r\n${'y'.repeat(0x10000)}\r\n`;
    let sent = 0;
    const { answer } = await raw(head, (socket) => {
      const more = () => {
        while (!socket.destroyed && sent < 200 << 20 && socket.write(piece)) sent += piece.length;
        if (!socket.destroyed && sent < 200 << 20) socket.once('drain', more);
        else socket.end();
      };
      more();
    });
    // The answer may be lost with the connection, which is closed while the rest is still being sent.
    expect(answer === '' || answer.startsWith('HTTP/1.1 413 ')).toBe(true);
    expect(sent).toBeLessThan(100 << 20);
    expect(process.memoryUsage.rss() - before).toBeLessThan(100 << 20);
  });

  it('of strangers are not read at all', async () => {
    const { status } = await ask()
      .post('/api/v1/calc/summary')
      .type('json')
      .send(JSON.stringify({ values: 'x'.repeat(2 << 20) }));
    expect(status).toBe(401);
  });

  it('that come too slowly are hung up on, and the others are served meanwhile', async () => {
    const head =
      'POST /sign-in HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: 1000\r\n\r\n';
    let sent = 0;
    const slow = raw(head, (socket) => {
      const drip = setInterval(() => {
        sent += 1;
        socket.write('p');
      }, 50);
      socket.on('close', () => clearInterval(drip));
    });
    expect((await ask().get('/health')).status).toBe(200);
    const { answer, ms } = await slow;
    expect(answer).not.toMatch(/ 200 /);
    expect(ms).toBeGreaterThanOrEqual(BODY_MS - 20);
    // The client went on sending, and was far from its end.
    expect(sent).toBeLessThan(1000);
  });

  it('that are no JSON, or of deep nesting, are refused and nothing more', async () => {
    const { cookie, csrf } = await signIn(app, 'P-QE');
    const deep = (open: string, close: string) => `${open.repeat(150_000)}1${close.repeat(150_000)}`;
    for (const body of [
      '{"values": [1',
      '['.repeat(200_000),
      deep('[', ']'),
      deep('{"a":', '}'),
      `{"values": ${deep('[', ']')}}`,
      `{"values": [${deep('[', ']')}], "unit": "mm"}`,
      '{"__proto__": {"isAdmin": true}}',
    ]) {
      const { status } = await ask()
        .post('/api/v1/calc/summary')
        .set('Cookie', cookie)
        .set('X-CSRF-Token', csrf)
        .type('json')
        .send(body);
      expect([400, 422]).toContain(status);
    }
    expect(({} as { isAdmin?: boolean }).isAdmin).toBeUndefined();
    expect((await ask().get('/health')).status).toBe(200);
  });

  it('and heads that are too long are refused', async () => {
    const { answer } = await raw(`GET /health HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Long: ${'x'.repeat(40_000)}\r\n\r\n`);
    expect(answer).toMatch(/^HTTP\/1\.1 431 /);
  });
});

describe('the rate of one address (ASVS 11.1.4)', () => {
  const limits = { requestsPerMinute: 5, changesPerMinute: 3, signInsPerMinute: 2, bodyMs: 1000 };
  type Asked = { method: string; path: string; ip: string };
  const asked = (method: string, at: string, address = '192.0.2.1'): Asked => ({
    method,
    path: at,
    ip: address,
  });

  function limiter() {
    let now = 0;
    const check = limitRate(limits, changesOfEveryone(app.get(Routes).all()), () => now);
    const pass = (one: Asked): unknown => {
      let outcome: unknown = 'passed';
      check(
        one as never,
        {} as never,
        ((error?: unknown) => {
          if (error) outcome = error;
        }) as never,
      );
      return outcome;
    };
    return { pass, later: (ms: number) => (now += ms) };
  }

  it('is limited for reading, changing and signing in, and free again in the next minute', () => {
    const { pass, later } = limiter();
    for (let count = 0; count < 5; count += 1) expect(pass(asked('GET', '/'))).toBe('passed');
    later(20_000);
    expect(pass(asked('GET', '/'))).toMatchObject({ code: 'TOO_MANY', facts: { waitS: 40 } });
    expect(pass(asked('GET', '/', '192.0.2.2'))).toBe('passed');
    later(40_000);
    for (let count = 0; count < 3; count += 1) expect(pass(asked('POST', '/lots/L/assess'))).toBe('passed');
    expect(pass(asked('POST', '/lots/L/assess'))).toMatchObject({ code: 'TOO_MANY' });
    later(60_000);
    for (let count = 0; count < 2; count += 1) expect(pass(asked('POST', '/sign-in'))).toBe('passed');
    expect(pass(asked('POST', '/api/v1/session'))).toMatchObject({ code: 'TOO_MANY' });
    expect(pass(asked('GET', '/sign-in'))).toBe('passed');
    later(60_000);
    // However the address is written, and whichever of them it is.
    expect(pass(asked('POST', '/SIGN-IN'))).toBe('passed');
    expect(pass(asked('POST', `/set-up/${'k'.repeat(43)}`))).toBe('passed');
    expect(pass(asked('POST', '/sign-in/'))).toMatchObject({ code: 'TOO_MANY' });
  });

  it('is told with 429 and how long to wait, for programs and for people', async () => {
    const other = await createApplication(services.store, { limits: { ...LIMITS, requestsPerMinute: 2 } });
    try {
      const agent = request(other.getHttpServer());
      await agent.get('/health');
      await agent.get('/health');
      const { status, headers, text } = await agent.get('/api/v1/lots');
      expect(status).toBe(429);
      expect(Number(headers['retry-after'])).toBeGreaterThan(0);
      expect(JSON.parse(text)).toMatchObject({ code: 'TOO_MANY', status: 429 });
    } finally {
      await other.close();
    }
  });
});

describe('paths (ASVS 12.3.1)', () => {
  it.each([
    '/assets/../../package.json',
    '/assets/..%2f..%2fpackage.json',
    '/assets/%2e%2e/%2e%2e/package.json',
    '/assets/....//....//package.json',
    '/assets/fonts/source-sans-3-bold.ttf/../../../package.json',
    '/assets/%00pages.css',
    '/assets/pages.css%00.html',
    '/evidence/..%2f..%2ffolder.json',
    '/evidence/..%2fkeys%2finstallation.pem',
    '/lots/..%2f..%2f/record.pdf',
    '/lots/%2e%2e/record.pdf?revision=1',
    '/lots/L-1/record.pdf?revision=../../keys',
    '/assets/\\..\\..\\package.json',
  ])('%s leads nowhere', async (target) => {
    const { cookie } = await signIn(app, 'P-QE');
    const { answer } = await raw(
      `GET ${target} HTTP/1.1\r\nHost: 127.0.0.1\r\nCookie: ${cookie}\r\nConnection: close\r\n\r\n`,
    );
    expect(answer).toMatch(/^HTTP\/1\.1 (?:303|400|403|404|422)/);
    expect(answer).not.toMatch(/"dependencies"|PRIVATE KEY|"format"/);
  });
});

describe('the log (ASVS 7.1.1, 7.1.2, 7.1.4, 7.3.1)', () => {
  it('has a line for each request, with its identifier, and none of its secrets and no name of a lot', async () => {
    lines.length = 0;
    const token = 'a'.repeat(43);
    const session = await signIn(app, 'P-QE');
    await ask().post('/sign-in').type('form').send({ person: 'P-QE', password: 'a wrong long password' });
    await ask().get(`/set-up/${token}?secret=in-the-query`);
    const { headers } = await ask().get('/lots/L-none').set('Cookie', session.cookie);
    const id = headers['x-request-id'];
    expect(id).toMatch(/^[0-9a-f-]{36}$/);
    expect(lines.find((line) => line.request === id)).toMatchObject({
      method: 'GET',
      path: '/lots/:lot',
      status: 404,
      address: '127.0.0.1',
      person: 'P-QE',
      ms: expect.any(Number),
    });
    const all = JSON.stringify(lines);
    expect(lines.length).toBeGreaterThanOrEqual(4);
    expect(new Set(lines.map((line) => line.request)).size).toBe(lines.length);
    const cookieValue = session.cookie.split('=')[1]!;
    for (const secret of [
      PASSWORD,
      'a wrong long password',
      token,
      'in-the-query',
      cookieValue,
      session.csrf,
      'L-none',
    ]) {
      expect(all).not.toContain(secret);
    }
  });

  it('takes no identifier from outside, and no line break into a line', async () => {
    lines.length = 0;
    const { headers } = await ask().get('/health%0a%7b%22forged%22:1%7d').set('X-Request-Id', 'mine');
    expect(headers['x-request-id']).not.toBe('mine');
    expect(lines).toHaveLength(1);
    expect(lines[0]).toMatchObject({ path: '/{*path}', status: 303 });
  });

  it('tells of an error its kind and where it arose, and not what it says of a case', () => {
    const fault = faultForLog(
      Object.assign(new TypeError('C-2026-04 has no left side\n    in two lines'), { code: 'E1' }),
    );
    expect(fault).toMatchObject({ type: 'TypeError', code: 'E1' });
    expect(fault.frames[0]).toContain('hardening.test');
    expect(JSON.stringify(fault)).not.toMatch(/C-2026|two lines/);
  });

  it('can be a file that its owner alone reads', async () => {
    const folder = temporaryFolder('log');
    const logFile = path.join(folder, 'service.log');
    const running = await serve({ data: path.join(folder, 'data'), port: 0, host: '127.0.0.1', logFile });
    await fetch(`${running.url}/health`);
    await running.close();
    expect(fs.statSync(logFile).mode & 0o777).toBe(0o600);
    expect(JSON.parse(fs.readFileSync(logFile, 'utf8').split('\n')[0]!)).toMatchObject({
      path: '/health',
      status: 200,
    });
  });
});

describe('names and hosts', () => {
  it.each(['evil.example', '127.0.0.1.evil.example', '192.0.2.7', ''])('does not answer to %j', async (host) => {
    const { answer } = await raw(`GET /health HTTP/1.1\r\nHost: ${host}\r\nConnection: close\r\n\r\n`);
    expect(answer).toMatch(/^HTTP\/1\.1 40[03]/);
  });
});

withTools(['openssl'], 'with TLS (ASVS 9.1.1, 9.1.3, 14.4.5)', () => {
  const folder = temporaryFolder('tls');
  const cert = path.join(folder, 'cert.pem');
  const key = path.join(folder, 'key.pem');
  const make = (to: { cert: string; key: string }, ...more: string[]) =>
    spawnSync('openssl', [
      ...'req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -subj /CN=cell.example'.split(' '),
      '-addext',
      'subjectAltName=DNS:cell.example,IP:127.0.0.1',
      ...['-out', to.cert, '-keyout', to.key, ...more],
    ]);
  beforeAll(() => {
    make({ cert, key }, '-days', '2');
    fs.chmodSync(key, 0o600);
  });

  const data = () => path.join(temporaryFolder('tls-data'), 'data');

  function get(url: string, headers: Record<string, string>, options: https.RequestOptions = {}) {
    return new Promise<http.IncomingMessage>((resolve, reject) => {
      https
        .get(
          url,
          { headers, ca: fs.readFileSync(cert), servername: 'cell.example', agent: false, ...options },
          (response) => {
            response.resume();
            resolve(response);
          },
        )
        .on('error', reject);
    });
  }

  it('serves other machines by HTTPS only, under the names of the certificate, and tells browsers to stay there', async () => {
    const running = await serve({ data: data(), port: 0, host: '0.0.0.0', tls: { cert, key }, logFile: '/dev/null' });
    try {
      expect(running.url).toMatch(/^https:/);
      const url = running.url.replace('0.0.0.0', '127.0.0.1');
      const { statusCode, headers } = await get(`${url}/health`, { Host: 'cell.example' });
      expect(statusCode).toBe(200);
      expect(headers['strict-transport-security']).toBe('max-age=31536000');
      expect((await get(`${url}/health`, { Host: 'other.example' })).statusCode).toBe(403);
      await expect(get(`${url}/health`, {}, { maxVersion: 'TLSv1.1', minVersion: 'TLSv1' })).rejects.toThrow();
      const plain = new Promise((resolve) => http.get(url.replace('https', 'http'), resolve).on('error', resolve));
      expect(await plain).toHaveProperty('code');
    } finally {
      await running.close();
    }
  });

  it('refuses files that are of no use, and says which and why', async () => {
    const attempt = (tls: { cert: string; key: string }) =>
      serve({ data: data(), port: 0, host: '127.0.0.1', tls, logFile: '/dev/null' });
    const saying = (text: string) => ({ code: 'BAD_INPUT', message: expect.stringContaining(text) });
    const other = { cert: path.join(folder, 'other.pem'), key: path.join(folder, 'other.key') };
    make(other, '-days', '2');
    fs.chmodSync(other.key, 0o600);
    await expect(attempt({ cert, key: path.join(folder, 'none.pem') })).rejects.toMatchObject(saying('ENOENT'));
    await expect(attempt({ cert: key, key })).rejects.toMatchObject(saying('a certificate in PEM'));
    await expect(attempt({ cert, key: cert })).rejects.toMatchObject(saying('a private key in PEM'));
    await expect(attempt({ cert, key: other.key })).rejects.toMatchObject(saying('the private key of the certificate'));
    fs.chmodSync(other.key, 0o640);
    await expect(attempt(other)).rejects.toMatchObject(saying('others on this machine can read'));
  });

  it('refuses a certificate that is out of its time', async () => {
    const { readTls } = await import('../../src/web/tls.js');
    expect(() => readTls({ cert, key }, new Date(Date.now() + 5 * 86_400_000))).toThrow(/one for today/);
    const tls = readTls({ cert, key });
    expect(['cell.example', '127.0.0.1', 'x.cell.example', '[::1]', 'cell.example.evil'].map(tls.speaksFor)).toEqual([
      true,
      true,
      false,
      false,
      false,
    ]);
  });
});
