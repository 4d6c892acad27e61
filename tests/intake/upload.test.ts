import fs from 'node:fs';
import http from 'node:http';
import type { AddressInfo } from 'node:net';
import path from 'node:path';
import type { NestExpressApplication } from '@nestjs/platform-express';
import { stringify } from 'yaml';
import type { Problem } from '../../src/base/errors.js';
import { MOST } from '../../src/base/limits.js';
import { IncomingFolder } from '../../src/intake/incoming-folder.js';
import { IntakeAnswer } from '../../src/intake/intake-answer.js';
import { createApplication } from '../../src/main.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { formNumber } from '../../src/web/form-once.js';
import { LIMITS } from '../../src/web/request-limits.js';
import { type Cell, csvText, makeCell, temporaryFolder, writeCell } from '../support/cell.js';
import { makeTestPeople } from '../support/people.js';
import { BOUNDARY, bodyOf, headersOf, Sender } from '../support/sender.js';
import { type SignedIn, signIn } from '../support/service.js';
import { openServices, type Services } from '../support/services.js';
import { storedIn } from '../support/stored-revisions.js';
import { until } from '../support/until.js';
import { replaced, withListed, type ZipEntry, zipOf } from '../support/zip.js';

let services: Services;
let app: NestExpressApplication;
let url: string;
let operator: SignedIn;
beforeAll(async () => {
  services = await openServices(freshFolder());
  await makeTestPeople(services);
  ({ app, url } = await listening(services));
  operator = await signIn(app, 'P-OP');
});
afterAll(async () => {
  await app.close();
  await services.store.close();
});

const freshFolder = () => DataFolder.createDemo(path.join(temporaryFolder('upload'), 'data'), '2031-12-01T12:00:00Z');

async function listening({ store }: Services, limits = LIMITS) {
  const made = await createApplication(store, { limits });
  await made.listen(0, '127.0.0.1');
  return { app: made, url: `http://127.0.0.1:${(made.getHttpServer().address() as AddressInfo).port}` };
}

function filesOf({ documents, sheets, files }: Cell): ZipEntry[] {
  const texts = [
    ...Object.entries(documents).map(([name, document]) => [name, stringify(document)] as const),
    ...Object.entries(sheets).map(([name, rows]) => [name, csvText(rows)] as const),
    ...Object.entries(files),
  ];
  return texts.map(([name, text]) => ({ name, bytes: Buffer.from(text) }));
}

async function send(files: readonly ZipEntry[], { as = operator, fields = {} } = {}) {
  const response = await fetch(`${url}/api/v1/intake`, {
    method: 'POST',
    headers: headersOf(as),
    body: bodyOf(files, fields),
  });
  return { status: response.status, body: (await response.json()) as Record<string, unknown> };
}

const spools = () => fs.readdirSync(services.store.folder.spools);
const size = () => services.store.read.ledger.size();
const supplier = {
  name: 'supplier.yaml',
  bytes: Buffer.from('kind: supplier\nformat: 1\nsupplier: S9\ntitle: Ninth\n'),
};
const named = (name: string) => ({ ...supplier, name });
const inZip = async (entries: readonly ZipEntry[]) => [{ name: 'folder.zip', bytes: await zipOf(entries) }];

