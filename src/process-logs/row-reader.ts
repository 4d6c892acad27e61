import {
  COMMA,
  DIGIT_ZERO,
  hasByte,
  hasControlCharacter,
  indexOfComma,
  MINUS,
  matches,
  POINT,
  QUOTE,
  strictTextOf,
  textOf,
} from './bytes.js';
import { splitCsvLine } from './csv-line.js';
import { FIRST_COLUMNS } from './header.js';
import type { PlannedChannel } from './plan.js';
import { quote, type RejectionCode } from './rejection.js';
import { readTimestampUs } from './timestamp.js';

/** The layer of a row that names none. */
export const NO_LAYER = -1;

/** `YYYY-MM-DDTHH:MM:` */
const MINUTE_LENGTH = 17;
/** The shortest timestamp, `YYYY-MM-DDTHH:MM:SSZ`. */
const SHORTEST_TIMESTAMP = 20;
const LONGEST_LAYER = 7;
/** A number of at most so many digits is an exact integer, and dividing it by a power of ten rounds only once. */
const EXACT_DIGITS = 15;
const POWERS_OF_TEN = Float64Array.from({ length: EXACT_DIGITS + 1 }, (_, exponent) => 10 ** exponent);
const NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?$/;
const MICROSECONDS = Float64Array.from({ length: 7 }, (_, digits) => 10 ** (6 - digits));

/**
 * Reads the lines of a log. After `read` returned true, the fields hold the row; the usual row makes no text at all.
 * What repeats from row to row (minute, offset, zone and step) is compared as bytes and decoded once.
 */
export class RowReader {
  /** Microseconds since 1970, recorder's clock. */
  timeUs = 0;
  layer = NO_LAYER;
  zone = '';
  step = '';
  /** Changes whenever zone or step may have changed. */
  placeChanges = 0;
  /** In the order and unit of the plan; NaN for a blank or NaN cell. The caller may swap the array. */
  values: Float64Array;
  /** Channels of this row whose cell was empty, or said NaN. */
  readonly blanks: number[] = [];
  readonly notNumbers: number[] = [];

  /** Why `read` returned false. */
  code: RejectionCode = 'number of fields';
  field = '';
  found = '';

  private readonly converted: Uint8Array;
  private minute = new Uint8Array(0);
  private offset = new Uint8Array(0);
  private minuteUs = 0;
  private place = new Uint8Array(0);

  constructor(
    private readonly channels: readonly PlannedChannel[],
    private readonly order: Int32Array,
  ) {
    this.values = new Float64Array(channels.length);
    this.converted = Uint8Array.from(channels, ({ factor, offset }) => (factor === 1 && offset === 0 ? 0 : 1));
  }

  read(bytes: Uint8Array, start: number, end: number): boolean {
    this.blanks.length = 0;
    this.notNumbers.length = 0;
    let at = this.readTime(bytes, start, end);
    if (at >= 0) at = this.readLayer(bytes, at, end);
    if (at >= 0) at = this.readPlace(bytes, at, end);
    if (at >= 0) at = this.readValues(bytes, at, end);
    if (at >= 0) return true;
    // Quotes are rare, and so is a rejected line: only then is the line looked at for them.
    return hasByte(bytes, QUOTE, start, end) && this.readQuoted(bytes, start, end);
  }

