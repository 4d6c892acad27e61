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
  private readonly minute = new Uint8Array(MINUTE_LENGTH);
  private minuteUs = Number.NaN;

  /** @returns microseconds since 1970, or NaN for what `readTimestampUs` has to look at. */
  read(bytes: Buffer, from: number, to: number): number {
    if (to - from < SHORTEST || bytes[to - 1] !== UPPER_Z) return Number.NaN;
    if (!this.isSameMinute(bytes, from)) {
      this.minuteUs = readTimestampUs(`${bytes.toString('latin1', from, from + MINUTE_LENGTH)}00Z`) ?? Number.NaN;
      this.minute.set(bytes.subarray(from, from + MINUTE_LENGTH));
    }
    const tens = bytes[from + MINUTE_LENGTH]! - ZERO;
    const ones = bytes[from + MINUTE_LENGTH + 1]! - ZERO;
    if (tens < 0 || tens > 5 || ones < 0 || ones > 9) return Number.NaN;
    return this.minuteUs + (tens * 10 + ones) * 1_000_000 + fractionUs(bytes, from + MINUTE_LENGTH + 2, to - 1);
  }

  private isSameMinute(bytes: Buffer, from: number): boolean {
    const { minute } = this;
    for (let index = MINUTE_LENGTH - 1; index >= 0; index -= 1) if (bytes[from + index] !== minute[index]) return false;
    return true;
  }
}

/** `.25` are 250 000; what is finer than a microsecond is cut off. */
function fractionUs(bytes: Buffer, from: number, to: number): number {
  if (from === to) return 0;
  if (bytes[from] !== POINT || to === from + 1) return Number.NaN;
  let us = 0;
  for (let at = from + 1; at < to; at += 1) {
    const digit = bytes[at]! - ZERO;
    if (digit < 0 || digit > 9) return Number.NaN;
    if (at - from <= US_DIGITS) us = us * 10 + digit;
  }
  for (let digits = to - from - 1; digits < US_DIGITS; digits += 1) us *= 10;
  return us;
}
