import type { Outline as ChannelOutline, StepSpans } from '../dossier/schema.js';
import type { ScannedChannel } from './channels.js';
import { coverageFindings, shortLog } from './coverage.js';
import { ExcursionWatch } from './excursion-watch.js';
import type { FindingDraft, FindingList } from './findings.js';
import { type HoleEnd, Holes } from './holes.js';
import { InertBreaks } from './inert-breaks.js';
import { Outline } from './outline.js';
import type { ScanPlan } from './plan.js';
import type { Rejection } from './rejection.js';
import type { HeldRow, LogRow } from './row.js';
import { dewPointNotConverted, duplicateTime, gap, timeGoingBack } from './row-findings.js';
import { Segment } from './segment.js';
import { StepOrder } from './step-order.js';
import type { Stretch } from './stretch.js';
import { Stretches } from './stretches.js';
import type { ChannelCounts } from './text-scan.js';
import { readTimestampUs, timestampText } from './timestamp.js';
import { WindowTable } from './window-table.js';

/** What the rows of a log come to. */
export interface RowTotals {
  readonly firstUs: number;
  readonly lastUs: number;
  readonly stretches: readonly Stretch[];
  readonly outlines: readonly ChannelOutline[];
  readonly steps: readonly StepSpans[];
  readonly counts: readonly ChannelCounts[];
}

/**
 * Accounts for every row: how long it holds, where it lies, what leaves its window. Each row holds until the next one, so
 * a row is accounted for when the next is there; until then it is the held row.
 */
export class RowAccount {
  /** Rows accepted so far. */
  rows = 0;
  private readonly watch: ExcursionWatch;
  private readonly breaks: InertBreaks;
  private readonly outline: Outline;
  private readonly segment: Segment;
  private readonly stretches: Stretches;
  private readonly stepOrder: StepOrder;
  private readonly windows: WindowTable;
  private readonly holes: Holes;
  private readonly inertChannels: ReadonlySet<number>;
  private readonly nominalUs: number;
  private readonly gapLimitUs: number;
  private readonly clockOffsetUs: number;
  private readonly closedUs: number;
  private readonly openedUs: number;
  private firstUs = Number.NaN;
  private readonly blankCells: number[];
  private readonly notNumberCells: number[];
  private readonly unconvertedCells: number[];

  /** The row that holds, its values, and where it lies; null before the first row. */
  private held: HeldRow | null = null;
  private heldValues: Float64Array;
  private heldPlaceChanges = -1;
  private heldLayer = Number.NaN;
  /** Where the open segment lies, and the time from which on another one must begin. */
  private segmentStretch: Stretch | null = null;
  private turnAtUs = Number.NEGATIVE_INFINITY;

  constructor(
    private readonly plan: ScanPlan,
    readonly channels: readonly ScannedChannel[],
    fileName: string,
    private readonly findings: FindingList,
  ) {
    const none = () => new Array<number>(channels.length).fill(0);
    this.nominalUs = Math.round(plan.nominalPeriodMs * 1000);
    this.gapLimitUs = Math.round(plan.gapLimitMs * 1000);
    this.clockOffsetUs = Math.round(plan.clockOffsetMs * 1000);
    this.closedUs = plan.closure ? readTimestampUs(plan.closure.closedAt)! : Number.NEGATIVE_INFINITY;
    this.openedUs = plan.closure ? readTimestampUs(plan.closure.openedAt)! : Number.POSITIVE_INFINITY;
    this.inertChannels = new Set(
      channels.flatMap(({ name }, index) => (plan.inert.channels.includes(name) ? [index] : [])),
    );
    this.windows = new WindowTable(plan, channels);
    this.watch = new ExcursionWatch(channels.length, this.windows.slots, this.gapLimitUs, (draft) => this.found(draft));
    this.breaks = new InertBreaks(plan.inert.joinMs * 1000);
    this.outline = new Outline(channels.length, this.nominalUs);
    this.segment = new Segment(channels.length, this.watch);
    this.stretches = new Stretches(plan, this.windows, fileName);
    this.holes = new Holes(this.closedUs, this.openedUs, this.couldHide.bind(this), (draft) =>
      this.findings.add(draft),
    );
    this.stepOrder = new StepOrder(plan.expected, (draft) => this.findings.add(draft));
    this.heldValues = new Float64Array(channels.length);
    this.blankCells = none();
    this.notNumberCells = none();
    this.unconvertedCells = none();
  }

  /** True time of the last row accepted, microseconds since 1970; NaN before the first. */
  get latestUs(): number {
    return this.held === null ? Number.NaN : this.held.timeUs;
  }

  /**
   * Takes in a row.
   * @param line of the row in its file; 0 for none.
   * @returns why it is not used, if so: its time goes back.
   */
  accept(row: LogRow, line: number): Rejection | undefined {
    const { held } = this;
    const timeUs = row.timeUs + this.clockOffsetUs;
    if (held === null) {
      this.firstUs = timeUs;
    } else {
      const elapsedUs = timeUs - held.timeUs;
      if (elapsedUs < 0) return this.refuseTimeBack(row, timeUs, held.timeUs, line);
      if (elapsedUs > this.gapLimitUs) {
        this.settle(held, this.nominalUs);
        this.watch.closeAll();
        this.noteGap(gap(held, this.stretchOf(row), timeUs, line));
      } else {
        this.settle(held, elapsedUs);
        if (elapsedUs === 0) this.findings.add(duplicateTime(held, line));
      }
    }
    this.hold(row, timeUs, line);
    return undefined;
  }

