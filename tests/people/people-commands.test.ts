import path from 'node:path';
import { Command } from 'commander';
import type { Output } from '../../src/cli/output.js';
import { addPeopleCommands } from '../../src/people/people-commands.js';
import { openServices, type Services } from '../../src/services.js';
import { temporaryFolder } from '../support/cell.js';

let services: Services;
beforeAll(async () => {
  services = await openServices(path.join(temporaryFolder('people-commands'), 'data'));
});
afterAll(() => services.store.close());

/** What a command says to a program. */
async function objectOf(...words: string[]): Promise<Record<string, unknown>> {
  let said: unknown;
  const out: Output = {
    json: true,
    line: () => {},
    object: (value) => {
      said = value;
    },
  };
  const program = new Command();
  addPeopleCommands(program, async (body) => {
    await body(services, out);
  });
  await program.parseAsync(['node', 'lotwright', 'people', ...words]);
  return said as Record<string, unknown>;
}

it('gives the link of the first administrator while nobody has an account, and then refuses', async () => {
  expect(await objectOf('list')).toEqual({ people: [] });
  const { path: link } = await objectOf('invite');
  const token = String(link).replace('/set-up/', '');
  await services.accounts.makeFirst(token, { person: 'ADM', name: 'Mira Solberg', password: 'seven quiet lanterns' });
  await expect(objectOf('invite')).rejects.toMatchObject({ code: 'REFUSED' });
  expect(await objectOf('list')).toEqual({
    people: [{ person: 'ADM', name: 'Mira Solberg', roles: ['administrator'], deputies: [], closed: false }],
  });
});
