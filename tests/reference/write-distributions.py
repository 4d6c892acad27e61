"""Writes distributions.json: values of distribution functions to 20 digits, by direct integration or as mpmath has them,
and the coefficients of the two series that src/statistics evaluates.

Run with Python 3.11 and mpmath 1.3.0 (a general-purpose library): python3 write-distributions.py
"""
import json
import os
import mpmath as mp

mp.mp.dps = 30


def text(value):
    return mp.nstr(value, 20)


def phi(x):
    return mp.npdf(x)


def cdf(x):
    return mp.erfc(-x / mp.sqrt(2)) / 2


def gamma_lower(x, shape):
    """Small shapes as mpmath sums them, others by integrating the density from where it is negligible."""
    x, shape = mp.mpf(x), mp.mpf(shape)
    if shape < 1:
        return mp.gammainc(shape, 0, x, regularized=True)
    log_scale = mp.loggamma(shape)
    density = lambda t: mp.exp((shape - 1) * mp.log(t) - t - log_scale)
    start = max(mp.mpf(0), x - 40 * mp.sqrt(shape) - 40)
    return mp.quad(density, mp.linspace(start, x, 41))


def noncentral_t(t, df, ncp):
    t, df, ncp = mp.mpf(t), mp.mpf(df), mp.mpf(ncp)
    log_scale = mp.log(2) + df / 2 * mp.log(df / 2) - mp.loggamma(df / 2)
    density = lambda s: mp.exp(log_scale + (df - 1) * mp.log(s) - df * s * s / 2) if s > 0 else mp.mpf(0)
    spread = 1 / mp.sqrt(2 * df)
    low, high = max(mp.mpf(0), 1 - 14 * spread), 1 + 14 * spread + 4 / df
    points = {low, high}
    for k in (-8, -4, -2, 0, 2, 4, 8):
        for point in (1 + k * spread, (ncp + k) / t if t != 0 else low):
            if low < point < high:
                points.add(point)
    return mp.quad(lambda s: density(s) * cdf(t * s - ncp), sorted(points))


def range_moments(n):
    """Mean and standard deviation of the range from the joint density of the extremes.

    For even n that density, (F(y) - F(x))^(n-2), is smooth over the whole plane, so that the trapezoidal rule converges
    exponentially.
    """
    step = mp.mpf(1) / 8
    grid = [(x, phi(x), cdf(x)) for x in (k * step for k in range(-80, 81))]
    total = square = mp.mpf(0)
    for i, (x, density_x, below_x) in enumerate(grid):
        for y, density_y, below_y in grid[i + 1:]:
            mass = density_x * density_y * (below_y - below_x) ** (n - 2)
            square += (y - x) ** 2 * mass
    mean = mp.quad(lambda x: 1 - cdf(x) ** n - (1 - cdf(x)) ** n, mp.linspace(-10, 10, 21))
    return mean, mp.sqrt(n * (n - 1) * step * step * square - mean * mean)


def beta_cdf(x, a, b):
    """Small shapes as mpmath sums them, large ones by integrating the density from where it is negligible."""
    x, a, b = mp.mpf(x), mp.mpf(a), mp.mpf(b)
    if a + b < 1000 or min(a, b) < 1:
        return mp.betainc(a, b, 0, x, regularized=True)
    log_scale = mp.loggamma(a + b) - mp.loggamma(a) - mp.loggamma(b)
    density = lambda t: mp.exp((a - 1) * mp.log(t) + (b - 1) * mp.log1p(-t) + log_scale)
    reach = 40 * mp.sqrt(a * b / (a + b) ** 3)
    return mp.quad(density, mp.linspace(max(mp.mpf(0), x - reach), x, 41))


def binomial_cdf(count, n, p):
    """By adding up the single probabilities."""
    p = mp.mpf(p)
    return mp.fsum(mp.binomial(n, k) * p ** k * (1 - p) ** (n - k) for k in range(count + 1))


def mills(z):
    """(1 + z) (1 - cdf(z))/phi(z), beyond z = 60 by the continued fraction of Abramowitz and Stegun 26.2.14."""
    if z < 60:
        return (1 + z) * cdf(-z) / phi(z)
    fraction = mp.mpf(0)
    for j in range(80, 0, -1):
        fraction = j / (z + fraction)
    return (1 + z) / (z + fraction)


