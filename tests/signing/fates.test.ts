import path from 'node:path';
import { BadInputError } from '../../src/base/errors.js';
import { addLot, logText, writeCell } from '../support/cell.js';
import { SigningCell } from '../support/signing-cell.js';

/** In L-2 the second implant was scrapped; L-3 is released. */
let cell: SigningCell;
const scrapped = { part: 'L-2-I2', as: 'scrapped', at: '2031-03-05T09:00:00+01:00', by: 'P-QE' };
const document = (lot: string) => cell.cell.documents[`lots/${lot}/lot.yaml`]!;

beforeAll(async () => {
  cell = await SigningCell.open((what) => {
    for (const [lot, run] of Object.entries({ 'L-2': 102, 'L-3': 103 })) {
      addLot(what, lot, run, '2031-03-03', { rm: 230, thickness: 1.5 });
      // No two builds have one log, byte for byte.
      what.files[`lots/${lot}/logs/run.csv`] = logText('2031-03-03', () => 8 + run / 1000);
    }
    what.documents['lots/L-2/lot.yaml']!.fates = [scrapped];
  });
  await cell.review('L-3');
  await cell.release('L-3', ['L-3-I1', 'L-3-I2']);
});
afterAll(() => cell.close());

const takeIn = (lot: string) => {
  writeCell(cell.cell, cell.root);
  return cell.services.intake.run(path.join(cell.root, 'lots', lot), 'local:tester');
};

/** Takes a lot in again as it is changed, and puts it back. */
async function problemsOf(lot: string, change: (document: Record<string, unknown>) => void) {
  const before = structuredClone(document(lot));
  change(document(lot));
  document(lot).reason = 'typing error, invented';
  try {
    await takeIn(lot);
    return [];
  } catch (error) {
    if (!(error instanceof BadInputError)) throw error;
    return error.problems.map(({ code, field, found }) => ({ code, field, found }));
  } finally {
    cell.cell.documents[`lots/${lot}/lot.yaml`] = before;
  }
}

it('no implant and no coupon leaves a lot, since it could be neither held, revoked nor counted', async () => {
  const size = await cell.services.store.read.ledger.size();
  const problems = await problemsOf('L-3', (lot) => {
    lot.implants = (lot.implants as unknown[]).slice(0, 1);
    lot.coupons = (lot.coupons as unknown[]).slice(0, 1);
  });
  expect(problems).toEqual(
    expect.arrayContaining([
      { code: 'part-lost', field: 'implants', found: 'nothing of L-3-I2, which lot L-3 had' },
      { code: 'part-lost', field: 'coupons', found: 'nothing of L-3-W2, which lot L-3 had' },
    ]),
  );
  expect(await cell.services.store.read.ledger.size()).toBe(size);
});

it('no fate falls on an implant that is released, until its release is revoked', async () => {
  const problems = await problemsOf('L-3', (lot) => {
    lot.fates = [{ ...scrapped, part: 'L-3-I2' }];
  });
  expect(problems).toEqual([
    { code: 'fate-of-released', field: 'fates[0].part', found: 'L-3-I2 scrapped, although it is released' },
  ]);
});

it('a fate that is taken back lies before whoever reviews the lot', async () => {
  const { assessor, reviewList } = cell.services;
  const listed = async () => {
    const { facts } = await assessor.assess('L-2', 'local:tester');
    return (await reviewList.of(facts)).filter(({ kind }) => kind === 'changed fate');
  };
  expect(await listed()).toEqual([]);
  delete document('L-2').fates;
  document('L-2').reason = 'typing error, invented';
  await takeIn('L-2');
  expect(await listed()).toEqual([
    expect.objectContaining({ part: 'L-2-I2', was: 'scrapped', as: null, reason: 'typing error, invented' }),
  ]);
});

it('a review is an act on every implant of the lot', async () => {
  const { tracer } = cell.services;
  const { back } = (await tracer.trace('L-3-I1', { back: true })).matches[0]!;
  const acts = back!.filter(({ kind, via }) => kind === 'act' && via.includes('signed on L-3-I1'));
  expect(acts.map(({ name }) => name).sort()).toEqual([
    'released for distribution by P-RE, 2031-03-05',
    'reviewed by P-QE, 2031-03-05',
  ]);
});
