import { hash } from '@node-rs/argon2';
import { sha256Hex } from '../../src/dossier/canonical.js';
import type { Role } from '../../src/dossier/statement.js';
import { personActor } from '../../src/people/account-state.js';
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

/** A hash tells what it costs to compare with: tests prove this password hundreds of times, and guard nothing with it. */
const CHEAPEST = { memoryCost: 8, timeCost: 1, parallelism: 1 };

/** Makes the accounts, each with the same password, by a hash that is cheap to compare with. */
export async function makeTestPeople({ accounts, accountActs, accountLinks, store }: Services): Promise<void> {
  const setPassword = async (person: string, invitation: string | null) => {
    const event = { type: 'password-set', person, hash: await hash(PASSWORD, CHEAPEST), invitation } as const;
    await store.change(personActor(person), (change) => change.events.add(event));
  };
  const first = (await accountLinks.makeFirstLink())!;
  const { name } = TEST_PEOPLE[ADMINISTRATOR]!;
  await accountLinks.makeFirst(first.token, { person: ADMINISTRATOR, name, password: PASSWORD });
  await setPassword(ADMINISTRATOR, null);
  for (const [person, { name, roles }] of Object.entries(TEST_PEOPLE)) {
    if (person === ADMINISTRATOR) continue;
    const { token } = await accountActs.make(ADMINISTRATOR, { person, name, identityCheckedOn: accounts.today() });
    await setPassword(person, sha256Hex(token));
    for (const role of roles) await accountActs.giveRole(ADMINISTRATOR, person, role);
  }
}
