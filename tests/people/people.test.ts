import request from 'supertest';
import { PASSWORD } from '../support/people.js';
import { type Asking, sendForm, startTestService, type TestService } from '../support/service.js';

let service: TestService;
let administrator: Asking;
beforeAll(async () => {
  service = await startTestService();
  administrator = await service.as('P-AD');
});
afterAll(() => service.close());

const text = (html: string) => html.replaceAll(/<[^>]+>/g, ' ').replaceAll(/\s+/g, ' ');
const page = async (path: string, ask: Asking = administrator) => text((await ask.get(path)).text);
const send = (path: string, fields: Record<string, string>, ask: Asking = administrator) => sendForm(ask, path, fields);
const pathOf = (html: string) => /http:\/\/127\.0\.0\.1:\d+(\/set-up\/[\w-]{86})/.exec(html)![1]!;
const fresh = () => request(service.app.getHttpServer());

/** An account made on the page, and its one-time link. */
async function makeAccount(person: string, name: string): Promise<string> {
  const identityCheckedOn = service.services.accounts.today();
  const { status, headers } = await send('/people/new/account', {
    person,
    name,
    identityCheckedOn,
    ownPassword: PASSWORD,
  });
  expect([status, headers.location]).toEqual([303, `/people/${person}/one-time-link`]);
  return pathOf((await administrator.get(headers.location!)).text);
}

describe('an account', () => {
  it('goes from the form of an administrator to the first sign-in of its person', async () => {
    const link = await makeAccount('NEW-1', 'Nora Example');
    expect(await page('/people/NEW-1')).toMatch(/no password yet; one-time link open until/);
    const { text: shown } = await fresh().get(link);
    expect(text(shown)).toContain('For Nora Example , who signs in as NEW-1');
    // A browser sends the field of the token too, empty where nobody is signed in.
    const weak = await sendForm(fresh(), link, { csrf: '', password: 'short', repeated: 'other' });
    expect(weak.status).toBe(400);
    expect(weak.text).toContain('href="#repeated"');
    const guessed = await sendForm(fresh(), link, { password: 'NoraExample1', repeated: 'NoraExample1' });
    expect(text(guessed.text)).toContain('beside the identifier, the name');
    const done = await sendForm(fresh(), link, { password: PASSWORD, repeated: PASSWORD });
    expect([done.status, done.headers.location]).toEqual([303, '/set-up/done']);
    expect(text((await fresh().get('/set-up/done')).text)).toContain('Your password is set');
    const signedIn = await fresh().post('/sign-in').type('form').send({ person: 'NEW-1', password: PASSWORD });
    expect(signedIn.headers.location).toBe('/');
  });

  it('opens its link once', async () => {
    const link = await makeAccount('NEW-2', 'Otto Example');
    await sendForm(fresh(), link, { password: PASSWORD, repeated: PASSWORD });
    for (const again of [
      await fresh().get(link),
      await sendForm(fresh(), link, { password: 'eight quiet lanterns', repeated: 'eight quiet lanterns' }),
      await fresh().get(`/set-up/${'x'.repeat(43)}`),
    ]) {
      expect(again.status).toBe(403);
      expect(text(again.text)).toContain('This link does not work');
    }
  });

  it('is refused for an identifier that somebody had, with the form as it was typed', async () => {
    const { status, text: html } = await send('/people/new/account', {
      person: 'p-qe',
      name: 'Second Person',
      identityCheckedOn: '2031-03-01',
      ownPassword: PASSWORD,
    });
    expect(status).toBe(400);
    expect(text(html)).toContain('belongs to Quentin Example; an identifier is never given to anybody else');
    expect(html).toContain('value="Second Person"');
  });

  it('is offered for a person of the files, with the name filled in', async () => {
    const { text: html } = await administrator.get('/people/new/account?person=P-AN');
    expect(html).toContain('value="Ana Example"');
  });

  it('is closed for good, and its history says by whom and why', async () => {
    await makeAccount('NEW-3', 'Paula Example');
    expect((await send('/people/NEW-3/close', { reason: '', ownPassword: PASSWORD })).status).toBe(400);
    expect(
      (await send('/people/NEW-3/close', { reason: 'made by mistake', ownPassword: PASSWORD })).headers.location,
    ).toBe('/people/NEW-3');
    const said = await page('/people/NEW-3');
    expect(said).toMatch(/closed since/);
    expect(said).toMatch(/P-AD account closed made by mistake/);
    expect(said).not.toContain('Give a role');
  });
});

it.each(['give-role', 'take-role', 'name-deputy', 'end-deputy', 'link', 'close'])(
  'shows an empty form to %s, or says that there is nothing to choose',
  async (act) => {
    const { status, text: html } = await administrator.get(`/people/P-OP/${act}`);
    expect(status).toBe(200);
    expect(html).not.toMatch(/undefined|null|\[object Object\]/);
    expect(html).toMatch(/name="reason" type="text" value=""|There is nothing to choose/);
  },
);

