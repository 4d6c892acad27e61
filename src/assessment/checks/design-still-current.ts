import { builtDesigns } from '../built-designs.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** Nobody concedes it: what was made by a plan that changed is not what the prescriber accepted. */
export const designStillCurrent: Check = {
  code: 'design-still-current',
  since: 1,
  clause: 'ISO 13485:2016 7.3.9, 7.5.1; FDA additive manufacturing guidance (2017), design iteration',
  moment: 'build',
  looksAtCases: true,
  run(facts) {
    const built = builtDesigns(facts);
    const findings = built.flatMap(
      ({ code, iteration, newest, serials, case: { designIteration } }): FindingDraft[] => {
        const common = { subjects: [subject('case', code)], effect: 'blocks release' as const, units: serials };
        const told = { case: code, iteration: String(iteration) };
        if (designIteration !== iteration) {
          return [
            { ...common, rule: 'another iteration asked for', facts: { ...told, asked: String(designIteration) } },
          ];
        }
        if (newest <= iteration) return [];
        return [{ ...common, rule: 'a later iteration', facts: { ...told, newest: String(newest) } }];
      },
    );
    return {
      findings,
      basis: { designs: String(built.length) },
    };
  },
};