  /** Each of these returns the index behind its field and comma, or −1 when the line is rejected. */
  private readTime(bytes: Uint8Array, start: number, end: number): number {
    const { minute, offset } = this;
    let at = start + MINUTE_LENGTH;
    if (minute.length > 0 && end - start >= SHORTEST_TIMESTAMP && matches(bytes, start, minute)) {
      const tens = bytes[at]! - DIGIT_ZERO;
      const ones = bytes[at + 1]! - DIGIT_ZERO;
      at += 2;
      let fraction = 0;
      let digits = 0;
      if (bytes[at] === POINT) {
        at += 1;
        for (let digit = bytes[at]! - DIGIT_ZERO; digit >= 0 && digit <= 9; digit = bytes[at]! - DIGIT_ZERO) {
          fraction = fraction * 10 + digit;
          digits += 1;
          at += 1;
        }
        if (digits === 0) digits = 7;
      }
      const behind = at + offset.length;
      const isUsual =
        tens >= 0 && tens <= 5 && ones >= 0 && ones <= 9 && digits <= 6 && behind < end && bytes[behind] === COMMA;
      if (isUsual && matches(bytes, at, offset)) {
        this.timeUs = this.minuteUs + (tens * 10 + ones) * 1_000_000 + fraction * MICROSECONDS[digits]!;
        return behind + 1;
      }
    }
    return this.readNewMinute(bytes, start, end);
  }

  private readNewMinute(bytes: Uint8Array, start: number, end: number): number {
    const comma = indexOfComma(bytes, start, end);
    const text = textOf(bytes, start, comma);
    const timeUs = readTimestampUs(text);
    if (timeUs === undefined) return this.reject('timestamp', 'timestamp', text);
    if (comma >= end) return this.reject('number of fields', 'layer', text);
    const offsetLength = text.endsWith('Z') ? 1 : '+00:00'.length;
    const seconds = Number(text.slice(MINUTE_LENGTH, text.length - offsetLength));
    this.timeUs = timeUs;
    this.minute = bytes.slice(start, start + MINUTE_LENGTH);
    this.offset = bytes.slice(comma - offsetLength, comma);
    this.minuteUs = timeUs - Math.round(seconds * 1_000_000);
    return comma + 1;
  }

  private readLayer(bytes: Uint8Array, start: number, end: number): number {
    let layer = 0;
    let at = start;
    for (; at < end && bytes[at] !== COMMA; at += 1) {
      const digit = bytes[at]! - DIGIT_ZERO;
      if (digit < 0 || digit > 9)
        return this.reject('layer', 'layer', textOf(bytes, start, indexOfComma(bytes, at, end)));
      layer = layer * 10 + digit;
    }
    if (at >= end) return this.reject('number of fields', 'zone', textOf(bytes, start, end));
    if (at - start > LONGEST_LAYER) return this.reject('layer', 'layer', textOf(bytes, start, at));
    this.layer = at === start ? NO_LAYER : layer;
    return at + 1;
  }

  private readPlace(bytes: Uint8Array, start: number, end: number): number {
    const { place } = this;
    const behind = start + place.length;
    if (place.length > 0 && behind < end && bytes[behind] === COMMA && matches(bytes, start, place)) return behind + 1;
    const zoneEnd = indexOfComma(bytes, start, end);
    const stepEnd = indexOfComma(bytes, Math.min(zoneEnd + 1, end), end);
    if (stepEnd >= end) return this.reject('number of fields', 'step', textOf(bytes, start, end));
    const zone = strictTextOf(bytes, start, zoneEnd);
    const step = strictTextOf(bytes, zoneEnd + 1, stepEnd);
    if (!this.takePlace(zone, step)) return -1;
    this.place = bytes.slice(start, stepEnd);
    return stepEnd + 1;
  }

  private takePlace(zone: string | undefined, step: string | undefined): boolean {
    if (zone === undefined) return this.refuse('encoding', 'zone', 'bytes that are not UTF-8 text');
    if (step === undefined) return this.refuse('encoding', 'step', 'bytes that are not UTF-8 text');
    if (hasControlCharacter(zone)) return this.refuse('control character', 'zone', zone);
    if (hasControlCharacter(step)) return this.refuse('control character', 'step', step);
    if (zone.includes('"') || zone !== zone.trim()) return this.refuse('zone', 'zone', zone);
    if (step === '' || step.includes('"') || step !== step.trim()) return this.refuse('step', 'step', step);
    this.zone = zone;
    this.step = step;
    this.placeChanges += 1;
    return true;
  }

