import { sha256Hex } from '../../src/dossier/canonical.js';
import { AccountActs } from '../../src/people/account-acts.js';
import { AccountLinks } from '../../src/people/account-links.js';
import { Accounts } from '../../src/people/accounts.js';
import { ABSOLUTE_LIMIT_MS, carriesToken, IDLE_LIMIT_MS, Sessions } from '../../src/people/sessions.js';
import type { Store } from '../../src/store/store.js';
import { openStore, temporaryFolder } from '../store/open-store.js';
import { CHEAPEST, provedActs } from '../support/people.js';
import { MINUTE_MS, TestClock } from '../support/test-clock.js';

const PASSWORD = 'seven quiet lanterns';
const administrator = () => accounts.prove('ADM', PASSWORD);

const { folder, remove } = temporaryFolder();
let store: Store;
let clock: TestClock;
let accounts: Accounts;
let links: AccountLinks;
let acts: AccountActs;
let proved: ReturnType<typeof provedActs>;
let sessions: Sessions;
let numberOfFolders = 0;

beforeEach(async () => {
  store = await openStore(`${folder}/${++numberOfFolders}`);
  clock = new TestClock();
  accounts = new Accounts(store, clock);
  links = new AccountLinks(store, accounts, clock, CHEAPEST);
  acts = new AccountActs(store, accounts, clock);
  proved = provedActs({ accounts, accountActs: acts });
  sessions = new Sessions(store, accounts, clock);
  const { token } = (await links.makeFirstLink())!;
  await links.makeFirst(token, { person: 'ADM', name: 'Mira Solberg', password: PASSWORD });
});
afterEach(() => store.close());
afterAll(remove);

const begin = async (person = 'ADM', former?: string) => sessions.begin(await accounts.prove(person, PASSWORD), former);

