import type { LateFact } from '../../dossier/late-facts.js';
import { type ResultRow, specimenText } from '../../dossier/tables.js';
import { timeText } from '../../dossier/time-text.js';
import { spacedUnit } from '../../dossier/unit-text.js';
import { actNameText } from './acts.js';
import { textBy } from './coded.js';
import { kindText } from './kinds.js';
import { lateFactText } from './late-facts.js';

/** What each item is called. */
export const REVIEW_KINDS: Readonly<Record<ReviewItem['kind'], string>> = {
  correction: 'correction',
  'refused act': 'refused act',
  'changed fate': 'changed fate of a part',
  'late entry': 'late entry',
  'late fact': 'late fact of the build',
};

export const reviewKindText = textBy(REVIEW_KINDS);

type Named = Pick<ResultRow, 'specimen' | 'piece' | 'characteristic' | 'replicate'>;

/** One thing that a reviewer of a lot must have seen. */
export type ReviewItem = { readonly by: string; readonly at: string } & (
  | {
      readonly kind: 'correction';
      readonly result: Named;
      readonly value: string;
      readonly ucum: string;
      readonly reason: string;
    }
  | {
      readonly kind: 'refused act';
      readonly act: string;
      readonly subject: { readonly kind: string; readonly key: string };
      readonly why: string;
    }
  | {
      readonly kind: 'changed fate';
      readonly part: string;
      readonly was: string;
      /** Null where nothing is said of it any more. */
      readonly as: string | null;
      readonly reason: string;
    }
  | { readonly kind: 'late entry'; readonly result: Named; readonly measuredAt: string }
  | { readonly kind: 'late fact'; readonly fact: LateFact }
);

export function reviewItemText(item: ReviewItem): string {
  switch (item.kind) {
    case 'correction':
      return `${nameText(item.result)} is now ${item.value}${spacedUnit(item.ucum)}: ${item.reason}`;
    case 'refused act':
      return `${actNameText(item.act)} (${kindText(item.subject.kind)} ${item.subject.key}): ${item.why}`;
    case 'changed fate':
      return `${item.part} was ${item.was} and is now ${item.as ?? 'said to be there'}: ${item.reason}`;
    case 'late entry':
      return `${nameText(item.result)}, measured at ${timeText(item.measuredAt)}`;
    case 'late fact':
      return `${lateFactText(item.fact)}, at ${timeText(item.fact.happenedAt)}`;
  }
}

const nameText = (result: Named): string => `${specimenText(result)} ${result.characteristic} ${result.replicate}`;

/** As pages show it: what it is, what it says, by whom and when. */
export interface ReviewLine {
  readonly kind: ReviewItem['kind'];
  readonly says: string;
  readonly by: string;
  readonly at: string;
}

export const reviewLine = (item: ReviewItem): ReviewLine => ({
  kind: item.kind,
  says: reviewItemText(item),
  by: item.by,
  at: item.at,
});
