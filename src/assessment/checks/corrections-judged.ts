import type { Facts } from '../../dossier/facts.js';
import { acceptedImpacts, hasNoEffectOn } from '../impacts.js';
import { receiptsOfBuild } from '../materials.js';
import { implantsOnStock } from '../stock.js';
import { type Check, subject, unitsOfBuild } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/**
 * A corrected certificate that was issued once the chamber had closed: what was built rests on what the first one said. Of a
 * part that is built on a former implant, what that was made of is asked too: its own lot asks nothing of a part given up.
 */
export const correctionsJudged: Check = {
  code: 'corrections-judged',
  since: 1,
  clause: 'ISO 13485:2016 7.4.3, 8.3.3',
  moment: 'release',
  run(facts) {
    const impacts = acceptedImpacts(facts).filter(({ cause }) => cause.kind === 'receipt');
    const corrected = [...correctedAfter(facts), ...correctedUnder(facts)];
    return {
      findings: corrected.flatMap(({ receipt, units, draft }): FindingDraft[] => {
        const own = impacts.filter(({ cause }) => cause.key === receipt);
        const left = units.filter((serial) => !own.some((impact) => hasNoEffectOn(impact, serial)));
        return left.length === 0 && units.length > 0 ? [] : [{ ...draft, effect: 'blocks release', units: left }];
      }),
      basis: { receipts: [...new Set(corrected.map(({ receipt }) => receipt))].join(', ') },
      doesNotApply: corrected.length === 0,
    };
  },
};

interface Corrected {
  readonly receipt: string;
  readonly units: readonly string[];
  readonly draft: Pick<FindingDraft, 'rule' | 'subjects' | 'facts'>;
}

/** Issued on a later day than that of the closure. */
const isLater = (issued: string, closedAt: string): boolean => issued > closedAt.slice(0, 10);

function correctedAfter(facts: Facts): Corrected[] {
  return facts.lot.body.builds.flatMap(({ build, closedAt }) =>
    receiptsOfBuild(facts, build).flatMap((receipt): Corrected[] => {
      const { corrects, certificate } = facts.receipts.get(receipt)!.body;
      if (corrects === undefined || !isLater(certificate!.issued, closedAt)) return [];
      const { number, issued } = certificate!;
      const told = { receipt, certificate: number, day: issued, build, closedAt, replaces: corrects.certificate };
      const subjects = [subject('receipt', receipt), subject('build', build)];
      const draft = { rule: 'corrected after the build', subjects, facts: told };
      return [{ receipt, units: unitsOfBuild(facts, build), draft }];
    }),
  );
}

/** Of former implants on which parts were built, and of those on which these were. */
function correctedUnder(facts: Facts): Corrected[] {
  return implantsOnStock(facts).flatMap(({ part, stock, origins }) =>
    origins.flatMap(({ implant, corrected = [] }) =>
      corrected
        .filter(({ issued, closedAt }) => isLater(issued, closedAt))
        .map(({ receipt, certificate, issued, replaces, build, closedAt }): Corrected => {
          const { stockPart } = stock.body;
          const told = { receipt, certificate, day: issued, build, closedAt, replaces };
          return {
            receipt,
            units: [part.serial],
            draft: {
              rule: 'corrected after what it is built on',
              subjects: [
                subject('receipt', receipt),
                subject('stock-part', stockPart),
                subject('implant', part.serial),
              ],
              facts: { ...told, was: implant, stockPart, implant: part.serial },
            },
          };
        }),
    ),
  );
}
