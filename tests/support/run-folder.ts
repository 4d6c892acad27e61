import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { setClockAhead } from './clock-ahead.js';
import { isOnServer, startServerOfRun } from './run-on-server.js';

const MEMORY = '/dev/shm';
/** A run takes a few hundred megabytes, the long one more. */
const ROOM_BYTES = 4e9;
const NAME = /^lotwright-tests-(\d+)-/;

/**
 * One folder for everything that a run of the tests writes. It lies in memory where the system offers room there: the
 * store waits for its disk at every change, and a run would wait with it.
 * @returns what removes the folder at the end of the run.
 */
export default async function makeRunFolder(): Promise<() => void> {
  const place = placeWithRoom();
  removeLeftBehind(place);
  const folder = fs.mkdtempSync(path.join(place, `lotwright-tests-${process.pid}-`));
  // What `os.tmpdir()` gives in every process of the run.
  process.env.TMPDIR = folder;
  setClockAhead();
  const stopServer = isOnServer ? await startServerOfRun() : undefined;
  return () => {
    stopServer?.();
    fs.rmSync(folder, { recursive: true, force: true });
  };
}

function placeWithRoom(): string {
  try {
    const { bavail, bsize } = fs.statfsSync(MEMORY);
    if (bavail * bsize >= ROOM_BYTES) return MEMORY;
  } catch {}
  return os.tmpdir();
}

/** Folders of runs that were killed. */
function removeLeftBehind(place: string): void {
  for (const name of fs.readdirSync(place)) {
    const pid = NAME.exec(name)?.[1];
    if (pid !== undefined && !isRunning(Number(pid)))
      fs.rmSync(path.join(place, name), { recursive: true, force: true });
  }
}

function isRunning(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}
