/** What the standard calls an observation: one thing that the machine reported (ANSI/MTC1.4, Part 3). */
export interface Observation {
  readonly category: 'Samples' | 'Events' | 'Condition';
  /** Name of the element without prefix: `Temperature`, `Execution`, `Fault`. */
  readonly element: string;
  readonly dataItem: string;
  /** Microseconds since 1970, clock of the machine. */
  readonly timeUs: number;
  readonly sequence: number;
  /** Text of the element, trimmed. */
  readonly value: string;
  /** Kind of condition and the machine's own code, for conditions. */
  readonly type: string;
  readonly nativeCode: string;
  readonly line: number;
}

/** What the header of a document says of the agent's memory (ANSI/MTC1.4, Part 1: HeaderType of the streams schema). */
export interface StreamHeader {
  readonly instance: string;
  /** Oldest observation that the agent still held. */
  readonly firstSequence: number;
  /** Where the next request would go on. */
  readonly nextSequence: number;
  readonly line: number;
}

/** Value of an observation that the machine cannot determine. */
export const UNAVAILABLE = 'UNAVAILABLE';
