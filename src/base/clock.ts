import { AppError } from './errors.js';
import type { Stamp } from './stamp.js';

/** The only source of time outside the database and the files that are taken in. */
export interface Clock {
  now(): Date;
}

/** Under this name a test may give services another machine's time. */
export const MACHINE_CLOCK = Symbol('clock of the machine');

export const systemClock: Clock = { now: () => new Date() };

/** What the machine itself shows, also where a program is told another time: for holding it against another machine. */
export const clockOfMachine: Clock = { now: () => new Date() };

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

/** The offset is that of this machine at that moment, `+01:00`; a demo folder keeps to UTC. */
export function stamp(clock: Clock): Stamp {
  const now = clock.now();
  return { utc: now.toISOString(), offset: clock instanceof DemoClock ? '+00:00' : offsetText(now) };
}

/** The zone in which the clocks of this place go: that of this machine, and UTC in a demo folder. */
export class SiteZone {
  private readonly isUtc: boolean;

  constructor(clock: Clock) {
    this.isUtc = clock instanceof DemoClock;
  }

  get name(): string {
    return this.isUtc ? 'UTC' : Intl.DateTimeFormat().resolvedOptions().timeZone;
  }

  /** What the clocks of this place show at a moment: `2031-03-03T08:15`, with what is not zero of seconds. */
  local(moment: string): string | undefined {
    const at = MOMENT.test(moment) ? Date.parse(moment) : Number.NaN;
    if (Number.isNaN(at)) return undefined;
    const text = new Date(at + this.minutesAt(at) * 60_000).toISOString();
    return text.slice(0, -1).replace(/(?::00)?\.000$/, '');
  }

  /** The offset from UTC at a moment: `+01:00`. */
  offset(moment: string): string {
    return minutesText(this.minutesAt(Date.parse(moment)));
  }

  /**
   * The moment at which the clocks of this place show a time, such as `2031-03-03T08:15`. Of the hour that comes twice in
   * autumn it is the first, and of the one that spring leaves out the next. Another text comes back as it is.
   */
  moment(local: string): string {
    if (!LOCAL.test(local)) return local;
    const at = Date.parse(this.isUtc ? `${local}Z` : local);
    if (Number.isNaN(at)) return local;
    const shown = this.local(new Date(at).toISOString())!;
    return `${shown}${shown.length === 16 ? ':00' : ''}${minutesText(this.minutesAt(at))}`;
  }

  private minutesAt(at: number): number {
    return this.isUtc ? 0 : -new Date(at).getTimezoneOffset();
  }
}

const MOMENT = /^\d{4}-\d\d-\d\dT.*(?:Z|[+-]\d\d:\d\d)$/;
const LOCAL = /^\d{4}-\d\d-\d\dT\d\d:\d\d(?::\d\d(?:\.\d{1,3})?)?$/;

const offsetText = (moment: Date): string => minutesText(-moment.getTimezoneOffset());

function minutesText(minutes: number): string {
  const two = (value: number) => String(Math.floor(Math.abs(value))).padStart(2, '0');
  return `${minutes < 0 ? '-' : '+'}${two(minutes / 60)}:${two(minutes % 60)}`;
}
