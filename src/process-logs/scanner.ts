import { createHash } from 'node:crypto';
import { digestOf } from '../dossier/canonical.js';
import { BadInputError } from '../errors.js';
import { CARRIAGE_RETURN, LINE_FEED, textOf } from './bytes.js';
import { coverageFindings } from './coverage.js';
import { ExcursionWatch } from './excursion-watch.js';
import { type FindingDraft, FindingList } from './findings.js';
import { checkUnitRow, isUnitRow, readHeader } from './header.js';
import { InertBreaks } from './inert-breaks.js';
import { LineSplitter, LONGEST_LINE } from './line-splitter.js';
import { Outline } from './outline.js';
import { checkPlan, type ScanPlan } from './plan.js';
import { emptyFile, noUsableRow, quote, type Rejection, Rejections } from './rejection.js';
import type { HeldRow, LogRow } from './row.js';
import { duplicateTime, gap, rowRejected, timeGoingBack } from './row-findings.js';
import { RowReader } from './row-reader.js';
import { Segment } from './segment.js';
import type { Stretch } from './stretch.js';
import { Stretches } from './stretches.js';
import type { TextScan } from './text-scan.js';
import { readTimestampUs, timestampText } from './timestamp.js';

/** Name and version of what this folder finds in a log. It changes with every change of a result. */
export const SCANNER = 'lotwright log scanner 1';

/**
 * Reads a log once, in chunks of any size, and says what is in it. Memory does not grow with the log, only with the
 * number of layers, zones and steps. No files, no clock: the result is a function of the bytes and the plan.
 *
 * A sample holds until the next one. Beyond the gap limit only the nominal period counts. Of two rows with one
 * timestamp the earlier has no weight. A row whose time goes back is rejected.
 */
export class LogScanner {
  private readonly splitter: LineSplitter;
  private readonly hash = createHash('sha256');
  private readonly rejections = new Rejections();
  private readonly findings = new FindingList();
  private readonly watch: ExcursionWatch;
  private readonly breaks: InertBreaks;
  private readonly outline: Outline;
  private readonly segment: Segment;
  private readonly stretches: Stretches;
  private readonly inertChannels: ReadonlySet<number>;
  private readonly nominalUs: number;
  private readonly gapLimitUs: number;
  private readonly clockOffsetUs: number;
  private readonly closedUs: number;
  private readonly openedUs: number;

  private reader: RowReader | null = null;
  private order: Int32Array = new Int32Array(0);
  private lineCount = 0;
  private rowCount = 0;
  private blankLines = 0;
  private firstUs = Number.NaN;
  private readonly blankCells: number[];
  private readonly notNumberCells: number[];

  /** The row that holds, its values, and where it lies; null before the first row. */
  private held: HeldRow | null = null;
  private heldValues: Float64Array;
  private heldPlaceChanges = -1;
  private heldLayer = Number.NaN;
  /** Where the open segment lies, and the time from which on another one must begin. */
  private segmentStretch: Stretch | null = null;
  private turnAtUs = Number.NEGATIVE_INFINITY;

  /**
   * @param fileName only for messages.
   * @throws BadInputError when the plan cannot be.
   */
  constructor(
    private readonly plan: ScanPlan,
    private readonly fileName: string,
  ) {
    checkPlan(plan);
    const channels = plan.channels.length;
    this.nominalUs = Math.round(plan.nominalPeriodMs * 1000);
    this.gapLimitUs = Math.round(plan.gapLimitMs * 1000);
    this.clockOffsetUs = Math.round(plan.clockOffsetMs * 1000);
    this.closedUs = plan.closure ? readTimestampUs(plan.closure.closedAt)! : Number.NEGATIVE_INFINITY;
    this.openedUs = plan.closure ? readTimestampUs(plan.closure.openedAt)! : Number.POSITIVE_INFINITY;
    this.inertChannels = new Set(
      plan.channels.flatMap(({ name }, index) => (plan.inert.channels.includes(name) ? [index] : [])),
    );
    this.watch = new ExcursionWatch(channels, this.gapLimitUs, (draft) => this.found(draft));
    this.breaks = new InertBreaks(plan.inert.joinMs * 1000);
    this.outline = new Outline(channels, this.nominalUs);
    this.segment = new Segment(channels, this.watch);
    this.stretches = new Stretches(plan, fileName);
    this.splitter = new LineSplitter(this);
    this.heldValues = new Float64Array(channels);
    this.blankCells = new Array<number>(channels).fill(0);
    this.notNumberCells = new Array<number>(channels).fill(0);
  }

