#!/usr/bin/env python3
"""Holds lot-owned against covers found by trying all of them.

usage: cover.py COUNT SEED      in an empty directory; lot-owned in PATH

Each drawn case is small enough to list every way to share the stock out. The best by the order of
importance that lot-owned(1) states decides which pieces of which row are covered; what remains
must be that to the byte, what is taken must fit, and taken and left must add up to the stock.
Rows of the stock files shuffled, everything must be the same bytes.
"""

import csv
import io
import itertools
import random
import re
import subprocess
import sys
from fractions import Fraction

NEED = ["lot", "part", "color", "condition", "not_color", "qty", "penalty", "worth", "together",
        "group"]
STOCK = ["part", "color", "qty", "condition", "place"]
COLORS = ["red", "blue", "clear"]


def draw_row(rng):
    color = rng.choice(COLORS + ["any"])
    return {
        "lot": "",
        "part": rng.choice(["P", "P", "Q"]),
        "color": color,
        "condition": rng.choice(["", "", "any", "new"]),
        "not_color": rng.choice(["", "cl.*"]) if color == "any" else "",
        "qty": rng.choice([0, 1, 1, 2, 2, 3]),
        "penalty": rng.choice(["", "", "0.1", "0.25", "0.3"]),
        "worth": rng.choice(["", "", "", "0.5"]),
        "together": "",
        "group": "",
    }


def draw_need(rng):
    rows = []
    for number in range(rng.randint(2, 4)):
        lot = [draw_row(rng) for _ in range(rng.choice([1, 1, 2, 3]))]
        for row in lot:
            row["qty"], row["worth"] = lot[0]["qty"], lot[0]["worth"]
            row["lot"] = f"L{number}" if len(lot) > 1 else ""
            row["group"] = f"g{number}"
            row["together"] = rng.choice(["", "", "x", "y"])
        rows += lot
    rng.shuffle(rows)
    return rows[:6]


def draw_stock(rng):
    rows = []
    for number in range(rng.randint(0, 4)):
        rows.append({
            "part": rng.choice(["P", "P", "Q"]),
            "color": rng.choice(COLORS),
            "qty": rng.randint(0, 3),
            "condition": rng.choice(["", "new", "used"]),
            "place": f"p{number}",
        })
    return rows


def fits(need, stock):
    return (need["part"] == stock["part"]
            and need["condition"] in ("", "any", stock["condition"])
            and (need["color"] == stock["color"]
                 or need["color"] == "any"
                 and not re.fullmatch(need["not_color"] or r"(?!)", stock["color"])))


def lot_numbers(rows):
    numbers, seen = [], {}
    for row in rows:
        key = row["lot"] or object()
        numbers.append(seen.setdefault(key, len(seen)))
    return numbers, len(seen)


def all_covers(rows, lots, stock):
    """Every (pieces by row, pieces by stock row) there is, stock rows flat over the files."""
    states = {((), tuple(s["qty"] for s in stock))}
    for row in rows:
        places = [i for i, s in enumerate(stock) if fits(row, s)]
        after = set()
        for covered, left in states:
            used = sum(c for c, lot in zip(covered, lots) if lot == lots[len(covered)])
            for amounts in itertools.product(*(range(left[i] + 1) for i in places)):
                if used + sum(amounts) > row["qty"]:
                    continue
                rest = list(left)
                for i, amount in zip(places, amounts):
                    rest[i] -= amount
                after.add((covered + (sum(amounts),), tuple(rest)))
        states = after
    return states


def choices(rows, lots):
    """Labels that are a choice, and their rows."""
    labels = {}
    for i, row in enumerate(rows):
        if row["together"] and row["qty"]:
            labels.setdefault(row["together"], []).append(i)
    return {label: members for label, members in labels.items()
            if any(lots.count(lots[i]) > 1 or rows[i]["worth"] for i in members)}


