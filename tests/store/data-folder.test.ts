import { spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { DataFolder } from '../../src/store/data-folder.js';
import { temporaryFolder } from '../support/cell.js';

const NOW = '2031-01-20T12:00:00Z';

/** A process that is gone. */
const ended = (): number => spawnSync(process.execPath, ['-e', '']).pid;

describe('a demo that is played', () => {
  let folder: string;
  let data: DataFolder;
  const file = () => path.join(folder, 'folder.json');
  const cutOff = () =>
    fs.writeFileSync(file(), fs.readFileSync(file(), 'utf8').replace(`${process.pid}`, `${ended()}`));

  beforeEach(() => {
    folder = path.join(temporaryFolder('data'), 'data');
    data = DataFolder.createDemo(folder, NOW, { toTheEnd: true });
  });

  it('is open to the process that plays it, whose clock runs on', () => {
    data.advanceTo('2031-02-01T12:00:00Z');
    expect(DataFolder.open(folder).clock.now().toISOString()).toBe('2031-02-01T12:00:00.000Z');
  });

  it('is refused when it was cut off, with what to do, and can be played again', () => {
    data.advanceTo('2031-02-01T12:00:00Z');
    cutOff();
    expect(() => DataFolder.open(folder)).toThrow(`lotwright demo --data ${folder}`);
    expect(DataFolder.holdsDemo(folder)).toBe(true);
  });

  it('is open to all once it was played to its end', () => {
    data.advanceTo('2031-02-01T12:00:00Z');
    data.endsPlay();
    cutOff();
    expect(DataFolder.open(folder).clock.now().toISOString()).toBe('2031-02-01T12:00:00.000Z');
  });
});
