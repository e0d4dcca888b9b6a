"""Holds lot-norm --loose to cmark-gfm, the reference of GitHub Flavored Markdown: drawn tables, whose
cells both must read alike.

usage: check_markdown.py SEED
"""

import csv
import random
import subprocess
import sys
import xml.etree.ElementTree as xml


def main():
    draw = random.Random(int(sys.argv[1]))
    pieces = ["a", "B", "7", "é", "\\|", "\\\\", "\\*", " ", "-", ",", "x"]
    lines = ["| Part | Color | Qty | Bag |", "|:-----|-------|:---:|----:|"]
    for number in range(40):
        cells = ["P" + "".join(draw.choice(pieces) for _ in range(draw.randint(0, 8))) + str(number)
                 for _ in range(2)] + [str(number)] + \
                [draw.choice(["", "1a", "**bold**", "`code`"])]
        pad = [" " * draw.randint(0, 2) for _ in range(10)]
        row = "|".join(pad[i] + cell + pad[i + 1] for i, cell in enumerate(cells))
        # A bar at either end may be missing, but for a cell that is empty there.
        lines.append((draw.choice(["| ", ""]) + row + ("|" if cells[3] == "" else draw.choice([" |", "|", ""]))))
    text = "\n".join(lines) + "\n"

    read = subprocess.run(["cmark-gfm", "-e", "table", "-t", "xml"], input=text, capture_output=True,
                          text=True, check=True).stdout
    space = "{http://commonmark.org/xml/1.0}"
    due = [[" ".join("".join(cell.itertext()).split()) for cell in row.iter(space + "table_cell")]
           for row in xml.fromstring(read).iter(space + "table_row")]
    norm = subprocess.run(["lot-norm", "-q", "--loose", "--keep-rows"], input=text, capture_output=True,
                          text=True, check=True).stdout
    found = [[" ".join(cell.split()) for cell in row] for row in csv.reader(norm.splitlines())][1:]
    if len(due) != 40 or due != found:
        sys.exit(f"due:   {due}\nfound: {found}")


main()