describe('what is wrong with an upload is named with what to do, and nothing is stored (ASVS 12.1.2, 12.3.1)', () => {
  const ZEROS = Buffer.alloc(20 << 20);

  it.each<{
    what: string;
    files: () => readonly ZipEntry[] | Promise<readonly ZipEntry[]>;
    expected: Partial<Problem>[];
  }>([
    { what: 'no file', files: () => [named('')].slice(1), expected: [{ code: 'nothing-sent' }] },
    {
      what: 'a name with backslashes',
      files: () => [named('site\\a.yaml')],
      expected: [{ code: 'path', file: 'site\\a.yaml' }],
    },
    {
      what: 'an absolute name',
      files: () => [named('/etc/a.yaml')],
      expected: [{ code: 'path', file: '/etc/a.yaml' }],
    },
    { what: 'the drive of a name', files: () => [named('C:/a.yaml')], expected: [{ code: 'path', file: 'C:/a.yaml' }] },
    { what: 'a name that leads out', files: () => [named('site/../../a.yaml')], expected: [{ code: 'path' }] },
    {
      what: 'a file with the name of a folder',
      files: () => [named('site/')],
      expected: [{ code: 'path', file: 'site/' }],
    },
    {
      what: 'a name with a control character',
      files: () => [named('a\u0001.yaml')],
      expected: [{ code: 'path', file: 'a\u0001.yaml' }],
    },
    {
      what: 'a name with an escaped line end',
      files: () => [named('a%0Ab.yaml')],
      expected: [{ code: 'path', file: 'a\nb.yaml' }],
    },
    { what: 'a long path', files: () => [named(`${'a/'.repeat(150)}b.yaml`)], expected: [{ code: 'path' }] },
    { what: 'a deep path', files: () => [named(`${'a/'.repeat(20)}b.yaml`)], expected: [{ code: 'path' }] },
    { what: 'a long name', files: () => [named(`${'é'.repeat(140)}.yaml`)], expected: [{ code: 'path' }] },
    {
      what: 'a name twice',
      files: () => [supplier, supplier],
      expected: [{ code: 'name-twice', file: 'supplier.yaml' }],
    },
    {
      what: 'names that differ by capitals',
      files: () => [supplier, named('Supplier.yaml')],
      expected: [{ code: 'name-twice' }],
    },
    {
      what: 'names that differ by how an accent is written',
      files: () => [named('\u00e9.yaml'), named('e\u0301.yaml')],
      expected: [{ code: 'name-twice' }],
    },
    {
      what: 'a file that is a folder too',
      files: () => [named('a'), named('a/b.yaml')],
      expected: [{ code: 'name-twice' }],
    },
    {
      what: 'two faults of a document',
      files: () => [{ ...supplier, bytes: Buffer.from(`${supplier.bytes}colour: grey\nsize: 3\n`) }],
      expected: [
        { code: 'unknown-field', file: 'supplier.yaml', line: 5, field: 'colour' },
        { code: 'unknown-field', file: 'supplier.yaml', line: 6, field: 'size' },
      ],
    },
    {
      what: 'a ZIP beside another file',
      files: async () => [supplier, ...(await inZip([supplier]))],
      expected: [{ code: 'archive-inside', file: 'folder.zip' }],
    },
    { what: 'a ZIP that is none', files: () => [named('folder.zip')], expected: [{ code: 'archive' }] },
    {
      what: 'a ZIP in a ZIP',
      files: async () => inZip([supplier, { name: 'more.zip', bytes: await zipOf([supplier]) }]),
      expected: [{ code: 'archive-inside', file: 'more.zip' }],
    },
    {
      what: 'a ZIP with two folders of one name',
      files: () => inZip([named('lots/X/lot.yaml'), named('lots/X/lot.yaml'), named('lots/x/a.csv')]),
      expected: [
        { code: 'name-twice', file: 'lots/X/lot.yaml' },
        { code: 'name-twice', file: 'lots/x' },
      ],
    },
    {
      what: 'a ZIP with names that lead out',
      files: async () =>
        (await inZip([named('xx/a.yaml'), named('yy/b.yaml')])).map(({ name, bytes }) => ({
          name,
          bytes: replaced(replaced(bytes, 'xx/a.yaml', '../a.yaml'), 'yy/b.yaml', 'yy\\b.yaml'),
        })),
      expected: [
        { code: 'path', file: '../a.yaml' },
        { code: 'path', file: 'yy\\b.yaml' },
      ],
    },
    {
      what: 'a ZIP with a link and a device',
      files: () =>
        inZip([
          supplier,
          { name: 'l.yaml', bytes: Buffer.from('/etc/passwd'), mode: 0o120777 },
          { name: 'd', bytes: Buffer.alloc(0), mode: 0o020666 },
        ]),
      expected: [
        { code: 'link', file: 'l.yaml', found: 'a link' },
        { code: 'link', file: 'd', found: 'a device' },
      ],
    },
    {
      what: 'an encrypted ZIP',
      files: async () =>
        (await inZip([supplier])).map(({ name, bytes }) => ({
          name,
          bytes: withListed(bytes, 8, 2, (flags) => flags | 1),
        })),
      expected: [{ code: 'encrypted', file: 'supplier.yaml' }],
    },
    {
      what: 'a ZIP that is packed in another way',
      files: async () =>
        (await inZip([supplier])).map(({ name, bytes }) => ({ name, bytes: withListed(bytes, 10, 2, () => 9) })),
      expected: [{ code: 'packing', file: 'supplier.yaml' }],
    },
    {
      what: 'a ZIP that becomes a thousand times as large',
      files: () => inZip([supplier, { name: 'zeros.csv', bytes: ZEROS }]),
      expected: [{ code: 'packed-too-well', file: 'zeros.csv' }],
    },
    {
      what: 'a ZIP that lies about how large it becomes',
      files: async () =>
        (await inZip([{ name: 'zeros.csv', bytes: ZEROS }])).map(({ name, bytes }) => ({
          name,
          bytes: withListed(bytes, 24, 4, () => 1000),
        })),
      expected: [{ code: 'archive', file: 'zeros.csv', found: expect.stringMatching(/too many bytes/) }],
    },
    {
      what: 'a ZIP of which a byte was changed',
      files: async () =>
        (await inZip([supplier])).map(({ name, bytes }) => ({
          name,
          bytes: withListed(bytes, 16, 4, (sum) => sum ^ 1 && 7),
        })),
      expected: [{ code: 'archive', file: 'supplier.yaml', found: expect.stringMatching(/checksum/) }],
    },
  ])('$what', async ({ files, expected }) => {
    const before = await size();
    const { status, body } = await send(await files());
    expect([status, body.code]).toEqual([400, 'BAD_INPUT']);
    const problems = body.problems as Problem[];
    expect(problems).toEqual(expected.map((one) => expect.objectContaining(one)));
    for (const { expected: wanted, remedy } of problems)
      expect([wanted, remedy].every((text) => text.length > 3)).toBe(true);
    expect(await size()).toBe(before);
    expect(spools()).toEqual([]);
  });

  it.each([
    ['no end', (body: Buffer<ArrayBuffer>) => body.subarray(0, -10)],
    ['a part without a name', (body: Buffer<ArrayBuffer>) => replaced(body, ' name="files"', ' kind="files"')],
    ['a name with a quote in it', (body: Buffer<ArrayBuffer>) => replaced(body, 'supplier.yaml"', 'supplie"r.yaml')],
  ])('a body with %s', async (_, spoilt) => {
    const response = await fetch(`${url}/api/v1/intake`, {
      method: 'POST',
      headers: headersOf(operator),
      body: spoilt(bodyOf([supplier])),
    });
    expect(((await response.json()) as { problems: Problem[] }).problems).toMatchObject([{ code: 'multipart' }]);
    expect(spools()).toEqual([]);
  });

  it('more names than there may be files, though each is one of a folder', async () => {
    const folder = new IncomingFolder(temporaryFolder('names'), { ...MOST, files: 2 });
    for (const name of ['/', 'a/']) await folder.write(name, []);
    await expect(folder.write('//', [])).rejects.toMatchObject({ problems: [{ code: 'too-many-files' }] });
  });

  it('a field after the files, and one that nobody knows', async () => {
    const late = bodyOf([supplier], { csrf: 'x' });
    const body = Buffer.concat([bodyOf([supplier]).subarray(0, -BOUNDARY.length - 6), late]);
    const response = await fetch(`${url}/api/v1/intake`, { method: 'POST', headers: headersOf(operator), body });
    expect(await response.json()).toMatchObject({ problems: [{ code: 'multipart', found: 'a field after a file' }] });
    expect((await send([supplier], { fields: { colour: 'red' } })).body).toMatchObject({
      problems: [{ code: 'unrecognized_keys' }],
    });
  });

  it('who may not: a stranger, an auditor and an administrator, each before a file is read', async () => {
    const before = await size();
    expect((await send([supplier], { as: { cookie: '', csrf: '' } })).status).toBe(401);
    expect((await send([supplier], { as: { ...operator, csrf: 'x' } })).status).toBe(403);
    expect(await size()).toBe(before);
    for (const person of ['P-AU', 'P-AD']) {
      const as = await signIn(app, person);
      const { status, body } = await send([supplier], { as });
      expect([status, body.code]).toEqual([403, 'REFUSED']);
      const page = await fetch(`${url}/intake`, { headers: { Cookie: as.cookie } });
      expect(await page.text()).toContain('You may not do this');
    }
    expect((await services.store.read.events.ofTypes(['act-refused'])).map(({ event }) => event)).toMatchObject([
      { person: 'P-AU', act: 'POST /api/v1/intake' },
      { person: 'P-AD', act: 'take documents in' },
    ]);
    expect(await services.store.read.entries.list('supplier')).toEqual([]);
  });
});

