import type { DewPointTrouble, RejectionCode } from '../dossier/finding-detail.js';
import { CARRIAGE_RETURN, COMMA, DIGIT_ZERO, LINE_FEED, MINUS, matches, POINT, strictTextOf, textOf } from './bytes.js';
import { isConverted, type ScannedChannel } from './channels.js';
import { splitCsvLine } from './csv-line.js';
import { DewPointConversion } from './dew-point.js';
import { digitsIn } from './digits.js';
import { FIRST_COLUMNS } from './header.js';
import { quote, type Refusal } from './rejection.js';
import { hasControlCharacter, isNumberText, readLayer } from './row-text.js';
import { readTimestampUs } from './timestamp.js';

/** The layer of a row that names none. */
export const NO_LAYER = -1;

/** `YYYY-MM-DDTHH:MM:` */
const MINUTE_LENGTH = 17;
/** A number of at most so many digits is an exact integer, and dividing it by a power of ten rounds only once. */
const EXACT_DIGITS = 15;
const POWERS_OF_TEN = Float64Array.from({ length: EXACT_DIGITS + 1 }, (_, exponent) => 10 ** exponent);
/** Digits on either side of the point that are read at once. */
const AT_ONCE = 4;
const SMALL_POWERS_OF_TEN = Int32Array.from({ length: AT_ONCE + 1 }, (_, exponent) => 10 ** exponent);
/** In the shape of a cell: length of the sign in the lowest bit, then three bits each for the digits before and behind the point. */
const BEFORE = 1;
const BEHIND = 4;
const THREE_BITS = 7;
const LONGEST_LAYER = 7;
const MOST_SECOND_DECIMALS = 6;
const NOTHING = new Uint8Array(0);
const NO_WORDS = new DataView(new ArrayBuffer(0));
const encoder = new TextEncoder();

/**
 * Reads the rows of a log. `readUsual` takes a row that looks like the one before it: same minute, offset, zone and step
 * (compared as bytes) and plain decimals; it makes no text. A cell that looks like the one above it, with as many digits
 * before and behind the point, is read in words instead of bytes. Every other line goes to `readAny`, which reads the line as
 * text, decides what is wrong with it, and remembers what the next usual row looks like. Whatever `readUsual` accepts,
 * `readAny` reads alike. After either succeeded, the fields hold the row.
 */
export class RowReader {
  /** Microseconds since 1970, recorder's clock. */
  timeUs = 0;
  layer = NO_LAYER;
  zone = '';
  step = '';
  /** Changes whenever zone or step may have changed. */
  placeChanges = 0;
  /** In the order and unit of the plan; NaN for a blank or NaN cell and for a dew point that could not be converted. The caller may swap the array. */
  values: Float64Array;
  /** Channels of this row whose cell was empty, or said NaN. */
  readonly blanks: number[] = [];
  readonly notNumbers: number[] = [];
  /** Channels of this row whose dew point could not be turned into a share of moisture, and why. */
  readonly unconverted: { readonly channel: number; readonly trouble: DewPointTrouble }[] = [];

  /** Why `readAny` returned false. */
  refusal: Refusal | null = null;

  /** Whether any channel is logged in another unit than the plan's. */
  private readonly isConverted: boolean;
  private readonly dewPoints: readonly DewPointConversion[];
  /** Bytes of the last row: date to minute, offset, and zone and step with the comma between. */
  private minute = NOTHING;
  private offset = NOTHING;
  private place = NOTHING;
  private minuteUs = 0;
  /** How the last plain decimal of each column looked; 0 for as no cell does. */
  private readonly shapes: Int32Array;
  /** The bytes that are read, as words. */
  private words: DataView = NO_WORDS;
  private wordsOf: Uint8Array = NOTHING;

  constructor(
    private readonly channels: readonly ScannedChannel[],
    private readonly order: Int32Array,
  ) {
    this.values = new Float64Array(channels.length);
    this.shapes = new Int32Array(order.length);
    this.isConverted = channels.some(isConverted);
    this.dewPoints = channels.flatMap(({ dewPoint }, channel) =>
      dewPoint === null ? [] : [new DewPointConversion(channel, dewPoint)],
    );
  }

  /**
   * Reads the line that begins at `start`. A line feed must follow somewhere: it ends every loop, so none looks for the
   * end of the bytes.
   * @returns the index behind the line feed, or −1 when the line is not a usual row; nothing is rejected then.
   */
  readUsual(bytes: Uint8Array, start: number): number {
    if (this.place.length === 0) return -1;
    if (bytes !== this.wordsOf) this.takeWords(bytes);
    this.forgetOddCells();
    let at = this.usualTime(bytes, start);
    if (at >= 0) at = this.usualLayer(bytes, at);
    if (at < 0 || !matches(bytes, at, this.place) || bytes[at + this.place.length] !== COMMA) return -1;
    const behind = this.usualValues(bytes, at + this.place.length + 1);
    if (behind >= 0 && this.dewPoints.length > 0) this.convertDewPoints();
    return behind;
  }

