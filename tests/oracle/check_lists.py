#!/usr/bin/env python3
"""Holds lot-check against counts made another way.

usage: check_lists.py COUNT SEED      in an empty directory; lot-check in PATH

Drawn need lists, and order lines, are compared with drawn counts. How many pieces can be matched is
found piece by piece, by augmenting paths; what differs as written by subtracting counters; what is
missing by its prices one piece at a time. Rows shuffled, everything must be the same bytes.
"""

import csv
import io
import random
import re
import subprocess
import sys
from collections import Counter, defaultdict
from fractions import Fraction

NEED = ["lot", "part", "color", "condition", "not_color", "qty", "price"]
ORDER = ["seller", "part", "color", "condition", "qty", "price", "currency", "surplus"]
COUNT = ["part", "color", "qty", "condition", "place"]
COLORS = ["red", "blue", "clear"]


def write(path, header, rows):
    with open(path, "w", newline="") as file:
        writer = csv.DictWriter(file, header, lineterminator="\n", extrasaction="ignore")
        writer.writeheader()
        writer.writerows(rows)


def run(*options):
    with open("found.csv") as found:
        done = subprocess.run(
            ["lot-check", "-q", "-e", "expected.csv", "--all", "--into", "into.csv", *options],
            stdin=found, capture_output=True, text=True, check=False)
    assert done.returncode in (0, 1), done
    assert done.stderr == "", done
    return done.returncode, done.stdout


def table(text):
    return list(csv.DictReader(io.StringIO(text)))


def read(path):
    with open(path, newline="") as file:
        return list(csv.DictReader(file))


# ---- how many can be matched ----

def fits(row, piece):
    if row["part"] != piece["part"]:
        return False
    if row["condition"] not in ("", "any", piece["condition"]):
        return False
    if row["color"] == "any":
        return not (row["not_color"] and re.fullmatch(row["not_color"], piece["color"]))
    return row["color"] == piece["color"]


def most_matched(lots, pieces):
    """Pieces that can be given to lots, each to one that has a row it fits: one by one."""
    wanted = [lot for lot in lots for _ in range(int(lot[0]["qty"]))]
    holder = [None] * len(pieces)

    def place(slot, seen):
        for i, piece in enumerate(pieces):
            if i in seen or not any(fits(row, piece) for row in wanted[slot]):
                continue
            seen.add(i)
            if holder[i] is None or place(holder[i], seen):
                holder[i] = slot
                return True
        return False

    return sum(place(slot, set()) for slot in range(len(wanted)))


def lots_of(rows):
    lots, alone = defaultdict(list), []
    for row in rows:
        if row["lot"]:
            lots[row["lot"]].append(row)
        else:
            alone.append([row])
    return list(lots.values()) + alone


# ---- draws ----

def draw_need(rng):
    rows = []
    for i in range(rng.randint(0, 7)):
        color = rng.choice(COLORS + ["any"])
        row = {"lot": "", "part": rng.choice("PPQ"), "color": color,
               "condition": rng.choice(["", "any", "new"]),
               "not_color": rng.choice(["", "cl.*"]) if color == "any" else "",
               "qty": rng.choice([0, 1, 2, 3]), "price": rng.choice(["", "0.1", "0.25", "0.333333"])}
        rows.append(row)
        if rng.random() < 0.25:
            row["lot"] = f"lot {i}"
            rows.append(dict(row, color=rng.choice(COLORS), not_color="", price="0.5"))
    return rows


def draw_count(rng):
    return [{"part": rng.choice("PPQ"), "color": rng.choice(COLORS), "qty": rng.choice([0, 1, 2, 4]),
             "condition": rng.choice(["", "new", "used"]), "place": rng.choice(["", "jar"])}
            for _ in range(rng.randint(0, 8))]


def draw_orders(rng):
    rows = []
    for _ in range(rng.randint(0, 8)):
        qty = rng.choice([0, 1, 2, 5])
        rows.append({"seller": rng.choice(["Attic", "Barn"]), "part": rng.choice("PQ"),
                     "color": rng.choice(COLORS[:2]), "condition": rng.choice(["new", "used"]),
                     "qty": qty, "price": rng.choice(["0.1", "0.07", "1.000001"]),
                     "currency": "EUR", "surplus": rng.randint(0, qty)})
    return rows


# ---- checks ----

