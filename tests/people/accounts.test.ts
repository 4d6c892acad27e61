import { sha256Hex } from '../../src/dossier/canonical.js';
import type { Role } from '../../src/dossier/statement.js';
import type { Event } from '../../src/ledger/event.js';
import { currentOf, recoveredBy } from '../../src/ledger/person-keys.js';
import { AccountActs } from '../../src/people/account-acts.js';
import { AccountLinks } from '../../src/people/account-links.js';
import { Accounts } from '../../src/people/accounts.js';
import { INVITATION_HOURS } from '../../src/people/one-time-link.js';
import { Proof } from '../../src/people/proof.js';
import type { Store } from '../../src/store/store.js';
import { openStore, temporaryFolder } from '../store/open-store.js';
import { CHEAPEST, provedActs } from '../support/people.js';
import { HOUR_MS, TestClock } from '../support/test-clock.js';

const PASSWORD = 'seven quiet lanterns';
const administrator = () => accounts.prove('ADM', PASSWORD);

const { folder, remove } = temporaryFolder();
let store: Store;
type Invitation = Extract<Event, { type: 'invitation-made' }>;
let clock: TestClock;
let accounts: Accounts;
let links: AccountLinks;
let acts: AccountActs;
let proved: ReturnType<typeof provedActs>;
let today: string;
let numberOfFolders = 0;

beforeEach(async () => {
  store = await openStore(`${folder}/${++numberOfFolders}`);
  clock = new TestClock();
  accounts = new Accounts(store, clock);
  links = new AccountLinks(store, accounts, clock, CHEAPEST);
  acts = new AccountActs(store, accounts, clock);
  proved = provedActs({ accounts, accountActs: acts });
  today = accounts.today();
});
afterEach(() => store.close());
afterAll(remove);

async function makeAdministrator(): Promise<void> {
  const { token } = (await links.makeFirstLink())!;
  await links.makeFirst(token, { person: 'ADM', name: 'Mira Solberg', password: PASSWORD });
}

/** An account with a password, made by the first administrator. */
async function makePerson(person: string, ...roles: Role[]): Promise<void> {
  const { token } = await acts.make(await administrator(), {
    person,
    name: `Person ${person}`,
    identityCheckedOn: today,
  });
  await links.setPassword(token, PASSWORD);
  for (const role of roles) await proved.giveRole('ADM', person, role);
}

const refusedWith = (says: string) => ({ code: 'REFUSED', message: expect.stringContaining(says) });
const rolesOf = async (person: string) => (await accounts.people()).get(person)!.roles;
const refusals = async () =>
  (await store.read.events.ofTypes(['act-refused'])).map(({ event }) => event.type === 'act-refused' && event.why);

describe('the first administrator', () => {
  it('is made by the one-time link, and then there is no other such link', async () => {
    await makeAdministrator();
    expect(await rolesOf('ADM')).toEqual(['administrator']);
    expect(await links.makeFirstLink()).toBeUndefined();
    expect(await accounts.prove('ADM', PASSWORD)).toMatchObject({ person: 'ADM', name: 'Mira Solberg' });
  });

  it('needs the latest link, which runs out after 24 hours and is used once', async () => {
    const first = { person: 'ADM', name: 'Mira Solberg', password: PASSWORD };
    const older = (await links.makeFirstLink())!;
    const newer = (await links.makeFirstLink())!;
    await expect(links.makeFirst(older.token, first)).rejects.toMatchObject(refusedWith('newer one'));
    await expect(links.openLink(older.token)).rejects.toMatchObject(refusedWith('newer one'));
    clock.forwardMs(24 * HOUR_MS);
    await expect(links.makeFirst(newer.token, first)).rejects.toMatchObject(refusedWith('ran out'));
    expect((await accounts.people()).size).toBe(0);
    const { token } = (await links.makeFirstLink())!;
    expect(await links.openLink(token)).toEqual({ first: true });
    await links.makeFirst(token, first);
    await expect(links.makeFirst(token, { ...first, person: 'EVE' })).rejects.toMatchObject(refusedWith('used'));
    expect([...(await accounts.people()).keys()]).toEqual(['ADM']);
  });
});

