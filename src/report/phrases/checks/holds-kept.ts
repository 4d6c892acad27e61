import { timeText } from '../../../dossier/time-text.js';
import { type CheckPhrases, CONCEDE, type Told } from '../phrase.js';
import { stepText } from '../trade-codes.js';

const fromText = ({ from }: Told): string => (from === 'build' ? 'the build' : `step "${stepText(from)}"`);

export const holdsKept: CheckPhrases = {
  title: 'Waiting times kept',
  asks: 'Did no implant wait longer between two steps than the specification allows, and was no pouch open too long?',
  recompute: `For each of "holds" of the specification with a "to" that some step of the lot is, and each implant, each of its steps "to"
(its steps: those of which it is a part as in loads-named) in order, where "from" is build but those with an "instruction":
it began at "startedAt" of the load that it names, if that is of this step and lists the implant and has one, else at "at".
The latest time not after that is looked for among the "openedAt" of the builds that it names ("from" is build) or the "at"
of its steps "from": "earlier step not on record" without one; "waited too long" (C) when more than "hours" lie between.
With "openPouchHours" and a step pack in the lot, each implant that was packed: "open time not known" where a step pack
names no load that is of pack, lists it and has "startedAt"; else "pouch open too long" (C) when the times from "startedAt"
to "at" of these loads add up to more. Does not apply where neither is asked.`,
  basis: ({ holds }) => `limits of time: ${holds}`,
  doesNotApply: 'the specification limits no time up to a step that was done',
  rules: {
    'earlier step not on record': (facts) => ({
      says: `${facts.unit}: step "${stepText(facts.step)}" at ${timeText(facts.at)} must follow ${fromText(facts)} within ${facts.most} h, and that is not on record before it.`,
      clearedBy: 'Operator: add the step that is missing, with its time.',
    }),
    'waited too long': (facts) => ({
      says: `${facts.unit} waited ${facts.hours} h from ${fromText(facts)} to step "${stepText(facts.step)}" at ${timeText(facts.at)}; ${facts.most} h are allowed.`,
      clearedBy: CONCEDE,
    }),
    'open time not known': (facts) => ({
      says: `${facts.unit}: how long its pouch was open is not on record; ${facts.most} h are allowed.`,
      clearedBy: 'Operator: name the load of packing, with its beginning and its end.',
    }),
    'pouch open too long': (facts) => ({
      says: `${facts.unit}: its pouch was open for ${facts.hours} h in all; ${facts.most} h are allowed.`,
      clearedBy: CONCEDE,
    }),
  },
};
