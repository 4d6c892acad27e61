import path from 'node:path';
import type { NestExpressApplication } from '@nestjs/platform-express';
import type { Passkey } from '../../../src/ledger/passkey.js';
import { createApplication } from '../../../src/main.js';
import { Accounts } from '../../../src/people/accounts.js';
import { proveAtCommand } from '../../../src/people/prove-at-command.js';
import { storedFaultText } from '../../../src/report/phrases/stored-faults.js';
import { Store } from '../../../src/store/store.js';
import { type Spoilt, TestAuthenticator } from '../../support/authenticator.js';
import { temporaryFolder } from '../../support/cell.js';
import { attackDatabase } from '../../support/intruder.js';
import { FormBrowser } from '../../support/passkey-form.js';
import { makeTestPeople, PASSWORD } from '../../support/people.js';
import { signIn } from '../../support/service.js';
import { openServices, type Services } from '../../support/services.js';
import { copyOfTemplate } from '../../support/template.js';

let services: Services;
let app: NestExpressApplication;
let data: string;
/** Of the administrator, who has this passkey in all that follows. */
let browser: FormBrowser;
const own = TestAuthenticator.with();

beforeAll(async () => {
  data = path.join(temporaryFolder('passkeys'), 'data');
  await copyOfTemplate('people-alone', makeFolder, data);
  services = await openServices(data);
  app = await createApplication(services.store);
  browser = await browserOf('P-AD');
  expect((await makePasskey('P-AD', browser)).headers.location).toBe('/account#passkeys');
});
afterAll(async () => {
  await app.close();
  await services.store.close();
});

const browserOf = async (person: string, host?: string) => new FormBrowser(app, await signIn(app, person), host);

async function makeFolder(to: string): Promise<void> {
  const made = await openServices(to);
  await makeTestPeople(made);
  await made.store.close();
}

const account = (person = 'P-AD') => services.accounts.passkeys.accountOf(person);
const passkeys = (person = 'P-AD') => services.accounts.passkeys.of(person);
const told = (html: string) =>
  /<div class="summary"[\s\S]*?<\/div>/.exec(html)?.[0].replaceAll(/<[^>]+>|\s+/g, ' ') ?? '';

interface Sent {
  readonly page: string;
  readonly action: string;
  readonly fields: Record<string, string>;
  /** Sent in the place of what was signed for. */
  readonly instead?: Record<string, string>;
  readonly spoilt?: Spoilt;
  readonly by?: TestAuthenticator;
  readonly as?: FormBrowser;
  readonly person?: string;
}

/** Shows a page, has its form signed by the passkey, and sends it. */
async function sendSigned({ page, action, fields, instead, spoilt, by = own, as = browser, person }: Sent) {
  const { number } = FormBrowser.marksOf((await as.get(page)).text, action);
  const given = by.use(as.asked(action, number, fields, account(person)), spoilt);
  const sent = { ...fields, ...instead, 'passkey-number': number, passkey: JSON.stringify(given) };
  return { sent, answer: await as.post(action, sent) };
}

const MAKE = { page: '/account', action: '/account/passkeys' };
const fields = { label: 'blue key', ownPassword: PASSWORD };

/** @param with a passkey that is there already, where there is one. */
async function makePasskey(person: string, as: FormBrowser, by = own, beside?: TestAuthenticator, spoilt?: Spoilt) {
  const { number } = FormBrowser.marksOf((await as.get(MAKE.page)).text, MAKE.action);
  const asked = as.asked(MAKE.action, number, fields, account(person));
  const given = [...(beside ? [beside.use(asked, spoilt)] : []), by.make(asked)].map((one) => JSON.stringify(one));
  return as.post(MAKE.action, { ...fields, 'passkey-number': number, passkey: given });
}

