import { acceptanceOf, isToAccept, loadsInOrder, partsIn } from '../loads.js';
import { unitsOfSpecimen } from '../specimens.js';
import { type Check, subject } from './check.js';

/** Coating and sterilising loads, each as it stands, but one that was done again whole. Never conceded. */
export const loadsAccepted: Check = {
  code: 'loads-accepted',
  since: 1,
  clause: 'ISO 13485:2016 7.5.5, 7.5.6, 7.5.7, 8.2.6',
  moment: 'release',
  run(facts) {
    const asked = loadsInOrder(facts).filter((load) => isToAccept(facts, load));
    return {
      findings: asked
        .filter((load) => acceptanceOf(facts, load) === undefined)
        .map((load) => ({
          rule: 'not accepted',
          subjects: [subject('process-load', load.body.load)],
          facts: { load: load.body.load, step: load.body.step, by: load.body.by },
          effect: 'blocks release' as const,
          units: [...new Set(partsIn(facts, load).flatMap((part) => unitsOfSpecimen(facts, part)))],
          wantsEvidence: true as const,
        })),
      basis: { loads: String(asked.length) },
      doesNotApply: asked.length === 0,
    };
  },
};
