import { PlanVerdict, ValueVerdict } from '../../../assessment/assessment.js';
import { specimenText } from '../../../dossier/tables.js';
import { spacedUnit } from '../../../dossier/unit-text.js';
import { NOTHING_TO_ASK } from '../absent.js';
import { askedOf, type CheckPhrases, CONCEDE, readFact, type Told, wordsOf } from '../phrase.js';
import { planRuleText, planText } from '../plans.js';
import { valueText } from '../values.js';

const JUDGED = ValueVerdict.pick({ why: true, compared: true });

function valueSays(facts: Told): string {
  const item = askedOf(facts);
  const judged = readFact(JUDGED, facts.judged);
  return `${item.title} of ${specimenText(facts)}, replicate ${facts.replicate}: ${facts.value}${spacedUnit(item.ucum)}, ${valueText(item, judged)}.`;
}

/** What would decide values that cannot be decided: what they lack, and nothing that they have. */
const LACKS: Readonly<Record<string, (facts: Told) => string>> = {
  method: (facts) => {
    const { method, revision } = askedOf(facts).method;
    return `Analyst: measure by ${method} revision ${revision}, as planned.`;
  },
  uncertainty: () => 'Analyst: give the measurement uncertainty, or measure by a method that can decide.',
  number: () => 'Analyst: measure by a method that gives a number where the limit lies.',
  'smaller uncertainty': () =>
    'Analyst: measure by a method with a smaller uncertainty: the value lies within the guard band.',
};

const PLAN_LACKS: Readonly<Record<string, string>> = {
  uncertainty: 'Analyst: give the measurement uncertainty of every value.',
  values: 'Analyst: take in what is missing.',
  'smaller uncertainty': 'Analyst: measure by a method with a smaller uncertainty.',
  process: 'Process engineer: find out whether the process has moved, or validate it for this.',
  sample: 'Analyst: complete the sample that the plan asks for.',
};

function planSays(facts: Told): string {
  const item = askedOf(facts);
  return `${item.title} by ${planRuleText(item.plan)}: ${planText(item, readFact(PlanVerdict, facts.plan))}.`;
}

const decidable = (by: string): string => `${by} ${CONCEDE}`;

export const valuesAccepted: CheckPhrases = {
  title: 'Every characteristic accepted by its plan',
  asks: 'Does each implant keep the limits of each characteristic, by its decision rule and its plan?',
  recompute: `For each implant and characteristic that is not open and does not conform. By a plan other than every-unit that does
not conform: "plan not met" [does not conform] (C) or "plan not decidable" (C). And for each value that is there, does not count as
invalid and does not conform: "outside limits" [does not conform] (C) or "not decidable" (C); by a plan other than every-unit only
values with the verdict of the implant. Does not apply without an implant or a characteristic.`,
  basis: ({ conform, doNot, open, of }) =>
    `${conform} conform, ${doNot} do not, ${open} cannot be decided, of ${of} implants by characteristics`,
  doesNotApply: NOTHING_TO_ASK.noImplants,
  rules: {
    'outside limits': (facts) => ({
      says: valueSays(facts),
      clearedBy: `${CONCEDE} A repeat counts only under a retest rule approved beforehand.`,
    }),
    'not decidable': (facts) => ({
      says: valueSays(facts),
      clearedBy: decidable(wordsOf(LACKS, facts.lacks)(facts)),
    }),
    'plan not met': (facts) => ({ says: planSays(facts), clearedBy: CONCEDE }),
    'plan not decidable': (facts) => ({
      says: planSays(facts),
      clearedBy: decidable(wordsOf(PLAN_LACKS, facts.lacks)),
    }),
  },
};