/** An act of an administrator that asks for the password. */
const NEW = {
  page: '/people/new/account',
  action: '/people/new/account',
  fields: { person: 'P-NOBODY', name: 'Nils Example', identityCheckedOn: '2020-01-02', ownPassword: PASSWORD },
};
const has = async (person: string) => (await services.accounts.people()).has(person);

describe('making a passkey', () => {
  it('takes the password, and stands in the audit trail with the signature of its person', async () => {
    expect(await passkeys()).toMatchObject([
      { person: 'P-AD', credential: own.id, label: 'blue key', algorithm: 'ES256', host: 'localhost', counter: 0 },
    ]);
    const { text } = await browser.get('/account');
    expect(text).toContain('blue key');
    expect(text).toContain('<script src="/assets/passkey.js" defer></script>');
    expect((await services.store.verifyLedger()).ok).toBe(true);
  });

  it('brings the script to no page of whoever has none', async () => {
    expect((await (await browserOf('P-OP')).get('/people')).text).not.toContain('<script');
  });

  it('is refused without the password, without a passkey, twice, and under an address that is no name', async () => {
    const as = await browserOf('P-AN');
    const { number } = FormBrowser.marksOf((await as.get(MAKE.page)).text, MAKE.action);
    const wrong = { ...fields, ownPassword: 'some other password' };
    const passkey = JSON.stringify(own.make(as.asked(MAKE.action, number, wrong, account('P-AN'))));
    const refused = await as.post(MAKE.action, { ...wrong, 'passkey-number': number, passkey });
    expect(told(refused.text)).toContain('Identifier or password is wrong');
    expect(told((await as.post(MAKE.action, fields)).text)).toContain('what the browser gives for a new passkey');
    expect(told((await makePasskey('P-AN', as)).text)).toContain('registered already');
    const byNumber = await browserOf('P-AN', '127.0.0.1:4443');
    expect((await byNumber.get('/account')).text).toContain('Browsers make passkeys for a name and not for 127.0.0.1');
    expect(await passkeys('P-AN')).toEqual([]);
  });

  it('needs a passkey for each further one, and for taking one away; one that does not count does too', async () => {
    const as = await browserOf('P-PE');
    const [first, second, third] = [
      TestAuthenticator.with(),
      TestAuthenticator.with('EdDSA'),
      TestAuthenticator.with(),
    ];
    await makePasskey('P-PE', as, first);
    expect(told((await makePasskey('P-PE', as, second)).text)).toContain('needed beside the password');
    for (const one of [second, third]) await makePasskey('P-PE', as, one, first, { counter: 0 });
    expect((await passkeys('P-PE')).map(({ algorithm }) => algorithm)).toEqual(['ES256', 'EdDSA', 'ES256']);
    const action = `/account/passkeys/${first.id}/end`;
    const end = { page: '/account', action, fields: { ownPassword: PASSWORD }, by: second, as, person: 'P-PE' };
    expect(told((await as.post(action, end.fields)).text)).toContain('needed beside the password');
    expect((await sendSigned(end)).answer.status).toBe(303);
    expect((await passkeys('P-PE')).map(({ credential }) => credential)).toEqual([second.id, third.id]);
  });
});

