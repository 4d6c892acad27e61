import { Remembered } from '../store/remembered.js';
import type { Store } from '../store/store.js';
import type { TraceReport } from './traced.js';
import type { Directions, Tracer } from './tracer.js';

type Found = Pick<TraceReport, 'matches' | 'candidates'>;

/** Answers that are kept: what all lots used names ten thousand things. */
const MOST_KEPT = 2;

/** The answers that were shown last, for whoever turns their pages over: each is good until the audit trail grows. */
export class LatestAnswers {
  private readonly kept = new Map<string, Remembered<Found>>();

  constructor(
    private readonly store: Store,
    private readonly tracer: Tracer,
  ) {}

  /** @throws as `Tracer.search`. */
  search(id: string, directions: Directions): Promise<Found> {
    const name = JSON.stringify([id, directions]);
    const asked =
      this.kept.get(name) ??
      new Remembered(
        () => true,
        () => this.tracer.search(id, directions),
      );
    this.kept.delete(name);
    this.kept.set(name, asked);
    if (this.kept.size > MOST_KEPT) this.kept.delete(this.kept.keys().next().value!);
    // A moment is refused as long as it lies ahead.
    return asked.of(this.store.read, this.store.clock.now().toISOString().slice(0, 16));
  }
}
