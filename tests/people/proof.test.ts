import { AccountLinks } from '../../src/people/account-links.js';
import { Accounts } from '../../src/people/accounts.js';
import { Sessions } from '../../src/people/sessions.js';
import type { Store } from '../../src/store/store.js';
import { openStore, temporaryFolder } from '../store/open-store.js';
import { CHEAPEST } from '../support/people.js';
import { TestClock } from '../support/test-clock.js';

const PASSWORD = 'seven quiet lanterns';

const { folder, remove } = temporaryFolder();
afterAll(remove);
let numberOfFolders = 0;

async function withAccounts(
  work: (accounts: Accounts, sessions: Sessions, store: Store, links: AccountLinks) => Promise<void>,
): Promise<void> {
  const store = await openStore(`${folder}/${++numberOfFolders}`);
  const clock = new TestClock();
  const accounts = new Accounts(store, clock);
  const links = new AccountLinks(store, accounts, clock, CHEAPEST);
  const { token } = (await links.makeFirstLink())!;
  await links.makeFirst(token, { person: 'ADM', name: 'Mira Solberg', password: PASSWORD });
  try {
    await work(accounts, new Sessions(store, accounts, clock), store, links);
  } finally {
    await store.close();
  }
}

const refused = (says: string) => ({ code: 'REFUSED', message: expect.stringContaining(says) });

it('comes of no password that was changed while it was compared', async () => {
  await withAccounts(async (accounts, _, store, links) => {
    const proof = await accounts.prove('ADM', PASSWORD);
    // The first change counts the attempt, the second counts it right.
    const original = store.change.bind(store);
    const change = vi.spyOn(store, 'change');
    let changes = 0;
    change.mockImplementation(async (...args) => {
      changes += 1;
      if (changes === 2) await links.changePassword(proof, 'eight quiet lanterns');
      return original(...args);
    });
    await expect(accounts.prove('ADM', PASSWORD)).rejects.toMatchObject(refused('identifier or password is wrong'));
    change.mockRestore();
    expect(changes).toBe(3);
    expect((await accounts.prove('ADM', 'eight quiet lanterns')).person).toBe('ADM');
  });
});

it('serves for one act, a session and a new password included', async () => {
  await withAccounts(async (accounts, sessions, _, links) => {
    const one = await accounts.prove('ADM', PASSWORD);
    await sessions.begin(one);
    await expect(sessions.begin(one)).rejects.toMatchObject(refused('each act needs the password again'));
    await expect(links.changePassword(one, 'eight quiet lanterns')).rejects.toMatchObject(refused('each act'));
    const other = await accounts.prove('ADM', PASSWORD);
    await links.changePassword(other, 'eight quiet lanterns');
    await expect(sessions.begin(other)).rejects.toMatchObject(refused('each act needs the password again'));
  });
});
