import { Injectable } from '@nestjs/common';
import { digestOf } from '../dossier/canonical.js';
import type { Meaning } from '../dossier/statement.js';
import { type LotSummary, summaryOf } from '../report/lot-summary.js';
import type { ReviewItem } from '../report/phrases/review-items.js';
import {
  changedSinceText,
  LIES_BESIDE,
  notSeenText,
  reviewListNow,
  SAME_VERDICTS,
  summaryNow,
} from '../report/phrases/since-looked.js';
import { Store } from '../store/store.js';
import { ReviewList } from './review-list.js';
import type { Signable } from './signable.js';
import { verdictsSince } from './signed-lot-file.js';

/** What lies before a person beside the thing that they sign. */
export interface Beside {
  /** As the statement names it. */
  readonly named: readonly { readonly kind: keyof typeof LIES_BESIDE; readonly digest: string }[];
  /** Of a lot file: its first page. */
  readonly summary: LotSummary | null;
  /** For a reviewer; empty for everybody else. */
  readonly reviewList: readonly ReviewItem[];
}

/**
 * What lies beside a thing when it is signed, and whether that is still what somebody saw. A page names by `seen` what it
 * showed, and its form brings that back: the thing itself may stand while what is said of it does not.
 */
@Injectable()
export class BesideSigning {
  constructor(
    private readonly store: Store,
    private readonly reviewList: ReviewList,
  ) {}

  /**
   * Whoever reviews, releases or rejects signs with the assessment and the first page of the lot before them; a reviewer with
   * the list of what was corrected, refused or entered late too.
   */
  async of({ assessed }: Signable, meaning: Meaning): Promise<Beside> {
    if (!assessed) return { named: [], summary: null, reviewList: [] };
    const assessment = { kind: 'assessment' as const, digest: assessed.assessmentSha256 };
    const summary = summaryOf(assessed.facts, assessed.assessment);
    const named = [assessment, { kind: 'summary' as const, digest: digestOf(summary) }];
    if (meaning !== 'reviewed') return { named, summary, reviewList: [] };
    const reviewList = await this.reviewList.of(assessed.facts);
    return { named: [...named, { kind: 'review list' as const, digest: digestOf(reviewList) }], summary, reviewList };
  }

  /**
   * What somebody has not seen as it is now, a sentence each; empty when they saw all of it.
   * @param seen what their page named, as `seenText` gives it.
   */
  async unseen(seen: string, { named, summary, reviewList }: Beside, { lot, assessed }: Signable): Promise<string[]> {
    const before = digestsIn(seen);
    const told: string[] = [];
    for (const { kind, digest } of named) {
      const old = before.get(kind);
      if (old === digest) continue;
      const what = LIES_BESIDE[kind](lot!);
      if (old === undefined) told.push(notSeenText(what));
      else if (kind === 'summary') told.push(changedSinceText(what, [summaryNow(summary!.exceptions.length)]));
      else if (kind === 'review list') told.push(changedSinceText(what, [reviewListNow(reviewList.length)]));
      else {
        const verdicts = await verdictsSince(this.store.read, old, assessed!.assessment);
        told.push(changedSinceText(what, verdicts?.length === 0 ? [SAME_VERDICTS] : verdicts));
      }
    }
    return told;
  }
}

/** What a page names of that which it showed: `assessment:1f0c…,review list:2e9a…`; empty where nothing lay beside. */
export const seenText = ({ named }: Beside): string => named.map(({ kind, digest }) => `${kind}:${digest}`).join(',');

const PART = /([a-z ]+):([0-9a-f]{64})/g;
/** The form of what `seenText` gives. */
export const SEEN_FORM = /^(?:[a-z ]+:[0-9a-f]{64}(?:,(?=.)|$))*$/;

const digestsIn = (seen: string): ReadonlyMap<string, string> =>
  new Map([...seen.matchAll(PART)].map(([, kind, digest]) => [kind!, digest!]));
