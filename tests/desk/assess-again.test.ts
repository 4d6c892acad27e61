import type { NestExpressApplication } from '@nestjs/platform-express';
import { vi } from 'vitest';
import { AppError } from '../../src/base/errors.js';
import { assessDuties } from '../../src/desk/today/lot-duties.js';
import { LotAssessor } from '../../src/lots/lot-assessor.js';
import type { LotLine } from '../../src/lots/lot-line.js';
import { createApplication } from '../../src/main.js';
import { type Asking, askingAs, endOfJob, sendForm } from '../support/service.js';
import { addLotWithPeaks, SigningCell } from '../support/signing-cell.js';

/* Six lots: one calibration of the rig touches each of them. */
const LOTS = ['L-1', 'L-A', 'L-B', 'L-C', 'L-D', 'L-E'];
const PAGE = '/assess-again';

let cell: SigningCell;
let app: NestExpressApplication;
let ask: Asking;

beforeAll(async () => {
  cell = await SigningCell.open((made) => {
    for (const [at, lot] of LOTS.slice(1).entries()) {
      addLotWithPeaks(made, lot, 201 + at, { [10 + at]: 9 });
    }
  });
  app = await createApplication(cell.services.store);
  ask = await askingAs(app, 'P-QE');
});
afterAll(async () => {
  await app.close();
  await cell.close();
});

const listed = (html: string): string[] => LOTS.filter((lot) => html.includes(`<a href="/lots/${lot}">${lot}</a>`));

/** Where the answer leads that the job gives at its end. */
async function assessThem(): Promise<string> {
  const { headers, text } = await endOfJob(ask, await sendForm(ask, PAGE));
  return (headers as { location?: string }).location ?? text;
}

it('assesses all that wait at one go, by one button on the first page', async () => {
  const first = (await ask.get('/')).text;
  expect(first).toContain('6 lots wait to be assessed, as facts came in: L-1, L-A, L-B and 3 more');
  expect(first).toContain(`href="${PAGE}"`);
  expect(listed((await ask.get(PAGE)).text)).toEqual(LOTS);
  expect(await assessThem()).toBe(PAGE);
  for (const lot of LOTS) expect(await cell.services.current.of(lot)).toBeDefined();
  expect((await ask.get(PAGE)).text).toContain('No lot waits to be assessed');
  expect((await ask.get('/')).text).not.toContain('wait to be assessed');
});

it('takes up what came in since, names the lot that cannot be assessed, and keeps none of the others waiting', async () => {
  const { calibrations } = cell.cell.documents['site/instruments/rig.yaml']!;
  calibrations.push({ ...calibrations.at(-1), certificate: 'K-2', at: '2031-03-05T08:00:00+01:00' });
  await cell.intake();
  const { text } = await ask.get(PAGE);
  expect(listed(text)).toEqual(LOTS);
  expect(text).toContain('Facts came in since it was assessed');
  const own = LotAssessor.prototype.freeze;
  const spied = vi.spyOn(LotAssessor.prototype, 'freeze').mockImplementation(async function (
    this: LotAssessor,
    lot,
    by,
  ) {
    if (lot === 'L-B') throw new AppError('REFUSED', 'its sheet names a method that is not there');
    return own.call(this, lot, by);
  });
  try {
    expect(await assessThem()).toBe(PAGE);
  } finally {
    spied.mockRestore();
  }
  const left = (await ask.get(PAGE)).text;
  expect(listed(left)).toEqual(['L-B']);
  expect(left).toContain('It could not be assessed: its sheet names a method that is not there');
  expect(await assessThem()).toBe(PAGE);
  expect((await ask.get(PAGE)).text).toContain('No lot waits to be assessed');
});

it('ends where the folder is at fault and not one lot', async () => {
  const { calibrations } = cell.cell.documents['site/instruments/rig.yaml']!;
  calibrations.push({ ...calibrations.at(-1), certificate: 'K-2b', at: '2031-03-05T08:30:00+01:00' });
  await cell.intake();
  const spied = vi
    .spyOn(LotAssessor.prototype, 'freeze')
    .mockRejectedValue(new AppError('ALTERED', 'the audit trail does not hold'));
  try {
    expect(await assessThem()).toContain('The audit trail does not hold');
    expect(spied).toHaveBeenCalledTimes(1);
  } finally {
    spied.mockRestore();
  }
  expect(await assessThem()).toBe(PAGE);
});

it('calls nothing due of lots that are decided', () => {
  const line = (decision: 'open' | 'revoked' | 'released' | 'rejected'): LotLine =>
    ({ lot: 'L-9', assessed: false, neededBy: '2031-12-01', units: [{ decision }] }) as unknown as LotLine;
  const dueOf = (...lines: LotLine[]) => assessDuties(lines).map(({ by }) => by);
  expect(dueOf(line('open'), line('revoked'), line('released'), line('rejected'))).toEqual([
    ...['2031-12-01', '2031-12-01'],
    ...[null, null],
  ]);
  const decided = Array.from({ length: 6 }, () => line('released'));
  expect(dueOf(...decided)).toEqual([null]);
  expect(dueOf(...decided, line('open'))).toEqual(['2031-12-01']);
});

it('offers an auditor the list and no act', async () => {
  const { calibrations } = cell.cell.documents['site/instruments/rig.yaml']!;
  calibrations.push({ ...calibrations.at(-1), certificate: 'K-3', at: '2031-03-05T09:00:00+01:00' });
  await cell.intake();
  const auditor = await askingAs(app, 'P-AU');
  const { text } = await auditor.get(PAGE);
  expect(listed(text)).toEqual(LOTS);
  expect(text).not.toContain('Freeze and assess these');
  expect((await sendForm(auditor, PAGE)).status).toBe(403);
});
