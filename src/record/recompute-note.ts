/** A note for a stranger who has nothing but the PDF. */
export function recomputeNote(facts: { lot: string; record: string }): string {
  return `How to assess lot ${facts.lot} again, with this PDF and without the program that made it
(record ${facts.record})

What is attached
  dossier.json           the facts of the lot as frozen: every document that counted, whole, and the SHA-256 of each part
  results.csv            every reported value with its source, corrected ones included (column "status")
  family-history.csv     values of earlier builds of the family; the pooling rule in dossier.json says which count
  log-summaries.csv      statistics of each logged channel by layer, zone and step
  log-BUILD.json         findings of the log scan, outlines of the channels, gaps
  case-CODE.json         the facts of one case; a copy for one institution leaves out those of others
  assessment.json        what the program said: checks, verdicts, family performance
  enclosure.json         the SHA-256 of every attachment, and who printed the record when

Is anything altered?
  1. Detach the files, for instance: pdfdetach -saveall RECORD.pdf
  2. sha256sum each file and compare with the list in enclosure.json.
  3. sha256sum enclosure.json and compare with the digest that is printed on page 1.
  All JSON files are in the canonical form of RFC 8785, so that one content has one digest.

Does an implant conform?
  dossier.json, "pinned": take the one of kind "specification". For each of its "characteristics", find the rows of
  results.csv with status "current" whose specimen is the implant, or a coupon that "standsFor" it in the lot's
  document. Compare each value with "lower" and "upper", both inclusive, after the "rounding" that is stated there.
  With the rule "guarded", stay inside the limit by z(confidence) x standard uncertainty.
  A missing value, or one that is reported only as < or > beyond what decides, leaves the implant undecided.
  log-BUILD.json: a finding of level "reject" fails the implants whose zone and layers it covers; one of level
  "action" leaves them undecided until it is decided.

One index by hand, in a spreadsheet
  family-history.csv: keep the rows of one characteristic whose machine, recipe group, method and date the pooling rule
  admits. Ppk is the smaller of (upper - mean)/(3 s) and (mean - lower)/(3 s), with s the standard deviation with
  divisor n - 1. Compare with "ppk" of that characteristic in assessment.json (nine significant digits).
  Its lower bound solves P( t <= 3 Ppk sqrt(n) ) = confidence for a noncentral t with n - 1 degrees of freedom and
  noncentrality 3 bound sqrt(n).

Unaltered is not the same as true, complete or released. Use in patients needs qualified clinical, quality and
regulatory review under the law of the place.
`;
}
