import fs from 'node:fs';
import type { NestExpressApplication } from '@nestjs/platform-express';
import request from 'supertest';
import { placesOfImplants } from '../../src/lots/unit-places.js';
import { createApplication } from '../../src/main.js';
import { identifierIn, recallQuery, reconciledText, timeUsedText } from '../../src/report/phrases/recall.js';
import { consigneesOf, recallDocument, recallFiles, stillHere } from '../../src/trace/recall.js';
import { unitsToCallBack } from '../../src/trace/recall-begun.js';
import { temporaryFolder } from '../support/cell.js';
import { runCommand } from '../support/run-command.js';
import { askingAs, sendForm, signIn } from '../support/service.js';
import { SigningCell } from '../support/signing-cell.js';

/** One lot of two implants: the first was released and handed over, the second is in process. */
let cell: SigningCell;

beforeAll(async () => {
  cell = await SigningCell.open();
  await cell.review('L-1');
  await cell.release('L-1', ['L-1-I1']);
  cell.folder.advanceTo('2031-06-01T12:00:00Z');
  await take({
    ...{ kind: 'handover', format: 1, handover: 'HO-1', implants: ['L-1-I1'], by: 'P-OP' },
    ...{ to: { institution: 'Invented Hospital', address: 'Invented Street 2' }, at: '2031-03-10T10:00:00Z' },
  });
});
afterAll(() => cell.close());

const take = (document: object) =>
  cell.services.intake.take([{ file: 'made.yaml', document: { ...document } }], 'local:tester');
const places = async () =>
  (await placesOfImplants(cell.services.store.read, ['L-1-I1', 'L-1-I2'])).map(({ place, held }) => [place, held]);

const asked = async (recall: string, drill: boolean) => {
  const { head } = await cell.services.tracer.trace('0417');
  const more = { trigger: 'invented', reason: 'invented', query: '0417', started: '2031-06-01T11:00:00Z' };
  return { recall, drill, head, aimHours: '4', ...more };
};
const units = async () =>
  (await placesOfImplants(cell.services.store.read, ['L-1-I1', 'L-1-I2'])).sort((a, b) => (a.key < b.key ? -1 : 1));

it('sorts units by who has them now, and writes a notice for each institution and a row for each unit', async () => {
  const all = await units();
  expect(stillHere(all).map(({ key }) => key)).toEqual(['L-1-I2']);
  expect(consigneesOf(all).map(({ institution, units: own }) => [institution, own.map(({ key }) => key)])).toEqual([
    ['Invented Hospital', ['L-1-I1']],
  ]);
  const files = recallFiles(await asked('RC-1', false), all);
  expect([...files.keys()]).toEqual(['reconciliation.csv', 'notice-1.txt']);
  expect(files.get('notice-1.txt')).toMatch(/Invented Hospital\n +Invented Street 2[\s\S]*L-1-I1, lot L-1/);
  expect(files.get('notice-1.txt')).not.toMatch(/L-1-I2|[{}]|DRILL/);
  expect(files.get('reconciliation.csv')!.trim().split('\n')).toHaveLength(3);
});

it('says drill in every file of a drill, and its draft cannot pass for a notice', async () => {
  for (const [name, text] of recallFiles(await asked('DRILL-1', true), await units())) {
    expect(text).toContain('DRILL');
    if (name !== 'reconciliation.csv') {
      expect(name).toMatch(/^DRILL-/);
      for (const line of text.split('\n').filter((one) => one.trim() !== '')) expect(line).toMatch(/^DRILL/);
    }
  }
});

it('changes no hold and no place by a drill, and holds every unit by a recall', async () => {
  const before = await places();
  const drill = recallDocument(await asked('DRILL-1', true), await units());
  await expect(take({ ...drill, recall: 'RC-9' })).rejects.toThrow('DRILL');
  await take(drill);
  const found = ['L-1-I1', 'L-1-I2'].map((implant, index) => ({
    ...{ implant, place: index === 0 ? 'out' : 'in process', at: '2031-06-01T11:30:00Z' },
  }));
  await expect(take({ ...drill, closed: '2031-06-01T11:45:00Z', lessons: 'none', found: [found[0]] })).rejects.toThrow(
    'L-1-I2',
  );
  await take({ ...drill, closed: '2031-06-01T11:45:00Z', lessons: 'none', found });
  expect(await places()).toEqual(before);
  await cell.sign('P-QE', 'recall:DRILL-1@2', { meaning: 'approved' });
  const called = ['recall', '0417', '--code', 'RC-1', '--trigger', 'invented', '--reason', 'invented', '--take'];
  const out = temporaryFolder('recall');
  expect((await runCommand(cell.folder.path, [...called, '--out', `${out}/first`])).code).toBe(0);
  expect(fs.readdirSync(`${out}/first`).sort()).toEqual(['notice-1.txt', 'recall.yaml', 'reconciliation.csv']);
  expect(await places()).toEqual(before.map(([place]) => [place, true]));
  fs.writeFileSync(`${out}/file`, '');
  for (const [more, code, says] of [
    [['--out', `${out}/file`], 5, 'is a file'],
    [['--out', `${out}/third`, '--person', 'P-QE'], 2, '--person: expected with --take'],
  ] as const) {
    const words = called
      .filter((word) => word !== '--take' || code === 5)
      .map((word) => (word === 'RC-1' ? 'RC-2' : word));
    const refused = await runCommand(cell.folder.path, [...words, ...more]);
    expect([refused.code, refused.text]).toEqual([code, expect.stringContaining(says)]);
  }
  expect(await cell.services.store.read.entries.current('recall', 'RC-2')).toBeUndefined();
  const again = await runCommand(cell.folder.path, [...called, '--out', `${out}/second`]);
  expect([again.code, again.text, fs.existsSync(`${out}/second`)]).toEqual([
    2,
    expect.stringContaining('a code that no recall has yet'),
    false,
  ]);
});

