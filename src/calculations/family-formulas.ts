/** How a study of a family is made of the calculations above: what none of them says alone (docs/capability.md). */
export const FAMILY_FORMULAS = `## family

What is said of a family over its builds. Each part names the calculation above that it uses; docs/capability.md says when it is asked.
A family that a spreadsheet works out step by step lies in tests/reference (family-sheet.csv).

### Cpk of points

\`\`\`text
points m_1 … m_k in build order, each the mean of n_i values (one where single values are points); MR = Σ|m_i − m_(i−1)|/(k − 1)
s_p = MR √π/2; c = Σ(1/n_i)/k; sigma = √(s_p² + (1 − c) W), W the variance within builds (capability-clusters; 0 without one)
Cpk = the nearer of (mean − L)/(3 sigma) and (U − mean)/(3 sigma), mean of all single values
lower = capability-bound with n = min(k, effectiveValues) and f = min(0.62 (k − 1), degreesOfFreedom) of capability-clusters
\`\`\`

Source: NIST/SEMATECH e-Handbook 6.3.2.2 for the moving range; 0.62 degrees of freedom a range from memory. By simulation the bound
keeps the truth in 97 of 100 cases or more (docs/validation.md).

### An index beside values that are only bounds

\`\`\`text
n known values in k builds of n_i; mean, s by maximum likelihood of a normal distribution with the bounds (fit)
sd = s √(n/(n − 1)); Ppk from mean and sd; n_e = n²/Σ n_i²
independent: capability-bound with n and f = n − 1; builds: with n_e and f = n_e − 1; the smaller counts
\`\`\`

Three builds with 3, 2 and 1 known values count as n_e = 36/14 = 2.571429. Source: Lawless, Statistical Models and Methods for Lifetime
Data; Kish, Survey Sampling (1965).

### How many more builds

\`\`\`text
k builds with n values count as n_e with f degrees of freedom (capability-clusters); K builds like these as n_e K/k with f K/k
the bound at K is the smaller of capability-bound with these two, and with n K/k and n K/k − 1; the least K at which it reaches what is asked
\`\`\`

### Tolerance interval of a family

\`\`\`text
mean and sd of capability-clusters; factor of tolerance-factor (exact) with n = max(2, ⌊effectiveValues⌋), f = degreesOfFreedom, content 0.95
\`\`\`

### Values freed of their builds

\`\`\`text
m_i the mean of build i, n_i its values, M the mean of the means, W and B the variances within and between (capability-clusters)
(x_ij − m_i)/√W + (m_i − M)/√(W + n_i B); x_ij itself where B = 0; m_i where W = 0
\`\`\`

Normality is tried on these (normality, Shapiro-Wilk). Source: Houseman, Ryan and Coull, J. American Statistical Association 99 (2004) 383.

### Probability plot

\`\`\`text
values in order; p_n = 0.5^(1/n), p_1 = 1 − p_n, p_i = (i − 0.3175)/(n + 0.365); each stands over the p_i quantile of the distribution
normal: the values freed of their builds over standard normal quantiles, with the line mean + sd z
lognormal, Weibull, Gumbel, gamma: the values over the quantiles of the fitted distribution (fit), with the line value = quantile
\`\`\`

With ten values p_1 = 0.066967 and p_5 = 0.451761. Source: Filliben, Technometrics 17 (1975) 111; NIST/SEMATECH e-Handbook 1.3.3.21.

### Whether a pool belongs together

\`\`\`text
for each factor in which builds differ: the means of builds in groups, those of at least three builds
equal spread: Levene about the median (equal-variance); equal means: one-way-anova; it fails where one p is below 0.05
\`\`\`

### After how many points charts signal by chance

\`\`\`text
401 cells: limits from as many normal points as the baseline has, at most 500 (individuals-chart), then normal points until the rules
first signal; the 201st in order, or 4096 where it lasts longer. The same pseudorandom numbers every time.
\`\`\`

### Changes beside signals

\`\`\`text
before and after a change up to 12 points each, of the same machine where it belongs to one, at least 3: one-way-anova of the two
sides, and Levene about the median; c comparisons in all, of every change, signals or not; the smaller p of a change times c, at most 1
ranked are changes from nine points before a signal up to its end
\`\`\`

Source: Bonferroni's inequality.`;
