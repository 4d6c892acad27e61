import type { Facts } from '../../dossier/facts.js';
import { acceptedImpacts, hasNoEffectOn } from '../impacts.js';
import { receiptsOfBuild } from '../materials.js';
import { type Check, subject, unitsOfBuild } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** A corrected certificate that was issued once the chamber had closed: what was built rests on what the first one said. */
export const correctionsJudged: Check = {
  code: 'corrections-judged',
  since: 1,
  clause: 'ISO 13485:2016 7.4.3, 8.3.3',
  moment: 'release',
  run(facts) {
    const impacts = acceptedImpacts(facts).filter(({ cause }) => cause.kind === 'receipt');
    const corrected = correctedAfter(facts);
    return {
      findings: corrected.flatMap(({ build, closedAt, receipt }): FindingDraft[] => {
        const own = impacts.filter(({ cause }) => cause.key === receipt.receipt);
        const units = unitsOfBuild(facts, build);
        const left = units.filter((serial) => !own.some((impact) => hasNoEffectOn(impact, serial)));
        if (left.length === 0 && units.length > 0) return [];
        const { number, issued } = receipt.certificate!;
        return [
          {
            rule: 'corrected after the build',
            subjects: [subject('receipt', receipt.receipt), subject('build', build)],
            facts: {
              ...{ receipt: receipt.receipt, certificate: number, day: issued, build, closedAt },
              replaces: receipt.corrects!.certificate,
            },
            effect: 'blocks release',
            units: left,
          },
        ];
      }),
      basis: { receipts: [...new Set(corrected.map(({ receipt }) => receipt.receipt))].join(', ') },
      doesNotApply: corrected.length === 0,
    };
  },
};

function correctedAfter(facts: Facts) {
  return facts.lot.body.builds.flatMap(({ build, closedAt }) =>
    receiptsOfBuild(facts, build).flatMap((code) => {
      const receipt = facts.receipts.get(code)!.body;
      const isLater = receipt.corrects !== undefined && receipt.certificate!.issued > closedAt.slice(0, 10);
      return isLater ? [{ build, closedAt, receipt }] : [];
    }),
  );
}
