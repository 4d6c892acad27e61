import request from 'supertest';
import { systemClock } from '../../src/base/clock.js';
import { ABSOLUTE_LIMIT_MS } from '../../src/people/sessions.js';
import { PASSWORD } from '../support/people.js';
import { issueRecord, signIn, startTestService, type TestService } from '../support/service.js';

let service: TestService;
beforeAll(async () => {
  service = await startTestService();
});
afterAll(() => service.close());

const text = (html: string) => html.replaceAll(/<[^>]+>/g, ' ').replaceAll(/\s+/g, ' ');
const ledgerSize = () => service.services.store.read.ledger.size();
const fresh = () => request(service.app.getHttpServer());
const form = (person: string, password: string, next = '') =>
  fresh().post('/sign-in').type('form').send({ person, password, next });
const cookieOf = (headers: Record<string, unknown>) => (headers['set-cookie'] as string[] | undefined)?.[0] ?? '';

describe('whoever is not signed in', () => {
  it.each(['/', '/lots/L-1', '/people', '/account', '/api', '/evidence/abc', '/lots/L-1/record.pdf', '/nowhere'])(
    'is led from %s to the sign-in page, and from there back',
    async (path) => {
      const { status, headers, text: html } = await service.stranger.get(path);
      expect(status).toBe(303);
      expect(headers.location).toBe(path === '/' ? '/sign-in' : `/sign-in?next=${encodeURIComponent(path)}`);
      expect(html).not.toContain('L-1-I1');
    },
  );

  it.each([
    ['get', '/api/v1/lots'],
    ['get', '/api/v1/openapi.json'],
    ['get', '/api/v1/session'],
    ['post', '/api/v1/lots/L-1/records'],
    ['post', '/api/v1/calc/summary'],
    ['post', '/lots/L-1/records'],
    ['post', '/people/new/account'],
    ['post', '/sign-out'],
  ] as const)('gets 401 and nothing done for %s %s', async (method, path) => {
    const size = await ledgerSize();
    const { status, text: said } = await service.stranger[method](path);
    expect(status).toBe(401);
    expect(said).toMatch(/nobody is signed in/i);
    expect(await ledgerSize()).toBe(size);
  });

  it('gets problem details from the API (RFC 9457)', async () => {
    const { headers, text: said } = await service.stranger.get('/api/v1/lots');
    expect(headers['content-type']).toBe('application/problem+json; charset=utf-8');
    expect(JSON.parse(said)).toMatchObject({ status: 401, code: 'NOT_SIGNED_IN', type: '/api#problem-not-signed-in' });
  });

  it('may see what needs nobody: the sign-in page, its style, and whether the service runs', async () => {
    for (const path of ['/sign-in', '/assets/pages.css', '/assets/fonts/source-sans-3-bold.ttf', '/health']) {
      expect((await service.stranger.get(path)).status).toBe(200);
    }
    const { text: html } = await service.stranger.get('/sign-in');
    expect(html).not.toMatch(/action="\/trace"|href="\/people"|Sign out/);
  });
});

