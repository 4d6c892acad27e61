import type { NestExpressApplication } from '@nestjs/platform-express';
import { COURSE } from '../../src/ledger/course-of-lot.js';
import { createApplication } from '../../src/main.js';
import { assessAsEarlier, failByCounts } from '../support/earlier-version.js';
import { PASSWORD } from '../support/people.js';
import { type Asking, askingAs } from '../support/service.js';
import { formOf, sendSignForm } from '../support/sign-form.js';
import { addLotWithPeaks, refusalOf, SigningCell } from '../support/signing-cell.js';

/*
 * Somebody looks at the page, something changes, and the form of the page comes in: it signs nothing, whatever of that
 * which was shown has changed, and the page that comes back says what.
 */
const LOTS = ['L-A', 'L-B', 'L-C', 'L-D', 'L-E', 'L-F', 'L-G'];

let cell: SigningCell;
let app: NestExpressApplication;
let quality: Asking;
let earlierAssessment: string;
beforeAll(async () => {
  cell = await SigningCell.open((made) => {
    // Each log is its own.
    for (const [index, lot] of LOTS.entries()) addLotWithPeaks(made, lot, 201 + index, { 2: 9 + index });
  });
  await assessAsEarlier(cell.services, 'L-C', failByCounts);
  earlierAssessment = (await cell.services.store.read.assessments.latest('L-C'))!.digest;
  for (const lot of LOTS) await cell.services.assessor.assess(lot, 'local:tester');
  app = await createApplication(cell.services.store);
  quality = await askingAs(app, 'P-QE');
});
afterAll(async () => {
  await app.close();
  await cell.close();
});

const file = (lot: string) => `lot file:${lot}`;
const signedOn = async (lot: string) =>
  (await cell.services.store.read.signatures.of({ kind: 'lot file', key: lot })).map(
    ({ signed }) => signed.statement.meaning,
  );
/** An act that is refused is a line of the list that a reviewer signs for; the lot file stays as it is. */
const lengthenList = (lot: string) => refusalOf(cell.review(lot, 'P-AN'));
const LIST = 'ist of what was corrected, refused or entered late in lot';

it('signs nothing when the list that lay before the reviewer has grown, says so, and signs from the page that shows it', async () => {
  const form = await formOf(quality, file('L-A'), 'reviewed');
  expect(form.seen).toMatch(/^assessment:[0-9a-f]{64},summary:[0-9a-f]{64},review list:[0-9a-f]{64}$/);
  await lengthenList('L-A');
  const refused = await sendSignForm(quality, form);
  expect(refused.status).toBe(400);
  expect(refused.says).toContain('Nothing was signed');
  expect(refused.says).toMatch(
    new RegExp(
      `L${LIST} L-A has changed since you looked at it; look again before signing. New is: it has \\d+ lines? now`,
    ),
  );
  expect(refused.says).not.toContain('Lot file of L-A has changed');
  expect(await signedOn('L-A')).toEqual([]);
  const signed = await sendSignForm(quality, refused.form);
  expect([signed.status, signed.location]).toEqual([303, expect.stringContaining('/signed/')]);
  expect(await signedOn('L-A')).toEqual(['reviewed']);
  const [one] = await cell.services.store.read.signatures.of({ kind: 'lot file', key: 'L-A' });
  const seen = one!.signed.statement.beside.filter(({ kind }) => kind !== COURSE);
  expect(seen.map(({ kind, digest }) => `${kind}:${digest}`).join(',')).toBe(refused.form.seen);
});

it('signs nothing when a correction came in, and says which', async () => {
  const form = await formOf(quality, file('L-B'), 'reviewed');
  const sheet = cell.cell.sheets['lots/L-B/results/size.csv']!;
  sheet[0] = { ...sheet[0], value: '1.515', reason: 'read from the wrong line' };
  await cell.intake();
  const refused = await sendSignForm(quality, form);
  expect(refused.status).toBe(400);
  expect(refused.says).toMatch(
    /Lot file of L-B has changed since you looked at it; look again before signing\. New is: .*was 1\.5\d* mm and is 1\.515 mm: read from the wrong line/,
  );
  expect(refused.says).toContain('Assessment of lot L-B has changed since you looked at it');
  expect(await signedOn('L-B')).toEqual([]);
  expect((await sendSignForm(quality, refused.form)).status).toBe(303);
  expect(await signedOn('L-B')).toEqual(['reviewed']);
});

