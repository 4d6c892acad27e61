import { Injectable } from '@nestjs/common';
import { CurrentAssessments } from '../../lots/current-assessments.js';
import { summaryOf } from '../../report/lot-summary.js';
import { LOT_SUMMARY } from '../../report/phrases/lot-summary.js';
import { TODAY } from '../../report/phrases/today.js';
import { summaryLines } from '../../report/summary-lines.js';
import { Remembered } from '../../store/remembered.js';
import { Store } from '../../store/store.js';

/** Of more exceptions only so many are told in a list, and how many there are. */
const MOST_TOLD = 4;
/** Lots of which it is remembered. */
const MOST_KEPT = 200;

/** What stands first on the summary of a lot that may be released, for the line that asks for it. */
@Injectable()
export class ReleaseSummaries {
  private readonly known = new Map<string, Remembered<readonly string[]>>();

  constructor(
    private readonly store: Store,
    private readonly current: CurrentAssessments,
  ) {}

  /** Every exception of a lot in words, or that there is none. */
  of(lot: string): Promise<readonly string[]> {
    const kept =
      this.known.get(lot) ??
      new Remembered<readonly string[]>(
        (entry) => (entry.type === 'assessment-made' || entry.type === 'dossier-frozen') && entry.lot === lot,
        () => this.ask(lot),
      );
    this.known.delete(lot);
    this.known.set(lot, kept);
    if (this.known.size > MOST_KEPT) this.known.delete(this.known.keys().next().value!);
    return kept.of(this.store.read);
  }

  private async ask(lot: string): Promise<readonly string[]> {
    const assessed = await this.current.of(lot);
    if (assessed === undefined) return [];
    const { facts, assessment } = assessed;
    const lines = summaryLines(summaryOf(facts, assessment), facts, undefined, true).map(({ says }) => says);
    if (lines.length === 0) return [LOT_SUMMARY.empty];
    const more = lines.length - MOST_TOLD;
    return more <= 1 ? lines : [...lines.slice(0, MOST_TOLD), TODAY.moreExceptions(more)];
  }
}
