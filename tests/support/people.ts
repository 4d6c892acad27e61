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

/** Makes the accounts, each with the same password. */
export async function makeTestPeople({ accounts }: Services): Promise<void> {
  const first = (await accounts.makeFirstLink())!;
  const { name } = TEST_PEOPLE[ADMINISTRATOR]!;
  await accounts.makeFirst(first.token, { person: ADMINISTRATOR, name, password: PASSWORD });
  for (const [person, { name, roles }] of Object.entries(TEST_PEOPLE)) {
    if (person === ADMINISTRATOR) continue;
    const { token } = await accounts.make(ADMINISTRATOR, { person, name, identityCheckedOn: accounts.today() });
    await accounts.setPassword(token, PASSWORD);
    for (const role of roles) await accounts.giveRole(ADMINISTRATOR, person, role);
  }
}
