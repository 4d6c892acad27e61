import fs from 'node:fs';
import path from 'node:path';
import { parse, stringify } from 'yaml';
import { PROGRAM_ROOT, PROGRAM_VERSION, programBuild, programName } from '../../src/base/settings.js';
import { checkIntegrityAndRecord } from '../../src/custody/integrity.js';
import { conditionText } from '../../src/report/phrases/release-conditions.js';
import { programAcceptance } from '../../src/signing/program-acceptance.js';
import { releaseConditions } from '../../src/signing/release-conditions.js';
import { ACTOR } from '../custody/folder.js';
import { temporaryFolder } from '../support/cell.js';
import { factsOf } from '../support/lot-facts.js';
import { makeTestPeople, PASSWORD } from '../support/people.js';
import { openServices, type Services } from '../support/services.js';

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
    const asked = { facts: await factsOf(), units: ['L-1-I1'], day: '2031-03-10', now: services.store.clock.now() };
    expect((await releaseConditions(read, { ...asked, demo: false }))[0]).toMatchObject({
      condition: 'program not accepted',
      state: 'does not hold',
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

  it('is a condition of each release, beside a check of the data folder without a fault in the last two days', async () => {
    const facts = await factsOf();
    const asked = (now: Date, demo = false) =>
      releaseConditions(services.store.read, { facts, units: ['L-1-I1'], day: '2031-03-10', now, demo });
    const now = services.store.clock.now();
    const said = async (at = now) => (await asked(at)).map(({ condition, state }) => [condition, state]);
    const accepted = ['program accepted', 'holds'];
    expect(await said()).toEqual([accepted, ['integrity never checked', 'does not hold']]);
    await checkIntegrityAndRecord(services.store, 'program');
    expect(await said()).toEqual([accepted, ['integrity checked', 'holds']]);
    const later = new Date(now.getTime() + 49 * 3_600_000);
    expect(await said(later)).toEqual([accepted, ['integrity not checked lately', 'does not hold']]);
    const faults = [{ what: 'evidence', name: 'a', says: 'gone (invented)' }];
    const found = { type: 'integrity-checked', files: 1, bytes: 1, unreferenced: 0, faultCount: 1, faults } as const;
    await services.store.change(ACTOR, (change) => change.events.add(found));
    expect(await said()).toEqual([accepted, ['integrity faults', 'does not hold']]);
    for (const condition of await asked(later)) expect(conditionText(condition)).not.toMatch(/undefined/);
    expect(await asked(now, true)).toEqual([]);
  });

  it('refuses limits that are not named', async () => {
    const folder = temporaryFolder('limits');
    const document = { ...parse(fs.readFileSync(starter, 'utf8')), conclusion: 'accepted with limits' };
    fs.writeFileSync(path.join(folder, 'program-version.yaml'), stringify(document));
    fs.writeFileSync(path.join(folder, 'self-check.json'), '{}');
    await expect(services.intake.run(folder, ACTOR)).rejects.toMatchObject({ code: 'BAD_INPUT' });
  });
});
