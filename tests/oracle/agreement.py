"""lot-split and lot-total agree: what is landed, and what is printed once it is rounded.

    agreement.py [--bin DIR] FROM TO      seeds FROM to TO

Each draw (draw.py, profile small) gets taxes of every kind: none, one, several, included in the prices; rates
with a fee; in every fourth draw duties and import taxes; and in every second draw prices and charges of whole
cents in one currency, so that nothing need be rounded. lot-split plans it, with a limit on its work, since a
plan need not be the least here. Then, with Python's fractions:

    |printed total - landed| <= half a minor unit for each amount that was rounded, order by order: the goods,
        each charge, each tax, in home currency, and the total at home
    printed total = landed where none of those had to be rounded

Prints a line a fault, and last `N needs, N of them without rounding, N failures`.
"""
import os
import random
import subprocess
import sys
import tempfile
from collections import OrderedDict
from fractions import Fraction

import draw
import landed
import mip

HERE = os.path.dirname(os.path.abspath(__file__))
EFFORT = "100000"
TOTAL_OPTIONS = ("-s", "-c", "-x", "-w", "-C")


def plain_taxes(rng, folder):
    rows, columns = draw.read(folder, "sellers.csv")
    for row in rows:
        row.update(tax="" if rng.random() < 0.8 else "100", tax_on=rng.choice(("", "goods")), currency="USD")
    draw.write(folder, "sellers.csv", columns, rows)


def make_plain(folder):
    """Whole cents, no percent, dollars alone."""
    for name, money in (("offers.csv", ("price",)), ("charges.csv", ("amount", "from", "over"))):
        rows, columns = draw.read(folder, name)
        for row in rows:
            for column in money:
                if row[column] not in ("", "no") and (column == "amount" or row.get("basis", "") in ("", "value")):
                    row[column] = landed.text_of(landed.rounded(Fraction(row[column]), 2), 2)
            row["currency"] = ""
            if row.get("percent"):
                row.update(percent="", amount=row["amount"] or "1")
        draw.write(folder, name, columns, rows)


def make(seed, folder):
    rng, plain = random.Random("agreement %d" % seed), seed % 2 == 0
    draw.draw("small", seed, folder)
    if plain:
        make_plain(folder)
        plain_taxes(rng, folder)
    else:
        draw.more_taxes(rng, folder)
        if seed % 4 == 1:
            draw.more_duties(rng, folder, draw.SHAPES["small"]["value"])
    with open(os.path.join(folder, "args"), encoding="utf-8") as handle:
        words = handle.read().split()
    if plain and "-C" in words:
        words[words.index("-C") + 1] = "USD"
    draw.write_args(folder, words)
    return words


def run(program, words, folder, stdin, stdout):
    with open(os.path.join(folder, stdin), "rb") as given, open(os.path.join(folder, stdout), "wb") as out:
        done = subprocess.run([program, "-q"] + words, cwd=folder, stdin=given, stdout=out, stderr=subprocess.PIPE,
                              check=False)
    if done.returncode > 1:
        raise landed.Trouble(done.stderr.decode("utf-8", "replace").strip()[-300:])


def total_words(words):
    found = []
    for word, value in zip(words, words[1:]):
        found += [word, value] if word in TOTAL_OPTIONS else []
    return found


class Order:
    """What of an order had to be rounded, and by how much that may move its home total."""

    def __init__(self, terms, lines, home):
        places, home_places = landed.MINOR_UNITS.get(terms.currency, 2), landed.MINOR_UNITS.get(home, 2)
        goods = landed.measure("value", lines)
        charges = [(step, amount) for _, step, amount in landed.exact_charges(terms, lines)]
        base = goods + sum(amount for step, amount in charges if terms.bears_tax(step))
        taxes = [base * tax / 100 for tax in terms.taxes] if not terms.included else []
        amounts = [goods] + [amount for _, amount in charges] + taxes
        total = sum(amounts) * terms.home_rate
        self.rounds = (any(landed.rounded(amount, places) != amount for amount in amounts)
                       or landed.rounded(total, home_places) != total)
        self.room = (Fraction(len(amounts), 2 * 10 ** places) * terms.home_rate + Fraction(1, 2 * 10 ** home_places))


def orders_of(market, path):
    rows = OrderedDict()
    for row in landed.table(path, "seller"):
        if row["seller"] != landed.OWNED:
            rows.setdefault(row["seller"], []).append(row)
    for seller, mine in rows.items():
        lines = [landed.Line(row["class"], (row["part"], row["color"], row["condition"]), int(row["qty"]),
                             Fraction(row["price"]), Fraction(row["grams"]) if row["grams"] else
                             market.weights.get(row["part"])) for row in mine]
        yield Order(market.terms[seller], lines, market.home)


def check(folder, programs, words):
    """(faults, did anything round?)"""
    run(os.path.join(programs, "lot-split"), words + ["--report", "report.csv", "--effort", EFFORT], folder, "need.csv",
        "orders.csv")
    run(os.path.join(programs, "lot-total"), total_words(words), folder, "orders.csv", "totals.csv")
    market = mip.market_of(folder)
    orders = list(orders_of(market, os.path.join(folder, "orders.csv")))
    report = {row["metric"]: row["value"] for row in draw.read(folder, "report.csv")[0]}
    printed = Fraction(draw.read(folder, "totals.csv")[0][-1]["home"])
    exact, rounds = Fraction(report["landed"]), any(order.rounds for order in orders)
    room = sum((order.room for order in orders), Fraction(0)) if rounds else Fraction(0)
    if abs(printed - exact) > room:
        return ["printed %s, landed %s: more than %s apart" % (float(printed), report["landed"], float(room))], rounds
    return [], rounds


def main(words):
    programs = os.path.join(HERE, "..", "..", "bin")
    if words[:1] == ["--bin"]:
        programs, words = words[1], words[2:]
    if len(words) != 2:
        sys.exit(__doc__)
    first, last, failures, plain = int(words[0]), int(words[1]), 0, 0
    with tempfile.TemporaryDirectory() as scratch:
        for seed in range(first, last + 1):
            folder = os.path.join(scratch, str(seed))
            try:
                faults, rounds = check(folder, os.path.abspath(programs), make(seed, folder))
            except landed.Trouble as trouble:
                faults, rounds = [str(trouble)], True
            failures, plain = failures + bool(faults), plain + (not rounds)
            for fault in faults:
                print("seed %d: %s" % (seed, fault), flush=True)
    print("%d needs, %d of them without rounding, %d failures" % (last - first + 1, plain, failures))
    return int(failures > 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
