import { BadInputError, type Problem } from '../../base/errors.js';
import type { RejectionCode } from '../../dossier/finding-detail.js';
import type { ChannelMap } from '../../kinds/channel-map.js';
import { LINE_FEED, strictTextOf, textOf } from '../bytes.js';
import type { ScannedChannel } from '../channels.js';
import { splitCsvLine } from '../csv-line.js';
import { DewPointConversion } from '../dew-point.js';
import { LineSplitter, LONGEST_LINE } from '../line-splitter.js';
import type { LogFile } from '../merge/log-file.js';
import type { RowSource, SourceRow, SourceSink } from '../merge/row-source.js';
import { quote, type Refusal } from '../rejection.js';
import { NO_LAYER } from '../row-reader.js';
import { hasControlCharacter, isNumberText, readLayer } from '../row-text.js';
import { LoggerClock } from './logger-clock.js';

const DELIMITERS = { comma: ',', semicolon: ';', tab: '\t', bar: '|' } as const;
const LONGEST_LAYER = 7;

/** Where in a row stands what. −1 for what the map does not have. */
interface Columns {
  readonly count: number;
  readonly time: readonly number[];
  /** In the order of the channels. */
  readonly channels: readonly number[];
  readonly layer: number;
  readonly zone: number;
  readonly step: number;
}

/** The rows of a CSV file as a logger writes it, in the form that its channel map declares. */
export class LoggerSource implements RowSource {
  readonly row: SourceRow;
  private readonly splitter = new LineSplitter(this);
  private readonly regions: { readonly bytes: Uint8Array; at: number; readonly end: number }[] = [];
  private readonly csv: NonNullable<ChannelMap['csv']>;
  private readonly delimiter: string;
  private readonly clock: LoggerClock;
  private readonly steps: ReadonlyMap<string, string>;
  private readonly dewPoints: readonly DewPointConversion[];
  private columns: Columns | null = null;
  private lineCount = 0;
  private piece: Uint8Array | undefined;
  private pieceLine = 1;
  private pieceFromUs: number | null = null;
  private latestUs: number | null = null;

  constructor(
    private readonly file: LogFile,
    private readonly map: ChannelMap,
    readonly channels: readonly ScannedChannel[],
    private readonly clockOffsetUs: number,
    gapUs: number,
    private readonly sink: SourceSink,
  ) {
    this.csv = map.csv!;
    this.delimiter = DELIMITERS[this.csv.delimiter];
    this.clock = new LoggerClock(this.csv.time.form, this.csv.time.zone, gapUs);
    this.steps = new Map((map.steps ?? []).map(({ reported, step }) => [reported, step]));
    this.dewPoints = channels.flatMap(({ dewPoint }, channel) =>
      dewPoint === null ? [] : [new DewPointConversion(channel, dewPoint)],
    );
    const values = new Float64Array(channels.length);
    this.row = { timeUs: Number.NaN, layer: NO_LAYER, zone: '', step: '', values, line: 0 };
  }

  get fileName(): string {
    return this.file.fileName;
  }

  /** @throws BadInputError when the head line is not as the map declares it. */
  advance(): boolean {
    for (let region = this.regions[0]; region !== undefined; region = this.regions[0]) {
      while (region.at < region.end) {
        const lineEnd = region.bytes.indexOf(LINE_FEED, region.at);
        const start = region.at;
        region.at = lineEnd + 1;
        if (this.line(region.bytes, start, lineEnd)) return true;
      }
      this.regions.shift();
    }
    return false;
  }

  async fill(): Promise<boolean> {
    await this.keepPiece();
    this.piece = await this.file.piece();
    if (this.piece === undefined) {
      this.splitter.end();
      return false;
    }
    this.pieceLine = this.lineCount + 1;
    this.pieceFromUs = this.latestUs;
    this.splitter.push(this.piece);
    return true;
  }

  /** Called by the splitter. */
  lines(bytes: Uint8Array, start: number, end: number): void {
    this.regions.push({ bytes, at: start, end });
  }

  /** Called by the splitter. */
  tooLongLine(): void {
    this.lineCount += 1;
    this.refuse('line too long', '', '');
  }

  /** Called by the splitter. A row that may have been cut is never used. */
  unfinishedLine(bytes: Uint8Array): void {
    this.lineCount += 1;
    this.refuse('unfinished line', '', textOf(bytes, 0, bytes.length));
  }