  /** Rows accepted so far, for progress. */
  get rows(): number {
    return this.rowCount;
  }

  /** True time of the last row accepted, microseconds since 1970; NaN before the first. */
  get latestUs(): number {
    return this.held === null ? Number.NaN : this.held.timeUs;
  }

  /** Lines read so far. */
  get linesRead(): number {
    return this.lineCount;
  }

  /**
   * Takes a row that another reader than the one for CSV text has read, in order of time.
   * @param line of the row in its file; 0 when it comes from several files, and findings then name no lines.
   */
  take(row: LogRow, line: number): void {
    this.lineCount = line;
    this.accept(row);
  }

  /** Counts something that another reader could not read. */
  refuse(rejection: Rejection): void {
    this.rejections.add(rejection);
    const line = rejection.file === undefined ? rejection.line : 0;
    this.findings.add(rowRejected({ ...rejection, line }, this.held?.stretch));
  }

  /** Takes in what another reader found. Something lost is, for the inert atmosphere, as a gap in the log. */
  note(draft: FindingDraft): void {
    if (draft.rule === 'observations lost') this.noteGap(draft);
    else this.findings.add(draft);
  }

  /** @throws BadInputError when header, unit row or the number of places cannot be. */
  push(chunk: Uint8Array): void {
    this.hash.update(chunk);
    this.splitter.push(chunk);
  }

  /** @throws BadInputError when the file is empty or no row of it could be used. */
  end(): TextScan {
    this.splitter.end();
    if (this.lineCount === 0) throw new BadInputError([emptyFile(this.fileName)]);
    const { held, plan } = this;
    if (held === null) throw new BadInputError([noUsableRow(this.fileName, this.rejections.listed[0])]);
    this.settle(held, this.nominalUs);
    this.closeSegment();
    this.watch.closeAll();
    const all = this.stretches.all();
    for (const draft of coverageFindings(plan, all)) this.findings.add(draft);
    for (const draft of this.breaks.findings()) this.findings.add(draft);
    const findings = this.findings.finish(plan.build, plan.channels);
    return {
      textSha256: this.hash.digest('hex'),
      planSha256: digestOf(plan),
      lines: this.lineCount,
      rows: this.rowCount,
      rejectedRows: this.rejections.total,
      blankLines: this.blankLines,
      firstAt: timestampText(this.firstUs),
      lastAt: timestampText(held.timeUs),
      part: {
        build: plan.build,
        findings,
        outlines: this.outline.finish(plan.channels),
        steps: this.outline.stepSpans(),
        gaps: findings
          .filter((finding) => finding.rule === 'gap')
          .map((finding) => ({ startedAt: finding.startedAt!, endedAt: finding.endedAt! })),
      },
      summaries: all.flatMap((stretch) => stretch.summary(plan.build, plan.channels)),
      rejections: this.rejections.listed,
      rejectionsByCode: this.rejections.byCode(),
      channels: plan.channels.map(({ name }, index) => ({
        channel: name,
        blank: this.blankCells[index]!,
        notANumber: this.notNumberCells[index]!,
      })),
    };
  }

  /** Called by the splitter. */
  lines(bytes: Uint8Array, start: number, end: number): void {
    for (let at = start; at < end; ) {
      const behind = this.reader === null ? -1 : this.reader.readUsual(bytes, at);
      if (behind >= 0) {
        this.lineCount += 1;
        this.accept(this.reader!);
        at = behind;
      } else {
        const lineEnd = bytes.indexOf(LINE_FEED, at);
        this.line(bytes, at, lineEnd);
        at = lineEnd + 1;
      }
    }
  }

  private line(bytes: Uint8Array, start: number, lineEnd: number): void {
    if (lineEnd - start > LONGEST_LINE) {
      this.tooLongLine();
      return;
    }
    this.lineCount += 1;
    const { reader } = this;
    const end = lineEnd > start && bytes[lineEnd - 1] === CARRIAGE_RETURN ? lineEnd - 1 : lineEnd;
    if (reader === null) this.readHeader(bytes.subarray(start, end));
    else if (this.lineCount === 2 && isUnitRow(bytes, start, end)) {
      checkUnitRow(bytes.subarray(start, end), this.order, this.plan.channels, this.fileName);
    } else if (end === start) this.blankLines += 1;
    else if (reader.readAny(bytes, start, end)) this.accept(reader);
    else this.reject({ line: this.lineCount, code: reader.code, field: reader.field, found: reader.found });
  }

  /** Called by the splitter. */
  tooLongLine(): void {
    this.lineCount += 1;
    if (this.reader === null) this.readHeader(new Uint8Array(0));
    this.reject({ line: this.lineCount, code: 'line too long', field: '', found: 'more than 65 536 bytes' });
  }

