import { isMetStudy } from '../studies.js';
import { type GapRule, ref } from './gap-rule.js';

export const controlNotVerified: GapRule = {
  code: 'control-not-verified',
  clause: 'ISO 14971:2019 7.2',
  find: (design) =>
    design.current('risk-control').flatMap((control) => {
      const named = (control.body.verifiedBy ?? []).map(({ designStudy }) => designStudy);
      if (named.some((study) => isMetStudy(design, study))) return [];
      return [{ subjects: [ref(control)], facts: { named: named.join(', ') } }];
    }),
};
