import fs from 'node:fs';
import path from 'node:path';
import type { BadInputError } from '../../src/base/errors.js';
import { correctiveDuties } from '../../src/desk/today/site-duties.js';
import { Nonconformity } from '../../src/kinds/nonconformity.js';
import { neverConceded } from '../../src/lots/never-conceded.js';
import { nonconformitiesBySort } from '../../src/lots/nonconformities-by-sort.js';
import { nonconformityNotes } from '../../src/records/nonconformity-notes.js';
import { addLot, writeCell } from '../support/cell.js';
import { runCommand } from '../support/run-command.js';
import { refusalOf, SigningCell } from '../support/signing-cell.js';

const AT = '2031-03-05T10:00:00+01:00';
const OPEN = {
  kind: 'nonconformity',
  format: 1,
  nonconformity: 'NC-1',
  opened: { by: 'P-OP', at: AT },
  says: 'a scratch on the face (invented)',
  touches: [{ kind: 'implant', key: 'L-1-I1' }],
};
const DECIDED = {
  evaluation: { cause: 'a tool (invented)', riskFile: 'no', by: 'P-QE', at: AT },
  disposition: [{ units: ['L-1-I1'], as: 'no effect', justification: 'below the limit (invented)' }],
};
const CLOSED = { closure: { by: 'P-QE', at: AT, says: 'all was done (invented)' }, reason: 'done (invented)' };

let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open((what) => addLot(what, 'L-2', 102, '2031-02-27', { rm: 230, thickness: 1.6 }));
});
afterAll(() => cell.close());

async function takeIn(more: object, name = 'nonconformity'): Promise<void> {
  cell.cell.documents[`${name}.yaml`] = { ...OPEN, ...more };
  writeCell(cell.cell, cell.root);
  await cell.services.intake.run(cell.root, 'local:tester');
  await cell.services.assessor.assess('L-1', 'local:tester');
}
const waiting = async () =>
  (await cell.services.waiting.all()).filter(({ thing }) => /^(disposition|nonconformity):/.test(thing));
const decide = (person: string, thing: string) =>
  cell.sign(person, thing, { meaning: 'decided', outcome: 'accepted', reason: 'seen (invented)' });

it('is decided by process and quality, closed by quality, and holds its implant back until then, and no other', async () => {
  await takeIn({});
  await cell.review('L-1');
  expect(await refusalOf(cell.release('L-1', ['L-1-I1']))).toContain(
    'Nonconformity NC-1 is open: nobody evaluated it.',
  );
  await cell.release('L-1', ['L-1-I2']);

  await takeIn({ ...DECIDED, reason: 'evaluated (invented)' });
  const [disposition] = await waiting();
  expect(disposition).toMatchObject({ meaning: 'decided', who: expect.arrayContaining(['P-PE', 'P-QE']) });
  await decide('P-PE', disposition!.thing);
  expect((await waiting()).map(({ who }) => who)).toEqual([['P-QE']]);
  expect(await refusalOf(decide('P-RE', disposition!.thing))).toContain('needs the role');
  await decide('P-QE', disposition!.thing);
  expect(await waiting()).toEqual([]);

  await takeIn({ ...DECIDED, ...CLOSED });
  const [closure] = await waiting();
  expect(closure).toMatchObject({ meaning: 'approved', who: ['P-QE'] });
  expect(await refusalOf(cell.sign('P-PE', closure!.thing, { meaning: 'approved' }))).toContain('needs the role');
  await cell.sign('P-QE', closure!.thing, { meaning: 'approved' });
  await cell.services.assessor.assess('L-1', 'local:tester');
  await cell.review('L-1');
  await cell.release('L-1', ['L-1-I1']);
});

it('is refused where it comes in, and signed by nobody, where it concedes what no concession lets go', async () => {
  await takeIn({ nonconformity: 'NC-2' }, 'open');
  const { assessment } = await cell.services.assessor.assess('L-1', 'local:tester');
  const { findings } = assessment.checks.find(({ code }) => code === 'nonconformities-closed')!;
  const conceding = {
    ...DECIDED,
    nonconformity: 'NC-3',
    findings: findings.map(({ id }) => id),
    disposition: [{ units: ['L-1-I1'], as: 'concession', clause: 'any (invented)', justification: 'none (invented)' }],
  };
  const refused = await takeIn(conceding, 'conceding').catch((error: BadInputError) => error.problems);
  expect(refused).toMatchObject([
    {
      code: 'never-conceded',
      field: 'disposition[0].as',
      found: 'a concession against this: Nonconformity NC-2 is open: nobody evaluated it.',
      expected: 'another disposition: no concession lets a unit go against it',
    },
  ]);
  // It came in while nothing spoke against it.
  const never = await neverConceded(
    cell.services.store.read,
    (lot) => cell.services.current.of(lot),
    Nonconformity.parse({ ...OPEN, ...conceding }),
  );
  expect(never?.check).toBe('nonconformities-closed');
  delete cell.cell.documents['conceding.yaml'];
  fs.rmSync(path.join(cell.root, 'conceding.yaml'));
});

