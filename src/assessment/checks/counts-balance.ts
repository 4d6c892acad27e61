import type { Facts } from '../../dossier/facts.js';
import { revisionKey } from '../../dossier/facts.js';
import { fateOf } from '../../kinds/lot-after-build.js';
import { implantCount } from '../counts.js';
import { currentResults } from '../specimens.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** The method that used an implant up, by its first value that came from one. */
function destroyedBy(facts: Facts, serial: string): string | undefined {
  return currentResults(facts)
    .filter(({ specimen }) => specimen === serial)
    .map(({ method, methodRevision }) => facts.methods.get(revisionKey(method, Number(methodRevision)))?.body)
    .find((method) => method?.destructive === 'destructive')?.method;
}

export const countsBalance: Check = {
  code: 'counts-balance',
  since: 1,
  clause: 'ISO 13485:2016 7.5.1, 7.5.8',
  moment: 'release',
  run(facts) {
    const { lot, implants } = facts.lot.body;
    const findings = implants.flatMap(({ serial }): FindingDraft[] => {
      // Kept back or scrapped says nothing of the test that used it up.
      const method = fateOf(facts.lot.body, serial)?.as === 'tested' ? undefined : destroyedBy(facts, serial);
      if (method === undefined) return [];
      return [
        {
          rule: 'used up by a test and not said so',
          subjects: [subject('implant', serial)],
          facts: { lot, implant: serial, method },
          effect: 'blocks release',
          units: [serial],
        },
      ];
    });
    const { total, parts } = implantCount(facts.lot.body);
    const [tested, retained, scrapped, toDecide] = parts.map(({ count }) => String(count));
    return {
      findings,
      basis: {
        made: String(total),
        destructivelyTested: tested!,
        retained: retained!,
        scrapped: scrapped!,
        toDecide: toDecide!,
      },
      doesNotApply: implants.length === 0,
    };
  },
};
