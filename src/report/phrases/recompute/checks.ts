import type { Assessment } from '../../../assessment/assessment.js';
import type { CheckCode } from '../../../assessment/checks/check-code.js';
import type { Facts } from '../../../dossier/facts.js';
import { kindNamed } from '../../../kinds/catalogue.js';
import { placesOfFacts } from '../../../kinds/happened.js';
import { CHECK_PHRASES } from '../checks/catalogue.js';
import { LOG_FINDINGS } from './log-findings.js';
import { wrapped } from './wrapped.js';

const WORDS = `10. How does a check stand?
  The checks follow in the order of assessment.json. Each names its rules in quotation marks, and the implants on which a
  finding by it acts; one that comes to no implant of the lot acts on all. (D): a decision lifts it. (C): a concession lets
  implants go, and the finding stays. Without either, only other facts clear it. What a finding does to its implants stands
  in brackets, and is "cannot be decided" where nothing does.
  State: without a finding, or when all are lifted, "passes"; "does not apply" in the cases said, if nothing was found;
  "cannot be decided" when each that is not lifted is "cannot be decided"; else "fails".
  Lifted: a finding marked (D) that is accepted as in section 9. Its identity is the digest of {"lot", "check", "rule",
  "subjects", "facts"}, "check" being the code of the check and the other four as assessment.json states them: find there the
  finding with the rule and the implants to which you came, compute its "id", and look for statements on that.

  Approved: the first "approved" statement on it says by whom and when. Without one, "approval" of a document ("acceptance" of a
  receipt) with an "original" counts as approved elsewhere, at its "at". With an "approval" only: "claimed, not signed". With
  neither: "no approval".
  Use of a recipe: a build with a recipe revision by which parts were made there; its implants are these, and those for whom the
  coupons among them stand. A process validation covers it when the specification names it under "validations", it is of the
  build's machine, and the group of the recipe is among its "recipeGroups"; the first such counts.
  Receipts that went into a build: of the gas, and of the powder: from the states charged on, through the "inputs" of each state;
  and the "receipt" of each stock part that a part with this "build" names under "builtOn".
  Qualified on a day: an entry of "qualifications" of the person with the operation, "from" not after and "to" not before that day
  (no "to" is for ever), on which somebody signed "approved". Else "qualification not signed" where an entry covers the day, "not
  qualified" where none is of the operation, "qualification not valid on the day" where they are of other days; all (C).
  Calibration at a moment: the latest one not after it. None: "no calibration". "asLeft" out of tolerance: "left out of tolerance".
  Else the next one after it has "asFound" out of tolerance: "found out of tolerance later" (D). Else the moment is after its
  "due": "overdue at use, found in tolerance since" (D) when the next one has "asFound" in tolerance, and "overdue at use" if not.
  Implants of a specimen: itself, or those for whom the coupon stands. Implants of a build: those of which something was made
  there.`;

const VERDICT = `11. May an implant be released?
  Its verdict is the worst of its verdicts in the characteristics that are not open, and of what findings that are not lifted do
  to it; "blocks release" turns no verdict. It is "releasable" when no such finding names it, or each is (C) and conceded: a
  nonconformity that touches the implant (check nonconformities-closed) has the "id" of the finding
  under "findings", its disposition is decided as accepted, and says "concession" of the implant; when its verdict is
  "conforms" or there is such a finding; and when "fates" of the lot does not name it. For distribution each of its "gates" has
  to be passed too. Who released it is said by the statements in enclosure.json.
`;

/** How each check of this lot is made again. */
export function checksNote({ facts, assessment }: { readonly facts: Facts; readonly assessment: Assessment }): string {
  const paragraphs = assessment.checks.map(({ code }) => paragraphOf(code)).join('\n');
  return `${LOG_FINDINGS}\n${WORDS}\n${timesOfFacts(facts)}\n\n${paragraphs}\n\n${VERDICT}`;
}

function paragraphOf(code: string): string {
  const { recompute } = CHECK_PHRASES[code as CheckCode];
  return wrapped(recompute, '    ', `  ${code}:`);
}

/** Only of the kinds that the lot file holds: a stranger has no use for others. */
function timesOfFacts({ dossier }: Facts): string {
  const kinds = [...new Set(dossier.pinned.map(({ kind }) => kind))].sort();
  const places = kinds.flatMap((name) => {
    const kind = kindNamed(name);
    const found = kind === undefined ? [] : placesOfFacts(kind.schema);
    return found.length === 0 ? [] : [`${name}: ${found.join(', ')}`];
  });
  const text = `Times of facts (events-in-order), but for those of a build that is planned: ${places.join('; ')}.`;
  return wrapped(text, '  ');
}
