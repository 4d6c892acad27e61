import { BadInputError } from '../../base/errors.js';
import type { RejectionCode } from '../../dossier/finding-detail.js';
import type { ChannelMap } from '../../kinds/channel-map.js';
import type { ScannedChannel } from '../channels.js';
import { DewPointConversion } from '../dew-point.js';
import { everywhere, placeFinding } from '../findings.js';
import type { KnownPlaces } from '../known-places.js';
import type { LogFile } from '../merge/log-file.js';
import type { RowSource, SourceRow, SourceSink } from '../merge/row-source.js';
import { quote } from '../rejection.js';
import { NO_LAYER } from '../row-reader.js';
import { isNumberText, readLayer } from '../row-text.js';
import { readBetween } from './between-documents.js';
import { ConditionWatch } from './condition-watch.js';
import { DocumentParser, type DocumentSink, refused } from './document-parser.js';
import { type ItemRole, itemRoles, type KeyedChannel } from './item-roles.js';
import { type Observation, type StreamHeader, UNAVAILABLE } from './observation.js';
import { ObservationBatch } from './observation-batch.js';
import { SequenceWatch } from './sequence-watch.js';
import { type ReadSeries, readSeries } from './time-series.js';

/** Roles of observations that are no channel; a channel has its index. */
const OTHER = -1;
const LAYER = -2;
const ZONE = -3;
const STEP = -4;
const CONDITION = -5;
/** No observation: from here on nothing that was told before holds. */
const RESTART = -6;
const PLACES = { layer: LAYER, zone: ZONE, step: STEP } as const;

const LONGEST_LAYER = 7;
const NOTHING = Buffer.alloc(0);
/** So many pairs of versions are told: a stream that names more names any. */
const MOST_VERSIONS = 20;
/** Where a channel is a time series, the first of its values may be this much older than what was told before it. */
const FIRST_HOLD_US = 10_000_000;

export interface StreamPlan {
  readonly map: ChannelMap;
  readonly channels: readonly ScannedChannel[];
  readonly clockOffsetMs: number;
  /** What was reported earlier (true time) tells the state of the machine, but is no row of the log. */
  readonly notBeforeUs: number;
  readonly known: KnownPlaces;
  /** A file beside which waits what is too much for the memory; among temporary files when absent. */
  readonly beside?: string | undefined;
}

/**
 * The rows of MTConnectStreams documents, one behind the other, in a file or in the files of one recording. Each time at which the machine reported anything
 * is a row with every channel as it then stood: a value holds until the next one, and UNAVAILABLE is no value.
 */
export class StreamSource implements RowSource, DocumentSink {
  readonly row: SourceRow;
  private readonly batch: ObservationBatch;
  private readonly sequences: SequenceWatch;
  private readonly conditions: ConditionWatch;
  private readonly mapped: ReadonlySet<string>;
  private readonly roles: ReadonlyMap<string, ItemRole>;
  private readonly steps: ReadonlyMap<string, string>;
  private readonly dewPoints: readonly DewPointConversion[];
  private readonly clockOffsetUs: number;
  /** Every channel as it stands, before dew points become shares. */
  private readonly state: Float64Array;

  /** What was read of the file and not yet parsed. */
  private bytes: Buffer = NOTHING;
  private parser: DocumentParser | null = null;
  private current: StreamHeader | null = null;
  private newFrom = 1;
  private isRestarted = false;
  /** Line of the file at which the next document begins. */
  private nextLine = 1;
  private holdUs: number;
  private latestUs = Number.NEGATIVE_INFINITY;
  private isAtEnd = false;

  private piece: Uint8Array | undefined;
  private pieceLine = 1;
  private pieceFromUs: number | null = null;
  private pieceToUs: number | null = null;

