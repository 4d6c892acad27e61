import { clockOfMachine } from '../base/clock.js';
import { AppError } from '../base/errors.js';

/** Further apart, two clocks give entries times of which nobody knows which came first. */
export const MOST_SKEW_MS = 60_000;

/** What is wrong with the clock of this machine, held against that of the database; undefined when nothing is. */
export function skewFault(ofDatabase: string, ofMachine = clockOfMachine.now()): AppError | undefined {
  const aheadMs = ofMachine.getTime() - Date.parse(ofDatabase);
  if (Math.abs(aheadMs) <= MOST_SKEW_MS) return undefined;
  return new AppError(
    'CONFLICT',
    `the clock of this machine is ${Math.round(Math.abs(aheadMs) / 60_000)} minutes ${aheadMs > 0 ? 'ahead of' : 'behind'} that of the database (${ofMachine.toISOString()} here, ${ofDatabase} there); nothing was stored: set the wrong one right`,
  );
}
