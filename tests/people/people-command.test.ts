import path from 'node:path';
import { temporaryFolder } from '../support/cell.js';
import { runCommand } from '../support/run-command.js';
import { openServices, type Services } from '../support/services.js';

const data = path.join(temporaryFolder('people-command'), 'data');
let services: Services;
beforeAll(async () => {
  services = await openServices(data);
});
afterAll(() => services.store.close());

/** What a command says to a program. */
async function objectOf(...words: string[]): Promise<Record<string, unknown>> {
  const { text } = await runCommand(data, ['--json', 'people', ...words]);
  return JSON.parse(text) as Record<string, unknown>;
}

it('gives the link of the first administrator while nobody has an account, and then refuses', async () => {
  expect(await objectOf('list')).toEqual({ people: [] });
  const { path: link } = await objectOf('invite');
  const token = String(link).replace('/set-up/', '');
  await services.accountLinks.makeFirst(token, {
    person: 'ADM',
    name: 'Mira Solberg',
    password: 'seven quiet lanterns',
  });
  expect(await objectOf('invite')).toMatchObject({ error: { code: 'REFUSED' } });
  expect(await objectOf('list')).toEqual({
    people: [{ person: 'ADM', name: 'Mira Solberg', roles: ['administrator'], deputies: [], closed: false }],
  });
});
