/** What the standard calls an observation: one thing that the machine reported (ANSI/MTC1.4, Part 3). */
export interface Observation {
  readonly category: 'Samples' | 'Events' | 'Condition';
  /** Name of the element without prefix: `Temperature`, `Execution`, `Fault`. */
  readonly element: string;
  readonly dataItem: string;
  /** Microseconds since 1970, clock of the machine. */
  readonly timeUs: number;
  readonly sequence: number;
  /** Text of the element, trimmed; empty where nobody wants it, and where its number is enough. */
  readonly value: string;
  /** The value where it was read as a plain decimal; NaN where its text has to be looked at. */
  readonly number: number;
  /** Of a data set or a table that somebody wants, by key; null of everything else. */
  readonly entries: ReadonlyMap<string, Entry> | null;
  /** Of a time series that somebody wants; null of everything else. */
  readonly series: SeriesFacts | null;
  /** Of a condition; null of everything else. */
  readonly condition: ConditionFacts | null;
  /** The machine began anew with this data item, so that a set of values holds nothing but what is told now. */
  readonly isReset: boolean;
  readonly line: number;
}

/** One value of a data set, or one row of a table. */
export interface Entry {
  readonly isRemoved: boolean;
  readonly value: string;
  /** Of a table, by key. */
  readonly cells: ReadonlyMap<string, string>;
}

/** As the attributes of a time series say it. */
export interface SeriesFacts {
  readonly sampleCount: string;
  /** Values in a second; empty where the data item alone says it. */
  readonly sampleRate: string;
}

/** Kind of condition, the machine's own code, and from version 2.3 on which activation it is. */
export interface ConditionFacts {
  readonly type: string;
  readonly nativeCode: string;
  readonly conditionId: string;
}

/** What the header of a document says of the agent's memory (ANSI/MTC1.4, Part 1: HeaderType of the streams schema). */
export interface StreamHeader {
  readonly instance: string;
  /** As the header names it, so far as it is one at all; agents write the version of their own program there. */
  readonly saidVersion: string;
  /** The version of the namespace, by which the document is read. */
  readonly version: string;
  /** Oldest observation that the agent still held. */
  readonly firstSequence: number;
  /** Where the next request would go on. */
  readonly nextSequence: number;
  readonly line: number;
}

/** Value of an observation that the machine cannot determine. */
export const UNAVAILABLE = 'UNAVAILABLE';
