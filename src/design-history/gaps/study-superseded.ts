import { behindFacts, isBehind, isPinned } from '../pinned.js';
import { type GapRule, ref } from './gap-rule.js';

export const studySuperseded: GapRule = {
  code: 'study-superseded',
  clause: 'ISO 13485:2016 7.3.6',
  find: (design) =>
    design
      .tiesFrom('design-study')
      .filter((tied) => isPinned(tied) && isBehind(design, tied.link))
      .map(({ from, link }) => ({
        subjects: [ref(from), ref(link)],
        detail: link.field,
        facts: behindFacts(design, link),
      })),
};
