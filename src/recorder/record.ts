import { setTimeout as pause } from 'node:timers/promises';
import { explained } from '../base/disk-trouble.js';
import { AppError, BadInputError } from '../base/errors.js';
import type { RecorderTold } from '../report/phrases/commands/recorder.js';
import type { Agent } from './agent.js';
import { AgentError, type Numbered, readDocument } from './read-document.js';
import type { Lost, Recording } from './recording.js';

export interface RecordOptions {
  /** Where a new recording begins: with the newest of everything, or with what the agent still holds. */
  readonly from: 'now' | 'oldest';
  /** Milliseconds between two requests to an agent that gives one document at a time. */
  readonly intervalMs: number;
  /** After what passes it waits, twice as long each time. */
  readonly firstWaitMs: number;
  readonly longestWaitMs: number;
  readonly now: () => Date;
  readonly tell: (told: RecorderTold) => void;
}

/** An answer that cannot be read, or contradicts itself, is asked for so often: one that was cut comes whole the next time. */
const TRIES = 10;
const SPACE = 32;
const LINE_END = Buffer.from('\n');

/**
 * Records until the signal: asks for what comes behind the last number that is on disk, again and again, whatever happens
 * to agent, network or this program. Each number that the agent gives is kept once; what it no longer holds is noted.
 * @throws BadInputError when the agent goes on contradicting itself; AppError when the disk takes no more.
 */
export async function record(
  agent: Agent,
  recording: Recording,
  options: RecordOptions,
  signal: AbortSignal,
): Promise<void> {
  const recorder = new Recorder(agent, recording, options, signal);
  try {
    await recorder.run();
  } catch (error) {
    if (!signal.aborted || !isAbort(error)) throw error;
  } finally {
    recording.close();
  }
}

class Recorder {
  private waitMs: number;
  private tries = 0;

  constructor(
    private readonly agent: Agent,
    private readonly recording: Recording,
    private readonly options: RecordOptions,
    private readonly signal: AbortSignal,
  ) {
    this.waitMs = options.firstWaitMs;
  }

  async run(): Promise<void> {
    const { recording, options } = this;
    const before = recording.next;
    if (before) options.tell({ what: 'goes on', ...before });
    while (!this.signal.aborted) {
      try {
        if (!recording.next) await this.begin();
        else await this.follow(recording.next.sequence);
      } catch (error) {
        await this.wait(error);
      }
    }
  }

  private async begin(): Promise<void> {
    const bytes = whole(await this.agent.current(this.signal));
    const read = readDocument(bytes);
    const sequence = this.options.from === 'now' ? read.nextSequence : read.firstSequence;
    this.options.tell({ what: 'began', instance: read.instance, sequence });
    if (this.options.from === 'now') this.keep(bytes, read);
    else this.recording.add(bytes, { ...read, sequences: [], nextSequence: sequence }, this.at());
  }

  /** Takes documents as long as the agent gives any. */
  private async follow(from: number): Promise<void> {
    for await (const answer of this.agent.sample(from, this.signal)) {
      const bytes = whole(answer);
      if (bytes.length === 0) continue;
      const read = readDocument(bytes);
      if (!this.take(bytes, read)) return;
      this.waitMs = this.options.firstWaitMs;
      this.tries = 0;
    }
    await pause(this.options.intervalMs, undefined, { signal: this.signal });
  }

  /** @returns false when what follows has to be asked for anew. */
  private take(bytes: Buffer, read: Numbered): boolean {
    const { instance, sequence } = this.recording.next!;
    if (read.instance !== instance) {
      this.lose(
        { why: 'agent restarted', at: this.at(), instance: read.instance, before: instance },
        read.firstSequence,
      );
      return false;
    }
    const fault = contradiction(read, sequence);
    if (fault !== undefined) throw new Contradiction(fault);
    const first = read.sequences[0] ?? read.nextSequence;
    if (read.firstSequence > sequence && first > sequence) {
      this.lose(
        { why: 'no longer held', at: this.at(), instance, fromSequence: sequence, toSequence: first - 1 },
        first,
      );
    }
    this.keep(bytes, read);
    return true;
  }

  private keep(bytes: Buffer, read: Numbered): void {
    this.recording.add(bytes, read, this.at());
  }

  private lose(lost: Lost, sequence: number): void {
    this.recording.lose(lost, sequence);
    this.options.tell({ what: 'lost', lost });
  }

  /** Goes on after what passes: agent or disk are away, an answer was cut, or begins behind what comes next. */
  private async wait(caught: unknown): Promise<void> {
    if (this.signal.aborted) throw caught;
    if (caught instanceof AgentError && caught.codes.includes('OUT_OF_RANGE') && (await this.lookAround())) return;
    const error = caught instanceof Contradiction ? contradicts(caught) : explained(caught);
    const passes = error instanceof AppError && (error.code === 'STORAGE' || error instanceof BadInputError);
    if (error instanceof BadInputError) this.tries += 1;
    if (!passes || this.tries === TRIES) throw error;
    this.options.tell({ what: 'waits', why: error.message });
    await pause(this.waitMs, undefined, { signal: this.signal });
    this.waitMs = Math.min(2 * this.waitMs, this.options.longestWaitMs);
  }

  /** The agent does not hold the number that comes next: it dropped it, or began anew. @returns whether that was found. */
  private async lookAround(): Promise<boolean> {
    const { instance, sequence } = this.recording.next!;
    const read = readDocument(whole(await this.agent.current(this.signal)));
    const at = this.at();
    if (read.instance !== instance) {
      this.lose({ why: 'agent restarted', at, instance: read.instance, before: instance }, read.firstSequence);
      return true;
    }
    if (read.firstSequence <= sequence) return false;
    const toSequence = read.firstSequence - 1;
    this.lose({ why: 'no longer held', at, instance, fromSequence: sequence, toSequence }, read.firstSequence);
    return true;
  }

  private at(): string {
    return this.options.now().toISOString();
  }
}

class Contradiction extends Error {}

const contradicts = ({ message }: Contradiction): BadInputError =>
  new BadInputError([
    {
      code: 'agent-contradicts',
      found: message,
      expected: 'each sequence number once, from the one asked for to the one before nextSequence (MTConnect Part 1)',
      remedy: 'have the agent corrected; what was recorded before stands',
    },
  ]);

/** What the numbers of a document say against each other, or against what was asked for. */
function contradiction({ sequences, nextSequence }: Numbered, from: number): string | undefined {
  const first = sequences[0];
  if (first !== undefined && first < from)
    return `the observation ${first}, where those from ${from} on were asked for`;
  const twice = sequences.find((sequence, index) => sequence === sequences[index - 1]);
  if (twice !== undefined) return `the observation ${twice} twice`;
  const last = sequences.at(-1);
  if (last !== undefined && last >= nextSequence) return `the observation ${last}, with nextSequence ${nextSequence}`;
  return nextSequence < from ? `nextSequence ${nextSequence}, where those from ${from} on were asked for` : undefined;
}

/** With one line end behind it, and without the blanks before it, which an XML declaration does not bear. */
function whole(bytes: Buffer): Buffer {
  let [from, to] = [0, bytes.length];
  while (from < to && bytes[from]! <= SPACE) from += 1;
  while (to > from && bytes[to - 1]! <= SPACE) to -= 1;
  return from === to ? bytes.subarray(0, 0) : Buffer.concat([bytes.subarray(from, to), LINE_END]);
}

const isAbort = (error: unknown): boolean => error instanceof Error && error.name === 'AbortError';