  private readValues(bytes: Uint8Array, start: number, end: number): number {
    const { order, values, converted } = this;
    let at = start;
    for (let column = 0; column < order.length; column += 1) {
      const channel = order[column]!;
      if (at > end) return this.reject('number of fields', this.channels[channel]!.name, `${column} channels`);
      const cell = at;
      let isNegative = false;
      if (bytes[at] === MINUS && at < end) {
        isNegative = true;
        at += 1;
      }
      let mantissa = 0;
      let digits = 0;
      let digitsBeforePoint = -1;
      let isPlain = true;
      for (; at < end; at += 1) {
        const byte = bytes[at]!;
        if (byte === COMMA) break;
        const digit = byte - DIGIT_ZERO;
        if (digit >= 0 && digit <= 9) {
          mantissa = mantissa * 10 + digit;
          digits += 1;
        } else if (byte === POINT && digitsBeforePoint < 0) {
          digitsBeforePoint = digits;
        } else {
          isPlain = false;
          break;
        }
      }
      if (isPlain && digits > 0 && digits <= EXACT_DIGITS) {
        const decimals = digitsBeforePoint < 0 ? 0 : digits - digitsBeforePoint;
        const value = decimals === 0 ? mantissa : mantissa / POWERS_OF_TEN[decimals]!;
        values[channel] = isNegative ? -value : value;
        if (converted[channel] === 1) this.convert(channel);
      } else {
        at = indexOfComma(bytes, at, end);
        if (!this.takeCell(channel, textOf(bytes, cell, at))) return -1;
      }
      at += 1;
    }
    if (at !== end + 1) return this.reject('number of fields', 'more fields than the header', textOf(bytes, at, end));
    return at;
  }

  private convert(channel: number): void {
    const { factor, offset } = this.channels[channel]!;
    this.values[channel] = this.values[channel]! * factor + offset;
  }

  /** A cell that is not a plain decimal of at most 15 digits. */
  private takeCell(channel: number, text: string): boolean {
    this.values[channel] = Number.NaN;
    if (text === '') {
      this.blanks.push(channel);
      return true;
    }
    if (text.toLowerCase() === 'nan') {
      this.notNumbers.push(channel);
      return true;
    }
    const value = NUMBER.test(text) ? Number(text) : Number.NaN;
    if (!Number.isFinite(value)) return this.refuse('number', this.channels[channel]!.name, text);
    this.values[channel] = value;
    if (this.converted[channel] === 1) this.convert(channel);
    return true;
  }

  private readQuoted(bytes: Uint8Array, start: number, end: number): boolean {
    this.blanks.length = 0;
    this.notNumbers.length = 0;
    const text = strictTextOf(bytes, start, end);
    if (text === undefined) return this.refuse('encoding', '', 'bytes that are not UTF-8 text');
    const fields = splitCsvLine(text);
    if (fields === undefined) return this.refuse('quotes', '', text);
    const expected = FIRST_COLUMNS.length + this.order.length;
    if (fields.length !== expected) return this.refuse('number of fields', '', `${fields.length} fields`);
    const [time = '', layer = '', zone = '', step = ''] = fields;
    const timeUs = readTimestampUs(time);
    if (timeUs === undefined) return this.refuse('timestamp', 'timestamp', time);
    if (!/^\d{0,7}$/.test(layer)) return this.refuse('layer', 'layer', layer);
    for (let column = 0; column < this.order.length; column += 1) {
      if (!this.takeCell(this.order[column]!, fields[FIRST_COLUMNS.length + column]!)) return false;
    }
    this.timeUs = timeUs;
    this.layer = layer === '' ? NO_LAYER : Number(layer);
    this.place = new Uint8Array(0);
    return this.takePlace(zone, step);
  }

  private reject(code: RejectionCode, field: string, found: string): -1 {
    this.refuse(code, field, found);
    return -1;
  }

  private refuse(code: RejectionCode, field: string, found: string): false {
    this.code = code;
    this.field = field;
    this.found = quote(found);
    return false;
  }
}
