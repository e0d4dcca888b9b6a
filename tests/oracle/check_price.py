#!/usr/bin/env python3
"""Holds lot-price against prices, bands and warnings counted another way.

usage: check_price.py FIRST LAST      seeds; in an empty directory; lot-price in PATH

Draws a need list (any color, alternatives, rows that are bought together, pieces of no price), a price list
and, for every other seed, offers; and counts with Python's fractions and statistics. Rows shuffled in
every file, the same bytes are due.
"""

import csv
import io
import random
import re
import statistics
import subprocess
import sys
from collections import defaultdict
from fractions import Fraction

NEED = ["lot", "group", "model", "part", "color", "not_color", "condition", "qty", "penalty", "note", "bag"]
TEXTS = ["lot", "group", "model", "part", "color", "not_color", "condition", "penalty", "note", "bag"]
PRICES = ["part", "color", "condition", "sellers", "pieces", "min", "median", "mean", "p90", "max"]
OFFERS = ["seller", "part", "color", "condition", "qty", "price", "step", "least", "listing"]
PARTS = ["P1", "P2", "P3", "P4", "P5"]
COLORS = ["red", "blue", "clear", "clear blue", "moss"]
CONDITIONS = ["new", "used", ""]


def draw_need(dice):
    rows = []
    for number in range(dice.randint(0, 14)):
        row = {"lot": "", "group": dice.choice(["", "wall"]), "model": dice.choice(["", "mill"]),
               "qty": dice.choice([0, 1, 3, 10, 40, 150]), "note": dice.choice(["", "hm"]),
               "bag": str(dice.randrange(3))}
        alternatives = dice.choice([1, 1, 1, 2, 3])
        if alternatives > 1:
            row["lot"] = "lot %d" % number
        for _ in range(alternatives):
            color = dice.choice(COLORS + ["any", "any"])
            rows.append({**row, "part": dice.choice(PARTS), "color": color,
                         "condition": dice.choice(["new", "used", "", "any"]),
                         "not_color": dice.choice(["", "clear.*", "red|blue"]) if color == "any" else "",
                         "penalty": dice.choice(["", "", "0.02", "0.3"])})
        if dice.random() < 0.15 and alternatives == 1:
            rows.append({**rows[-1], "group": "roof"})
    return rows


def draw_prices(dice):
    rows = []
    for part in PARTS[:-1]:
        for color in COLORS:
            for condition in CONDITIONS:
                if dice.random() < 0.5:
                    continue
                five = sorted(int(10 ** dice.uniform(3, 6)) for _ in range(5))
                named = dict(zip(["min", "median", "mean", "p90", "max"],
                                 ["%.6f" % (f / 1e6) for f in five]))
                rows.append({"part": part, "color": color, "condition": condition,
                             "sellers": dice.choice([1, 2, 3, 4, 9]),
                             "pieces": dice.choice(["", 2, 12, 50, 400]), **named})
    return rows


def draw_offers(dice):
    rows = []
    for number in range(dice.randint(0, 120)):
        row = {"seller": "S%d" % dice.randrange(6), "part": dice.choice(PARTS), "color": dice.choice(COLORS),
               "condition": dice.choice(CONDITIONS), "qty": dice.choice(["", 0, 1, 5, 30, 100]), "price": "0.1",
               "step": dice.choice(["", "", 4]), "least": dice.choice(["", "", 3]), "listing": ""}
        if dice.random() < 0.2:
            row["listing"] = "k%d" % number
            rows.append({**row, "least": 60, "price": "0.05"})
            row["least"] = ""
        rows.append(row)
    return rows


