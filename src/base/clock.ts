import { AppError } from './errors.js';

/** The only source of time outside the database and the files that are taken in. */
export interface Clock {
  now(): Date;
}

/** Under this name a test may give services another machine's time. */
export const MACHINE_CLOCK = Symbol('clock of the machine');

export const systemClock: Clock = { now: () => new Date() };

/** Clock of a demo folder: it follows the scenario and stands still between two acts. */
export class DemoClock implements Clock {
  constructor(private moment: Date) {}

  now(): Date {
    return this.moment;
  }

  /** @throws AppError CONFLICT when the scenario would run backwards. */
  advanceTo(moment: string): void {
    const next = new Date(moment);
    if (!(next >= this.moment)) {
      throw new AppError('CONFLICT', `the demo clock stands at ${this.moment.toISOString()} and never goes back`);
    }
    this.moment = next;
  }
}

/** A moment for storing: UTC, and beside it the offset from UTC that the place had. */
export interface Stamp {
  readonly utc: string;
  readonly offset: string;
}

/** The offset is that of this machine at that moment, `+01:00`; a demo folder keeps to UTC. */
export function stamp(clock: Clock): Stamp {
  const now = clock.now();
  return { utc: now.toISOString(), offset: clock instanceof DemoClock ? '+00:00' : offsetText(now) };
}

/** The calendar day of a moment where it happened: `2031-03-04`. */
export function localDay({ utc, offset }: Stamp): string {
  const [hours, minutes] = offset.slice(1).split(':').map(Number);
  const sign = offset.startsWith('-') ? -1 : 1;
  const shifted = Date.parse(utc) + sign * (hours! * 60 + minutes!) * 60_000;
  return new Date(shifted).toISOString().slice(0, 10);
}

function offsetText(moment: Date): string {
  const minutes = -moment.getTimezoneOffset();
  const two = (value: number) => String(Math.floor(Math.abs(value))).padStart(2, '0');
  return `${minutes < 0 ? '-' : '+'}${two(minutes / 60)}:${two(minutes % 60)}`;
}
