import type { LogChannel, LogPart } from '../dossier/schema.js';
import type { SummaryRow } from '../dossier/tables.js';
import type { Rejection, RejectionCounts } from './rejection.js';

/** What a scan says of the text of a log. */
export interface TextScan {
  readonly planSha256: string;
  readonly lines: number;
  readonly rows: number;
  readonly rejectedRows: number;
  readonly blankLines: number;
  /** Time of the first and the last row, true time, UTC. */
  readonly firstAt: string;
  readonly lastAt: string;
  readonly part: LogPart;
  readonly summaries: readonly SummaryRow[];
  /** The first thousand rejected lines; how many of each kind there were. */
  readonly rejections: readonly Rejection[];
  readonly rejectionsByCode: RejectionCounts;
  readonly channels: readonly ChannelCounts[];
  /** Units and conversion of each channel. */
  readonly channelFacts: readonly LogChannel[];
}

/** Cells without a number in accepted rows. */
export interface ChannelCounts {
  readonly channel: string;
  readonly blank: number;
  readonly notANumber: number;
  /** Dew points that could not be turned into a share of moisture. */
  readonly notConverted: number;
}
