import fs from 'node:fs';
import path from 'node:path';
import { parse } from 'yaml';
import { systemClock } from '../../src/base/clock.js';
import { PROGRAM_ROOT, PROGRAM_VERSION, programBuild } from '../../src/base/settings.js';
import { type Cell, makeCell } from './cell.js';
import { trainDeciders } from './signing-cell.js';

const DAY_MS = 86_400_000;
const LOG_PERIOD_MS = 25;
const LOG_ROWS = 121;

/** The cell of the other tests with its days moved, so that its lot is built today by this very program. */
export function cellOfToday(change: (cell: Cell) => void = () => {}): Cell {
  const cell = makeCell();
  trainDeciders(cell);
  change(cell);
  const today = systemClock.now().toISOString().slice(0, 10);
  const days = Math.round((Date.parse(today) - Date.parse('2031-03-03')) / DAY_MS);
  const moved = (day: string) => new Date(Date.parse(day) + days * DAY_MS).toISOString().slice(0, 10);
  const ofToday = JSON.parse(JSON.stringify(cell).replaceAll(/\b20\d\d-\d\d-\d\d/g, moved)) as Cell;
  ofToday.documents['site/program-version.yaml'] = thisProgram();
  ofToday.files['site/self-check.json'] = '{}';
  return ofToday;
}

/** Nobody releases anything before the cell has accepted this very program. */
function thisProgram(): Cell['documents'][string] {
  const starter = path.join(PROGRAM_ROOT, 'templates', 'starters', 'program-version.yaml');
  return { ...parse(fs.readFileSync(starter, 'utf8')), version: PROGRAM_VERSION, build: programBuild() };
}

/** Lets the lot be built from now on, in three seconds, and be measured right after. Times are those of this machine. */
export function buildNow(cell: Cell): { measuredAt: number } {
  const closedAt = Math.ceil(systemClock.now().getTime() / 1000) * 1000;
  const time = (afterMs: number) => new Date(closedAt + afterMs).toISOString();
  const lot = cell.documents['lots/L-1/lot.yaml']!;
  const [build] = lot.builds;
  Object.assign(build, { closedAt: time(0), openedAt: time((LOG_ROWS - 1) * LOG_PERIOD_MS) });
  Object.assign(build.log, { nominalPeriodMs: LOG_PERIOD_MS, gapLimitMs: 3 * LOG_PERIOD_MS });
  lot.opened.at = time(-1000);
  const [head, ...rows] = cell.files['lots/L-1/logs/run.csv']!.trimEnd().split('\n');
  const timed = rows.map((row, index) => [time(index * LOG_PERIOD_MS), ...row.split(',').slice(1)].join(','));
  cell.files['lots/L-1/logs/run.csv'] = `${[head, ...timed].join('\n')}\n`;
  const finished = (rowsLater: number) => ({ at: time((LOG_ROWS + rowsLater) * LOG_PERIOD_MS), by: 'P-OP' });
  lot.steps = [
    { step: 'clean', ...finished(1) },
    { step: 'pack', ...finished(2) },
  ];
  lot.labels = { printed: 2, used: 2, destroyed: 0, inspected: { sample: 2, ...finished(3) } };
  const measuredAt = (LOG_ROWS + 9) * LOG_PERIOD_MS;
  for (const rowsOfSheet of Object.values(cell.sheets)) {
    for (const row of rowsOfSheet) row.measuredAt = time(measuredAt);
  }
  return { measuredAt: closedAt + measuredAt };
}
