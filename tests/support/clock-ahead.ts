import { type Clock, systemClock } from '../../src/base/clock.js';

/**
 * What tests take in happened in an invented spring of 2031, and nothing is taken in before it happened. So the clock of
 * the program runs ahead during a run of the tests: it begins at noon of the day after the last build of the cell.
 */
const BEGINS = Date.parse('2031-03-04T12:00:00Z');
const VARIABLE = 'TEST_CLOCK_AHEAD_MS';

/** Says once, for all processes of the run, how far it runs ahead. */
export function setClockAhead(): void {
  process.env[VARIABLE] = String(BEGINS - Date.now());
}

/** @param clock the clock of the machine, as the program has it. */
export function runAhead(clock: Clock): void {
  const aheadMs = Number(process.env[VARIABLE]);
  clock.now = () => new Date(Date.now() + aheadMs);
}

/** Before the first chamber of the cell closed: its site was there by then. */
export const SITE_DAY = '2031-01-20T12:00:00Z';

/** Does something at another moment, at which the clock of this process stands meanwhile. */
export async function atMoment<T>(moment: string, work: () => Promise<T>): Promise<T> {
  const { now } = systemClock;
  systemClock.now = () => new Date(moment);
  try {
    return await work();
  } finally {
    systemClock.now = now;
  }
}