def write(path, header, rows):
    with open(path, "w", newline="") as file:
        writer = csv.DictWriter(file, header, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


# ---- another way ----

def fits(row, part, color, condition):
    if row["part"] != part or row["condition"] not in ("", "any", condition):
        return False
    if row["color"] != "any":
        return row["color"] == color
    return not (row["not_color"] and re.fullmatch(row["not_color"], color))


def purchase(row):
    if row["lot"]:
        return row["lot"]
    return row["part"], row["color"], row["condition"] or "any", row["not_color"]


def row_order(row):
    texts = [row[name] for name in TEXTS]
    return [row[name] for name in ("part", "color", "condition", "lot", "group", "model")], -row["qty"], texts


def rank(price, penalty, pieces):
    """The lower, the better for so many pieces."""
    if price is None:
        return 2, 0, 0
    there = float("inf") if price["pieces"] == "" else price["pieces"]
    cost = price["asked"] + Fraction(penalty or "0")
    return (0, 0, cost) if there >= pieces else (1, -there, cost)


def with_all(sellers_of, row_set, pieces):
    """Sellers of offers that have all the pieces of rows that are bought as one."""
    count = 0
    for offers in sellers_of.values():
        there = 0
        for offer in offers:
            if any(fits(row, offer["part"], offer["color"], offer["condition"]) for row in row_set):
                there += float("inf") if offer["qty"] == "" else offer["qty"]
        count += there >= max(pieces, 1)
    return count


def offers_by_seller(offers):
    seen, by_seller = [], defaultdict(list)
    for offer in offers:
        if offer in seen:
            continue
        seen.append(offer)
        least, step = int(offer["least"] or 1), int(offer["step"] or 1)
        if offer["listing"] and least > 1:
            continue
        fewest = -(-least // step) * step
        if offer["qty"] == "" or offer["qty"] >= fewest:
            by_seller[offer["seller"]].append(offer)
    return by_seller


def hundredths(part, whole):
    return "%d.%02d" % divmod((2 * part * 10000 / whole + 1) // 2, 100)


def plain(value):
    whole = value * 10**6
    assert whole.denominator == 1
    text = "%d.%06d" % divmod(whole.numerator, 10**6)
    return text.rstrip("0").rstrip(".")


def expected(need, prices, offers, at, dear, scarce, bands):
    for price in prices:
        price["asked"] = Fraction(price[at])
    together, lots = defaultdict(list), defaultdict(list)
    for number, row in enumerate(need):
        together[purchase(row)].append(row)
        lots[row["lot"] or number].append(row)
    pieces = {key: rows[0]["qty"] if isinstance(key, str) else sum(row["qty"] for row in rows)
              for key, rows in together.items()}
    by_seller = offers_by_seller(offers) if offers is not None else None

    def best_price(row):
        found = [p for p in prices if fits(row, p["part"], p["color"], p["condition"])]
        found.sort(key=lambda p: (rank(p, "", pieces[purchase(row)]), p["color"], p["condition"]))
        return found[0] if found else None

    priced = []
    for rows in lots.values():
        ranked = [(rank(best_price(row), row["penalty"], pieces[purchase(row)]), row_order(row), row)
                  for row in rows]
        ranked.sort(key=lambda r: r[:2])
        best = ranked[0][2]
        price = best_price(best)
        amount = price["asked"] * best["qty"] if price else 0
        priced.append((price is None, -amount, row_order(best), [r[2] for r in ranked]))
    priced.sort(key=lambda p: p[:3])
    total = -sum(p[1] for p in priced)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(NEED + ["price", "amount", "share", "cumulative", "band", "sellers", "dear"])
    running = 0
    for unpriced, amount, _, rows in priced:
        for row in rows:
            price = best_price(row)
            figures = [plain(price["asked"]) if price else "", "", "", "", ""]
            sellers = with_all(by_seller, together[purchase(row)], pieces[purchase(row)]) if by_seller is not None \
                else price["sellers"] if price else 0
            words = ""
            if row is rows[0]:
                if not unpriced:
                    figures[1] = plain(-amount)
                if not unpriced and total:
                    first = running == 0
                    running -= amount
                    share = running / total * 100
                    figures[2:] = [hundredths(-amount, total), hundredths(running, total),
                                   "A" if first or share <= bands[0] else "B" if share <= bands[1] else "C"]
                having = sellers
                if by_seller is None and price and price["pieces"] != "" and \
                        price["pieces"] < pieces[purchase(row)]:
                    having = 0
                others = [Fraction(p["median"]) for p in prices if price and p["part"] == price["part"] and
                          p["color"] != price["color"] and p["condition"] == price["condition"]]
                is_dear = bool(others) and price["asked"] > dear * statistics.median(others)
                words = {(1, 1): "both", (1, 0): "price", (0, 1): "scarce", (0, 0): ""}[
                    is_dear, having < scarce] if row["qty"] else ""
            elif by_seller is not None:
                sellers = ""
            writer.writerow([row[name] for name in NEED] + figures + [sellers, words])
    return out.getvalue(), any(p[0] for p in priced)


def main():
    for seed in range(int(sys.argv[1]), int(sys.argv[2]) + 1):
        dice = random.Random(seed)
        need, prices = draw_need(dice), draw_prices(dice)
        offers = draw_offers(dice) if seed % 2 else None
        at, dear, scarce = dice.choice(["min", "median", "mean", "p90", "max"]), dice.choice(["3", "1.5"]), \
            dice.choice([0, 2, 3])
        bands = dice.choice([("80", "95"), ("50.5", "70")])
        due = expected(need, prices, offers, at, Fraction(dear), scarce, [Fraction(b) for b in bands])
        words = ["lot-price", "-q", "--prices", "prices.csv", "--at", at, "--dear", dear, "--scarce", str(scarce),
                 "--bands", ",".join(bands)] + (["-o", "offers.csv"] if offers is not None else [])
        for price in prices:
            del price["asked"]
        for _ in range(2):
            write("need.csv", NEED, need)
            write("prices.csv", PRICES, prices)
            write("offers.csv", OFFERS, offers or [])
            with open("need.csv") as file:
                done = subprocess.run(words, stdin=file, capture_output=True, text=True, check=False)
            if (done.stdout, done.returncode) != (due[0], int(due[1])):
                open("due.csv", "w").write(due[0])
                open("found.csv", "w").write(done.stdout)
                sys.exit("seed %d: %s: status %d, due %d\n%s" % (seed, " ".join(words), done.returncode, due[1],
                                                                 done.stderr))
            for rows in (need, prices, offers or []):
                dice.shuffle(rows)
    print("equal")


main()
