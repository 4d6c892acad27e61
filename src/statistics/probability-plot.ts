/**
 * Shares of a distribution at which ordered values are expected: medians of order statistics, m_n = 0.5^(1/n), m_1 = 1 − m_n,
 * m_i = (i − 0.3175)/(n + 0.365) between.
 * Source: Filliben, Technometrics 17 (1975) 111; NIST/SEMATECH e-Handbook 1.3.3.21.
 * @param n at least 1.
 */
export function expectedShares(n: number): number[] {
  const last = 0.5 ** (1 / n);
  return Array.from({ length: n }, (_, index) => {
    if (index === n - 1) return last;
    return index === 0 ? 1 - last : (index + 1 - 0.3175) / (n + 0.365);
  });
}