describe('a folder by the browser', () => {
  /** As a browser sends a folder: hidden files of the system with it, and the choice that was left empty. */
  const chosen = () => [
    ...filesOf(makeCell()).map(({ name, bytes }) => ({ name: `cell/${name}`, bytes })),
    { name: 'cell/site/.DS_Store', bytes: Buffer.from('x') },
    { name: 'cell/notes.txt', bytes: Buffer.from('not named by any document') },
    { name: '', bytes: Buffer.alloc(0) },
  ];

  let own: Sender;
  beforeAll(() => {
    own = new Sender(url, operator);
  });
  const staged = () => fs.readdirSync(services.store.folder.staged);
  const faulty = { ...supplier, bytes: Buffer.from(`${supplier.bytes}colour: grey\n`) };

  it('is refused on the page with file, line, field and remedy of each problem, and mended by that file alone', async () => {
    const before = await size();
    const { status, to } = await own.post([{ ...faulty, name: 'site/supplier.yaml' }, named('site/other.txt')]);
    expect(status).toBe(303);
    const { text } = await own.look(to);
    expect(text).toContain('One thing is wrong, and nothing was stored');
    expect(text).toContain('site/supplier.yaml:5, colour');
    expect(text).not.toContain('Store this');
    const mended = await own.post([supplier], to);
    expect(mended.to).toBe(to);
    expect((await own.look(to)).text).toContain('Store this 1 thing');
    expect(await size()).toBe(before);
    expect((await own.act(to, 'leave')).to).toBe('/intake');
    expect(staged()).toEqual([]);
  });

  it('is refused at once where names or sizes are not fit, and nothing of it is kept', async () => {
    const { status, text } = await own.post([named('site\\a.yaml'), supplier]);
    expect(status).toBe(400);
    expect(text).toContain('One thing is wrong, and nothing was stored');
    expect(staged()).toEqual([]);
  });

  it('is stored as the command stores it once the button is pressed, however often, and told on a page of theirs', async () => {
    const before = await size();
    const { to } = await own.post(chosen());
    const { text } = await own.look(to);
    expect(text).toContain('lot L-1, revision 1');
    expect(text).toContain('not kept, no document names it: cell/notes.txt');
    expect(text).toContain('not kept, its name begins with a dot: cell/site/.DS_Store');
    const things = text.split('What would be stored')[1]!.split('</ul>')[0]!.split('<li>').length - 1;
    expect(text).toContain(`Store these ${things} things`);
    expect(await size()).toBe(before);
    const analyst = new Sender(url, await signIn(app, 'P-AN'));
    expect((await analyst.look(to)).status).toBe(404);
    const answers = [
      await own.store(to),
      await own.act(to, 'store', { version: '1', 'form-number': formNumber() }),
      await own.act(to, 'check'),
    ];
    const done = answers[0]!.to;
    expect(answers.map((answer) => answer.to)).toEqual([done, done, done]);
    expect(done).toMatch(/^\/intake\/[\w-]{22}$/);
    expect((await own.look(to)).to).toBe(done);
    expect((await own.look(done)).text).toContain('lot L-1, revision 1');
    expect((await analyst.look(done)).status).toBe(404);
    expect((await own.look('/intake')).text).toContain(done);
    expect([spools(), staged()]).toEqual([[], []]);
    const [entry] = await services.store.read.trail.before({ thing: 'L-1' }, (await size()) + 1, 1);
    expect(entry).toMatchObject({ actor: 'person:P-OP' });
    const other = await openServices(freshFolder());
    try {
      await other.intake.run(writeCell(makeCell()), 'local:tester');
      expect(storedIn(services)).toEqual(storedIn(other));
    } finally {
      await other.store.close();
    }
  });

  it('is nothing new when it comes again as a ZIP, and the answer has the documented shape', async () => {
    const before = await size();
    const { status, body } = await send(await inZip(filesOf(makeCell())));
    expect(status).toBe(200);
    expect(IntakeAnswer.parse(body)).toMatchObject({ stored: true, documents: [], logs: [], lots: ['L-1'] });
    const checked = await send(await inZip([supplier]), { fields: { check: 'yes' } });
    const documents = [{ kind: 'supplier', key: 'S9', revision: 1 }];
    expect(IntakeAnswer.parse(checked.body)).toMatchObject({ stored: false, wouldStore: { documents } });
    expect(await size()).toBe(before);
    const { to } = await own.post(await inZip(filesOf(makeCell())));
    expect((await own.look(to)).text).toContain(
      'Nothing new: everything in this folder is in the data folder already.',
    );
    await own.act(to, 'leave');
  });
});

