import type { DayClock } from './day-clock.js';
import { EXACT_DIGITS, type PlainDecimal } from './plain-decimal.js';
import type { QuickObservation } from './quick-observation.js';

const ZERO = 48;
/** What time, number and value may be longer than the last ones were, all together. */
const LONGER = 128;
/** Of a longer one nothing is kept. */
const LONGEST = 1024;
const NOTHING = new Uint8Array(0);

/**
 * How one observation looked, from the blanks before it to its end: bytes that stay, and between them three that do not, its
 * time, its number and its value. The next of its data item is read by comparing what stays, so that each byte is looked at
 * once. It takes only what the attributes were read of once, with a time, a whole number and a plain decimal at their places.
 */
export class TagLikeness {
  /** What came behind one like this the last time: of the same data item, or of the next one. */
  next: TagLikeness = this;
  private bytes: Uint8Array = NOTHING;
  /** Where time and number begin and end in the bytes, the earlier one first, and where the value does. */
  private firstFrom = 0;
  private firstTo = 0;
  private secondFrom = 0;
  private secondTo = 0;
  private valueFrom = 0;
  private valueTo = 0;
  private isTimeFirst = true;
  private dataItem = '';
  private linesBefore = 0;
  private linesInside = 0;

  /** @param places where in `from` time, number and value begin and end, in this order. */
  take(
    from: Uint8Array,
    start: number,
    end: number,
    { dataItem, linesBefore, linesInside }: Readonly<QuickObservation>,
    places: readonly number[],
  ): void {
    if (end - start > LONGEST) return;
    if (this.bytes.length !== end - start) this.bytes = new Uint8Array(end - start);
    this.bytes.set(from.subarray(start, end));
    const [timeFrom = 0, timeTo = 0, numberFrom = 0, numberTo = 0, valueFrom = 0, valueTo = 0] = places;
    this.isTimeFirst = timeFrom < numberFrom;
    this.firstFrom = (this.isTimeFirst ? timeFrom : numberFrom) - start;
    this.firstTo = (this.isTimeFirst ? timeTo : numberTo) - start;
    this.secondFrom = (this.isTimeFirst ? numberFrom : timeFrom) - start;
    this.secondTo = (this.isTimeFirst ? numberTo : timeTo) - start;
    this.valueFrom = valueFrom - start;
    this.valueTo = valueTo - start;
    this.dataItem = dataItem;
    this.linesBefore = linesBefore;
    this.linesInside = linesInside;
  }

  /** @returns the index behind an element like this one, with what it says in `found`; −1 for any other. */
  read(bytes: Buffer, start: number, found: QuickObservation, clock: DayClock, decimal: PlainDecimal): number {
    const { length } = this.bytes;
    if (length === 0 || start + length + LONGER > bytes.length) return -1;
    let at = this.same(bytes, start, 0, this.firstFrom);
    if (at < 0) return -1;
    at = this.isTimeFirst ? readTime(bytes, at, found, clock) : readNumber(bytes, at, found);
    if (at < 0) return -1;
    at = this.same(bytes, at, this.firstTo, this.secondFrom);
    if (at < 0) return -1;
    at = this.isTimeFirst ? readNumber(bytes, at, found) : readTime(bytes, at, found, clock);
    if (at < 0) return -1;
    const valueFrom = this.same(bytes, at, this.secondTo, this.valueFrom);
    if (valueFrom < 0) return -1;
    const valueTo = decimal.read(bytes, valueFrom, bytes.length);
    if (valueTo < 0) return -1;
    const end = this.same(bytes, valueTo, this.valueTo, length);
    if (end < 0) return -1;
    found.number = decimal.value;
    found.valueFrom = valueFrom;
    found.valueTo = valueTo;
    found.dataItem = this.dataItem;
    found.linesBefore = this.linesBefore;
    found.linesInside = this.linesInside;
    return end;
  }

  /** @returns the index behind what stays from `from` to `to`, or −1 when something else stands there. */
  private same(bytes: Uint8Array, start: number, from: number, to: number): number {
    const own = this.bytes;
    const ahead = start - from;
    if (to + ahead > bytes.length) return -1;
    for (let at = from; at < to; at += 1) if (bytes[at + ahead] !== own[at]) return -1;
    return to + ahead;
  }
}

function readTime(bytes: Buffer, from: number, found: QuickObservation, clock: DayClock): number {
  found.timeUs = clock.read(bytes, from, bytes.length);
  return Number.isNaN(found.timeUs) ? -1 : clock.end;
}

function readNumber(bytes: Uint8Array, from: number, found: QuickObservation): number {
  const most = Math.min(bytes.length, from + EXACT_DIGITS + 1);
  let number = 0;
  let at = from;
  for (; at < most; at += 1) {
    const digit = bytes[at]! - ZERO;
    if (digit < 0 || digit > 9) break;
    number = number * 10 + digit;
  }
  if (at - from > EXACT_DIGITS || number < 1) return -1;
  found.sequence = number;
  return at;
}
