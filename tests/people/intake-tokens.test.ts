import path from 'node:path';
import type { NestExpressApplication } from '@nestjs/platform-express';
import request from 'supertest';
import { DemoClock, systemClock } from '../../src/base/clock.js';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { createApplication } from '../../src/main.js';
import { IntakeTokens, LONGEST_TOKEN_DAYS } from '../../src/people/intake-tokens.js';
import { Proof } from '../../src/people/proof.js';
import { temporaryFolder } from '../support/cell.js';
import { makeTestPeople, PASSWORD, provedActs } from '../support/people.js';
import { BOUNDARY, bodyOf } from '../support/sender.js';
import { type Asking, askingAs, sendForm } from '../support/service.js';
import { openServices, type Services } from '../support/services.js';

const DAY_MS = 24 * 3_600_000;
let services: Services;
let app: NestExpressApplication;
let operator: Asking;
let tokens: IntakeTokens;
beforeAll(async () => {
  services = await openServices(path.join(temporaryFolder('tokens'), 'data'));
  await makeTestPeople(services);
  app = await createApplication(services.store);
  operator = await askingAs(app, 'P-OP');
  tokens = app.get(IntakeTokens);
});
afterAll(async () => {
  await app.close();
  await services.store.close();
});

const make = async (name: string, person = 'P-OP', days = 1) =>
  tokens.make(await services.accounts.prove(person, PASSWORD), name, days);
const supplier = (code: string) => [
  { name: 'supplier.yaml', bytes: Buffer.from(`kind: supplier\nformat: 1\nsupplier: ${code}\ntitle: Title\n`) },
];
const take = (token: string, code: string) =>
  request(app.getHttpServer())
    .post('/api/v1/intake')
    .set('Authorization', `Bearer ${token}`)
    .set('Content-Type', `multipart/form-data; boundary=${BOUNDARY}`)
    .send(bodyOf(supplier(code)));
const lastEntry = async () => {
  const { ledger } = services.store.read;
  return JSON.parse((await ledger.entry(await ledger.size()))!.body) as { actor: string; type: string };
};

describe('a token of a program', () => {
  it('is made on a page, shown once, takes documents in under both names, and is ended there', async () => {
    const form = { name: 'melt-monitor', days: '30', ownPassword: PASSWORD };
    const { headers } = await sendForm(operator, '/account/tokens', form);
    expect(headers.location).toBe('/account/tokens/melt-monitor');
    const shown = (await operator.get(headers.location!)).text;
    const [, token] = /aria-label="Token">([\w-]{86})</.exec(shown)!;
    expect((await operator.get(headers.location!)).text).not.toContain(token!);
    const { text } = await operator.get('/account/tokens');
    expect(text).toContain('melt-monitor');
    expect(text).not.toContain(token!);

    const { status, body } = await take(token!, 'S1');
    expect([status, body]).toMatchObject([200, { stored: true }]);
    expect(await lastEntry()).toMatchObject({ actor: 'person:P-OP through token melt-monitor' });

    const [, end] = /action="(\/account\/tokens\/[0-9a-f]{64}\/end)"/.exec(text)!;
    expect((await sendForm(operator, end!, { ownPassword: PASSWORD })).status).toBe(303);
    expect((await operator.get('/account/tokens')).text).toContain('You have none');
    expect((await take(token!, 'S2')).status).toBe(401);
    expect((await operator.get('/people/P-OP')).text).toMatch(/token melt-monitor made.*token melt-monitor ended/s);
  });

  it.each([
    [{ name: 'a b', days: '3' }, 'What it is for'],
    [{ name: '', days: '3' }, 'What it is for'],
    [{ name: 'a', days: '0' }, 'After so many'],
    [{ name: 'a', days: String(LONGEST_TOKEN_DAYS + 1) }, 'After so many'],
    [{ name: 'a', days: 'ten' }, 'After so many'],
  ])('is not made of %j: the page says why, and keeps what was typed', async (typed, says) => {
    const before = await services.store.read.ledger.size();
    const { status, text } = await sendForm(operator, '/account/tokens', { ...typed, ownPassword: PASSWORD });
    expect(status).toBe(400);
    expect(text).toMatch(new RegExp(`class="wrong"[^>]*>[^<]*${says}`));
    expect(text).toContain(`name="days" type="text" value="${typed.days}"`);
    expect(await services.store.read.ledger.size()).toBe(before);
  });

  it('opens nothing else: no page, no question, no signature', async () => {
    const { token } = await make('narrow');
    const ask = request(app.getHttpServer());
    for (const asked of [
      ask.get('/'),
      ask.get('/api/v1/lots'),
      ask.get('/api/v1/session'),
      ask.post('/api/v1/sign').send({}),
      ask.post('/sign-in').send({}),
      ask.post('/api/v1/intake/staged').send({}),
    ]) {
      const { status, text } = await asked.set('Authorization', `Bearer ${token}`);
      expect([status, text]).toEqual([403, expect.stringMatching(/a token takes documents in/i)]);
    }
    // What a proxy of the house sends of its own is not meant.
    expect((await request(app.getHttpServer()).get('/health').set('Authorization', 'Basic eA==')).status).toBe(200);
  });
});

