import type { SaxesTagNS } from 'saxes';
import { MOST } from '../../base/limits.js';
import { readTimestampUs } from '../timestamp.js';
import type { Entry, Observation } from './observation.js';

/** Refuses the document, with the line at which its parser is. */
export type Refuse = (code: string, found: string, expected: string) => never;

/** SequenceType of the schema is an integer from 1; above this it is not exact here. */
const LARGEST_SEQUENCE = Number.MAX_SAFE_INTEGER;
const TRUE = /^\s*(?:true|1)\s*$/;

export function attributeOf({ attributes, name }: SaxesTagNS, attribute: string, refuse: Refuse): string {
  const value = attributes[attribute]?.value;
  return value || refuse('mtconnect-attribute', `${name} without ${attribute}`, `the attribute ${attribute}`);
}

export function sequenceOf(tag: SaxesTagNS, attribute: string, refuse: Refuse): number {
  const text = attributeOf(tag, attribute, refuse);
  const value = /^\d{1,19}$/.test(text) ? Number(text) : Number.NaN;
  if (value >= 1 && value <= LARGEST_SEQUENCE) return value;
  return refuse('mtconnect-attribute', `${attribute} ${text}`, 'a whole number from 1');
}

/** An observation whose element is open: what stood in it so far, where anybody wants it. */
export class OpenObservation {
  readonly isSeries: boolean;
  private readonly entries = new Map<string, Entry>();
  private entry: { readonly key: string; readonly isRemoved: boolean; readonly cells: Map<string, string> } | null =
    null;
  private cell = '';
  private text = '';

  constructor(
    private readonly tag: SaxesTagNS,
    private readonly line: number,
    private readonly isWanted: boolean,
    private readonly refuse: Refuse,
  ) {
    this.isSeries = tag.attributes.sampleCount !== undefined;
  }

  /** @param depth of the element below this one: 1 for an entry of a data set or a table, 2 for a cell of a table. */
  enter(tag: SaxesTagNS, depth: number): void {
    if (!this.isWanted) return;
    if (depth > 2) {
      const found = `an element ${tag.name} inside a cell of ${this.tag.name}`;
      this.refuse('mtconnect-value', found, 'sets of values and tables of values, and nothing deeper');
    }
    this.refuseTextBeside(tag.name, this.text);
    const key = attributeOf(tag, 'key', this.refuse);
    this.text = '';
    if (depth === 1) {
      this.entry = { key, isRemoved: TRUE.test(tag.attributes.removed?.value ?? ''), cells: new Map() };
    } else if (this.entry!.cells.has(key)) this.refuse('mtconnect-value', `a second cell ${key}`, 'each key once');
    else this.cell = key;
  }

  leave(depth: number): void {
    if (!this.isWanted) return;
    const value = this.text.trim();
    this.text = '';
    const { cells, key, isRemoved } = this.entry!;
    if (depth === 2) {
      cells.set(this.cell, value);
      return;
    }
    if (cells.size > 0) this.refuseTextBeside('cells', value);
    if (this.entries.has(key)) {
      this.refuse('mtconnect-value', `a second entry ${key} in ${this.tag.name}`, 'each key once');
    }
    this.entries.set(key, { isRemoved, value, cells });
    this.entry = null;
  }

  /** Its value, or that of what is open in it. What a comment or a character section parts is one text. */
  add(text: string): void {
    if (!this.isWanted) return;
    this.text += text;
    const most = this.isSeries ? MOST.streamSeriesCharacters : MOST.streamValueCharacters;
    if (this.text.length > most) this.refuse('mtconnect-value', `more than ${most} characters`, 'a single value');
  }

  told(category: Observation['category']): Observation {
    const { tag, line, isWanted, isSeries, entries, refuse } = this;
    if (entries.size > 0) this.refuseTextBeside('entries', this.text);
    const time = attributeOf(tag, 'timestamp', refuse);
    const timeUs =
      readTimestampUs(time) ??
      refuse('mtconnect-time', time, 'a date and time with offset, such as 2026-03-02T07:15:00.250Z');
    const said = (attribute: string) => tag.attributes[attribute]?.value ?? '';
    const series = isWanted && isSeries ? { sampleCount: said('sampleCount'), sampleRate: said('sampleRate') } : null;
    const condition =
      category === 'Condition'
        ? { type: said('type'), nativeCode: said('nativeCode'), conditionId: said('conditionId') }
        : null;
    return {
      category,
      element: tag.local,
      dataItem: attributeOf(tag, 'dataItemId', refuse),
      timeUs,
      sequence: sequenceOf(tag, 'sequence', refuse),
      value: this.text.trim(),
      number: Number.NaN,
      entries: isWanted && (entries.size > 0 || tag.attributes.count !== undefined) ? entries : null,
      series,
      condition,
      isReset: said('resetTriggered') !== '',
      line,
    };
  }

  private refuseTextBeside(what: string, text: string): void {
    if (text.trim() === '') return;
    this.refuse('mtconnect-value', `text beside ${what} in ${this.tag.name}`, 'either a value or entries');
  }
}
