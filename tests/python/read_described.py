"""Reads a CSV by its descriptor alone (Frictionless Data Package 2.0, Table Schema), with nothing but the standard
library, and prints its rows as JSON. Every rule that the descriptor states is checked.

    read_described.py readings.datapackage.json
"""

import csv
import datetime
import decimal
import hashlib
import io
import json
import pathlib
import re
import sys
import uuid


def fail(what):
    sys.exit(f"not as described: {what}")


def number(text, field):
    if field.get("decimalChar", ".") != ".":
        if "." in text:
            fail(f"{text} in {field['name']}")
        text = text.replace(field["decimalChar"], ".")
    if not re.fullmatch(r"[+-]?[0-9]*\.?[0-9]+", text):
        fail(f"{text} in {field['name']}")
    return str(decimal.Decimal(text))


def moment(text, field):
    pattern = field.get("format", "default")
    if pattern == "default":
        read = datetime.datetime.fromisoformat(text)
        if read.tzinfo is None or "T" not in text:
            fail(f"{text} in {field['name']}")
        return read.isoformat()
    return datetime.datetime.strptime(text, pattern).isoformat()


def boolean(text, field):
    if text in field["trueValues"]:
        return True
    if text in field["falseValues"]:
        return False
    return fail(f"{text} in {field['name']}")


def string(text, field):
    if field.get("format") == "uuid":
        return str(uuid.UUID(text))
    guard = field.get("formulaGuard")
    return text[len(guard):] if guard and text.startswith(guard) else text


READERS = {
    "string": string,
    "integer": lambda text, _: int(text),
    "number": number,
    "boolean": boolean,
    "datetime": moment,
}


def check(value, text, field):
    rules = field.get("constraints", {})
    if value is None:
        if rules.get("required"):
            fail(f"nothing in {field['name']}")
        return
    if "enum" in rules and value not in rules["enum"]:
        fail(f"{value} in {field['name']}")
    if "pattern" in rules and not re.fullmatch(rules["pattern"], text):
        fail(f"{text} in {field['name']}")


def cell(text, field, missing):
    value = None if text in missing else READERS[field["type"]](text, field)
    check(value, text, field)
    return value


def unique(rows, names):
    keys = [tuple(row[name] for name in names) for row in rows]
    if len(set(keys)) != len(keys) or any(part is None for key in keys for part in key):
        fail(f"{names} is no key")


def read(descriptor_file):
    descriptor = json.loads(descriptor_file.read_text(encoding="utf-8"))
    (resource,) = descriptor["resources"]
    content = (descriptor_file.parent / resource["path"]).read_bytes()
    ours = descriptor["overwire"]
    if not ours.get("grows"):
        if len(content) != resource["bytes"]:
            fail("its size")
        if "sha256:" + hashlib.sha256(content).hexdigest() != resource["hash"]:
            fail("its hash")
    mark = b"\xef\xbb\xbf"
    if content.startswith(mark) != resource["byteOrderMark"]:
        fail("its byte-order mark")
    text = content.removeprefix(mark).decode(resource["encoding"])
    dialect = resource["dialect"]
    lines = csv.reader(
        io.StringIO(text, newline=""),
        delimiter=dialect["delimiter"],
        quotechar=dialect["quoteChar"],
        doublequote=dialect["doubleQuote"],
        skipinitialspace=dialect["skipInitialSpace"],
        strict=True,
    )
    schema = resource["schema"]
    fields = schema["fields"]
    if next(lines) != [field["name"] for field in fields]:
        fail("its heading")
    rows = []
    for line in lines:
        if len(line) != len(fields):
            fail(f"a row of {len(line)} cells")
        read_cells = (cell(text, field, schema["missingValues"]) for text, field in zip(line, fields))
        rows.append(dict(zip((field["name"] for field in fields), read_cells)))
    for field in fields:
        if field.get("constraints", {}).get("unique"):
            unique(rows, [field["name"]])
    if "primaryKey" in schema:
        unique(rows, schema["primaryKey"])
    if not ours.get("grows") and len(rows) != ours["rowCount"]:
        fail("its number of rows")
    if "lastLineHolds" in ours:
        rows = list({row[ours["lastLineHolds"]]: row for row in rows}.values())
    units = {field["name"]: field["unitField"] for field in fields if "unitField" in field}
    for row in rows:
        for name, unit in units.items():
            if row[name] is not None and unit in row and row[unit] is None:
                fail(f"{name} without a unit")
    return {"rows": rows, "units": units}


if __name__ == "__main__":
    json.dump(read(pathlib.Path(sys.argv[1])), sys.stdout)
