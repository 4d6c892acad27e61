/** How values decide together, and how lines of a certificate are compared. */
export const PLANS = `7. What does a plan say?
  n values x, mean m, standard deviation s with divisor n - 1. Comparisons of computed numbers with twelve significant digits.
  "Specimens" below: one conforms when all its values do, fails when one does not conform, and else is open.
  By a guarded rule plans 4 and 5 shift the limits by z times the largest uncertainty: accepted within the limits moved inwards
  it conforms, not even within those moved outwards it does not, else it cannot be decided. Limits that a study moved count as
  the strictest of them. Values that are missing, only a bound, by another method or in no number leave plans 4, 5 undecided.
  1. every-unit: the worst of its values; of none, cannot be decided.
  2. zero-acceptance: one specimen fails: does not conform. Else undecided while one is open, or fewer conform than needed: the
     least n with reliability^n <= 1 - confidence; "of" lot: the least n that, drawn from the N implants of the build, misses all
     D = N (1 - reliability), rounded up, with a chance of at most 1 - confidence (hypergeometric); none when D is 0. Equal counts
     as reached, to ten digits.
  3. single-sampling: more than "accept" specimens fail: does not conform. Else undecided while one is open, or fewer than "n"
     were tested.
  4. variables ("n" values at least, s above 0): one limit, (m - lower)/s or (upper - m)/s at least "k". Two limits: P(lower side) +
     P(upper side) <= P(k), P(Q) = I_x(n/2 - 1, n/2 - 1), the regularised incomplete beta function at x = 1/2 - Q sqrt(n)/(2 (n - 1)),
     not below 0 nor above 1 (MIL-STD-414, section B).
  5. tolerance-interval (2 values at least): m - k s and m + k s keep the limits that there are. One limit: k = t/sqrt(n), t the
     "confidence" quantile of the noncentral t with n - 1 degrees of freedom and noncentrality sqrt(n) z, z the standard normal
     quantile of "reliability". Two limits: the exact k by which m - k s to m + k s holds "reliability" of a normal population with
     probability "confidence" (ISO 16269-6).
  6. process-validation: the values of the lot only check that the process is the one that was validated. A value of the build does
     not conform: undecided (it fails the implants that it speaks for, section 6). Undecided too when the validation may not be
     relied on, or its "shown" has no entry of the characteristic. Else N, M, S are n, mean, sd of "shown", in the unit of the
     characteristic; undecided unless M - k S and M + k S keep the limits that there are (k as in 5, for N). Undecided when a value
     is, or is only a bound. Of the m values of the lot each must then lie within M -/+ t S sqrt(1 + 1/N): t is the quantile at
     1 - (1 - agreement)/(2 m) of Student's t with N - 1 degrees of freedom. So "agreement" is the probability with which all m
     values of a process that has not moved lie within. All do: conforms; else undecided.

8. Does a line of a certificate conform?
  The limits are the entries of "materials" of the specification with the material of the receipt; one with the property of the
  line decides, by the simple rule of section 6 without rounding, in the unit of the limit. A line without limit is for
  information; a limit without line is missing.
`;
