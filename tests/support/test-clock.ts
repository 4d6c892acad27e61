import type { Clock } from '../../src/base/clock.js';

/** The machine's clock as a test sets it. */
export class TestClock implements Clock {
  private moment = new Date('2031-03-04T08:00:00Z');

  now(): Date {
    return this.moment;
  }

  forwardMs(ms: number): void {
    this.moment = new Date(this.moment.getTime() + ms);
  }
}

export const MINUTE_MS = 60_000;
export const HOUR_MS = 60 * MINUTE_MS;