describe('signing in', () => {
  it('gives a cookie that no script reads and no other site sends (ASVS 3.4.2, 3.4.3, 3.4.5)', async () => {
    const { status, headers } = await form('P-QE', PASSWORD);
    expect([status, headers.location]).toEqual([303, '/']);
    const attributes = cookieOf(headers).split('; ').slice(1).sort();
    expect(attributes).toEqual(['HttpOnly', 'Path=/', 'SameSite=Strict']);
    expect(cookieOf(headers)).toMatch(/^lotwright-[0-9a-f]{8}=[\w-]{43};/);
  });

  it('gives it the prefix for hosts, and keeps it to TLS, once the connection is encrypted (ASVS 3.4.1, 3.4.4)', async () => {
    const { IdentityCookie } = await import('../../src/people/identity-cookie.js');
    const written: unknown[] = [];
    const response = { cookie: (...given: unknown[]) => written.push(...given) };
    new IdentityCookie('ab12cd34ef').write({ secure: true } as never, response as never, 'token');
    expect(written).toEqual([
      '__Host-lotwright-ab12cd34',
      'token',
      { httpOnly: true, sameSite: 'strict', path: '/', secure: true },
    ]);
  });

  it('leads on to the page that was asked for, and to no other site', async () => {
    expect((await form('P-QE', PASSWORD, '/lots/L-1?x=1')).headers.location).toBe('/lots/L-1?x=1');
    for (const next of ['//elsewhere.example', 'https://elsewhere.example', '/\\elsewhere.example', 'lots', '/a\nb']) {
      expect((await form('P-QE', PASSWORD, next)).headers.location).toBe('/');
    }
  });

  it('is shown to whoever follows a long link too, and leads to the first page then', async () => {
    const long = `/sign?${'thing=x&'.repeat(300)}`;
    const { headers } = await fresh().get(long);
    const { status, text: html } = await fresh().get(headers.location!);
    expect([status, html.includes('id="password"'), html.includes('thing=')]).toEqual([200, true, false]);
    expect((await form('P-QE', PASSWORD, long)).headers.location).toBe('/');
  });

  it('says the same of a wrong password and of an unknown person, and gives no cookie', async () => {
    const [known, unknown] = [await form('P-QE', 'wrong password'), await form('P-XX', 'wrong password')];
    expect([known.status, unknown.status]).toEqual([401, 401]);
    expect(known.headers['set-cookie']).toBeUndefined();
    expect(known.text.replaceAll('P-QE', '')).toBe(unknown.text.replaceAll('P-XX', ''));
    expect(text(known.text)).toContain('Identifier or password is wrong');
    expect(known.text).not.toContain('wrong password');
    await form('P-QE', PASSWORD);
  });

  it('says how long to wait once too many attempts failed', async () => {
    for (let time = 0; time < 5; time++) await form('P-ZZ', 'wrong password');
    const { status, headers, text: html } = await form('P-ZZ', 'wrong password');
    // Half a minute from the fifth attempt on, of which trying the password took a part.
    const waitS = Number(headers['retry-after']);
    expect([status, waitS > 0 && waitS <= 30]).toEqual([429, true]);
    expect(text(html)).toMatch(new RegExp(`too many attempts failed for this identifier: wait ${waitS} second`, 'i'));
    const told = await fresh().post('/api/v1/session').send({ person: 'P-ZZ', password: 'wrong password' });
    expect([told.status, Number(told.headers['retry-after'])]).toEqual([429, expect.any(Number)]);
    expect(told.body).toMatchObject({ code: 'LOCKED', status: 429, waitS: Number(told.headers['retry-after']) });
  });

  it('lets a password manager fill it in, and cuts nothing off that is pasted (ASVS 2.1.11)', async () => {
    const { text: html } = await service.stranger.get('/sign-in');
    const field = /<input id="password"[^>]*>/.exec(html)![0];
    expect(field).toContain('autocomplete="current-password"');
    expect(Number(/maxlength="(\d+)"/.exec(field)![1])).toBeGreaterThanOrEqual(128);
  });

  it('lists what is missing at the top, with links to the fields', async () => {
    const { status, text: html } = await fresh().post('/sign-in').type('form').send({ person: '', password: '' });
    expect(status).toBe(400);
    expect(html).toContain('<title>Error: Sign in');
    expect(html.indexOf('href="#person"')).toBeLessThan(html.indexOf('<h1>'));
    expect(html).toContain('href="#password"');
    expect(html).toContain('aria-invalid="true"');
  });

  it('ends the session of a cookie that was there before, and takes no token that was planted (ASVS 3.2.1)', async () => {
    const former = await signIn(service.app, 'P-OP');
    const { headers } = await fresh()
      .post('/sign-in')
      .set('Cookie', former.cookie)
      .type('form')
      .send({ person: 'P-OP', password: PASSWORD });
    expect(cookieOf(headers)).not.toContain(former.cookie);
    expect((await fresh().get('/').set('Cookie', former.cookie)).status).toBe(303);
    const planted = `${former.cookie.split('=')[0]}=${'A'.repeat(43)}`;
    const again = await fresh()
      .post('/sign-in')
      .set('Cookie', planted)
      .type('form')
      .send({ person: 'P-OP', password: PASSWORD });
    expect(cookieOf(again.headers)).not.toContain('A'.repeat(43));
    expect((await fresh().get('/').set('Cookie', planted)).status).toBe(303);
  });

  it('is not asked for by a page of another site', async () => {
    const { status, headers } = await form('P-QE', PASSWORD).set('Sec-Fetch-Site', 'cross-site');
    expect([status, headers['set-cookie']]).toEqual([403, undefined]);
  });

  it('needs identifier and password as text', async () => {
    const { status } = await fresh()
      .post('/api/v1/session')
      .send({ person: { $ne: '' }, password: ['x'] });
    expect(status).toBe(400);
  });
});

