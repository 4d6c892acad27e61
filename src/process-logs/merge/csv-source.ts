import { CARRIAGE_RETURN, LINE_FEED, textOf } from '../bytes.js';
import { type ScannedChannel, settleUnits } from '../channels.js';
import { isUnitRow, readHeader, readUnitRow } from '../header.js';
import { LineSplitter, LONGEST_LINE } from '../line-splitter.js';
import type { PlannedChannel } from '../plan.js';
import { quote, type Refusal } from '../rejection.js';
import { RowReader } from '../row-reader.js';
import type { LogFile } from './log-file.js';
import type { RowSource, SourceRow, SourceSink } from './row-source.js';

interface Region {
  readonly bytes: Uint8Array;
  at: number;
  readonly end: number;
}

const UNIT_ROW_LINE = 2;

/** The rows of one CSV log among several. Reads as `LogScanner` does, but hands the rows out one by one. */
export class CsvSource implements RowSource {
  readonly row: SourceRow;
  private readonly splitter = new LineSplitter(this);
  private readonly regions: Region[] = [];
  private piece: Uint8Array | undefined;
  private pieceLine = 1;
  private latestUs: number | null = null;
  private pieceFromUs: number | null = null;
  private order: Int32Array | null = null;
  private reader: RowReader | null = null;
  private settled: readonly ScannedChannel[] = [];
  private lineCount = 0;
  private readonly clockOffsetUs: number;

  constructor(
    private readonly file: LogFile,
    private readonly planned: readonly PlannedChannel[],
    clockOffsetMs: number,
    private readonly sink: SourceSink,
  ) {
    this.clockOffsetUs = Math.round(clockOffsetMs * 1000);
    this.row = { timeUs: Number.NaN, layer: -1, zone: '', step: '', values: new Float64Array(planned.length), line: 0 };
  }

  get fileName(): string {
    return this.file.fileName;
  }

  /** Known once the first row was read. */
  get channels(): readonly ScannedChannel[] {
    return this.settled;
  }

  /** @throws BadInputError when header, unit row or units cannot be. */
  advance(): boolean {
    for (let region = this.regions[0]; region !== undefined; region = this.regions[0]) {
      while (region.at < region.end) if (this.next(region)) return true;
      this.regions.shift();
    }
    return false;
  }

  async fill(): Promise<boolean> {
    await this.keepPiece();
    const piece = await this.file.piece();
    if (piece === undefined) {
      this.splitter.end();
      return false;
    }
    this.piece = piece;
    this.pieceLine = this.lineCount + 1;
    this.pieceFromUs = this.latestUs;
    this.splitter.push(piece);
    return true;
  }

  /** Called by the splitter. */
  lines(bytes: Uint8Array, start: number, end: number): void {
    this.regions.push({ bytes, at: start, end });
  }

  /** Called by the splitter. */
  tooLongLine(): void {
    this.lineCount += 1;
    this.refuse({ code: 'line too long', field: '', found: '' });
  }

  /** Called by the splitter. A row that may have been cut is never used. */
  unfinishedLine(bytes: Uint8Array): void {
    this.lineCount += 1;
    if (this.order === null) this.order = readHeader(bytes, this.planned, this.fileName);
    else this.refuse({ code: 'unfinished line', field: '', found: quote(textOf(bytes, 0, bytes.length)) });
  }

  /** Reads one line. @returns true when it is a row. */
  private next(region: Region): boolean {
    const { bytes, at } = region;
    const behind = this.reader === null ? -1 : this.reader.readUsual(bytes, at);
    if (behind >= 0) {
      this.lineCount += 1;
      region.at = behind;
      return this.take(this.reader!);
    }
    const lineEnd = bytes.indexOf(LINE_FEED, at);
    region.at = lineEnd + 1;
    return this.line(bytes, at, lineEnd);
  }

  private line(bytes: Uint8Array, start: number, lineEnd: number): boolean {
    if (lineEnd - start > LONGEST_LINE) {
      this.tooLongLine();
      return false;
    }
    this.lineCount += 1;
    const end = lineEnd > start && bytes[lineEnd - 1] === CARRIAGE_RETURN ? lineEnd - 1 : lineEnd;
    if (this.order === null) {
      this.order = readHeader(bytes.subarray(start, end), this.planned, this.fileName);
      return false;
    }
    if (this.lineCount === UNIT_ROW_LINE && isUnitRow(bytes, start, end)) {
      this.begin(readUnitRow(bytes.subarray(start, end), this.order, this.fileName));
      return false;
    }
    const reader = this.reader ?? this.begin(null);
    if (end === start) return false;
    if (reader.readAny(bytes, start, end)) return this.take(reader);
    this.refuse(reader.refusal!);
    return false;
  }

  private begin(unitRow: readonly string[] | null): RowReader {
    const line = unitRow === null ? 1 : UNIT_ROW_LINE;
    this.settled = settleUnits(this.planned, unitRow, { file: this.fileName, line });
    this.reader = new RowReader(this.settled, this.order!);
    return this.reader;
  }

  private take(reader: RowReader): true {
    const { row } = this;
    this.latestUs = reader.timeUs;
    row.timeUs = reader.timeUs + this.clockOffsetUs;
    row.layer = reader.layer;
    row.zone = reader.zone;
    row.step = reader.step;
    row.values = reader.values;
    row.line = this.lineCount;
    return true;
  }

  private refuse(refusal: Refusal): void {
    this.sink.refuse({ line: this.lineCount, ...refusal, file: this.fileName });
  }

  private async keepPiece(): Promise<void> {
    if (this.piece === undefined) return;
    await this.file.keep(this.piece, { line: this.pieceLine, fromUs: this.pieceFromUs, toUs: this.latestUs });
    this.piece = undefined;
  }
}
