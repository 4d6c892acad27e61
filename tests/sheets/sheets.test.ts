import path from 'node:path';
import { makeBackup } from '../../src/custody/backup.js';
import { restoreBackup } from '../../src/custody/restore.js';
import { anchorId } from '../../src/report/anchors.js';
import { handedSheets } from '../../src/sheets/handed-sheets.js';
import { run as runWaiting } from '../../src/signing/waiting-run.js';
import { formNumber } from '../../src/web/form-once.js';
import { temporaryFolder } from '../support/cell.js';
import { type Asking, sendForm, startTestService, type TestService } from '../support/service.js';
import { openServices } from '../support/services.js';
import { addUnmeasuredLot } from '../support/unmeasured-lot.js';

const LOT = 'L-9';
const AT = { 'measuredAt:local': '2031-03-05T09:00' };

let service: TestService;
let analyst: Asking;
let operator: Asking;
beforeAll(async () => {
  service = await startTestService();
  analyst = await service.as('P-AN');
  operator = await service.as('P-OP');
  await addUnmeasuredLot(service, LOT);
});
afterAll(() => service.close());

const addressIn = (html: string): string => /<form method="post" action="(\/sheets\/[^"]+)" enctype/.exec(html)![1]!;
const rowsIn = (html: string): string[] => [...html.matchAll(/name="(value:[^"]+)"/g)].map((match) => match[1]!);
const results = () => service.services.store.read.results.current(LOT);

async function begin(at: string, ask: Asking) {
  const { text, status } = await ask.get(at);
  expect([status, text]).toEqual([200, expect.stringContaining('<form')]);
  return { address: addressIn(text), rows: rowsIn(text), remembered: rememberedIn(text), text };
}

const rememberedIn = (html: string): Record<string, string> =>
  Object.fromEntries([...html.matchAll(/type="hidden" name="(:[^"]+)" value="([^"]*)"/g)].map((m) => [m[1]!, m[2]!]));

function send(
  ask: Pick<Asking, 'post'>,
  address: string,
  action: string,
  fields: Readonly<Record<string, string>>,
  number = formNumber(),
) {
  const sending = ask.post(address).field(':do', action).field('form-number', number);
  for (const [name, value] of Object.entries(fields)) sending.field(name, value);
  return sending;
}

const handedIn = async (ask: Asking): Promise<string> =>
  /href="(\/sheets\/L-9\/again\/[^"]+)"/.exec((await ask.get(`/sheets/${LOT}`)).text)![1]!;

it('lists what waits for a lot by method, with a way to it from its tests', async () => {
  const { text } = await analyst.get(`/sheets/${LOT}`);
  expect(text).toMatch(/href="\/sheets\/L-9\/new\/TM-T%3A1"/);
  expect(text).toContain('4 values on 2 parts');
  expect((await analyst.get('/lots/L-1/tests')).text).toContain('href="/sheets/L-1"');
  expect((await analyst.get('/sheets/L-NONE')).status).toBe(404);
});

it('tells what is wrong at the field, by the rules of every folder, and keeps what was typed', async () => {
  const { address, rows, remembered, text } = await begin(`/sheets/${LOT}/new/TM-T:1`, analyst);
  expect(rows).toHaveLength(4);
  expect(text).not.toMatch(/at least 2\d\d|215/);
  const typed = { ...remembered, [rows[0]!]: '12.3.4', instrument: 'I-NONE', analyst: 'P-AN' };
  const { status, text: again } = await send(analyst, address, 'hand', typed);
  expect(status).toBe(400);
  const links = [...again.matchAll(/<li><a href="#([^"]+)"/g)].map((match) => match[1]);
  expect(links).toContain('measuredAt');
  expect(links).toContain(rows[0]!.replaceAll(/[:.]+/g, '-'));
  expect(again).toContain('value="12.3.4"');
  expect((await send(analyst, address, 'hand', { ...remembered, ...AT })).text).toContain('no value in any row');
  const { headers } = await send(analyst, address, 'keep', typed);
  expect((await analyst.get(headers.location!)).text).toContain('value="12.3.4"');
  expect((await operator.get(headers.location!)).status).toBe(404);
  await analyst.get(`/sheets/${LOT}`).expect(/Begun by you/);
});

