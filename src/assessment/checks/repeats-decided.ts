import type { Facts } from '../../dossier/facts.js';
import type { Replacement } from '../../kinds/lot-after-build.js';
import { replacementsOf } from '../acceptance-set.js';
import { declaredInvalid, REPEATS_CHECK } from '../invalid-tests.js';
import { unitsOfSpecimen } from '../specimens.js';
import { type Check, subject } from './check.js';
import type { FindingDraft } from './finding-draft.js';

/** A replacement counts only by a retest rule that the specification held before the data. */
function replacementFinding(facts: Facts, replacement: Replacement): FindingDraft[] {
  const { characteristic, replaces, by, reason } = replacement;
  const item = facts.specification.body.characteristics.find((entry) => entry.characteristic === characteristic);
  const common = {
    subjects: [subject('coupon', by), subject('specimen', replaces)],
    facts: { characteristic, replaces, by, reason },
    effect: 'cannot be decided' as const,
    units: unitsOfSpecimen(facts, replaces),
  };
  if (!item?.retest) {
    return [
      {
        ...common,
        rule: 'no retest rule',
      },
    ];
  }
  if (facts.lot.body.coupons.find(({ coupon }) => coupon === by)?.use !== 'spare') {
    return [
      {
        ...common,
        rule: 'not a spare coupon',
      },
    ];
  }
  if (replacementsOf(facts, replaces, item).includes(by)) return [];
  return [
    {
      ...common,
      rule: 'more replacements than the retest rule allows',
      facts: { ...common.facts, allowed: String(item.retest.replacements) },
    },
  ];
}

export const repeatsDecided: Check = {
  code: REPEATS_CHECK,
  since: 1,
  clause: 'ISO 13485:2016 8.2.6, 8.3; FDA guidance on out-of-specification results',
  moment: 'release',
  run(facts) {
    const invalid = declaredInvalid(facts);
    const replacements = facts.lot.body.replacements ?? [];
    return {
      findings: [
        ...invalid.filter(({ signed }) => !signed).map(({ finding }) => finding),
        ...replacements.flatMap((replacement) => replacementFinding(facts, replacement)),
      ],
      claims: invalid.flatMap(({ signed, result }) =>
        signed
          ? [
              {
                what: 'invalid test' as const,
                facts: { row: String(result.row) },
                how: 'signed' as const,
                by: signed.person.code,
                at: signed.at,
              },
            ]
          : [],
      ),
      basis: { invalidTests: String(invalid.length), replacements: String(replacements.length) },
      doesNotApply: invalid.length + replacements.length === 0,
    };
  },
};
