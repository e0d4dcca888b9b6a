#!/usr/bin/env python3
"""Holds lot-market against a price list made with Python's fractions.

usage: check_market.py ROWS SEED      in an empty directory; lot-market in PATH

Draws a market of about ROWS rows in two files (several currencies, price breaks, offers without limit,
steps, rows twice, columns that nobody knows) and makes the price list on its own: exact fractions, and of
lots of few pieces the list of all pieces itself, with statistics.median. Then the rows are shuffled and
dealt to the files otherwise: the same bytes are due.
"""

import csv
import random
import statistics
import subprocess
import sys
from fractions import Fraction

OFFERS = ["seller", "part", "color", "condition", "qty", "price", "step", "least", "listing", "currency",
          "link"]
FEW = 3000  # pieces of a lot that are put into one list

# To EUR: as given, by dividing, and through EUR's only neighbour; with a fee on one.
RATES = [("GBP", "EUR", "1.168", ""), ("EUR", "SEK", "11.325", "1.5"), ("EUR", "CZK", "25.01371", ""),
         ("USD", "GBP", "0.7893", ""), ("EUR", "HUF", "389.7109", ""), ("EUR", "DKK", "7.4603", "")]
ONE = {
    "EUR": Fraction(1),
    "GBP": Fraction("1.168"),
    "SEK": 1 / Fraction("11.325") * (1 + Fraction("0.015")),
    "CZK": 1 / Fraction("25.01371"),
    "USD": Fraction("0.7893") * Fraction("1.168"),
    "HUF": 1 / Fraction("389.7109"),
    "DKK": 1 / Fraction("7.4603"),
}


