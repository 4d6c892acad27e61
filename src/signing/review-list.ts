import { Injectable } from '@nestjs/common';
import type { Facts } from '../dossier/facts.js';
import { enteredLate, type ResultRow, specimenText } from '../dossier/tables.js';
import { Store } from '../store/store.js';

/** One thing that a reviewer of a lot must have seen. */
export interface ReviewItem {
  readonly kind: 'correction' | 'refused act' | 'late entry';
  readonly says: string;
  readonly by: string;
  readonly at: string;
}

/** What was corrected, refused or entered late in a lot: it lies before whoever reviews it. */
@Injectable()
export class ReviewList {
  constructor(private readonly store: Store) {}

  async of(facts: Facts): Promise<ReviewItem[]> {
    const refused = (await this.store.read.events.of({ kind: 'lot', key: facts.dossier.lot })).flatMap(
      ({ event, at }): ReviewItem[] =>
        event.type === 'act-refused'
          ? [
              {
                kind: 'refused act',
                says: `${event.act} (${event.subject.kind} ${event.subject.key}): ${event.why}`,
                by: event.person,
                at,
              },
            ]
          : [],
    );
    return [...corrections(facts), ...refused, ...lateEntries(facts)];
  }
}

const nameOf = (row: ResultRow): string => `${specimenText(row)} ${row.characteristic} ${row.replicate}`;

function corrections({ results }: Facts): ReviewItem[] {
  return results
    .filter((row) => row.reason !== '')
    .map((row) => ({
      kind: 'correction',
      says: `${nameOf(row)} is now ${row.value} ${row.ucum}: ${row.reason}`,
      by: row.enteredBy || row.analyst,
      at: row.recordedAt,
    }));
}

function lateEntries({ results }: Facts): ReviewItem[] {
  return results
    .filter((row) => row.status === 'current' && enteredLate(row))
    .map((row) => ({
      kind: 'late entry',
      says: `${nameOf(row)}, measured at ${row.measuredAt}`,
      by: row.enteredBy || row.analyst,
      at: row.recordedAt,
    }));
}