describe('a session', () => {
  it('is shown on each page with its way out', async () => {
    const { text: html } = await service.ask.get('/');
    expect(text(html)).toMatch(/Quentin Example \(P-QE\) , quality engineer/);
    expect(html).toContain('action="/sign-out"');
  });

  it('cannot be forged, nor taken from the address (ASVS 3.1.1)', async () => {
    const { cookie } = await signIn(service.app, 'P-QE');
    const [name, token] = cookie.split('=');
    for (const forged of [`${name}=`, `${name}=${token}A`, `other=${token}`, `${name}=P-QE`]) {
      expect((await fresh().get('/').set('Cookie', forged)).status).toBe(303);
    }
    expect((await fresh().get(`/?${cookie}`)).status).toBe(303);
    // A token of a program opens no page, and one of a session is none.
    expect((await fresh().get('/').set('Authorization', `Bearer ${token}`)).status).toBe(403);
    expect((await fresh().get('/').set('Cookie', `a=b; ${cookie}; c=d`)).status).toBe(200);
  });

  it('ends at sign-out, in the store and not only in the browser (ASVS 3.3.1)', async () => {
    const { cookie, csrf } = await signIn(service.app, 'P-AN');
    const { status, headers } = await fresh().post('/sign-out').set('Cookie', cookie).type('form').send({ csrf });
    expect([status, headers.location]).toEqual([303, '/sign-in']);
    expect(cookieOf(headers)).toMatch(/^lotwright-\w+=; Path=\/; Expires=Thu, 01 Jan 1970/);
    expect((await fresh().get('/').set('Cookie', cookie)).status).toBe(303);
  });

  it('leaves no page in the memory of the browser (ASVS 8.2.1)', async () => {
    for (const path of ['/', '/lots/L-1', '/api/v1/lots', '/sign-in', '/people/P-QE']) {
      expect((await service.ask.get(path)).headers['cache-control']).toBe('no-store');
    }
  });

  it('begins and ends for programs with the same cookie', async () => {
    const { cookie, csrf } = await signIn(service.app, 'P-AN');
    const show = await fresh().get('/api/v1/session').set('Cookie', cookie);
    expect(show.body).toMatchObject({ person: 'P-AN', name: 'Ana Example', csrf });
    expect(Date.parse(show.body.endsAt) - systemClock.now().getTime()).toBeLessThanOrEqual(ABSOLUTE_LIMIT_MS);
    const ended = await fresh().delete('/api/v1/session').set('Cookie', cookie).set('X-CSRF-Token', csrf);
    expect(ended.status).toBe(204);
    expect((await fresh().get('/api/v1/session').set('Cookie', cookie)).status).toBe(401);
  });
});

