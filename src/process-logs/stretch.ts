import type { SummaryRow } from '../dossier/tables.js';
import { reportedValue, type ScannedChannel } from './channels.js';
import type { Covered } from './known-places.js';
import type { WindowSet } from './window-table.js';

/** Running statistics of one channel. Values come in as the sums of a part, so that rounding stays small. */
export class ChannelStatistics {
  n = 0;
  min = Number.POSITIVE_INFINITY;
  max = Number.NEGATIVE_INFINITY;
  /** Time outside the narrowest window. */
  outsideUs = 0;
  private mean = 0;
  private squaredDeviations = 0;
  private timeWeightedMean = 0;
  private observedUs = 0;

  /**
   * Takes in n values with their mean, their squared deviations from it, and the mean weighted by time.
   * Source of the combination: Chan, Golub and LeVeque, "Updating formulae and a pairwise algorithm for computing
   * sample variances" (1979), formula 2.1 (cited from memory).
   */
  add(n: number, mean: number, squaredDeviations: number, timeWeightedMean: number, observedUs: number): void {
    const total = this.n + n;
    const difference = mean - this.mean;
    this.mean += (difference * n) / total;
    this.squaredDeviations += squaredDeviations + (difference * difference * this.n * n) / total;
    this.n = total;
    if (observedUs > 0) {
      this.observedUs += observedUs;
      this.timeWeightedMean += ((timeWeightedMean - this.timeWeightedMean) * observedUs) / this.observedUs;
    }
  }

  /** The statistics as the dossier keeps them; an empty text where there is none. */
  texts(
    channel: ScannedChannel,
  ): Pick<SummaryRow, 'n' | 'min' | 'max' | 'mean' | 'timeWeightedMean' | 'sd' | 'observedMs' | 'outsideMs'> {
    const { n, observedUs } = this;
    const text = (value: number) => numberText(reportedValue(channel, value));
    return {
      n: String(n),
      min: n > 0 ? text(this.min) : '',
      max: n > 0 ? text(this.max) : '',
      mean: n > 0 ? text(this.mean) : '',
      timeWeightedMean: observedUs > 0 ? text(this.timeWeightedMean) : '',
      sd: n > 1 ? text(Math.sqrt(this.squaredDeviations / (n - 1))) : '',
      observedMs: numberText(observedUs / 1000),
      outsideMs: numberText(this.outsideUs / 1000),
    };
  }
}

/** All rows of one layer, zone and step, wherever they stand in the log. */
export class Stretch {
  readonly statistics: readonly ChannelStatistics[];
  firstUs = Number.NaN;
  /** End of the last row's holding. */
  lastUs = Number.NaN;
  lineFrom = 0;
  lineTo = 0;
  rows = 0;
  /** Sum of the times its rows held: without gaps. */
  heldUs = 0;

  /**
   * @param zone as logged, empty when the rows name none.
   * @param layer null when the rows name none.
   * @param covers what findings on these rows cover.
   */
  constructor(
    readonly zone: string,
    readonly step: string,
    readonly layer: number | null,
    readonly covers: Covered,
    readonly whileClosed: WindowSet,
    readonly whileOpen: WindowSet,
    channels: number,
  ) {
    this.statistics = Array.from({ length: channels }, () => new ChannelStatistics());
  }

  summary(build: string, channels: readonly ScannedChannel[]): SummaryRow[] {
    const layer = this.layer === null ? '' : String(this.layer);
    return channels.map((channel, index) => ({
      build,
      layer,
      zone: this.zone,
      step: this.step,
      channel: channel.name,
      ucum: channel.ucum,
      ...this.statistics[index]!.texts(channel),
    }));
  }
}

function numberText(value: number): string {
  return String(value === 0 ? 0 : value);
}
