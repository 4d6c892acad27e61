import { timeText } from '../../../dossier/time-text.js';
import type { CheckPhrases, Told } from '../phrase.js';

const what = ({ build, receipt }: Told): string => `The build at risk ${build}, from ${receipt} in quarantine,`;
const JUDGE = 'Process and quality engineer: decide what it means for its implants, with a rationale.';

export const riskBuildSigned: CheckPhrases = {
  title: 'Builds at risk signed before they began',
  asks: 'Was each build from material in quarantine allowed by process and quality before the chamber closed, for its implants?',
  recompute: `For each build and each receipt that went into it and is not approved with "status" accepted, or is by an approval
after "closedAt", where a pinned "risk-build" of that "build" has the receipt among its "receipts": "rejected" [blocks release] (D)
where it is rejected as in section 9 by the digest of its revision; "not signed by both" [blocks release] (D) where it is neither
rejected nor accepted; "signed after the chamber closed" [blocks release] (D) where it is accepted and the last statement on it was
after "closedAt"; and for the implants of the build that its "implants" lack, "unit not named" [blocks release] (D). Implants: those
of the build. Does not apply when there is no such receipt.`,
  basis: ({ builds }) => builds,
  doesNotApply: 'all material was accepted when the chamber closed, or nobody asked to build at risk',
  rules: {
    rejected: (facts) => ({ says: `${what(facts)} was rejected by those who had to allow it.`, clearedBy: JUDGE }),
    'not signed by both': (facts) => ({
      says: `${what(facts)} was not signed by both a process and a quality engineer.`,
      clearedBy: `Process and quality engineer: sign it; the time of signing counts. ${JUDGE}`,
    }),
    'signed after the chamber closed': (facts) => ({
      says: `${what(facts)} was allowed at ${timeText(facts.at)}, after the chamber closed at ${timeText(facts.closedAt)}.`,
      clearedBy: JUDGE,
    }),
    'unit not named': (facts) => ({
      says: `${what(facts)} does not name ${facts.implants}, which came of it.`,
      clearedBy: JUDGE,
    }),
  },
};