describe('a token', () => {
  const now = systemClock.now().getTime();
  const later = (days: number) =>
    new IntakeTokens(services.store, services.accounts, new DemoClock(new Date(now + days * DAY_MS)));

  it('runs out, and its name is free again', async () => {
    const { token } = await make('week', 'P-OP', 7);
    expect(await later(6.9).find(token)).toMatchObject({ person: 'P-OP', through: 'token week' });
    await expect(make('week')).rejects.toMatchObject({ code: 'CONFLICT' });
    await expect(later(7.01).find(token)).rejects.toMatchObject({
      code: 'NOT_SIGNED_IN',
      message: expect.stringContaining('the token week ran out at'),
    });
    expect(await later(8).ofPerson('P-OP')).toEqual([]);
  });

  it('is ended by its person alone', async () => {
    const { token, tokenSha256 } = await make('mine');
    const end = async (person: string) => tokens.end(await services.accounts.prove(person, PASSWORD), tokenSha256);
    await expect(end('P-AN')).rejects.toMatchObject({ code: 'NOT_FOUND' });
    await end('P-OP');
    await expect(tokens.find(token)).rejects.toMatchObject({ code: 'NOT_SIGNED_IN' });
  });

  it('ends with the password of its person, and with no other', async () => {
    const { token } = await make('outlives', 'P-PE');
    const { token: other } = await make('stays');
    const set = async (before: string, password: string) =>
      services.accountLinks.changePassword(await services.accounts.prove('P-PE', before), password);
    await set(PASSWORD, `another ${PASSWORD}`);
    await expect(tokens.find(token)).rejects.toMatchObject({ code: 'NOT_SIGNED_IN' });
    expect(await tokens.ofPerson('P-PE')).toEqual([]);
    await set(`another ${PASSWORD}`, PASSWORD);
    await expect(tokens.find(token)).rejects.toMatchObject({ code: 'NOT_SIGNED_IN' });
    expect(await tokens.find(other)).toMatchObject({ person: 'P-OP' });
    const { token: next } = await make('outlives', 'P-PE');
    expect(await tokens.find(next)).toMatchObject({ person: 'P-PE' });
  });

  it('that is none makes nobody walk over the audit trail', async () => {
    const walk = vi.spyOn(services.store.whole, 'demandPeople');
    await expect(tokens.find('k'.repeat(86))).rejects.toMatchObject({ code: 'NOT_SIGNED_IN' });
    expect(walk).not.toHaveBeenCalled();
    const { token } = await make('walked');
    walk.mockClear();
    await tokens.find(token);
    expect(walk).toHaveBeenCalledOnce();
    walk.mockRestore();
  });

  it('gives what its person may today, and ends with their account', async () => {
    const { token } = await make('lab', 'P-AN');
    const acts = provedActs(services);
    expect((await tokens.find(token)).acting).toEqual([{ role: 'analyst', deputyFor: null }]);
    await acts.takeRole('P-AD', 'P-AN', 'analyst', 'left the laboratory');
    expect((await tokens.find(token)).acting).toEqual([]);
    await acts.close('P-AD', 'P-AN', 'left');
    await expect(tokens.find(token)).rejects.toMatchObject({ code: 'NOT_SIGNED_IN' });
  });

  it('is one of twenty at most', async () => {
    const expiresAt = new Date(now + DAY_MS).toISOString();
    const token = (at: number) => ({ person: 'P-QE', name: `t${at}`, tokenSha256: sha256Hex(`t${at}`), expiresAt });
    await Proof.signing(await services.accounts.prove('P-QE', PASSWORD), (pen) =>
      services.store.change('person:P-QE', async ({ events }) => {
        for (let at = 0; at < 20; at += 1) await events.act({ type: 'intake-token-made', ...token(at) }, [pen]);
      }),
    );
    await expect(make('one-more', 'P-QE')).rejects.toMatchObject({ code: 'REFUSED' });
  });

  it('is none when it was made up, cut, or put into the database by somebody without the secret of the folder', async () => {
    const { token } = await make('real');
    const other = token.slice(0, -1) + (token.endsWith('A') ? 'B' : 'A');
    expect((await take(other, 'S3')).status).toBe(401);
    expect((await take(token.slice(1), 'S3')).body).toMatchObject({ code: 'BAD_INPUT' });
    await expect(tokens.find(`${'k'.repeat(43)}${token.slice(43)}`)).rejects.toMatchObject({ code: 'NOT_SIGNED_IN' });
    const own = { person: 'P-OP', name: 'forged', tokenSha256: '0'.repeat(64), expiresAt: '2099-01-01T00:00:00.000Z' };
    await services.store.change('person:P-OP', ({ events }) => events.add({ type: 'intake-token-made', ...own }));
    // An act that nobody signed stops all of them, as it does with every other act.
    await expect(tokens.ofPerson('P-OP')).rejects.toMatchObject({ code: 'ALTERED' });
    expect((await take(token, 'S3')).status).toBe(500);
  });
});
