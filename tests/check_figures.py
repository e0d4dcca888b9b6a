"""Reckons the places of a chart's bars and lines anew, in fractions, and holds the chart to them.

usage: check_figures.py TABLE.csv CHART.svg KIND LABEL COLUMN...

What a pixel is worth is taken from the labels of the axis, which are read as a reader does: the lowest and the
highest. A bar or a point may be off by the hundredth of a pixel that positions are rounded to. Of a Pareto chart
the order and the shares are reckoned too. Prints how many bars and points it has looked at.
"""

import csv
import re
import sys
import xml.etree.ElementTree as ET
from fractions import Fraction

SVG = "{http://www.w3.org/2000/svg}"
BASELINE = Fraction("4.5")  # of a tick's label below its tick


def fail(what):
    raise SystemExit(f"check_figures.py: {what}")


def number(text):
    return Fraction(text.replace("\u2212", "-").replace("\u00a0", ""))


def axis(texts):
    """From a value to y, by two labels that are there."""
    ticks = sorted((number(t.text.rstrip("%\u00a0")), Fraction(t.get("y")) - BASELINE) for t in texts)
    (low, y_low), (high, y_high) = ticks[0], ticks[-1]
    return lambda value: y_low + (value - low) * (y_high - y_low) / (high - low)


def near(a, b, what):
    # Two roundings of a tick's place, one of the bar's.
    if abs(a - b) > Fraction("0.021"):
        fail(f"{what}: {float(a)} in the chart, {float(b)} reckoned")


def main(table, chart, kind, label, *columns):
    with open(table, encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    root = ET.parse(chart).getroot()
    texts = [t for t in root.iter(SVG + "text") if t.get("transform") is None and len(t) == 0]
    y = axis([t for t in texts if t.get("text-anchor") == "end"])
    bars = [(r.find(SVG + "title").text, *(Fraction(r.get(name)) for name in ("x", "y", "height")))
            for r in root.iter(SVG + "rect") if r.find(SVG + "title") is not None]
    lines = [[(Fraction(px), Fraction(py)) for px, py in re.findall(r"[ML]([-0-9.]+) ([-0-9.]+)", p.get("d"))]
             for p in root.iter(SVG + "path") if "L" in p.get("d")]
    looked = 0
    if kind == "pareto":
        rows = [row for row in rows if row[columns[0]] != ""]
        rows.sort(key=lambda row: (-number(row[columns[0]]), row[label].encode()))
    if kind in ("bars", "pareto"):
        bars.reverse()
        for at, column in enumerate(columns):
            for row in rows:
                before = [number(row[c]) for c in columns[:at] if row[c] != ""]
                value = number(row[column] or "0")
                start = sum(v for v in before if (v > 0) == (value > 0))
                height = abs(y(value) - y(0))
                # What is lower than can be drawn may be missing.
                if value == 0 or (height < Fraction("0.03") and
                                  not (bars and bars[-1][0].startswith(f"{row[label]}, {column}: "))):
                    continue
                title, _, top, height = bars.pop() if bars else fail("bars are missing")
                if not title.startswith(f"{row[label]}, {column}: "):
                    fail(f"{title!r}, and that of {row[label]!r} in {column!r} is due")
                near(top, min(y(start), y(start + value)), title)
                near(top + height, max(y(start), y(start + value)), title)
                looked += 1
        if bars:
            fail(f"{bars[-1][0]!r} is none of the table")
    if kind == "pareto":
        share = axis([t for t in texts if t.text.endswith("%")])
        total, so_far = sum(number(row[columns[0]]) for row in rows), 0
        if len(lines[0]) != len(rows):
            fail(f"{len(lines[0])} points, and {len(rows)} are due")
        for row, (_, py) in zip(rows, lines[0]):
            so_far += number(row[columns[0]])
            near(py, share(100 * so_far / total), f"share at {row[label]}")
            looked += 1
    if kind == "lines":
        for column, line in zip(reversed(columns), lines):
            if len(line) != len(rows):
                fail(f"{len(line)} points of {column}, and {len(rows)} are due")
            first, last = line[0][0], line[-1][0]
            low, high = number(rows[0][label]), number(rows[-1][label])
            for row, (px, py) in zip(rows, line):
                near(py, y(number(row[column])), f"{column} at {row[label]}")
                near(px, first + (number(row[label]) - low) * (last - first) / (high - low), f"{label} {row[label]}")
                looked += 1
    print(looked, "bars and points")


main(*sys.argv[1:])
