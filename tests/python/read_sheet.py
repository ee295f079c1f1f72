"""Reads a flat OpenDocument spreadsheet and prints its cells as JSON, one row a line: for each cell its kind,
its number, its text and its formula. Standard library only."""
import json
import sys
import xml.etree.ElementTree as tree

TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"


def plain(node):
    out = [node.text or ""]
    for child in node:
        if child.tag == TEXT + "s":
            out.append(" " * int(child.get(TEXT + "c", "1")))
        else:
            out.append(plain(child))
        out.append(child.tail or "")
    return "".join(out)


def cells(row):
    out = []
    for cell in row.findall(TABLE + "table-cell"):
        times = int(cell.get(TABLE + "number-columns-repeated", "1"))
        seen = {
            "kind": cell.get(OFFICE + "value-type"),
            "number": cell.get(OFFICE + "value"),
            "text": "\n".join(plain(line) for line in cell.findall(TEXT + "p")),
            "formula": cell.get(TABLE + "formula"),
        }
        out.extend([seen] * min(times, 1000))
    while out and out[-1]["kind"] is None:
        out.pop()
    return out


def main(path):
    for row in tree.parse(path).getroot().iter(TABLE + "table-row"):
        found = cells(row)
        if found:
            print(json.dumps(found))


main(sys.argv[1])
