import fs from 'node:fs';
import path from 'node:path';
import { makeDemoPeople } from '../../src/qualification/demo-people.js';
import { people as documents } from '../../src/qualification/people.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { temporaryFolder } from '../support/cell.js';
import { openServices, type Services } from '../support/services.js';

const folder = path.join(temporaryFolder('demo-people'), 'demo');
let services: Services;
let made: Awaited<ReturnType<typeof makeDemoPeople>>;

beforeAll(async () => {
  services = await openServices(DataFolder.createDemo(folder, '2025-09-22T08:00:00Z'));
  made = await makeDemoPeople(services, folder);
});
afterAll(() => services.store.close());

it('gives everybody of the scenario an account by the same name, and a password of their own', async () => {
  const accounts = await services.accounts.people();
  for (const { person, name } of Object.values(documents) as { person: string; name: string }[]) {
    expect(accounts.get(person)).toMatchObject({ name });
  }
  const passwords = [...made.people.values()].map(({ password }) => password);
  expect(new Set(passwords).size).toBe(8);
  for (const { person, password } of made.people.values()) {
    expect(await services.accounts.prove(person, password)).toMatchObject({ person });
  }
});

it('writes the passwords where their owner alone reads them, and nowhere else', async () => {
  expect(fs.statSync(made.file).mode & 0o777).toBe(0o600);
  const text = fs.readFileSync(made.file, 'utf8');
  const stored = JSON.stringify(await services.store.read.ledger.page(0));
  for (const { person, password } of made.people.values()) {
    expect(text).toMatch(new RegExp(`^${person} +${password} `, 'm'));
    expect(stored).not.toContain(password);
  }
});

it('draws other passwords each time', async () => {
  const other = path.join(temporaryFolder('demo-people'), 'demo');
  const again = await openServices(DataFolder.createDemo(other, '2025-09-22T08:00:00Z'));
  const { people } = await makeDemoPeople(again, other);
  await again.store.close();
  const before = new Set([...made.people.values()].map(({ password }) => password));
  for (const { password } of people.values()) expect(before.has(password)).toBe(false);
});
