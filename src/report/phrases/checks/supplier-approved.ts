import { type CheckPhrases, CONCEDE, type Told } from '../phrase.js';

const what = ({ material, receipt }: Told): string => `${material}, receipt ${receipt}`;

export const supplierApproved: CheckPhrases = {
  title: 'Suppliers approved',
  asks: 'Was every supplier approved for what it delivered, on the day on which it came in?',
  recompute: `For each build and each receipt that went into it, where it names a material specification. Of the "approvals" of its
supplier those count of which "scope" is the "material" or the "title" of that specification, in whatever letters, spaces at the ends
left out and others taken as one. None: "not approved for it" (C); none with "from" not after and "to" not before the calendar date of
"receivedAt" as written there: "not approved on the day" (C). Implants: those of the build. Does not apply when there is no such
receipt.`,
  basis: ({ receipts }) => receipts,
  doesNotApply: 'no receipt names what it was ordered to',
  rules: {
    'not approved for it': (facts) => ({
      says: `${what(facts)} came from ${facts.supplier}, which is not approved for ${facts.scope}.`,
      clearedBy: `Quality engineer: enter the approval that there was, with its basis. ${CONCEDE}`,
    }),
    'not approved on the day': (facts) => ({
      says: `${what(facts)} came from ${facts.supplier} on ${facts.day}; the supplier is approved for ${facts.scope} from ${facts.within}.`,
      clearedBy: `Quality engineer: enter the approval that there was on that day, with its basis. ${CONCEDE}`,
    }),
  },
};
