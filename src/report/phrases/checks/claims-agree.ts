import { meaningText } from '../codes.js';
import { kindText } from '../kinds.js';
import type { CheckPhrases } from '../phrase.js';

export const claimsAgree: CheckPhrases = {
  title: 'Files name the people who signed',
  asks: 'Where a file says who approved, accepted, checked or decided something, did these people sign it?',
  recompute: `What files claim of people against what they signed. A claim is: "approval.by" of a document and
"acceptance.by" of a receipt, unless an "original" stands beside it, against "approved" on it; "certificate.checkedBy" of a
receipt against "checked" on the certificate; each name under "checkedBy" in the current rows of a result sheet against
"checked" on the sheet; each entry of "decisions" of the lot, its "by" and its "decision", against every "decided" statement
with a subject whose digest begins with its "finding"; and "decidedBy" of each invalid test of which the row is there, against
the statement by which it counts as invalid. Where nobody signed, nothing is compared. Else one of the statements is by that
person or has them as "deputyFor", and each has the outcome that an entry of "decisions" claims; or it is "another signer" (D).
Implants: for a receipt those of the builds that it went into; for a sheet those of the specimens of all its rows; for a
document that stands in case files alone those of these cases; else all. Does not apply without a claim.`,
  basis: ({ signed, claims }) => `${claims} people named by files for what people sign, ${signed} of them signed`,
  doesNotApply: 'No file of the lot names anybody for what people sign here.',
  rules: {
    'another signer': ({ kind, document, meaning, claimedBy, by }) => ({
      says: `${kindText(kind)} ${document}: the file names ${claimedBy} for "${meaningText(meaning)}", and ${by} signed it.`,
      clearedBy:
        'Whoever wrote the file: name the person who did it, with a reason; or the person named: sign it too. Where neither is true any more, process and quality engineer: decide it with a rationale.',
    }),
  },
};
