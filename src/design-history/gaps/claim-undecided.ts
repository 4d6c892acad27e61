import { computedClaims } from '../claims.js';
import { isMetStudy } from '../studies.js';
import type { GapRule } from './gap-rule.js';

/** A study that was done elsewhere carries its report, and is marked so. One without any value is told by another rule. */
export const claimUndecided: GapRule = {
  code: 'claim-undecided',
  clause: 'ISO 13485:2016 7.3.6',
  find: (design) =>
    computedClaims(design)
      .filter(({ answer, why, study }) => {
        const isOpen = answer === 'cannot be decided' && why !== 'done elsewhere';
        return isOpen && isMetStudy(design, study);
      })
      .filter(({ values, method, why }) => {
        if (method === 'loss against window') return why !== 'no exposures';
        return values.length > 0 || method === 'capability statement';
      })
      .map(({ study, why, method }) => ({
        subjects: [{ kind: 'design-study', key: study }],
        facts: { why: why!, method },
      })),
};
