import { readTimestampUs } from '../timestamp.js';

const ZERO = 48;
const POINT = 46;
const UPPER_Z = 90;
/** `YYYY-MM-DDTHH:MM:` */
const MINUTE_LENGTH = 17;
const SHORTEST = MINUTE_LENGTH + 3;
const US_DIGITS = 6;

/** Reads times in UTC one behind the other, most of which lie in the minute of the one before. */
export class DayClock {
  private minute = '';
  private minuteUs = 0;

  /** @returns microseconds since 1970, or NaN for what `readTimestampUs` has to look at. */
  read(text: string, from: number, to: number): number {
    if (to - from < SHORTEST || text.charCodeAt(to - 1) !== UPPER_Z) return Number.NaN;
    if (this.minute === '' || !text.startsWith(this.minute, from)) {
      const minute = text.slice(from, from + MINUTE_LENGTH);
      const minuteUs = readTimestampUs(`${minute}00Z`);
      if (minuteUs === undefined) return Number.NaN;
      this.minute = minute;
      this.minuteUs = minuteUs;
    }
    const tens = text.charCodeAt(from + MINUTE_LENGTH) - ZERO;
    const ones = text.charCodeAt(from + MINUTE_LENGTH + 1) - ZERO;
    if (!(tens >= 0 && tens <= 5 && ones >= 0 && ones <= 9)) return Number.NaN;
    return this.minuteUs + (tens * 10 + ones) * 1_000_000 + fractionUs(text, from + MINUTE_LENGTH + 2, to - 1);
  }
}

/** `.25` are 250 000; what is finer than a microsecond is cut off. */
function fractionUs(text: string, from: number, to: number): number {
  if (from === to) return 0;
  if (text.charCodeAt(from) !== POINT || to === from + 1) return Number.NaN;
  let us = 0;
  for (let at = from + 1; at < to; at += 1) {
    const digit = text.charCodeAt(at) - ZERO;
    if (!(digit >= 0 && digit <= 9)) return Number.NaN;
    if (at - from <= US_DIGITS) us = us * 10 + digit;
  }
  for (let digits = to - from - 1; digits < US_DIGITS; digits += 1) us *= 10;
  return us;
}
