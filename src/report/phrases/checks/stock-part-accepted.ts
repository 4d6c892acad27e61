import { timeText } from '../../../dossier/time-text.js';
import { approvalPhrases } from '../approval.js';
import { kindText } from '../kinds.js';
import { limitsText } from '../limits.js';
import { type CheckPhrases, CONCEDE, type Told } from '../phrase.js';
import { stockEventText } from '../stock-parts.js';

const what = ({ stockPart, implant }: Told): string => `Stock part ${stockPart}, on which ${implant} was built,`;
const eventText = (facts: Told): string =>
  `${facts.was}, of which ${kindText(facts.kind)} ${facts.document} of ${facts.day} says: ${stockEventText(facts.what)}`;
const orNone = (limit: string): string | undefined => (limit === '' ? undefined : limit);
const range = ({ lower, upper, limitUnit }: Told): string =>
  lower === '' && upper === ''
    ? 'none, for information'
    : `${limitsText({ lower: orNone(lower), upper: orNone(upper) })} ${limitUnit}`;
const lineText = ({ property, value, unit }: Told): string => `${property} ${value} ${unit}`;
const OTHER = 'Nothing but another implant, built on another part.';

export const stockPartAccepted: CheckPhrases = {
  title: 'Stock part accepted and its face made ready',
  asks: 'Was what an implant was built on accepted as stock, never in a patient, free, and its face made ready in time?',
  recompute: `For each implant with "builtOn" of which something was built: of its build and those that this one continues ("continues") the
first that is not planned, meant below by "the build"; its stock part is the pinned "stock-part" with that key. "no
approval" or "claimed, not signed" where it is not approved, by its "acceptance"; else "accepted after the build" [blocks release] (D) when it
was after "closedAt" of the build, and "accepted before metal was taken off" when it was before the last "at" of "takenOff" that is not after
"closedAt". With "implant": its entry of "origins" in stock-parts.json, where that has "builtOn" the entry of the "stockPart" there too, and so on, each once; of each of them: "was implanted" [does not conform] when one of the "events" there
has "kind" outcome and "what" implanted, else "left the cell" [does not conform] when one has "kind" handover; "not to be built on" [does not conform] for each with "what" scrap, return, destroyed, destroyed there or
explanted, "left open" for each with not decided or lost; "not given up" unless "as" of "fate" is stock part; and "not given up" without any entry. Receipts and tests of what was an implant were asked of its own lot, not here. "receipt of another material" when
the "material" of its "receipt" is not its own. What is asked of a receipt (certificates-within-limits) is asked of its "material" and of what its
"receipt" was ordered to: "material without limits" (D) when that is nothing, and for each of its own "lines" against each such line of its property
"outside limits" [does not conform] (C) or, when it does not conform in another way, "not decidable" (C). "built on twice" [does not conform] for each entry of
"uses" there of that stock part and of another part with "closedAt" not after that of the build, unless an entry of "takenOff" has it as "implant"
and an "at" not before its "closedAt" and not after that of the build. "zone not built" (D) when the implant has no zone of the name in "zone" of
"interface", by its name or else by "recipeZone", that is a zone of its recipe. Of "prepared" the last one with "at" not after "closedAt" counts:
"face not made ready" without any, "face made ready after the build" when all are later, "face made ready before metal was taken off" when it is before that last "at", and else "face lay too long" (C) when more than
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
    'not to be built on': (facts) => ({
      says: `${what(facts)} was ${eventText(facts)}.`,
      clearedBy: OTHER,
    }),
    'left open': (facts) => ({
      says: `${what(facts)} was ${eventText(facts)}.`,
      clearedBy: 'Quality engineer: decide there what becomes of it, or say what became of it.',
    }),
    'receipt of another material': (facts) => ({
      says: `${what(facts)} is said to be ${facts.material}, and receipt ${facts.receipt}, with which it came, is of ${facts.ordered}.`,
      clearedBy: 'Process engineer: correct the material or the receipt.',
    }),
    'material without limits': (facts) => ({
      says: `${what(facts)} is of ${facts.material}, for which the specification has no limits.`,
      clearedBy:
        'Process engineer: state limits for it in the next revision. Process and quality engineer: else decide what shows that it is fit.',
    }),
    'outside limits': (facts) => ({
      says: `${what(facts)} has ${lineText(facts)}: outside the limits of ${facts.material} (${range(facts)}).`,
      clearedBy: CONCEDE,
    }),
    'not decidable': (facts) => ({
      says: `${what(facts)} has ${lineText(facts)}, which cannot be held against the limits of ${facts.material} (${range(facts)}).`,
      clearedBy: CONCEDE,
    }),
    'accepted before metal was taken off': (facts) => ({
      says: `${what(facts)} was accepted at ${timeText(facts.acceptedAt)}, before metal was taken off it at ${timeText(facts.from)}.`,
      clearedBy: `Quality engineer: accept it as it is now, where nothing is built on it yet. ${OTHER}`,
    }),
    'face made ready before metal was taken off': (facts) => ({
      says: `${what(facts)} was made ready at ${timeText(facts.preparedAt)}, before metal was taken off it at ${timeText(facts.from)}.`,
      clearedBy: `Operator: say who made the face ready since, and when, where somebody did. ${OTHER}`,
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
