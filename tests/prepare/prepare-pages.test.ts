import { createApplication } from '../../src/main.js';
import { addDesigns } from '../support/documents/designs.js';
import { type Asking, askingAs, sendForm } from '../support/service.js';
import { SigningCell } from '../support/signing-cell.js';

const CASE = 'K-101-1';

let cell: SigningCell;
let app: Awaited<ReturnType<typeof createApplication>>;
let ask: Asking;
beforeAll(async () => {
  cell = await SigningCell.open((what) => addDesigns(what, 'L-1', null));
  app = await createApplication(cell.services.store);
  ask = await askingAs(app, 'P-OP');
});
afterAll(async () => {
  await app?.close();
  await cell.close();
});

const addressIn = (html: string): string => /<form method="post" action="(\/prepare\/[^"]+)"/.exec(html)![1]!;
const unseenIn = (html: string): Record<string, string> =>
  Object.fromEntries([...html.matchAll(/type="hidden" name="([^"]+)" value="([^"]*)"/g)].map((m) => [m[1]!, m[2]!]));

/** Sends a step as its page does, with all that it shows and all that it does not. */
async function go(html: string, typed: Readonly<Record<string, string>>) {
  const sending = ask.post(addressIn(html));
  for (const [name, value] of Object.entries({ ...unseenIn(html), ...typed })) sending.field(name, value);
  return sending;
}

/** The first five bytes of a file. */
async function bytesOf(address: string): Promise<string> {
  const { body } = await ask
    .get(address)
    .buffer(true)
    .parse((response, done) => {
      const blocks: Buffer[] = [];
      response.on('data', (block: Buffer) => blocks.push(block)).on('end', () => done(null, Buffer.concat(blocks)));
    });
  return (body as Buffer).subarray(0, 5).toString();
}

it('plans a lot for a case in three steps, each a draft, and stores it as a plan', async () => {
  const parts = await ask.get(`/prepare/new/${CASE}`);
  expect([parts.status, parts.text]).toEqual([200, expect.stringContaining(`${CASE}-1-C1`)]);
  const first = await go(parts.text, {});
  expect([first.status, first.text]).toEqual([303, '']);
  const stock = await ask.get(first.headers.location!);
  expect(stock.text).toMatch(/value="PS-1"[^>]*> <strong>PS-1<\/strong>[^<]* g left/);
  const none = await go(stock.text, { 'builds[0].powder[0].chargedG': 'much' });
  expect(none.status).toBe(400);
  expect(none.text).toContain('href="#builds-0-powder-0-state">Powder: nothing yet, and it is needed');
  expect(none.text).toMatch(/id="builds-0-powder-0-chargedG"[^>]*aria-invalid="true"/);
  const second = await go(stock.text, { 'builds[0].powder[0].state': 'PS-1', 'builds[0].powder[0].chargedG': '90,5' });
  const times = await ask.get(second.headers.location!);
  expect(times.text).toContain('name="opened.by" list="known-person" value="P-OP"');

  const empty = await go(times.text, {});
  expect(empty.status).toBe(400);
  expect(empty.text).toContain('Operator: nothing yet, and it is needed');
  const when = { 'builds[0].closedAt:local': '2031-03-06T08:00', 'builds[0].openedAt:local': '2031-03-06T18:00' };
  const third = await go(times.text, { ...when, 'opened.by': 'P-QE', 'builds[0].operator': 'P-OP' });
  expect([third.status, third.text]).toEqual([303, '']);
  const check = await ask.get(third.headers.location!);
  expect(check.text).toContain('90.5');

  const sheet = times.text.match(/href="(\/prepare\/[^"]+\/build-sheet)"/)![1]!;
  expect(await bytesOf(sheet)).toBe('%PDF-');

  const stored = await sendForm(ask, third.headers.location!.replace('/check', '/store'));
  expect(stored.status).toBe(303);
  const { body } = await cell.services.store.read.entries.currentOrThrow('lot', `L-${CASE}-1`);
  expect(body.builds).toMatchObject([
    { state: 'planned', powder: [{ state: 'PS-1', chargedG: '90.5' }], operator: 'P-OP' },
  ]);
  const planned = await ask.get(`/lots/L-${CASE}-1`);
  const [again] = /\/prepare\/lots\/[^"]+\/build-sheet/.exec(planned.text)!;
  expect(await bytesOf(again)).toBe('%PDF-');
  expect((await ask.get('/prepare/lots/L-1/build-sheet')).status).toBe(409);
});

it('lists the open cases, and what was made for them already', async () => {
  const { text } = await ask.get('/prepare');
  expect(text).toMatch(/href="\/prepare\/new\/K-101-2">K-101-2<\/a><span>[^<]*already L-1-I2/);
  expect((await ask.get('/prepare/new/K-NONE')).status).toBe(404);
});
