import type { SaidPlace } from '../../dossier/finding-detail.js';
import type { ScannedChannel } from '../channels.js';
import { everywhere, placeFinding } from '../findings.js';
import type { KnownPlaces } from '../known-places.js';
import type { Rejection } from '../rejection.js';
import type { LogRow } from '../row.js';
import type { RowAccount } from '../row-account.js';
import { NO_LAYER } from '../row-reader.js';
import { Disagreements } from './disagreements.js';
import type { RowSource } from './row-source.js';

/** One file among those that are merged. */
export interface MergedSource {
  readonly source: RowSource;
  /** For how long a value of this file holds, microseconds. */
  readonly holdsUs: number;
}

/** What the rows of one file came to. */
export interface SourceTotals {
  rows: number;
  firstUs: number;
  lastUs: number;
}

const noTotals = (): SourceTotals => ({ rows: 0, firstUs: Number.NaN, lastUs: Number.NaN });

interface Lane extends MergedSource {
  /** For each channel of the source, its place in the merged row. */
  readonly places: readonly number[];
  readonly totals: SourceTotals;
  /** The same for each of its files. */
  readonly ofFiles: Map<string, SourceTotals>;
  isOver: boolean;
  heldUntilUs: number;
  line: number;
  layer: number;
  zone: string;
  step: string;
}

/**
 * Brings the rows of several files into one order of time. Each time at which any file has a row is a merged row: every
 * channel as it stands then, from the file that reported it last, for as long as that file's values hold. Where two files
 * report one channel at one moment, the first named counts, and a difference is a finding.
 */
export class MergedRows {
  private readonly lanes: readonly Lane[];
  private readonly values: Float64Array;
  private readonly untilUs: Float64Array;
  /** Which lane set a channel last, and in which turn. */
  private readonly setBy: Int32Array;
  private readonly setTurn: Int32Array;
  private readonly disagreements: Disagreements;
  /** The lanes that say something at this turn, and the names of their files. */
  private readonly taken: Lane[] = [];
  private readonly files: string[] = [];
  private readonly blanks: number[] = [];
  private readonly merged: LogRow & { timeUs: number; layer: number; zone: string; step: string; placeChanges: number };
  private turn = 0;
  private latestUs = Number.NEGATIVE_INFINITY;

  /** @param channels of the merged row; each channel of each source is one of them. */
  constructor(
    sources: readonly MergedSource[],
    private readonly channels: readonly ScannedChannel[],
    private readonly account: RowAccount,
    private readonly known: KnownPlaces,
    private readonly refused: (rejection: Rejection) => void,
  ) {
    const n = channels.length;
    this.lanes = sources.map(({ source, holdsUs }) => ({
      source,
      holdsUs,
      places: source.channels.map(({ name }) => channels.findIndex((channel) => channel.name === name)),
      totals: noTotals(),
      ofFiles: new Map(),
      isOver: false,
      heldUntilUs: Number.NEGATIVE_INFINITY,
      line: 0,
      layer: NO_LAYER,
      zone: '',
      step: '',
    }));
    this.values = new Float64Array(n).fill(Number.NaN);
    this.untilUs = new Float64Array(n).fill(Number.NEGATIVE_INFINITY);
    this.setBy = new Int32Array(n).fill(-1);
    this.setTurn = new Int32Array(n).fill(-1);
    const gapUs = Math.max(...sources.map(({ holdsUs }) => holdsUs));
    this.disagreements = new Disagreements(gapUs, (draft) => account.note(draft));
    this.merged = {
      timeUs: 0,
      layer: NO_LAYER,
      zone: '',
      step: '',
      placeChanges: 0,
      values: new Float64Array(n),
      blanks: this.blanks,
      notNumbers: [],
      ...(sources.length > 1 ? { files: this.files } : {}),
    };
  }

  /**
   * Feeds all rows to the account. Each source must stand on its first row.
   * @param onPiece called each time more of a file was read.
   * @returns what each file came to, by its name; one without a row is not there.
   */
  async run(onPiece: () => void): Promise<ReadonlyMap<string, SourceTotals>> {
    for (let timeUs = this.earliest(); timeUs !== Number.POSITIVE_INFINITY; timeUs = this.earliest()) {
      if (timeUs < this.latestUs) {
        await this.refuseEarlier(timeUs, onPiece);
        continue;
      }
      this.latestUs = timeUs;
      this.turn += 1;
      for (let index = 0; index < this.lanes.length; index += 1) {
        const lane = this.lanes[index]!;
        if (lane.isOver || lane.source.row.timeUs !== timeUs) continue;
        this.take(lane, index);
        this.taken.push(lane);
        this.files.push(lane.source.fileName);
      }
      this.emit(timeUs);
      this.files.length = 0;
      // Only now: what is rejected on the way to the next row comes behind this one.
      for (const lane of this.taken.splice(0)) if (!lane.source.advance()) await this.refill(lane, onPiece);
    }
    this.disagreements.finish();
    this.noteOverlaps();
    return new Map(this.lanes.flatMap(({ ofFiles }) => [...ofFiles]));
  }

  private earliest(): number {
    let earliest = Number.POSITIVE_INFINITY;
    for (const { isOver, source } of this.lanes) {
      if (!isOver && source.row.timeUs < earliest) earliest = source.row.timeUs;
    }
    return earliest;
  }

  private async refill(lane: Lane, onPiece: () => void): Promise<void> {
    do {
      onPiece();
      if (!(await lane.source.fill())) lane.isOver = true;
    } while (!lane.isOver && !lane.source.advance());
  }

