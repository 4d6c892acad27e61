import fs from 'node:fs';
import path from 'node:path';
import { sha256Hex } from '../../src/dossier/canonical.js';
import { FolderSecret } from '../../src/store/folder-secret.js';
import { type NotedRead, ReadLog } from '../../src/store/read-log.js';
import { temporaryFolder } from '../support/cell.js';

const DAY = '2031-03-05.jsonl';
let data: string;
let folder: string;
let log: ReadLog;
beforeEach(() => {
  data = temporaryFolder('reads');
  folder = path.join(data, 'reads');
  log = opened();
});

const endFile = () => path.join(data, 'keys', 'reads-end.txt');
const opened = () => new ReadLog(folder, new FolderSecret(data), endFile());
/** As the next start finds it, and what it tells of it. */
const startedAgain = (told = new Map<string, number>()) => {
  const next = opened();
  next.takeUp(told);
  return next.takeHeads();
};

const read = (key: string, at = '2031-03-05T12:00:00.000Z'): NotedRead => ({
  ...{ at, person: 'P-QE', kind: 'lot', key },
  page: `/lots/${key}`,
});
const file = (day = DAY) => path.join(folder, day);

// What ASVS 8.3.5 asks for.
it('notes each reading as a line, and tells once how far it is and what that hashes to', () => {
  for (const key of ['L-1', 'L-2']) log.note(read(key));
  log.note(read('L-3', '2031-03-06T00:00:00.000Z'));
  const bytes = fs.readFileSync(file());
  expect(log.takeHeads()).toEqual([
    { file: DAY, lines: 2, bytes: bytes.length, sha256: sha256Hex(bytes.toString()), lost: 0 },
    expect.objectContaining({ file: '2031-03-06.jsonl', lines: 1 }),
  ]);
  expect(log.takeHeads()).toEqual([]);
  expect([...log.newest()].map(({ key }) => key)).toEqual(['L-3', 'L-2', 'L-1']);
  expect(fs.statSync(file()).mode & 0o777).toBe(0o600);
});

it('goes on where another program ended, within a line too, and tells what that did not', () => {
  log.note(read('L-1'));
  const [told] = log.takeHeads();
  log.note(read('L-2'));
  fs.appendFileSync(file(), '{"at":"2031-03-05T12:0');
  const next = opened();
  next.takeUp(new Map([[DAY, told!.bytes]]));
  next.note(read('L-3'));
  const [head] = next.takeHeads();
  expect([head!.lines, head!.lost, next.faultOf(DAY, [told!, head!])]).toEqual([4, 1, undefined]);
  expect([...next.newest()].map(({ key }) => key)).toEqual(['L-3', 'L-2', 'L-1']);
});

it('names a file that is gone, cut, or changed before one of its heads, and none that grew', () => {
  log.note(read('L-1'));
  const [first] = log.takeHeads();
  for (let number = 0; number < 800; number++) log.note(read(`L-${number}`));
  const [second] = log.takeHeads();
  const heads = [second!, first!];
  const whole = fs.readFileSync(file());
  expect(whole.length).toBeGreaterThan(65_536);
  const told = (bytes: Buffer) => {
    fs.writeFileSync(file(), bytes);
    return log.faultOf(DAY, heads)?.code;
  };
  expect([told(whole), told(Buffer.concat([whole, Buffer.from('more\n')]))]).toEqual([undefined, undefined]);
  for (const at of [0, first!.bytes - 1, first!.bytes, 65_535, 65_536, whole.length - 1]) {
    const changed = Buffer.from(whole);
    changed[at]! ^= 1;
    expect([at, told(changed)]).toEqual([at, 'was altered']);
  }
  expect(told(whole.subarray(0, -1))).toBe('was altered');
  fs.rmSync(file());
  expect([log.faultOf(DAY, heads)?.code, log.faultOf('../keys/a', heads)?.code]).toEqual(['is missing', 'is missing']);
});

it('stops nobody from reading when it cannot be written, and says how many lines are missing', () => {
  fs.writeFileSync(folder, 'no folder');
  for (const key of ['L-1', 'L-2']) log.note(read(key));
  fs.rmSync(folder);
  log.note(read('L-3'));
  expect(log.takeHeads()).toMatchObject([{ lines: 1, lost: 2 }]);
});

it('names a line that was changed, moved, added or taken out before any head covered it, and says what is gone', () => {
  for (const key of ['L-1', 'L-2', 'L-3']) log.note(read(key));
  const [one, two, three] = fs.readFileSync(file(), 'utf8').split(/(?<=\n)/);
  const found = (...lines: (string | undefined)[]) => {
    fs.writeFileSync(file(), lines.join(''));
    const before = log.faultOf(DAY, [])?.code;
    const heads = startedAgain();
    return [before, heads[0]!.altered, heads[0]!.lost, log.faultOf(DAY, heads)?.code];
  };
  const invented = one!.replace('L-1', 'L-9');
  expect(found(one, two, three)).toEqual([undefined, undefined, 0, undefined]);
  for (const [lines, altered] of [
    [[invented, two, three], 1],
    [[one, three, two], 2],
    [[one, one, three], 1],
    [[one, two, three, invented], 1],
    [[one, two!.replace(/,"code":"[^"]+"/, ''), three], 2],
    // Taken out: those behind it stand at another place.
    [[two, three], 2],
  ] as const) {
    expect(found(...lines)).toEqual(['was altered', altered, expect.any(Number), 'was altered']);
  }
  // Taken off the end, as whole or garbled lines: gone, which a disk may do too.
  expect(found(one)).toEqual([undefined, undefined, 2, undefined]);
  expect(found(one, two, 'x\n')).toEqual([undefined, undefined, 2, undefined]);
  fs.rmSync(file());
  expect(startedAgain()).toEqual([expect.objectContaining({ file: DAY, lines: 0, lost: 3 })]);
  // Another secret makes no code of this one, and a check makes no secret.
  fs.writeFileSync(file(), [one, two].join(''));
  fs.rmSync(path.join(data, 'keys', 'folder.secret'));
  expect(opened().faultOf(DAY, [])?.code).toBe('was altered');
  expect(fs.readdirSync(path.join(data, 'keys'))).toEqual(['reads-end.txt']);
});
