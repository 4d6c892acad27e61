import { recoveredSince } from '../../src/desk/today/recovered.js';
import { AccountLinks } from '../../src/people/account-links.js';
import { Accounts } from '../../src/people/accounts.js';
import { FREE_ELSEWHERE, failuresOf, LONGEST_WAIT_S, waitAfterS, waitElsewhereS } from '../../src/people/lockout.js';
import type { Store } from '../../src/store/store.js';
import { identify, keepApart, type Session } from '../../src/web/identity.js';
import { openStore, temporaryFolder } from '../store/open-store.js';
import { CHEAPEST } from '../support/people.js';
import { TestClock } from '../support/test-clock.js';

const PASSWORD = 'seven quiet lanterns';

const { folder, remove } = temporaryFolder();
let store: Store;
let clock: TestClock;
let accounts: Accounts;
let links: AccountLinks;
let numberOfFolders = 0;

beforeEach(async () => {
  store = await openStore(`${folder}/${++numberOfFolders}`);
  clock = new TestClock();
  accounts = new Accounts(store, clock);
  links = new AccountLinks(store, accounts, clock, CHEAPEST);
  const { token } = (await links.makeFirstLink())!;
  await links.makeFirst(token, { person: 'ADM', name: 'Mira Solberg', password: PASSWORD });
});
afterEach(() => store.close());
afterAll(remove);

const says = (person: string, password: string): Promise<string> =>
  accounts.prove(person, password).then(
    () => 'proved',
    (error: Error) => error.message,
  );
const fail = async (times: number, person = 'ADM') => {
  for (let time = 0; time < times; time++) await says(person, 'wrong password');
};

it('waits longer after each failure, up to a quarter of an hour', () => {
  expect([1, 4, 5, 6, 7, 8, 9, 10, 50].map(waitAfterS)).toEqual([0, 0, 30, 60, 120, 240, 480, 900, LONGEST_WAIT_S]);
});

/** ASVS 4.0.3, 2.2.1: no more than 100 failed attempts an hour are possible on one account. */
it('lets nobody try a hundred times in an hour', () => {
  let tries = 0;
  for (let second = 0; second < 3600; tries++) second += waitAfterS(tries + 1);
  expect(tries).toBeLessThan(100);
});

it('refuses the right password too while it waits, says how long, and takes it afterwards', async () => {
  await fail(4);
  expect(await says('ADM', PASSWORD)).toBe('proved');
  await fail(5);
  expect(await says('ADM', PASSWORD)).toContain('wait 30 seconds');
  clock.forwardMs(29_000);
  expect(await says('ADM', PASSWORD)).toContain('wait 1 second,');
  clock.forwardMs(1000);
  await fail(1);
  expect(await says('ADM', PASSWORD)).toContain('wait 1 minute,');
  clock.forwardMs(60_000);
  expect(await says('ADM', PASSWORD)).toBe('proved');
  expect(await says('ADM', 'wrong password')).toBe('identifier or password is wrong');
});

it('counts what was refused while it waited for nothing, so that nobody is kept out by knocking', async () => {
  await fail(5);
  await fail(20);
  expect((await failuresOf(store, ['ADM'])).of('ADM')).toMatchObject({ failuresEver: 5 });
});

it('counts each of many attempts at once before it judges any', async () => {
  const tries = await Promise.all(Array.from({ length: 20 }, () => says('ADM', 'wrong password')));
  expect(tries.filter((text) => text === 'identifier or password is wrong')).toHaveLength(5);
  expect(tries.filter((text) => text.includes('wait'))).toHaveLength(15);
});

it('treats an identifier that nobody has as any other: nothing that it answers or keeps tells them apart', async () => {
  for (const person of ['ADM', 'GHOST']) {
    await fail(5, person);
    expect(await says(person, 'wrong password')).toContain('wait 30 seconds');
  }
  const rows = await store.read.identity.lockouts();
  const shape = (row: object) => JSON.stringify({ ...row, person: '', origin: '', lastFailureAt: '' });
  expect(new Set(rows.map(shape)).size).toBe(1);
  expect(JSON.stringify(rows)).not.toMatch(/ADM|GHOST/);
  expect(await failuresOf(store, ['ADM'])).toMatchObject({ unknown: 5 });
});

