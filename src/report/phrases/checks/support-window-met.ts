import { approvalPhrases } from '../approval.js';
import { capital } from '../capital.js';
import { kindText } from '../kinds.js';
import type { CheckPhrases } from '../phrase.js';
import { WINDOWS } from '../record-degradation.js';

const REASONS: Readonly<Record<string, string>> = {
  ...WINDOWS.why,
  ...WINDOWS.unknown,
  apart: 'exposures of its coupons do not stand together',
  interval: 'what its coupons lost does not tell, or not for so long',
};

export const supportWindowMet: CheckPhrases = {
  title: 'Support windows met',
  asks: 'Does each zone keep what its case asks for as long as it asks, and go in time, by what the coupons lost?',
  recompute: `Does not apply unless the specification has "supportWindow" decides. For each implant whose case file is there, its
window is the "support-window" of the highest revision in that file, and each of its "zones" is asked; without one each of "zones" of
the implant, with "weeks" as holdWeeks and "strengthLeft" of the family's "support", and nothing of stiffness; with neither "no
window stated". The window of a case is approved, else "no approval" or "claimed, not signed"; implants: all that are asked by it.
For each zone asked: its section is that of the zone in the "case-design" of the implant's designIteration, else "shape" and
"sizeMm" of "support". Its class is that of the zone in the implant's recipe which the implant's zone of that name has as
"recipeZone"; without one of that name, the implant's zone whose "recipeZone" it is. Its exposures are those of that "zoneClass"
that have ended and tell a rate (exposures-stand), of coupons that stand for the implant, and whose study lists the class under
"zoneClasses" and a characteristic with "source" exposure. "not known to hold" (D), here and below for the implant, without
section, class or exposure; when one of them lay in a bath whose control is outside its range, or any two of them differ in what is
compared in exposures-stand but the hours, or has no "uncertainty", or a u(d) without bound.
Loss of an exposure in um: d = 1000 × rate × T / 8760; u(d) by first order (JCGM 100:2008, 5.1.2) from "uncertainty", none being 0:
that of massG counts √2 times, twice with blankLoss; volumeMm3 √2 times; volumeMl √2 times with blankMl.
Where the root of the sum of (u / x)² over areaCm2, T and (not by volume) densityGPerCm3 is above 0.01, or, by gas, u of gasC above 1, u(d) is that
of a simulation where simulation.json is there and that is greater by more than chance. Simulation (JCGM 101:2008): each begins at
"seed", x1 to x4. Next number: x1 = 11600 x1 mod 2147483579, x2 =
47003 x2 mod 2147483543, x3 = 23000 x3 mod 2147483423, x4 = 33000 x4 mod 2147483123, u the fraction of the sum of each over its modulus. Pair: √(-2 ln
u) times cos and sin of 2 π u', of two numbers. Chi-square(m): the sum of -2 ln u for each two of m, and for one left over the square of the first
of a pair; for m above 100 m times the cube of max(0, 1 - p + z √p), p = 2 / (9 m), z the first of a pair.
For u(d), in each of "draws" N draws as many pairs as needed, one normal number for each in order: what was lost (g, mm³, mL, with its u as above), by gas gasC
and kPa, then areaCm2, T, and but for volume densityGPerCm3; gasC kept from 0 to 100 when wet; no bound where a divisor is not above 0. Of the draws in order
of size those of rank 0.05 N and 0.95 N: the farther from d, over 1.6448536. By
more than chance: so is what comes of the ranks that are nearer to the middle by 3 √(0.0475 N), rounded. Factor f: the mean of
max(1, deepestUm / d) over those with "deepestUm" and d above 0, b = t(n - 1) s √(1 + 1/n), s their standard deviation; none:
"localisationFactor" of "support", b = 0; neither: "not known to hold" (D). t(m) is the quantile 0.95 of Student's t, z of the normal; with 0
degrees of freedom nothing is bounded: no D below is known.
Groups: by hours; one belongs to a group while it is longer than the first there by at most 2 % of its own. Their hours H and loss M
are means of n. Spread r: r² = Σ g (w² + v²) / M² / G, G = Σ g, over groups with n above 1 and M above 0. Of one build: g = n - 1, w the
standard deviation, v = 0. Of k builds (of the coupons): g = k - 1; w² the mean square within builds, v² = (mean square between - w²) / ((n - Σ
n_i²/n) / (k - 1)) and not below 0; but w as of one build where no build has two that differ. Nothing is bounded where M falls from one group to the next by more than twice the root of the sum over
both of (r M)² / n and the mean square of u(d).
Curve c(h): weights 1 / max(u(d)² + (r M)², 0.0001) by its group. Least squares X² of a h (2 groups on); of a h^b, b from 0.05 to 5, and of a
(1 - exp(-h/b)), b from L/50 to 50 L (3 on), L the longest h. With j parameters and N exposures, X² + 2 j + 2 j (j + 1) / (N - j - 1) where
N > j + 1: the first law that is at most 2 above the least counts, else the first of all; when a is above 0 and P(chi-square(N - j) ≥ X²) is
0.01 or more (1 with N = j). Its variance is that of first order from the inverse weighted normal matrix (that of a alone where its determinant is at most
1e-12 of the product of its diagonal), times X² / (N - j) where above 1. When no law counts: straight from 0 and from M to M, those that fall made
equal to their mean by n (pool adjacent violators); deviation r M / √n at each, squared by the square of its part between. One group: M and r M / √n, at H within 2 %.
At h up to L × 1.02, from L on as at L: u = c × root of the mean of (u(d) / max(d, 0.01))²; a² = t(G)² (variance + (r c)²) + z² u². Depth D = f c
± √((f a)² + (c b)² + (a b)²), not below 0, nor (1000 (sizeMm - minimumSectionMm) / 2) of exposures of the implant itself, of the
class, that lasted no longer. With simulation.json, D bounded, and a law with b or the s of f above 0, each end is that, or that of a
simulation where it is farther by more than chance: in each draw three pairs, z1 z2, z3 z4 and z5; then in each draw z1, z2 and z3 times √(G / chi-square(G)); then, where b comes from s, z5 in each draw
times √((n - 1) / chi-square(n - 1)); e = c(L), with variance and covariance with b of first order, times X² / (N - j) as above: moved by A z1, A = √var(e); b
moved by B z1 + C z2, B = cov(e, b) / A, C = √(var(b) - B²), kept in its range; curve = moved e × law at h / law at L, both of the moved b (no law: c + z1 times its
deviation); D = max(0, curve + r c z3 + u z4) max(1, f + s √(1 + 1/n) z5), ends of rank 0.05 N and 0.95 N. Left: plate q², stiffness q³, round q³ and q⁴, q = 1 - 2 D / (1000 sizeMm), not below 0; table: "sectionModulusMm3" and
"secondMomentMm4" over those of the first row, linear in depth, and beyond the last row 0 for the greater D and the last for the smaller.
Holds, at h = 168 holdWeeks: no when D of those exposures of the implant that lasted no longer than h breaks one by itself. Else
yes (not known where the section is a table and one of those has "minimumSectionMm") when the greater D keeps both limits, no when the smaller D breaks one. Where nothing is told at h: yes when
L is not below h and the greater D at L keeps both, no when L is below h and the smaller D at L breaks one. Gone, where
"goneByWeeks" is asked, at the smaller of 168 goneByWeeks and L, f = 1, b = 0 and nothing measured: yes when the smaller D takes all (2 D is sizeMm; in a
table the depth of the first row without area), no when L is not below 168 goneByWeeks and the greater D leaves some (in a table without such a row: is less
than its last). Any no: "outside its window" [does not conform]; all yes: nothing; else "not known to hold" (D).`,
  basis: ({ zones, units }) => `${zones} zones of ${units} implants`,
  doesNotApply: 'the specification does not let support windows decide: they are shown, and no more',
  rules: {
    ...approvalPhrases(({ kind, case: code }) => `${capital(kindText(kind))} of case ${code}`),
    'no window stated': ({ implant, case: code }) => ({
      says: `Neither case ${code} nor the family says for how long ${implant} has to hold.`,
      clearedBy: 'Prescriber: give the window, with its source; quality signs it.',
    }),
    'outside its window': ({ implant, zone }) => ({
      says: `Zone ${zone} of ${implant} does not keep what is asked for as long as it is asked, or is not gone in time.`,
      clearedBy: 'Nothing but another implant, or a window that the prescriber gives anew and quality signs.',
    }),
    'not known to hold': ({ implant, zone, reason }) => ({
      says: `Whether zone ${zone} of ${implant} meets its support window cannot be decided: ${REASONS[reason] ?? reason}.`,
      clearedBy:
        'Analyst: expose what is missing. Process and quality engineer: decide with the prescriber whether it may go without.',
    }),
  },
};
