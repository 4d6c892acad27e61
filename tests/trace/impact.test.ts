import { digestOfResults } from '../../src/dossier/impact-results.js';
import { impactDocument } from '../../src/trace/impact-document.js';
import { intervalOf } from '../../src/trace/impact-interval.js';
import { SigningCell } from '../support/signing-cell.js';

/** One lot of two implants; rm of each coupon was measured with I-RIG on 2031-03-04. Its lower limit is 215 MPa. */
let cell: SigningCell;

beforeAll(async () => {
  cell = await SigningCell.open();
  await cell.review('L-1');
  await cell.release('L-1', ['L-1-I1']);
});
afterAll(() => cell.close());

const NOTHING = { from: undefined, to: undefined, bias: undefined, uncertainty: undefined, without: false };
const of = (asked: object) => cell.services.impacts.of({ id: 'I-RIG', ...NOTHING, ...asked });
const flips = (units: readonly { serial: string; flips: boolean }[]) =>
  units.filter((unit) => unit.flips).map(({ serial }) => serial);

it('names every result, unit and lot of an instrument, with margins, and flips nothing when nothing is altered', async () => {
  const rows = (await cell.services.store.read.results.ofLot('L-1')).rows.filter((row) => row.instrument === 'I-RIG');
  const same = { value: '0', ucum: 'MPa' };
  for (const asked of [{}, { bias: same }, { uncertainty: same }, { bias: same, uncertainty: same }]) {
    const answer = await of(asked);
    expect(answer.results.map(({ specimen }) => specimen).sort()).toEqual(rows.map(({ specimen }) => specimen).sort());
    expect(answer.lots).toEqual([{ lot: 'L-1', count: rows.length, sha256: digestOfResults(rows) }]);
    expect(answer.units.map(({ serial, place }) => [serial, place])).toEqual([
      ['L-1-I1', 'in stock'],
      ['L-1-I2', 'in process'],
    ]);
    expect(flips(answer.units)).toEqual([]);
    for (const { first, again, margin } of answer.results)
      expect([first, again, margin! > 0]).toEqual([first, first, true]);
  }
});

it('says which units flip when the values are corrected, less certain or left out, and leaves the lot as it is', async () => {
  const size = await cell.services.store.read.ledger.size();
  const answer = await of({ bias: { value: '0.02', ucum: 'GPa' } });
  expect(flips(answer.units)).toEqual(['L-1-I1', 'L-1-I2']);
  for (const { value, valueAgain, again, margin } of answer.results) {
    expect([Number(valueAgain), again]).toEqual([Number(value) - 20, 'does not conform']);
    expect(margin).toBeLessThan(0);
  }
  expect(answer.altered).toBe('each value less 0.02 GPa');
  const without = await of({ without: true });
  expect(without.units.map(({ again }) => again)).toEqual(['cannot be decided', 'cannot be decided']);
  expect(await cell.services.store.read.ledger.size()).toBe(size);
});

it('touches nothing that was measured outside the time', async () => {
  const answer = await of({ from: '2031-03-05T00:00:00Z', to: '2031-03-05T01:00:00Z', without: true });
  expect([answer.results, answer.units, answer.balance]).toEqual([[], [], null]);
});

it.each([
  ['a bias in another unit', { bias: { value: '1', ucum: 'mm' } }, 'a unit that converts to MPa'],
  ['a time the wrong way round', { from: '2031-03-05T00:00:00Z', to: '2031-03-04T00:00:00Z' }, 'swap them'],
  ['nothing of that name', { id: 'I-NONE' }, 'I-NONE'],
])('refuses %s', async (_, asked, message) => {
  await expect(of(asked)).rejects.toThrow(message);
});

it('is answered by a document that process and quality sign, which clears exactly what it names, and holds units', async () => {
  const { services, folder } = cell;
  const take = (...documents: object[]) =>
    services.intake.take(
      documents.map((document, index) => ({ file: `made-${index}.yaml`, document: { ...document } })),
      'local:tester',
    );
  folder.advanceTo('2031-06-02T12:00:00Z');
  const { body } = (await services.store.read.entries.current('instrument', 'I-RIG'))!;
  await take({ ...body, calibrations: [...body.calibrations, calibration('K-2', '2031-06-01', 'out of tolerance')] });
  const verdicts = async () => {
    const { assessment } = await services.assessor.assess('L-1', 'local:tester');
    const { outcome } = assessment.checks.find(({ code }) => code === 'calibration-valid')!;
    return [outcome, ...assessment.units.map(({ verdict }) => verdict)];
  };
  const OPEN = ['cannot be decided', 'cannot be decided', 'cannot be decided'];
  expect(await verdicts()).toEqual(OPEN);
  const asked = { value: '2', ucum: 'MPa' };
  const answer = await of({ bias: asked });
  expect(answer.proposed).toContain('K-2');
  const draft = impactDocument(answer, { code: 'IM-1', bias: asked });
  expect(draft.decisions).toEqual(['L-1-I1', 'L-1-I2'].map((implant) => ({ implant, as: 'no effect' })));
  await take(draft);
  expect(await verdicts()).toEqual(OPEN);
  await cell.decide('P-PE', ['impact:IM-1@1']);
  await expect(cell.decide('P-PE', ['impact:IM-1@1'])).rejects.toThrow();
  expect(await verdicts()).toEqual(OPEN);
  await cell.decide('P-QE', ['impact:IM-1@1']);
  expect(await verdicts()).toEqual(['passes', 'conforms', 'conforms']);
  const waiting = (await services.waiting.all()).filter(({ thing }) => thing.startsWith('impact:'));
  expect(waiting).toEqual([]);
  const held = [
    { implant: 'L-1-I1', as: 'recall' },
    { implant: 'L-1-I2', as: 'no effect' },
  ];
  await take({ ...draft, decisions: held, reason: 'looked at again (invented)' });
  expect((await of({})).units.map(({ place }) => place)).toEqual(['in stock, on hold', 'in process']);
});

const calibration = (certificate: string, at: string, asFound: 'in tolerance' | 'out of tolerance') => ({
  ...{ certificate, at: `${at}T08:00:00Z`, due: '2033-01-01T08:00:00Z', asFound },
  ...{ asLeft: 'in tolerance' as const, traceableTo: 'invented' },
});

it('proposes the time from the last calibration that found it right to the one that found it off', () => {
  const all = [
    calibration('C', '2031-07-01', 'in tolerance'),
    calibration('B', '2031-06-01', 'out of tolerance'),
    calibration('A', '2031-01-01', 'in tolerance'),
  ];
  expect(intervalOf(all, '2031-08-01T00:00:00Z')).toMatchObject({
    ...{ from: '2031-01-01T08:00:00Z', to: '2031-06-01T08:00:00Z' },
    because: { code: 'found off', certificate: 'B', lastGood: 'A' },
  });
  expect(intervalOf(all.slice(2), '2031-08-01T00:00:00Z')).toMatchObject({
    ...{ from: '2031-01-01T08:00:00Z', to: '2031-08-01T00:00:00Z' },
    because: { code: 'not found off', lastGood: 'A' },
  });
});
