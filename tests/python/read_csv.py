"""Reads a CSV as strictly as Python can and prints its rows as JSON, one object a line.
Standard library only; shares no code with the program."""
import csv
import json
import sys


def main(path):
    with open(path, "rb") as file:
        data = file.read()
    if data.startswith(b"\xef\xbb\xbf"):
        sys.exit("there is a byte-order mark")
    with open(path, encoding="utf-8", errors="strict", newline="") as file:
        rows = list(csv.reader(file, strict=True))
    header = rows[0]
    if len(set(header)) != len(header):
        sys.exit("a column has the name of another")
    for number, row in enumerate(rows):
        if len(row) != len(header):
            sys.exit(f"row {number} has {len(row)} cells, not {len(header)}")
    for row in rows[1:]:
        print(json.dumps(dict(zip(header, row))))


main(sys.argv[1])
