"""Reads a workbook with openpyxl and prints its cells as JSON, one cell that holds something a line: sheet, row and
column from 1, kind (number, date, text, formula), the value, its number format, and whether its quote mark is set.
Before them one line on the workbook itself: sheets, properties, and how each sheet is set up.

Text is given back as it was written: a character that XML does not hold stands in a cell as _xHHHH_ (ISO/IEC 29500,
ST_Xstring), which openpyxl leaves as it is."""
import datetime
import json
import re
import sys
import xml.etree.ElementTree as tree
import zipfile

import openpyxl

ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")


def plain(text):
    return ESCAPED.sub(lambda found: chr(int(found.group(1), 16)), text)


def told(cell):
    value = cell.value
    if cell.data_type == "f":
        return "formula", value
    if isinstance(value, datetime.datetime):
        return "date", value.isoformat(timespec="milliseconds")
    if isinstance(value, (int, float)):
        return "number", repr(value)
    return "text", plain(value)


def about(book, path):
    setup = {}
    for sheet in book:
        setup[sheet.title] = {
            "frozen": sheet.freeze_panes,
            "filter": sheet.auto_filter.ref,
            "tables": dict(sheet.tables.items()),
            "titles": sheet.print_title_rows,
            "fit": [bool(sheet.sheet_properties.pageSetUpPr.fitToPage), sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight],
            "paper": sheet.page_setup.paperSize,
            "landscape": sheet.page_setup.orientation,
            "header": sheet.oddHeader.left.text,
            "footer": sheet.oddFooter.right.text,
            "merged": len(sheet.merged_cells.ranges),
            "charts": len(sheet._charts),
            "marks": sorted(
                [rule.text, bool(rule.dxf.font.b), bool(rule.dxf.font.i), rule.dxf.font.u, rule.dxf.border is not None]
                for rules in sheet.conditional_formatting for rule in rules.rules
            ),
        }
    return {"sheets": book.sheetnames, "setup": setup, "properties": properties(path), "pictures": pictures(path)}


def properties(path):
    with zipfile.ZipFile(path) as parts:
        assert parts.testzip() is None
        root = tree.fromstring(parts.read("docProps/custom.xml"))
    return {each.get("name"): each[0].text for each in root}


DRAWING = "{http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing}"
MAIN = "{http://schemas.openxmlformats.org/drawingml/2006/main}"
RELATED = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}"
EMU_A_PIXEL = 9525


def pictures(path):
    """Of each picture the row it begins on, from 1, its size in CSS pixels, the text for those who do not see it, and
    its file in hexadecimal digits."""
    found = []
    with zipfile.ZipFile(path) as parts:
        for name in sorted(parts.namelist()):
            if not re.fullmatch(r"xl/drawings/drawing\d+\.xml", name):
                continue
            relations = parts.read(name.replace("drawings/", "drawings/_rels/") + ".rels")
            targets = {each.get("Id"): each.get("Target") for each in tree.fromstring(relations)}
            for anchor in tree.fromstring(parts.read(name)):
                picture = anchor.find(f"{DRAWING}pic")
                if picture is None:
                    continue
                size = picture.find(f".//{MAIN}ext[@cx]")
                file = targets[picture.find(f".//{MAIN}blip").get(f"{RELATED}embed")]
                found.append({
                    "row": int(anchor.find(f"{DRAWING}from/{DRAWING}row").text) + 1,
                    "size": [int(size.get(side)) / EMU_A_PIXEL for side in ("cx", "cy")],
                    "alt": picture.find(f".//{DRAWING}cNvPr").get("descr"),
                    "file": parts.read(file.replace("..", "xl")).hex(),
                })
    return found


def main(path):
    book = openpyxl.load_workbook(path)
    print(json.dumps(about(book, path)))
    cached = openpyxl.load_workbook(path, data_only=True)
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.value is None:
                    continue
                kind, value = told(cell)
                shown = {
                    "sheet": sheet.title, "row": cell.row, "column": cell.column, "kind": kind, "value": value,
                    "format": cell.number_format, "quoted": bool(cell.quotePrefix),
                }
                if kind == "formula":
                    shown["cached"] = cached[sheet.title].cell(cell.row, cell.column).value
                print(json.dumps(shown))


main(sys.argv[1])
