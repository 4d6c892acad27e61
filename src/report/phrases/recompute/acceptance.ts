/** How a single value is judged, and which values count. */
export const ACCEPTANCE = `6. Does a value conform?
  For each implant and each entry of "characteristics" of the specification ("characteristics" in assessment.json).

  Specimens: measured on implants, the implant itself; on coupons, those of its build that have it under "standsFor", are not
  spare, and have a zone whose recipe zone is of "zoneClass", where the characteristic names one. By a plan other than
  every-unit: the specimens of all implants of its build together, each once; of implants only those with a row.

  Reworks of a part in a characteristic: the steps of the lot that name an "instruction", of which it is one of "parts" (every
  part without these), and whose rework-instruction of that revision has the characteristic under "disturbs". A row tells of an
  implant only when its specimen had, of those with "at" not after its "measuredAt", the same reworks as the implant has in all
  (measured on implants: as its specimen has in all); another is shown and does not count. A spare coupon speaks as others do
  for an implant that has reworks and of which it shares all and has no other. A coupon that has other reworks in all than the
  implant, and no row that counts, speaks for it no more: nothing of it is missing.

  Values of a specimen: its rows of the characteristic. The first "replicates" of them are planned, more are repeats; all
  count. Where "retest" allows replacements, the rows of the coupons that "replacements" of the lot names for the specimen and
  the characteristic count too, as many coupons as "retest.replacements" says, of the use spare. A row does not count when it
  is of an invalid test: "invalidTests" of the lot names it (specimen, piece, characteristic, replicate), and a "decided"
  statement with the outcome accepted covers this digest, by somebody other than its analyst, its enteredBy and "seenBy" of
  the test: that of {"lot":…, "check":"repeats-decided", "rule":"invalid test not decided", "subjects":[{"kind":"result","key":ROW},
  {"kind":"specimen","key":SPECIMEN}], "facts":{row, characteristic, specimen, piece, replicate, evidence, line, value, cause,
  parties}}, all texts: from the row, "cause" of the test, and "parties" the canonical JSON of the list of analyst, enteredBy and
  seenBy, each once, without empty ones.
  Missing: of each piece the replicate numbers below its highest that are not there, and then as many as are wanting of
  "replicates", the replacements counted. A missing value cannot be decided.

  One value, which may have < > ≤ ≥ before it:
  - Measured by another method or revision than the characteristic names: cannot be decided.
  - Round it to the place of the limit (its last digit as written), or to "place", half to even; with the rounding rule
    absolute do not.
  - Simple: within "lower" and "upper", both inclusive, it conforms.
  - Guarded: g = z u, z the standard normal quantile of "confidence", u its standardUncertainty. Shift the limits by g, to twelve
    significant digits. Within them moved inwards it conforms; outside them moved outwards it does not; else, or without an
    uncertainty, it cannot be decided. It is rounded to the place of the limit before it was shifted.
  - With < or ≤ it may be anything down from its number, with > or ≥ anything up. It conforms when all that it can be lies
    within the limits, does not conform when nothing of that does, and else cannot be decided.
  "averaging" mean: the mean of the values of a specimen that count is judged, exactly, in place of each, with the largest of
  their uncertainties (none when one has none). It cannot be decided when one is missing, has < or >, or is by another method.

  A coupon whose "study" names a difference in the characteristic ("differences") is judged by other limits. With a unit, each
  limit is moved by "bias"; without, multiplied by 1 + bias; to twelve digits, and only where that makes it stricter. The
  uncertainty of the limit is standardUncertainty, times the limit as specified where there is no unit; a guarded rule takes
  u = sqrt(u² + uncertainty of the limit²) at each limit. A unit of another sort: cannot be decided.

  "acceptFrom" and "acceptTo": the strictest limits of the specimens; shifted inwards by g when the rule is guarded and all
  uncertainties are one, with the largest uncertainty of a limit.

  Verdict of an implant in a characteristic: the worse of what the plan says (section 7) and, by a plan other than every-unit,
  "does not conform" where a value of its own specimens that has a row does not; but not by single-sampling on coupons.
  Worse means: does not conform, then cannot be decided, then conforms.
  Open: due after-release, a value missing, every value that is there conforming, and the process validation under "relies" to
  be relied on. What is open counts in no verdict and no check. A process validation may be relied on for a build when the specification
  names it, the lot file holds it, it was approved (section 10) not after "closedAt" of the build, and "closedAt" lies from
  "validFrom" to "validUntil".
`;
