import fs from 'node:fs';
import http from 'node:http';
import type { AddressInfo } from 'node:net';
import path from 'node:path';
import type { NestExpressApplication } from '@nestjs/platform-express';
import { MOST } from '../../src/base/limits.js';
import { Staging } from '../../src/intake/staging.js';
import { createApplication } from '../../src/main.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { formNumber } from '../../src/web/form-once.js';
import { temporaryFolder } from '../support/cell.js';
import { makeTestPeople } from '../support/people.js';
import { bodyOf, headersOf, Sender } from '../support/sender.js';
import { type SignedIn, signIn } from '../support/service.js';
import { openServices, type Services } from '../support/services.js';
import { until } from '../support/until.js';
import { withListed, type ZipEntry, zipOf } from '../support/zip.js';

let services: Services;
let app: NestExpressApplication;
let url: string;
let operator: SignedIn;
let own: Sender;
beforeAll(async () => {
  services = await openServices(
    DataFolder.createDemo(path.join(temporaryFolder('brought-in'), 'data'), '2031-12-01T12:00:00Z'),
  );
  await makeTestPeople(services);
  app = await createApplication(services.store);
  await app.listen(0, '127.0.0.1');
  url = `http://127.0.0.1:${(app.getHttpServer().address() as AddressInfo).port}`;
  operator = await signIn(app, 'P-OP');
  own = new Sender(url, operator);
});
afterAll(async () => {
  await app.close();
  await services.store.close();
});
/** Whatever happened, nothing lies about. */
afterEach(async () => {
  const staging = app.get(Staging);
  for (const person of ['P-OP', 'P-PE']) for (const folder of staging.ofPerson(person)) staging.drop(folder);
  expect(fs.readdirSync(services.store.folder.staged)).toEqual([]);
});

const supplier = (code: string, { title = 'Some', more = '', name = `${code}.yaml` } = {}): ZipEntry => ({
  name,
  bytes: Buffer.from(`kind: supplier\nformat: 1\nsupplier: ${code}\ntitle: ${title}\n${more}`),
});
const size = () => services.store.read.ledger.size();
const titleOf = async (code: string) => (await services.store.read.entries.current('supplier', code))?.body.title;
/** What a page says, without its marks. */
const said = (html: string) => html.replaceAll(/<[^>]*>/g, ' ').replaceAll(/\s+/g, ' ');

it('tells 37 problems of 200 files at once, each with file, line, what was found and what to do', async () => {
  const before = await size();
  const files = Array.from({ length: 200 }, (_, at) => supplier(`M-${at}`, { more: at < 37 ? 'colour: grey\n' : '' }));
  const { to } = await own.post(files);
  const { text } = await own.look(to);
  expect(said(text)).toContain('37 things are wrong, and nothing was stored');
  expect(text.match(/<th scope="row">M-\d+\.yaml:5, colour<\/th>/g)).toHaveLength(37);
  expect(text).not.toContain('/store"');
  const mended = await own.post(
    files.slice(0, 37).map(({ name }) => supplier(path.parse(name).name)),
    to,
  );
  expect((await own.look(mended.to)).text).toContain('Store these 200 things');
  expect(await size()).toBe(before);
});

it('does not begin to unpack a ZIP of 50 GiB', async () => {
  const files = Array.from({ length: 25 }, (_, at) => ({ name: `${at}.csv`, bytes: Buffer.from('x') }));
  const bytes = withListed(await zipOf(files), 24, 4, () => 2 ** 31);
  const { to } = await own.post([{ name: 'large.zip', bytes }]);
  const text = said((await own.look(to)).text);
  expect(text).toContain(`more than ${MOST.uploadBytes} bytes in all`);
  expect(text).toContain('send a lot at a time');
  expect(app.get(Staging).ofPerson('P-OP')[0]!.bytes).toBe(bytes.length);
});

it.each([
  ['of another alphabet', 'Πλάκα/δοκιμή 試験.yaml', true],
  ['with backslashes', 'a\\b.yaml', false],
  ['that leads out', 'a/../../b.yaml', false],
  ['that is absolute', '/etc/b.yaml', false],
])('takes a name %s for what it is', async (_, name, isFit) => {
  const { status, to, text } = await own.post([supplier('N-1', { name, more: 'colour: grey\n' })]);
  const html = isFit ? (await own.look(to)).text : text;
  expect([status, html.includes(isFit ? `${name}:5, colour` : 'a path that leads into this folder')]).toEqual([
    isFit ? 303 : 400,
    true,
  ]);
});

