import { timeText } from '../../../dossier/time-text.js';
import { approvalPhrases } from '../approval.js';
import { type CheckPhrases, CONCEDE, type Told } from '../phrase.js';

const what = ({ stockPart, implant }: Told): string => `Stock part ${stockPart}, on which ${implant} was built,`;
const OTHER = 'Nothing but another implant, built on another part.';

export const stockPartAccepted: CheckPhrases = {
  title: 'Stock part accepted and its face made ready',
  asks: 'Was what an implant was built on accepted as stock, never in a patient, free, and its face made ready in time?',
  recompute: `For each implant with "builtOn" of a build that is not planned; its stock part is the pinned "stock-part" with that key. "no
approval" or "claimed, not signed" where it is not approved, by its "acceptance"; else "accepted after the build" [blocks release] (D) when it
was after "closedAt". With "implant": its entry of "origins" in stock-parts.json; "was implanted" [does not conform] when one of the "events" there
has "kind" outcome and "what" implanted, else "left the cell" [does not conform] when one has "kind" handover; "not given up" unless "as" of "fate" is stock part. "built on twice" [does not conform] for each entry of
"uses" there of that stock part and of another part with "closedAt" not after that of the build, unless an entry of "takenOff" has it as "implant"
and an "at" not before its "closedAt" and not after that of the build. "zone not built" (D) when the implant has no zone of the name in "zone" of
"interface", by its name or else by "recipeZone", that is a zone of its recipe. Of "prepared" the last one with "at" not after "closedAt" counts:
"face not made ready" without any, "face made ready after the build" when all are later, and "face lay too long" (C) when more than
"faceHours" of "builtOnStock" of the specification lie between it and "closedAt". Implants: that one. Does not apply without such an implant.`,
  basis: ({ stockParts }) => stockParts,
  doesNotApply: 'no implant was built on a part that was there before',
  rules: {
    ...approvalPhrases(what),
    'accepted after the build': (facts) => ({
      says: `${what(facts)} was accepted at ${timeText(facts.acceptedAt)}, after ${facts.build} was closed at ${timeText(facts.closedAt)}.`,
      clearedBy: 'Process and quality engineer: decide what shows that it was good already.',
    }),
    'was implanted': (facts) => ({
      says: `${what(facts)} was ${facts.was}, which was implanted on ${facts.day} by outcome ${facts.outcome}. What was in a patient is never stock.`,
      clearedBy: OTHER,
    }),
    'left the cell': (facts) => ({
      says: `${what(facts)} was ${facts.was}, which handover ${facts.document} handed over on ${facts.day.slice(0, 10)}. What it went through since, nobody knows: what left the cell is never stock.`,
      clearedBy: OTHER,
    }),
    'not given up': (facts) => ({
      says: `${what(facts)} was ${facts.was}, and its lot does not say that it was kept as a stock part.`,
      clearedBy: 'Quality engineer: say in the lot of that implant what became of it, under fates.',
    }),
    'built on twice': (facts) => ({
      says: `${what(facts)} was built on before, as ${facts.other} of lot ${facts.lot}, and nobody says that this was taken off.`,
      clearedBy: `Operator: say under "takenOff" when and how it was taken off, where it was. ${OTHER}`,
    }),
    'zone not built': (facts) => ({
      says: `${what(facts)} is to carry zone ${facts.zone}, and the implant has no such zone.`,
      clearedBy:
        'Process engineer: correct the zone in the stock part or in the lot. Process and quality engineer: else decide what it was built with.',
    }),
    'face not made ready': (facts) => ({
      says: `${what(facts)} has a face of which nobody says that it was made ready.`,
      clearedBy: 'Operator: say who made it ready and when, where somebody did.',
    }),
    'face made ready after the build': (facts) => ({
      says: `${what(facts)} was made ready at ${timeText(facts.preparedAt)}, after ${facts.build} was closed at ${timeText(facts.closedAt)}.`,
      clearedBy: `Operator: correct the time that is wrong. ${OTHER}`,
    }),
    'face lay too long': (facts) => ({
      says: `${what(facts)} was made ready at ${timeText(facts.preparedAt)}, and ${facts.build} was closed at ${timeText(facts.closedAt)}: more than the ${facts.hours} h that the specification allows.`,
      clearedBy: CONCEDE,
    }),
  },
};
