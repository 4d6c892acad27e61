import { approvedScopes } from '../suppliers.js';
import { type GapRule, ref } from './gap-rule.js';

export const triggerNewSupplier: GapRule = {
  code: 'trigger-new-supplier',
  clause: 'ISO 13485:2016 7.5.6',
  find: (design) =>
    design.current('process-validation').flatMap((validation) =>
      approvedScopes(design).flatMap(({ scope, suppliers }) =>
        suppliers
          .filter(({ since }) => since > validation.body.performance.at)
          .map(({ supplier, since }) => ({
            subjects: [ref(validation), { kind: 'supplier', key: supplier }] as const,
            detail: scope,
            facts: { supplier, scope, since, shown: validation.body.performance.at },
          })),
      ),
    ),
};
