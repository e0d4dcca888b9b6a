#!/usr/bin/env python3
"""Who gets what, on drawn needs of several models: nothing is lost and nothing counted twice.

usage: check_shares.py PROFILE FROM TO      seeds FROM to TO of a profile of draw.py, in an empty
                                            directory; lot-split and lot-total in PATH

Demanded of each draw, the rows of its need spread over three models: every piece of the order lines is
in one share, surplus last; a share's piece fits a row of its lot, the rows of a lot are served in need
order, each in full before the next; amounts add up to the lines'; the surplus as stock is that of the
lines; lot-total by model adds up to lot-total by order, in every column, and is what largest remainders,
counted here again in fractions, make of each order; side files shuffled, all is the same bytes.
"""
import csv
import os
import random
import subprocess
import sys
from collections import defaultdict
from decimal import Decimal
from fractions import Fraction

import draw
import landed

SHARES = "model,group,lot,part,color,condition,qty,seller,amount".split(",")
SURPLUS = "part,color,qty,condition,place,grams".split(",")
MONEY = "goods charges tax home_goods home_charges home_tax rounding".split()
KIND = "seller part color condition".split()
ONE_LOT = "part color condition not_color worth together".split()


def read(path):
    with open(path, encoding="utf-8", newline="") as handle:
        reader = csv.DictReader(handle, strict=True)
        return list(reader), reader.fieldnames


def several_models(rng):
    """Spreads the need over models: lots whole, other rows in pieces."""
    rows, columns = read("need.csv")
    of_lot, spread = {}, []
    for row in rows:
        row["group"] = row.get("group") or ""
        if row.get("lot"):
            row["model"] = of_lot.setdefault(row["lot"], rng.choice(("heron", "mill", "")))
            spread.append(row)
            continue
        left = int(row["qty"])
        while left > 0:
            qty = rng.randint(1, left)
            spread.append(dict(row, qty=qty, model=rng.choice(("heron", "mill", "quay", "")),
                               group=rng.choice(("", "stand"))))
            left -= qty
    rng.shuffle(spread)
    draw.settle_need(spread)
    draw.write(".", "need.csv", columns, spread)


def run(words, path):
    with open(path, "rb") as given:
        done = subprocess.run(words, stdin=given, stdout=subprocess.PIPE, stderr=subprocess.PIPE, check=False)
    if done.returncode not in (0, 1):
        raise AssertionError("%s: %s" % (words[0], done.stderr.decode()))
    return done.stdout


def split():
    with open("args", encoding="utf-8") as handle:
        words = handle.read().split()
    out = run(["lot-split", "-q"] + words + ["--shares", "shares.csv", "--surplus", "surplus.csv"], "need.csv")
    with open("orders.csv", "wb") as handle:
        handle.write(out)
    kept = [out]
    for path in ("shares.csv", "surplus.csv"):
        with open(path, "rb") as handle:
            kept.append(handle.read())
    return kept, words


def total(words, more):
    """lot-total with those of the words that it knows."""
    known, at = [], 0
    while at < len(words):
        if words[at] in ("-s", "-c", "-x", "-w", "-C"):
            known += words[at:at + 2]
        at += 1
    with open("totals.csv", "wb") as handle:
        handle.write(run(["lot-total", "-q"] + known + more, "orders.csv"))
    return read("totals.csv")[0]


def key_of(row, names):
    return tuple(row[name] for name in names)


class Served:
    """A row of the need as shares see it: the rows of a named lot are one."""

    def __init__(self, raw, lot):
        self.model, self.group = raw.get("model") or "", raw.get("group") or ""
        self.lot, self.qty, self.got = lot, int(raw["qty"]), 0


def served_rows():
    lots = landed.read_need("need.csv")
    by_name, by_key = {lot.name: lot for lot in lots}, {}
    for lot in lots:
        by_key[tuple(getattr(lot.rows[0], name) for name in ONE_LOT)] = lot
    raws, found, seen = landed.table("need.csv", "part,color,qty"), [], set()
    for raw in raws:
        if not int(raw["qty"]) or raw["lot"] in seen:
            continue
        if raw["lot"]:
            seen.add(raw["lot"])
            found.append(Served(raw, by_name[raw["lot"]]))
        else:
            row = landed.Row(raw)
            found.append(Served(raw, by_key[tuple(getattr(row, name) for name in ONE_LOT)]))
    return found