  /** @returns true when the line is a row. */
  private line(bytes: Uint8Array, start: number, lineEnd: number): boolean {
    if (lineEnd - start > LONGEST_LINE) {
      this.tooLongLine();
      return false;
    }
    this.lineCount += 1;
    if (this.lineCount <= this.csv.headerLines) return false;
    const end = bytes[lineEnd - 1] === 13 && lineEnd > start ? lineEnd - 1 : lineEnd;
    const text = strictTextOf(bytes, start, end);
    if (this.columns === null) {
      this.columns = this.readHead(text);
      return false;
    }
    if (text === undefined) return this.refuse('encoding', '', textOf(bytes, start, end));
    if (text === '') return false;
    if (hasControlCharacter(text.replaceAll(this.delimiter, ' '))) return this.refuse('control character', '', text);
    const fields = splitCsvLine(text, this.delimiter);
    if (fields === undefined) return this.refuse('quotes', '', text);
    if (fields.length !== this.columns.count) {
      const counts = { found: fields.length, expected: this.columns.count };
      return this.refuse('number of fields', '', text, counts);
    }
    return this.take(fields, this.columns);
  }

  private take(fields: readonly string[], columns: Columns): boolean {
    const { row } = this;
    const time = columns.time.map((column) => fields[column]!.trim()).join(' ');
    const timeUs = this.clock.read(time);
    if (timeUs === undefined) return this.refuse('timestamp', 'timestamp', time);
    const at = (column: number) => (column < 0 ? '' : fields[column]!.trim());
    const layer = at(columns.layer) === '' ? NO_LAYER : readLayer(at(columns.layer), LONGEST_LAYER);
    if (layer === undefined) return this.refuse('layer', 'layer', at(columns.layer));
    for (const [index, column] of columns.channels.entries()) {
      const value = this.number(fields[column]!.trim(), index);
      if (value === undefined) return this.refuse('number', this.channels[index]!.name, fields[column]!);
      row.values[index] = value;
    }
    for (const conversion of this.dewPoints) conversion.apply(row.values);
    row.timeUs = timeUs + this.clockOffsetUs;
    row.layer = layer;
    row.zone = at(columns.zone);
    const step = at(columns.step);
    row.step = this.steps.get(step) ?? step;
    row.line = this.lineCount;
    this.latestUs = timeUs;
    return true;
  }

  /** In the unit of the channel; NaN for a blank cell and for NaN. A mark of thousands is no part of a number. */
  private number(cell: string, index: number): number | undefined {
    if (cell === '' || cell === 'NaN') return Number.NaN;
    const isComma = this.csv.decimal === 'comma';
    if (isComma && cell.includes('.')) return undefined;
    const text = isComma ? cell.replace(',', '.') : cell;
    const number = isNumberText(text) ? Number(text) : Number.NaN;
    if (!Number.isFinite(number)) return undefined;
    const { factor, offset } = this.channels[index]!;
    return factor === 1 && offset === 0 ? number : number * factor + offset;
  }

  private readHead(text: string | undefined): Columns {
    const names = text === undefined ? undefined : splitCsvLine(text, this.delimiter)?.map((name) => name.trim());
    const problems: Problem[] = [];
    const place = (name: string | undefined): number => {
      const first = names?.indexOf(name!) ?? -1;
      const isOnce = first >= 0 && names!.lastIndexOf(name!) === first;
      if (!isOnce) problems.push(this.headProblem(text, first < 0 ? 'no such column' : 'the column twice', name!));
      return first;
    };
    const columnOf = (dataItem: string | undefined): number =>
      dataItem === undefined ? -1 : place(this.csv.columns.find((each) => each.dataItem === dataItem)!.column);
    const items = new Map(this.map.channels.map(({ channel, dataItem }) => [channel, dataItem]));
    const { layer, zone, step } = this.map.place;
    const columns = {
      count: names?.length ?? 0,
      time: this.csv.time.columns.map(place),
      channels: this.channels.map(({ name }) => columnOf(items.get(name))),
      layer: columnOf(layer),
      zone: columnOf(zone),
      step: columnOf(step),
    };
    if (problems.length > 0) throw new BadInputError(problems);
    return columns;
  }

  private headProblem(text: string | undefined, found: string, field: string): Problem {
    const { map, revision } = this.map;
    return {
      code: 'log-header',
      file: this.fileName,
      line: this.lineCount,
      field,
      found: `${found} in ${text === undefined ? 'bytes that are not UTF-8' : quote(text)}`,
      expected: `each column of channel map ${map} revision ${revision} once`,
      remedy: 'export the log again, or correct the channel map',
    };
  }

  private refuse(code: RejectionCode, field: string, found: string, fields?: Refusal['fields']): false {
    const rejection = { line: this.lineCount, code, field, found: quote(found), file: this.fileName };
    this.sink.refuse(fields === undefined ? rejection : { ...rejection, fields });
    return false;
  }

  private async keepPiece(): Promise<void> {
    if (this.piece === undefined) return;
    await this.file.keep(this.piece, { line: this.pieceLine, fromUs: this.pieceFromUs, toUs: this.latestUs });
    this.piece = undefined;
  }
}
