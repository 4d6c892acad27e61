import type { Role } from '../../src/dossier/statement.js';
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

/** Makes the accounts, each with the same password; behind a lock that is cheap to try, where the services make such. */
export async function makeTestPeople({ accounts, accountActs, accountLinks }: Services): Promise<void> {
  const first = (await accountLinks.makeFirstLink())!;
  const { name } = TEST_PEOPLE[ADMINISTRATOR]!;
  await accountLinks.makeFirst(first.token, { person: ADMINISTRATOR, name, password: PASSWORD });
  for (const [person, { name, roles }] of Object.entries(TEST_PEOPLE)) {
    if (person === ADMINISTRATOR) continue;
    const account = { person, name, identityCheckedOn: accounts.today() };
    const { token } = await accountActs.make(await accounts.prove(ADMINISTRATOR, PASSWORD), account);
    await accountLinks.setPassword(token, PASSWORD);
    for (const role of roles) await accountActs.giveRole(ADMINISTRATOR, person, role);
  }
}
