import { fateOf } from '../../kinds/lot-after-build.js';
import { implantCount } from '../counts.js';
import { destroyingValues, isShown } from '../gone-parts.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

export const countsBalance: Check = {
  code: 'counts-balance',
  since: 1,
  clause: 'ISO 13485:2016 7.5.1, 7.5.8',
  moment: 'release',
  run(facts) {
    const { lot, implants } = facts.lot.body;
    const against = (serial: string, rule: string, told: FindingDraft['facts']) => ({
      ...{ rule, facts: { lot, implant: serial, ...told } },
      ...{ subjects: [subject('implant', serial)], units: [serial], effect: 'blocks release' as const },
    });
    const findings = implants.flatMap(({ serial }): FindingDraft[] => {
      const fate = fateOf(facts.lot.body, serial);
      // Kept back or scrapped says nothing of the test that used it up.
      const method = fate?.as === 'tested' ? undefined : destroyingValues(facts, serial)[0]?.method;
      if (method !== undefined) return [against(serial, 'used up by a test and not said so', { method })];
      if (fate === undefined || isShown(facts, fate)) return [];
      return [{ ...against(serial, 'nothing shows its fate', { fate: fate.as }), wantsEvidence: true }];
    });
    const { total, parts } = implantCount(facts.lot.body);
    const [tested, retained, scrapped, moved, toDecide] = parts.map(({ count }) => String(count));
    return {
      findings,
      basis: {
        made: String(total),
        destructivelyTested: tested!,
        retained: retained!,
        scrapped: scrapped!,
        ...(moved === '0' ? {} : { moved: moved! }),
        toDecide: toDecide!,
      },
      doesNotApply: implants.length === 0,
    };
  },
};
