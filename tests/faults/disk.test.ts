import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { explained } from '../../src/base/disk-trouble.js';
import { AppError } from '../../src/base/errors.js';
import { checkIntegrity } from '../../src/custody/integrity.js';
import { folderFaultText } from '../../src/report/phrases/stored-faults.js';
import { DataFolder } from '../../src/store/data-folder.js';
import { Store } from '../../src/store/store.js';
import { makeCellWithHistory, temporaryFolder, writeCell } from '../support/cell.js';
import { uniformNumbers } from '../support/numbers.js';
import { servicesWith } from '../support/record-content.js';
import { openServices } from '../support/services.js';
import { CLI, ENVIRONMENT, isLong, lotwright, started, tellFigures } from './command.js';

const PAGE_BYTES = 4096;

const cell = writeCell(makeCellWithHistory(1));

/** A data folder of its own with the cell in it. */
async function storedCell(): Promise<string> {
  const services = await servicesWith(makeCellWithHistory(1));
  await services.store.close();
  return services.store.folder.path;
}

/** Whether this system lets a test have a small disk of its own, in a namespace that goes with the process. */
const canMount =
  spawnSync('unshare', ['-rm', 'sh', '-c', 'mount -t tmpfs tmpfs /mnt'], { stdio: 'ignore' }).status === 0;

/**
 * Runs a shell script with a small disk at `$DISK` and the program as `lotwright`; gives what it printed.
 * @param stored a data folder, at `$STORED`.
 */
function onSmallDisk(script: string, stored = ''): string {
  const disk = temporaryFolder('disk');
  const head = `
set -u
mount -t tmpfs -o size=12m tmpfs "$DISK"
fill() { cat /dev/zero > "$DISK/filler" 2> /dev/null; truncate -s "-$1" "$DISK/filler"; }
lotwright() { "$NODE" "$CLI" --data "$DISK/data" "$@" 2>&1; echo "exit $?"; }`;
  const env = { ...ENVIRONMENT, DISK: disk, NODE: process.execPath, CLI, CELL: cell, STORED: stored };
  return spawnSync('unshare', ['-rm', 'sh', '-c', `${head}\n${script}`], { encoding: 'utf8', env }).stdout;
}

function declareWithSmallDisks(declare: () => void): void {
  if (canMount) describe('a disk', declare);
  else {
    it('needs a system that lets a test mount a disk', () => {
      if (process.env.CI === 'true') throw new Error('disks that are full or read-only could not be tried');
      console.warn('Disks that are full or read-only were not tried: this system lets no test mount one.');
    });
  }
}

declareWithSmallDisks(() => {
  it('that is full: said in words, nothing half-stored, and all goes on once there is room', () => {
    const said = onSmallDisk(`
lotwright status
fill 150K
lotwright intake "$CELL"
rm "$DISK/filler"
lotwright check
lotwright intake "$CELL"
lotwright check`);
    expect(said).toMatch(/the disk is full/);
    expect(said).not.toMatch(/\n\s+at /);
    expect(said.match(/exit \d/g)).toEqual(['0', '1', '0', '0', '0'].map((code) => `exit ${code}`));
  });

  it.runIf(isLong)('that has less and less room: each time the same', () => {
    const rooms = [40, 80, 150, 300, 500, 700, 1000, 1500];
    const said = onSmallDisk(
      [
        'lotwright status',
        ...rooms.map((room) => `fill ${room}K\nlotwright intake "$CELL"\nrm "$DISK/filler"\nlotwright check`),
      ].join('\n'),
    );
    expect(said).not.toMatch(/\n\s+at /);
    const exits = said.match(/exit \d/g)!.slice(1);
    expect(exits.filter((_, index) => index % 2 === 1)).toEqual(rooms.map(() => 'exit 0'));
    const refused = exits.filter((exit, index) => index % 2 === 0 && exit === 'exit 1').length;
    expect(said.match(/the disk is full/g)).toHaveLength(refused);
    tellFigures(
      `full disk: ${rooms.length} sizes of room, ${refused} intakes refused in words, every check without a fault`,
    );
  });

  it('that is full for the backup: no archive, nothing left, nothing noted', async () => {
    const script = `
fill 100K
"$NODE" "$CLI" --data "$STORED" backup "$DISK/b.zip" 2>&1; echo "exit $?"
ls "$DISK"`;
    const said = onSmallDisk(script, await storedCell());
    expect(said).toMatch(/the disk is full.*\nexit 1\nfiller\n$/);
  });

  it('that is read-only: said in words by every command', async () => {
    const script = `
cp -r "$STORED" "$DISK/data"
mount -o remount,ro "$DISK"
lotwright status
lotwright intake "$CELL"
lotwright backup /tmp/nowhere.zip`;
    const said = onSmallDisk(script, await storedCell());
    expect(said.match(/is the disk read-only/g)).toHaveLength(3);
    expect(said).not.toMatch(/\n\s+at /);
    expect(said.match(/exit \d/g)).toEqual(['exit 1', 'exit 1', 'exit 1']);
    tellFigures('read-only disk: 3 commands, each refused in words');
  });
});