  /** Takes over what a file says at this turn. */
  private take(lane: Lane, index: number): void {
    const { source, places, totals } = lane;
    const { row } = source;
    for (let own = 0; own < places.length; own += 1) {
      const channel = places[own]!;
      const value = row.values[own]!;
      if (this.setTurn[channel] === this.turn && !Number.isNaN(this.values[channel]!)) {
        this.compare(channel, value, lane);
        continue;
      }
      this.values[channel] = value;
      this.untilUs[channel] = row.timeUs + lane.holdsUs;
      this.setBy[channel] = index;
      this.setTurn[channel] = this.turn;
    }
    lane.line = row.line;
    lane.layer = row.layer;
    lane.zone = row.zone;
    lane.step = row.step;
    lane.heldUntilUs = row.timeUs + lane.holdsUs;
    let ofFile = lane.ofFiles.get(source.fileName);
    if (!ofFile) {
      ofFile = noTotals();
      lane.ofFiles.set(source.fileName, ofFile);
    }
    for (const counted of [totals, ofFile]) {
      if (counted.rows === 0) counted.firstUs = row.timeUs;
      counted.rows += 1;
      counted.lastUs = row.timeUs;
    }
  }

  /** An earlier named file has reported this channel at the same moment. */
  private compare(channel: number, value: number, { source }: Lane): void {
    const counts = this.values[channel]!;
    if (Number.isNaN(value) || value === counts) return;
    const { ucum } = this.channels[channel]!;
    const first = this.lanes[this.setBy[channel]!]!;
    const files = { first: first.source.fileName, second: source.fileName };
    const what = { code: 'values', ...files, firstValue: counts, secondValue: value, ucum } as const;
    this.disagreements.add(channel, what, this.placeOf(first));
  }

  private placeOf({ zone, layer, step }: Lane) {
    return { timeUs: this.latestUs, step, ...this.known.covered(zone, layer) };
  }

  private emit(timeUs: number): void {
    const { merged, values, untilUs, blanks } = this;
    merged.timeUs = timeUs;
    this.settlePlace(timeUs);
    blanks.length = 0;
    for (let channel = 0; channel < values.length; channel += 1) {
      const value = untilUs[channel]! >= timeUs ? values[channel]! : Number.NaN;
      merged.values[channel] = value;
      if (Number.isNaN(value)) blanks.push(channel);
    }
    const line = this.lanes.length === 1 ? this.lanes[0]!.line : 0;
    this.account.accept(merged, line);
  }

  /** The first named file that names a place just now says where the machine is; else the first that still holds. */
  private settlePlace(timeUs: number): void {
    let says = this.lanes[0]!;
    let best = Number.POSITIVE_INFINITY;
    for (const lane of this.lanes) {
      const rank = lane.heldUntilUs < timeUs ? 3 : !isNaming(lane) ? 2 : lane.totals.lastUs === timeUs ? 0 : 1;
      if (rank >= best) continue;
      best = rank;
      says = lane;
    }
    if (best === 0 && this.lanes.length > 1) this.comparePlaces(says, timeUs);
    const { merged } = this;
    if (merged.zone !== says.zone || merged.step !== says.step || this.turn === 1) merged.placeChanges += 1;
    merged.zone = says.zone;
    merged.step = says.step;
    merged.layer = says.layer;
  }

  private comparePlaces(says: Lane, timeUs: number): void {
    for (const other of this.lanes) {
      if (other.totals.lastUs !== timeUs || !isNaming(other)) continue;
      if (other.zone === says.zone && other.layer === says.layer && other.step === says.step) continue;
      const files = { first: says.source.fileName, second: other.source.fileName };
      const what = { code: 'places', ...files, firstPlace: saidBy(says), secondPlace: saidBy(other) } as const;
      this.disagreements.add(null, what, this.placeOf(says));
    }
  }

  /** A row whose time goes back in its own file: the account refuses it, and nothing is taken over from it. */
  private async refuseEarlier(timeUs: number, onPiece: () => void): Promise<void> {
    const lane = this.lanes.find(({ isOver, source }) => !isOver && source.row.timeUs === timeUs)!;
    const { row, fileName } = lane.source;
    const { zone, step, layer, line } = row;
    const odd: LogRow = { timeUs, layer, zone, step, placeChanges: 0, values: row.values, blanks: [], notNumbers: [] };
    const refused = this.account.accept(odd, this.lanes.length === 1 ? line : 0);
    if (refused !== undefined) this.refused({ ...refused, line, file: fileName });
    if (!lane.source.advance()) await this.refill(lane, onPiece);
  }

  /** Files that log the same channel over the same time. */
  private noteOverlaps(): void {
    this.lanes.forEach((lane, index) => {
      for (const other of this.lanes.slice(index + 1)) {
        if (!other.places.some((channel) => lane.places.includes(channel))) continue;
        const startUs = Math.max(lane.totals.firstUs, other.totals.firstUs);
        const endUs = Math.min(lane.totals.lastUs, other.totals.lastUs);
        if (!(endUs > startUs)) continue;
        const what = { code: 'files', first: lane.source.fileName, second: other.source.fileName } as const;
        const facts = { startUs, endUs, durationUs: endUs - startUs, what };
        this.account.note(placeFinding('files overlap', 'alert', everywhere(), facts));
      }
    });
  }
}

const isNaming = ({ zone, layer }: Lane): boolean => zone !== '' || layer !== NO_LAYER;

const saidBy = ({ zone, layer, step }: Lane): SaidPlace => ({
  zone: zone === '' ? null : zone,
  layer: layer === NO_LAYER ? null : layer,
  step,
});
