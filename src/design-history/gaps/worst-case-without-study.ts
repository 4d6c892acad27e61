import { isMetStudy } from '../studies.js';
import { type GapRule, ref } from './gap-rule.js';

export const worstCaseWithoutStudy: GapRule = {
  code: 'worst-case-without-study',
  clause: 'ISO 13485:2016 7.3.7',
  find: (design) =>
    design.current('design-envelope').flatMap((envelope) =>
      envelope.body.parameters.flatMap(({ parameter, worstCases = [] }) => {
        const isShown = worstCases.some(({ study }) => isMetStudy(design, study.designStudy));
        if (isShown) return [];
        const named = worstCases.map(({ study }) => study.designStudy).join(', ');
        return [{ subjects: [ref(envelope)] as const, detail: parameter, facts: { parameter, named } }];
      }),
    ),
};