/** Begins an upload of a file, and gives the request to be gone on with. */
function begin(to: string, length: number): http.ClientRequest {
  const request = http.request(`${to}/api/v1/intake`, {
    method: 'POST',
    headers: { ...headersOf(operator), 'Content-Length': length },
  });
  request.on('error', () => undefined);
  request.write(bodyOf([{ name: 'big.csv', bytes: Buffer.alloc(0) }]).subarray(0, -BOUNDARY.length - 8));
  return request;
}

describe('a long upload (ASVS 12.1.1)', () => {
  const BLOCK = Buffer.alloc(1 << 16, 'x');

  it('leaves nothing when its sender goes away, and holds no place any more', async () => {
    const before = await size();
    for (let turn = 0; turn < 4; turn += 1) {
      const request = begin(url, 1 << 20);
      request.write(BLOCK);
      await until(() => spools().length > 0);
      request.destroy();
      await until(() => spools().length === 0);
    }
    expect(await size()).toBe(before);
  });

  it('is refused while three others are under way', async () => {
    const others = [1, 2, 3].map(() => begin(url, 1 << 20));
    for (const other of others) other.write(BLOCK);
    await until(() => spools().length === 3);
    expect(await send([supplier])).toMatchObject({ status: 503, body: { code: 'BUSY' } });
    for (const other of others) other.destroy();
    await until(() => spools().length === 0);
  });

  it('takes no memory with its length', async () => {
    const blocks = (160 << 20) / BLOCK.length;
    const end = Buffer.from(`\r\n--${BOUNDARY}--\r\n`);
    const head = bodyOf([{ name: 'big.csv', bytes: Buffer.alloc(0) }]).length - end.length;
    const request = begin(url, head + blocks * BLOCK.length + end.length);
    const answer = new Promise<http.IncomingMessage>((resolve) => request.on('response', resolve));
    const before = process.memoryUsage().rss;
    let most = 0;
    for (let sent = 0; sent < blocks; sent += 1) {
      if (!request.write(BLOCK)) await new Promise((resolve) => request.once('drain', resolve));
      most = Math.max(most, process.memoryUsage().rss - before);
    }
    request.end(end);
    const response = await answer;
    response.resume();
    // No document was sent, only this file.
    expect(response.statusCode).toBe(400);
    // What was freed and not given back yet is not its own.
    expect(most).toBeLessThan(80 << 20);
    expect(spools()).toEqual([]);
  });

  it('may take as long as it likes while bytes come, and is hung up on when they stop', async () => {
    const bodyMs = 400;
    const slow = await listening(services, { ...LIMITS, bodyMs });
    try {
      const steady = begin(slow.url, 1 << 30);
      const drip = setInterval(() => steady.write(BLOCK), 20);
      const cut = new Promise((resolve) => steady.once('close', resolve));
      await until(() => spools().length === 1);
      await new Promise((resolve) => setTimeout(resolve, 3 * bodyMs));
      expect(spools()).toHaveLength(1);
      clearInterval(drip);
      await cut;
      await until(() => spools().length === 0);
    } finally {
      await slow.app.close();
    }
  });

  it('ends with the service, and leaves nothing', async () => {
    const other = await listening(services);
    const request = begin(other.url, 1 << 20);
    request.write(BLOCK);
    await until(() => spools().length === 1);
    await other.app.close();
    expect(spools()).toEqual([]);
  });
});
