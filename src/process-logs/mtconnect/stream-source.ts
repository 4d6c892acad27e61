import { BadInputError } from '../../base/errors.js';
import type { RejectionCode } from '../../dossier/finding-detail.js';
import type { ChannelMap } from '../../kinds/channel-map.js';
import type { ScannedChannel } from '../channels.js';
import { DewPointConversion } from '../dew-point.js';
import type { KnownPlaces } from '../known-places.js';
import type { LogFile } from '../merge/log-file.js';
import type { RowSource, SourceRow, SourceSink } from '../merge/row-source.js';
import { quote } from '../rejection.js';
import { NO_LAYER } from '../row-reader.js';
import { isNumberText, readLayer } from '../row-text.js';
import { ConditionWatch } from './condition-watch.js';
import { DocumentParser, type DocumentSink, refused } from './document-parser.js';
import { DocumentSplitter } from './document-splitter.js';
import { type Observation, type StreamHeader, UNAVAILABLE } from './observation.js';
import { ObservationBatch } from './observation-batch.js';
import { SequenceWatch } from './sequence-watch.js';

/** Roles of observations that are no channel; a channel has its index. */
const OTHER = -1;
const LAYER = -2;
const ZONE = -3;
const STEP = -4;
const CONDITION = -5;

const LONGEST_LAYER = 7;

export interface StreamPlan {
  readonly map: ChannelMap;
  readonly channels: readonly ScannedChannel[];
  readonly clockOffsetMs: number;
  /** What was reported earlier (true time) tells the state of the machine, but is no row of the log. */
  readonly notBeforeUs: number;
  readonly known: KnownPlaces;
}

/**
 * The rows of a file of MTConnectStreams documents, one behind the other. Each time at which the machine reported anything
 * is a row with every channel as it then stood: a value holds until the next one, and UNAVAILABLE is no value.
 */
export class StreamSource implements RowSource, DocumentSink {
  readonly row: SourceRow;
  private readonly decoder = new TextDecoder('utf-8', { fatal: true });
  private readonly splitter = new DocumentSplitter();
  private readonly batch: ObservationBatch;
  private readonly sequences: SequenceWatch;
  private readonly conditions: ConditionWatch;
  private readonly roles: ReadonlyMap<string, number>;
  private readonly steps: ReadonlyMap<string, string>;
  private readonly dewPoints: readonly DewPointConversion[];
  private readonly clockOffsetUs: number;
  /** Every channel as it stands, before dew points become shares. */
  private readonly state: Float64Array;

  /** Text that was read and not yet parsed; behind each piece but the last, a document ends. */
  private texts: string[] = [];
  private parser: DocumentParser | null = null;
  private current: StreamHeader | null = null;
  private newFrom = 1;
  private isRestarted = false;
  /** Line of the file at which the next document begins. */
  private nextLine = 1;

  private piece: Uint8Array | undefined;
  private pieceLine = 1;
  private pieceFromUs: number | null = null;
  private pieceToUs: number | null = null;

  constructor(
    private readonly file: LogFile,
    private readonly plan: StreamPlan,
    private readonly sink: SourceSink,
  ) {
    const { map, channels } = plan;
    this.clockOffsetUs = Math.round(plan.clockOffsetMs * 1000);
    this.batch = new ObservationBatch(file.fileName);
    this.sequences = new SequenceWatch(map.everySequence === 'yes', (draft) => this.sink.note(draft));
    const conditions = new Map((map.conditions ?? []).map((rule) => [rule.dataItem, rule]));
    this.conditions = new ConditionWatch(conditions, (draft) => this.sink.note(draft));
    this.roles = rolesOf(map, channels);
    this.steps = new Map((map.steps ?? []).map(({ reported, step }) => [reported, step]));
    this.dewPoints = channels.flatMap(({ dewPoint }, channel) =>
      dewPoint === null ? [] : [new DewPointConversion(channel, dewPoint)],
    );
    this.state = new Float64Array(channels.length).fill(Number.NaN);
    this.row = { timeUs: Number.NaN, layer: NO_LAYER, zone: '', step: '', values: this.state.slice(), line: 0 };
  }

  get fileName(): string {
    return this.file.fileName;
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
    this.batch.clear();
    for (;;) {
      while (this.texts.length > 0) {
        const text = this.texts.shift()!;
        this.parse(text);
        if (this.texts.length === 0 || this.parser === null) continue;
        this.endDocument(this.parser);
        if (this.batch.count > 0) return true;
      }
      await this.keepPiece();
      this.piece = await this.file.piece();
      if (this.piece === undefined) return this.endFile();
      this.pieceLine = this.parser?.line ?? this.nextLine;
      this.texts = this.splitter.push(this.decode(this.piece, { stream: true }));
    }
  }

  /** Called by the parser. */
  header(header: StreamHeader): void {
    this.current = header;
    const { newFrom, isRestarted } = this.sequences.begin(header);
    this.newFrom = newFrom;
    this.isRestarted = isRestarted;
    // An agent that was started again knows nothing until the machine tells it.
    if (isRestarted) this.state.fill(Number.NaN);
  }

