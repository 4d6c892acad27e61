import { z } from 'zod';
import { specimenText } from '../../../dossier/tables.js';
import { type CheckPhrases, readFact, type Told } from '../phrase.js';

const PARTIES = z.array(z.string());

const what = ({ by, characteristic, replaces }: Told): string =>
  `${by}, tested for ${characteristic} in place of ${replaces},`;

export const repeatsDecided: CheckPhrases = {
  title: 'Invalid tests decided, replacements by a rule approved beforehand',
  asks: 'Did a second person decide each invalid test with its cause, and does each replacement follow the retest rule?',
  recompute: `"invalid test not decided" (D) for each test that the lot calls invalid, of which the row is there, and which does
not count as invalid; with the implants of its specimen. For each entry of "replacements": "no retest rule" when the characteristic
has no "retest"; "not a spare coupon" when "by" is no coupon with the use spare; "more replacements than the retest rule allows"
when it is not among the first "retest.replacements" of them for the same specimen and characteristic; with the implants of
"replaces". Does not apply when the lot has neither.`,
  basis: ({ invalidTests, replacements }) => `${invalidTests} invalid tests, ${replacements} replacement specimens`,
  doesNotApply: 'no test was repeated on another specimen or called invalid',
  rules: {
    'invalid test not decided': (facts) => ({
      says: `Result ${facts.row}, ${facts.characteristic} of ${specimenText(facts)}, replicate ${facts.replicate}, is said to come from an invalid test (${facts.cause}); no second person signed that.`,
      clearedBy: `A second person, not ${readFact(PARTIES, facts.parties).join(' nor ')}: decide it with its cause. Until then the value counts.`,
    }),
    'no retest rule': (facts) => ({
      says: `${what(facts)} does not count: the specification has no retest rule for ${facts.characteristic}.`,
      clearedBy: 'Nobody for this lot: a retest rule counts only when it was approved before the data.',
    }),
    'not a spare coupon': (facts) => ({
      says: `${what(facts)} does not count: it was not planned as a spare coupon.`,
      clearedBy: 'Analyst: test a spare coupon. Process engineer: plan spare coupons in lot.yaml before the build.',
    }),
    'more replacements than the retest rule allows': (facts) => ({
      says: `${what(facts)} does not count: the retest rule allows ${facts.allowed} for one specimen.`,
      clearedBy: 'Nobody for this lot: testing on until a value conforms decides nothing.',
    }),
  },
};