  /** Reads any line, from `start` to `end`. @returns false, and the reason in the fields, when it must be rejected. */
  readAny(bytes: Uint8Array, start: number, end: number): boolean {
    this.forgetOddCells();
    const text = strictTextOf(bytes, start, end);
    if (text === undefined) return this.refuse('encoding', '', textOf(bytes, start, end));
    if (hasControlCharacter(text)) return this.refuse('control character', '', text);
    const fields = splitCsvLine(text);
    if (fields === undefined) return this.refuse('quotes', '', text);
    const expected = FIRST_COLUMNS.length + this.order.length;
    if (fields.length !== expected) {
      return this.refuse('number of fields', '', text, { found: fields.length, expected });
    }
    const [time = '', layerText = '', zone = '', step = ''] = fields;
    const timeUs = readTimestampUs(time);
    if (timeUs === undefined) return this.refuse('timestamp', 'timestamp', time);
    const layer = layerText === '' ? NO_LAYER : readLayer(layerText, LONGEST_LAYER);
    if (layer === undefined) return this.refuse('layer', 'layer', layerText);
    if (zone !== zone.trim()) return this.refuse('zone', 'zone', zone);
    if (step !== step.trim()) return this.refuse('step', 'step', step);
    for (let column = 0; column < this.order.length; column += 1) {
      const channel = this.order[column]!;
      const cell = fields[FIRST_COLUMNS.length + column]!;
      if (!this.takeCell(channel, cell)) return this.refuse('number', this.channels[channel]!.name, cell);
    }
    this.timeUs = timeUs;
    this.layer = layer;
    this.zone = zone;
    this.step = step;
    this.placeChanges += 1;
    this.convertDewPoints();
    this.remember(time);
    return true;
  }

  /** Each of these returns the index behind its field and comma, or −1. */
  private usualTime(bytes: Uint8Array, start: number): number {
    if (!matches(bytes, start, this.minute)) return -1;
    let at = start + MINUTE_LENGTH;
    const tens = bytes[at]! - DIGIT_ZERO;
    const ones = bytes[at + 1]! - DIGIT_ZERO;
    if (tens < 0 || tens > 5 || ones < 0 || ones > 9) return -1;
    at += 2;
    let fraction = 0;
    let decimals = 0;
    if (bytes[at] === POINT) {
      at += 1;
      const first = at;
      for (let digit = bytes[at]! - DIGIT_ZERO; digit >= 0 && digit <= 9; digit = bytes[at]! - DIGIT_ZERO) {
        fraction = fraction * 10 + digit;
        at += 1;
      }
      decimals = at - first;
      if (decimals === 0 || decimals > MOST_SECOND_DECIMALS) return -1;
    }
    if (!matches(bytes, at, this.offset)) return -1;
    at += this.offset.length;
    if (bytes[at] !== COMMA) return -1;
    const fractionUs = fraction * POWERS_OF_TEN[MOST_SECOND_DECIMALS - decimals]!;
    this.timeUs = this.minuteUs + (tens * 10 + ones) * 1_000_000 + fractionUs;
    return at + 1;
  }

  private usualLayer(bytes: Uint8Array, start: number): number {
    let at = start;
    let layer = 0;
    for (let digit = bytes[at]! - DIGIT_ZERO; digit >= 0 && digit <= 9; digit = bytes[at]! - DIGIT_ZERO) {
      layer = layer * 10 + digit;
      at += 1;
    }
    if (bytes[at] !== COMMA || at - start > LONGEST_LAYER) return -1;
    this.layer = at === start ? NO_LAYER : layer;
    return at + 1;
  }

  private usualValues(bytes: Uint8Array, start: number): number {
    const { order, isConverted } = this;
    const last = order.length - 1;
    let at = start;
    for (let column = 0; column <= last; column += 1) {
      const channel = order[column]!;
      const end = this.shapedCell(bytes, at, column, channel, column < last ? COMMA : LINE_FEED);
      if (end >= 0) {
        if (isConverted) this.convert(channel);
        at = end + 1;
        continue;
      }
      at = this.plainCell(bytes, at, column, channel);
      if (at < 0 || (bytes[at] !== COMMA && column < last)) return -1;
      at += 1;
    }
    if (bytes[at - 1] === LINE_FEED) return at;
    return bytes[at - 1] === CARRIAGE_RETURN && bytes[at] === LINE_FEED ? at + 1 : -1;
  }