  /** The one that is being read; rows of the one before it may still wait. */
  private file: LogFile;
  private rowFile: string;
  /** Pairs of versions that were told: once each, and no more than a few. */
  private readonly otherVersions = new Set<string>();
  private readonly toldIn = new Set<string>();
  /** The file that is being read is among them. */
  private hasTold = false;

  /** @param files of one recording, in the order of their sequence numbers: what the machine told in one holds in the next. */
  constructor(
    private readonly files: readonly LogFile[],
    private readonly plan: StreamPlan,
    private readonly sink: SourceSink,
  ) {
    this.file = files[0]!;
    this.rowFile = this.file.fileName;
    const { map, channels } = plan;
    this.clockOffsetUs = Math.round(plan.clockOffsetMs * 1000);
    this.batch = new ObservationBatch(
      files.map(({ fileName }) => fileName),
      plan.beside,
    );
    this.sequences = new SequenceWatch(map.everySequence === 'yes', (draft) => this.sink.note(draft));
    const conditions = new Map((map.conditions ?? []).map((rule) => [rule.dataItem, rule]));
    this.mapped = new Set(conditions.keys());
    this.conditions = new ConditionWatch(conditions, (draft) => this.sink.note(draft));
    this.roles = itemRoles(map, channels);
    this.holdUs = map.channels.some(({ sampleRateHz }) => sampleRateHz !== undefined) ? FIRST_HOLD_US : 0;
    this.steps = new Map((map.steps ?? []).map(({ reported, step }) => [reported, step]));
    this.dewPoints = channels.flatMap(({ dewPoint }, channel) =>
      dewPoint === null ? [] : [new DewPointConversion(channel, dewPoint)],
    );
    this.state = new Float64Array(channels.length).fill(Number.NaN);
    this.row = { timeUs: Number.NaN, layer: NO_LAYER, zone: '', step: '', values: this.state.slice(), line: 0 };
  }

  /** Of the row. */
  get fileName(): string {
    return this.rowFile;
  }

  /** Files that told something that no other file of the recording had told before, were it before the closure. */
  get told(): ReadonlySet<string> {
    return this.toldIn;
  }

  get channels(): readonly ScannedChannel[] {
    return this.plan.channels;
  }

  /** Moves to the next time at which anything was reported. */
  advance(): boolean {
    const { batch, row } = this;
    for (let at = batch.peek(); at >= 0; at = batch.peek()) {
      row.timeUs = batch.timeUs[at]!;
      row.line = batch.line[at]!;
      this.rowFile = this.files[batch.file[at]!]!.fileName;
      for (; at >= 0 && batch.timeUs[at] === row.timeUs; at = batch.peek()) {
        this.apply(at);
        batch.skip();
      }
      if (row.timeUs < this.plan.notBeforeUs) continue;
      row.values.set(this.state);
      for (const conversion of this.dewPoints) conversion.apply(row.values);
      const { zone, layer } = this.plan.known.covered(row.zone, row.layer);
      this.conditions.at(zone, layer, row.step);
      return true;
    }
    return false;
  }

  /** Reads on until a document with observations has ended. */
  async fill(): Promise<boolean> {
    if (this.isAtEnd) return this.finish();
    this.batch.clear();
    for (;;) {
      while (this.bytes.length > 0) {
        if (!this.parse()) break;
        if (this.parser?.hasEnded !== true) continue;
        this.endDocument(this.parser);
        if (!this.batch.isEmpty) return true;
      }
      // What is left over lies in memory that is about to be read into again.
      if (this.bytes.length > 0) this.bytes = Buffer.from(this.bytes);
      await this.keepPiece();
      this.piece = await this.file.piece();
      if (this.piece === undefined) {
        if (this.endFile()) continue;
        return this.end();
      }
      this.pieceLine = this.parser?.line ?? this.nextLine;
      this.take(this.piece);
    }
  }

  close(): void {
    this.batch.close();
  }

  /** Called by the parser. */
  header(header: StreamHeader): void {
    this.current = header;
    this.compareVersions(header);
    const { newFrom, isRestarted } = this.sequences.begin(header);
    this.newFrom = newFrom;
    this.isRestarted = isRestarted;
  }

