import { systemClock } from '../../src/base/clock.js';
import type { Role } from '../../src/dossier/statement.js';
import { AccountLinks } from '../../src/people/account-links.js';
import { Proof } from '../../src/people/proof.js';
import type { Signer } from './person-keys.js';
import type { Services } from './services.js';

export const PASSWORD = 'seven quiet lanterns';

/** People of the test cell, by code. */
export const TEST_PEOPLE: Readonly<Record<string, { readonly name: string; readonly roles: readonly Role[] }>> = {
  'P-AD': { name: 'Adele Example', roles: ['administrator'] },
  'P-OP': { name: 'Ovid Example', roles: ['operator'] },
  'P-AN': { name: 'Ana Example', roles: ['analyst'] },
  'P-PE': { name: 'Pia Example', roles: ['process engineer'] },
  'P-QE': { name: 'Quentin Example', roles: ['quality engineer'] },
  'P-RE': { name: 'Rita Example', roles: ['releaser'] },
  'P-AU': { name: 'Aurel Example', roles: ['auditor'] },
};

const ADMINISTRATOR = 'P-AD';

/** A lock tells what it costs to try: tests prove this password hundreds of times, and guard nothing with it. */
export const CHEAPEST = { memoryKib: 8, passes: 1 };

/** Makes the accounts, each with the same password, behind a lock that is cheap to try. */
export async function makeTestPeople({ accounts, accountActs, store }: Services): Promise<void> {
  const links = new AccountLinks(store, accounts, systemClock, CHEAPEST);
  const first = (await links.makeFirstLink())!;
  const { name } = TEST_PEOPLE[ADMINISTRATOR]!;
  await links.makeFirst(first.token, { person: ADMINISTRATOR, name, password: PASSWORD });
  for (const [person, { name, roles }] of Object.entries(TEST_PEOPLE)) {
    if (person === ADMINISTRATOR) continue;
    const account = { person, name, identityCheckedOn: accounts.today() };
    const { token } = await accountActs.make(await accounts.prove(ADMINISTRATOR, PASSWORD), account);
    await links.setPassword(token, PASSWORD);
    for (const role of roles) await accountActs.giveRole(ADMINISTRATOR, person, role);
  }
}

/** What signs with the keys of these test people, while `work` runs. */
export async function withPens<T>(
  services: Pick<Services, 'accounts'>,
  [person, ...others]: readonly string[],
  work: (pens: ReadonlyMap<string, Signer>) => Promise<T>,
  pens: ReadonlyMap<string, Signer> = new Map(),
): Promise<T> {
  if (person === undefined) return work(pens);
  const proof = await services.accounts.prove(person, PASSWORD);
  return Proof.signing(proof, (pen) => withPens(services, others, work, new Map([...pens, [person, pen]])));
}