  /** @returns the index of the byte that ends the cell, or −1 when it does not look like the one above it. */
  private shapedCell(bytes: Uint8Array, at: number, column: number, channel: number, ending: number): number {
    const { words } = this;
    const shape = this.shapes[column]!;
    const sign = shape & 1;
    const before = (shape >> BEFORE) & THREE_BITS;
    const behind = shape >> BEHIND;
    const point = at + sign + before;
    const end = behind === 0 ? point : point + 1 + behind;
    if (shape === 0 || end >= bytes.length || bytes[end] !== ending) return -1;
    if ((sign !== 0 && bytes[at] !== MINUS) || (behind !== 0 && bytes[point] !== POINT)) return -1;
    const whole = digitsIn(words.getInt32(point - AT_ONCE, true), before);
    const part = behind === 0 ? 0 : digitsIn(words.getInt32(end - AT_ONCE, true), behind);
    if (whole < 0 || part < 0) return -1;
    const tens = SMALL_POWERS_OF_TEN[behind]!;
    const value = (Math.imul(whole, tens) + part) / tens;
    this.values[channel] = sign !== 0 ? -value : value;
    return end;
  }

  /** @returns the index of the byte that ends the cell, or −1 when it holds no number. */
  private plainCell(bytes: Uint8Array, cell: number, column: number, channel: number): number {
    let at = cell;
    const isNegative = bytes[at] === MINUS;
    if (isNegative) at += 1;
    const firstDigit = at;
    let mantissa = 0;
    let digit = bytes[at]! - DIGIT_ZERO;
    for (; digit >= 0 && digit <= 9; digit = bytes[at]! - DIGIT_ZERO) {
      mantissa = mantissa * 10 + digit;
      at += 1;
    }
    let digits = at - firstDigit;
    let decimals = 0;
    if (bytes[at] === POINT) {
      at += 1;
      const firstDecimal = at;
      for (digit = bytes[at]! - DIGIT_ZERO; digit >= 0 && digit <= 9; digit = bytes[at]! - DIGIT_ZERO) {
        mantissa = mantissa * 10 + digit;
        at += 1;
      }
      decimals = at - firstDecimal;
      digits += decimals;
    }
    if (isCellEnd(bytes[at]!) && digits > 0 && digits <= EXACT_DIGITS) {
      const value = decimals === 0 ? mantissa : mantissa / POWERS_OF_TEN[decimals]!;
      this.values[channel] = isNegative ? -value : value;
      if (this.isConverted) this.convert(channel);
      this.rememberShape(column, isNegative, digits - decimals, decimals);
      return at;
    }
    while (!isCellEnd(bytes[at]!)) at += 1;
    return this.takeCell(channel, textOf(bytes, cell, at)) ? at : -1;
  }

  private rememberShape(column: number, isNegative: boolean, before: number, behind: number): void {
    const isUsual = before > 0 && before <= AT_ONCE && behind <= AT_ONCE;
    this.shapes[column] = isUsual ? (isNegative ? 1 : 0) | (before << BEFORE) | (behind << BEHIND) : 0;
  }

  private takeWords(bytes: Uint8Array): void {
    this.wordsOf = bytes;
    this.words = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  }

  /** Takes the text of a cell that is not a plain decimal of at most 15 digits. @returns false when it is no number. */
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
    const value = isNumberText(text) ? Number(text) : Number.NaN;
    if (!Number.isFinite(value)) return false;
    this.values[channel] = value;
    this.convert(channel);
    return true;
  }

  private convert(channel: number): void {
    const { factor, offset } = this.channels[channel]!;
    if (factor !== 1 || offset !== 0) this.values[channel] = this.values[channel]! * factor + offset;
  }

  /** When all cells of the row are there, since a dew point needs the pressure beside it. */
  private convertDewPoints(): void {
    for (const conversion of this.dewPoints) {
      const trouble = conversion.apply(this.values);
      if (trouble !== undefined) this.unconverted.push({ channel: conversion.channel, trouble });
    }
  }

  /** Keeps the bytes that a usual row after this one begins with. A name with a comma must be quoted, so it is not usual. */
  private remember(time: string): void {
    const isUsual = !/[",]/.test(this.zone + this.step);
    this.place = isUsual ? encoder.encode(`${this.zone},${this.step}`) : NOTHING;
    this.minute = encoder.encode(time.slice(0, MINUTE_LENGTH));
    const offset = time.endsWith('Z') ? 'Z' : time.slice(-'+00:00'.length);
    this.offset = encoder.encode(offset);
    this.minuteUs = readTimestampUs(`${time.slice(0, MINUTE_LENGTH)}00${offset}`)!;
  }

  /** Setting the length of an array is slow, so only when there is something in it. */
  private forgetOddCells(): void {
    if (this.blanks.length > 0) this.blanks.length = 0;
    if (this.notNumbers.length > 0) this.notNumbers.length = 0;
    if (this.unconverted.length > 0) this.unconverted.length = 0;
  }

  private refuse(code: RejectionCode, field: string, found: string, fields?: Refusal['fields']): false {
    this.refusal = { code, field, found: quote(found), ...(fields && { fields }) };
    return false;
  }
}

function isCellEnd(byte: number): boolean {
  return byte === COMMA || byte === LINE_FEED || byte === CARRIAGE_RETURN;
}