it('signs nothing under an assessment that is another now, though the lot file stands, and says which verdict turned', async () => {
  const form = await formOf(quality, file('L-C'), 'reviewed');
  // As the page of the program before an upgrade named it.
  const before = { ...form, seen: form.seen!.replace(/^assessment:[0-9a-f]{64}/, `assessment:${earlierAssessment}`) };
  const refused = await sendSignForm(quality, before);
  expect([refused.status, await signedOn('L-C')]).toEqual([400, []]);
  expect(refused.says).toMatch(
    /Assessment of lot L-C has changed since you looked at it; look again before signing\. New is: L-C-I1: conforms, before does not conform/,
  );
  expect(refused.says).not.toContain(`${LIST} L-C has`);
  expect((await sendSignForm(quality, refused.form)).status).toBe(303);
});

it('holds for whoever releases too', async () => {
  await cell.review('L-D');
  const releaser = await askingAs(app, 'P-RE');
  const form = await formOf(releaser, file('L-D'), 'released');
  expect(form.seen).toMatch(/^assessment:[0-9a-f]{64},summary:[0-9a-f]{64}$/);
  const stale = { ...form, seen: `assessment:${earlierAssessment}` };
  const refused = await sendSignForm(releaser, stale, { units: ['L-D-I1', 'L-D-I2'] });
  expect([refused.status, await signedOn('L-D')]).toEqual([400, ['reviewed']]);
  expect((await sendSignForm(releaser, refused.form, { units: ['L-D-I1', 'L-D-I2'] })).status).toBe(303);
});

it('does not hide behind a wrong password that something changed', async () => {
  const form = await formOf(quality, file('L-E'), 'reviewed');
  await lengthenList('L-E');
  const refused = await sendSignForm(quality, form, { password: 'nine loud lanterns' });
  expect(refused.says).toContain('Identifier or password is wrong');
  expect(refused.says).toContain(`${LIST} L-E has changed since you looked at it`);
  expect((await sendSignForm(quality, refused.form)).status).toBe(303);
});

it('takes no form that does not say what its sender saw', async () => {
  const { seen, ...form } = await formOf(quality, file('L-F'), 'reviewed');
  for (const without of [form, { ...form, seen: '' }, { ...form, seen: seen!.split(',')[0]! }]) {
    const refused = await sendSignForm(quality, without);
    expect(refused.status).toBe(400);
    expect(refused.says).toContain(`${LIST} L-F is not named among what you saw; look at it before signing`);
  }
  expect((await sendSignForm(quality, { ...form, seen: 'nonsense' })).says).toContain('what stood under');
  expect(await signedOn('L-F')).toEqual([]);
});

it('compares again where somebody else wrote between looking and storing', async () => {
  const { reviewList } = cell.services;
  const { seen } = await formOf(quality, file('L-F'), 'reviewed');
  const of = reviewList.of.bind(reviewList);
  let isFirst = true;
  reviewList.of = async (facts) => {
    const list = await of(facts);
    if (isFirst) {
      isFirst = false;
      await lengthenList('L-F');
    }
    return list;
  };
  try {
    const act = cell.sign('P-QE', file('L-F'), { meaning: 'reviewed', seen: seen! });
    expect(await refusalOf(act)).toMatch(/^CONFLICT: list of what was corrected/);
  } finally {
    reviewList.of = of;
  }
  expect([isFirst, await signedOn('L-F')]).toEqual([false, []]);
});

describe('a program', () => {
  const ask = `/api/v1/sign?meaning=reviewed&thing=${encodeURIComponent(file('L-G'))}`;
  const act = { things: [file('L-G')], meaning: 'reviewed', password: PASSWORD };

  it('is told what would be signed and what lies beside it, and nothing is stored', async () => {
    const size = await cell.services.store.read.ledger.size();
    const { status, body } = await quality.get(ask);
    expect([status, body]).toEqual([
      200,
      expect.objectContaining({
        meaning: 'reviewed',
        things: [expect.objectContaining({ title: 'lot file of L-G', mayNot: null, who: ['P-QE'] })],
        outOfDate: null,
        seen: (await formOf(quality, file('L-G'), 'reviewed')).seen,
      }),
    ]);
    expect(body.things[0].thing).toMatch(/^lot file:L-G#[0-9a-f]{64}$/);
    expect(await cell.services.store.read.ledger.size()).toBe(size);
  });

  it('that says what it saw signs nothing else, and one that does not signs as things stand', async () => {
    const { seen } = (await quality.get(ask)).body;
    await lengthenList('L-G');
    const refused = await quality.post('/api/v1/sign').send({ ...act, seen });
    expect([refused.status, refused.body.code]).toEqual([409, 'CONFLICT']);
    expect(JSON.stringify(refused.body)).toContain(`${LIST} L-G has changed since you looked at it`);
    expect(await signedOn('L-G')).toEqual([]);
    expect((await quality.post('/api/v1/sign').send(act)).status).toBe(200);
  });
});