def check_shares(lines, shares):
    needed = [share for share in shares if share["lot"]]
    assert shares[:len(needed)] == needed, "surplus is not last"
    assert all(not share["model"] and not share["group"] for share in shares[len(needed):])
    # In need order, then line order: a walk over both meets each share in turn.
    rows, left = served_rows(), [int(line["qty"]) - int(line["surplus"]) for line in lines]
    for row in rows:
        for number, line in enumerate(lines):
            pieces = min(left[number], row.qty - row.got) if line["lot"] == row.lot.name else 0
            if not pieces:
                continue
            share = needed.pop(0)
            left[number] -= pieces
            row.got += pieces
            assert key_of(share, KIND) == key_of(line, KIND), (share, line)
            assert key_of(share, ("model", "group", "lot")) == (row.model, row.group, row.lot.name), share
            assert int(share["qty"]) == pieces, share
            assert Decimal(share["amount"]) == pieces * Decimal(line["price"]), share
            assert row.lot.fits(*key_of(line, ("part", "color", "condition"))), share
    assert not needed and not any(left)
    surplus = [line for line in lines if int(line["surplus"])]
    assert [(key_of(line, KIND), line["surplus"]) for line in surplus] == \
        [(key_of(share, KIND), share["qty"]) for share in shares if not share["lot"]]
    for number in (0, 1):
        sums = [defaultdict(Decimal), defaultdict(Decimal)]
        for part, found in zip((lines, shares), sums):
            for row in part:
                found[key_of(row, KIND)] += Decimal(row["amount" if number else "qty"])
        assert sums[0] == sums[1]


def check_surplus(lines):
    rows, columns = read("surplus.csv")
    assert columns == SURPLUS, columns
    due = defaultdict(int)
    for line in lines:
        if int(line["surplus"]):
            due[key_of(line, ("part", "color", "condition", "seller", "grams"))] += int(line["surplus"])
    assert {key_of(row, ("part", "color", "condition", "place", "grams")): int(row["qty"]) for row in rows} == due


def largest_remainders(units, weights):
    """Whole units by weight; of equal remainders the first."""
    quotas = [Fraction(abs(units)) * weight / sum(weights) for weight in weights]
    found = [int(quota) for quota in quotas]
    order = sorted(range(len(quotas)), key=lambda i: (found[i] - quotas[i], i))
    for i in order[:abs(units) - sum(found)]:
        found[i] += 1
    return [share if units >= 0 else -share for share in found]


def check_models(shares, by_order, by_model):
    parties = [(row["model"], row["kind"]) for row in by_model[:-1]]
    assert parties == sorted(set(parties), key=lambda party: (party[1], party[0])), parties
    assert set(parties) == {(share["model"], "need" if share["lot"] else "surplus") for share in shares}
    due = {party: defaultdict(int) for party in parties}
    pieces = defaultdict(int)
    for order in by_order[:-1]:
        own = [share for share in shares if share["seller"] == order["seller"]]
        what = "amount" if any(Fraction(share["amount"]) for share in own) else "qty"
        weights = [sum(Fraction(share[what]) for share in own
                       if (share["model"], "need" if share["lot"] else "surplus") == party) for party in parties]
        for share in own:
            pieces[share["model"], "need" if share["lot"] else "surplus"] += int(share["qty"])
        for name in MONEY:
            amount = Decimal(order[name])
            units = int(amount.scaleb(-amount.as_tuple().exponent))
            for party, share in zip(parties, largest_remainders(units, weights)):
                due[party][name] += Decimal(share).scaleb(amount.as_tuple().exponent)
    for row, party in zip(by_model, parties):
        assert int(row["pieces"]) == pieces[party], row
        for name in MONEY:
            assert row[name] == "" and name in MONEY[:3] or Decimal(row[name]) == due[party][name], (name, row, due[party])
        if row["total"]:
            assert Decimal(row["total"]) == sum(Decimal(row[name]) for name in MONEY[:3]), row
        assert Decimal(row["home"]) == sum(Decimal(row[name]) for name in MONEY[3:]), row
    for name in ["pieces", "total", "home"] + MONEY:
        assert by_model[-1][name] == by_order[-1][name], name
        if by_model[-1][name]:
            assert sum(Decimal(row[name]) for row in by_model[:-1]) == Decimal(by_order[-1][name]), name


def check(profile, seed):
    for name in os.listdir("."):
        os.remove(name)
    rng = random.Random("shares %s %d" % (profile, seed))
    draw.draw(profile, seed, ".")
    several_models(rng)
    kept, words = split()
    lines, (shares, columns) = read("orders.csv")[0], read("shares.csv")
    assert columns == SHARES, columns
    check_shares(lines, shares)
    check_surplus(lines)
    by_order = total(words, [])
    by_model = total(words, ["--shares", "shares.csv", "--by", "model"])
    check_models(shares, by_order, by_model)
    for name in ("offers.csv", "sellers.csv"):
        rows, columns = read(name)
        draw.write(".", name, columns, rng.sample(rows, len(rows)))
    assert split()[0] == kept, "side files shuffled, other bytes"
    rows, columns = read("shares.csv")
    draw.write(".", "shares.csv", columns, rng.sample(rows, len(rows)))
    assert total(words, ["--shares", "shares.csv", "--by", "model"]) == by_model, "shares shuffled"
    return len(by_model) > 3, any(not share["lot"] for share in shares)


def main():
    profile, first, last = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
    several = surplus = 0
    for seed in range(first, last + 1):
        try:
            models, beyond = check(profile, seed)
        except AssertionError as error:
            sys.exit("%s %d: %s" % (profile, seed, error))
        several, surplus = several + models, surplus + beyond
    count = last - first + 1
    print("%d draws, %d of several models, %d with a surplus" % (count, several, surplus))


main()
