// The check `statement-signed` asks for what is signed here.
import { waitingLines } from '../../src/desk/waiting-lines.js';
import { releaseConditions } from '../../src/signing/release-conditions.js';
import { addDesigns } from '../support/documents/designs.js';
import { provedActs } from '../support/people.js';
import { refusalOf, SigningCell } from '../support/signing-cell.js';

let cell: SigningCell;
beforeAll(async () => {
  cell = await SigningCell.open((what) => {
    addDesigns(what);
    delete what.documents['site/route/permission.yaml']!.approval;
  });
  await provedActs(cell.services).giveRole('P-AD', 'P-RE', 'regulatory');
});
afterAll(() => cell.close());

const assess = () => cell.services.assessor.assess('L-1', 'local:tester');

it('lets a regulatory person approve the route, sign the statement of each implant, and then the lot be released', async () => {
  await cell.sign('P-RE', 'route-permission:RP-1@1', { meaning: 'approved' });
  await assess();
  const waiting = (await cell.services.waiting.all()).filter(({ thing }) => thing.startsWith('custom statement:'));
  expect(waiting.map(({ title, who }) => [title, who])).toEqual([
    ['statement of the custom-made device L-1-I1, lot L-1', ['P-RE']],
    ['statement of the custom-made device L-1-I2, lot L-1', ['P-RE']],
  ]);
  // Each is of another case, so each is an act of its own.
  expect(waitingLines(waiting).map(({ count }) => count)).toEqual([1, 1]);
  const first = waiting[0]!.thing;
  expect(await refusalOf(cell.sign('P-QE', first, { meaning: 'approved' }))).toContain('needs the role regulatory');
  await cell.sign('P-RE', first, { meaning: 'approved' });
  await assess();
  await cell.review('L-1');
  expect(await refusalOf(cell.release('L-1', ['L-1-I2']))).toContain('is signed by nobody');
  await cell.release('L-1', ['L-1-I1']);
  const events = await cell.services.store.read.events.of({ kind: 'lot', key: 'L-1' });
  expect(events.map(({ event }) => event)).toContainEqual({
    type: 'release-conditions',
    lot: 'L-1',
    units: ['L-1-I1'],
    step: 'distribution',
    conditions: [
      {
        condition: 'permission in date',
        facts: { law: 'EU', route: 'custom-made', permission: 'RP-1 rev 1', from: '2031-01-01', to: '2035-12-31' },
      },
    ],
  });
  const { dossier } = (await assess()).facts;
  expect(dossier.signatures.flatMap(({ statement }) => statement.subjects.map(({ kind }) => kind))).not.toContain(
    'custom statement',
  );
});

it('releases nothing on a day that no permission covers, and says so before', async () => {
  await cell.sign('P-RE', 'custom statement:L-1:L-1-I2', { meaning: 'approved' });
  await assess();
  await cell.review('L-1');
  cell.folder.advanceTo('2036-01-02T12:00:00Z');
  const says = 'no approved permission for law EU, route custom-made covers 2036-01-02';
  expect(await refusalOf(cell.release('L-1', ['L-1-I2']))).toContain(says);
  const { facts } = (await cell.services.current.of('L-1'))!;
  const { read, clock } = cell.services.store;
  const on = async (day: string) => {
    const conditions = await releaseConditions(read, { facts, units: ['L-1-I2'], day, now: clock.now(), demo: true });
    return conditions.map(({ condition, state }) => [condition, state]);
  };
  const [covered, lapsed] = [
    ['permission in date', 'holds'],
    ['no permission in date', 'does not hold'],
  ];
  expect(await Promise.all(['2030-12-31', '2031-01-01', '2035-12-31', '2036-01-01'].map(on))).toEqual(
    [lapsed, covered, covered, lapsed].map((one) => [one]),
  );
});
