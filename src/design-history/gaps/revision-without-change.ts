import type { DesignRevision } from '../design-facts.js';
import { pinText } from '../pinned.js';
import { type GapRule, ref } from './gap-rule.js';

export const revisionWithoutChange: GapRule = {
  code: 'revision-without-change',
  clause: 'ISO 13485:2016 7.3.9',
  find(design) {
    const changed = new Set(
      design
        .current('design-change')
        .filter(({ body }) => body.decision === 'go')
        .flatMap(({ body }) => (body.leadsTo ?? []).map(pinText)),
    );
    return (['recipe', 'specification', 'method'] as const)
      .flatMap((kind) => design.entries(kind) as DesignRevision[][])
      .flatMap((revisions) => revisions.slice(1))
      .filter((one) => !one.withdrawn && !changed.has(pinText(one)))
      .map((one) => ({
        subjects: [ref(one)],
        detail: String(one.revision),
        facts: { revision: String(one.revision) },
      }));
  },
};
