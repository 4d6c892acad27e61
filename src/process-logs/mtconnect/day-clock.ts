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
  /** Index behind the `Z` of the time that was read. */
  end = 0;
  private readonly minute = new Uint8Array(MINUTE_LENGTH);
  private minuteUs = Number.NaN;

  /**
   * @param to where the bytes end that may be looked at.
   * @returns microseconds since 1970, or NaN for what `readTimestampUs` has to look at.
   */
  read(bytes: Buffer, from: number, to: number): number {
    if (to - from < SHORTEST) return Number.NaN;
    if (!this.isSameMinute(bytes, from)) {
      this.minuteUs = readTimestampUs(`${bytes.toString('latin1', from, from + MINUTE_LENGTH)}00Z`) ?? Number.NaN;
      this.minute.set(bytes.subarray(from, from + MINUTE_LENGTH));
    }
    const tens = bytes[from + MINUTE_LENGTH]! - ZERO;
    const ones = bytes[from + MINUTE_LENGTH + 1]! - ZERO;
    if (tens < 0 || tens > 5 || ones < 0 || ones > 9) return Number.NaN;
    const wholeUs = this.minuteUs + (tens * 10 + ones) * 1_000_000;
    const at = from + MINUTE_LENGTH + 2;
    if (bytes[at] !== POINT) {
      this.end = at + 1;
      return bytes[at] === UPPER_Z ? wholeUs : Number.NaN;
    }
    return wholeUs + this.fractionUs(bytes, at + 1, to);
  }

  /** `.25` are 250 000; what is finer than a microsecond is cut off. */
  private fractionUs(bytes: Buffer, from: number, to: number): number {
    let us = 0;
    let at = from;
    for (; at < to; at += 1) {
      const digit = bytes[at]! - ZERO;
      if (digit < 0 || digit > 9) break;
      if (at - from < US_DIGITS) us = us * 10 + digit;
    }
    if (at === from || at >= to || bytes[at] !== UPPER_Z) return Number.NaN;
    this.end = at + 1;
    for (let digits = at - from; digits < US_DIGITS; digits += 1) us *= 10;
    return us;
  }

  private isSameMinute(bytes: Buffer, from: number): boolean {
    const { minute } = this;
    for (let index = MINUTE_LENGTH - 1; index >= 0; index -= 1) if (bytes[from + index] !== minute[index]) return false;
    return true;
  }
}
