import { execFileSync } from 'node:child_process';
import fs from 'node:fs';
import { createServer } from 'node:net';
import path from 'node:path';
import { BadInputError, type Problem } from '../../src/base/errors.js';
import { MOST } from '../../src/base/limits.js';
import { listFolder, readWhole } from '../../src/intake/folder.js';
import { readFolder } from '../../src/intake/read-folder.js';
import { makeCell, temporaryFolder, writeCell } from '../support/cell.js';

/** What stands in a folder beside plain files with plain names. */

const SUPPLIER = 'kind: supplier\nformat: 1\nsupplier: S1\ntitle: A supplier\n';

let folder: string;
beforeEach(() => {
  folder = temporaryFolder('odd');
  write('supplier.yaml', SUPPLIER);
});

const at = (name: string) => path.join(folder, name);
const write = (name: string, text: string) => fs.writeFileSync(at(name), text);

async function problems(): Promise<readonly Problem[]> {
  try {
    await readFolder(folder);
  } catch (error) {
    return (error as BadInputError).problems;
  }
  return [];
}

it('names every link, pipe and socket, and reads of none', async () => {
  fs.symlinkSync('/dev/zero', at('zero.yaml'));
  fs.symlinkSync(folder, at('round'));
  execFileSync('mkfifo', [at('pipe.yaml')]);
  const server = createServer().listen(at('socket.yaml'));
  await new Promise((resolve) => server.once('listening', resolve));
  try {
    expect((await problems()).map(({ code, file, found }) => [code, file, found])).toEqual([
      ['link', 'pipe.yaml', 'a pipe'],
      ['link', 'round', 'a link'],
      ['link', 'socket.yaml', 'a socket'],
      ['link', 'zero.yaml', 'a link'],
    ]);
  } finally {
    server.close();
  }
});

it.each<[string, Buffer | string, string, string]>([
  ['bytes that are no UTF-8', Buffer.from([0x61, 0xfc, 0x62]), 'a\\xfcb', '0xfc'],
  ['a character that is cut', Buffer.from([0x61, 0xe4, 0xb8]), 'a\\xe4\\xb8', '0xe4'],
  ['a line end', 'a\nb.csv', 'a\nb.csv', 'U+000A'],
  ['an escape', 'a\u001b[2J.csv', 'a\u001b[2J.csv', 'U+001B'],
  ['a turned direction', 'a\u202evsc.exe', 'a\u202evsc.exe', 'U+202E RLO'],
])('names a file whose name has %s', async (_, name, shown, found) => {
  const bytes = Buffer.concat([Buffer.from(`${folder}/`), Buffer.from(name)]);
  fs.writeFileSync(bytes, 'x');
  expect(await problems()).toEqual([
    expect.objectContaining({ code: 'path', file: shown, found: expect.stringContaining(found) }),
  ]);
});

it('finds a file whichever way its accents are written, and refuses two that differ in nothing else', async () => {
  const cell = makeCell();
  const log = 'lots/L-1/logs/run.csv';
  const [composed, apart] = ['lots/L-1/logs/\u00e9tat.csv', 'lots/L-1/logs/e\u0301tat.csv'];
  cell.files[apart!] = cell.files[log]!;
  delete cell.files[log];
  cell.documents['lots/L-1/lot.yaml']!.builds[0].log.file = 'logs/\u00e9tat.csv';
  folder = writeCell(cell);
  expect((await readFolder(folder)).lots[0]!.files.map(({ name }) => name)).toContain(apart);
  write(composed!, 'x');
  expect(await problems()).toContainEqual(expect.objectContaining({ code: 'name-twice', file: composed }));
});

it('passes over hidden files, and tells them, a folder as one', async () => {
  fs.mkdirSync(at('.git'));
  write('.git/config', 'x');
  write('.DS_Store', 'x');
  write('notes.txt', 'x');
  expect((await readFolder(folder)).unused).toEqual(['notes.txt', '.DS_Store', '.git/']);
});

it('ends a listing at more names than may be, also of hidden ones', () => {
  for (const name of ['.1', '.2', 'a', 'a/b']) fs.mkdirSync(at(name));
  expect(listFolder(folder, { ...MOST, files: 5 }).problems).toEqual([]);
  const { problems: told } = listFolder(folder, { ...MOST, files: 4 });
  expect(told).toEqual([expect.objectContaining({ code: 'too-many-files' })]);
});

it('names a document that grows while it is read', () => {
  const read = vi.spyOn(fs, 'readFileSync').mockImplementationOnce((handle) => {
    fs.appendFileSync(at('supplier.yaml'), 'late: yes\n');
    const bytes = Buffer.alloc(SUPPLIER.length);
    fs.readSync(handle as number, bytes, 0, bytes.length, 0);
    return bytes;
  });
  const told: Problem[] = [];
  expect(readWhole({ name: 'supplier.yaml', path: at('supplier.yaml') }, MOST.documentBytes, told)).toBeUndefined();
  read.mockRestore();
  expect(told).toEqual([expect.objectContaining({ code: 'file-changed', file: 'supplier.yaml' })]);
});

it('refuses a table of 400 MB, and a document of 3 GB, before it reads any of it (ASVS 12.1.1)', async () => {
  fs.mkdirSync(at('lot/results'), { recursive: true });
  write('lot/lot.yaml', '');
  for (const [name, bytes] of [
    ['lot/lot.yaml', 3 * 1024 ** 3],
    ['lot/results/table.csv', 400 * 1024 ** 2],
  ] as const) {
    write(name, '');
    fs.truncateSync(at(name), bytes);
  }
  expect(await problems()).toEqual([expect.objectContaining({ code: 'too-long', file: 'lot/lot.yaml' })]);
});
