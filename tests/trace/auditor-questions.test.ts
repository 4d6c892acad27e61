import fs from 'node:fs';
import path from 'node:path';
import type { NestExpressApplication } from '@nestjs/platform-express';
import { createApplication } from '../../src/main.js';
import { openPdf } from '../../src/pdf/reading/open-pdf.js';
import { AuditorAnswers } from '../../src/trace/auditor-answers.js';
import { QUESTIONS } from '../../src/trace/auditor-questions.js';
import { ANSWER_FILE, CarriedAnswer } from '../../src/trace/carried-answer.js';
import { verifyRecord } from '../../src/verify/verify-record.js';
import { temporaryFolder } from '../support/cell.js';
import { type Asking, askingAs } from '../support/service.js';
import { addLotWithPeaks, SigningCell } from '../support/signing-cell.js';

/**
 * Two lots of one powder, the second with an excursion, cleaned by the analyst, who is not trained for that, and with a closure in
 * which nothing was made; of the first one implant is released, then the other rejected.
 */
let cell: SigningCell;

beforeAll(async () => {
  cell = await SigningCell.open((made) => {
    addLotWithPeaks(made, 'L-2', 102, { 10: 60 });
    const lot = made.documents['lots/L-2/lot.yaml']!;
    const { log: _, ...empty } = lot.builds[0];
    lot.builds.push({
      ...empty,
      build: 'M1-103',
      run: 103,
      closedAt: '2031-03-03T09:00:00+01:00',
      openedAt: '2031-03-03T09:10:00+01:00',
    });
    lot.steps = [{ step: 'clean', at: '2031-03-04T10:00:00+01:00', by: 'P-AN' }];
  });
  await cell.review('L-1');
  await cell.release('L-1', ['L-1-I1']);
  cell.folder.advanceTo('2031-03-06T12:00:00Z');
  await cell.reject('L-1', ['L-1-I2'], 'scratched (invented)');
});
afterAll(() => cell.close());

const ask = (name: keyof typeof QUESTIONS, within: (moment: string) => boolean = () => true) =>
  QUESTIONS[name]({ read: cell.services.store.read, current: cell.services.current, within });

it('lists lots with what was decided, and none outside the period', async () => {
  const rows = await ask('lots');
  expect(rows.find(([lot]) => lot === 'L-1')!.slice(3)).toEqual(['1', '2', '1', '1', '0']);
  expect(await ask('lots', () => false)).toEqual([]);
});

it('refuses days the wrong way round, and answers nothing while facts keep coming in', async () => {
  const { store, current } = cell.services;
  const answers = new AuditorAnswers(store, current);
  await expect(answers.answer('lots', { from: '2031-03-06', to: '2031-03-05' })).rejects.toThrow('swap them');
  expect((await answers.answer('lots', { from: '2031-03-03', to: '2031-03-03' })).rows.length).toBeGreaterThan(0);
  let size = await store.read.ledger.size();
  const asked = vi.spyOn(store.read.ledger, 'size').mockImplementation(async () => (size += 1));
  try {
    await expect(answers.answer('lots', {})).rejects.toMatchObject({ code: 'BUSY' });
  } finally {
    asked.mockRestore();
  }
});

it('says who released and rejected what on which lot file', async () => {
  const digest = (await cell.services.store.read.lotFiles.latest('L-1'))!.digest;
  const rows = await ask('releases');
  expect(rows.map(([, ...row]) => row)).toEqual([
    ['L-1', 'released', 'L-1-I1', 'P-RE', 'releaser', digest, ''],
    ['L-1', 'rejected', 'L-1-I2', 'P-RE', 'releaser', digest, 'scratched (invented)'],
  ]);
  expect(await ask('releases', (at) => at > '2031-03-06')).toHaveLength(1);
});

it('names the recipe revisions that ran with approvals from before, and nobody where there were none', async () => {
  const rows = await ask('recipes');
  expect(rows.find(([build]) => build === 'M1-101')!.at(-1)).toMatch(/^P-QE, 2031-01-/);
  expect(rows.every((row) => row.length === 6)).toBe(true);
});

it('tells what came in after the first release', async () => {
  expect(await ask('changed')).toEqual([]);
  const [lot] = Object.values(cell.cell.documents).filter(({ kind, lot: code }) => kind === 'lot' && code === 'L-1');
  lot!.reason = 'noted later (invented)';
  lot!.steps.push({ step: 'clean', at: '2031-03-05T10:00:00+01:00', by: 'P-OP' });
  await cell.intake();
  expect((await ask('changed')).map(([lot, , what, , , reason]) => [lot, what, reason])).toEqual([
    ['L-1', 'lot file, revision 2', 'noted later (invented)'],
  ]);
});

