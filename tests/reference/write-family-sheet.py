"""Writes family-sheet.csv and family-sheet-values.csv: one family worked out in a spreadsheet.

The first file opens in any spreadsheet program and computes itself; the second holds the same cells as values. They come
from the small reader of formulas below, with the functions of scipy, so that nothing of the program takes part.
The two bounds were found as a spreadsheet finds them, by goal seek: C is moved until the cell below it says 0.95, the mean of
P(Z <= t s - d) over 200 equally likely values s of SQRT(chi-square / f), which is the noncentral t to four digits.

Run with Python 3.11 and scipy 1.17: python3 write-family-sheet.py
"""
import csv
import math
import os
import re
from statistics import mean, stdev, variance

from scipy.optimize import brentq
from scipy.stats import chi2, f as f_distribution, norm

BUILDS = [
    [231.4, 228.9, 233.0, 229.7],
    [230.5, 227.8, 232.2],
    [230.9, 229.1],
    [231.8, 229.6, 230.2, 233.1],
    [227.9, 229.4, 228.8],
    [232.7, 231.1, 233.4, 230.6],
    [229.9, 231.5],
    [228.4, 230.7, 229.2, 231.0],
]
LIMIT = "215"
STEPS = 200

rows = [["build", "value 1", "value 2", "value 3", "value 4", "n", "mean", "squares", "range", "ewma", "sum up", "sum down"]]
for place, values in enumerate(BUILDS):
    r = place + 2
    rows.append(
        [f"B-{place + 1}"]
        + [str(v) for v in values]
        + [""] * (4 - len(values))
        + [
            f"=COUNT(B{r}:E{r})",
            f"=AVERAGE(B{r}:E{r})",
            f"=DEVSQ(B{r}:E{r})",
            "" if place == 0 else f"=ABS(G{r}-G{r - 1})",
            f"=0.2*G{r}+0.8*" + ("B31" if place == 0 else f"J{r - 1}"),
            "=MAX(0," + ("0" if place == 0 else f"K{r - 1}") + f"+G{r}-B31-0.5*B32)",
            "=MAX(0," + ("0" if place == 0 else f"L{r - 1}") + f"-G{r}+B31-0.5*B32)",
        ]
    )
# Row 10 is the first of these; each formula counts on its place.
rows += [
    ["lower limit", LIMIT],  # 10
    ["values", "=SUM(F2:F9)"],
    ["mean", "=AVERAGE(B2:E9)"],
    ["standard deviation", "=STDEV.S(B2:E9)"],
    ["Ppk", "=(B12-B10)/(3*B13)"],  # 14
    ["builds", "=COUNT(G2:G9)"],
    ["harmonic size", "=B15/SUMPRODUCT(1/F2:F9)"],
    ["mean of means", "=AVERAGE(G2:G9)"],
    ["variance of means", "=VAR.S(G2:G9)"],  # 18
    ["variance within", "=SUM(H2:H9)/(B11-B15)"],
    ["standard deviation by builds", "=SQRT(B18+(1-1/B16)*B19)"],
    ["within builds", "=SQRT(B19)"],
    ["between builds", "=SQRT(MAX(0,B18-B19/B16))"],  # 22
    ["q", "=MAX(0,(B16*B18/B19/F.INV(0.05,B15-1,B11-B15)-1)/B16)"],
    ["share between", "=B23/(1+B23)"],
    ["a", "=B24+(1-B24)/B16"],
    ["effective values", "=B15/B25"],  # 26
    ["degrees of freedom", "=1/(B25^2/(B15-1)+(1-B25)^2/(B11-B15))"],
    ["index by builds", "=(B17-B10)/(3*B20)"],
    ["bound of independent values", "GOAL"],
    ["bound by builds", "GOAL"],  # 30
    ["centre", "=AVERAGE(G2:G9)"],
    ["sigma", "=AVERAGE(I3:I9)*SQRT(PI())/2"],
    ["lower limit of the chart", "=B31-3*B32"],
    ["upper limit of the chart", "=B31+3*B32"],  # 34
    ["check of the first bound", f"=AVERAGE(B38:B{37 + STEPS})"],
    ["check of the second bound", f"=AVERAGE(C38:C{37 + STEPS})"],
    ["probability", "first", "second"],
]
for step in range(STEPS):
    r = 38 + step
    rows.append(
        [
            str((step + 0.5) / STEPS),
            f"=NORM.S.DIST(3*SQRT(B11)*(B14*SQRT(CHISQ.INV(A{r},B11-1)/(B11-1))-B29),TRUE)",
            f"=NORM.S.DIST(3*SQRT(B26)*(B28*SQRT(CHISQ.INV(A{r},B27)/B27)-B30),TRUE)",
        ]
    )

