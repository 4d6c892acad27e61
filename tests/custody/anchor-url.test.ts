import fs from 'node:fs';
import type http from 'node:http';
import path from 'node:path';
import { checkIntegrity } from '../../src/custody/integrity.js';
import { run as runAnchor } from '../../src/custody/keys-anchor-run.js';
import { folderFaultText } from '../../src/report/phrases/stored-faults.js';
import { AnchorFile } from '../../src/store/anchor-file.js';
import { AnchorUrl } from '../../src/store/anchor-url.js';
import { ACTOR, openStore } from '../store/open-store.js';
import { AnchorPlace } from '../support/anchor-place.js';
import { temporaryFolder } from '../support/cell.js';
import { programHold } from '../support/program-hold.js';
import { copyOfTemplate } from '../support/template.js';

let folder: string;
let place: AnchorPlace;
let url: string;

beforeEach(async () => {
  folder = path.join(temporaryFolder('anchor-url'), 'data');
  await copyOfTemplate('held-folder', placeHold, folder);
  place = new AnchorPlace();
  url = await place.listen();
});
afterEach(() => place.close());

const configure = (options: object) => runAnchor(SILENT, { data: folder }, options);
const SILENT = { json: true, line: () => undefined, object: () => undefined };
const noteFile = () => path.join(folder, 'keys', 'anchor-elsewhere.json');

async function placeHold(to = folder): Promise<void> {
  const store = await openStore(to);
  await store.change(ACTOR, (change) => change.events.add(programHold(), 'pores'));
  await store.close();
}

async function faults(): Promise<string[]> {
  const store = await openStore(folder);
  const found = await checkIntegrity(store);
  await store.close();
  return found.faults.map(({ what, name, fault }) => `${what} ${name}: ${folderFaultText(fault)}`);
}

const sizeOf = (line: string): number => Number(line.split(' ')[1]);

it('gets the lines of the anchor, and one head more whenever a program that changed something ends', async () => {
  await configure({ also: url });
  // Then the head that was there, and the one that tells of this place.
  const own = fs.readFileSync(AnchorFile.beside(folder).file, 'utf8').split(/(?<=\n)/);
  expect(place.lines).toEqual([...own.slice(0, 2), ...own.slice(-2)]);
  expect(place.lines[0]).toBe('lotwright-anchor 1\n');
  const before = sizeOf(place.lines.at(-1)!);
  await placeHold();
  expect(sizeOf(place.lines.at(-1)!)).toBe(before + 1);
  const { posts } = place;
  expect(await faults()).toEqual([]);
  await configure({ also: url });
  expect(place.posts).toBe(posts);
});

it('refuses database, anchor and key that were put back together, and says what to do', async () => {
  await configure({ also: url });
  const before = path.join(temporaryFolder('before'), 'data');
  fs.cpSync(folder, before, { recursive: true });
  await placeHold();
  fs.rmSync(folder, { recursive: true });
  fs.cpSync(before, folder, { recursive: true });
  await expect(openStore(folder)).rejects.toMatchObject({
    code: 'ALTERED',
    message: expect.stringMatching(/^as http.*: the anchor covers 5 entries, and there are 4: .*keys anchor --renew$/),
  });
});

it.each<[string, (lines: string[]) => string[], RegExp]>([
  ['lost lines', (lines) => lines.slice(0, 3), /has heads of \d+ entries at most, and one of \d+ was left there/],
  ['is empty', () => [], /holds no anchor: line 1/],
  [
    'names another first key',
    (lines) =>
      lines.map((line) => line.replace(/^first-key (.)/, (_all, digit) => `first-key ${digit === 'f' ? 0 : 'f'}`)),
    /is not the first key/,
  ],
  [
    'turned a root',
    (lines) => lines.map((line) => line.replace(/^(lotwright\.\S+ \d+ )..../, '$1AAAA')),
    /^as http.*keys anchor --renew/,
  ],
  ['answers something else', () => ['<html>not found</html>\n'], /holds no anchor: line 1/],
])('names a place that %s', async (_what, rewrite, says) => {
  await configure({ also: url });
  await placeHold();
  place.lines = rewrite(place.lines);
  await expect(openStore(folder)).rejects.toMatchObject({ code: 'ALTERED', message: expect.stringMatching(says) });
});

it('stops no work when it cannot be reached: the check names it, and records wait after a day', async () => {
  await configure({ also: url });
  for (const [instead, says] of [
    [(response) => response.writeHead(503).end(), /answers 503/],
    [(response) => response.writeHead(302, { location: '/' }).end(), /cannot be reached/],
    [(response) => response.destroy(), /cannot be reached/],
  ] as [(response: http.ServerResponse) => void, RegExp][]) {
    place.instead = instead;
    await placeHold();
    expect(await faults()).toEqual([expect.stringMatching(says)]);
  }
  const store = await openStore(folder);
  await store.compare();
  const note = JSON.parse(fs.readFileSync(noteFile(), 'utf8')) as { reachedMs: number; size: number };
  fs.writeFileSync(noteFile(), JSON.stringify({ ...note, reachedMs: note.reachedMs - 25 * 3_600_000 }));
  await expect(store.compare()).rejects.toMatchObject({
    code: 'STORAGE',
    message: expect.stringMatching(/no record is made until it is reached again/),
  });
  place.instead = undefined;
  await store.compare();
  await store.close();
  expect(await faults()).toEqual([]);
});

it('is not waited for without end, and read no further than it may be long', async () => {
  const own = AnchorFile.beside(folder).read();
  const slow = new AnchorUrl(url, noteFile(), 200);
  place.instead = (response) => void response.writeHead(200).write('lotwright-anchor 1\n');
  await expect(slow.begin(own)).rejects.toMatchObject({
    code: 'STORAGE',
    message: expect.stringMatching(/cannot be reached/),
  });
  const piece = Buffer.alloc(1 << 20, 'x');
  place.instead = (response) => {
    const more = () => {
      while (!response.destroyed && response.write(piece));
    };
    response.writeHead(200).on('drain', more);
    more();
  };
  await expect(new AnchorUrl(url, noteFile()).begin(own)).rejects.toMatchObject({
    code: 'STORAGE',
    message: expect.stringMatching(/answers more than 16777216 bytes/),
  });
});

it('is not taken beside an audit trail that two people are about to accept', async () => {
  await expect(configure({ also: url, renew: true })).rejects.toMatchObject({ code: 'BAD_INPUT' });
  expect(place.posts).toBe(0);
});
