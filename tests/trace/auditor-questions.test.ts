import fs from 'node:fs';
import path from 'node:path';
import type { NestExpressApplication } from '@nestjs/platform-express';
import { LotAssessor } from '../../src/lots/lot-assessor.js';
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

const asked = () => {
  const { store, current, overview } = cell.services;
  return { store, current, overview };
};
const ask = (name: keyof typeof QUESTIONS, within: (moment: string) => boolean = () => true) =>
  QUESTIONS[name]({ ...asked(), within });

it('lists lots with what was decided, and none outside the period', async () => {
  const rows = await ask('lots');
  expect(rows.find(([lot]) => lot === 'L-1')!.slice(3)).toEqual(['1', '2', '1', '1', '0']);
  expect(await ask('lots', () => false)).toEqual([]);
});

it('refuses days the wrong way round, and answers nothing while facts keep coming in', async () => {
  const { store, current, overview } = cell.services;
  const answers = new AuditorAnswers(store, current, overview);
  await expect(answers.answer('lots', { from: '2031-03-06', to: '2031-03-05' })).rejects.toThrow('swap them');
  expect((await answers.answer('lots', { from: '2031-03-03', to: '2031-03-03' })).rows.length).toBeGreaterThan(0);
  let size = await store.read.ledger.size();
  const counted = vi.spyOn(store.read.ledger, 'size').mockImplementation(async () => (size += 1));
  try {
    await expect(answers.answer('lots', {})).rejects.toMatchObject({ code: 'BUSY' });
  } finally {
    counted.mockRestore();
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
  // Nobody assessed the lot yet: what the rules would say of it is answered all the same.
  expect(await cell.services.current.assessmentOf('L-2')).toBeUndefined();
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

describe('of values and parts', () => {
  const SHEET = 'lots/L-2/results/tensile.csv';
  beforeAll(async () => {
    const sheet = cell.cell.sheets[SHEET]!;
    sheet[0] = { ...sheet[0]!, value: '100', reason: 'read from the wrong line (invented)' };
    cell.cell.documents['site/nc.yaml'] = {
      ...{ kind: 'nonconformity', format: 1, nonconformity: 'NC-7', says: 'too weak (invented)' },
      ...{ opened: { by: 'P-QE', at: '2031-03-05T13:00:00Z' }, touches: [{ kind: 'coupon', key: sheet[0].specimen! }] },
    };
    cell.cell.documents['site/disposal.yaml'] = {
      ...{ kind: 'disposal', format: 1, disposal: 'DI-7', implants: ['L-1-I2'], how: 'melted (invented)' },
      ...{ at: '2031-03-06T11:00:00Z', by: 'P-OP', witness: 'P-QE', powder: [{ state: 'PS-1', massG: '3' }] },
    };
    cell.cell.documents['site/complaint.yaml'] = {
      ...{ kind: 'complaint', format: 1, complaint: 'CP-7', implants: ['L-1-I1'], says: 'a weak seam (invented)' },
      received: { at: '2031-03-06T10:00:00Z', by: 'P-QE', from: 'Invented Hospital' },
      evaluated: [{ law: 'EU', reportable: 'no', why: 'invented', by: 'P-QE', at: '2031-03-06T11:00:00Z' }],
    };
    await cell.intake();
  });

  it('counts each lot, and names the raw file and line behind each value', async () => {
    const counted = await ask('counted');
    expect(counted.find(([lot, , what]) => lot === 'L-1' && what === 'implant')!.slice(3)).toEqual([
      ...['2', '2 made = 1 in stock + 1 destroyed; unaccounted 0', ''],
    ]);
    const rows = await ask('values');
    const all = await cell.services.store.read.results.current('L-1');
    expect(rows.filter(([lot]) => lot === 'L-1').map(([, , , , , , , ...row]) => row)).toEqual(
      all.map(({ evidence, line }) => [evidence, String(line)]),
    );
    const [sha256] = rows[0]!.slice(7);
    expect((await cell.services.store.evidence.placed(sha256!, 'bytes')).path).toBeDefined();
  });

  it('shows values that failed or were corrected, what became of them, and the raw file of each', async () => {
    const specimen = cell.cell.sheets[SHEET]![0]!.specimen!;
    const rows = await ask('failed');
    expect(rows.map(([lot, on, what, value, , became, touching]) => [lot, on, what, value, became, touching])).toEqual([
      ['L-2', specimen, 'rm 1', expect.stringMatching(/MPa$/), expect.stringContaining('CORRECTED'), 'NC-7'],
      ['L-2', specimen, 'rm 1', '100 MPa', 'counts, and does not conform', 'NC-7'],
    ]);
    expect(rows.every((row) => /^[0-9a-f]{64}$/.test(row.at(-1)!))).toBe(true);
  });

  it('tells values by when they were measured, whenever the lot was opened, and assesses no lot of which it tells none', async () => {
    const opened = Date.parse((await ask('lots')).find(([lot]) => lot === 'L-2')![2]!);
    const later = (moment: string) => Date.parse(moment) > opened + 8 * 3_600_000;
    const assessed = vi.spyOn(LotAssessor.prototype, 'factsNow');
    const measured = async (name: 'values' | 'failed', within: (moment: string) => boolean) =>
      (await ask(name, within)).map((row) => row[4]!);
    try {
      for (const name of ['values', 'failed'] as const) {
        const all = await measured(name, () => true);
        assessed.mockClear();
        expect(all.filter(later).length).toBeGreaterThan(0);
        expect(await measured(name, later)).toEqual(all.filter(later));
        expect(assessed.mock.calls.map(([lot]) => lot)).toEqual(name === 'failed' ? ['L-2'] : []);
        assessed.mockClear();
        expect(await measured(name, (moment) => Date.parse(moment) <= opened)).toEqual([]);
        expect(assessed).not.toHaveBeenCalled();
      }
    } finally {
      assessed.mockRestore();
    }
  });

  it('names for each coupon the implants, the study and who approved it', async () => {
    const rows = await ask('coupons');
    expect(rows.find(([coupon]) => coupon === 'L-1-W1')!.slice(1, 5)).toEqual([
      ...['L-1', 'L-1-I1', 'EQ rev 1', expect.stringMatching(/^P-QE, 2031-01-/)],
    ]);
  });

  it('tells what was destroyed, how and before whom, and when something was known and who decided', async () => {
    expect(await ask('destroyed')).toEqual([
      ['L-1-I2', 'L-1', 'destroyed', '2031-03-06T11:00:00Z', 'DI-7', 'melted (invented)', 'P-OP', 'P-QE'],
      ['PS-1', '', '3 g destroyed', '2031-03-06T11:00:00Z', 'DI-7', 'melted (invented)', 'P-OP', 'P-QE'],
    ]);
    const recorded = expect.stringMatching(/^2031-03-06T12:/);
    expect(await ask('known')).toEqual([
      ['2031-03-05T13:00:00Z', 'nonconformity', 'NC-7', 'too weak (invented)', 'P-QE', recorded, '', 'open'],
      [
        ...['2031-03-06T10:00:00Z', 'complaint', 'CP-7', 'a weak seam (invented)', 'P-QE', recorded],
        ...['EU: need not be reported, P-QE, 2031-03-06', ''],
      ],
    ]);
    expect(await ask('known', (at) => at < '2031-03-06')).toHaveLength(1);
  });
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
