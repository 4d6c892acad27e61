import { BadInputError } from '../../base/errors.js';
import type { ScannedChannel } from '../channels.js';
import { quote, type Rejection } from '../rejection.js';
import { isNumberText } from '../row-text.js';
import { refused } from './document-parser.js';
import type { ItemRole, KeyedChannel } from './item-roles.js';
import { type Observation, UNAVAILABLE } from './observation.js';
import type { ObservationBatch } from './observation-batch.js';
import { CONDITION, OTHER, PLACES } from './observation-roles.js';
import { type ReadSeries, readSeries } from './time-series.js';

/** Where a channel is a time series, the first of its values may be this much older than what was told before it. */
const FIRST_HOLD_US = 10_000_000;

export interface FillerPlan {
  readonly channels: readonly ScannedChannel[];
  /** By data item. */
  readonly roles: ReadonlyMap<string, ItemRole>;
  /** Data items of conditions that the map names. */
  readonly conditions: ReadonlySet<string>;
  readonly clockOffsetUs: number;
  readonly hasSeries: boolean;
}

/** Puts what a document tells into the batch that is brought into the order of time: values in the units of their channels. */
export class BatchFiller {
  /** Observations with lower numbers were in an earlier document. */
  newFrom = 1;
  private fileName = '';
  private latestUs = Number.NEGATIVE_INFINITY;
  private holdUs: number;
  private readonly toldIn = new Set<string>();
  /** The file that is being read is among them. */
  private hasTold = false;

  constructor(
    private readonly plan: FillerPlan,
    private readonly batch: ObservationBatch,
    private readonly reject: (rejection: Rejection) => void,
  ) {
    this.holdUs = plan.hasSeries ? FIRST_HOLD_US : 0;
  }

  /** Files that told something that no other file of the recording had told before. */
  get told(): ReadonlySet<string> {
    return this.toldIn;
  }

  /** Nothing older than this is still to come. */
  get settledUs(): number {
    return this.latestUs - this.holdUs;
  }

  beginFile(fileName: string): void {
    this.fileName = fileName;
    this.hasTold = false;
  }

  /** As a sink of documents is asked. */
  wants(dataItem: string): 'nothing' | 'number' | 'all' {
    const role = this.plan.roles.get(dataItem);
    if (role?.as === 'channel') return 'number';
    return role !== undefined || this.plan.conditions.has(dataItem) ? 'all' : 'nothing';
  }

  /** @throws BadInputError for a set where a value is expected, and the other way. */
  take(observation: Observation): void {
    const { sequence, dataItem } = observation;
    if (sequence < this.newFrom) return;
    if (observation.condition !== null) {
      const isMapped = this.plan.conditions.has(dataItem);
      const at = this.add(observation, isMapped ? CONDITION : OTHER);
      if (isMapped) this.batch.conditions.set(at, observation);
      return;
    }
    this.batch.seeItem(dataItem, observation.line);
    const role = this.plan.roles.get(dataItem);
    if (role === undefined) this.add(observation, OTHER);
    else if (role.as === 'channels by key') this.addKeyed(observation, role.channels);
    else if (observation.entries !== null && observation.entries.size > 0) {
      this.refuseValue(observation, 'a set of values', 'a single value, or a channel map that names the key');
    } else if (role.as === 'channel') this.addValue(observation, role.index, role.rateHz);
    else this.batch.texts.set(this.add(observation, PLACES[role.as]), observation.value);
  }

  private add({ timeUs, sequence, line }: Observation, role: number, value = Number.NaN): number {
    const trueUs = timeUs + this.plan.clockOffsetUs;
    if (trueUs > this.latestUs) this.latestUs = trueUs;
    if (!this.hasTold) {
      this.hasTold = true;
      this.toldIn.add(this.fileName);
    }
    return this.batch.add(trueUs, sequence, role, value, line);
  }

  private addValue(observation: Observation, index: number, rateHz: number | undefined): void {
    const { series, value, number } = observation;
    if (!Number.isNaN(number)) this.addNumber(observation, index, number);
    else if (series === null || value === UNAVAILABLE) this.addText(observation, index, value);
    else this.addSeries(observation, index, readSeries(value, series, rateHz));
  }

  /** A text as the value of a channel. What is no number stands for no value, and is counted as a rejected line in its turn. */
  private addText(observation: Observation, index: number, text: string): void {
    const isNumber = text !== UNAVAILABLE && isNumberText(text) && Number.isFinite(Number(text));
    const at = this.addNumber(observation, index, isNumber ? Number(text) : Number.NaN);
    if (!isNumber && text !== UNAVAILABLE) this.batch.texts.set(at, text);
  }

  /** @param number in the unit that the machine reports; NaN for no value. */
  private addNumber(observation: Observation, index: number, number: number): number {
    const { factor, offset } = this.plan.channels[index]!;
    return this.add(observation, index, factor === 1 && offset === 0 ? number : number * factor + offset);
  }

  private addSeries(observation: Observation, index: number, { texts, stepUs, fault }: ReadSeries): void {
    if (fault !== null) {
      const field = this.plan.channels[index]!.name;
      this.reject({ line: observation.line, code: 'time series', field, found: fault, file: this.fileName });
      this.add(observation, index);
      return;
    }
    const last = texts.length - 1;
    this.holdUs = Math.max(this.holdUs, last * stepUs);
    texts.forEach((text, place) => {
      const timeUs = observation.timeUs - Math.round((last - place) * stepUs);
      this.addText({ ...observation, timeUs }, index, text);
    });
    if (texts.length === 0) this.add(observation, OTHER);
  }

  /** A set holds what was told of it before, but for what is told now. */
  private addKeyed(observation: Observation, channels: readonly KeyedChannel[]): void {
    const { entries, isReset, value } = observation;
    if (!entries?.size && value !== UNAVAILABLE && value !== '') {
      this.refuseValue(observation, `the value ${quote(value)}`, 'a set of values, since the channel map names a key');
    }
    this.add(observation, OTHER);
    for (const { index, key, cell } of channels) {
      const entry = entries?.get(key);
      const told = cell === undefined ? entry?.value : entry?.cells.get(cell);
      if (told !== undefined && entry?.isRemoved === false) this.addText(observation, index, told);
      else if (entry !== undefined || isReset || value === UNAVAILABLE) this.add(observation, index);
    }
  }

  private refuseValue({ line, dataItem }: Observation, found: string, expected: string): never {
    throw new BadInputError([refused(this.fileName, line, 'mtconnect-value', `${found} of ${dataItem}`, expected)]);
  }
}