/** OWASP ASVS 4.0.3, 2.3.1: first secrets are random, run out, and are no lasting password. */
describe('a one-time link', () => {
  beforeEach(makeAdministrator);

  it('sets the password once', async () => {
    const { token } = await acts.make(await administrator(), {
      person: 'TO',
      name: 'Tomas Okoro',
      identityCheckedOn: today,
    });
    await expect(accounts.prove('TO', PASSWORD)).rejects.toMatchObject(refusedWith('wrong'));
    expect(await links.openLink(token)).toMatchObject({ account: { person: 'TO', name: 'Tomas Okoro' } });
    await links.setPassword(token, PASSWORD);
    await expect(links.setPassword(token, 'another long password')).rejects.toMatchObject(refusedWith('used before'));
    await expect(links.openLink(token)).rejects.toMatchObject(refusedWith('used before'));
    expect(await accounts.prove('TO', PASSWORD)).toMatchObject({ name: 'Tomas Okoro' });
  });

  it('is used by one of two who open it at once', async () => {
    const { token } = await acts.make(await administrator(), {
      person: 'TO',
      name: 'Tomas Okoro',
      identityCheckedOn: today,
    });
    const tries = await Promise.allSettled([
      links.setPassword(token, 'first of two passwords'),
      links.setPassword(token, 'second of two passwords'),
    ]);
    expect(tries.filter(({ status }) => status === 'fulfilled')).toHaveLength(1);
  });

  it('runs out after 72 hours, and a newer one takes its place', async () => {
    const { token } = await acts.make(await administrator(), {
      person: 'TO',
      name: 'Tomas Okoro',
      identityCheckedOn: today,
    });
    clock.forwardMs(INVITATION_HOURS * HOUR_MS);
    await expect(links.setPassword(token, PASSWORD)).rejects.toMatchObject(refusedWith('ran out'));
    const older = await acts.invite(await administrator(), 'TO');
    const newer = await acts.invite(await administrator(), 'TO');
    await expect(links.setPassword(older.token, PASSWORD)).rejects.toMatchObject(refusedWith('newer one'));
    await links.setPassword(newer.token, PASSWORD);
  });

  it('is known to the store by its digest alone', async () => {
    const { token } = await acts.make(await administrator(), {
      person: 'TO',
      name: 'Tomas Okoro',
      identityCheckedOn: today,
    });
    const stored = JSON.stringify([
      await store.read.events.ofTypes(['invitation-made', 'administrator-link-made']),
      await store.read.ledger.page(0),
    ]);
    expect(stored).not.toContain(token);
  });
});

describe('an identifier', () => {
  beforeEach(makeAdministrator);

  it('is never given again, in whatever letters, also when its account is closed', async () => {
    await makePerson('TO');
    await proved.close('ADM', 'TO', 'left the cell');
    for (const person of ['TO', 'to']) {
      const again = { person, name: 'Somebody Else', identityCheckedOn: today };
      await expect(acts.make(await administrator(), again)).rejects.toMatchObject(
        refusedWith('never given to anybody else'),
      );
    }
    expect((await refusals()).length).toBe(2);
  });

  it('needs that somebody checked who its person is, and not on a day to come', async () => {
    const account = { person: 'TO', name: 'Tomas Okoro' };
    await expect(acts.make(await administrator(), { ...account, identityCheckedOn: null })).rejects.toMatchObject(
      refusedWith('nobody has checked'),
    );
    await expect(
      acts.make(await administrator(), { ...account, identityCheckedOn: '2999-01-01' }),
    ).rejects.toMatchObject(refusedWith('a day to come'));
  });
});