it('is the only way to let go what a concession may let go: a decision on the finding alone has no clause, and is refused', async () => {
  const { assessment } = await cell.services.assessor.assess('L-2', 'local:tester');
  const { findings } = assessment.checks.find(({ code }) => code === 'acceptance')!;
  expect(findings[0]).toMatchObject({ mayBeDecided: 'concession', units: ['L-2-I1'] });
  const decided = decide('P-QE', `check finding:L-2:${findings[0]!.id.slice(0, 12)}`);
  expect(await refusalOf(decided)).toMatch(
    /a concession names its clause and justification, in a nonconformity\. Process/,
  );
  const keepsBack = async () =>
    (await cell.services.overview.of('L-2')).blockers.some((blocker) => blocker.findings.includes(findings[0]!.id));
  expect(await keepsBack()).toBe(true);
  const concession = { units: ['L-2-I1'], as: 'concession', clause: '4 (invented)', justification: 'fits (invented)' };
  const report = { nonconformity: 'NC-6', touches: [{ kind: 'implant', key: 'L-2-I1' }], findings: [findings[0]!.id] };
  await takeIn({ ...report, ...DECIDED, disposition: [concession] }, 'conceded');
  const { thing } = (await waiting()).find((one) => one.thing.includes('NC-6'))!;
  for (const person of ['P-PE', 'P-QE']) await decide(person, thing);
  await cell.services.assessor.assess('L-2', 'local:tester');
  expect(await keepsBack()).toBe(false);
  const { text } = await runCommand(cell.folder.path, ['assess', 'L-2']);
  expect(text).toContain('A signed concession lets L-2-I1 go although it stands; the verdict stays.');
  expect(text).not.toMatch(new RegExp(`lotwright nonconformity L-2 .*${findings[0]!.id.slice(0, 12)}`));
});

it('lists each open step of a corrective action with its day, and then whether it worked', async () => {
  const action = {
    kind: 'corrective-action',
    format: 1,
    action: 'CA-1',
    opened: { by: 'P-QE', at: AT },
    triggers: [{ kind: 'nonconformity', key: 'NC-2' }],
    cause: 'a worn tool (invented)',
    steps: [{ what: 'another tool (invented)', by: 'P-OP', dueOn: '2031-03-20' }],
    dueOn: '2031-04-20',
  };
  const dutiesOn = async (day: string) =>
    (await correctiveDuties(cell.services.store.read, day)).map(({ what, by, overdue }) => [what, by, overdue]);
  await takeInAction(action);
  expect(await dutiesOn('2031-03-20')).toEqual([
    [
      'Corrective action against NC-2 (cause: a worn tool (invented)), by P-OP: another tool (invented)',
      '2031-03-20',
      false,
    ],
  ]);
  expect((await dutiesOn('2031-03-21'))[0]![2]).toBe(true);
  const done = { ...action, steps: [{ ...action.steps[0], doneOn: '2031-03-05' }], reason: 'done (invented)' };
  await takeInAction(done);
  expect(await dutiesOn('2031-03-21')).toEqual([
    ['Say whether the corrective action against NC-2 worked (cause: a worn tool (invented))', '2031-04-20', false],
  ]);
});

it('is closed by quality once its effect was shown, and by nobody before', async () => {
  const action = cell.cell.documents['action.yaml']!;
  expect(await actionsWaiting()).toEqual([]);
  await takeInAction({
    ...action,
    effectiveness: { on: '2031-03-05', by: 'P-PE', result: 'effective', says: 'no scratch since (invented)' },
    reason: 'looked at (invented)',
  });
  const [closing] = await actionsWaiting();
  expect(closing).toMatchObject({ meaning: 'approved', who: ['P-QE'] });
  expect(await refusalOf(cell.sign('P-PE', closing!.thing, { meaning: 'approved' }))).toContain('needs the role');
  await cell.sign('P-QE', closing!.thing, { meaning: 'approved' });
  expect(await actionsWaiting()).toEqual([]);
});

const actionsWaiting = async () =>
  (await cell.services.waiting.all()).filter(({ thing }) => thing.startsWith('corrective-action:'));

it('is counted with those of its sort, and their lots', async () => {
  await takeIn({ nonconformity: 'NC-4', sort: 'handling', touches: [{ kind: 'coupon', key: 'L-1-W1' }] }, 'fourth');
  await takeIn({ nonconformity: 'NC-5', sort: 'handling' }, 'fifth');
  const sorts = await nonconformitiesBySort(cell.services.store.read);
  expect(sorts.map(({ sort, all, lots }) => [sort, all.map(({ key }) => key).sort(), lots])).toEqual([
    [null, ['NC-1', 'NC-2', 'NC-6'], ['L-1', 'L-2']],
    ['handling', ['NC-4', 'NC-5'], ['L-1']],
  ]);
  // The record tells of its own as it stands when it is issued.
  const { facts } = await cell.services.assessor.assess('L-1', 'local:tester');
  expect(await nonconformityNotes(cell.services.store.read, facts)).toMatchObject({
    alike: [{ sort: 'handling', nonconformities: ['NC-4', 'NC-5'], lots: ['L-1'] }],
    actions: [
      {
        action: 'CA-1',
        triggers: ['NC-2'],
        effect: { result: 'effective' },
        closed: { by: expect.stringContaining('P-QE') },
      },
    ],
  });
});

async function takeInAction(action: Record<string, unknown>): Promise<void> {
  cell.cell.documents['action.yaml'] = action;
  writeCell(cell.cell, cell.root);
  await cell.services.intake.run(cell.root, 'local:tester');
}
