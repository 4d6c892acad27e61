import { BadInputError } from '../../base/errors.js';
import type { ChannelMap } from '../../kinds/channel-map.js';
import type { ScannedChannel } from '../channels.js';
import type { KnownPlaces } from '../known-places.js';
import type { LogFile } from '../merge/log-file.js';
import type { RowSource, SourceRow, SourceSink } from '../merge/row-source.js';
import { quote } from '../rejection.js';
import { BatchFiller } from './batch-filler.js';
import { readBetween } from './between-documents.js';
import { ConditionWatch } from './condition-watch.js';
import { DocumentParser, type DocumentSink, refused } from './document-parser.js';
import { itemRoles } from './item-roles.js';
import { MachineState } from './machine-state.js';
import type { Observation, StreamHeader } from './observation.js';
import { ObservationBatch } from './observation-batch.js';
import { RESTART } from './observation-roles.js';
import { SequenceWatch } from './sequence-watch.js';
import { VersionWatch } from './version-watch.js';

const NOTHING = Buffer.alloc(0);

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
  private readonly batch: ObservationBatch;
  private readonly filler: BatchFiller;
  private readonly machine: MachineState;
  private readonly sequences: SequenceWatch;
  private readonly conditions: ConditionWatch;
  private readonly versions: VersionWatch;

  /** What was read of the file and not yet parsed. */
  private bytes: Buffer = NOTHING;
  private parser: DocumentParser | null = null;
  private current: StreamHeader | null = null;
  private isRestarted = false;
  /** Line of the file at which the next document begins. */
  private nextLine = 1;
  private isAtEnd = false;

  private piece: Uint8Array | undefined;
  private pieceLine = 1;
  private pieceFromUs: number | null = null;
  private pieceToUs: number | null = null;

  /** The one that is being read; rows of the one before it may still wait. */
  private file: LogFile;
  private rowFile: string;

  /** @param files of one recording, in the order of their sequence numbers: what the machine told in one holds in the next. */
  constructor(
    private readonly files: readonly LogFile[],
    private readonly plan: StreamPlan,
    sink: SourceSink,
  ) {
    this.file = files[0]!;
    this.rowFile = this.file.fileName;
    const { map, channels, clockOffsetMs, beside } = plan;
    const fileNames = files.map(({ fileName }) => fileName);
    const note: SourceSink['note'] = (draft) => sink.note(draft);
    const reject: SourceSink['refuse'] = (rejection) => sink.refuse(rejection);
    const mapped = new Map((map.conditions ?? []).map((rule) => [rule.dataItem, rule]));
    const steps = new Map((map.steps ?? []).map(({ reported, step }) => [reported, step]));
    this.batch = new ObservationBatch(fileNames, beside);
    this.sequences = new SequenceWatch(map.everySequence === 'yes', note);
    this.conditions = new ConditionWatch(mapped, note);
    this.versions = new VersionWatch(note);
    this.machine = new MachineState(channels, fileNames, this.batch, this.conditions, steps, reject);
    const asked = {
      ...{ channels, roles: itemRoles(map, channels), conditions: new Set(mapped.keys()) },
      clockOffsetUs: Math.round(clockOffsetMs * 1000),
      hasSeries: map.channels.some(({ sampleRateHz }) => sampleRateHz !== undefined),
    };
    this.filler = new BatchFiller(asked, this.batch, reject);
    this.filler.beginFile(this.file.fileName);
  }

  get row(): SourceRow {
    return this.machine.row;
  }

  /** Of the row. */
  get fileName(): string {
    return this.rowFile;
  }

  /** Files that told something that no other file of the recording had told before, were it before the closure. */
  get told(): ReadonlySet<string> {
    return this.filler.told;
  }

  get channels(): readonly ScannedChannel[] {
    return this.plan.channels;
  }

  /** Moves to the next time at which anything was reported. */
  advance(): boolean {
    const { batch, machine } = this;
    const { row } = machine;
    for (let at = batch.peek(); at >= 0; at = batch.peek()) {
      row.timeUs = batch.timeUs[at]!;
      row.line = batch.line[at]!;
      this.rowFile = this.files[batch.file[at]!]!.fileName;
      for (; at >= 0 && batch.timeUs[at] === row.timeUs; at = batch.peek()) {
        machine.apply(at);
        batch.skip();
      }
      if (row.timeUs < this.plan.notBeforeUs) continue;
      machine.show();
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
    this.versions.compare(header);
    const { newFrom, isRestarted } = this.sequences.begin(header);
    this.filler.newFrom = newFrom;
    this.isRestarted = isRestarted;
  }

  /** Called by the parser. */
  wants(dataItem: string): 'nothing' | 'number' | 'all' {
    return this.filler.wants(dataItem);
  }

  /** Called by the parser. */
  observation(observation: Observation): void {
    const { timeUs } = observation;
    if (!(timeUs >= (this.pieceFromUs ?? Number.POSITIVE_INFINITY))) this.pieceFromUs = timeUs;
    if (!(timeUs <= (this.pieceToUs ?? Number.NEGATIVE_INFINITY))) this.pieceToUs = timeUs;
    this.filler.take(observation);
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
    batch.settle(this.filler.settledUs);
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
    this.filler.beginFile(next.fileName);
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
    const { timeUs, line } = this.row;
    this.conditions.endAll(timeUs, line);
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