describe('roles', () => {
  beforeEach(makeAdministrator);

  it.each(['quality engineer', 'releaser', 'regulatory', 'auditor'] as const)(
    'keep administrator apart from %s',
    async (role) => {
      await makePerson('TO', role);
      await expect(proved.giveRole('ADM', 'TO', 'administrator')).rejects.toMatchObject({ code: 'REFUSED' });
      await makePerson('LP', 'administrator');
      await expect(proved.giveRole('ADM', 'LP', role)).rejects.toMatchObject({ code: 'REFUSED' });
      expect([await rolesOf('TO'), await rolesOf('LP')]).toEqual([[role], ['administrator']]);
      expect(await refusals()).toHaveLength(2);
    },
  );

  it('keep auditor apart from every other', async () => {
    await makePerson('AU', 'auditor');
    await makePerson('OP', 'operator');
    await expect(proved.giveRole('ADM', 'AU', 'operator')).rejects.toMatchObject(refusedWith('changes nothing'));
    await expect(proved.giveRole('ADM', 'OP', 'auditor')).rejects.toMatchObject(refusedWith('changes nothing'));
  });

  it('are given by an administrator alone, and by nobody to themselves', async () => {
    await makePerson('TO', 'quality engineer');
    await expect(proved.giveRole('TO', 'ADM', 'operator')).rejects.toMatchObject(refusedWith('administrator'));
    await expect(proved.giveRole('ADM', 'ADM', 'operator')).rejects.toMatchObject(refusedWith('to themselves'));
    await expect(proved.giveRole('GHOST', 'TO', 'operator')).rejects.toMatchObject({ code: 'REFUSED' });
    await expect(proved.giveRole('ADM', 'NOBODY', 'operator')).rejects.toMatchObject({ code: 'NOT_FOUND' });
    expect(await rolesOf('TO')).toEqual(['quality engineer']);
  });

  it('leave an administrator who can sign in', async () => {
    await acts.make(await administrator(), { person: 'A2', name: 'Not Yet Here', identityCheckedOn: today });
    await proved.giveRole('ADM', 'A2', 'administrator');
    await expect(proved.takeRole('ADM', 'ADM', 'administrator', 'tired')).rejects.toMatchObject(refusedWith('last'));
    await expect(proved.close('ADM', 'ADM', 'tired')).rejects.toMatchObject(refusedWith('last'));
    const { token } = await acts.invite(await administrator(), 'A2');
    await links.setPassword(token, PASSWORD);
    await proved.takeRole('ADM', 'ADM', 'administrator', 'tired');
    expect(await rolesOf('ADM')).toEqual([]);
    await expect(
      acts.make(await administrator(), { person: 'X', name: 'X Y', identityCheckedOn: today }),
    ).rejects.toMatchObject({
      code: 'REFUSED',
    });
  });

  it('end with the account, which is closed for good', async () => {
    await makePerson('TO', 'quality engineer');
    await proved.close('ADM', 'TO', 'left the cell');
    expect((await accounts.state('TO'))!.acting).toEqual([]);
    await expect(accounts.prove('TO', PASSWORD)).rejects.toMatchObject(refusedWith('wrong'));
    await expect(proved.giveRole('ADM', 'TO', 'operator')).rejects.toMatchObject(refusedWith('closed'));
    await expect(acts.invite(await administrator(), 'TO')).rejects.toMatchObject(refusedWith('closed'));
  });
});

describe('deputies', () => {
  const deputy = (from: string, to: string) =>
    ({ person: 'AL', deputyFor: 'TO', role: 'quality engineer', from, to }) as const;
  const actingOn = async (day: string) => (await accounts.state('AL', day))!.acting.map(({ role }) => role);

  beforeEach(async () => {
    await makeAdministrator();
    await makePerson('TO', 'quality engineer');
    await makePerson('AL', 'process engineer');
  });

  it('act from the first to the last day named, and on no other', async () => {
    await proved.nameDeputy('ADM', deputy('2999-03-01', '2999-03-14'));
    expect(await actingOn('2999-02-28')).toEqual(['process engineer']);
    expect(await actingOn('2999-03-01')).toEqual(['process engineer', 'quality engineer']);
    expect(await actingOn('2999-03-14')).toEqual(['process engineer', 'quality engineer']);
    expect(await actingOn('2999-03-15')).toEqual(['process engineer']);
    const { acting } = (await accounts.state('AL', '2999-03-01'))!;
    expect(acting[1]).toEqual({ role: 'quality engineer', deputyFor: 'TO' });
  });

  it('end when they are ended, and when the other person loses the role', async () => {
    await proved.nameDeputy('ADM', deputy(today, '2999-03-14'));
    await proved.endDeputy('ADM', deputy('', ''), 'back from holiday');
    expect(await actingOn(today)).toEqual(['process engineer']);
    await proved.nameDeputy('ADM', deputy(today, '2999-03-14'));
    await proved.takeRole('ADM', 'TO', 'quality engineer', 'moved to another job');
    expect(await actingOn(today)).toEqual(['process engineer']);
  });

  it.each([
    ['for days that have passed', deputy('2020-01-01', '2020-01-02'), 'has passed'],
    ['backwards', deputy('2999-03-14', '2999-03-01'), 'lies before'],
    [
      'of somebody who does not hold the role',
      { ...deputy('2999-03-01', '2999-03-14'), role: 'releaser' },
      'not releaser',
    ],
    [
      'of an administrator',
      { ...deputy('2999-03-01', '2999-03-14'), deputyFor: 'ADM', role: 'administrator' },
      'no deputy',
    ],
    ['of themselves', { ...deputy('2999-03-01', '2999-03-14'), deputyFor: 'AL' }, 'of themselves'],
    ['of nobody', { ...deputy('2999-03-01', '2999-03-14'), deputyFor: 'ZZ' }, 'no account ZZ'],
  ] as const)('are not named %s', async (_how, named, says) => {
    await expect(proved.nameDeputy('ADM', named)).rejects.toMatchObject(refusedWith(says));
    expect(await refusals()).toHaveLength(1);
  });

  it('never join an administrator and a quality role, one way or the other', async () => {
    await makePerson('A2', 'administrator');
    const named = { ...deputy('2999-03-01', '2999-03-14'), person: 'A2' };
    await expect(proved.nameDeputy('ADM', named)).rejects.toMatchObject(refusedWith('no quality approval'));
    await proved.nameDeputy('ADM', deputy('2999-03-01', '2999-03-14'));
    await expect(proved.giveRole('ADM', 'AL', 'administrator')).rejects.toMatchObject({ code: 'REFUSED' });
  });
});