describe('from other machines', () => {
  /** As a request from there, by somebody who is signed in or not. */
  const from = <T>(ip: string, work: () => Promise<T>, session?: Session): Promise<T> =>
    new Promise((resolve, reject) => {
      keepApart({ ip } as never, {} as never, () => {
        if (session) identify(session);
        work().then(resolve, reject);
      });
    });
  const failFrom = async (ip: string, times: number) => {
    for (let time = 0; time < times; time++) await from(ip, () => says('ADM', 'wrong password'));
  };

  it('waits for the place that guesses, and for no other from which the person signed in before', async () => {
    expect(await from('10.0.0.5', () => says('ADM', PASSWORD))).toBe('proved');
    await failFrom('10.0.0.66', 5);
    expect(await from('10.0.0.66', () => says('ADM', PASSWORD))).toContain('wait 30 seconds');
    expect(await from('::ffff:10.0.0.66', () => says('ADM', PASSWORD))).toContain('wait 30 seconds');
    expect(await from('10.0.0.5', () => says('ADM', PASSWORD))).toBe('proved');
  });

  it('lets guesses from a hundred places keep out nobody who is signed in, known, or at the machine', async () => {
    expect(await from('10.0.0.5', () => says('ADM', PASSWORD))).toBe('proved');
    const tries: string[] = [];
    for (let place = 0; place < 100; place++) {
      tries.push(await from(`10.1.0.${place}`, () => says('ADM', 'wrong password')));
    }
    expect(tries.filter((text) => text.includes('wait'))).toHaveLength(100 - FREE_ELSEWHERE - 1);
    expect(await from('10.9.9.9', () => says('ADM', PASSWORD))).toContain('wait 30 seconds');
    expect(await from('10.0.0.5', () => says('ADM', PASSWORD))).toBe('proved');
    expect(await says('ADM', PASSWORD)).toBe('proved');
    const session = { person: 'ADM', id: 'its digest' } as Session;
    expect(await from('10.9.9.9', () => says('ADM', PASSWORD), session)).toBe('proved');
  });

  it('counts all addresses of one network of version 6 as one place', async () => {
    for (let host = 1; host <= 5; host++) await failFrom(`2001:db8:0:7::${host}`, 1);
    expect(await from('2001:db8:0:7::99', () => says('ADM', PASSWORD))).toContain('wait 30 seconds');
    expect(await from('2001:db8:0:8::1', () => says('ADM', PASSWORD))).toBe('proved');
  });

  it('lets the only administrator back in by a link that is made at the machine, which everybody sees', async () => {
    await failFrom('10.0.0.66', 30);
    const { token } = await links.recover('ADM', 'local:tester', 'locked out from outside');
    await links.setPassword(token, 'eight quiet lanterns');
    expect(await from('10.0.0.66', () => says('ADM', 'eight quiet lanterns'))).toBe('proved');
    const events = await store.read.events.ofTypes(['invitation-made']);
    expect(recoveredSince(events, store.clock.now())).toEqual([
      expect.stringMatching(/^At the machine local:tester made a new link for the administrator ADM, .*: locked out/),
    ]);
    await expect(links.recover('GHOST', 'local:tester', 'x')).rejects.toMatchObject({ code: 'NOT_FOUND' });
  });
});

it('waits longer for all places together, up to an hour', () => {
  expect([20, 21, 22, 28, 99].map(waitElsewhereS)).toEqual([0, 30, 60, 3600, 3600]);
});

it('writes no line into the audit trail for a failure', async () => {
  const size = await store.read.ledger.size();
  await fail(7);
  expect(await says('GHOST', PASSWORD)).toContain('wrong');
  expect(await store.read.ledger.size()).toBe(size);
});
