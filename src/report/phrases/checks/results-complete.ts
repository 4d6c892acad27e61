import { MissingValues } from '../../../assessment/reasons.js';
import { timeText } from '../../../dossier/time-text.js';
import { askedOf, type CheckPhrases, PAIRS, readFact, type Told } from '../phrase.js';
import { missingText } from '../values.js';

/** After an invalid test of a specimen that was used up, only a spare coupon can give the value. */
function sparesText({ invalidTests, spares }: Told): string {
  if (invalidTests === '0') return '';
  return spares === '' ? ' No spare coupon is left.' : ` Spare coupons left: ${spares}.`;
}

export const resultsComplete: CheckPhrases = {
  title: 'Every planned characteristic has its results',
  asks: 'Does each implant have every planned value, from a specimen of its own build?',
  recompute: `For each implant and characteristic that is not open: "no specimen" (C) when it has none; "result missing" (C)
for each specimen of which a value is missing; "nothing since the rework" (C) when it has values, none
of them counts and none is missing (section 6). Implants: those for which that holds.`,
  basis: ({ planned, implants, characteristics, late }) =>
    [
      `${planned} values over ${implants} implants and ${characteristics} characteristics`,
      ...readFact(PAIRS, late).map(([title, until]) => `${title} open until ${timeText(until)}`),
    ].join('; '),
  rules: {
    'no specimen': ({ measuredOn, build, implant, title }) => ({
      says: `No ${measuredOn} of build ${build} speaks for ${implant} in ${title}.`,
      clearedBy: 'Process engineer: name the coupon in lot.yaml, with the study by which it may stand.',
    }),
    'nothing since the rework': ({ title, implant, specimens }) => ({
      says: `${title}: ${implant} was reworked, and nothing was measured since on ${specimens}, nor on a coupon that shared the rework.`,
      clearedBy:
        'Operator: put a coupon through the same rework. Analyst: measure it afterwards and take the values in.',
    }),
    'result missing': (facts) => ({
      says: `${facts.title} of ${facts.specimen}: ${missingText(askedOf(facts), readFact(MissingValues, facts.missing))}.${sparesText(facts)}`,
      clearedBy:
        facts.invalidTests === '0'
          ? `Analyst: take in the missing values of ${facts.specimen}, measured by ${askedOf(facts).method.method}.`
          : `Analyst: repeat the test on ${facts.specimen}, or on a spare coupon where the retest rule allows it.`,
    }),
  },
};
