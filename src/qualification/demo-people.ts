import { randomInt } from 'node:crypto';
import fs from 'node:fs';
import path from 'node:path';
import type { Role } from '../dossier/statement.js';
import type { AccountActs } from '../people/account-acts.js';
import type { AccountLinks } from '../people/account-links.js';
import type { Accounts } from '../people/accounts.js';
import type { PasswordCost } from '../people/passwords.js';
import { DEMO_LINES } from '../report/phrases/commands/qualification.js';
import { PEOPLE } from './names.js';

export interface DemoPerson {
  readonly person: string;
  readonly name: string;
  readonly roles: readonly Role[];
  readonly password: string;
}

export const DEMO_ADMINISTRATOR = 'MH';
export const DEMO_AUDITOR = 'EB';

/** The cell of six, with an administrator who approves nothing and an auditor who comes to read. */
const CAST: readonly Omit<DemoPerson, 'password'>[] = [
  { person: DEMO_ADMINISTRATOR, name: 'Marit Halvorsen', roles: ['administrator'] },
  { person: PEOPLE.operator, name: 'Joris Veldkamp', roles: ['operator'] },
  { person: PEOPLE.process, name: 'Ada Lindmark', roles: ['process engineer', 'case designer'] },
  { person: PEOPLE.analyst, name: 'Ines Marbach', roles: ['analyst'] },
  { person: PEOPLE.secondAnalyst, name: 'Lena Petri', roles: ['analyst'] },
  { person: PEOPLE.quality, name: 'Tomas Okoro', roles: ['quality engineer'] },
  { person: PEOPLE.release, name: 'Sefa Aydin', roles: ['releaser', 'regulatory'] },
  { person: DEMO_AUDITOR, name: 'Elif Brandt', roles: ['auditor'] },
];

/** Their passwords are 79 random bits, which nobody guesses at any price: so that playing costs little. */
export const COST_OF_DEMO: PasswordCost = { memoryKib: 1024, passes: 1 };

/** Letters and digits that nobody mistakes for each other. */
const SIGNS = 'abcdefghjkmnpqrstuvwxyz23456789';

interface PeopleServices {
  readonly accounts: Accounts;
  readonly accountActs: AccountActs;
  readonly accountLinks: AccountLinks;
}

/**
 * Makes the accounts of the demo, by the same acts as the pages, and writes their random passwords into a file that its
 * owner alone may read.
 * @param folder the demo folder.
 * @returns the people by their codes, and where the file is.
 */
export async function makeDemoPeople(
  { accounts, accountActs, accountLinks }: PeopleServices,
  folder: string,
): Promise<{ people: ReadonlyMap<string, DemoPerson>; file: string }> {
  const people = CAST.map((one) => ({ ...one, password: randomPassword() }));
  const [administrator, ...others] = people;
  const first = (await accountLinks.makeFirstLink())!;
  await accountLinks.makeFirst(first.token, administrator!);
  for (const { person, name, roles, password } of others) {
    const made = { person, name, identityCheckedOn: accounts.today() };
    const prove = () => accounts.prove(DEMO_ADMINISTRATOR, administrator!.password);
    const { token } = await accountActs.make(await prove(), made);
    await accountLinks.setPassword(token, password);
    for (const role of roles) await accountActs.giveRole(await prove(), person, role);
  }
  return { people: new Map(people.map((one) => [one.person, one])), file: writePeople(people, folder) };
}

/** Four groups of four: 79 bits. */
function randomPassword(): string {
  const group = () => Array.from({ length: 4 }, () => SIGNS[randomInt(SIGNS.length)]).join('');
  return [group(), group(), group(), group()].join('-');
}

function writePeople(people: readonly DemoPerson[], folder: string): string {
  const file = path.join(folder, 'people.txt');
  const rows = people.map(({ person, name, roles, password }) =>
    [person.padEnd(4), password, name.padEnd(18), roles.join(', ')].join('  '),
  );
  const text = [DEMO_LINES.ofPeople, '', ...rows, ''].join('\n');
  fs.writeFileSync(file, text, { mode: 0o600, flag: 'wx' });
  return file;
}
