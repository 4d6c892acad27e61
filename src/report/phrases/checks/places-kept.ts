import { timeText } from '../../../dossier/time-text.js';
import { spacedUnit } from '../../../dossier/unit-text.js';
import { counted } from '../counted.js';
import type { CheckPhrases, Told } from '../phrase.js';

const clearedBy =
  'Process engineer and quality engineer: say what it did to what lay there, and decide: sign the finding, each as one of the two.';
const partsText = ({ members = '[]' }: Told): string => (JSON.parse(members) as string[]).join(', ');

export const placesKept: CheckPhrases = {
  title: 'Places of storage kept their windows',
  asks: 'Did the places in which parts and powder of the lot lay keep humidity, temperature and what else they must, all the time?',
  recompute: `For each stay under "stays" of a pinned storage-place: of an implant or a coupon of the lot, or of a pinned powder-state, which
counts only when it begins at or before the last "openedAt" of the builds, and then until that moment at most. It ends at "to", else at the last
"lastAt" of the place-logs of the place, never before it begins. Implants: the one, those of the coupon, or all. "not logged" [may be decided] for the
stays of a place, together, that the stretches from "firstAt" to "lastAt" of its place-logs do not cover without a hole.
For each of "findings" of its place-logs above the level alert that has a moment in common with a stay: "window left" [may be decided] for an
excursion, else "log not sound" [may be decided], for the implants of all stays that it touches; but an excursion of the level
reject is "window left" [does not conform] for the stays of implants, and as before for the others. Does not apply without a stay.`,
  basis: ({ places, stays }) => `${counted(stays ?? '0', 'stay')} in ${counted(places ?? '0', 'place')}`,
  doesNotApply: 'no place of storage names a part or powder of the lot',
  rules: {
    'not logged': (facts) => ({
      says: `Place ${facts.place} has no log of all the time in which ${partsText(facts)} lay there.`,
      clearedBy: `Operator: add the log to the document of the place. ${clearedBy}`,
    }),
    'window left': (facts) => ({
      says: `Place ${facts.place} left its window of ${facts.channel} (${facts.level}) from ${timeText(facts.from!)} to ${timeText(facts.until!)}${
        facts.value === undefined ? '' : `, up to ${facts.value}${spacedUnit(facts.limitUnit ?? '')}`
      }, while ${partsText(facts)} lay there.`,
      clearedBy,
    }),
    'log not sound': (facts) => ({
      says: `The log of place ${facts.place} has a hole or cannot be trusted from ${timeText(facts.from!)} to ${timeText(facts.until!)}, while ${partsText(facts)} lay there.`,
      clearedBy,
    }),
  },
};