def check_sums(rows, expected, found, status):
    assert sum(int(row["expected"]) for row in rows) == expected
    assert sum(int(row["found"]) for row in rows) == found
    for row in rows:
        gap = int(row["found"]) - int(row["expected"])
        assert int(row["difference"]) == gap
        due = "same" if gap == 0 else (
            ("unasked", "over") if gap > 0 else ("missing",) if row["found"] == "0" else ("short",))
        assert row["verdict"] in due, row
    assert status == any(row["verdict"] != "same" for row in rows)


def missing(rows):
    return sum(max(0, -int(row["difference"])) for row in rows)


def into_is(count):
    due = Counter()
    for row in count:
        due[(row["part"], row["color"], row["condition"], row["place"])] += int(row["qty"])
    came = {tuple(row[c] for c in ("part", "color", "condition", "place")): int(row["qty"])
            for row in read("into.csv")}
    assert came == {key: qty for key, qty in due.items() if qty}, (came, due)


def check_need(rng):
    need, count = draw_need(rng), draw_count(rng)
    write("expected.csv", NEED, need)
    write("found.csv", COUNT, count)
    status, out = run("--short", "short.csv")
    rows = table(out)
    lots = lots_of(need)
    pieces = [row for row in count for _ in range(int(row["qty"]))]
    wanted = sum(int(lot[0]["qty"]) for lot in lots)
    check_sums(rows, wanted, len(pieces), status)
    left = wanted - most_matched(lots, pieces)
    assert missing(rows) == left, (missing(rows), left)
    assert sum(int(lot[0]["qty"]) for lot in lots_of(read("short.csv"))) == left
    into_is(count)
    compare_as_written(need, count)
    return need, count, NEED


def compare_as_written(need, count):
    """Key by key, every row on its own; missing pieces by price, the dearest first."""
    status, out = run("--exact")
    prices, came = defaultdict(list), Counter()
    for row in need:
        key = (row["part"], row["color"], row["condition"].replace("any", ""))
        prices[key] += [Fraction(row["price"]) if row["price"] else None] * int(row["qty"])
    for row in count:
        came[(row["part"], row["color"], row["condition"])] += int(row["qty"])
    rows = table(out)
    keys = [(row["part"], row["color"], row["condition"]) for row in rows]
    assert keys == sorted(key for key in {*prices, *came} if prices.get(key) or came[key])
    for key, row in zip(keys, rows):
        assert int(row["expected"]) == len(prices.get(key, [])), row
        assert int(row["found"]) == came[key], row
        lacks = max(0, len(prices.get(key, [])) - came[key])
        dearest = sorted(prices.get(key, []), key=lambda p: -1 if p is None else p, reverse=True)
        gone = dearest[:lacks]
        if None in gone:
            assert row["amount"] == "", row
        else:
            assert Fraction(row["amount"]) == sum(gone), row
    check_sums(rows, sum(map(len, prices.values())), sum(came.values()), status)


def check_orders(rng):
    orders, count = draw_orders(rng), draw_count(rng)
    for row in count:
        row["seller"] = rng.choice(["Attic", "Barn"])
        row["condition"] = rng.choice(["new", "used"])
    write("expected.csv", ORDER, orders)
    write("found.csv", COUNT + ["seller"], count)
    status, out = run("--short", "short.csv")
    due, came = defaultdict(int), Counter()
    for row in orders:
        due[(row["part"], row["color"], row["condition"])] += int(row["qty"]) - row["surplus"]
    for row in count:
        came[(row["part"], row["color"], row["condition"])] += int(row["qty"])
    short = {(row["part"], row["color"], row["condition"]): int(row["qty"])
             for row in read("short.csv")}
    assert short == {key: qty - came[key] for key, qty in due.items() if qty > came[key]}
    check_sums(table(out), sum(int(row["qty"]) for row in orders), sum(came.values()), status)
    into_is(count)
    return orders, count, ORDER


def check_shuffled(rng, expected, count, header):
    sides = ("short.csv", "into.csv")
    found = COUNT + (["seller"] if header is ORDER else [])
    before = run("--short", "short.csv"), [open(path).read() for path in sides]
    write("expected.csv", header, rng.sample(expected, len(expected)))
    write("found.csv", found, rng.sample(count, len(count)))
    assert before == (run("--short", "short.csv"), [open(path).read() for path in sides])


def main():
    count, seed = int(sys.argv[1]), int(sys.argv[2])
    for i in range(count):
        rng = random.Random(f"{seed} {i}")
        try:
            check_shuffled(rng, *(check_orders if i % 3 == 0 else check_need)(rng))
        except AssertionError:
            print(f"case {i} of seed {seed}", file=sys.stderr)
            raise


main()
