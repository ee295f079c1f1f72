"""Walks a record's chain from the description of its canonical form alone, and prints the number of
entries and the last hash. Standard library only; shares no code with the program."""
import hashlib
import sqlite3
import struct
import sys


def canonical(word, row):
    out = [text(word)]
    for value in row:
        if value is None:
            out.append(b"\x00")
        elif isinstance(value, int):
            out.append(b"\x01" + struct.pack(">q", value))
        elif isinstance(value, float):
            out.append(b"\x02" + struct.pack(">d", value))
        elif isinstance(value, str):
            out.append(text(value))
        else:
            out.append(b"\x04" + struct.pack(">I", len(value)) + value)
    return b"".join(out)


def text(value):
    encoded = value.encode("utf-8")
    return b"\x03" + struct.pack(">I", len(encoded)) + encoded


def main(path):
    record = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    entries = {}
    for table in ("reading", "change"):
        cursor = record.execute(f"SELECT * FROM {table}")
        names = [column[0] for column in cursor.description]
        for row in cursor:
            values = dict(zip(names, row))
            digest = values.pop("hash")
            if values.get("grounds", "") is None:
                del values["grounds"]
            entries[row[0]] = (table, list(values.values()), digest)
    before = bytes(32)
    for number in range(1, len(entries) + 1):
        table, values, digest = entries[number]
        before = hashlib.sha256(before + canonical(table, values)).digest()
        if before != digest:
            sys.exit(f"broken at {number}")
    print(len(entries), before.hex())


main(sys.argv[1])
