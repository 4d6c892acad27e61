#!/usr/bin/env python3
"""Takes the test vectors out of the reference checks of the GS1 Barcode Syntax Dictionary: name of the check, text, and whether
it passes. usage: write-vectors.py FOLDER > vectors.jsonl, with the folder src/ of the repository named in SOURCE.md."""

import json
import pathlib
import re
import sys

# Checks of lists of countries, currencies, bank accounts, media and packages, and of coupons, are left out: these are not looked up.
LEFT_OUT = {"iso3166", "iso3166999", "iso3166alpha2", "iso4217", "iban", "mediatype", "packagetype", "couponcode", "couponposoffer"}
VECTOR = re.compile(r'UNIT_TEST_(PASS|FAIL)\(\s*gs1_lint_(\w+)\s*,\s*((?:"(?:[^"\\]|\\.)*"\s*)+)')
PIECE = re.compile(r'"((?:[^"\\]|\\.)*)"')

for file in sorted(pathlib.Path(sys.argv[1]).glob("lint_*.c")):
    for outcome, check, pieces in VECTOR.findall(file.read_text(encoding="utf-8")):
        if check in LEFT_OUT:
            continue
        text = "".join(PIECE.findall(pieces)).encode().decode("unicode_escape")
        print(json.dumps([check, text, outcome == "PASS"]))
