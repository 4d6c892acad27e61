import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { Spools } from '../../src/store/spools.js';
import { temporaryFolder } from '../support/cell.js';

const DAY_S = 24 * 60 * 60;

describe('what a service left before it ended', () => {
  let folder: string;
  const left = (name: string, ageS = 0): string => {
    const spool = path.join(folder, name);
    fs.mkdirSync(spool);
    const at = Date.now() / 1000 - ageS;
    fs.utimesSync(spool, at, at);
    return name;
  };
  const open = (): string[] => {
    new Spools(folder);
    return fs.readdirSync(folder);
  };
  /** The name of a spool of this machine that another process began. */
  const ofProcess = (pid: number): string => {
    const spool = new Spools(folder).begin();
    const name = path.basename(spool.path).replace(/^\d+/, `${pid}`);
    spool.remove();
    return name;
  };

  beforeEach(() => {
    folder = temporaryFolder('spools');
  });

  it('goes when its process is gone on this machine, and stays while it runs', () => {
    left(ofProcess(spawnSync(process.execPath, ['-e', '']).pid));
    const running = left(ofProcess(process.ppid));
    expect(open()).toEqual([running]);
  });

  it('is not this machine’s to judge where another one began it, but for what is a day old', () => {
    const gone = spawnSync(process.execPath, ['-e', '']).pid;
    const young = left(`${gone}-0123abcd-1`);
    left(`${gone}-0123abcd-2`, DAY_S + 60);
    expect(open()).toEqual([young]);
  });

  it('stays where this process has begun it', () => {
    const spool = new Spools(folder).begin();
    expect(open()).toEqual([path.basename(spool.path)]);
    spool.remove();
    expect(open()).toEqual([]);
  });
});