it('goes on at the next empty value on Enter, at a scanned specimen, and says where it has none', async () => {
  const { address, rows, remembered } = await begin(`/sheets/${LOT}/new/TM-T:1`, analyst);
  const [one, two] = rows as [string, string];
  const last = rows.at(-1)!;
  const typed = { ...remembered, [one]: '12,5' };
  const goesTo = async (fields: Record<string, string>) =>
    (await send(analyst, address, 'next', fields)).headers.location!.split('#')[1];
  expect(await goesTo(typed)).toBe(anchorId(two));
  const specimen = last.split(':')[2]!;
  const first = rows.find((row) => row.split(':')[2] === specimen)!;
  expect(await goesTo({ ...typed, ':scanned': specimen })).toBe(anchorId(first));
  expect(await goesTo({ ...typed, ':scanned': `(01)09506000134352(10)${LOT}(21)${specimen}` })).toBe(anchorId(first));
  expect(await goesTo({ ...typed, ...Object.fromEntries(rows.map((row) => [row, '1'])) })).toBe('acts');
  const { status, text } = await send(analyst, address, 'next', { ...typed, ':scanned': 'W-NONE' });
  expect([status, text]).toEqual([400, expect.stringContaining('a specimen of this sheet')]);
  expect(text).toMatch(/<a href="#-scanned"/);
  expect(text).toContain('value="12.5"');
  // A session that ends in the middle of a sheet takes nothing with it.
  const late = await send(service.stranger, address, 'hand', { ...typed, [two]: '77.7' });
  expect([late.status, late.headers.location]).toEqual([303, `/sign-in?next=${encodeURIComponent(address)}`]);
  expect((await analyst.get(address)).text).toContain('value="77.7"');
});

