import { differencesBetween } from '../../src/dossier/difference.js';
import type { Facts } from '../../src/dossier/facts.js';
import { differenceText } from '../../src/report/phrases/differences.js';
import { addLot } from '../support/cell.js';
import { SigningCell } from '../support/signing-cell.js';

let cell: SigningCell;
let before: Facts;
beforeAll(async () => {
  cell = await SigningCell.open((what) => addLot(what, 'L-0', 90, '2031-02-11', { rm: 229, thickness: 1.5 }));
  before = await frozen();
});
afterAll(() => cell.close());

const frozen = async () => (await cell.services.assessor.assess('L-1', 'local:tester')).facts;
/** What differs from the lot file of the beginning, each as kind and text. */
const since = async (earlier: Facts = before) =>
  differencesBetween(earlier, await frozen()).map(({ kind, what, specimens }) =>
    [kind, differenceText(what), ...specimens].join('|'),
  );

it('is nothing between two readings of the same facts', async () => {
  expect(await since()).toEqual([]);
});

it('is a changed value with its reason and its specimen, and never a later fact', async () => {
  const sheet = cell.cell.sheets['lots/L-1/results/size.csv']!;
  sheet[0] = { ...sheet[0], value: '1.510', reason: 'read from the wrong line' };
  await cell.intake();
  expect(await since()).toEqual(
    expect.arrayContaining([
      'changed|L-1-I1 thickness 1 was 1.501 mm and is 1.510 mm: read from the wrong line|L-1-I1',
      expect.stringMatching(/^later fact\|.*results\/size\.csv.* was signed as performed by Ana Example/),
    ]),
  );
  expect((await since()).filter((line) => line.startsWith('changed'))).toHaveLength(1);
});

it('is a later fact when a running document says more', async () => {
  const earlier = await frozen();
  const { calibrations } = cell.cell.documents['site/instruments/gauge.yaml']!;
  calibrations.push({ ...calibrations[0], certificate: 'K-2', at: '2031-03-04T08:00:00+01:00' });
  await cell.intake();
  expect(await since(earlier)).toEqual(['later fact|instrument I-MIC revision 2 says more than revision 1']);
});

it('is a later fact when the history of the family grew before the next fact of the lot: one line for each lot', async () => {
  const earlier = await frozen();
  const sheet = cell.cell.sheets['lots/L-0/results/tensile.csv']!;
  for (const index of [0, 1]) sheet[index] = { ...sheet[index], value: '231.0', reason: 'the curve was read again' };
  await cell.intake();
  await cell.services.assessor.assess('L-0', 'local:tester');
  expect(await since(earlier)).toEqual([]);
  const { calibrations } = cell.cell.documents['site/instruments/gauge.yaml']!;
  calibrations.push({ ...calibrations[0], certificate: 'K-3', at: '2031-03-04T09:00:00+01:00' });
  await cell.intake();
  expect(await since(earlier)).toContain('later fact|values of lot L-0 came or changed in the history of the family');
});

it('is a change when a document on which the lot rests is withdrawn for cause', async () => {
  const earlier = await frozen();
  const document = { kind: 'method', key: 'TM-T', revision: 1 };
  await cell.services.stateActs.withdrawDocument(await cell.prove('P-QE'), document, 'the grips slip');
  expect(await since(earlier)).toEqual([
    // Of the calibration above: it is the withdrawal that lets the history be taken anew.
    expect.stringMatching(
      /^later fact\|in the history of the family, values of earlier lots stayed in thickness, and what is known beside them changed \(1 row: .*calibrations/,
    ),
    expect.stringMatching(/^changed\|.*TM-T revision 1 was withdrawn: the grips slip/),
  ]);
});