describe('roles and deputies', () => {
  it('are given, shown and taken on their pages', async () => {
    expect(
      (await send('/people/P-OP/give-role', { role: 'analyst', reason: 'trained', ownPassword: PASSWORD })).status,
    ).toBe(303);
    expect(await page('/people/P-OP')).toMatch(/Roles operator, analyst/);
    expect(
      (await send('/people/P-OP/take-role', { role: 'analyst', reason: 'moved on', ownPassword: PASSWORD })).status,
    ).toBe(303);
    expect(await page('/people/P-OP')).toMatch(/role taken: analyst moved on/);
    const deputy = {
      deputyFor: 'P-QE',
      role: 'quality engineer',
      from: '2999-03-01',
      to: '2999-03-14',
      reason: '',
      ownPassword: PASSWORD,
    };
    expect((await send('/people/P-PE/name-deputy', deputy)).status).toBe(303);
    const view = 'quality engineer for P-QE (Quentin Example), 2999-03-01 to 2999-03-14 (to come)';
    expect(await page('/people/P-PE')).toContain(view);
    expect(await page('/people')).toContain(view);
    expect(await page('/people/P-QE')).toContain('Pia Example (P-PE) as quality engineer, 2999-03-01 to 2999-03-14');
    const end = { deputy: 'P-QE:quality engineer', reason: 'not needed', ownPassword: PASSWORD };
    expect((await send('/people/P-PE/end-deputy', end)).status).toBe(303);
    expect(await page('/people/P-PE')).toContain('Deputy of nobody');
  });

  it.each([
    ['P-AD', 'operator', 'nobody gives a role to themselves'],
    ['P-QE', 'administrator', 'an administrator gives no quality approval'],
    ['P-AU', 'operator', 'an auditor reads everything and changes nothing'],
  ])('are refused to %s as %s, and the page says why', async (person, role, why) => {
    const { status, text: html } = await send(`/people/${person}/give-role`, {
      role,
      reason: '',
      ownPassword: PASSWORD,
    });
    expect(status).toBe(400);
    expect(html.indexOf('Nothing was done')).toBeLessThan(html.indexOf('<h1>'));
    expect(text(html).toLowerCase()).toContain(why);
    expect(await page(`/people/${person}`)).toContain(why);
  });

  it('refuse a role that does not exist, and dates that are none', async () => {
    expect((await send('/people/P-OP/give-role', { role: 'king', reason: '', ownPassword: PASSWORD })).status).toBe(
      400,
    );
    const deputy = { deputyFor: 'P-QE', role: 'quality engineer', from: 'tomorrow', to: '', reason: '' };
    const { status, text: html } = await send('/people/P-OP/name-deputy', deputy);
    expect(status).toBe(400);
    expect(html).toContain('href="#from"');
    expect(html).toContain('href="#to"');
  });
});

describe('whoever is no administrator', () => {
  const ACTS = ['give-role', 'take-role', 'name-deputy', 'end-deputy', 'link', 'close'];

  it.each(ACTS)('does not see the form to %s, and does not get the act done', async (act) => {
    const quality = await service.as('P-QE');
    expect((await quality.get(`/people/P-OP/${act}`)).status).toBe(403);
    const fields = {
      role: 'operator',
      reason: 'because',
      deputyFor: 'P-RE',
      from: '2999-01-01',
      to: '2999-01-02',
      deputy: 'P-RE:releaser',
      ownPassword: PASSWORD,
    };
    const known: Record<string, string[]> = {
      'give-role': ['role'],
      'take-role': ['role'],
      'name-deputy': ['deputyFor', 'role', 'from', 'to'],
      'end-deputy': ['deputy'],
      link: [],
      close: [],
    };
    const sent = Object.fromEntries(
      [...known[act]!, 'reason', 'ownPassword'].map((name) => [name, fields[name as keyof typeof fields]]),
    );
    const { status, text: html } = await send(`/people/P-OP/${act}`, sent, quality);
    expect(status).toBe(400);
    expect(html).not.toContain('/set-up/');
    expect(text(html)).toMatch(/needs the role administrator/i);
    const last = (await service.services.store.read.events.ofTypes(['act-refused'])).at(-1)!;
    expect(last.event).toMatchObject({ person: 'P-QE', subject: { kind: 'account', key: 'P-OP' } });
  });

  it('makes no account', async () => {
    const quality = await service.as('P-QE');
    expect((await quality.get('/people/new/account')).status).toBe(403);
    const account = {
      person: 'NEW-9',
      name: 'Nobody',
      identityCheckedOn: '2031-03-01',
      ownPassword: PASSWORD,
    };
    expect((await send('/people/new/account', account, quality)).status).toBe(400);
    expect((await service.services.accounts.people()).has('NEW-9')).toBe(false);
  });
});

it('tells what files claim from what was signed', async () => {
  expect(await page('/people/P-AN')).toMatch(/Qualifications .* TM-T .* approved by Rita Example, releaser/);
});

describe("a person's own password", () => {
  it('is changed with the old one, and every session ends (ASVS 2.1.5, 2.1.6, 3.3.3)', async () => {
    const [one, two] = [await service.as('P-RE'), await service.as('P-RE')];
    const fields = { old: 'wrong password', password: 'eight quiet lanterns', repeated: 'eight quiet lanterns' };
    expect((await send('/account/password', fields, one)).status).toBe(400);
    expect((await two.get('/account')).status).toBe(200);
    expect((await send('/account/password', { ...fields, old: PASSWORD }, one)).headers.location).toBe('/sign-in');
    expect([(await one.get('/account')).status, (await two.get('/account')).status]).toEqual([303, 303]);
    const signedIn = await fresh()
      .post('/sign-in')
      .type('form')
      .send({ person: 'P-RE', password: 'eight quiet lanterns' });
    expect(signedIn.status).toBe(303);
  });
});
