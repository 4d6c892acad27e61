"""Writes hulls.json: whether points lie in convex hulls, by scipy.optimize.linprog (HiGHS) and numpy.linalg.matrix_rank.

Cases are invented, at a fixed seed. Coordinates are whole multiples of 1/64, so that doubles hold them exactly; a target
near the border in a way that doubles could not decide is left out.
Run: python3 tests/reference/write-hulls.py
"""

import json
import pathlib
import sys

import numpy
import scipy
from scipy.optimize import linprog

NEAR = 1e-7
random = numpy.random.default_rng(20310305)


def margin(points, target):
    """How far the target may be moved away from the mean of the points before it leaves the hull, as a part of the way; below
    0 when it is outside. None where that is not decided."""
    n, d = points.shape
    centre = points.mean(axis=0)
    # Largest t with centre + t (target - centre) in the hull.
    a = numpy.vstack([numpy.hstack([points.T, -(target - centre)[:, None]]), numpy.hstack([numpy.ones(n), [0.0]])[None, :]])
    b = numpy.concatenate([centre, [1.0]])
    cost = numpy.zeros(n + 1)
    cost[-1] = -1
    found = linprog(cost, A_eq=a, b_eq=b, bounds=[(0, None)] * n + [(0, 1e6)], method="highs")
    return None if found.status != 0 else -found.fun - 1


def grid(shape, spread):
    return random.integers(-spread, spread + 1, size=shape) / 64


cases = []
for d in (1, 2, 3, 4, 6, 9, 12):
    for n in (1, 2, 3, d + 1, 2 * d + 2, 40):
        for flat in (False, True):
            points = grid((n, d), 640)
            if flat and d > 1:
                # Settings that were only ever changed together.
                points[:, -1] = points[:, 0]
            for kind in ("mean", "beyond", "anywhere", "vertex"):
                if kind == "vertex":
                    target, inside = points[0], True
                elif kind == "mean":
                    # Weights of 1/2 stay on the grid of 1/128.
                    target, inside = (points[0] + points[-1]) / 2, True
                else:
                    if kind == "beyond":
                        target = points.mean(axis=0) + 1.25 * (points[0] - points.mean(axis=0))
                        target = numpy.round(target * 64) / 64
                    else:
                        target = grid(d, 500)
                        if flat and d > 1:
                            target[-1] = target[0]
                    if numpy.ptp(points, axis=0).min() == 0 and n > 1:
                        continue
                    found = margin(points, target) if n > 1 else (0 if (points[0] == target).all() else -1)
                    if found is None or abs(found) < NEAR:
                        continue
                    inside = bool(found > 0)
                rank = int(numpy.linalg.matrix_rank(points[1:] - points[0])) if n > 1 else 0
                cases.append({
                    "points": [[repr(float(x)) for x in p] for p in points],
                    "target": [repr(float(x)) for x in target],
                    "inside": inside,
                    "dimension": rank,
                    "kind": kind,
                })

meta = {
    "script": "write-hulls.py",
    "python": sys.version.split()[0],
    "numpy": numpy.__version__,
    "scipy": scipy.__version__,
    "cases": len(cases),
    "inside": sum(1 for one in cases if one["inside"]),
}
path = pathlib.Path(__file__).with_name("hulls.json")
path.write_text(json.dumps({"meta": meta, "cases": cases}, separators=(",", ":")) + "\n")
print(meta)
