import { z } from 'zod';
import { ValidationFault } from '../../../assessment/reasons.js';
import { timeText } from '../../../dossier/time-text.js';
import { knownText } from '../../known-text.js';
import { limitsText } from '../limits.js';
import { type CheckPhrases, CONCEDE, ifTold, readFact, type Told } from '../phrase.js';
import { validationFaultText } from '../plans.js';

const RENEW =
  'Process engineer: analyse coupons and enter the next revision of the process validation, for later lots. Quality engineer: for this one, concede it with its reason.';
const what = ({ property, build }: Told): string => `${property} in the metal deposited in ${build}`;
const limits = (facts: Told): string =>
  `${limitsText({ lower: ifTold(facts, 'lower'), upper: ifTold(facts, 'upper') })} ${facts.limitUnit}`;

const KNOWN = z.array(z.strictObject({ low: z.number(), high: z.number(), uncertainty: z.number() }));
const computed = (facts: Told): string => knownText(readFact(KNOWN, facts.computed)[0]!);

const BASIS = z.array(z.tuple([z.string(), z.string(), z.string()]));

export const depositedMetalKnown: CheckPhrases = {
  title: 'Deposited metal known by a validated interval',
  asks: 'Where no coupon is analysed: does a process validation say what became of the powder, recently enough, and does that keep the limits?',
  recompute: `For each entry of "depositedMetal" of the specification and each build in which a part was deposited; the first that is
true. "validation does not hold" when the process validation under "validation" may not be relied on for the build. "does not cover the
build" when its "machine" is another one, or its "recipeGroups" lack the "group" of a recipe used there. "change not shown" when its
"depositedMetal" has no entry with the "property". "interval over" when the whole days from "analysedAt" (midnight UTC) to "closedAt" are
fewer than 0 or more than "holdsDays". "units do not compare" when that entry cannot be converted to the unit of the limit. "powder not
certified" when a certificate of the powder lacks the property, or masses of receipts do not make all of it. Else take the mean of the
certificates by the mass of each receipt in what was charged, through the "inputs" of each state: a value below a bound lies between 0
and it. Add "change"; u is the root of the sum of the squares of "standardUncertainty" and of each "uncertainty" by its share, of one
that is not stated 0. "outside limits" [does not conform] when all from 2 u below to 2 u above lies outside, "not decidable" when a part of
it does. (C) each. Implants: those of the build. Does not apply without such an entry or build.`,
  basis: ({ properties }) =>
    readFact(BASIS, properties)
      .map(([property, build, validation]) => `${property} of ${build} by ${validation}`)
      .join('; '),
  doesNotApply: 'no limit of the deposited metal rests on a validated interval',
  rules: {
    'validation does not hold': (facts) => ({
      says: `${what(facts)} was analysed on no coupon, and ${validationFaultText(readFact(ValidationFault, facts.fault))}.`,
      clearedBy: RENEW,
    }),
    'does not cover the build': (facts) => ({
      says: `${what(facts)} was analysed on no coupon, and ${facts.validation} holds for another machine or recipe group.`,
      clearedBy: RENEW,
    }),
    'change not shown': (facts) => ({
      says: `${what(facts)} was analysed on no coupon, and ${facts.validation} does not say what becomes of it.`,
      clearedBy: RENEW,
    }),
    'interval over': (facts) => ({
      says: `${what(facts)} rests on an analysis of ${timeText(facts.at)} (${facts.validation}), ${facts.days} days before the build; it holds for ${facts.most} days.`,
      clearedBy: RENEW,
    }),
    'units do not compare': (facts) => ({
      says: `${what(facts)} is limited to ${limits(facts)}, with which what ${facts.validation} says of it does not compare.`,
      clearedBy: 'Quality engineer: correct the unit in the next revision of the specification or of the validation.',
    }),
    'powder not certified': (facts) => ({
      says: `${what(facts)} follows from the certificates of its powder, and they do not state it of all of it.`,
      clearedBy: `Quality engineer: get the value from the supplier or have it measured. ${CONCEDE}`,
    }),
    'outside limits': (facts) => ({
      says: `${what(facts)} is ${computed(facts)} ${facts.limitUnit} by its certificates and ${facts.validation}, limit ${limits(facts)}.`,
      clearedBy: CONCEDE,
    }),
    'not decidable': (facts) => ({
      says: `${what(facts)} is ${computed(facts)} ${facts.limitUnit} by its certificates and ${facts.validation}: with twice its uncertainty, whether it keeps ${limits(facts)} is open.`,
      clearedBy: `Analyst: analyse a coupon of this build. ${CONCEDE}`,
    }),
  },
};