describe('signing in with a passkey (ASVS 2.3.2)', () => {
  const SIGN_IN = { person: 'P-AD', password: PASSWORD };
  const stranger = () => new FormBrowser(app);

  async function half(as = stranger()) {
    const { status, text, headers } = await as.post('/sign-in', { ...SIGN_IN, next: '/people' });
    expect([status, headers['set-cookie'], text.includes('passkey.js')]).toEqual([200, undefined, true]);
    const { number, own: ids } = FormBrowser.marksOf(text, '/sign-in/passkey');
    const said = { ticket: /name="ticket" value="([^"]+)"/.exec(text)![1]!, next: '/people' };
    expect(ids).toEqual([own.id]);
    const asked = as.asked('/sign-in/passkey', number, said, account());
    return {
      as,
      asked,
      send: (given: object) =>
        as.post('/sign-in/passkey', { ...said, 'passkey-number': number, passkey: JSON.stringify(given) }),
    };
  }

  it('takes both, and each step once', async () => {
    const { asked, send } = await half();
    const given = own.use(asked);
    const { status, headers } = await send(given);
    expect([status, headers.location]).toEqual([303, '/people']);
    expect((headers['set-cookie'] as unknown as string[])[0]).toContain('HttpOnly');
    const again = await send(given);
    expect([again.status, again.headers['set-cookie']]).toEqual([401, undefined]);
  });

  it('is refused with the passkey of somebody else, and by programs', async () => {
    const { asked, send } = await half();
    const { status, headers, text } = await send(TestAuthenticator.with().use(asked));
    expect([status, headers['set-cookie']]).toEqual([401, undefined]);
    expect(told(text)).toContain('none of this account');
    await expect(signIn(app, 'P-AD')).rejects.toThrow(/could not sign in: .*the passkeys of this account/);
    expect((await signIn(app, 'P-QE')).csrf).not.toBe('');
  });

  it('says by which name to open the service', async () => {
    const { send } = await half(new FormBrowser(app, undefined, '127.0.0.1:4443'));
    expect(told((await send({})).text)).toContain('made for localhost: open this service by that name');
  });
});

describe('an act with a passkey, of an administrator (ASVS 4.3.1)', () => {
  it('is done when both are right, once, and the use is in the audit trail', async () => {
    const { sent, answer } = await sendSigned({ ...NEW, fields: { ...NEW.fields, person: 'P-NEW' } });
    expect([answer.status, await has('P-NEW')]).toEqual([303, true]);
    const used = (await services.store.read.events.ofTypes(['passkey-used'])).at(-1)!;
    expect([used.event, used.actor]).toEqual([
      { type: 'passkey-used', person: 'P-AD', credential: own.id, counter: own.counter, form: NEW.action },
      'person:P-AD',
    ]);
    // The same bytes in another form: what they were asked for is used up.
    expect(told((await browser.post(NEW.action, { ...sent, person: 'P-OTHER' })).text)).toContain('was used before');
  });

  it.each<[string, Partial<Sent>, string]>([
    ['other fields than were signed for', { instead: { person: 'P-EVIL' } }, 'signed something else than this form'],
    ['another site', { spoilt: { origin: 'http://lots.test' } }, 'passkey was used on http://lots.test'],
    ['another service', { spoilt: { host: 'lots.test' } }, 'made for another service'],
    ['nobody verified', { spoilt: { flags: 1 } }, 'does not say that it checked who you are'],
    ['a passkey of nobody', { by: TestAuthenticator.with() }, 'none of this account'],
    [
      'a copy that signs by another key',
      { spoilt: { id: own.id }, by: TestAuthenticator.with() },
      'does not belong to its key',
    ],
  ])('is refused for %s', async (_, change, says) => {
    const { answer } = await sendSigned({ ...NEW, ...change });
    expect([answer.status, told(answer.text)]).toEqual([400, expect.stringContaining(says)]);
    expect(await has('P-NOBODY')).toBe(false);
  });

  it('is refused without one, whatever the right password', async () => {
    expect(told((await browser.post(NEW.action, NEW.fields)).text)).toContain('needed beside the password');
    expect(await has('P-NOBODY')).toBe(false);
  });

  it('is refused with what another session was asked for: each form has a number of 256 bits (ASVS 2.9.2)', async () => {
    const other = await browserOf('P-QE');
    const { number } = FormBrowser.marksOf((await other.get('/account')).text, MAKE.action);
    expect(Buffer.from(number, 'base64url')).toHaveLength(32);
    const given = own.use(browser.asked(NEW.action, number, NEW.fields, account()));
    const sent = { ...NEW.fields, 'passkey-number': number, passkey: JSON.stringify(given) };
    expect(told((await browser.post(NEW.action, sent)).text)).toContain('was not asked for here');
  });

  it('is refused when the counter goes back, and that stands in the history of the account', async () => {
    await sendSigned({ ...NEW, fields: { ...NEW.fields, person: 'P-ONE' }, spoilt: { counter: 77 } });
    const { answer } = await sendSigned({ ...NEW, spoilt: { counter: 77 } });
    const says = 'the counter of the passkey stands at 77 and stood at 77 before';
    expect(told(answer.text).toLowerCase()).toContain(says);
    expect((await browser.get('/people/P-AD')).text).toContain(says);
    expect([await has('P-ONE'), await has('P-NOBODY')]).toEqual([true, false]);
    own.counter = 77;
  });

  it('by a command is led to the page that does the same, and is done by password where no page does', async () => {
    const context = {
      get: (what: unknown) => (what === Store ? services.store : what === Accounts && services.accounts),
    };
    await expect(proveAtCommand(context as never, ['P-AD'], { page: '/sign' })).rejects.toThrow('use the page /sign');
  });
});