describe('what others store between looking and storing', () => {
  it.each([
    ['a code that both of two people bring', undefined],
    ['the next revision of what stood there yesterday', 'Yesterday'],
  ])('is not stored over: %s', async (what, yesterday) => {
    const code = yesterday === undefined ? 'T-1' : 'T-2';
    if (yesterday !== undefined) {
      const { to } = await own.post([supplier(code, { title: yesterday })]);
      await own.store(to);
    }
    const reason = yesterday === undefined ? '' : 'reason: moved\n';
    const other = new Sender(url, await signIn(app, 'P-PE'));
    const mine = await own.post([supplier(code, { title: 'Mine', more: reason })]);
    const theirs = await other.post([supplier(code, { title: 'Theirs', more: reason })]);
    expect([what, (await other.store(theirs.to)).status]).toEqual([what, 303]);
    expect(await titleOf(code)).toBe('Theirs');
    const before = await size();
    expect((await own.store(mine.to)).to).toBe(mine.to);
    const { text } = await own.look(mine.to);
    expect(said(text)).toContain('Others stored something since you looked. Below is what holds now.');
    expect([await size(), await titleOf(code)]).toEqual([before, 'Theirs']);
    // Who looks again and still wants it may have it.
    if (text.includes('/store"')) {
      await own.store(mine.to);
      expect(await titleOf(code)).toBe('Mine');
    } else expect(text).toContain('id="problems"');
  });
});

it('stores once what is sent twice at the same time, and says so both times', async () => {
  const { to } = await own.post([supplier('U-1')]);
  const before = await size();
  const number = formNumber();
  const answers = await Promise.all([own.store(to, number), own.store(to, number)]);
  expect(new Set(answers.map((answer) => answer.to)).size).toBe(1);
  expect((await own.look(answers[0]!.to)).text).toContain('supplier U-1, revision 1');
  const stored = await size();
  expect(stored).toBeGreaterThan(before);
  expect((await own.look(to)).to).toBe(answers[0]!.to);
  expect(await size()).toBe(stored);
});

it('keeps an upload whose session ended, gives it back after signing in, and to nobody else', async () => {
  const session = await signIn(app, 'P-OP');
  const mine = new Sender(url, session);
  const { to } = await mine.post([supplier('V-1')]);
  const shown = (await mine.look(to)).text;
  const version = /name="version" value="(\d+)"/.exec(shown)![1]!;
  await fetch(`${url}/sign-out`, {
    method: 'POST',
    headers: { Cookie: session.cookie },
    body: new URLSearchParams({ csrf: session.csrf }),
    redirect: 'manual',
  });
  const before = await size();
  const refused = await mine.act(to, 'store', { version, 'form-number': formNumber() });
  expect([refused.status, await titleOf('V-1')]).toEqual([401, undefined]);
  expect(said(refused.text)).toContain('nothing was done');
  expect(await size()).toBe(before);
  expect((await new Sender(url, await signIn(app, 'P-PE')).look(to)).status).toBe(404);
  const again = new Sender(url, await signIn(app, 'P-OP'));
  expect((await again.look('/intake')).text).toContain(to);
  await again.store(to);
  expect(await titleOf('V-1')).toBe('Some');
});

it('refuses to store other files than were shown', async () => {
  const { to } = await own.post([supplier('W-1')]);
  await own.post([supplier('W-2')], to);
  const { status, text } = await own.act(to, 'store', { version: '1', 'form-number': formNumber() });
  expect([status, await titleOf('W-1')]).toEqual([400, undefined]);
  expect(said(text)).toContain('Files came since this was shown');
});

it('holds five uploads of a person that are not stored, and then asks for one of them', async () => {
  for (let count = 0; count < MOST.stagedOfPerson; count++) await own.post([supplier(`X-${count}`)]);
  const { status, text } = await own.post([supplier('X-9')]);
  expect(status).toBe(400);
  expect(said(text)).toContain('You sent 5 uploads that are not stored; store one of them or throw it away');
});

