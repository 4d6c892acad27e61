import { DayClock } from './day-clock.js';

/** What stands between two tags of a category, and is as plain as nearly all of it. Valid until the next is read. */
export interface QuickObservation {
  dataItem: string;
  timeUs: number;
  sequence: number;
  /** Where the value stands in the text. */
  valueFrom: number;
  valueTo: number;
  /** Line feeds before the element, from where reading began, and in it. */
  linesBefore: number;
  linesInside: number;
}

/** What stopped the reading. */
export const NOT_PLAIN = -1;
export const CUT = -2;

const LINE_FEED = 10;
const TAB = 9;
const CARRIAGE_RETURN = 13;
const SPACE = 32;
const QUOTE = 34;
const APOSTROPHE = 39;
const SLASH = 47;
const LESS = 60;
const EQUALS = 61;
const GREATER = 62;
const ZERO = 48;
/** Whole numbers of so many digits are exact. */
const EXACT_DIGITS = 15;

const NAME = 1;
const PLAIN_VALUE = 2;
const PLAIN_TEXT = 4;
/** What each ASCII character may be part of. Nothing else is plain: the XML parser reads it. */
const KINDS = Uint8Array.from({ length: 128 }, (_, code) => {
  const sign = String.fromCharCode(code);
  const isName = /[A-Za-z0-9_.-]/.test(sign);
  const isVisible = code >= SPACE && code < 127 && sign !== '<' && sign !== '&';
  const isText = (isVisible && sign !== ']') || code === LINE_FEED || code === TAB || code === CARRIAGE_RETURN;
  return (isName ? NAME : 0) | (isVisible ? PLAIN_VALUE : 0) | (isText ? PLAIN_TEXT : 0);
});

const kindOf = (code: number): number => (code < 128 ? KINDS[code]! : 0);
const isBlank = (code: number): boolean =>
  code === SPACE || code === LINE_FEED || code === TAB || code === CARRIAGE_RETURN;

/** Attributes that say nothing that is read here. */
const PASSED_BY = ['name', 'subType', 'compositionId', 'statistic', 'duration', 'quality'];

/**
 * Reads observations that are one element of plain ASCII with plain attributes and plain text, several times as fast as
 * an XML parser does. Whatever is not so plain is left to the parser, which decides; whatever this accepts, the parser
 * reads alike.
 */
export class QuickObservations {
  readonly found: QuickObservation = {
    ...{ dataItem: '', timeUs: 0, sequence: 0 },
    ...{ valueFrom: 0, valueTo: 0, linesBefore: 0, linesInside: 0 },
  };
  private readonly clock = new DayClock();
  /** One bit for each attribute that was passed by in this tag. */
  private passed = 0;