/** OWASP Application Security Verification Standard 4.0.3, chapter 3. */
describe('a session', () => {
  it('is known by a token of 256 random bits, of which the store keeps the digest alone (ASVS 3.2.2, 3.2.3)', async () => {
    const { token } = await begin();
    expect(Buffer.from(token, 'base64url')).toHaveLength(32);
    const row = await store.read.identity.session(sha256Hex(token));
    expect(JSON.stringify(row)).not.toContain(token);
    expect(await sessions.find(token)).toMatchObject({ person: 'ADM', name: 'Mira Solberg' });
  });

  it('has a new token at each sign-in, and ends the one that the browser brought (3.2.1: no fixation)', async () => {
    const former = await begin();
    const next = await begin('ADM', former.token);
    expect(next.token).not.toBe(former.token);
    expect(next.csrf).not.toBe(former.csrf);
    expect(await sessions.find(former.token)).toBeUndefined();
    expect(await sessions.find(next.token)).toBeDefined();
  });

  it('cannot be had for a token that somebody made up', async () => {
    const { token } = await begin();
    for (const forged of ['', 'x', token.slice(1), `${token}A`, sha256Hex(token)]) {
      expect(await sessions.find(forged)).toBeUndefined();
    }
  });

  it('ends at sign-out (3.3.1)', async () => {
    const { token } = await begin();
    await sessions.end(token);
    expect(await sessions.find(token)).toBeUndefined();
  });

  it('ends after 30 minutes of silence, and lives on while it is used (3.3.2)', async () => {
    const { token } = await begin();
    for (let time = 0; time < 3; time++) {
      clock.forwardMs(IDLE_LIMIT_MS - 2 * MINUTE_MS);
      expect(await sessions.find(token)).toBeDefined();
    }
    clock.forwardMs(IDLE_LIMIT_MS);
    expect(await sessions.find(token)).toBeUndefined();
  });

  it('ends after 12 hours however busy it is (3.3.2)', async () => {
    const { token } = await begin();
    const step = 20 * MINUTE_MS;
    for (let ms = step; ms < ABSOLUTE_LIMIT_MS; ms += step) {
      clock.forwardMs(step);
      expect(await sessions.find(token)).toBeDefined();
    }
    clock.forwardMs(step);
    expect(await sessions.find(token)).toBeUndefined();
  });

  it('ends when the clock is set back: nobody can tell its age any more', async () => {
    clock.forwardMs(3 * MINUTE_MS);
    const { token } = await begin();
    clock.forwardMs(-2 * MINUTE_MS);
    expect(await sessions.find(token)).toBeUndefined();
  });

  it('ends with every other one of the person when the password changes (3.3.3)', async () => {
    const [one, two] = [await begin(), await begin()];
    await links.changePassword(await accounts.prove('ADM', PASSWORD), 'eight quiet lanterns');
    expect([await sessions.find(one.token), await sessions.find(two.token)]).toEqual([undefined, undefined]);
    await expect(accounts.prove('ADM', PASSWORD)).rejects.toMatchObject({ code: 'REFUSED' });
  });

  it('ends when the account is closed, and carries the roles of this moment', async () => {
    const link = await acts.make(await administrator(), {
      person: 'TO',
      name: 'Tomas Okoro',
      identityCheckedOn: accounts.today(),
    });
    await links.setPassword(link.token, PASSWORD);
    const { token } = await begin('TO');
    expect((await sessions.find(token))!.acting).toEqual([]);
    await proved.giveRole('ADM', 'TO', 'quality engineer');
    expect((await sessions.find(token))!.acting).toEqual([{ role: 'quality engineer', deputyFor: null }]);
    await proved.close('ADM', 'TO', 'left the cell');
    expect(await sessions.find(token)).toBeUndefined();
  });

  it('is written down at most once a minute while pages are read', async () => {
    const { token } = await begin();
    const seenAt = async () => (await store.read.identity.session(sha256Hex(token)))!.seenAt;
    const first = await seenAt();
    clock.forwardMs(MINUTE_MS - 1);
    await sessions.find(token);
    expect(await seenAt()).toBe(first);
    clock.forwardMs(1);
    await sessions.find(token);
    expect(await seenAt()).toBe(clock.now().toISOString());
  });

  it('is none when its row was changed or put in by hand, or comes from before the password was set', async () => {
    const { token } = await begin();
    const row = (await store.read.identity.session(sha256Hex(token)))!;
    const put = (changed: object, made = token) =>
      store.change('program', async ({ identity }) => {
        for (const person of ['ADM', 'TO']) await identity.endSessionsOf(person);
        await identity.startSession({ ...row, ...changed, tokenSha256: sha256Hex(made) });
      });
    await put({});
    expect(await sessions.find(token)).toBeDefined();
    const later = new Date(Date.parse(row.endsAt) + MINUTE_MS).toISOString();
    for (const changed of [
      { endsAt: later },
      { seenAt: later },
      { startedAt: later },
      { csrf: 'mine' },
      { code: '' },
    ]) {
      await put(changed);
      expect(await sessions.find(token)).toBeUndefined();
    }
    await put({}, 'a token of their own');
    expect(await sessions.find('a token of their own')).toBeUndefined();
    const made = await acts.make(await administrator(), {
      person: 'TO',
      name: 'Tomas Okoro',
      identityCheckedOn: accounts.today(),
    });
    await links.setPassword(made.token, PASSWORD);
    await put({ person: 'TO' });
    expect(await sessions.find(token)).toBeUndefined();
    clock.forwardMs(1000);
    await links.changePassword(await accounts.prove('ADM', PASSWORD), 'eight quiet lanterns');
    await put({});
    expect(await sessions.find(token)).toBeUndefined();
  });

  it('leaves nothing behind once it is over', async () => {
    const { token } = await begin();
    clock.forwardMs(IDLE_LIMIT_MS + 1);
    await begin();
    expect(await store.read.identity.session(sha256Hex(token))).toBeNull();
  });

  it('makes no entry in the audit trail', async () => {
    const size = await store.read.ledger.size();
    const { token } = await begin();
    clock.forwardMs(2 * MINUTE_MS);
    await sessions.find(token);
    await sessions.end(token);
    expect(await store.read.ledger.size()).toBe(size);
  });
});

it('knows its own forms by their token alone (ASVS 4.2.2)', async () => {
  const [mine, other] = [await begin(), await begin()];
  const session = (await sessions.find(mine.token))!;
  expect(carriesToken(session, mine.csrf)).toBe(true);
  for (const sent of [other.csrf, '', mine.token, undefined, [mine.csrf], `${mine.csrf} `]) {
    expect(carriesToken(session, sent)).toBe(false);
  }
});
