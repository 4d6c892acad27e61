import { clockOfMachine } from '../base/clock.js';
import { AppError } from '../base/errors.js';

/** Further apart, two clocks give entries times of which nobody knows which came first. */
export const MOST_SKEW_MS = 60_000;

/** What is wrong with the clock of this machine, held against that of the database; undefined when nothing is. */
export function skewText(ofDatabase: string, ofMachine = clockOfMachine.now()): string | undefined {
  const aheadMs = ofMachine.getTime() - Date.parse(ofDatabase);
  if (Math.abs(aheadMs) <= MOST_SKEW_MS) return undefined;
  const seconds = Math.round(Math.abs(aheadMs) / 1000);
  const apart = seconds < 120 ? `${seconds} seconds` : `${Math.round(seconds / 60)} minutes`;
  return `the clock of this machine is ${apart} ${aheadMs > 0 ? 'ahead of' : 'behind'} that of the database (${ofMachine.toISOString()} here, ${ofDatabase} there): set the wrong one right`;
}

/** @throws AppError CONFLICT: what this machine stores would have a wrong time. */
export function refuseSkew(ofDatabase: string): void {
  const says = skewText(ofDatabase);
  if (says !== undefined) throw new AppError('CONFLICT', `${says}; nothing was stored`);
}