it('lists lots that shared powder, and findings that two people accepted, by both', async () => {
  const rows = await ask('shared');
  expect(rows.filter(([kind]) => kind === 'powder state').map(([, , ...row]) => row)).toEqual([['2', 'L-1 L-2']]);
  expect(await ask('excursions')).toEqual([]);
  const [finding] = await cell.logFindings('L-2', 'action');
  for (const person of ['P-PE', 'P-QE']) await cell.decide(person, [finding!]);
  const key = finding!.slice('log finding:'.length, finding!.indexOf('#'));
  const found = ['excursion of oxygen, action', expect.stringContaining('oxygen'), 'L-2', expect.any(String), key];
  expect(await ask('excursions')).toEqual([
    [...found, 'P-PE', 'process engineer', 'invented rationale'],
    [...found, 'P-QE', 'quality engineer', 'invented rationale'],
  ]);
});

it('counts closures in which nothing was made', async () => {
  expect((await ask('lots')).find(([lot]) => lot === 'L-2')![3]).toBe('2, 1 of them empty');
});

it('says in a sentence what somebody did without a qualification, on its day', async () => {
  await cell.services.assessor.assess('L-2', 'local:tester');
  const rows = await ask('unqualified');
  expect(rows).toEqual([
    [
      '2031-03-04',
      'P-AN',
      expect.stringMatching(/^Ana Example \(P-AN\) did .*no qualification for "clean"\.$/),
      'clean',
      'L-2',
      'L-2-I1 L-2-I2',
    ],
  ]);
  expect(await ask('unqualified', (day) => day > '2031-03-04')).toEqual([]);
});

describe('on a page', () => {
  let app: NestExpressApplication;
  let get: Asking;
  beforeAll(async () => {
    app = await createApplication(cell.services.store);
    get = await askingAs(app, 'P-AU');
  });
  afterAll(() => app.close());

  it('each answer leads to its evidence and can be taken away, and only rows that hold a text where one is named', async () => {
    const list = (await get.get('/questions')).text;
    for (const question of Object.keys(QUESTIONS)) {
      expect(list).toContain(`/questions/${question}`);
      const { text, status } = await get.get(`/questions/${question}`);
      expect([question, status]).toEqual([question, 200]);
      expect(text).toContain(`/questions/${question}/answer.pdf`);
      const csv = (await get.get(`/questions/${question}/answer.csv`)).text;
      expect(csv.trim().split('\n').length - 1).toBe((await ask(question as keyof typeof QUESTIONS)).length);
    }
    const shown = (await get.get('/questions/unqualified?about=p-an')).text;
    for (const id of ['P-AN', 'clean', 'L-2']) expect(shown).toContain(`<a href="/find?id=${id}">`);
    expect((await get.get('/questions/unqualified?about=P-OP')).text).toContain('Nothing on record');
    expect((await get.get('/questions/nothing')).status).toBe(404);
    expect((await get.get('/questions/lots?from=soon')).status).toBe(400);
  });

  it('is given out as a sealed file that verifies by itself', async () => {
    const { pdf, name, sha256 } = await cell.services.answers.question(
      'unqualified',
      { about: 'clean' },
      'local:tester',
    );
    expect(name).toMatch(/^unqualified-as-of-\d+\.pdf$/);
    const file = path.join(temporaryFolder('question'), name);
    fs.writeFileSync(file, pdf);
    const found = await verifyRecord(file, { key: cell.services.store.key.fingerprint });
    expect(found).toMatchObject({
      answer: 'as issued',
      paper: { number: 'What people did without a signed qualification' },
    });
    const { contents } = await openPdf(file);
    const { told } = CarriedAnswer.parse(JSON.parse(Buffer.from(contents.attachments.get(ANSWER_FILE)!).toString()));
    expect(told).toMatchObject({
      what: 'question',
      report: { rows: await ask('unqualified'), about: 'clean', from: null },
    });
    expect((await cell.services.store.read.events.ofTypes(['exported'])).at(-1)!.event).toMatchObject({
      sha256,
      lines: 1,
    });
  });
});

it('has nothing to tell of the others where nothing is', async () => {
  expect(await ask('recalls')).toEqual([]);
});