def draw(rows, seed):
    dice = random.Random(seed)
    parts = ["P-%d" % i for i in range(max(3, rows // 700))]
    # A seller's offers say its currency, or its row does; the last speaks through the row for *.
    sellers = []
    for i in range(max(4, rows // 2500)):
        currency = dice.choice(list(ONE))
        sellers.append(("Seller %d" % i, currency, dice.choice(["offer", "row"])))
    sellers.append(("Late", "EUR", "star"))
    drawn = []
    while len(drawn) < rows:
        name, currency, says = dice.choice(sellers)
        micro = int(10 ** dice.uniform(4, 6.6) * float(1 / ONE[currency]))
        row = {
            "seller": name, "part": dice.choice(parts), "color": "c%d" % min(dice.randrange(60), 25),
            "condition": dice.choice(["new", "used", ""]), "qty": str(int(10 ** dice.uniform(0, 2.5))),
            "price": ("%.6f" % (micro / 1e6)).rstrip("0").rstrip("."), "step": "", "least": "",
            "listing": "", "currency": currency if says == "offer" else "", "link": "",
        }
        chance = dice.random()
        if chance < 0.03:
            row["qty"] = ""
        elif chance < 0.06:
            row["qty"] = dice.choice(["0", "1", "4"])
            row["step"] = dice.choice(["", "5", "2"])
            row["least"] = dice.choice(["", "0", "3"])
        elif chance < 0.10:
            row["link"] = "https://example.org/%d" % dice.randrange(10)
        drawn.append(row)
        if 0.10 < chance < 0.13:
            row["listing"] = "k%d" % len(drawn)
            for least in dice.sample([2, 5, 10, 25, 100], dice.randint(1, 3)):
                drawn.append({**row, "least": str(least), "price": "%.4f" % (micro / 2e6 + least / 1e4)})
        elif chance < 0.14:
            drawn.append(dict(row))
    with open("sellers.csv", "w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["seller", "currency"])
        writer.writerow(["*", "EUR"])
        for name, currency, says in sellers:
            if says == "row":
                writer.writerow([name, currency])
    with open("rates.csv", "w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["from", "to", "rate", "fee"])
        writer.writerows(RATES)
    return drawn, {name: currency for name, currency, _ in sellers}


def write(path, header, rows):
    with open(path, "w", newline="") as file:
        writer = csv.DictWriter(file, header, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


# ---- the price list ----

def counting(rows):
    """The rows that count: each once, of a listing the lowest least, and what can be bought."""
    seen = {}
    for row in rows:
        least = int(row["least"] or 1) or 1
        step = int(row["step"] or 1)
        values = (row["qty"], Fraction(row["price"]), step, least)
        texts = tuple(row[name] for name in ("seller", "part", "color", "condition", "listing", "currency", "link"))
        seen[texts + values] = row
    first = {}
    for key, row in seen.items():
        name = (row["seller"], row["listing"]) if row["listing"] else key
        if name not in first or first[name][0] > key[-1]:
            first[name] = (key[-1], key[-2], row)
    for least, step, row in first.values():
        fewest = least
        while fewest % step:
            fewest += 1
        if row["qty"] == "" or int(row["qty"]) >= fewest:
            yield row


def micro(value):
    """To 6 decimals, a half away from zero, as the list writes it."""
    whole = (2 * value * 10**6 + 1) // 2
    text = "%d.%06d" % divmod(whole, 10**6)
    return text.rstrip("0").rstrip(".")


def summed_up(lot, asked):
    """asked: (seller, qty or None, price in home currency) of each offer."""
    most = max([qty for _, qty, _ in asked if qty is not None], default=1)
    pieces = sorted((price, most if qty is None else qty) for _, qty, price in asked)
    total = sum(qty for _, qty in pieces)

    def nth(rank):
        for price, qty in pieces:
            rank -= qty
            if rank <= 0:
                return price
        raise AssertionError

    median = (nth((total + 1) // 2) + nth(total // 2 + 1)) / 2
    p90 = nth(-(-total * 9 // 10))
    mean = sum(price * qty for price, qty in pieces) / total
    if total <= FEW:
        every = [price for price, qty in pieces for _ in range(qty)]
        assert statistics.median(every) == median
        assert p90 == min(p for p in set(every) if 10 * sum(q <= p for q in every) >= 9 * total) or total > 60
    limited = None not in [qty for _, qty, _ in asked]
    return [*lot, len({seller for seller, _, _ in asked}), total if limited else "", micro(pieces[0][0]),
            micro(median), micro(mean), micro(p90), micro(pieces[-1][0])]


def price_list(rows, currency):
    lots = {}
    for row in counting(rows):
        price = Fraction(row["price"]) * ONE[currency[row["seller"]]]
        lot = (row["part"], row["color"], row["condition"])
        lots.setdefault(lot, []).append((row["seller"], int(row["qty"]) if row["qty"] else None, price))
    yield ["part", "color", "condition", "sellers", "pieces", "min", "median", "mean", "p90", "max"]
    for lot in sorted(lots):
        yield summed_up(lot, lots[lot])


def run():
    done = subprocess.run(["lot-market", "-q", "-o", "one.csv", "-o", "two.csv", "-s", "sellers.csv", "-x",
                           "rates.csv", "-C", "EUR"], capture_output=True, text=True, check=False)
    assert done.returncode == 0 and done.stderr == "", done
    return done.stdout


def main():
    rows, seed = int(sys.argv[1]), int(sys.argv[2])
    drawn, currency = draw(rows, seed)
    half = len(drawn) // 2
    write("one.csv", OFFERS, drawn[:half])
    write("two.csv", OFFERS, drawn[half:])
    found = run()
    due = "".join(",".join(map(str, row)) + "\n" for row in price_list(drawn, currency))
    if found != due:
        open("found.csv", "w").write(found)
        open("due.csv", "w").write(due)
        sys.exit("seed %d: the price lists differ" % seed)
    random.Random(seed).shuffle(drawn)
    write("one.csv", OFFERS[::-1], drawn[:half // 3])
    write("two.csv", OFFERS, drawn[half // 3:])
    assert run() == due, "seed %d: rows shuffled, another price list" % seed
    print("%d rows, %d lots: equal" % (len(drawn), due.count("\n") - 1))


main()