it('stores what two people typed alike, and tells where they did not', async () => {
  const first = await begin(`/sheets/${LOT}/new/TM-T:1`, analyst);
  const [one, two, three] = first.rows as [string, string, string];
  const head = { ...AT, instrument: 'I-RIG', analyst: 'P-AN' };
  const typed = { ...first.remembered, ...head, [one]: '231,4', [two]: '230.1', [three]: '232.0' };
  const number = formNumber();
  const handed = await send(analyst, first.address, 'hand', typed, number);
  expect([handed.status, handed.text]).toEqual([303, '']);
  // A second click does nothing more.
  expect((await send(analyst, first.address, 'hand', typed, number)).headers.location).toBe(handed.headers.location);
  expect((await analyst.get(handed.headers.location!)).text).toContain('Take it back');
  expect((await analyst.get(`/sheets/${LOT}`)).text).toContain('1 value on 1 part');
  expect(await results()).toEqual([]);

  const again = await handedIn(operator);
  expect((await operator.get('/')).text).toContain(`href="${again}">Type it again`);
  expect((await analyst.get('/')).text).not.toContain(again);
  expect((await analyst.get(again)).status).toBe(403);
  await isToldOf('P-AN', '3 values by P-AN');
  await isInBackup();
  const second = await begin(again, operator);
  for (const value of ['231.4', '230.1']) expect(second.text).not.toContain(`value="${value}"`);
  const own = { ...second.remembered, ...head, [one]: '231.4', [two]: '203.1', [three]: '232.0' };
  const differing = await send(operator, second.address, 'compare', own);
  expect(differing.status).toBe(400);
  expect(differing.text).toContain('P-AN typed 230.1, you typed 203.1');
  expect([...differing.text.matchAll(/<li><a href="#/g)]).toHaveLength(1);
  expect(await results()).toEqual([]);

  const stored = await send(operator, second.address, 'compare', { ...own, [two]: '230,1' });
  expect([stored.status, stored.text]).toEqual([303, '']);
  expect(await results()).toMatchObject([
    { reportedValue: '231.4', replicate: 1, enteredBy: 'P-AN', checkedBy: 'P-OP', instrument: 'I-RIG' },
    { reportedValue: '230.1', replicate: 2, measuredAt: '2031-03-05T09:00:00+00:00' },
    { reportedValue: '232.0' },
  ]);
  // Whoever typed it again is asked for the check, and nobody beside them, whom the file does not name.
  const waiting = await service.services.waiting.ofLots([LOT]);
  expect(waiting.filter(({ meaning }) => meaning === 'checked').map(({ who }) => who)).toEqual([['P-OP']]);
  const page = await operator.get(stored.headers.location!);
  expect(page.text).toContain('215');
  const { evidence } = (await results())[0]!;
  expect((await service.services.store.read.evidence.info(evidence)).fileName).toMatch(/^TM-T-[0-9a-f]{8}\.csv$/);
  expect((await operator.get(`/sheets/${LOT}`)).text).toContain('1 value on 1 part');
});

/** The command names a sheet to whoever may type it again, and the first page tells its person that it waits for them. */
async function isToldOf(typist: string, says: string): Promise<void> {
  const said = async (person: string) => {
    const lines: string[] = [];
    await runWaiting(service.app, { json: false, line: (text = '') => lines.push(text), object: () => {} }, { person });
    return lines.join('\n');
  };
  expect(await said('P-OP')).toContain(`results of lot ${LOT}, TM-T rev 1: ${says}`);
  expect(await said('P-OP')).toMatch(/may type it: .*P-OP/);
  expect(await said(typist)).not.toContain(says);
  expect(await said('P-AD')).not.toContain(says);
  expect((await analyst.get('/')).text).toMatch(new RegExp(`What waits for others[\\s\\S]*${says}`));
}

/** A sheet that waits goes on where a backup is restored, which a form that was only begun does not. */
async function isInBackup(): Promise<void> {
  const { store } = service.services;
  expect(await store.read.drafts.ofPerson('P-AN')).not.toEqual([]);
  const file = path.join(temporaryFolder('sheets'), 'backup.zip');
  await makeBackup(store, file, 'local:tester', { withKeys: true });
  const folder = path.join(path.dirname(file), 'data');
  await restoreBackup(file, folder, 'local:tester');
  const restored = await openServices(folder);
  expect(await handedSheets(restored.store.read)).toEqual(await handedSheets(store.read));
  expect(await restored.store.read.drafts.ofPerson('P-AN')).toEqual([]);
  await restored.store.close();
}

it('gives a sheet back to be typed again, telling the first person where and not what', async () => {
  const first = await begin(`/sheets/${LOT}/new/TM-T:1`, analyst);
  const [one] = first.rows as [string];
  const head = { ...AT, instrument: 'I-RIG', analyst: 'P-AN' };
  await send(analyst, first.address, 'hand', { ...first.remembered, ...head, [one]: '219.1' });
  const second = await begin(await handedIn(operator), operator);
  const own = { ...second.remembered, ...head, [one]: '291.1' };
  expect((await send(operator, second.address, 'compare', own)).text).toContain('Give it back');
  expect((await send(operator, second.address, 'back', own)).status).toBe(303);
  const { text } = await analyst.get(`/sheets/${LOT}`);
  const back = [...text.matchAll(/href="(\/sheets\/L-9\/[^"/]+)"/g)].map((match) => match[1]!);
  const shown = await Promise.all(back.map((at) => analyst.get(at)));
  const returned = shown.filter((page) => page.text.includes('the second person read it otherwise'));
  expect(returned).toHaveLength(1);
  expect(returned[0]!.text).toContain('value="219.1"');
  expect(returned[0]!.text).not.toContain('291.1');
});

it('takes nothing twice: a value that was recorded meanwhile is told', async () => {
  const slow = await begin(`/sheets/${LOT}/new/TM-S:1`, analyst);
  const head = { ...AT, instrument: 'I-MIC', analyst: 'P-AN' };
  const [one] = slow.rows as [string];
  const [, , specimen] = one.split(':');
  const uncertain = (fields: Record<string, string>) => ({
    ...fields,
    ...head,
    [one]: '1.5',
    [one.replace('value', 'standardUncertainty')]: '0.004',
  });
  const quick = await begin(`/sheets/${LOT}/new/TM-S:1`, operator);
  await send(operator, quick.address, 'hand', uncertain(quick.remembered));
  const check = await begin(await handedIn(analyst), analyst);
  expect((await send(analyst, check.address, 'compare', uncertain(check.remembered))).status).toBe(303);
  const late = await send(analyst, slow.address, 'hand', uncertain(slow.remembered));
  expect(late.text).toContain('somebody else recorded since this sheet was begun');
  expect((await results()).filter((row) => row.specimen === specimen)).toHaveLength(1);
});

it('gives its own sheet back to the first person alone, and lets an auditor change nothing', async () => {
  const { address, rows, remembered } = await begin(`/sheets/${LOT}/new/TM-T:1`, analyst);
  await send(analyst, address, 'hand', { ...remembered, ...AT, instrument: 'I-RIG', analyst: 'P-AN', [rows[0]!]: '1' });
  const back = (await handedIn(operator)).replace('/again/', '/back/');
  expect((await sendForm(operator, back)).status).toBe(403);
  const auditor = await service.as('P-AU');
  expect((await sendForm(auditor, back)).status).toBe(403);
  expect((await sendForm(analyst, back)).status).toBe(303);
  expect((await auditor.get(`/sheets/${LOT}`)).text).not.toContain('Type it again');
});

it('keeps what was typed after the session had ended', async () => {
  const { address, rows, remembered } = await begin(`/sheets/${LOT}/new/TM-T:1`, analyst);
  const sent = await send(service.stranger, address, 'hand', { ...remembered, ...AT, [rows[0]!]: '230,5' });
  expect(sent.headers.location).toBe(`/sign-in?next=${encodeURIComponent(address)}`);
  const { text } = await analyst.get(address);
  expect(text).toContain('value="230,5"');
  expect(text).toContain('value="2031-03-05T09:00"');
});
