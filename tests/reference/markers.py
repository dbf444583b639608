"""Reads a table of markers with Python's csv module, strictly, and prints its rows as JSON."""

import csv
import json
import sys

with open(sys.argv[1], encoding="utf-8", newline="") as file:
    text = file.read()
assert text.count("\r\n") == text.count("\n"), "lines end as in RFC 4180"
print(json.dumps(list(csv.reader(text.splitlines(keepends=True), strict=True))))
