import type { ScannedChannel } from '../channels.js';
import type { FindingDraft } from '../findings.js';
import type { Rejection } from '../rejection.js';

/** A row of one file, in true time. It is only valid until its source moves on. */
export interface SourceRow {
  /** Microseconds since 1970, with the clock offset of the recorder applied. */
  timeUs: number;
  /** NO_LAYER when the row names none. */
  layer: number;
  zone: string;
  step: string;
  /** In the order of the source's channels, in their units; NaN where there is none. */
  values: Float64Array;
  line: number;
}

/** Rows of one file, or of the files of one recording, in their order. What is at hand is read without waiting; only `fill` waits. */
export interface RowSource {
  /** Of the file of the row. */
  readonly fileName: string;
  /** Of a recording: the files that told something new, whether or not it is a row. */
  readonly told?: ReadonlySet<string>;
  readonly channels: readonly ScannedChannel[];
  readonly row: SourceRow;
  /** Moves to the next row of what was read. @returns false when there is none: then `fill` first. */
  advance(): boolean;
  /** Reads more of the file. @returns false at its end. */
  fill(): Promise<boolean>;
  /** Lets go of what it holds beside the file. */
  close?(): void;
}

/** Where sources put what is no row. */
export interface SourceSink {
  refuse(rejection: Rejection): void;
  note(draft: FindingDraft): void;
}
