import fs from 'node:fs';
import path from 'node:path';
import request from 'supertest';
import { serve } from '../../../src/main.js';
import { temporaryFolder } from '../../support/cell.js';
import { setEnvironment } from '../../support/environment.js';
import { attackDatabase, forgeEvent } from '../../support/intruder.js';
import { PASSWORD } from '../../support/people.js';
import { sendForm, startTestService, type TestService } from '../../support/service.js';
import { CLIENT, SECRET, SignInProvider } from '../../support/sign-in-provider.js';

const HOST = '127.0.0.1:4680';
const BACK = `http://${HOST}/sign-in/elsewhere/back`;
const SUBJECT = 'quentin-at-the-hospital';

let service: TestService;
let provider: SignInProvider;
let surroundings: () => void;

beforeAll(async () => {
  service = await startTestService();
  provider = await SignInProvider.start(BACK);
  surroundings = setEnvironment({
    LOTWRIGHT_OIDC_ISSUER: provider.issuer,
    LOTWRIGHT_OIDC_CLIENT: CLIENT,
    LOTWRIGHT_OIDC_SECRET: SECRET,
    LOTWRIGHT_OIDC_NAME: 'the hospital',
  });
});
afterAll(async () => {
  surroundings();
  await provider.close();
  await service.close();
});

const text = (html: string) => html.replaceAll(/<[^>]+>/g, ' ').replaceAll(/\s+/g, ' ');
const get = (path: string, cookie = '') =>
  request(service.app.getHttpServer()).get(path).set('Host', HOST).set('Cookie', cookie);
const cookiesOf = (answer: request.Response): string[] => (answer.headers['set-cookie'] as unknown as string[]) ?? [];
const link = async (subject = SUBJECT) =>
  sendForm(await service.as('P-AD'), '/people/P-QE/link-elsewhere', {
    ...{ issuer: provider.issuer, subject, reason: 'shown at the counter', ownPassword: PASSWORD },
  });
const unlink = async () =>
  sendForm(await service.as('P-AD'), '/people/P-QE/unlink-elsewhere', { reason: 'left', ownPassword: PASSWORD });

/** To the provider: where it leads, and the cookie that the browser keeps meanwhile. */
async function begin(next = ''): Promise<{ address: string; kept: string }> {
  const answer = await get(`/sign-in/elsewhere${next && `?next=${encodeURIComponent(next)}`}`);
  expect(answer.status).toBe(303);
  const [cookie] = cookiesOf(answer);
  expect(cookie).toMatch(/HttpOnly.*SameSite=Lax|SameSite=Lax.*HttpOnly/i);
  expect(cookie).toMatch(/Path=\/sign-in\/elsewhere/);
  return { address: answer.headers.location!, kept: cookie!.split(';')[0]! };
}

async function signInAs(subject: string, next = ''): Promise<request.Response> {
  const { address, kept } = await begin(next);
  const { pathname, search } = await provider.letIn(address, subject);
  return get(pathname + search, kept);
}

/** The same cookie, with one of its values as of another sign-in. */
function spoilt(kept: string, values: object): string {
  const [name, value] = kept.split('=') as [string, string];
  const said = JSON.parse(Buffer.from(value.split('.')[0]!, 'base64url').toString()) as object;
  const changed = Buffer.from(JSON.stringify({ ...said, ...values })).toString('base64url');
  return `${name}=${changed}.${service.services.store.secret.code('sign-in elsewhere', changed)}`;
}
const saidBy = (kept: string) =>
  JSON.parse(Buffer.from(kept.split('=')[1]!.split('.')[0]!, 'base64url').toString()) as { nonce: string };

it('is offered on the sign-in page where a provider is named, and nowhere else', async () => {
  expect(text((await get('/sign-in')).text)).toContain('Sign in by the hospital');
  const { LOTWRIGHT_OIDC_ISSUER: issuer } = process.env;
  delete process.env.LOTWRIGHT_OIDC_ISSUER;
  expect(text((await get('/sign-in')).text)).not.toContain('the hospital');
  expect((await get('/sign-in/elsewhere')).status).toBe(404);
  process.env.LOTWRIGHT_OIDC_ISSUER = issuer;
});

it('asks for a code with PKCE, state and nonce, and for who it is alone', async () => {
  const { searchParams } = new URL((await begin()).address);
  expect(Object.fromEntries(searchParams)).toMatchObject({
    ...{ client_id: CLIENT, redirect_uri: BACK, response_type: 'code', scope: 'openid', code_challenge_method: 'S256' },
    ...{ state: expect.stringMatching(/.{43}/), nonce: expect.stringMatching(/.{43}/) },
  });
});

it('makes no account: somebody who is linked with none is told what to ask an administrator for', async () => {
  const before = (await service.services.accounts.people()).size;
  const { status, text: html, headers } = await signInAs('a-stranger');
  expect([status, (await service.services.accounts.people()).size]).toEqual([401, before]);
  expect(text(html)).toContain(`“a-stranger” of ${provider.issuer}`);
  expect(text(html)).toContain('Sign in with identifier and password');
  expect(String(headers['set-cookie'])).not.toMatch(/lotwright-[0-9a-f]{8}=[\w-]{43}/);
});

