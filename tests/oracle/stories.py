#!/usr/bin/env python3
"""Whole drawn stories: a plan, orders paid and open, parcels that come short, the rest bought again.

usage: stories.py BIN [FROM [TO]]

Over need, stock, orders, parcels and surplus no piece and no cent is lost or counted twice. Each
story, drawn from its seed, is played with the programs in BIN:

  plan    lot-split of the need
  pay     some of its sellers are paid, some left open, the others planned afresh; a second model
          joins (lot-norm --model): lot-split --keep --shares --surplus
  parcel  of each paid seller one comes, some pieces short and some too many: lot-check --short --into
  rest    what came is stock (lot-owned --taken --left), what did not is bought again around the
          orders that are open: lot-split --keep

The figures are counted here from the files alone. All names are invented.
"""
import csv
import os
import random
import subprocess
import sys
import tempfile
from collections import Counter
from decimal import Decimal

COLORS = ["red", "chalk", "slate"]


class Lost(Exception):
    pass


def check(holds, what):
    if not holds:
        raise Lost(what)


def write(name, header, rows):
    with open(name, "w", newline="", encoding="utf-8") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(header)
        out.writerows(rows)


def read(name):
    with open(name, newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def run(command, stdin, stdout, allowed=(0,)):
    with open(stdin, "rb") as source, open(stdout, "wb") as target:
        done = subprocess.run(command, stdin=source, stdout=target, stderr=subprocess.PIPE)
    check(done.returncode in allowed,
          f"{' '.join(command)}: exit status {done.returncode}: {done.stderr.decode()}")
    return done.returncode


def draw_market(dice):
    parts = [f"P-{n}" for n in range(dice.randint(3, 8))]
    sellers = [f"Shelf {n}" for n in range(dice.randint(2, 5))]
    goods = [(part, color) for part in parts for color in COLORS if dice.random() < 0.8]
    offers = [(seller, part, color, dice.randint(3, 30), f"0.{dice.randint(3, 99):02d}")
              for seller in sellers for part, color in goods if dice.random() < 0.6]
    if not offers:
        offers = [(sellers[0], parts[0], COLORS[0], 9, "0.10")]
    write("offers.csv", ["seller", "part", "color", "qty", "price"], offers)
    write("sellers.csv", ["seller", "route", "currency", "tax"],
          [(seller, "market", "EUR", dice.choice(["", "7", "19"])) for seller in sellers])
    charges = []
    for seller in sellers:
        charges.append((seller, "shipping", 0, dice.choice(["0.90", "1.50", "2.40"])))
        if dice.random() < 0.5:
            charges.append((seller, "shipping", dice.randint(2, 9), 0))
    write("charges.csv", ["seller", "charge", "from", "amount"], charges)
    for name in ("one.csv", "two.csv"):
        needed = dice.sample(goods, min(len(goods), dice.randint(1, 6))) or [(parts[0], "red")]
        write(name, ["part", "color", "qty"],
              [(part, "any" if dice.random() < 0.2 else color, dice.randint(1, 12))
               for part, color in needed])


def split(bin_dir, need, orders, *more):
    return run([os.path.join(bin_dir, "lot-split"), "-o", "offers.csv", "-s", "sellers.csv",
                "-c", "charges.csv", "--short", orders + ".short", "--report", orders + ".report",
                *more], need, orders, (0, 1))


def pieces(rows, column="qty"):
    return sum(int(row[column] or 0) for row in rows)


def money(rows):
    return sum((Decimal(row["amount"]) for row in rows), Decimal(0))


def by_line(rows):
    """What is kept must come out as it went in, in however many rows."""
    sums = Counter()
    for row in rows:
        if row["state"] in ("paid", "open"):
            sums[(row["seller"], row["part"], row["color"], row["price"], row["state"])] += \
                int(row["qty"])
    return sums


def check_plan(need, orders):
    """Each piece of the need is served by one bought piece, or stays unmet."""
    rows = read(orders)
    check(pieces(read(need)) == pieces(rows) - pieces(rows, "surplus") +
          pieces(read(orders + ".short")), f"{orders}: pieces of the need are lost, or served twice")
    for row in rows:
        check(Decimal(row["amount"]) == int(row["qty"]) * Decimal(row["price"]),
              f"{orders}: an amount that is not qty x price")


def check_shares(orders):
    rows, shares, surplus = read(orders), read("shares.csv"), read("surplus.csv")
    check(pieces(shares) == pieces(rows), "shares: pieces")
    check(money(shares) == money(rows), "shares: money")
    check(pieces(surplus) == pieces(rows, "surplus"), "surplus: pieces")
    check(pieces([row for row in shares if row["lot"] == ""]) == pieces(surplus),
          "shares: the surplus")


def keep(dice, orders, name):
    state = {}
    rows = read(orders)
    for row in rows:
        state.setdefault(row["seller"], dice.choice(["paid", "open", "new"]))
    write(name, list(rows[0]) + ["state"] if rows else ["seller", "part", "color", "qty", "price",
                                                        "state"],
          [list(row.values()) + [state[row["seller"]]] for row in rows])


def parcel(dice, bin_dir, seller, rows):
    """A parcel of a seller: what came, as a stock file; returns its pieces."""
    lines = [row for row in rows if row["seller"] == seller and row["state"] == "paid"]
    expected = Counter()
    for row in lines:
        expected[(row["part"], row["color"])] += int(row["qty"])
    found = {key: max(0, qty + dice.choice([0, 0, 0, -1, -3, 1])) for key, qty in expected.items()}
    write("expected.csv", list(lines[0]), [list(row.values()) for row in lines])
    write("found.csv", ["part", "color", "qty"], [(*key, qty) for key, qty in found.items()])
    arrived = f"arrived-{seller.replace(' ', '-')}.csv"
    status = run([os.path.join(bin_dir, "lot-check"), "-e", "expected.csv", "--short", "missing.csv",
                  "--into", arrived], "found.csv", "differences.csv", (0, 1))
    check((status == 1) == (found != dict(expected)), "lot-check: its exit status")
    check(pieces(read("missing.csv")) ==
          sum(max(0, expected[key] - qty) for key, qty in found.items()), "lot-check: what is short")
    check(pieces(read(arrived)) == sum(found.values()), "lot-check: what came")
    return arrived


def play(bin_dir, seed):
    dice = random.Random(seed)
    draw_market(dice)
    norm = os.path.join(bin_dir, "lot-norm")
    run([norm, "--model", "one"], "one.csv", "need-one.csv")
    run([norm, "--model", "two"], "two.csv", "need-two.csv")
    split(bin_dir, "need-one.csv", "plan.csv")
    check_plan("need-one.csv", "plan.csv")
    keep(dice, "plan.csv", "keep.csv")
    run([norm, "need-one.csv", "need-two.csv"], "need-one.csv", "need.csv")
    check(pieces(read("need.csv")) == pieces(read("need-one.csv")) + pieces(read("need-two.csv")),
          "lot-norm: the need of two models")
    split(bin_dir, "need.csv", "paid.csv", "--keep", "keep.csv", "--shares", "shares.csv",
          "--surplus", "surplus.csv")
    check_plan("need.csv", "paid.csv")
    check_shares("paid.csv")
    check(by_line(read("keep.csv")) == by_line(read("paid.csv")), "--keep: lines were changed")
    rows = read("paid.csv")
    sellers = sorted({row["seller"] for row in rows if row["state"] == "paid"})
    stocks = [parcel(dice, bin_dir, seller, rows) for seller in sellers]
    stock_options = [word for name in stocks for word in ("-k", name)]
    if stocks:
        run([os.path.join(bin_dir, "lot-owned"), *stock_options, "--taken", "taken.csv",
             "--left", "left.csv"], "need.csv", "rest.csv")
        came = sum(pieces(read(name)) for name in stocks)
        check(came == pieces(read("taken.csv")) + pieces(read("left.csv")), "lot-owned: stock")
        check(pieces(read("need.csv")) == pieces(read("taken.csv")) + pieces(read("rest.csv")),
              "lot-owned: need")
    else:
        write("rest.csv", list(read("need.csv")[0]), [list(row.values()) for row in read("need.csv")])
    still = [row for row in rows if row["state"] != "paid"]
    write("under-way.csv", list(rows[0]) if rows else ["seller", "part", "color", "qty", "price", "state"],
          [[("open" if name == "state" else field) for name, field in row.items()] for row in still])
    split(bin_dir, "rest.csv", "rest-orders.csv", "--keep", "under-way.csv")
    check_plan("rest.csv", "rest-orders.csv")
    check(by_line(read("under-way.csv")) == by_line(read("rest-orders.csv")),
          "--keep: open lines were changed")


def main():
    bin_dir = os.path.abspath(sys.argv[1])
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    last = int(sys.argv[3]) if len(sys.argv) > 3 else first + 39
    failures = 0
    for seed in range(first, last + 1):
        with tempfile.TemporaryDirectory() as folder:
            os.chdir(folder)
            try:
                play(bin_dir, seed)
            except Lost as lost:
                failures += 1
                print(f"story {seed}: {lost}")
            os.chdir("/")
    print(f"{last - first + 1} stories, {failures} failures")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