  /** A document is read by the version of its namespace; what its header names may be that of the agent itself. */
  private compareVersions({ saidVersion, version, line }: StreamHeader): void {
    const [major, minor] = saidVersion.split('.');
    const both = `${saidVersion} ${version}`;
    if (saidVersion === '' || `${major}.${minor}` === version || this.otherVersions.has(both)) return;
    if (this.otherVersions.size === MOST_VERSIONS) return;
    this.otherVersions.add(both);
    const what = { code: 'version', said: saidVersion, readBy: version } as const;
    this.sink.note(
      placeFinding('stream names two versions', 'alert', everywhere(), { lineFrom: line, lineTo: line, what }),
    );
  }

  /** Called by the parser. */
  wants(dataItem: string): 'nothing' | 'number' | 'all' {
    const role = this.roles.get(dataItem);
    if (role?.as === 'channel') return 'number';
    return role !== undefined || this.mapped.has(dataItem) ? 'all' : 'nothing';
  }

  /** Called by the parser. */
  observation(observation: Observation): void {
    const { timeUs, sequence, dataItem } = observation;
    if (!(timeUs >= (this.pieceFromUs ?? Number.POSITIVE_INFINITY))) this.pieceFromUs = timeUs;
    if (!(timeUs <= (this.pieceToUs ?? Number.NEGATIVE_INFINITY))) this.pieceToUs = timeUs;
    if (sequence < this.newFrom) return;
    if (observation.condition !== null) {
      const isMapped = this.mapped.has(dataItem);
      const at = this.add(observation, isMapped ? CONDITION : OTHER);
      if (isMapped) this.batch.conditions.set(at, observation);
      return;
    }
    this.batch.seeItem(dataItem, observation.line);
    const role = this.roles.get(dataItem);
    if (role === undefined) this.add(observation, OTHER);
    else if (role.as === 'channels by key') this.addKeyed(observation, role.channels);
    else if (observation.entries !== null && observation.entries.size > 0) {
      this.refuseValue(observation, 'a set of values', 'a single value, or a channel map that names the key');
    } else if (role.as === 'channel') this.addValue(observation, role.index, role.rateHz);
    else this.batch.texts.set(this.add(observation, PLACES[role.as]), observation.value);
  }

