import { z } from 'zod';
import { timeText } from '../../../dossier/time-text.js';
import { type CheckPhrases, readFact, type Told } from '../phrase.js';
import { stepText } from '../trade-codes.js';

const partsText = ({ members }: Told): string => readFact(z.array(z.string()), members).join(', ');
const stepOf = (facts: Told): string => `Step "${stepText(facts.step)}" at ${timeText(facts.at)}`;

export const loadsNamed: CheckPhrases = {
  title: 'Steps and loads agree',
  asks: 'Does each step that needs a load name one, was every part of it in that load, and was no part in two at once?',
  recompute: `The loads are the "process-load" documents of the lot file; a part was in one that lists it under "implants" or "coupons",
unless it had been "moved" by its fate before "at" of the load.
A step asks for a load when it is heat-treat, coat or sterilise, or pack where the family is "sterile". Its parts are "parts"; without
these all implants and coupons but those with a fate not after its "at". For each step that asks or names one: "no load" where it
names none; "load not on record"; "load of another step" where "step" of the load is another; else "not in the load" when some of
its parts were not in it. For each load, "no step names the load" for parts of the lot that were in it and are parts of no step that
names it. For each two loads with a part of the lot in common, "in two loads at once" when the times from "startedAt" ("at" where it
is absent) to "at" overlap by more than a moment, or are the same. Each finding acts on the implants of the specimens that it is
about. Does not apply where no step asks or names one and there is no load.`,
  basis: ({ steps, loads }) => `steps in loads: ${steps}; loads: ${loads}`,
  doesNotApply: 'no step needs a load or names one, and no load names a part of the lot',
  rules: {
    'no load': (facts) => ({
      says: `${stepOf(facts)} names no load, for ${partsText(facts)}.`,
      clearedBy: 'Operator: take in the process load with its cycle, and name it under "load" of the step.',
    }),
    'load not on record': (facts) => ({
      says: `${stepOf(facts)} names load ${facts.load}, which is not on record.`,
      clearedBy: 'Operator: take in the process load, or correct the step.',
    }),
    'load of another step': (facts) => ({
      says: `${stepOf(facts)} names load ${facts.load}, which is one of "${stepText(facts.did)}".`,
      clearedBy: 'Operator: name the right load, or correct what the load was.',
    }),
    'not in the load': (facts) => ({
      says: `${stepOf(facts)}: ${partsText(facts)} did not lie in load ${facts.load}.`,
      clearedBy: 'Operator: correct the parts of the load or of the step; what was not in it has to go through it.',
    }),
    'no step names the load': (facts) => ({
      says: `Load ${facts.load} (${stepText(facts.step)}) names ${partsText(facts)}, and no step of the lot says so.`,
      clearedBy: 'Operator: add the step with its load, or correct the parts of the load with a reason.',
    }),
    'in two loads at once': (facts) => ({
      says: `${partsText(facts)} lay in load ${facts.load} and in load ${facts.otherLoad} at one time.`,
      clearedBy: 'Operator: find out where they were, and correct times or parts of one of the loads with a reason.',
    }),
  },
};
