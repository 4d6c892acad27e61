import { behindFacts, isBehind, isPinned } from '../pinned.js';
import { type GapRule, ref } from './gap-rule.js';

export const tieSuperseded: GapRule = {
  code: 'tie-superseded',
  clause: 'ISO 13485:2016 4.2.4',
  find: (design) =>
    (['design-input', 'design-output', 'risk-control', 'design-envelope'] as const)
      .flatMap((kind) => design.tiesFrom(kind))
      .filter((tied) => isPinned(tied) && isBehind(design, tied.link))
      .map(({ from, link }) => ({
        subjects: [ref(from), ref(link)],
        detail: link.field,
        facts: behindFacts(design, link),
      })),
};
