import { MOST } from '../../base/limits.js';
import { DayClock } from './day-clock.js';
import { EXACT_DIGITS, PlainDecimal } from './plain-decimal.js';
import type { QuickObservation } from './quick-observation.js';
import { TagLikeness } from './tag-likeness.js';

/** What stopped the reading: something that is not plain, the end of the bytes inside an element, or their end before one. */
export const NOT_PLAIN = -1;
export const CUT = -2;
export const NOTHING_MORE = -3;

const LINE_FEED = 10;
const SPACE = 32;
const QUOTE = 34;
const APOSTROPHE = 39;
const SLASH = 47;
const LESS = 60;
const EQUALS = 61;
const GREATER = 62;
const ZERO = 48;
/** More data items than this have their names read anew each time. */
const MOST_NAMES = 4096;

const NAME = 1;
const PLAIN_VALUE = 2;
const PLAIN_TEXT = 4;
const BLANK = 8;
/** What each byte may be part of. Nothing beyond ASCII is plain: the XML parser reads it. */
const KINDS = Uint8Array.from({ length: 256 }, (_, code) => {
  if (code > 126) return 0;
  const sign = String.fromCharCode(code);
  const isName = /[A-Za-z0-9_.-]/.test(sign);
  const isVisible = code >= SPACE && sign !== '<' && sign !== '&';
  const isBlank = ' \n\t\r'.includes(sign);
  const isText = (isVisible && sign !== ']') || isBlank;
  return (isName ? NAME : 0) | (isVisible ? PLAIN_VALUE : 0) | (isText ? PLAIN_TEXT : 0) | (isBlank ? BLANK : 0);
});

const bytesOf = (text: string) => Buffer.from(text, 'latin1');
const SEQUENCE = bytesOf('sequence');
const TIMESTAMP = bytesOf('timestamp');
const DATA_ITEM = bytesOf('dataItemId');
/** Attributes that say nothing that is read here. */
const PASSED_BY = ['name', 'subType', 'compositionId', 'statistic', 'duration', 'quality'].map(bytesOf);

/**
 * Reads observations that are one element of plain ASCII with plain attributes and plain text, many times as fast as an
 * XML parser does. Whatever is not so plain is left to the parser, which decides; whatever this accepts, the parser reads
 * alike. An element that is as one before but for its time, number and value is read by its likeness.
 */
export class QuickObservations {
  readonly found: QuickObservation = {
    ...{ dataItem: '', timeUs: 0, sequence: 0, number: Number.NaN },
    ...{ valueFrom: 0, valueTo: 0, linesBefore: 0, linesInside: 0 },
  };
  private readonly clock = new DayClock();
  private readonly decimal = new PlainDecimal();
  private readonly names = new Map<number, string>();
  /** By data item, and which one came last. */
  private readonly likenesses = new Map<string, TagLikeness>();
  private last = new TagLikeness();
  /** One bit for each attribute that was passed by in this tag. */
  private passed = 0;
  /** Where the values of time and number stand in this tag. */
  private timeFrom = 0;
  private timeTo = 0;
  private sequenceFrom = 0;
  private sequenceTo = 0;

  /**
   * @returns the index behind the element, NOT_PLAIN, CUT when the bytes end inside it, or NOTHING_MORE when they end before
   *   it. Blanks may stand before it.
   */
  read(bytes: Buffer, start: number): number {
    const { last, found } = this;
    const end = last.next.read(bytes, start, found, this.clock, this.decimal);
    if (end >= 0) {
      this.last = last.next;
      return end;
    }
    return this.readAny(bytes, start);
  }

  private readAny(bytes: Buffer, start: number): number {
    const { found } = this;
    const { length } = bytes;
    let at = start;
    found.linesBefore = 0;
    found.linesInside = 0;
    found.dataItem = '';
    found.number = Number.NaN;
    found.sequence = Number.NaN;
    found.timeUs = Number.NaN;
    this.passed = 0;
    for (; at < length && (KINDS[bytes[at]!]! & BLANK) !== 0; at += 1)
      if (bytes[at] === LINE_FEED) found.linesBefore += 1;
    if (at >= length) return NOTHING_MORE;
    if (at + 1 >= length) return CUT;
    const nameFrom = at + 1;
    const first = bytes[nameFrom]! | 0x20;
    if (bytes[at] !== LESS || first < 97 || first > 122) return NOT_PLAIN;
    at = nameFrom;
    while (at < length && (KINDS[bytes[at]!]! & NAME) !== 0) at += 1;
    const nameTo = at;
    for (;;) {
      const blanksFrom = at;
      for (; at < length && (KINDS[bytes[at]!]! & BLANK) !== 0; at += 1)
        if (bytes[at] === LINE_FEED) found.linesBefore += 1;
      if (at >= length) return CUT;
      if (bytes[at] === GREATER || bytes[at] === SLASH) break;
      if (at === blanksFrom) return NOT_PLAIN;
      at = this.readAttribute(bytes, at);
      if (at < 0) return at;
    }
    if (found.dataItem === '' || Number.isNaN(found.sequence) || Number.isNaN(found.timeUs)) return NOT_PLAIN;
    if (bytes[at] === SLASH) {
      if (at + 1 >= length) return CUT;
      found.valueFrom = at;
      found.valueTo = at;
      return bytes[at + 1] === GREATER ? at + 2 : NOT_PLAIN;
    }
    const end = this.readContent(bytes, at + 1, nameFrom, nameTo);
    if (end > 0) this.learn(bytes, start, at + 1, end);
    return end;
  }