describe('the key of a person', () => {
  const OTHER = 'eight quiet lanterns';
  const two = 'two other people vouch for that';
  const keyOf = async (person: string) => currentOf((await store.read.events.knownKeys()).people.keys, person);
  const signs = async (person: string, password: string) =>
    Proof.signing(await accounts.prove(person, password), async (pen) => [pen.fingerprint, pen.sign('a text')]);

  beforeEach(async () => {
    await makeAdministrator();
    await makePerson('TO');
    await makePerson('AL');
  });

  it('is made with the first password, and the administrator who made the link vouches for it', async () => {
    expect(await keyOf('ADM')).toMatchObject({ replaces: null, link: null, endorsements: [] });
    expect(await keyOf('TO')).toMatchObject({ replaces: null, endorsements: [{ person: 'ADM' }] });
    expect((await store.read.events.knownKeys()).people.faults).toEqual([]);
  });

  it('stays when its password changes, and only the new one unlocks it', async () => {
    const before = await signs('TO', PASSWORD);
    await links.changePassword(await accounts.prove('TO', PASSWORD), OTHER);
    expect(await signs('TO', OTHER)).toEqual(before);
    await expect(signs('TO', PASSWORD)).rejects.toMatchObject(refusedWith('wrong'));
  });

  it('signs for one act, and never after it', async () => {
    const proof = await accounts.prove('TO', PASSWORD);
    const pen = await Proof.signing(proof, async (one) => one);
    expect(() => pen.sign('later')).toThrow();
    await expect(Proof.signing(proof, async (one) => one)).rejects.toMatchObject(refusedWith('each act'));
  });

  it('is lost with its password: another takes its place, for which two others vouch', async () => {
    const before = (await keyOf('TO'))!;
    const by = (person: string) => accounts.prove(person, PASSWORD);
    await expect(acts.invite(await by('ADM'), 'TO')).rejects.toMatchObject(refusedWith(two));
    await expect(acts.invite(await by('ADM'), 'TO', 'lost', await by('ADM'))).rejects.toMatchObject(
      refusedWith('two different people'),
    );
    await expect(acts.invite(await by('ADM'), 'TO', 'lost', await by('TO'))).rejects.toMatchObject(
      refusedWith('nobody vouches for themselves'),
    );
    const { token } = await acts.invite(await by('ADM'), 'TO', 'lost', await by('AL'));
    expect((await keyOf('TO'))!.fingerprint).toBe(before.fingerprint);
    await links.setPassword(token, OTHER);
    const now = (await keyOf('TO'))!;
    expect([now.replaces, recoveredBy(now)]).toEqual([before.fingerprint, ['ADM', 'AL']]);
    expect((await signs('TO', OTHER))[0]).toBe(now.fingerprint);
    expect((await store.read.events.knownKeys()).people.faults).toEqual([]);
    expect(await store.verifyLedger()).toMatchObject({ ok: true });
  });

  it('is not made by a link of somebody who left meanwhile', async () => {
    await makePerson('A2', 'administrator');
    const account = { person: 'NEW', name: 'Nora Example', identityCheckedOn: today };
    const { token } = await acts.make(await accounts.prove('A2', PASSWORD), account);
    await proved.close('ADM', 'A2', 'left the cell');
    await expect(links.setPassword(token, PASSWORD)).rejects.toMatchObject(
      refusedWith('nobody whose key counts vouches'),
    );
    expect(await keyOf('NEW')).toBeUndefined();
  });

  it('goes with its person', async () => {
    await proved.close('ADM', 'TO', 'left the cell');
    expect(await keyOf('TO')).toBeUndefined();
  });

  it('is recovered at the machine by two others too', async () => {
    await expect(links.recover('ADM', 'local:tester', 'forgotten')).rejects.toMatchObject(refusedWith(two));
    const proofs = [await accounts.prove('TO', PASSWORD), await accounts.prove('AL', PASSWORD)];
    const { token } = await links.recover('ADM', 'local:tester', 'forgotten', proofs);
    await links.setPassword(token, OTHER);
    expect(recoveredBy((await keyOf('ADM'))!)).toEqual(['TO', 'AL']);
  });
});