FUNCTIONS = {
    "COUNT": lambda x: len(x),
    "AVERAGE": lambda x: mean(x),
    "DEVSQ": lambda x: sum((v - mean(x)) ** 2 for v in x),
    "SUM": lambda x: sum(x),
    "SUMPRODUCT": lambda x: sum(x),
    "STDEV.S": lambda x: stdev(x),
    "VAR.S": lambda x: variance(x),
    "ABS": abs,
    "SQRT": math.sqrt,
    "MAX": max,
    "PI": lambda: math.pi,
    "F.INV": lambda p, a, b: float(f_distribution.ppf(p, a, b)),
    "CHISQ.INV": lambda p, a: float(chi2.ppf(p, a)),
    "NORM.S.DIST": lambda z, _: float(norm.cdf(z)),
}


class Range(list):
    def __rtruediv__(self, one):
        return [one / v for v in self]


class Sheet:
    def __init__(self, goals):
        self.goals, self.known = goals, {}

    def text(self, name):
        column, row = re.fullmatch(r"([A-Z])(\d+)", name).groups()
        line = rows[int(row) - 1]
        place = ord(column) - 65
        return line[place] if place < len(line) else ""

    def value(self, name):
        if name not in self.known:
            text = self.text(name)
            if text == "GOAL":
                self.known[name] = self.goals[name]
            elif text.startswith("="):
                self.known[name] = self.computed(text[1:])
            else:
                self.known[name] = float(text) if re.fullmatch(r"-?[\d.]+(e-?\d+)?", text) else text
        return self.known[name]

    def cells(self, first, last):
        (a, b), (c, d) = (re.fullmatch(r"([A-Z])(\d+)", one).groups() for one in (first, last))
        names = [f"{chr(x)}{y}" for y in range(int(b), int(d) + 1) for x in range(ord(a), ord(c) + 1)]
        return Range(v for v in map(self.value, names) if v != "")

    def computed(self, formula):
        code = re.sub(r"([A-Z]\d+):([A-Z]\d+)", r"cells('\1','\2')", formula)
        code = re.sub(r"(?<![A-Z'.])([A-Z]\d+)(?![\d'(])", r"value('\1')", code)
        for name in sorted(FUNCTIONS, key=len, reverse=True):
            code = code.replace(f"{name}(", f"fn['{name}'](")
        code = code.replace("^", "**").replace("TRUE", "True")
        return eval(code, {"fn": FUNCTIONS, "value": self.value, "cells": self.cells})


def goal(cell, check):
    others = {"B29": 1.0, "B30": 1.0}
    return brentq(lambda c: Sheet({**others, cell: c}).value(check) - 0.95, 0.3, 4)


GOALS = {"B29": goal("B29", "B35"), "B30": goal("B30", "B36")}
sheet = Sheet(GOALS)
here = os.path.dirname(os.path.abspath(__file__))
for name, write in {
    "family-sheet.csv": lambda text, cell: repr(round(GOALS[cell], 6)) if text == "GOAL" else text,
    "family-sheet-values.csv": lambda text, cell: "" if text == "" else str(sheet.value(cell)),
}.items():
    with open(os.path.join(here, name), "w", newline="") as out:
        csv.writer(out, lineterminator="\n").writerows(
            [write(text, f"{chr(65 + x)}{y + 1}") for x, text in enumerate(line)] for y, line in enumerate(rows)
        )