describe('what the disk says is put into words', () => {
  it.each([
    ['ENOSPC', 'STORAGE', /full/],
    ['EDQUOT', 'STORAGE', /full/],
    ['SQLITE_FULL', 'STORAGE', /full/],
    ['EROFS', 'STORAGE', /read-only/],
    ['SQLITE_READONLY', 'STORAGE', /read-only/],
    ['EIO', 'STORAGE', /reports errors/],
    ['SQLITE_IOERR_WRITE', 'STORAGE', /reports errors/],
    ['SQLITE_CORRUPT', 'ALTERED', /damaged/],
    ['SQLITE_NOTADB', 'ALTERED', /damaged/],
    ['SQLITE_IOERR_SHORT_READ', 'ALTERED', /damaged/],
  ])('%s', (code, expected, says) => {
    const plain = Object.assign(new Error('as the system says it'), { code });
    const meta = { driverAdapterError: { cause: { originalCode: code } } };
    const { cause } = meta.driverAdapterError;
    for (const error of [
      plain,
      Object.assign(new Error('through Prisma'), { code: 'P2010', meta }),
      Object.assign(new Error('from its driver'), { cause }),
    ]) {
      const found = explained(error) as AppError;
      expect(found).toBeInstanceOf(AppError);
      expect([found.code, found.message]).toEqual([expected, expect.stringMatching(says)]);
    }
  });

  it('and leaves every other error as it is', () => {
    for (const error of [new Error('x'), new AppError('BUSY', 'x'), 'text', undefined]) {
      expect(explained(error)).toBe(error);
    }
  });
});

describe('a damaged page of the database', () => {
  it('is seen, whichever it is: by opening, by reading, or by the check', async () => {
    const data = await storedCell();
    const database = path.join(data, 'lotwright.sqlite');
    const whole = fs.readFileSync(database);
    const pages = whole.length / PAGE_BYTES;
    const random = uniformNumbers(20311125);
    const tried = process.env.LOTWRIGHT_TEST_LONG ? pages : 6;
    for (let number = 0; number < tried; number += 1) {
      const page = tried === pages ? number : Math.floor(random() * pages);
      const damaged = Buffer.from(whole);
      damaged.fill(0xa5, page * PAGE_BYTES, (page + 1) * PAGE_BYTES);
      fs.writeFileSync(database, damaged);
      for (const rest of ['-wal', '-shm']) fs.rmSync(`${database}${rest}`, { force: true });
      expect([page, await whatIsSaid(data)]).toEqual([
        page,
        expect.stringMatching(/damaged|malformed|altered|page|index|row/i),
      ]);
    }
    fs.writeFileSync(database, whole);
    for (const rest of ['-wal', '-shm']) fs.rmSync(`${database}${rest}`, { force: true });
    expect(await whatIsSaid(data)).toBe('');
  });

  async function whatIsSaid(data: string): Promise<string> {
    try {
      const store = await Store.open(DataFolder.open(data));
      try {
        return (await checkIntegrity(store)).faults.map(({ fault }) => folderFaultText(fault)).join('; ');
      } finally {
        await store.close();
      }
    } catch (error) {
      return (explained(error) as Error).message;
    }
  }
});

describe('two services on one folder', () => {
  it('the second ends at once and says why; after a kill of the first the next one starts', async () => {
    const data = path.join(temporaryFolder('two'), 'data');
    const first = started(data, 'serve', '--port', '0');
    first.stderr!.resume();
    await new Promise((resolve) => first.stdout!.once('data', resolve));
    const tries = isLong ? 15 : 1;
    for (let one = 0; one < tries; one += 1) {
      const second = lotwright(data, 'serve', '--port', '0');
      expect([second.code, second.err]).toEqual([1, expect.stringContaining('another service runs on')]);
    }
    tellFigures(`two services: ${tries} second ones refused, the first went on`);
    // Commands may share the folder with a service.
    expect(lotwright(data, 'intake', cell).code).toBe(0);
    const ended = new Promise((resolve) => first.once('close', resolve));
    first.kill('SIGKILL');
    await ended;
    const third = started(data, 'serve', '--port', '0');
    third.stderr!.resume();
    const said = await new Promise<string>((resolve) => third.stdout!.once('data', (text) => resolve(String(text))));
    expect(said).toContain('serves');
    const stopped = new Promise((resolve) => third.once('close', resolve));
    third.kill('SIGTERM');
    expect(await stopped).toBe(0);
    const services = await openServices(data);
    expect(await services.store.read.entries.list('lot')).toHaveLength(2);
    await services.store.close();
  });
});
