import type { Facts } from '../../dossier/facts.js';
import type { Replacement } from '../../kinds/lot.js';
import { replacementsOf } from '../acceptance-set.js';
import { declaredInvalid, REPEATS_CHECK } from '../invalid-tests.js';
import { unitsOfSpecimen } from '../specimens.js';
import { type Check, type FindingDraft, subject } from './check.js';

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
  const what = `${by}, tested for ${characteristic} in place of ${replaces},`;
  if (!item?.retest) {
    return [
      {
        ...common,
        rule: 'no retest rule',
        says: `${what} does not count: the specification has no retest rule for ${characteristic}.`,
        clearedBy: 'Nobody for this lot: a retest rule counts only when it was approved before the data.',
      },
    ];
  }
  if (facts.lot.body.coupons.find(({ coupon }) => coupon === by)?.use !== 'spare') {
    return [
      {
        ...common,
        rule: 'not a spare coupon',
        says: `${what} does not count: it was not planned as a spare coupon.`,
        clearedBy: 'Analyst: test a spare coupon. Process engineer: plan spare coupons in lot.yaml before the build.',
      },
    ];
  }
  if (replacementsOf(facts, replaces, item).includes(by)) return [];
  return [
    {
      ...common,
      rule: 'more replacements than the retest rule allows',
      says: `${what} does not count: the retest rule allows ${item.retest.replacements} for one specimen.`,
      clearedBy: 'Nobody for this lot: testing on until a value conforms decides nothing.',
    },
  ];
}

export const repeatsDecided: Check = {
  code: REPEATS_CHECK,
  title: 'Invalid tests decided, replacements by a rule approved beforehand',
  clause: 'ISO 13485:2016 8.2.6, 8.3; FDA guidance on out-of-specification results',
  moment: 'release',
  asks: 'Did a second person decide each invalid test with its cause, and does each replacement follow the retest rule?',
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
                what: `result ${result.row} is from an invalid test`,
                how: 'signed' as const,
                by: signed.person.code,
                at: signed.at,
              },
            ]
          : [],
      ),
      basis: `${invalid.length} invalid tests, ${replacements.length} replacement specimens`,
      ...(invalid.length + replacements.length === 0
        ? { doesNotApply: 'no test was repeated on another specimen or called invalid' }
        : {}),
    };
  },
};
