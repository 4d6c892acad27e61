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

it('gives an administrator who cannot sign in a link at the machine, with a reason', async () => {
  expect(await runCommand(data, ['people', 'recover', 'ADM', '--reason', ' '])).toMatchObject({ code: 2 });
  expect(await runCommand(data, ['people', 'recover', 'NO', '--reason', 'lost'])).toMatchObject({ code: 7 });
  const { code, text } = await runCommand(data, ['people', 'recover', 'ADM', '--reason', 'the note was lost']);
  expect([code, text]).toEqual([0, expect.stringMatching(/\/set-up\/\S{86}\n.*The first page tells everybody/s)]);
  const made = (await services.store.read.events.ofTypes(['invitation-made'])).at(-1)!;
  expect(made).toMatchObject({ reason: 'the note was lost', event: { person: 'ADM', atMachine: true } });
  expect(made.actor).toMatch(/^local:/);
});
