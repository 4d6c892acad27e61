import { timeText } from '../../../dossier/time-text.js';
import { designsText } from '../designs.js';
import type { CheckPhrases, Told } from '../phrase.js';

const what = ({ case: code, iteration }: Told): string => `Iteration ${iteration} of the design for case ${code}`;

export const designAccepted: CheckPhrases = {
  title: 'Design accepted by its prescriber before the build',
  asks: 'Did the prescriber accept exactly the model that was built, before it was built, and did a second person check that?',
  recompute: `For each built design as in design-inside-envelope. The acceptance is the "design-acceptance" of the case file with its
iteration: without it "not accepted". "accepted after the build" [blocks release] when its "at" lies after "built"; "another
model accepted" [does not conform] unless "model" is the "sha256" of the file under "evidence" of the case file with the use
"model of case-design CODE rev ITERATION" (where there is none of that use, of any "model of case-design CODE"), and not without a
design; "accepted by somebody else" unless name and institution are those of the "prescriber"; "no original" without "original";
"not checked" without a "checked" statement on it by another person than "enteredBy".`,
  basis: designsText,
  doesNotApply: 'no law is named that asks for a design of its own, and none is on record',
  rules: {
    'not accepted': (facts) => ({
      says: `${what(facts)} was accepted by nobody.`,
      clearedBy: 'Case designer: take in the acceptance of the prescriber, with its original. Nobody concedes it.',
    }),
    'accepted after the build': (facts) => ({
      says: `${what(facts)} was accepted at ${timeText(facts.acceptedAt)}, after the chamber was closed at ${timeText(facts.closedAt)}.`,
      clearedBy: 'Nobody releases it: the implant was built before its prescriber agreed. Reject it.',
    }),
    'another model accepted': (facts) => ({
      says: `${what(facts)}: the model that was accepted is not the one on record, by its SHA-256.`,
      clearedBy: 'Case designer: correct the hash if it was written down wrongly, or have the built model accepted.',
    }),
    'accepted by somebody else': (facts) => ({
      says: `${what(facts)} was accepted by somebody else than the prescriber of the case.`,
      clearedBy: 'Case designer: name the prescriber as in the case, or have the prescriber accept it.',
    }),
    'no original': (facts) => ({
      says: `${what(facts)}: the acceptance brings no original.`,
      clearedBy:
        'Case designer: take in the message or the signed sheet as received. It is kept apart as personal data.',
    }),
    'not checked': (facts) => ({
      says: `${what(facts)}: nobody but ${facts.enteredBy}, who wrote the acceptance down, has compared it with its original.`,
      clearedBy: 'A second person: compare it with the original and sign it as checked.',
    }),
  },
};