describe('pages', () => {
  let app: NestExpressApplication;
  const page = async (path: string, cookie: string) =>
    (await request(app.getHttpServer()).get(path).set('Cookie', cookie)).text
      .replace(/<[^>]+>/g, ' ')
      .replace(/\s+/g, ' ');
  beforeAll(async () => {
    app = await createApplication(cell.services.store);
  });
  afterAll(() => app.close());

  it('list recalls and drills, and tell of each what was found where, when and against which aim', async () => {
    const { cookie } = await signIn(app, 'P-QE');
    const list = await page('/recalls', cookie);
    expect(list).toMatch(/DRILL-1.*2 of 2 found, 100 %/);
    expect(list).toMatch(/RC-1.*0 of 2 found/);
    const drill = await page('/recalls/DRILL-1', cookie);
    expect(drill).toContain('DRILL');
    expect(drill).toMatch(/2 of 2 found, 100 %.*0\.75 h of the 4 h/);
    expect(drill).toMatch(/L-1-I1.*Invented Hospital/);
    expect(drill).toMatch(/revision 2, taken in [^;]*approved by Quentin Example/);
    expect(await page('/questions/recalls', cookie)).toMatch(/RC-1 recall.*DRILL-1 DRILL/);
  });

  it('lead from each of several things of one name to what that thing alone calls back', async () => {
    const { body } = (await cell.services.store.read.entries.current('instrument', 'I-RIG'))!;
    await take({ ...body, instrument: 'M1', title: 'Gauge of the machine' });
    const found = (await (await askingAs(app, 'P-QE')).get('/find?id=M1')).text;
    expect(found).toContain('names 2 things');
    expect(found.match(/call-back\?id=[^"]*/g)).toEqual(['call-back?id=machine%3AM1']);
  });

  it('begin a drill from a trace in one act, with its list and a draft for each institution', async () => {
    const ask = await askingAs(app, 'P-QE');
    const found = await ask.get('/find?id=0417');
    expect(found.text).toContain('/call-back?id=0417');
    expect((await ask.get('/call-back?id=0417')).text).toContain('2 implants: 1 with the cell');
    const since = '2031-01-01T00:00:00Z';
    const narrowed = await ask.get(`/call-back?id=0417&from=${since}`);
    expect(narrowed.text).toContain(`0417, used from ${since}`);
    const before = await places();
    const fields = { id: '0417', what: 'drill', code: 'DRILL-2', trigger: 'invented', reason: 'invented', aim: '3' };
    for (const [wrong, says] of [
      [{ code: 'RC-9' }, 'a code that begins with DRILL'],
      [{ code: 'DRILL-1' }, 'a code that no recall has yet'],
      [{ trigger: '' }, 'Say what made it necessary'],
      [{ aim: 'soon' }, 'Hours in which the cell wants to close it'],
      [{ id: 'I-NONE' }, 'I-NONE'],
    ] as const) {
      const answer = await sendForm(ask, '/call-back', { ...fields, ...wrong });
      expect([answer.status >= 400, answer.text]).toEqual([true, expect.stringContaining(says)]);
    }
    expect(await cell.services.store.read.entries.current('recall', 'DRILL-2')).toBeUndefined();
    const again = await sendForm(ask, '/call-back', { ...fields, from: since, code: 'RC-9' });
    expect(again.text).toContain(`0417, used from ${since}`);
    expect(again.text).toContain(`name="from" value="${since}"`);
    const begun = await sendForm(ask, '/call-back', { ...fields, from: since });
    expect([begun.status, begun.headers.location]).toEqual([303, '/recalls/DRILL-2']);
    expect(await places()).toEqual(before);
    const shown = (await ask.get('/recalls/DRILL-2')).text;
    expect(shown).toContain(`<a href="/find?id=0417">0417, used from ${since}</a>`);
    for (const name of ['reconciliation.csv', 'DRILL-notice-1.txt']) {
      expect(shown).toContain(`/recalls/DRILL-2/files/${name}`);
      expect((await ask.get(`/recalls/DRILL-2/files/${name}`)).text).toMatch(/DRILL[\s\S]*L-1-I1/);
    }
    expect((await ask.get('/recalls/DRILL-2/files/other.txt')).status).toBe(404);
    const auditor = await askingAs(app, 'P-AU');
    expect((await auditor.get('/find?id=0417')).text).not.toContain('/call-back');
    expect((await sendForm(auditor, '/call-back', { ...fields, code: 'DRILL-3' })).status).toBe(403);
  });
});

describe('what cannot be asked', () => {
  const [EARLY, LATE] = ['2031-03-01T00:00:00Z', '2031-03-05T00:00:00Z'];
  let app: NestExpressApplication;
  let ask: Awaited<ReturnType<typeof askingAs>>;
  beforeAll(async () => {
    const { body } = (await cell.services.store.read.entries.current('family', 'PLATE'))!;
    await take({ ...body, revision: 2, route: 'patient-matched', udiDi: '09506000134352' });
    app = await createApplication(cell.services.store);
    ask = await askingAs(app, 'P-QE');
  });
  afterAll(() => app.close());

  it.each([
    ['a time of use the wrong way round', 'trace 0417', { from: LATE, to: EARLY }, 'swap them'],
    ['a time of an impact the wrong way round', 'impact I-RIG', { from: LATE, to: EARLY }, 'swap them'],
    ['a moment before the first entry', 'trace 0417', { asOf: '2001-01-01T00:00:00Z' }, 'not before the first entry'],
    ['a moment ahead', 'trace 0417', { asOf: '2099-01-01T00:00:00Z' }, 'a moment that is not after'],
    ['an identifier of two things', 'impact M1', {}, 'machine:M1'],
    ['a bias in a unit that does not convert', 'impact I-RIG', { bias: '1 mm' }, 'a unit that converts to MPa'],
    ['a bias without a unit', 'impact I-RIG', { bias: '1' }, 'a decimal and a unit'],
    ['a scanned code that is cut', 'trace ]d20109506000134352', {}, 'expected a serial'],
    ['a code of another pack', 'trace (01)09506000134352(10)L-2(21)L-1-I1', {}, 'compare the pack'],
    ['a code of another maker', 'trace (01)00614141123452(21)L-1-I1', {}, 'device identifier is 09506000134352'],
  ])('%s is named by the command and on the page alike, and nothing is stored', async (_, asked, more, says) => {
    const [command, id] = asked.split(' ') as [string, string];
    const { ledger } = cell.services.store.read;
    const before = await ledger.size();
    const options = Object.entries(more).flatMap(([name, value]) => [`--${name === 'asOf' ? 'as-of' : name}`, value]);
    const told = await runCommand(cell.folder.path, [command, ...options, '--', id]);
    expect([told.code, told.text]).toEqual([2, expect.stringContaining(says)]);
    const page = command === 'trace' ? '/find' : '/impact';
    const { status, text } = await ask.get(`${page}?${new URLSearchParams({ id, ...more })}`);
    expect([status, text]).toEqual([400, expect.stringContaining(says)]);
    // A command that reads is noted, whatever comes of it.
    expect(await ledger.size()).toBe(before + 1);
  });
});

it('calls back what lies behind something that nothing was made from, and each of several things alone', async () => {
  const services = { store: cell.services.store, tracer: cell.services.tracer };
  const called = async (id: string) => (await unitsToCallBack(services, { id })).units.map(({ key }) => key);
  expect(await called('HO-1')).toEqual(['L-1-I1']);
  expect(await called('lot:L-1')).toEqual(['L-1-I1', 'L-1-I2']);
  await expect(called('case:L-1')).rejects.toMatchObject({ code: 'NOT_FOUND' });
});

it('names the time of use in what it asked for, and finds the identifier in it again', () => {
  const [from, to] = ['2031-03-01T00:00:00Z', '2031-03-05T00:00:00Z'];
  expect(recallQuery({ id: '0417', from, to })).toBe(`0417, used from ${from} up to ${to}`);
  for (const narrowed of [{}, { from }, { to }, { from, to }]) {
    expect(identifierIn(recallQuery({ id: 'R-1, revision 2', ...narrowed }))).toBe('R-1, revision 2');
  }
});

it('tells the time used against the aim, and how many were found', () => {
  expect(timeUsedText('2031-06-01T11:00:00Z', '2031-06-01T11:45:00Z', '4', true)).toContain('0.75 h of the 4 h');
  expect(timeUsedText('2031-06-01T11:00:00Z', '2031-06-01T17:00:00Z', '4', false)).toContain('MISSED');
  expect(reconciledText(1, 3)).toBe('1 of 3 found, 33 %');
});