describe('a change', () => {
  const CHANGES = ['/lots/L-02/assess', '/api/v1/lots/L-02/assess', '/people/P-OP/give-role', '/sign-out', '/nowhere'];

  it.each(CHANGES)('needs the token of the session (ASVS 4.2.2): %s', async (path) => {
    const { cookie } = await signIn(service.app, 'P-QE');
    const other = await signIn(service.app, 'P-AD');
    const size = await ledgerSize();
    const post = () => fresh().post(path).set('Cookie', cookie);
    for (const asked of [
      post(),
      post().type('form').send({ csrf: other.csrf }),
      post().type('form').send({ csrf: '' }),
      post().type('form').send('csrf=a&csrf=b'),
      post().set('X-CSRF-Token', other.csrf),
      post().type('text/plain').send('csrf=whatever'),
      post().send({ csrf: 1 }),
    ]) {
      const { status, text: said } = await asked;
      expect(status).toBe(403);
      expect(said).toMatch(/does not carry the token of your session/);
    }
    expect(await ledgerSize()).toBe(size);
    expect((await fresh().get('/').set('Cookie', cookie)).status).toBe(200);
  });

  it('carries it in every form of every page', async () => {
    const { csrf, cookie } = await signIn(service.app, 'P-AD');
    const get = (path: string) => fresh().get(path).set('Cookie', cookie);
    for (const path of ['/', '/lots/L-1', '/lots/L-00', '/calculations/fit', '/account', '/people/P-OP/give-role']) {
      const { text: html } = await get(path);
      const forms = html.match(/<form[^>]*method="post"[\s\S]*?<\/form>/g)!;
      expect(forms.length).toBeGreaterThan(0);
      for (const one of forms) expect(one).toContain(`name="csrf" value="${csrf}"`);
    }
  });

  it('is named after the person in the audit trail', async () => {
    const ask = await service.as('P-PE');
    await issueRecord(ask, 'L-03');
    const entries = await service.services.store.read.ledger.page((await ledgerSize()) - 1);
    expect(JSON.parse(entries[0]!.body)).toMatchObject({ type: 'record-issued', actor: 'person:P-PE' });
  });

  it('is never named after somebody whose request is answered at the same time', async () => {
    const [one, two] = [await service.as('P-PE'), await service.as('P-OP')];
    const names = await Promise.all(
      Array.from({ length: 20 }, async (_, index) => {
        const { text: html } = await (index % 2 === 0 ? one : two).get('/calculations');
        return html.includes('Pia Example') && !html.includes('Ovid Example');
      }),
    );
    expect(names).toEqual(Array.from({ length: 20 }, (_, index) => index % 2 === 0));
  });
});

describe('an auditor', () => {
  it.each(['/', '/lots/L-1', '/people', '/people/P-QE', '/families', '/api/v1/lots', '/account'])(
    'reads %s',
    async (path) => {
      expect((await (await service.as('P-AU')).get(path)).status).toBe(200);
    },
  );

  it.each(['/lots/L-02/assess', '/lots/L-02/records', '/api/v1/lots/L-02/records', '/people/P-OP/give-role'])(
    'changes nothing by %s, and the refused act is in the audit trail (ASVS 4.1.1)',
    async (path) => {
      const ask = await service.as('P-AU');
      const before = await ledgerSize();
      const { status, text: said } = await ask.post(path).type('form').send({ role: 'operator' });
      expect(status).toBe(403);
      expect(said).toMatch(/an auditor reads everything and changes nothing/i);
      const entries = await service.services.store.read.ledger.page(before);
      expect(entries.map(({ body }) => JSON.parse(body).event)).toEqual(['act-refused']);
      const refused = (await service.services.store.read.events.ofTypes(['act-refused'])).at(-1)!;
      expect(refused.event).toMatchObject({ person: 'P-AU', act: `POST ${path}` });
    },
  );

  it('may compute and sign out, which store nothing', async () => {
    const ask = await service.as('P-AU');
    expect((await ask.post('/api/v1/calc/summary').send({ values: [2, 4, 4, 6] })).status).toBe(200);
    expect((await ask.post('/sign-out')).status).toBe(303);
  });
});

it('prints no hash of a password (ASVS 2.4.1), no token of a link and none of a session on any page or in any answer', async () => {
  const { cookie } = await signIn(service.app, 'P-AD');
  const token = cookie.split('=')[1]!;
  const get = async (path: string) => (await fresh().get(path).set('Cookie', cookie)).text;
  const paths = ['/', '/people', '/people/P-QE', '/people/P-AD', '/account', '/trace?id=P-QE', '/api/v1/trace/P-QE'];
  for (const path of paths) {
    const said = await get(path);
    expect(said).not.toMatch(/argon2|tokenSha256/);
    expect(said).not.toContain(token);
  }
});