  private readContent(bytes: Buffer, start: number, nameFrom: number, nameTo: number): number {
    const { found, decimal } = this;
    const { length } = bytes;
    let at = decimal.read(bytes, start, length);
    if (at > 0 && at < length && bytes[at] === LESS) found.number = decimal.value;
    else {
      for (at = start; at < length && (KINDS[bytes[at]!]! & PLAIN_TEXT) !== 0; at += 1)
        if (bytes[at] === LINE_FEED) found.linesInside += 1;
    }
    found.valueFrom = start;
    found.valueTo = at;
    // A longer one may be refused, whatever pieces the document comes in: the parser decides.
    if (at - start > MOST.streamValueCharacters) return NOT_PLAIN;
    const end = at + 2 + nameTo - nameFrom;
    if (at < length && bytes[at] !== LESS) return NOT_PLAIN;
    if (end >= length) return CUT;
    if (bytes[at + 1] !== SLASH || bytes[end] !== GREATER) return NOT_PLAIN;
    for (let index = nameFrom; index < nameTo; index += 1) {
      if (bytes[index] !== bytes[at + 2 + index - nameFrom]) return NOT_PLAIN;
    }
    return end + 1;
  }

  /** Keeps how the element looks, and that it came behind the last one. */
  private learn(bytes: Buffer, start: number, contentFrom: number, end: number): void {
    const { found, likenesses } = this;
    let own = likenesses.get(found.dataItem);
    if (own === undefined) {
      if (likenesses.size >= MOST_NAMES) return;
      own = new TagLikeness();
      likenesses.set(found.dataItem, own);
    }
    if (!Number.isNaN(found.number)) {
      own.take(bytes, start, end, found, [
        ...[this.timeFrom, this.timeTo, this.sequenceFrom, this.sequenceTo],
        ...[contentFrom, found.valueTo],
      ]);
    }
    this.last.next = own;
    this.last = own;
  }

  private readAttribute(bytes: Buffer, start: number): number {
    const { found } = this;
    const { length } = bytes;
    let at = start;
    while (at < length && (KINDS[bytes[at]!]! & NAME) !== 0) at += 1;
    const size = at - start;
    if (at + 1 >= length) return CUT;
    const quote = bytes[at + 1]!;
    if (size === 0 || bytes[at] !== EQUALS || (quote !== QUOTE && quote !== APOSTROPHE)) return NOT_PLAIN;
    const from = at + 2;
    for (at = from; at < length && bytes[at] !== quote; at += 1)
      if ((KINDS[bytes[at]!]! & PLAIN_VALUE) === 0) return NOT_PLAIN;
    if (at >= length) return CUT;
    if (isName(bytes, start, size, SEQUENCE)) {
      if (!Number.isNaN(found.sequence)) return NOT_PLAIN;
      found.sequence = wholeNumber(bytes, from, at);
      if (Number.isNaN(found.sequence)) return NOT_PLAIN;
      this.sequenceFrom = from;
      this.sequenceTo = at;
    } else if (isName(bytes, start, size, TIMESTAMP)) {
      if (!Number.isNaN(found.timeUs)) return NOT_PLAIN;
      found.timeUs = this.clock.read(bytes, from, at);
      if (Number.isNaN(found.timeUs) || this.clock.end !== at) return NOT_PLAIN;
      this.timeFrom = from;
      this.timeTo = at;
    } else if (isName(bytes, start, size, DATA_ITEM)) {
      if (found.dataItem !== '' || at === from) return NOT_PLAIN;
      found.dataItem = this.nameAt(bytes, from, at);
    } else if (!this.passBy(bytes, start, size)) return NOT_PLAIN;
    return at + 1;
  }

  /** The same few names stand there again and again: so each is made once. */
  private nameAt(bytes: Buffer, from: number, to: number): string {
    let hash = to - from;
    for (let at = from; at < to; at += 1) hash = (Math.imul(hash, 31) + bytes[at]!) | 0;
    const known = this.names.get(hash);
    if (known !== undefined && isText(bytes, from, to, known)) return known;
    const name = bytes.toString('latin1', from, to);
    if (this.names.size < MOST_NAMES) this.names.set(hash, name);
    return name;
  }

  /** @returns false for an attribute that is read, or that stood in this tag before, which no XML may. */
  private passBy(bytes: Buffer, start: number, size: number): boolean {
    for (let index = 0; index < PASSED_BY.length; index += 1) {
      if (!isName(bytes, start, size, PASSED_BY[index]!)) continue;
      if ((this.passed & (1 << index)) !== 0) return false;
      this.passed |= 1 << index;
      return true;
    }
    return false;
  }
}

function isName(bytes: Buffer, start: number, size: number, name: Buffer): boolean {
  if (size !== name.length) return false;
  for (let index = 0; index < size; index += 1) if (bytes[start + index] !== name[index]) return false;
  return true;
}

function isText(bytes: Buffer, from: number, to: number, text: string): boolean {
  if (to - from !== text.length) return false;
  for (let index = 0; index < text.length; index += 1) if (bytes[from + index] !== text.charCodeAt(index)) return false;
  return true;
}

function wholeNumber(bytes: Buffer, from: number, to: number): number {
  if (to === from || to - from > EXACT_DIGITS) return Number.NaN;
  let number = 0;
  for (let at = from; at < to; at += 1) {
    const digit = bytes[at]! - ZERO;
    if (digit < 0 || digit > 9) return Number.NaN;
    number = number * 10 + digit;
  }
  return number >= 1 ? number : Number.NaN;
}
