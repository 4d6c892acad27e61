import type { Facts } from '../../dossier/facts.js';
import { faultsOf, type Load, loadsInOrder, partsIn, wasDoneAgain } from '../loads.js';
import { unitsOfSpecimen } from '../specimens.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** What was in a load that did not run as it must is not conceded; where it was done again, people decide on the first one. */
export const loadsKept: Check = {
  code: 'loads-kept',
  since: 1,
  clause: 'ISO 13485:2016 7.5.5, 7.5.6, 7.5.7, 8.2.6',
  moment: 'release',
  run(facts) {
    return {
      findings: loadsInOrder(facts).flatMap((load) => against(facts, load)),
      basis: { loads: String(facts.loads.size) },
      doesNotApply: facts.loads.size === 0,
    };
  },
};

const IS_GAP: ReadonlySet<string> = new Set(['no limits', 'no indicator']);

function against(facts: Facts, load: Load): FindingDraft[] {
  const parts = partsIn(facts, load);
  const again = parts.filter((part) => wasDoneAgain(facts, load, part));
  const last = parts.filter((part) => !again.includes(part));
  const subjects = [subject('process-load', load.body.load)];
  const unitsOf = (some: readonly string[]) => [...new Set(some.flatMap((part) => unitsOfSpecimen(facts, part)))];
  return faultsOf(load).flatMap(({ rule, facts: told }): FindingDraft[] => [
    ...(last.length === 0
      ? []
      : [
          {
            rule,
            subjects,
            facts: told,
            effect: IS_GAP.has(rule) ? ('cannot be decided' as const) : ('does not conform' as const),
            units: unitsOf(last),
          },
        ]),
    ...(again.length === 0
      ? []
      : [
          {
            rule: `${rule}, done again`,
            subjects,
            facts: { ...told, members: JSON.stringify(again) },
            effect: 'cannot be decided' as const,
            mayBeDecided: 'decision' as const,
            units: unitsOf(again),
          },
        ]),
  ]);
}
