"""Writes distributions.json: values of distribution functions to 20 digits, by direct integration.

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
    """By integrating the density from where it is negligible."""
    x, shape = mp.mpf(x), mp.mpf(shape)
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
    ranges = [[n, *map(text, range_moments(n))] for n in (2, 6, 30, 100)]
    document = {
        "meta": {"made_with": "mpmath 1.3.0, 30 digits", "script": "tests/reference/write-distributions.py"},
        "gammaLower": gamma,
        "noncentralT": t,
        "rangeMoments": ranges,
    }
    folder = os.path.dirname(os.path.abspath(__file__))
    with open(os.path.join(folder, "distributions.json"), "w", encoding="utf8") as file:
        json.dump(document, file, indent=1)
        file.write("\n")


main()
