import type { FindingDraft } from './findings.js';
import { Places } from './places.js';
import type { HeldRow } from './row.js';
import type { Stretch } from './stretch.js';
import type { Slot, WindowSet } from './window-table.js';

/** An uninterrupted time outside a limit, or without a value. */
interface Run {
  readonly startUs: number;
  endUs: number;
  rows: number;
  readonly lineFrom: number;
  lineTo: number;
  worst: number;
  limit: number;
  worstExcess: number;
  /** Unit of the channel × microseconds. */
  integral: number;
  /** It has lasted long enough, or its integral is large enough, to be a finding. */
  counts: boolean;
  readonly places: Places;
  lastStretch: Stretch | null;
}

/**
 * Follows what is outside its limits. Each slot (level, side, terms) is a run of its own, so that the time beyond *reject* is told
 * apart from the longer time beyond *alert*. A run goes on across borders of layer, zone and step; a value inside, a
 * missing value, a place without such a limit, or a gap ends it.
 */
export class ExcursionWatch {
  /** How many runs a channel has open. */
  readonly busy: Int32Array;
  private readonly runs: (Run | null)[];
  /** Behind the slots: the run of missing values. */
  private readonly missingSlot: number;
  private readonly runsPerChannel: number;

  /**
   * @param gapLimitUs missing values that last longer are as bad as a gap.
   * @param found called with each run that counts, at its end.
   */
  constructor(
    channels: number,
    private readonly slots: readonly Slot[],
    private readonly gapLimitUs: number,
    private readonly found: (draft: FindingDraft) => void,
  ) {
    this.missingSlot = slots.length;
    this.runsPerChannel = slots.length + 1;
    this.busy = new Int32Array(channels);
    this.runs = new Array<Run | null>(channels * this.runsPerChannel).fill(null);
  }

  /** A value that is outside some limit, or whose channel has a run open. */
  look(channel: number, value: number, row: HeldRow, windows: WindowSet): void {
    const { slots } = this;
    this.close(channel, this.missingSlot);
    let isOutside = false;
    for (let slot = 0; slot < slots.length; slot += 1) {
      const band = windows.bands[slot]!;
      const threshold = band.threshold[channel]!;
      const { isHigh } = slots[slot]!;
      if (isHigh ? value > threshold : value < threshold) {
        isOutside = true;
        const run = this.extend(channel, slot, row);
        const limit = band.limit[channel]!;
        const excess = isHigh ? value - limit : limit - value;
        run.integral += excess * row.forUs;
        if (excess > run.worstExcess) {
          run.worstExcess = excess;
          run.worst = value;
          run.limit = limit;
        }
        run.counts ||=
          run.endUs - run.startUs >= band.minimumUs[channel]! || run.integral >= band.integralLimit[channel]!;
      } else {
        this.close(channel, slot);
      }
    }
    if (isOutside) row.stretch.statistics[channel]!.outsideUs += row.forUs;
  }

  /** A row without a value of this channel. Where no limit holds, nothing is missed. */
  miss(channel: number, row: HeldRow, windows: WindowSet): void {
    for (let slot = 0; slot < this.slots.length; slot += 1) this.close(channel, slot);
    if (windows.watched[channel] === 1) this.extend(channel, this.missingSlot, row).counts = true;
    else this.close(channel, this.missingSlot);
  }

  /** Ends all runs: at a gap, and at the end of the log. */
  closeAll(): void {
    for (let channel = 0; channel < this.busy.length; channel += 1) {
      if (this.busy[channel] === 0) continue;
      for (let slot = 0; slot < this.runsPerChannel; slot += 1) this.close(channel, slot);
    }
  }

  private extend(channel: number, slot: number, row: HeldRow): Run {
    const index = channel * this.runsPerChannel + slot;
    let run = this.runs[index];
    if (run === null || run === undefined) {
      run = newRun(row);
      this.runs[index] = run;
      this.busy[channel]! += 1;
    }
    run.endUs = row.timeUs + row.forUs;
    run.rows += 1;
    run.lineTo = row.line;
    if (run.lastStretch !== row.stretch) {
      run.lastStretch = row.stretch;
      const { covers, step } = row.stretch;
      run.places.add(covers.zone, covers.layer, step);
    }
    return run;
  }

  private close(channel: number, slot: number): void {
    const index = channel * this.runsPerChannel + slot;
    const run = this.runs[index];
    if (run === null || run === undefined) return;
    this.runs[index] = null;
    this.busy[channel]! -= 1;
    if (!run.counts) return;
    this.found(slot === this.missingSlot ? this.missing(channel, run) : outside(channel, this.slots[slot]!, run));
  }

  private missing(channel: number, run: Run): FindingDraft {
    const level = run.endUs - run.startUs > this.gapLimitUs ? 'action' : 'alert';
    return { rule: 'missing values', level, channel, ...factsOf(run) };
  }
}

function outside(channel: number, { rule, level, isHigh }: Slot, run: Run): FindingDraft {
  const { worst, limit, worstExcess, integral } = run;
  const direction = isHigh ? 'high' : 'low';
  const facts = { channel, direction, worst, limit, worstExcess, ...factsOf(run) } as const;
  // An area beyond a setting means nothing.
  return rule === 'excursion' ? { rule, level, ...facts, integral } : { rule, level, ...facts };
}

function factsOf({ places, startUs, endUs, rows, lineFrom, lineTo }: Run) {
  return { places, startUs, endUs, durationUs: endUs - startUs, rows, lineFrom, lineTo };
}

function newRun({ timeUs, line }: HeldRow): Run {
  return {
    startUs: timeUs,
    endUs: timeUs,
    rows: 0,
    lineFrom: line,
    lineTo: line,
    worst: Number.NaN,
    limit: Number.NaN,
    worstExcess: Number.NEGATIVE_INFINITY,
    integral: 0,
    counts: false,
    places: new Places(),
    lastStretch: null,
  };
}