  private add({ timeUs, sequence, line }: Observation, role: number, value = Number.NaN): number {
    const trueUs = timeUs + this.clockOffsetUs;
    if (trueUs > this.latestUs) this.latestUs = trueUs;
    if (!this.hasTold) {
      this.hasTold = true;
      this.toldIn.add(this.file.fileName);
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
      this.sink.refuse({ line: observation.line, code: 'time series', field, found: fault, file: this.file.fileName });
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
    throw new BadInputError([
      refused(this.file.fileName, line, 'mtconnect-value', `${found} of ${dataItem}`, expected),
    ]);
  }

  private apply(at: number): void {
    const { batch, row } = this;
    const role = batch.role[at]!;
    if (role >= 0) this.takeValue(role, at);
    else if (role === CONDITION) this.conditions.take(batch.conditions.get(at)!, batch.timeUs[at]!);
    else if (role === RESTART) this.forget(at);
    else if (role < OTHER) this.takePlace(role, batch.texts.get(at)!, at);
    else return;
    row.line = batch.line[at]!;
  }

  /** Nothing that was told before holds. */
  private forget(at: number): void {
    const { batch, row } = this;
    this.state.fill(Number.NaN);
    Object.assign(row, { zone: '', layer: NO_LAYER, step: '' });
    this.conditions.endAll(batch.timeUs[at]!, batch.line[at]!);
  }

  private takeValue(role: number, at: number): void {
    const { batch } = this;
    this.state[role] = batch.value[at]!;
    const unread = batch.texts.get(at);
    if (unread !== undefined) this.refuse('number', this.plan.channels[role]!.name, unread, at);
  }

  private takePlace(role: number, reported: string, at: number): void {
    const { row } = this;
    const text = reported === UNAVAILABLE ? '' : reported;
    if (role === ZONE) row.zone = text;
    else if (role === STEP) row.step = this.steps.get(text) ?? text;
    else {
      const layer = text === '' ? NO_LAYER : readLayer(text, LONGEST_LAYER);
      if (layer === undefined) this.refuse('layer', 'layer', reported, at);
      row.layer = layer ?? NO_LAYER;
    }
  }

  private refuse(code: RejectionCode, field: string, found: string, at: number): void {
    const { line, file } = this.batch;
    const { fileName } = this.files[file[at]!]!;
    this.sink.refuse({ line: line[at]!, code, field, found: quote(found), file: fileName });
  }

  /** Reads on in the text that is at hand. @returns false when more is needed first. */
  private parse(): boolean {
    if (this.parser === null) {
      const { end, lines, odd } = readBetween(this.bytes, false);
      if (odd !== null) this.refuseFile('xml', quote(odd), 'documents one behind the other, or a multipart answer');
      if (end === this.bytes.length) return false;
      this.nextLine += lines;
      this.bytes = this.bytes.subarray(end);
      this.parser = new DocumentParser(this.file.fileName, this.nextLine, this);
    }
    this.bytes = this.bytes.subarray(this.parser.write(this.bytes));
    return true;
  }

  private endDocument(parser: DocumentParser): void {
    parser.close();
    this.nextLine = parser.line;
    this.parser = null;
    if (this.current === null) this.refuseFile('mtconnect-header', 'a document without a header', 'a header');
    const { batch } = this;
    this.sequences.end(this.current, batch, this.isRestarted);
    // An agent that was started again knows nothing until the machine tells it.
    const restartUs = this.isRestarted ? batch.earliestUs() : Number.NaN;
    if (!Number.isNaN(restartUs)) batch.add(restartUs, 0, RESTART, Number.NaN, this.current.line);
    this.current = null;
    batch.settle(this.latestUs - this.holdUs);
  }

  /**
   * Goes on to the next file.
   * @returns false when there is none.
   * @throws BadInputError when the last document is not complete.
   */
  private endFile(): boolean {
    if (this.parser !== null) this.parser.close();
    else {
      const { odd } = readBetween(this.bytes, true);
      if (odd !== null) this.refuseFile('xml', quote(odd), 'documents one behind the other, or a multipart answer');
    }
    const next = this.files[this.batch.reading + 1];
    if (!next) return false;
    this.file = next;
    this.hasTold = false;
    this.batch.reading += 1;
    this.bytes = NOTHING;
    this.nextLine = 1;
    return true;
  }

  private end(): boolean {
    this.isAtEnd = true;
    this.batch.settle(Number.POSITIVE_INFINITY);
    return !this.batch.isEmpty || this.finish();
  }

  /** Ends what still holds, now that every row was told. */
  private finish(): false {
    this.conditions.endAll(this.row.timeUs, this.row.line);
    return false;
  }

  private take(piece: Uint8Array): void {
    const bytes = Buffer.from(piece.buffer, piece.byteOffset, piece.length);
    this.bytes = this.bytes.length === 0 ? bytes : Buffer.concat([this.bytes, bytes]);
  }

  private refuseFile(code: string, found: string, expected: string): never {
    const line = this.parser?.line ?? this.nextLine;
    throw new BadInputError([refused(this.file.fileName, line, code, found, expected)]);
  }

  private async keepPiece(): Promise<void> {
    if (this.piece === undefined) return;
    await this.file.keep(this.piece, { line: this.pieceLine, fromUs: this.pieceFromUs, toUs: this.pieceToUs });
    this.pieceFromUs = null;
    this.pieceToUs = null;
  }
}