  /** Notes a line that is no row: a hole between the rows before and after it. */
  skip(rejection: Rejection): void {
    this.holes.add(rejection, this.held);
  }

  /** Takes in what a reader found. Something lost is, for the inert atmosphere, as a gap in the log. */
  note(draft: FindingDraft): void {
    if (draft.rule === 'observations lost') this.noteGap(draft);
    else this.findings.add(draft);
  }

  /** @returns undefined when there was no row. */
  finish(): RowTotals | undefined {
    const { held, plan } = this;
    if (held === null) return undefined;
    this.settle(held, this.nominalUs);
    this.closeSegment();
    this.watch.closeAll();
    const endUs = held.timeUs + held.forUs;
    this.stepOrder.leave(endUs, held.line);
    const isCut = { atEnd: this.holes.isOpen, atStart: false };
    this.holes.finish();
    isCut.atStart = this.holes.isAtStart;
    for (const draft of shortLog(plan, this.firstUs, endUs, isCut)) this.noteSilence(draft);
    const stretches = this.stretches.all();
    for (const draft of coverageFindings(plan, stretches)) this.findings.add(draft);
    for (const draft of this.breaks.findings()) this.findings.add(draft);
    return {
      firstUs: this.firstUs,
      lastUs: held.timeUs,
      stretches,
      outlines: this.outline.finish(this.channels),
      steps: this.outline.stepSpans(),
      counts: this.channels.map(({ name }, index) => ({
        channel: name,
        blank: this.blankCells[index]!,
        notANumber: this.notNumberCells[index]!,
        notConverted: this.unconvertedCells[index]!,
      })),
    };
  }

  /** Takes over the row that was read as the one that holds from now on. */
  private hold(row: LogRow, timeUs: number, line: number): void {
    let { held } = this;
    if (held === null || row.placeChanges !== this.heldPlaceChanges || row.layer !== this.heldLayer) {
      const stretch = this.stretchOf(row);
      this.heldPlaceChanges = row.placeChanges;
      this.heldLayer = row.layer;
      if (held?.stretch !== stretch) this.stepOrder.enter(stretch, timeUs, line);
      held ??= { timeUs, line: 0, forUs: 0, stretch };
      held.stretch = stretch;
      this.held = held;
    }
    held.timeUs = timeUs;
    held.line = line;
    const values = row.values;
    row.values = this.heldValues;
    this.heldValues = values;
    this.rows += 1;
    if (this.holes.isOpen) this.holes.row(held, row.files);
    if (row.blanks.length > 0 || row.notNumbers.length > 0) this.countOddCells(row);
    if (row.unconverted !== undefined && row.unconverted.length > 0) this.noteUnconverted(row.unconverted, held);
  }

  private countOddCells({ blanks, notNumbers }: LogRow): void {
    for (const channel of blanks) this.blankCells[channel]! += 1;
    for (const channel of notNumbers) this.notNumberCells[channel]! += 1;
  }

  private noteUnconverted(unconverted: NonNullable<LogRow['unconverted']>, held: HeldRow): void {
    for (const { channel, trouble } of unconverted) {
      this.unconvertedCells[channel]! += 1;
      this.findings.add(dewPointNotConverted(channel, trouble, held));
    }
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
    stretch.heldUs += forUs;
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
    this.breaks.add(draft, this.channels[draft.channel]!.name);
  }

  /** Silence breaks the inert atmosphere while the chamber is closed: nobody knows what it was like. */
  private noteGap(draft: FindingDraft): void {
    const isWhileClosed = draft.endUs! > this.closedUs && draft.startUs! < this.openedUs;
    if (isWhileClosed) this.noteSilence(draft);
    else this.findings.add(draft);
  }

  private noteSilence(draft: FindingDraft): void {
    this.findings.add(draft);
    if (this.inertChannels.size > 0) this.breaks.add(draft, null);
  }

  /** Rejected lines could have said anything, wherever a limit had to be kept. */
  private couldHide(before: HoleEnd | null, next: HoleEnd | null): boolean {
    if (this.windows.isEmpty) return false;
    const isOpen =
      (before !== null && before.timeUs >= this.openedUs) || (next !== null && next.timeUs <= this.closedUs);
    return !isOpen || [before, next].some((end) => end?.stretch.whileOpen.watched.includes(1));
  }

  private refuseTimeBack(row: LogRow, timeUs: number, latestUs: number, line: number): Rejection {
    this.findings.add(timeGoingBack(timeUs, latestUs, line, this.stretchOf(row)));
    const [found, latest] = [timestampText(timeUs), timestampText(latestUs)];
    return { line, code: 'time going back', field: 'timestamp', found, latest };
  }

  private stretchOf({ zone, step, layer }: LogRow): Stretch {
    return this.stretches.at(zone, step, layer);
  }
}
