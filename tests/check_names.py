"""Holds lot-norm's --unknown to Python: drawn names, their distances counted here by the recursive
definition of the Levenshtein distance, on Python's characters, which are code points.

usage: check_names.py SEED
"""

import csv
import functools
import io
import random
import re
import subprocess
import sys


def distance(a, b):
    @functools.lru_cache(maxsize=None)
    def of(i, j):
        if i == 0 or j == 0:
            return i + j
        return min(of(i - 1, j) + 1, of(i, j - 1) + 1, of(i - 1, j - 1) + (a[i - 1] != b[j - 1]))

    return of(len(a), len(b))


def main():
    draw = random.Random(int(sys.argv[1]))
    letters = "aAbé日😀(.*)[$\\|{+?^x-"

    def name():
        return "".join(draw.choice(letters) for _ in range(draw.randint(1, 9)))

    known = {"part": {name() for _ in range(40)}, "color": {name() for _ in range(draw.randint(0, 4))}}
    rows = [(name(), name()) for _ in range(30)] + [(draw.choice(sorted(known["part"])), "any")] * 2

    with open("known.csv", "w", newline="", encoding="utf-8") as out:
        table = csv.writer(out)
        table.writerow(["part", "color"])
        pairs = [(part, "") for part in known["part"]] + [("", color) for color in known["color"]]
        draw.shuffle(pairs)
        table.writerows(pairs)
    text = io.StringIO()
    table = csv.writer(text)
    table.writerow(["part", "color", "qty"])
    table.writerows([*row, 1] for row in rows)
    subprocess.run(["lot-norm", "-q", "--known", "known.csv", "--unknown", "unknown.csv"],
                   input=text.getvalue().encode(), check=True, capture_output=True)

    due = []
    for at, column in enumerate(["part", "color"]):
        seen = [row[at] for row in rows if row[at] not in known[column] | {"any"}]
        for value in dict.fromkeys(seen):
            nearest = sorted((distance(value, name), name.encode(), name) for name in known[column])[:3]
            fields = [text for edits, _, name in nearest for text in (name.replace("$", "$$"), str(edits))]
            due.append([column, value, ""] + fields + [""] * (6 - len(fields)) + [str(seen.count(value))])
    with open("unknown.csv", newline="", encoding="utf-8") as table:
        found = list(csv.reader(table))[1:]
    for row in found:
        pattern = row[1]
        row[1] = re.sub(r"\\(.)", r"\1", pattern)
        if not re.fullmatch(pattern, row[1]) or re.fullmatch(pattern, row[1] + "x"):
            sys.exit(f"pattern {pattern} does not match {row[1]} alone")
    if found != due:
        sys.exit(f"due:   {due}\nfound: {found}")
    print(len(found))


main()