  /** @returns the index behind the element, NOT_PLAIN, or CUT when the text ends inside it. Blanks may stand before it. */
  read(text: string, start: number): number {
    const { found } = this;
    const { length } = text;
    let at = start;
    found.linesBefore = 0;
    found.linesInside = 0;
    this.passed = 0;
    let code = text.charCodeAt(at);
    for (; isBlank(code); code = text.charCodeAt(++at)) if (code === LINE_FEED) found.linesBefore += 1;
    if (at >= length) return CUT;
    const nameFrom = at + 1;
    const first = text.charCodeAt(nameFrom) | 0x20;
    if (code !== LESS) return NOT_PLAIN;
    if (nameFrom >= length) return CUT;
    if (first < 97 || first > 122) return NOT_PLAIN;
    at = nameFrom;
    while ((kindOf(text.charCodeAt(at)) & NAME) !== 0) at += 1;
    const nameTo = at;
    found.dataItem = '';
    found.sequence = Number.NaN;
    found.timeUs = Number.NaN;
    for (;;) {
      code = text.charCodeAt(at);
      if (code === GREATER || code === SLASH || at >= length) break;
      if (!isBlank(code)) return NOT_PLAIN;
      for (; isBlank(code); code = text.charCodeAt(++at)) if (code === LINE_FEED) found.linesInside += 1;
      if (code === GREATER || code === SLASH || at >= length) break;
      at = this.readAttribute(text, at);
      if (at < 0) return at;
    }
    if (at >= length) return CUT;
    if (found.dataItem === '' || Number.isNaN(found.sequence) || Number.isNaN(found.timeUs)) return NOT_PLAIN;
    if (code === SLASH) {
      if (at + 1 >= length) return CUT;
      found.valueFrom = at;
      found.valueTo = at;
      return text.charCodeAt(at + 1) === GREATER ? at + 2 : NOT_PLAIN;
    }
    at += 1;
    found.valueFrom = at;
    for (code = text.charCodeAt(at); (kindOf(code) & PLAIN_TEXT) !== 0; code = text.charCodeAt(++at)) {
      if (code === LINE_FEED) found.linesInside += 1;
    }
    found.valueTo = at;
    if (at >= length) return CUT;
    if (code !== LESS) return NOT_PLAIN;
    const end = at + 2 + nameTo - nameFrom;
    if (end >= length) return CUT;
    if (text.charCodeAt(at + 1) !== SLASH || text.charCodeAt(end) !== GREATER) return NOT_PLAIN;
    for (let index = nameFrom; index < nameTo; index += 1) {
      if (text.charCodeAt(index) !== text.charCodeAt(at + 2 + index - nameFrom)) return NOT_PLAIN;
    }
    return end + 1;
  }

  private readAttribute(text: string, start: number): number {
    const { found } = this;
    let at = start;
    while ((kindOf(text.charCodeAt(at)) & NAME) !== 0) at += 1;
    const nameTo = at;
    if (at >= text.length) return CUT;
    if (nameTo === start || text.charCodeAt(at) !== EQUALS) return NOT_PLAIN;
    const quote = text.charCodeAt(at + 1);
    if (at + 1 >= text.length) return CUT;
    if (quote !== QUOTE && quote !== APOSTROPHE) return NOT_PLAIN;
    const from = at + 2;
    at = from;
    for (let code = text.charCodeAt(at); code !== quote; code = text.charCodeAt(++at)) {
      if ((kindOf(code) & PLAIN_VALUE) === 0) return at >= text.length ? CUT : NOT_PLAIN;
    }
    const length = nameTo - start;
    if (length === 8 && text.startsWith('sequence', start)) {
      if (!Number.isNaN(found.sequence)) return NOT_PLAIN;
      found.sequence = wholeNumber(text, from, at);
      if (Number.isNaN(found.sequence)) return NOT_PLAIN;
    } else if (length === 9 && text.startsWith('timestamp', start)) {
      if (!Number.isNaN(found.timeUs)) return NOT_PLAIN;
      found.timeUs = this.clock.read(text, from, at);
      if (Number.isNaN(found.timeUs)) return NOT_PLAIN;
    } else if (length === 10 && text.startsWith('dataItemId', start)) {
      if (found.dataItem !== '') return NOT_PLAIN;
      found.dataItem = text.slice(from, at);
    } else if (!this.passBy(text, start, length)) return NOT_PLAIN;
    return at + 1;
  }

  /** @returns false for an attribute that is read, or that stood in this tag before, which no XML may. */
  private passBy(text: string, start: number, length: number): boolean {
    const index = PASSED_BY.findIndex((name) => name.length === length && text.startsWith(name, start));
    if (index < 0 || (this.passed & (1 << index)) !== 0) return false;
    this.passed |= 1 << index;
    return true;
  }
}

function wholeNumber(text: string, from: number, to: number): number {
  if (to === from || to - from > EXACT_DIGITS) return Number.NaN;
  let number = 0;
  for (let at = from; at < to; at += 1) {
    const digit = text.charCodeAt(at) - ZERO;
    if (!(digit >= 0 && digit <= 9)) return Number.NaN;
    number = number * 10 + digit;
  }
  return number >= 1 ? number : Number.NaN;
}