  /** Called by the splitter. A row that may have been cut is never used: `21.37` cut to `21.3` still looks right. */
  unfinishedLine(bytes: Uint8Array): void {
    this.lineCount += 1;
    if (this.reader === null) this.readHeader(bytes);
    else {
      const found = quote(textOf(bytes, 0, bytes.length));
      this.reject({ line: this.lineCount, code: 'unfinished line', field: '', found });
    }
  }

  private readHeader(bytes: Uint8Array): void {
    this.order = readHeader(bytes, this.plan.channels, this.fileName);
    this.reader = new RowReader(this.plan.channels, this.order);
  }

  private accept(reader: LogRow): void {
    const timeUs = reader.timeUs + this.clockOffsetUs;
    const { held } = this;
    if (held === null) {
      this.firstUs = timeUs;
    } else {
      const elapsedUs = timeUs - held.timeUs;
      if (elapsedUs < 0) {
        this.rejectTimeBack(reader, timeUs, held.timeUs);
        return;
      }
      if (elapsedUs > this.gapLimitUs) {
        this.settle(held, this.nominalUs);
        this.watch.closeAll();
        this.noteGap(gap(held, this.stretchOf(reader), timeUs, this.lineCount));
      } else {
        this.settle(held, elapsedUs);
        if (elapsedUs === 0) this.findings.add(duplicateTime(held, this.lineCount));
      }
    }
    this.hold(reader, timeUs);
  }

  /** Takes over the row that was read as the one that holds from now on. */
  private hold(reader: LogRow, timeUs: number): void {
    let { held } = this;
    if (held === null || reader.placeChanges !== this.heldPlaceChanges || reader.layer !== this.heldLayer) {
      const stretch = this.stretchOf(reader);
      this.heldPlaceChanges = reader.placeChanges;
      this.heldLayer = reader.layer;
      held ??= { timeUs, line: 0, forUs: 0, stretch };
      held.stretch = stretch;
      this.held = held;
    }
    held.timeUs = timeUs;
    held.line = this.lineCount;
    const values = reader.values;
    reader.values = this.heldValues;
    this.heldValues = values;
    this.rowCount += 1;
    for (const channel of reader.blanks) this.blankCells[channel]! += 1;
    for (const channel of reader.notNumbers) this.notNumberCells[channel]! += 1;
  }

  /** Accounts for the held row, now that it is known how long it held. */
  private settle(held: HeldRow, forUs: number): void {
    held.forUs = forUs;
    if (held.timeUs >= this.turnAtUs || held.stretch !== this.segmentStretch) this.beginSegment(held);
    const { stretch } = held;
    const isClosed = held.timeUs >= this.closedUs && held.timeUs < this.openedUs;
    this.segment.add(this.heldValues, held, isClosed ? stretch.whileClosed : stretch.whileOpen);
    if (stretch.rows === 0) {
      stretch.firstUs = held.timeUs;
      stretch.lineFrom = held.line;
    }
    stretch.rows += 1;
    stretch.lastUs = held.timeUs + forUs;
    stretch.lineTo = held.line;
  }

  private beginSegment(held: HeldRow): void {
    this.closeSegment();
    this.turnAtUs = this.outline.moveTo(held.timeUs);
    this.segmentStretch = held.stretch;
  }

  private closeSegment(): void {
    if (this.segmentStretch !== null) this.segment.close(this.segmentStretch, this.outline);
  }

  private found(draft: FindingDraft): void {
    this.findings.add(draft);
    if (draft.channel === null || !this.inertChannels.has(draft.channel)) return;
    this.breaks.add(draft, `of ${this.plan.channels[draft.channel]!.name}`);
  }

  private noteGap(draft: FindingDraft): void {
    this.findings.add(draft);
    if (this.inertChannels.size > 0) this.breaks.add(draft, 'in the log');
  }

  private rejectTimeBack(reader: LogRow, timeUs: number, latestUs: number): void {
    const found = `${timestampText(timeUs)} after ${timestampText(latestUs)}`;
    this.rejections.add({ line: this.lineCount, code: 'time going back', field: 'timestamp', found });
    this.findings.add(timeGoingBack(timeUs, latestUs, this.lineCount, this.stretchOf(reader)));
  }

  private reject(rejection: Rejection): void {
    this.rejections.add(rejection);
    this.findings.add(rowRejected(rejection, this.held?.stretch));
  }

  private stretchOf({ zone, step, layer }: LogRow): Stretch {
    return this.stretches.at(zone, step, layer);
  }
}
