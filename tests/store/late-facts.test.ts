import path from 'node:path';
import { assess } from '../../src/assessment/assess.js';
import type { LateFact } from '../../src/dossier/late-facts.js';
import { reviewItemText } from '../../src/report/phrases/review-items.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { openServices, type Services } from '../support/services.js';

const LOT = 'lots/L-1/lot.yaml';
const ACTOR = 'local:tester';

/** Taken in as it happens: the powder, then the build on its evening, with neither steps nor results yet. */
const cell = makeCell();
cell.documents['site/powder.yaml']!.madeAt = '2031-01-21T08:00:00+01:00';
for (const sheet of Object.keys(cell.sheets)) delete cell.sheets[sheet];
const folder = DataFolder.createDemo(path.join(temporaryFolder('data'), 'data'), '2031-01-21T18:00:00Z');
let services: Services;

beforeAll(async () => {
  services = await openServices(folder);
  await services.intake.run(path.join(writeCell(cell), 'site'), ACTOR);
});
afterAll(() => services.store.close());

async function factsAfter(moment: string) {
  folder.advanceTo(moment);
  await services.intake.run(writeCell(cell), ACTOR);
  return (await services.assessor.assess('L-1', ACTOR)).facts;
}

const late = ({ lateFacts }: { lateFacts: readonly LateFact[] }) =>
  lateFacts.map(({ what, key, fields, recordedAt }) => ({ what, key, fields, recordedAt }));

it('are none in a lot that is entered on the evening of its build', async () => {
  const { lateFacts, dossier } = await factsAfter('2031-03-03T18:00:00Z');
  expect(lateFacts).toEqual([]);
  expect(dossier.parts.map(({ name }) => name)).not.toContain('late-facts.json');
});

it('are fields and steps that came more than a day after they happened, and nothing that stood there before', async () => {
  const lot = cell.documents[LOT]!;
  lot.builds[0].powder[0].depositedG = '20';
  lot.reason = 'the powder was weighed';
  lot.steps = [
    { step: 'clean', at: '2031-03-04T09:00:00+01:00', by: 'P-OP' },
    { step: 'inspect', at: '2031-03-06T09:00:00+01:00', by: 'P-OP' },
  ];
  const recordedAt = '2031-03-06T18:00:00.000Z';
  const expected = [
    { what: 'build', key: 'M1-101', fields: ['powder'], recordedAt },
    { what: 'step', key: 'clean', fields: null, recordedAt },
  ];
  expect(late(await factsAfter('2031-03-06T18:00:00Z'))).toEqual(expected);
  lot.steps[1].note = 'seen again';
  // What fell out of the chamber is weighed when it was cleaned.
  lot.builds[0].powder[0].wasteG = '1';
  expect(late(await factsAfter('2031-03-09T18:00:00Z'))).toEqual([
    ...expected,
    { what: 'step', key: 'inspect', fields: ['note'], recordedAt: '2031-03-09T18:00:00.000Z' },
  ]);
});

it('lie before whoever reviews the lot, and turn no verdict', async () => {
  const { facts } = await services.assessor.assess('L-1', ACTOR);
  const list = (await services.reviewList.of(facts)).filter(({ kind }) => kind === 'late fact');
  expect(list.map(reviewItemText)).toEqual([
    'build M1-101: powder, at 2031-03-03 07:02 UTC',
    'cleaning, at 2031-03-04 08:00 UTC',
    'inspection: note, at 2031-03-06 08:00 UTC',
  ]);
  expect(assess(facts, 'any')).toEqual(assess({ ...facts, lateFacts: [] }, 'any'));
});

it('are a build, its log and its powder where all of it comes days later', async () => {
  const lateCell = await openServices(
    DataFolder.createDemo(path.join(temporaryFolder('data'), 'data'), '2031-03-09T18:00:00Z'),
  );
  try {
    await lateCell.intake.run(writeCell(makeCell()), ACTOR);
    const { facts } = await lateCell.assessor.assess('L-1', ACTOR);
    expect(facts.lateFacts.map(({ what, key, fields }) => [what, key, fields])).toEqual([
      ['build', 'M1-101', null],
      ['powder state', 'PS-1', null],
      ['log', 'M1-101', null],
    ]);
  } finally {
    await lateCell.store.close();
  }
});
