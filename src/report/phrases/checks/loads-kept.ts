import { z } from 'zod';
import { spacedUnit } from '../../../dossier/unit-text.js';
import { type CheckPhrases, type Phrase, readFact, type Told } from '../phrase.js';
import { stepText } from '../trade-codes.js';

const loadText = ({ load, step }: Told): string => `Load ${load} (${stepText(step)})`;
const limitsText = ({ lower, upper }: Told): string =>
  [...(lower === '' ? [] : [`from ${lower}`]), ...(upper === '' ? [] : [`to ${upper}`])].join(' ');

const RULES: Readonly<Record<string, (facts: Told) => string>> = {
  'outside its limits': (facts) =>
    `${facts.parameter} was ${facts.value}${spacedUnit(facts.limitUnit)}, allowed ${limitsText(facts)}`,
  'no limits': () => 'no value of its cycle has a limit, so nobody can tell whether it ran as it was validated',
  'indicator failed': ({ indicator }) => `indicator "${indicator}" failed`,
  'no indicator': () => 'no indicator is on record',
};

const once =
  (says: (facts: Told) => string): Phrase =>
  (facts) => ({
    says: `${loadText(facts)}: ${says(facts)}.`,
    clearedBy: 'Process and quality engineer: treat it again in another load, or reject it. Nobody concedes it.',
  });

const again =
  (says: (facts: Told) => string): Phrase =>
  (facts) => ({
    says: `${loadText(facts)}: ${says(facts)}. ${readFact(z.array(z.string()), facts.members).join(', ')} went through a later load.`,
    clearedBy: 'Process and quality engineer: decide whether what went through it twice is as it must be.',
  });

export const loadsKept: CheckPhrases = {
  title: 'Loads kept their limits',
  asks: 'Did the cycle of each load keep its limits, and did every indicator pass?',
  recompute: `For each load as in loads-named: "outside its limits" [does not conform] for each value of "cycle" below "min" or above
"max"; "no limits" where the step is heat-treat, coat or sterilise and no value has either; "indicator failed" [does not conform] for
each of "indicators" with that "result"; "no indicator" where the step is sterilise and there is none. It acts on the implants of the
specimens of the lot that were in it. For those parts that were in a load of the same step with a later "at" it is (D), leaves them
undecided, and is "outside its limits, done again", "no limits, done again", "indicator failed, done again" or "no indicator, done
again". Does not apply without a load.`,
  basis: ({ loads }) => `loads: ${loads}`,
  doesNotApply: 'no load names a part of the lot',
  rules: Object.fromEntries(
    Object.entries(RULES).flatMap(([rule, says]) => [
      [rule, once(says)],
      [`${rule}, done again`, again(says)],
    ]),
  ),
};