def chebyshev(function, order):
    """Coefficients of a function on (-1, 1), the first one halved, from its values at the Chebyshev points."""
    angles = [mp.pi * (2 * j + 1) / (2 * order) for j in range(order)]
    values = [function(mp.cos(angle)) for angle in angles]
    sums = [2 * mp.fsum(v * mp.cos(k * angle) for v, angle in zip(values, angles)) / order for k in range(order)]
    return [sums[0] / 2] + sums[1:]


def coefficients():
    """For log-gamma.ts and distributions.ts, to the last digit of a double."""
    with mp.workdps(60):
        return {
            "millsSeries": [float(c) for c in chebyshev(lambda t: mills(5 * (1 + t) / (1 - t)), 60)[:25]],
            "logGammaAtTwo": [float((-1) ** k * (mp.zeta(k) - 1) / k) for k in range(2, 28)],
        }


def main():
    gamma = [
        [shape, x, text(gamma_lower(x, shape))]
        for shape, x in [(0.5, 0.1), (3, 2.5), (20, 31), (59.5, 50), (60, 50), (500, 500), (5000, 4950), (5000, 5100),
                         (49999.5, 50000), (49999.5, 49000), (500000, 500300), (500000, 499000)]
    ]
    t = [
        [t, df, ncp, text(noncentral_t(t, df, ncp))]
        for t, df, ncp in [(100, 499, 60), (2, 1, 1), (-1.5, 3, 0.5), (17.84, 19, 12.7), (40, 5, 37.7), (50.1, 99, 43.6),
                           (5, 4.5, 2), (500, 999, 498), (1584, 99999, 1582), (5004, 99999, 5000), (4996, 1000000, 5000),
                           (0.3, 1000000, 0.1)]
    ]
    gamma += [
        [shape, shape + z * shape ** 0.5, text(gamma_lower(shape + z * shape ** 0.5, shape))]
        for shape in (0.05, 0.3, 1, 2.5, 9, 40, 100) for z in (-2.5, -1, -0.1, 0.5, 2, 4) if shape + z * shape ** 0.5 > 0
    ]
    log_gamma = [
        [x, text(mp.loggamma(mp.mpf(x)))]
        for x in (1e-3, 0.1, 0.499, 0.5, 0.75, 1.000001, 1.3, 1.5, 1.999999, 2.000001, 2.4999, 2.5, 3, 7.7, 11.999, 12, 33,
                  999.5, 5e4, 1e6, 1e9)
    ]
    normal = [
        [z, text(cdf(mp.mpf(z)))]
        for z in (-37.5, -37, -30.3, -20, -10.7, -6, -4.5, -3, -2.1, -1.5, -1, -0.7, -0.1, -1e-6, 0.3, 1, 2.2, 5, 8)
    ]
    beta = [
        [x, a, b, text(beta_cdf(x, a, b))]
        for x, a, b in [(0.3, 0.5, 0.5), (0.9, 0.5, 0.5), (1e-6, 6.5, 9.5), (0.01, 0.1, 30), (0.7, 0.02, 0.03),
                        (0.5, 20, 20), (0.45, 200, 210), (0.3668, 2209.25, 3670.75), (0.99988, 3763, 0.4385),
                        (0.2, 59.5, 250), (0.001, 2, 5000), (0.98, 5000, 90), (0.51, 20000, 20000), (0.4999, 50000, 50000),
                        (0.999999, 50000, 0.5)]
    ]
    binomial = [
        [count, n, p, text(binomial_cdf(count, n, p))]
        for count, n, p in [(0, 59, 0.05), (1, 93, 0.05), (3, 125, 0.02), (10, 500, 0.03), (2, 299, 0.01), (13, 5000, 0.002),
                            (0, 1000000, 1e-5), (100, 100000, 0.001), (2, 5, 0.5), (30, 50, 0.4), (20, 10 ** 8, 1e-7),
                            (5, 10 ** 9, 5e-9), (199, 200, 0.9)]
    ]
    ranges = [[n, *map(text, range_moments(n))] for n in (2, 6, 30, 100)]
    document = {
        "meta": {"made_with": "mpmath 1.3.0, 30 digits", "script": "tests/reference/write-distributions.py"},
        "logGamma": log_gamma,
        "normal": normal,
        "beta": beta,
        "binomial": binomial,
        "gammaLower": gamma,
        "noncentralT": t,
        "rangeMoments": ranges,
        "coefficients": coefficients(),
    }
    folder = os.path.dirname(os.path.abspath(__file__))
    with open(os.path.join(folder, "distributions.json"), "w", encoding="utf8") as file:
        json.dump(document, file, indent=1)
        file.write("\n")


main()
