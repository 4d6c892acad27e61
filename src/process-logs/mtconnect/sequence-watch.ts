import type { FindingDetail } from '../../dossier/finding-detail.js';
import { everywhere, type FindingDraft, placeFinding } from '../findings.js';
import type { StreamHeader } from './observation.js';
import type { ObservationBatch } from './observation-batch.js';

/**
 * Follows the sequence numbers of an agent over the documents of a file: each observation has the number after the one
 * before it (ANSI/MTC1.4, Part 1, sequence numbers), so that a missing number is an observation that was lost.
 */
export class SequenceWatch {
  private instance: string | null = null;
  /** The number that must come next; null when nothing is known. */
  private expected: number | null = null;
  private latestUs: number | null = null;

  /** @param isComplete the agent was asked for every data item, so that no number may be missing inside a document. */
  constructor(
    private readonly isComplete: boolean,
    private readonly lost: (draft: FindingDraft) => void,
  ) {}

  /** @returns the number from which on observations are new; earlier ones were in an earlier document. */
  begin(header: StreamHeader): { readonly newFrom: number; readonly isRestarted: boolean } {
    const isRestarted = this.instance !== null && this.instance !== header.instance;
    this.instance = header.instance;
    if (isRestarted) this.expected = null;
    return { newFrom: this.expected ?? 1, isRestarted };
  }

  /** Looks at a document whose observations are all there. */
  end(header: StreamHeader, batch: ObservationBatch, isRestarted: boolean): void {
    const lowestUs = batch.lowestSequenceUs();
    const firstUs = Number.isNaN(lowestUs) ? this.latestUs : lowestUs;
    if (isRestarted) {
      this.tell(this.latestUs, firstUs, { code: 'agent restarted', instance: header.instance }, header.line);
    }
    // What the agent no longer held when it was asked is lost, whatever was asked for.
    if (this.expected !== null && header.firstSequence > this.expected) {
      this.tellMissing(header.firstSequence, firstUs, header.line);
    }
    // The answer to a request for the current state holds each data item once, with whatever number it had.
    const isChecked = this.isComplete && (this.expected !== null || batch.repeatsDataItem);
    batch.eachBySequence((sequence, timeUs, line) => {
      if (isChecked && sequence > (this.expected ?? sequence)) this.tellMissing(sequence, timeUs, line);
      this.expected = sequence + 1;
      this.latestUs = Math.max(this.latestUs ?? timeUs, timeUs);
    });
    const { nextSequence } = header;
    if (isChecked && nextSequence > (this.expected ?? nextSequence)) {
      this.tellMissing(nextSequence, this.latestUs, header.line);
    }
    this.expected = Math.max(this.expected ?? nextSequence, nextSequence);
  }

  /** The numbers from the expected one to that before `until` are missing. */
  private tellMissing(until: number, endUs: number | null, line: number): void {
    const what = { code: 'sequence numbers', from: this.expected!, to: until - 1 } as const;
    this.tell(this.latestUs, endUs, what, line);
    this.expected = until;
  }

  private tell(startUs: number | null, endUs: number | null, what: FindingDetail, line: number): void {
    const start = startUs ?? endUs;
    const end = Math.max(start ?? 0, endUs ?? start ?? 0);
    if (start === null) return;
    const times = { startUs: start, endUs: end, durationUs: end - start, lineFrom: line, lineTo: line };
    this.lost(placeFinding('observations lost', 'action', everywhere(), { ...times, what }));
  }
}
