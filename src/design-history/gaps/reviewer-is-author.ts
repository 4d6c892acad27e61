import { type GapRule, ref } from './gap-rule.js';

export const reviewerIsAuthor: GapRule = {
  code: 'reviewer-is-author',
  clause: 'ISO 13485:2016 7.3.5',
  find: (design) =>
    design.current('design-review').flatMap((review) => {
      const { independent, reviews } = review.body;
      if (independent === undefined) return [];
      const own = reviews.filter((item) => design.revision(item)?.authors.includes(independent));
      if (own.length === 0) return [];
      const documents = own.map(({ key, revision }) => `${key} revision ${revision}`).join(', ');
      return [{ subjects: [ref(review)], facts: { independent, documents } }];
    }),
};
