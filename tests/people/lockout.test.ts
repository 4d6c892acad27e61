import { AccountActs } from '../../src/people/account-acts.js';
import { AccountLinks } from '../../src/people/account-links.js';
import { Accounts } from '../../src/people/accounts.js';
import { LONGEST_WAIT_S, MOST_FAILURES, waitAfterS } from '../../src/people/lockout.js';
import type { Store } from '../../src/store/store.js';
import { openStore, temporaryFolder } from '../store/open-store.js';
import { TestClock } from '../support/test-clock.js';

const PASSWORD = 'seven quiet lanterns';

const { folder, remove } = temporaryFolder();
let store: Store;
let clock: TestClock;
let accounts: Accounts;
let links: AccountLinks;
let acts: AccountActs;
let numberOfFolders = 0;

beforeEach(async () => {
  store = await openStore(`${folder}/${++numberOfFolders}`);
  clock = new TestClock();
  accounts = new Accounts(store, clock);
  links = new AccountLinks(store, accounts, clock);
  acts = new AccountActs(store, accounts, clock);
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
  expect((await store.read.identity.lockouts()).get('ADM')).toMatchObject({ failures: 5, failuresEver: 5 });
});

it('counts each of many attempts at once before it judges any', async () => {
  const tries = await Promise.all(Array.from({ length: 20 }, () => says('ADM', 'wrong password')));
  expect(tries.filter((text) => text === 'identifier or password is wrong')).toHaveLength(5);
  expect(tries.filter((text) => text.includes('wait'))).toHaveLength(15);
});

it('locks a person whom nobody knows just the same', async () => {
  await fail(5, 'GHOST');
  expect(await says('GHOST', PASSWORD)).toContain('wait 30 seconds');
  const keys = [...(await store.read.identity.lockouts()).keys()].filter((key) => key !== 'ADM');
  expect(keys).toEqual([expect.stringMatching(/^unknown:[0-9a-f]{3}$/)]);
});

it('locks after a hundred failures in a row until there is a new one-time link (SP 800-63B, 5.2.2)', async () => {
  await acts
    .make('ADM', { person: 'TO', name: 'Tomas Okoro', identityCheckedOn: accounts.today() })
    .then(({ token }) => links.setPassword(token, PASSWORD));
  await store.change('program', ({ identity }) =>
    identity.setLockout({
      person: 'TO',
      failures: MOST_FAILURES - 1,
      failuresEver: MOST_FAILURES - 1,
      lastFailureAt: clock.now().toISOString(),
      lockedUntil: null,
    }),
  );
  await fail(1, 'TO');
  clock.forwardMs(24 * 3_600_000);
  expect(await says('TO', PASSWORD)).toContain('locked until an administrator makes a new one-time link');
  const { token } = await acts.invite('ADM', 'TO', 'locked');
  await links.setPassword(token, 'eight quiet lanterns');
  expect(await says('TO', 'eight quiet lanterns')).toBe('proved');
});

it('writes no line into the audit trail for a failure', async () => {
  const size = await store.read.ledger.size();
  await fail(7);
  expect(await says('GHOST', PASSWORD)).toContain('wrong');
  expect(await store.read.ledger.size()).toBe(size);
});
