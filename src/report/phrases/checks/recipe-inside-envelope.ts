import { z } from 'zod';
import { type CheckPhrases, CONCEDE, readFact, type Told } from '../phrase.js';
import { stepText } from '../trade-codes.js';

const USES = z.array(z.tuple([z.string(), z.number(), z.string()]));

const what = ({ parameter, step, zone, recipe }: Told): string =>
  `${parameter} of ${stepText(step)} in zone ${zone} of recipe ${recipe}`;

export const recipeInsideEnvelope: CheckPhrases = {
  title: 'Recipe inside the validated envelope',
  asks: 'Does every setting of the recipe lie in the range for which the process was validated?',
  recompute: `For each use of a recipe that a process validation covers: each parameter of each step done there, in
every zone of the recipe, against the entry of "envelope" with the same step and parameter; one of the zone's class goes before
one without class. No entry: "setting not validated" (C). A unit of another sort: "units do not compare" (C). "set" below "min"
or above "max": "outside the validated envelope" [does not conform] (C). Implants: those of the use. Does not apply when no use
is covered.`,
  basis: ({ uses }) =>
    readFact(USES, uses)
      .map(([recipe, settings, build]) => `${recipe}: ${settings} settings for ${build}`)
      .join('; '),
  doesNotApply: 'no process validation with an envelope is named for these builds',
  rules: {
    'setting not validated': (facts) => ({
      says: `Process validation ${facts.validation} says nothing of ${what(facts)}, set to ${facts.set} ${facts.unit}.`,
      clearedBy: 'Process engineer: show in which range of this setting the process was validated.',
    }),
    'units do not compare': (facts) => ({
      says: `${what(facts)} is set in ${facts.unit} and was validated in ${facts.limitUnit}: the two cannot be compared.`,
      clearedBy: 'Process engineer: state the validated range in a unit of the same kind.',
    }),
    'outside the validated envelope': (facts) => ({
      says: `${what(facts)} is set to ${facts.set} ${facts.unit}; validated is ${facts.lower} to ${facts.upper} ${facts.limitUnit}.`,
      clearedBy: `Process engineer: build by a recipe inside the envelope from now on. ${CONCEDE}`,
    }),
  },
};
