import { Injectable } from '@nestjs/common';
import type { Facts } from '../dossier/facts.js';
import { enteredLate, type ResultRow } from '../dossier/tables.js';
import type { ReviewItem } from '../report/phrases/review-items.js';
import type { StoredRevision } from '../store/entries.js';
import { Store } from '../store/store.js';

/**
 * What was corrected, taken back, refused or entered late in a lot: it lies before whoever reviews it. Their statement names it by its
 * digest, so it holds facts: the words are made where it is shown.
 */
@Injectable()
export class ReviewList {
  constructor(private readonly store: Store) {}

  async of(facts: Facts): Promise<ReviewItem[]> {
    const refused = (await this.store.read.events.of({ kind: 'lot', key: facts.dossier.lot })).flatMap(
      ({ event, at }): ReviewItem[] => {
        if (event.type !== 'act-refused') return [];
        const { act, subject, why, person } = event;
        return [{ kind: 'refused act', act, subject, why, by: person, at }];
      },
    );
    const lots = await this.store.read.entries.revisions('lot', facts.dossier.lot);
    return [...corrections(facts), ...fateChanges(lots), ...refused, ...lateEntries(facts), ...lateFacts(facts)];
  }
}

/** Parts that an earlier revision said were tested, retained or scrapped, and of which a later one says something else. */
function fateChanges(revisions: readonly StoredRevision<'lot'>[]): ReviewItem[] {
  return revisions.flatMap((revision, place) => {
    const now = new Map((revision.body.fates ?? []).map((fate) => [fate.part, fate.as]));
    return (revisions[place - 1]?.body.fates ?? []).flatMap((before): ReviewItem[] => {
      const as = now.get(before.part) ?? null;
      if (as === before.as) return [];
      const { reason, actor, recordedAt } = revision;
      return [
        {
          kind: 'changed fate',
          part: before.part,
          was: before.as,
          as,
          reason: reason ?? '',
          by: actor,
          at: recordedAt,
        },
      ];
    });
  });
}

const named = ({ specimen, piece, characteristic, replicate }: ResultRow) => ({
  specimen,
  piece,
  characteristic,
  replicate,
});

const broughtBy = ({ enteredBy, analyst, recordedAt }: ResultRow) => ({ by: enteredBy || analyst, at: recordedAt });

function corrections({ results }: Facts): ReviewItem[] {
  return results
    .filter((row) => row.reason !== '')
    .map((row) => ({
      kind: 'correction',
      result: named(row),
      value: row.value,
      ucum: row.ucum,
      reason: row.reason,
      ...broughtBy(row),
    }));
}

function lateEntries({ results }: Facts): ReviewItem[] {
  return results
    .filter((row) => row.status === 'current' && enteredLate(row))
    .map((row) => ({ kind: 'late entry', result: named(row), measuredAt: row.measuredAt, ...broughtBy(row) }));
}

const lateFacts = (facts: Facts): ReviewItem[] =>
  facts.lateFacts.map((fact) => ({ kind: 'late fact', fact, by: fact.by, at: fact.recordedAt }));
