import { timeText } from '../../../dossier/time-text.js';
import { approvalPhrases } from '../approval.js';
import { type CheckPhrases, CONCEDE, type Told } from '../phrase.js';

const what = ({ material, receipt }: Told): string => `${material}, receipt ${receipt}`;

export const materialAccepted: CheckPhrases = {
  title: 'Powder and gas accepted and unexpired',
  asks: 'Was every receipt in the powder and the gas accepted before the build, and unexpired on that day?',
  recompute: `For each build that is not planned, that names no "powder" and that an implant or coupon names as its "build":
"no powder named". For each build and each receipt that went into it: "status" other than accepted: "not accepted",
[does not conform] for rejected. Else "no approval" or "claimed, not signed" where it is not approved, or "accepted after
the build" [blocks release] (D) when it was after "closedAt" and no pinned "risk-build" of the build has it among its
"receipts". And "expired" (C) when "expiry" lies before the calendar date of "closedAt" as written there. Implants: those
of the build.`,
  basis: ({ receipts }) => receipts,
  rules: {
    ...approvalPhrases(what),
    'no powder named': ({ build }) => ({
      says: `No powder is named for ${build}, and parts were built there.`,
      clearedBy: 'Operator: name the powder states that went in, with their masses.',
    }),
    'not accepted': (facts) => ({
      says: `${what(facts)} went into ${facts.build} and is ${facts.status === 'rejected' ? 'rejected' : 'still in quarantine'}.`,
      clearedBy: 'Quality engineer: accept the receipt on its certificate, or keep its units on hold.',
    }),
    'accepted after the build': (facts) => ({
      says: `${what(facts)} was accepted at ${timeText(facts.acceptedAt)}, after ${facts.build} was closed at ${timeText(facts.closedAt)}.`,
      clearedBy: 'Process and quality engineer: show the signed build at risk made before the chamber closed.',
    }),
    expired: (facts) => ({
      says: `${what(facts)} expired on ${facts.expiry}, before ${facts.build} was closed at ${timeText(facts.closedAt)}.`,
      clearedBy: `Analyst: test the material again, for the rationale. ${CONCEDE}`,
    }),
  },
};
