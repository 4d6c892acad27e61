import type { DesignReview } from '../kinds/design-history/design-review.js';
import type { DesignRevision } from './design-facts.js';
import type { DesignIndex } from './design-index.js';

type Action = NonNullable<DesignReview['actions']>[number];

/** What reviews asked for and nobody has done yet. */
export const openActions = (design: DesignIndex): (Action & { readonly review: DesignRevision<'design-review'> })[] =>
  design
    .current('design-review')
    .flatMap((review) =>
      (review.body.actions ?? [])
        .filter(({ doneOn }) => doneOn === undefined || doneOn > design.today)
        .map((action) => ({ ...action, review })),
    );
