import fs from 'node:fs';
import { clockOfMachine } from './clock.js';

const DAY_MS = 24 * 60 * 60_000;

/** Whether nobody has touched a file or folder for a day; false for what is gone meanwhile. */
export function isDayOld(place: string): boolean {
  const stat = fs.statSync(place, { throwIfNoEntry: false });
  return stat !== undefined && stat.mtimeMs < clockOfMachine.now().getTime() - DAY_MS;
}
