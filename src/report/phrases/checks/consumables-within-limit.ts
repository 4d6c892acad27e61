import { timeText } from '../../../dossier/time-text.js';
import { type CheckPhrases, CONCEDE, type Told } from '../phrase.js';
import { materialCategoryText } from '../trade-codes.js';

const what = ({ of, name, work }: Told): string => `The ${materialCategoryText(of)} ${name} used in ${work}`;

export const consumablesWithinLimit: CheckPhrases = {
  title: 'Media, tools and baths within their limits',
  asks: 'Was everything that touches the parts and wears out in use at that time, no oftener and no longer than its limit?',
  recompute: `For each entry of "consumables" of each build, each "bottle" of its "gas" (once for each "gas" entry), and each entry of each pinned "process-load" that lists a part of the lot; its moment is "closedAt" of the build or "at" of the load. In a build: "on another machine" (C) where it
names a "machine" that is not that of the build; "filled from another receipt" (C) where it is the "bottle" of a gas entry (of several,
the first that names it) and its "made" does not name the "receipt" of that entry. "not in use yet" (C) where its "inUseFrom" is after
the moment; "used after its use ended" (C) where its "retiredAt" is before it. By the "inUseLimit" of the material specification that it
names: "used too often" (C) where the "uses" of it in consumable-uses.json with "at" not after the moment are more than "uses"
together; "used too long" (C) where the moment is more than "hours" hours after "inUseFrom". Implants: those of the build, or those
of the lot that the load lists. Does not apply when there is no such entry.`,
  basis: ({ uses }) => uses,
  doesNotApply: 'the lot names nothing that wears out',
  rules: {
    'on another machine': (facts) => ({
      says: `${what(facts)} on ${facts.asked} is mounted or filled on ${facts.machine}.`,
      clearedBy: `Operator: correct the machine that is wrong, or name what was really used. ${CONCEDE}`,
    }),
    'filled from another receipt': (facts) => ({
      says: `${what(facts)} with gas of receipt ${facts.receipt} was filled from ${facts.receipts === '' ? 'no receipt' : facts.receipts}.`,
      clearedBy: `Operator: name the receipt from which the bottle really came. ${CONCEDE}`,
    }),
    'not in use yet': (facts) => ({
      says: `${what(facts)} at ${timeText(facts.usedAt)} came into use only at ${timeText(facts.from)}.`,
      clearedBy: `Operator: correct the time that is wrong, or name what was really used. ${CONCEDE}`,
    }),
    'used after its use ended': (facts) => ({
      says: `${what(facts)} at ${timeText(facts.usedAt)} was taken out of use at ${timeText(facts.until)}.`,
      clearedBy: `Operator: correct the time that is wrong, or name what was really used. ${CONCEDE}`,
    }),
    'used too often': (facts) => ({
      says: `${what(facts)} had ${facts.uses} uses with that one, and at most ${facts.most} are allowed.`,
      clearedBy: `Process engineer: judge what it wore, for the rationale. ${CONCEDE}`,
    }),
    'used too long': (facts) => ({
      says: `${what(facts)} at ${timeText(facts.usedAt)} is in use since ${timeText(facts.from)}, and at most ${facts.hours} h are allowed.`,
      clearedBy: `Process engineer: judge what it wore, for the rationale. ${CONCEDE}`,
    }),
  },
};