describe('a proof of identity', () => {
  beforeEach(makeAdministrator);

  it('comes from a right password and from nothing that looks like it', async () => {
    const proof = await accounts.prove('ADM', PASSWORD);
    expect(Proof.isProof(proof)).toBe(true);
    expect(Proof.isProof({ ...proof })).toBe(false);
    expect(Proof.isProof(Object.create(Proof.prototype))).toBe(false);
    expect(Proof.isProof(undefined)).toBe(false);
  });

  it('says the same of a wrong password and of a person whom nobody knows', async () => {
    const says = async (person: string) =>
      accounts.prove(person, 'wrong password').catch((error: Error) => error.message);
    expect(await says('ADM')).toBe(await says('GHOST'));
  });

  it('lets the password of another person count for nothing', async () => {
    const { token } = await acts.make(await administrator(), {
      person: 'TO',
      name: 'Tomas Okoro',
      identityCheckedOn: today,
    });
    await links.setPassword(token, 'a password of my own');
    await expect(accounts.prove('TO', PASSWORD)).rejects.toMatchObject(refusedWith('wrong'));
  });
});

it('keeps what a password is tried by in its event alone, and the wrapped key with it: not in the audit trail, and not in what pages see', async () => {
  await makeAdministrator();
  await makePerson('TO');
  const entries = JSON.stringify(await store.read.ledger.page(0));
  const seen = JSON.stringify([...(await accounts.people()).values(), await accounts.state('TO')]);
  const [event] = await store.read.events.ofTypes(['password-set']);
  const { lock, wrapped } = event!.event as Extract<Event, { type: 'password-set' }>;
  for (const secret of [lock.check, lock.salt, wrapped.seed, wrapped.tag]) {
    expect(entries).not.toContain(secret);
    expect(seen).not.toContain(secret);
  }
});

it('takes no link that the database invents, or prolongs, or means for another', async () => {
  await makeAdministrator();
  await makePerson('OTHER');
  const made = { person: 'TO', name: 'Tomas Okoro', identityCheckedOn: today };
  const { token } = await acts.make(await administrator(), made);
  const link = (await store.read.events.ofTypes(['invitation-made'])).at(-1)!.event as Invitation;
  const put = (changed: Partial<Invitation>) =>
    store.change('program', (change) => change.events.add({ ...link, ...changed }));
  const own = 'k'.repeat(86);
  for (const [changed, opened] of [
    [{ tokenSha256: sha256Hex(own) }, own],
    [{ expiresAt: new Date(Date.parse(link.expiresAt) + HOUR_MS).toISOString() }, token],
    [{ person: 'OTHER' }, token],
  ] as const) {
    await put(changed);
    await expect(links.openLink(opened)).rejects.toMatchObject(refusedWith('unknown'));
    await put({ person: 'OTHER', tokenSha256: sha256Hex('none') });
    await put({});
    expect(await links.openLink(token)).toMatchObject({ account: { person: 'TO' } });
  }
});
