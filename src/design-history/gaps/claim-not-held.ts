import { computedClaims } from '../claims.js';
import { isMetStudy } from '../studies.js';
import type { GapRule } from './gap-rule.js';

export const claimNotHeld: GapRule = {
  code: 'claim-not-held',
  clause: 'ISO 13485:2016 7.3.6',
  find: (design) =>
    computedClaims(design)
      .filter(({ answer, study }) => answer === 'does not hold' && isMetStudy(design, study))
      .map(({ study, characteristic, method }) => ({
        subjects: [{ kind: 'design-study', key: study }],
        facts: { characteristic, method },
      })),
};
