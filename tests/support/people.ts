import type { Role } from '../../src/dossier/statement.js';
import type { AccountActs } from '../../src/people/account-acts.js';
import type { Proof } from '../../src/people/proof.js';
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
  const acts = provedActs({ accounts, accountActs });
  const first = (await accountLinks.makeFirstLink())!;
  const { name } = TEST_PEOPLE[ADMINISTRATOR]!;
  await accountLinks.makeFirst(first.token, { person: ADMINISTRATOR, name, password: PASSWORD });
  for (const [person, { name, roles }] of Object.entries(TEST_PEOPLE)) {
    if (person === ADMINISTRATOR) continue;
    const account = { person, name, identityCheckedOn: accounts.today() };
    const { token } = await accountActs.make(await accounts.prove(ADMINISTRATOR, PASSWORD), account);
    await accountLinks.setPassword(token, PASSWORD);
    for (const role of roles) await acts.giveRole(ADMINISTRATOR, person, role);
  }
}

type Rest<Method extends keyof AccountActs> = AccountActs[Method] extends (proof: Proof, ...rest: infer R) => unknown
  ? R
  : never;

/** Acts on accounts by the code of whoever acts, each proved by the password that all test people have. */
export function provedActs(
  { accounts, accountActs: acts }: Pick<Services, 'accounts' | 'accountActs'>,
  own = PASSWORD,
) {
  const prove = (by: string) => accounts.prove(by, own);
  return {
    giveRole: async (by: string, ...rest: Rest<'giveRole'>) => acts.giveRole(await prove(by), ...rest),
    takeRole: async (by: string, ...rest: Rest<'takeRole'>) => acts.takeRole(await prove(by), ...rest),
    nameDeputy: async (by: string, ...rest: Rest<'nameDeputy'>) => acts.nameDeputy(await prove(by), ...rest),
    endDeputy: async (by: string, ...rest: Rest<'endDeputy'>) => acts.endDeputy(await prove(by), ...rest),
    close: async (by: string, ...rest: Rest<'close'>) => acts.close(await prove(by), ...rest),
  };
}