  /** Called by the parser. */
  observation(observation: Observation): void {
    const { timeUs, sequence, line, dataItem, value } = observation;
    this.pieceFromUs = Math.min(this.pieceFromUs ?? timeUs, timeUs);
    this.pieceToUs = Math.max(this.pieceToUs ?? timeUs, timeUs);
    if (sequence < this.newFrom) return;
    const role = observation.category === 'Condition' ? CONDITION : (this.roles.get(dataItem) ?? OTHER);
    const { batch } = this;
    if (role === CONDITION) batch.conditions.set(batch.count, observation);
    else batch.seeItem(dataItem);
    if (role < OTHER && role !== CONDITION) batch.texts.set(batch.count, value);
    const number = role >= 0 ? this.readNumber(observation, role) : Number.NaN;
    batch.add(timeUs + this.clockOffsetUs, sequence, role, number, line);
  }

  private apply(at: number): void {
    const { batch, row } = this;
    const role = batch.role[at]!;
    if (role >= 0) this.takeValue(role, at);
    else if (role === CONDITION) this.conditions.take(batch.conditions.get(at)!, batch.timeUs[at]!);
    else if (role < OTHER) this.takePlace(role, batch.texts.get(at)!, batch.line[at]!);
    else return;
    row.line = batch.line[at]!;
  }

  private takeValue(role: number, at: number): void {
    const { batch } = this;
    this.state[role] = batch.value[at]!;
    const unread = batch.texts.get(at);
    if (unread !== undefined) this.refuse('number', this.plan.channels[role]!.name, unread, batch.line[at]!);
  }

  private takePlace(role: number, reported: string, line: number): void {
    const { row } = this;
    const text = reported === UNAVAILABLE ? '' : reported;
    if (role === ZONE) row.zone = text;
    else if (role === STEP) row.step = this.steps.get(text) ?? text;
    else {
      const layer = text === '' ? NO_LAYER : readLayer(text, LONGEST_LAYER);
      if (layer === undefined) this.refuse('layer', 'layer', reported, line);
      row.layer = layer ?? NO_LAYER;
    }
  }

  /** In the unit of the channel. What is no number stands for no value, and is counted as a rejected line in its turn. */
  private readNumber({ value }: Observation, index: number): number {
    const { factor, offset } = this.plan.channels[index]!;
    if (value === UNAVAILABLE) return Number.NaN;
    const number = isNumberText(value) ? Number(value) : Number.NaN;
    if (!Number.isFinite(number)) {
      this.batch.texts.set(this.batch.count, value);
      return Number.NaN;
    }
    return factor === 1 && offset === 0 ? number : number * factor + offset;
  }

  private refuse(code: RejectionCode, field: string, found: string, line: number): void {
    this.sink.refuse({ line, code, field, found: quote(found), file: this.fileName });
  }

  private parse(text: string): void {
    if (this.parser === null) {
      const start = text.search(/\S/);
      const blank = start < 0 ? text : text.slice(0, start);
      this.nextLine += blank.split('\n').length - 1;
      if (start < 0) return;
      this.parser = new DocumentParser(this.fileName, this.nextLine, this);
      this.parser.write(text.slice(start));
    } else this.parser.write(text);
  }

  private endDocument(parser: DocumentParser): void {
    parser.close();
    this.nextLine = parser.line;
    this.parser = null;
    if (this.current === null) this.refuseFile('mtconnect-header', 'a document without a header', 'a header');
    this.sequences.end(this.current, this.batch, this.isRestarted);
    this.current = null;
    this.batch.sort();
  }

  /** @throws BadInputError when the last document is not complete. */
  private endFile(): false {
    this.decode(new Uint8Array(0), {});
    this.parse(this.splitter.end());
    this.parser?.close();
    this.conditions.finish(this.row.timeUs, this.row.line);
    return false;
  }

  private decode(bytes: Uint8Array, options: { stream?: boolean }): string {
    try {
      return this.decoder.decode(bytes, options);
    } catch {
      return this.refuseFile('xml-encoding', 'bytes that are not UTF-8', 'UTF-8');
    }
  }

  private refuseFile(code: string, found: string, expected: string): never {
    const line = this.parser?.line ?? this.nextLine;
    throw new BadInputError([refused(this.fileName, line, code, found, expected)]);
  }

  private async keepPiece(): Promise<void> {
    if (this.piece === undefined) return;
    await this.file.keep(this.piece, { line: this.pieceLine, fromUs: this.pieceFromUs, toUs: this.pieceToUs });
    this.pieceFromUs = null;
    this.pieceToUs = null;
  }
}

function rolesOf(map: ChannelMap, channels: readonly ScannedChannel[]): Map<string, number> {
  const roles = new Map<string, number>();
  for (const { dataItem, channel } of map.channels) {
    const index = channels.findIndex(({ name }) => name === channel);
    if (index >= 0) roles.set(dataItem, index);
  }
  const { layer, zone, step } = map.place;
  if (layer !== undefined) roles.set(layer, LAYER);
  if (zone !== undefined) roles.set(zone, ZONE);
  if (step !== undefined) roles.set(step, STEP);
  return roles;
}
