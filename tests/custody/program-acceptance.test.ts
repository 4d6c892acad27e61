import fs from 'node:fs';
import path from 'node:path';
import { parse, stringify } from 'yaml';
import { PROGRAM_ROOT, PROGRAM_VERSION, programBuild, programName } from '../../src/base/settings.js';
import { programAcceptance } from '../../src/custody/program-acceptance.js';
import { temporaryFolder } from '../support/cell.js';
import { makeTestPeople, PASSWORD } from '../support/people.js';
import { openServices, type Services } from '../support/services.js';
import { ACTOR } from './folder.js';

const starter = path.join(PROGRAM_ROOT, 'templates', 'starters', 'program-version.yaml');

let services: Services;
beforeAll(async () => {
  services = await openServices(path.join(temporaryFolder('acceptance'), 'data'));
});
afterAll(() => services.store.close());

describe('the acceptance of a program version (ISO 13485:2016 4.1.6)', () => {
  it('begins with a starter, and counts once it is taken in and signed', async () => {
    const { read } = services.store;
    expect(await programAcceptance(read)).toMatchObject({
      accepted: false,
      says: expect.stringContaining('not accepted'),
    });
    const folder = temporaryFolder('acceptance');
    const document = { ...parse(fs.readFileSync(starter, 'utf8')), version: PROGRAM_VERSION, build: programBuild() };
    fs.writeFileSync(path.join(folder, 'program-version.yaml'), stringify(document));
    fs.writeFileSync(path.join(folder, 'self-check.json'), '{}');
    await services.intake.run(folder, ACTOR);
    expect(await programAcceptance(read)).toMatchObject({ accepted: false, says: expect.stringContaining('nobody') });
    await makeTestPeople(services);
    const thing = { kind: 'program-version', key: `${PROGRAM_VERSION}-${programBuild()}`, revision: 1, digest: null };
    const sign = async (person: string, meaning: 'performed' | 'approved') =>
      services.signing.sign(await services.accounts.prove(person, PASSWORD), { things: [thing], meaning });
    await sign('P-PE', 'performed');
    await sign('P-QE', 'approved');
    expect(await programAcceptance(read)).toMatchObject({
      program: programName(),
      accepted: true,
      says: expect.stringContaining('Quentin Example'),
    });
  });

  it('refuses limits that are not named', async () => {
    const folder = temporaryFolder('limits');
    const document = { ...parse(fs.readFileSync(starter, 'utf8')), conclusion: 'accepted with limits' };
    fs.writeFileSync(path.join(folder, 'program-version.yaml'), stringify(document));
    fs.writeFileSync(path.join(folder, 'self-check.json'), '{}');
    await expect(services.intake.run(folder, ACTOR)).rejects.toMatchObject({ code: 'BAD_INPUT' });
  });
});
