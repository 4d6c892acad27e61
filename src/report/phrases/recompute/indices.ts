import type { Assessment, CapabilityResult } from '../../../assessment/assessment.js';
import type { Facts } from '../../../dossier/facts.js';
import type { Characteristic } from '../../../kinds/specification.js';
import { RUN_RULE_MEANING, type RunRule } from '../../../statistics/run-rules.js';

interface IndexFacts {
  readonly facts: Facts;
  readonly assessment: Assessment;
}

const BESIDE = `  Confidence: that of the capability plan under "plan" of family-history.json, by its document in dossier.json; 0.95 without.
  No index is stated with fewer than 10 values or equal ones, when "excluded" names values that are only a bound, when the
  "distribution" of the plan is another than normal, and when p of the test of normality is below 0.05. With one build there is
  no bound that counts. The limit that "boundary" of a characteristic names is no side of its index.
  Test of equal builds: f = SUM(values x (sumSquaredDeviations + builds x (mean - m)^2)) / (k - 1) / W over the entries of
  "buildSizes", m their mean weighted by values x builds; p the upper tail of F(k - 1, N - k).

  Test of normality (Shapiro-Wilk after Royston, Applied Statistics 44 (1995), AS R94), null below 10 values or with equal ones.
  Values: those of "baseline" of "plan" and of "last", each once by lot, build, specimen, piece and replicate, as "last" has it;
  without those that "takenOut" names. Each freed of what it has in common with its build, (x - b)/SQRT(W) + (b - M)/SQRT(W + c B):
  b the mean of those of its build, c how many these are, M and the spreads SQRT(W) within and SQRT(B) between builds as "spread"
  states them. Where B is 0 or no W is known they stay as they are; where W is 0 the b of each build stand for them, below 10 of
  which nothing is tested either. In ascending order x1 … xn, for i = 1 to n/2 (rounded down): ci is minus the standard
  normal quantile of (i - 0.375)/(n + 0.25), S = 2 SUM(ci^2), u = 1/SQRT(n).
    a1 = c1/SQRT(S) + 0.221157 u - 0.147981 u^2 - 2.07119 u^3 + 4.434685 u^4 - 2.706056 u^5
    a2 = c2/SQRT(S) + 0.042981 u - 0.293762 u^2 - 1.752461 u^3 + 5.682633 u^4 - 3.582633 u^5
    further ai = ci / SQRT((S - 2 c1^2 - 2 c2^2) / (1 - 2 a1^2 - 2 a2^2))
    W = (SUM(ai (x(n+1-i) - xi)))^2 / SUM((x - mean)^2)
  p is the upper tail of the standard normal at (y - M)/D. From n = 12 on, with L = ln n: y = ln(1 - W),
    M = -1.5861 - 0.31082 L - 0.083751 L^2 + 0.0038915 L^3, D = exp(-0.4803 - 0.082676 L + 0.0030302 L^2)
  and for n = 10 and 11: y = -ln(-2.273 + 0.459 n - ln(1 - W)),
    M = 0.544 - 0.39978 n + 0.025054 n^2 - 0.0006714 n^3, D = exp(1.3822 - 0.77857 n + 0.062767 n^2 - 0.0020322 n^3)

  Builds within the limits ("within"): of the entries of "builds" that have min and max, those of which both keep the limits; two
  entries of one lot and build are one. "shareLower": the share at which as many or more of so many builds would do so with the
  probability 1 - confidence (Clopper and Pearson), 0 where none does.

  Chart ("chart", with a plan that has a baseline): points are single values, or the means of builds or lots as "subgroup" of the
  plan says, to nine digits: of "baseline" for the limits, of "last" and then of this lot for the chart. Centre: the mean of the
  baseline. Sigma: the mean of |xi - x(i-1)| over it, times SQRT(pi)/2. Limits: centre -/+ 3 sigma. A point of this lot signals when
  it lies beyond a limit, and by these rules of the plans (z = (x - centre)/sigma):
`;

/** How indices of the family are computed, with the very conditions and numbers of this lot, so that nobody has to guess. */
export function indicesNote({ facts, assessment }: IndexFacts): string {
  return `12. How good is the family?
  None of it turns a verdict. "capability" in assessment.json; values of this lot are in no sum. One index by hand, in a
  spreadsheet:
${exampleOf({ facts, assessment })}
${BESIDE}${rulesOf(facts)}`;
}

function rulesOf({ capabilityPlans }: Facts): string {
  const named = new Set([...capabilityPlans.values()].flatMap(({ body }) => body.runRules));
  if (named.size === 0) return '    none: this lot has no plan.\n';
  return [...named].map((rule) => `    ${rule}: ${RUN_RULE_MEANING[rule as RunRule]}\n`).join('');
}

function exampleOf({ facts, assessment }: IndexFacts): string {
  const capability = assessment.capability.find(({ ppk }) => ppk !== null);
  if (!capability) {
    return `  This record states no index: no characteristic has enough earlier values that are normal. What counts of them is in
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

function indexText({ lower, upper, boundary }: Characteristic): string {
  const above =
    upper === undefined || boundary === 'upper' ? undefined : `(${upper} - mean) / (3 x standard deviation)`;
  const below =
    lower === undefined || boundary === 'lower' ? undefined : `(mean - ${lower}) / (3 x standard deviation)`;
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
     Within builds it is SQRT(W), between them SQRT(MAX(0, V - W/h)).
  7. q = MAX(0, (h x V / W / F - 1) / h), F the quantile of F(k - 1, N - k) at ${Number((1 - confidence).toPrecision(9))}; r = q / (1 + q), and 1 where W is 0;
     a = r + (1 - r) / h.
     Effective values k / a: ${spread.effectiveValues}
     Degrees of freedom 1 / (a^2 / (k - 1) + (1 - a)^2 / (N - k)): ${spread.degreesOfFreedom}
     With these in place of n and n - 1, and the index of 6, the bound by builds is ${bounds.builds}. The lower one of
     both counts. Without two values in a build W is unknown, and a = 1.`;
}
