import type { Assessment, CapabilityResult } from '../../assessment/assessment.js';
import type { Facts } from '../../dossier/facts.js';
import type { Characteristic } from '../../kinds/specification.js';

export interface NoteFacts {
  readonly facts: Facts;
  readonly assessment: Assessment;
  /** Number of the record. */
  readonly record: string;
}

/** A note for a stranger who has nothing but the PDF, a checksum tool and a spreadsheet. */
export function recomputeNote(note: NoteFacts): string {
  return `How to assess lot ${note.facts.dossier.lot} again, with this PDF and without the program that made it
(record ${note.record})

What is attached
  dossier.json           the facts of the lot as frozen: every document that counted, whole, what people signed on them,
                         and the SHA-256 of each part
  results.csv            every reported value with its source, corrected ones included (column "status")
  family-history.json    earlier builds of the family, where there are any: for each characteristic the sums over the
                         values that the pooling rule in dossier.json admits, what it left out, what a signed decision
                         took out, the last builds and values, the baseline of the chart, and "head": position and digest
                         of the last row of the history in the data folder, which is chained with all before it
  log-summaries.csv      statistics of each logged channel by layer, zone and step
  log-BUILD.json         findings of the log scan, outlines of the channels, gaps
  case-CODE.json         the facts of one case: its documents, the SHA-256 of its files, what people signed on them; a
                         copy for one institution leaves out those of others
  assessment.json        what the program said: checks, verdicts, family performance
  record-template.yaml   order, titles and words of the record
  enclosure.json         the SHA-256 of every attachment, who printed the record when, what was signed on the lot, the
                         public keys, the signed head of the audit trail and the proofs of what stands under it

Is anything altered?
  1. Detach the files, for instance: pdfdetach -saveall RECORD.pdf
  2. sha256sum each file and compare with the list in enclosure.json.
  3. sha256sum enclosure.json and compare with the digest that is printed on page 1.
  All JSON files are in the canonical form of RFC 8785, so that one content has one digest.

Who signed?
  "signatures" in dossier.json, case-CODE.json and enclosure.json: each "statement", in canonical form, is signed with Ed25519 (RFC 8032)
  by the installation key that it names; "signature" is base64. The public keys are in enclosure.json, "keys". Page 1
  prints the SHA-256 of the key in use: compare it with the one that the cell gives you by another way.
  openssl pkeyutl -verify -rawin -pubin -inkey KEY.pem -in STATEMENT.json -sigfile SIGNATURE.bin
  "ledger" in enclosure.json holds the head of the audit trail as a signed note (C2SP tlog-checkpoint), and for each entry
  that the record rests on the path from its leaf to that head (RFC 6962, section 2.1.1).

Does an implant conform?
  dossier.json, "pinned": take the one of kind "specification" that the lot names. For each of its "characteristics", find
  the rows of results.csv with status "current" whose specimen is the implant, or a coupon that "standsFor" it in the
  lot's document. Compare each value with "lower" and "upper", both inclusive, after the "rounding" that is stated there.
  With the rule "guarded", stay inside the limit by z(confidence) x standard uncertainty.
  A missing value, or one that is reported only as < or > beyond what decides, leaves the implant undecided. "plan" says
  how several values decide together.
  log-BUILD.json: a finding of level "reject" fails the implants whose zone and layers it covers; one of level
  "action" leaves them undecided until it is decided.

One index by hand, in a spreadsheet
${exampleOf(note)}
Unaltered is not the same as true, complete or released. Use in patients needs qualified clinical, quality and
regulatory review under the law of the place.
`;
}

/** With the very conditions and numbers of this lot, so that nobody has to guess. */
function exampleOf({ facts, assessment }: NoteFacts): string {
  const capability = assessment.capability.find(({ ppk }) => ppk !== null);
  if (!capability) {
    return `  This record states no index: no characteristic has enough earlier values. What counts of them is in
  dossier.json, "pooling" of the specification.
`;
  }
  const item = facts.specification.body.characteristics.find(
    ({ characteristic }) => characteristic === capability.characteristic,
  )!;
  return `  1. Open family-history.json and find characteristic ${item.characteristic}. Its "pool" holds n, mean, and
     "sumSquaredDeviations", the sum of the squared deviations of all its values from that mean.
     n is ${capability.n}.
  2. mean: ${capability.mean}
  3. Standard deviation with divisor n - 1, SQRT(sumSquaredDeviations / (n - 1)): ${capability.sd}
  4. ${indexText(item)}: ${capability.ppk}
     assessment.json states these with nine significant digits, "capability" of ${item.characteristic}.
  5. ${boundText(capability)}
`;
}

function indexText({ lower, upper }: Characteristic): string {
  const above = upper === undefined ? undefined : `(${upper} - mean) / (3 x standard deviation)`;
  const below = lower === undefined ? undefined : `(mean - ${lower}) / (3 x standard deviation)`;
  return above && below ? `Ppk, the smaller of ${above} and ${below}` : `Ppk = ${above ?? below}`;
}

/** Both bounds with what they are computed from. */
function boundText({ bounds, spread, confidence, n }: CapabilityResult): string {
  const independent = `Its lower bound for independent values is ${bounds.independent}: the C with P(T <= 3 x SQRT(n) x Ppk) = ${confidence},
     T noncentral t with n - 1 degrees of freedom and noncentrality 3 x SQRT(n) x C, n = ${n}.`;
  if (spread === null || bounds.builds === null) return independent;
  return `${independent}
  6. Builds differ. "buildSizes" in "pool" says how many builds have so many values, the mean of their means, and how far these
     deviate. k builds, N values, h = k / SUM(builds / values), M = SUM(builds x mean) / k, V = the variance of the means about M
     with divisor k - 1, W = sumSquaredWithinBuilds / (N - k). Mean M: ${spread.mean}
     Standard deviation SQRT(V + (1 - 1/h) x W): ${spread.sd}
  7. q = MAX(0, (h x V / W / F - 1) / h), F the quantile of F(k - 1, N - k) at ${Number((1 - confidence).toPrecision(9))}; r = q / (1 + q); a = r + (1 - r) / h.
     Effective values k / a: ${spread.effectiveValues}
     Degrees of freedom 1 / (a^2 / (k - 1) + (1 - a)^2 / (N - k)): ${spread.degreesOfFreedom}
     With these in place of n and n - 1, and the index of 6, the bound by builds is ${bounds.builds}. The lower one of
     both counts. Without two values in a build W is unknown, and a = 1.`;
}
