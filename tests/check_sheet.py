"""Holds the cells that a spreadsheet program has read against those of the table that lot-show was given.

usage: check_sheet.py TABLE.csv READ

READ is what the program made of lot-show's CSV: a file of Gnumeric's, or a flat OpenDocument spreadsheet.
Every number must be a number there, of that value, and all else text, byte for byte; no cell may hold a
formula. Gnumeric takes an apostrophe before text off again, OpenDocument keeps it as part of the text.
"""

import csv
import gzip
import re
import sys
import xml.etree.ElementTree as ET

OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"


def gnumeric(path):
    """Values by row and column."""
    cells = {}
    for cell in ET.parse(gzip.open(path)).iter("{http://www.gnumeric.org/v10.dtd}Cell"):
        kind = cell.get("ValueType")
        assert kind in ("40", "60") and cell.get("ExprID") is None, ET.tostring(cell)
        assert cell.get("ValueFormat") is None, ET.tostring(cell)
        value = float(cell.text) if kind == "40" else cell.text
        cells[int(cell.get("Row")), int(cell.get("Col"))] = value
    return cells


def paragraph(element):
    """Its text; runs of blanks and tabs are elements of their own."""
    out = element.text or ""
    for child in element:
        if child.tag == TEXT + "s":
            out += " " * int(child.get(TEXT + "c", "1"))
        elif child.tag == TEXT + "tab":
            out += "\t"
        else:
            out += paragraph(child)
        out += child.tail or ""
    return out


def opendocument(path):
    cells = {}
    row = 0
    for line in ET.parse(path).iter(TABLE + "table-row"):
        column = 0
        for cell in line:
            kind = cell.get(OFFICE + "value-type")
            assert cell.get(TABLE + "formula") is None, ET.tostring(cell)
            if kind == "float":
                cells[row, column] = float(cell.get(OFFICE + "value"))
            elif kind is not None:
                assert kind == "string", ET.tostring(cell)
                cells[row, column] = "\n".join(paragraph(p) for p in cell.iter(TEXT + "p"))
            column += int(cell.get(TABLE + "number-columns-repeated", "1"))
        row += int(line.get(TABLE + "number-rows-repeated", "1"))
    return cells


def due(field, keeps_guard):
    if re.fullmatch(r"[-+]?([1-9]\d*|0)(\.\d+)?", field):
        return float(field)
    return "'" + field if keeps_guard and re.match(r"[\s\"]*[=+\-@＝＋－＠]", field) else field


def main(table, read):
    flat = read.endswith(".fods")
    cells = opendocument(read) if flat else gnumeric(read)
    with open(table, encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    expected = {(i, j): due(field, flat) for i, row in enumerate(rows) for j, field in enumerate(row) if field}
    for place in sorted(expected.keys() | cells.keys()):
        if expected.get(place) != cells.get(place):
            raise SystemExit(f"{place}: {cells.get(place)!r}, due {expected.get(place)!r}")
    print(f"{len(cells)} cells agree")


main(*sys.argv[1:])