describe('a lost passkey (ASVS 2.5.7)', () => {
  it('ends with the key that two people replace, and the history shows it', async () => {
    await makePasskey('P-RE', await browserOf('P-RE'), TestAuthenticator.with('RS256'));
    expect(await passkeys('P-RE')).toHaveLength(1);
    const second = await services.accounts.prove('P-QE', PASSWORD);
    const { accountActs, accountLinks, accounts } = services;
    const link = await accountActs.invite(
      await accounts.prove('P-AD', PASSWORD),
      'P-RE',
      'lost their key ring',
      second,
    );
    await accountLinks.setPassword(link.token, PASSWORD);
    expect(await passkeys('P-RE')).toEqual([]);
    const { text } = await browser.get('/people/P-RE');
    expect(text).toMatch(/passkey “blue key” made[\s\S]*lost their key ring/);
    expect((await signIn(app, 'P-RE')).csrf).not.toBe('');
  });
});

describe('a passkey that somebody puts into the database', () => {
  it('by whoever has the installation key too is none, and is named', async () => {
    const [row] = (await passkeys()) as [Passkey];
    await services.store.change('program', (change) =>
      change.events.add({ type: 'passkey-made', ...row, person: 'P-QE', credential: 'AAAA' }),
    );
    await services.store.change('program', ({ events }) =>
      events.add({
        type: 'passkey-ended',
        person: 'P-AD',
        credential: row.credential,
        key: row.key,
        signature: row.signature,
      }),
    );
    expect([await passkeys('P-QE'), await passkeys()]).toEqual([[], [row]]);
    const { faults } = await services.store.verifyLedger();
    expect(faults.map(({ key, fault }) => `${key}: ${storedFaultText(fault)}`)).toEqual([
      expect.stringMatching(/^P-QE: it makes a passkey .* does not count$/),
      expect.stringMatching(/^P-AD: it makes a passkey .* does not count$/),
    ]);
  });

  it('by SQL alone is none: nobody proves who they are over such rows', async () => {
    const [{ ...row }] = (await passkeys()) as [Passkey];
    const body = JSON.stringify({ type: 'passkey-made', ...row, person: 'P-QE', credential: 'AAAA' });
    await attackDatabase(data, (sql) => {
      sql
        .prepare(
          `INSERT INTO "Event" ("type", "subjectKind", "subjectKey", "body", "recordedAt", "recordedOffset", "actor", "ledgerSeq")
           SELECT 'passkey-made', 'account', 'P-QE', ?, "recordedAt", "recordedOffset", "actor", "ledgerSeq" FROM "Event" ORDER BY "id" DESC LIMIT 1`,
        )
        .run(body);
    });
    await expect(passkeys('P-QE')).rejects.toMatchObject({ code: 'ALTERED' });
    const { faults } = await services.store.verifyLedger();
    expect(faults.map(({ fault }) => storedFaultText(fault)).join()).toContain('in Event');
  });
});