def best_cover(rows, stock, files):
    lots, count = lot_numbers(rows)
    labels = choices(rows, lots)
    members = [[i for i, lot in enumerate(lots) if lot == number] for number in range(count)]

    def rank(number):
        own = [rows[i] for i in members[number]]
        could = sum(s["qty"] for s in stock if any(fits(row, s) for row in own))
        return (own[0]["worth"] != "", any(row["color"] == "any" for row in own), could, number)

    order = sorted(range(count), key=rank)

    def value(cover):
        covered, left = cover
        of_lot = [sum(covered[i] for i in members[number]) for number in range(count)]
        used = [s["qty"] - rest for s, rest in zip(stock, left)]
        return (sum(n for n, m in zip(of_lot, members) if not rows[m[0]]["worth"]), sum(of_lot),
                -sum(Fraction(row["penalty"] or 0) * n for row, n in zip(rows, covered)),
                [of_lot[number] for number in order],
                [n for i, n in enumerate(covered) if len(members[lots[i]]) > 1],
                [sum(u for u, f in zip(used, files) if f == file) for file in (0, 1)])

    def kept(cover):
        return all(all(cover[0][i] == 0 for i in own)
                   or all(cover[0][i] == rows[i]["qty"] for i in own)
                   for own in labels.values())

    covers = [cover for cover in all_covers(rows, lots, stock) if kept(cover)]
    best = max(covers, key=value)
    return best[0], value(best), members, lots, labels


def remaining(rows, covered, members, lots, labels):
    of_lot = [sum(covered[i] for i in own) for own in members]
    out = {label for label, own in labels.items()
           if any(covered[i] == 0 and of_lot[lots[i]] for i in own)}
    gone = {i for label in out for i in labels[label]}
    rest = []
    for i, row in enumerate(rows):
        qty = row["qty"] - of_lot[lots[i]]
        others = [j for j in members[lots[i]] if j not in gone]
        if qty and (i not in gone or not row["worth"] and not others):
            rest.append({**row, "qty": qty})
    return rest


def text(columns, rows):
    file = io.StringIO()
    writer = csv.DictWriter(file, columns, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return file.getvalue()


def write(path, content):
    with open(path, "w", newline="", encoding="utf-8") as file:
        file.write(content)


def read(path):
    with open(path, newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def run(need):
    done = subprocess.run(
        ["lot-owned", "-q", "-k", "a.csv", "-k", "b.csv", "--taken", "taken.csv", "--left",
         "left.csv"], input=need, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    with open("taken.csv", encoding="utf-8") as taken, open("left.csv", encoding="utf-8") as left:
        return done.stdout, taken.read(), left.read()


def check_taken(rows, stock, value):
    """What is taken exists, fits a row of the lot it is for, and is not left too."""
    pieces = {}
    for file, part in zip(("a.csv", "b.csv"), stock):
        for row in part:
            key = (row["part"], row["color"], row["condition"], row["place"])
            pieces[file, key] = pieces.get((file, key), 0) + row["qty"]
    taken = read("taken.csv")
    for row in taken:
        key = (row["part"], row["color"], row["condition"], row["place"])
        pieces[row["stock"], key] -= int(row["qty"])
        assert pieces[row["stock"], key] >= 0, row
        assert any(fits(need, row) and need["group"] == row["group"] for need in rows), row
    assert sum(int(row["qty"]) for row in taken) == value[1]
    by_file = [sum(int(row["qty"]) for row in taken if row["stock"] == f)
               for f in ("a.csv", "b.csv")]
    assert by_file == value[5], (by_file, value)
    left = sum(int(row["qty"]) for row in read("left.csv"))
    assert left == sum(pieces.values())


def main():
    count, seed = int(sys.argv[1]), int(sys.argv[2])
    rng = random.Random(seed)
    touched = labelled = 0
    for number in range(count):
        rows, stock = draw_need(rng), [draw_stock(rng), draw_stock(rng)]
        files = [0] * len(stock[0]) + [1] * len(stock[1])
        covered, value, members, lots, labels = best_cover(rows, stock[0] + stock[1], files)
        write("a.csv", text(STOCK, stock[0]))
        write("b.csv", text(STOCK, stock[1]))
        got = run(text(NEED, rows))
        due = text(NEED, remaining(rows, covered, members, lots, labels))
        assert got[0] == due, f"case {number}:\n{text(NEED, rows)}\n{stock}\ndue\n{due}\ngot\n{got[0]}"
        check_taken(rows, stock, value)
        for part, path in zip(stock, ("a.csv", "b.csv")):
            write(path, text(STOCK, rng.sample(part, len(part))))
        assert run(text(NEED, rows)) == got, f"case {number}: shuffled stock differs"
        touched += value[1] > 0
        labelled += bool(labels) and value[1] > 0
    assert touched > count / 2 and labelled > count / 10
    print(f"{count} cases, {touched} with stock to take, {labelled} of them with labels")


main()