it('lets in whom an administrator linked, and leads on to what was asked for; signing takes the own password all the same', async () => {
  expect((await link()).status).toBe(303);
  const answer = await signInAs(SUBJECT, '/lots/L-1');
  expect([answer.status, text(answer.text)]).toEqual([200, expect.stringContaining('You are signed in')]);
  expect(answer.text).toContain('href="/lots/L-1"');
  const session = cookiesOf(answer)
    .find((cookie) => /SameSite=Strict/.test(cookie))!
    .split(';')[0]!;
  const { status, body } = await get('/api/v1/session', session);
  expect([status, body]).toEqual([200, expect.objectContaining({ person: 'P-QE' })]);
  const ask = request
    .agent(service.app.getHttpServer())
    .set('Cookie', session)
    .set('X-CSRF-Token', body.csrf as string);
  const refused = await sendForm(ask, '/account/password', {
    old: 'what the provider takes',
    password: 'x',
    repeated: 'x',
  });
  expect(refused.status).toBeGreaterThanOrEqual(400);
  await request(service.app.getHttpServer())
    .post('/sign-out')
    .set('Cookie', session)
    .set('X-CSRF-Token', body.csrf as string);
  expect((await get('/api/v1/session', session)).status).toBe(401);
});

it('stands in the history of the account and on its page, signed by the administrator', async () => {
  const page = text((await (await service.as('P-AD')).get('/people/P-QE')).text);
  expect(page).toContain(`as “${SUBJECT}” of ${provider.issuer}`);
  expect(page).toContain('shown at the counter');
  expect(await service.services.store.verifyLedger()).toMatchObject({ ok: true });
});

it('is refused to a second account, and to a second provider for one account', async () => {
  const administrator = await service.as('P-AD');
  const fields = { issuer: provider.issuer, subject: SUBJECT, ownPassword: PASSWORD };
  expect(text((await sendForm(administrator, '/people/P-OP/link-elsewhere', fields)).text)).toMatch(
    /that sign-in is linked with the account of Quentin Example/i,
  );
  expect(text((await link('another')).text)).toContain('is linked with a sign-in elsewhere already');
});

describe('an answer that does not hold is refused, in words, and opens no session', () => {
  const refused = async (answer: request.Response, says: RegExp) => {
    expect([answer.status, text(answer.text)]).toEqual([401, expect.stringMatching(says)]);
    expect(cookiesOf(answer).some((cookie) => /SameSite=Strict/.test(cookie))).toBe(false);
  };

  it('in another browser, and one whose cookie somebody wrote', async () => {
    const { address, kept } = await begin();
    const { pathname, search } = await provider.letIn(address, SUBJECT);
    await refused(await get(pathname + search), /was not begun in this browser/);
    await refused(
      await get(
        pathname + search,
        kept.replace(/.$/, (last) => (last === 'A' ? 'E' : 'A')),
      ),
      /was not begun in this browser/,
    );
  });

  it('with the nonce of another sign-in', async () => {
    const [one, other] = [await begin(), await begin()];
    const { pathname, search } = await provider.letIn(one.address, SUBJECT);
    const swapped = spoilt(one.kept, { nonce: saidBy(other.kept).nonce });
    await refused(await get(pathname + search, swapped), /does not hold: .*nonce/);
  });

  it('with the state of another sign-in, or a code that was not given for it', async () => {
    const [one, other] = [await begin(), await begin()];
    const { pathname, search } = await provider.letIn(one.address, SUBJECT);
    await refused(await get(pathname + search, other.kept), /does not hold: .*state/);
    const forged = search.replace(/code=[^&]+/, 'code=made-up');
    await refused(await get(pathname + forged, one.kept), /did not stand by its answer: invalid_grant/);
  });

  it('a second time, and after ten minutes', async () => {
    const { address, kept } = await begin();
    const { pathname, search } = await provider.letIn(address, SUBJECT);
    expect((await get(pathname + search, kept)).status).toBe(200);
    await refused(await get(pathname + search, kept), /used already/);
    const late = await begin();
    const back = await provider.letIn(late.address, SUBJECT);
    const old = spoilt(late.kept, { endsAt: new Date(Date.now() - 1000).toISOString() });
    await refused(await get(back.pathname + back.search, old), /took too long/);
  });

  it('when what the provider signed has run out before it comes', async () => {
    const { address, kept } = await begin();
    const { pathname, search } = await provider.letIn(address, SUBJECT);
    const [now, plain] = [Date.now, globalThis.fetch];
    const late = vi.spyOn(globalThis, 'fetch').mockImplementation(async (...asked) => {
      const answer = await plain(...asked);
      if (String(asked[0]).endsWith('/token')) vi.spyOn(Date, 'now').mockImplementation(() => now() + 3 * 3_600_000);
      return answer;
    });
    try {
      await refused(await get(pathname + search, kept), /does not hold: .*(exp|timestamp)/);
    } finally {
      late.mockRestore();
      vi.mocked(Date.now).mockRestore();
    }
  });

  it('of a provider that calls itself otherwise than it is named', async () => {
    process.env.LOTWRIGHT_OIDC_ISSUER = provider.issuer.replace('127.0.0.1', 'localhost');
    try {
      await refused(await get('/sign-in/elsewhere'), /does not hold: .*issuer/);
    } finally {
      process.env.LOTWRIGHT_OIDC_ISSUER = provider.issuer;
    }
  });

  it('when the provider refuses', async () => {
    const { address, kept } = await begin();
    const state = new URL(address).searchParams.get('state');
    const path = `/sign-in/elsewhere/back?error=access_denied&state=${state}&iss=${encodeURIComponent(provider.issuer)}`;
    await refused(await get(path, kept), /did not let you in: access_denied/);
  });
});

