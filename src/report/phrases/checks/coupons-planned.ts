import { z } from 'zod';
import { timeText } from '../../../dossier/time-text.js';
import { NOTHING_TO_ASK } from '../absent.js';
import { type CheckPhrases, PAIRS, type Phrase, readFact, type Told } from '../phrase.js';
import { stepText } from '../trade-codes.js';

const clearedBy =
  'Process engineer: name another coupon, or an approved study that covers this case. Otherwise the implant is tested itself.';

const words =
  (says: (facts: Told) => string): Phrase =>
  (facts) => ({ says: says(facts), clearedBy });

const pair = ({ coupon, implant }: Told): string => `${coupon} and ${implant}`;

const study = (what: (facts: Told) => string): Phrase =>
  words((facts) => `Equivalence study ${facts.study} ${what(facts)}.`);

const STEPS = z.array(z.strictObject({ build: z.string(), steps: z.array(z.string()), recipe: z.string() }));

/** Steps of a part in further closures: `peening and milling in M1-102 by R rev 2`. */
const stepsText = (fact: string): string =>
  readFact(STEPS, fact)
    .map(
      ({ build, steps, recipe }) =>
        `${steps.map(stepText).join(' and ')} in ${build}${recipe === '' ? '' : ` by ${recipe}`}`,
    )
    .join(', ');

const notCovered = (what: 'position' | 'orientation'): Phrase =>
  study(
    (facts) =>
      `covers the ${what}s ${facts.covered}; ${facts.part} ${facts[what] === '' ? `states no ${what}` : `has ${facts[what]}`}`,
  );

export const couponsPlanned: CheckPhrases = {
  title: 'Coupons built like the implants, by a study that says so',
  asks: 'Has each coupon builds, powder, recipe and zone in common with its implants, and a valid equivalence study?',
  recompute: `Each coupon with each implant under its "standsFor", as far as it speaks: in the characteristics measured on
coupons of which it has a zone of the class, and in all of them where the two are of different builds. Everything found is (C),
for that implant. "not from the same builds" when the sets of their closures ("build", and those under "alsoIn") differ, and then
"not of the same powder state" when the powder states charged in them differ; else "not the same steps in a further closure"
when "alsoIn" differs in steps or recipes. "not by the same recipe" when their own recipe revisions differ; else, for each class
asked for, "no recipe zone in common" when no recipe zone of that class is on both. Without a "study" that the lot file holds: "no
equivalence study". Else "study not approved"; "study not valid on the build date" when "closedAt" of the coupon's build lies
outside "validFrom" to "validUntil"; "process not in the study" when the machine of that build or the group of the coupon's
recipe is not; "characteristic not in the study" and "zone class not in the study" for each characteristic; "position not in the
study" and "orientation not in the study" for coupon and implant each, where the study lists any and theirs is not among them.
Does not apply without such a pair.`,
  basis: ({ pairs }) =>
    readFact(PAIRS, pairs)
      .map(([coupon, implant]) => `${coupon} for ${implant}`)
      .join('; '),
  doesNotApply: NOTHING_TO_ASK.noCoupon,
  rules: {
    'not from the same builds': words(
      (facts) =>
        `${pair(facts)} did not go through the same closures of the chamber: ${facts.couponBuilds} and ${facts.implantBuilds}.`,
    ),
    'not of the same powder state': words(
      (facts) => `${pair(facts)} are not of the same powder state: ${facts.couponPowder} and ${facts.implantPowder}.`,
    ),
    'not the same steps in a further closure': words(
      (facts) =>
        `${pair(facts)} did not go through the same steps: ${stepsText(facts.couponSteps)} and ${stepsText(facts.implantSteps)}.`,
    ),
    'not by the same recipe': words(
      (facts) =>
        `${pair(facts)} were not built by the same recipe revision: ${facts.couponRecipe} and ${facts.implantRecipe}.`,
    ),
    'no recipe zone in common': words(
      (facts) => `${pair(facts)} have no recipe zone of class ${facts.zoneClass} in common.`,
    ),
    'study not approved': study(() => 'is not approved: a claim in a file decides nothing'),
    'study not valid on the build date': study(
      ({ from, until, build, closedAt }) =>
        `is valid from ${timeText(from)} to ${until === '' ? 'now' : timeText(until)}; ${build} was closed at ${timeText(closedAt)}`,
    ),
    'process not in the study': study(
      ({ recipeGroup, machine }) => `does not cover recipe group ${recipeGroup} on ${machine}`,
    ),
    'characteristic not in the study': study(({ title }) => `did not compare ${title}`),
    'zone class not in the study': study(({ zoneClass }) => `did not compare zones of class ${zoneClass}`),
    'position not in the study': notCovered('position'),
    'orientation not in the study': notCovered('orientation'),
    'no equivalence study': words(
      ({ coupon, implant }) => `${coupon} is to stand for ${implant} and cites no equivalence study.`,
    ),
  },
};
