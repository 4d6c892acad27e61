import type { LogFacts, LogPart } from '../dossier/schema.js';
import type { SummaryRow } from '../dossier/tables.js';
import type { ChannelMap } from '../kinds/channel-map.js';
import type { PlannedChannel, ScanPlan } from './plan.js';
import type { Rejection, RejectionCounts } from './rejection.js';

/** One log file of a build. */
export interface LogSource {
  readonly path: string;
  /** Name of the file as the person knows it, for messages and for the record. */
  readonly fileName: string;
  readonly channels: readonly PlannedChannel[];
  /** What must be added to the clock of this recorder, milliseconds. */
  readonly clockOffsetMs: number;
  /** For how long a value of this file holds when others go on, milliseconds. */
  readonly gapLimitMs: number;
  /** By which the file is read when it is an MTConnect stream; null for CSV. */
  readonly map: ChannelMap | null;
  /** Where it is written down, while it is read, which raw rows stand where; it is not when absent. */
  readonly archive?: string;
}

/** A build as it is scanned: what to look for, and the files in the order in which they count. */
export interface BuildScan {
  readonly plan: ScanPlan;
  readonly sources: readonly LogSource[];
}

/** What a scan says of the log of a build. */
export interface BuildReport {
  /** Of each file, in the order given. */
  readonly files: readonly LogFacts[];
  readonly part: LogPart;
  readonly summaries: readonly SummaryRow[];
  /** Rows that were accounted for: of several files, the times at which any of them had a row. */
  readonly rows: number;
  /** The first thousand rejected lines. */
  readonly rejections: readonly Rejection[];
  /** How many lines were rejected, by reason. */
  readonly rejectionsByCode: RejectionCounts;
}