it('ends with its link: the session that began so, and the next sign-in', async () => {
  const answer = await signInAs(SUBJECT);
  const session = cookiesOf(answer)
    .find((cookie) => /SameSite=Strict/.test(cookie))!
    .split(';')[0]!;
  expect((await unlink()).status).toBe(303);
  expect((await get('/api/v1/session', session)).status).toBe(401);
  expect((await signInAs(SUBJECT)).status).toBe(401);
});

it('says that the provider is away, and lets people in by their password', async () => {
  process.env.LOTWRIGHT_OIDC_ISSUER = 'http://127.0.0.1:1';
  try {
    const { status, text: html } = await get('/sign-in/elsewhere');
    expect([status, text(html)]).toEqual([
      401,
      expect.stringMatching(/cannot be asked now: .*Identifier and password work/),
    ]);
    expect(await service.as('P-QE')).toBeDefined();
  } finally {
    process.env.LOTWRIGHT_OIDC_ISSUER = provider.issuer;
  }
});

it('is named by an address over TLS alone', async () => {
  process.env.LOTWRIGHT_OIDC_ISSUER = 'http://provider.example';
  try {
    expect((await get('/sign-in/elsewhere')).text).toContain('https://');
  } finally {
    process.env.LOTWRIGHT_OIDC_ISSUER = provider.issuer;
  }
});

it.each([
  ['without its client', { LOTWRIGHT_OIDC_CLIENT: undefined }],
  ['over plain HTTP to another machine', { LOTWRIGHT_OIDC_ISSUER: 'http://provider.example' }],
  ['by no address', { LOTWRIGHT_OIDC_ISSUER: 'the hospital' }],
])('named %s it keeps the service from starting, and nobody from the pages', async (_how, named) => {
  const restore = setEnvironment(named);
  try {
    const { status, text: html } = await get('/sign-in');
    expect([status, text(html)]).toEqual([200, expect.not.stringContaining('the hospital')]);
    expect((await (await service.as('P-AD')).get('/people/P-QE/link-elsewhere')).status).toBe(200);
    const data = path.join(temporaryFolder('provider'), 'data');
    await expect(serve({ data, port: 0, host: '127.0.0.1', logFile: '/dev/null' })).rejects.toMatchObject({
      code: 'BAD_INPUT',
      message: expect.stringContaining('LOTWRIGHT_OIDC_'),
    });
    expect(fs.existsSync(data)).toBe(false);
  } finally {
    restore();
  }
});

it('is the same with and without the closing slash of its address', async () => {
  expect(new URL(provider.issuer).pathname).toBe('/');
  const slashed = provider.issuer.endsWith('/') ? provider.issuer.slice(0, -1) : `${provider.issuer}/`;
  const administrator = await service.as('P-AD');
  const fields = { issuer: slashed, subject: SUBJECT, ownPassword: PASSWORD };
  expect((await sendForm(administrator, '/people/P-QE/link-elsewhere', fields)).status).toBe(303);
  expect((await signInAs(SUBJECT)).status).toBe(200);
  const again = await sendForm(administrator, '/people/P-OP/link-elsewhere', { ...fields, issuer: provider.issuer });
  expect(text(again.text)).toMatch(/is linked with the account of Quentin Example/);
});

it('lets nobody in by a link that somebody put into the database', async () => {
  const before = await signInAs('a-stranger');
  expect(before.status).toBe(401);
  await attackDatabase(service.services.store.folder.path, (sql) => {
    forgeEvent(sql, { type: 'elsewhere-linked', person: 'P-QE', issuer: provider.issuer, subject: 'a-stranger' });
  });
  const answer = await signInAs('a-stranger');
  expect([answer.status, text(answer.text)]).toEqual([500, expect.stringMatching(/changed|does not hold|altered/i)]);
  expect(String(answer.headers['set-cookie'])).not.toMatch(/SameSite=Strict/);
});