describe('a file in pieces', () => {
  const ROOT = '/api/v1/intake/staged';
  const bytes = Buffer.from(Array.from({ length: 5000 }, (_, at) => at % 251));
  const file = 'lot/long.csv';
  const api = async (at: string, init: RequestInit = {}) => {
    const response = await fetch(url + ROOT + at, { ...init, headers: { ...headersOf(operator), ...init.headers } });
    return { status: response.status, body: (await response.json()) as Record<string, unknown> };
  };
  const begin = async () =>
    String(
      (await api('', { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: '{}' })).body.folder,
    );
  const body = (from: number, to: number, name = file, all: Buffer = bytes) =>
    bodyOf(
      [{ name: 'piece', bytes: all.subarray(from, to) }],
      { file: name, of: String(all.length), from: String(from), stamp: '1' },
      'piece',
    );
  const piece = (folder: string, from: number, to: number, name?: string) =>
    api(`/${folder}/pieces`, { method: 'POST', body: body(from, to, name) });

  it('goes on where the line was cut, after the service was started anew too, and is whole', async () => {
    const folder = await begin();
    expect((await piece(folder, 0, 2000)).body).toEqual({ received: 2000 });
    // Cut in the middle of a piece: what came of it is a beginning of it.
    const sent = body(2000, 4000);
    const cut = http.request(`${url}${ROOT}/${folder}/pieces`, {
      method: 'POST',
      headers: { ...headersOf(operator), 'Content-Length': sent.length },
    });
    cut.on('error', () => undefined);
    cut.write(sent.subarray(0, sent.length - 700));
    const received = async () => ((await api(`/${folder}`)).body.inPieces as { received: number }[])[0]!.received;
    await new Promise((resolve) => setTimeout(resolve, 50));
    cut.destroy();
    const anew = () => new Staging(services.store).of('P-OP', folder);
    await until(async () => (await piece(folder, 9999, 9999)).status === 409);
    const at = await received();
    expect(at).toBeGreaterThanOrEqual(2000);
    expect(at).toBeLessThan(4000);
    expect(anew().unfinished()).toMatchObject([{ file, of: bytes.length, received: at }]);
    expect((await own.look(`/intake/staged/${folder}`)).text).toContain('Not here to its end');
    // Sent twice, since nobody knew whether it had come: told how far it is.
    expect((await piece(folder, 0, 2000)).body).toMatchObject({ code: 'CONFLICT', received: at });
    expect((await piece(folder, at, bytes.length)).body).toEqual({ received: bytes.length });
    expect(await received()).toBe(bytes.length);
    expect(fs.readFileSync(path.join(anew().root, file)).equals(bytes)).toBe(true);
  });

  it('stays where another instance starts before anything of it came, and goes when that is a day ago', async () => {
    const folder = await begin();
    const place = path.join(services.store.folder.staged, folder);
    new Staging(services.store);
    expect(fs.existsSync(place)).toBe(true);
    const before = Date.now() / 1000 - 25 * 60 * 60;
    fs.utimesSync(place, before, before);
    new Staging(services.store);
    expect(fs.existsSync(place)).toBe(false);
  });

  it('may be a ZIP, of which nothing is missing once it is unpacked', async () => {
    const folder = await begin();
    const zip = await zipOf([supplier('Z-1'), supplier('Z-2')]);
    const sent = { method: 'POST', body: body(0, zip.length, 'all.zip', zip) };
    expect((await api(`/${folder}/pieces`, sent)).body).toEqual({ received: zip.length });
    await own.act(`/intake/staged/${folder}`, 'check');
    const page = said((await own.look(`/intake/staged/${folder}`)).text);
    expect(page).toContain('Store these 2 things');
    expect(page).not.toContain('Not here to its end');
  });

  it.each([
    ['a name that leads out', '../long.csv', 'path'],
    ['a name with a backslash', 'lot\\long.csv', 'path'],
  ])('is refused with %s', async (_, name, code) => {
    const { status, body: answer } = await piece(await begin(), 0, 10, name);
    expect([status, answer.problems]).toEqual([400, [expect.objectContaining({ code, file: name })]]);
  });

  it('belongs to who began it', async () => {
    const folder = await begin();
    const other = await signIn(app, 'P-PE');
    for (const [method, at] of [
      ['GET', `/${folder}`],
      ['POST', `/${folder}/pieces`],
    ] as const) {
      const init = method === 'GET' ? {} : { body: body(0, 10) };
      expect((await api(at, { method, ...init, headers: headersOf(other) })).status).toBe(404);
    }
  });
});
