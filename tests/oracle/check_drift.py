"""Runs lot-drift on drawn plans and holds its table and its split of the money against figures of our own.

    check_drift.py [options] PROFILE FROM TO [SIZE...]     seeds FROM to TO of a profile of draw.py

    --bin DIR       the programs (bin of this tree)
    --keep DIR      leave the draws there

Each draw is planned by lot-split. Then lot-drift runs twice:

  against the files the plan was made of: every line is to be had at its price, no part of the split is anything,
  and where the plan is proved planning afresh saves nothing, for the true need and for the rebuilt one;

  against files that moved: offers dearer, cheaper, fewer, gone, in other steps, breaks, listings and classes;
  other charges, taxes, minimums and rates. Demanded then, of exact fractions (landed.py) and enumeration:
  which pieces can be had, at what they cost, is the best of all ways to take them; change is that in money; the
  totals of the standing lines before and after each step, so that each part of the split is the difference of
  two totals worked out here; was + gone + prices + charges + rates = is, is + again = kept, kept - afresh =
  saving; the plan made afresh keeps every rule and costs `afresh`; what is missing is bought again at what
  lot-split --keep finds; the exit status; the same bytes when the rows of all side files are shuffled.

Prints a line a failure, and last `N draws, N lines, N moved, N gone, N failures`.
"""
import csv
import functools
import io
import itertools
import os
import random
import subprocess
import sys
import tempfile
from collections import OrderedDict, defaultdict
from fractions import Fraction

import draw
import landed

HERE = os.path.dirname(os.path.abspath(__file__))
WAYS_MOST = 300000  # of taking pieces, to enumerate
EFFORT = "2000000"
OWN = ("seller route class lot part color condition qty available pieces price currency amount listing new_price "
       "new_currency new_amount new_class new_listing change").split()


class Counts:
    draws = lines = moved = gone = failures = 0


def read(path):
    with open(path, encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


def run(folder, command, stdin):
    with open(os.path.join(folder, stdin), "rb") as source:
        done = subprocess.run(command, cwd=folder, stdin=source, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                              check=False)
    return done.returncode, done.stdout.decode("utf-8"), done.stderr.decode("utf-8", "replace")


def without(words, *names):
    """The options less those of these names, each of which has a value."""
    kept, words = [], list(words)
    while words:
        word = words.pop(0)
        if word in names:
            words.pop(0)
        else:
            kept.append(word)
    return kept


def drift(settings, folder, words, *more):
    """(exit status, table, {item: row of the summary}, messages)."""
    status, out, err = run(folder, [os.path.join(settings["bin"], "lot-drift"), "--effort", EFFORT, "--summary",
                                    "summary.csv", "--replan", "replan.csv"] + words + list(more), "orders.csv")
    if status > 1:
        return status, [], {}, err
    table = list(csv.DictReader(io.StringIO(out, newline=""), strict=True))
    return status, table, {row["item"]: row for row in read(os.path.join(folder, "summary.csv"))}, err


# ---------------------------------------------------------------- nothing moved

def check_still(settings, folder, words, report):
    """Faults of lot-drift against the very files of the plan."""
    faults = []
    for more in ([], ["--need", "need.csv"]):
        status, table, items, err = drift(settings, folder, words, *more)
        name = "still " + " ".join(more)
        if status > 1:
            faults.append("%s: exit status %d: %s" % (name, status, err.strip()[-200:]))
            continue
        if any(row["available"] != "yes" or row["pieces"] != row["qty"] for row in table):
            faults.append(name + ": lines are not to be had")
        dear = [row for row in table if row["change"] != "0" or row["price"] != row["new_price"]]
        if dear:
            faults.append("%s: %s, %s of %s moved" % (name, dear[0]["part"], dear[0]["color"], dear[0]["seller"]))
            continue
        for item in ("gone", "prices", "charges", "rates"):
            if Fraction(items[item]["amount"]) != 0:
                faults.append("%s: %s is %s" % (name, item, items[item]["amount"]))
        if report["proved"] == "yes" and Fraction(items["saving"]["amount"]) != 0:
            faults.append("%s: saves %s of a proved plan" % (name, items["saving"]["amount"]))
        if not more and status != 0 and "cut short" not in err:
            faults.append("%s: exit status %d: %s" % (name, status, err.strip()[-200:]))
    return faults


# ---------------------------------------------------------------- what moves

def move_offers(rng, rows):
    """The market some weeks later, listing by listing."""
    listings, later = OrderedDict(), []
    for number, row in enumerate(rows):
        listings.setdefault((row["seller"], row["listing"] or number), []).append(row)
    for breaks in listings.values():
        breaks = [dict(row) for row in breaks]
        kind = rng.random()
        if kind < 0.12:
            continue  # gone
        if kind < 0.4:
            factor = rng.uniform(0.6, 1.6)
            places = rng.choice((2, 3))
            for row in breaks:
                row["price"] = draw.decimal(max(0.01, float(row["price"]) * factor), places)
        if rng.random() < 0.25:
            qty = rng.randint(0, 12)
            for row in breaks:
                row["qty"] = qty
        if rng.random() < 0.1:
            step = rng.choice(("2", "3", "5", ""))
            for row in breaks:
                row["step"] = step
        if rng.random() < 0.1:
            by = rng.randint(1, 4)
            for row in breaks:
                row["least"] = int(row["least"] or 1) + by
        if rng.random() < 0.08:
            name = rng.choice(("", "m%d" % rng.randint(1, 10 ** 6)))
            if name or len(breaks) == 1:
                for row in breaks:
                    row["listing"] = name
        if rng.random() < 0.05:
            klass = rng.choice(("", "loose", "odd"))
            for row in breaks:
                row["class"] = klass
        later += breaks
        if rng.random() < 0.1 and not breaks[0]["listing"]:  # the seller has found more of it
            later.append(dict(breaks[0], price=draw.decimal(max(0.01, float(breaks[0]["price"]) * 1.2), 3),
                              qty=rng.randint(1, 30), step="", least=""))
    rng.shuffle(later)
    return later


def move_terms(rng, folder):
    """Writes was-*.csv and moves the files; returns the options that say what was."""
    words = []
    for name in ("sellers", "charges", "rates"):
        path = os.path.join(folder, name + ".csv")
        if not os.path.exists(path) or rng.random() < 0.25:
            continue
        rows, columns = draw.read(folder, name + ".csv")
        draw.write(folder, "was-%s.csv" % name, columns, rows)
        words += ["--was-" + name, "was-%s.csv" % name]
        for row in rows:
            if name == "sellers" and rng.random() < 0.3:
                row["tax"] = rng.choice(("", "7", "19", "5.3+0.7"))
            if name == "sellers" and rng.random() < 0.15:
                row["minimum"] = draw.decimal(rng.uniform(0, 6), 2)
            if name == "charges" and row["amount"] not in ("", "no") and rng.random() < 0.4:
                row["amount"] = draw.decimal(float(row["amount"]) * rng.uniform(0.5, 1.8), 2)
            if name == "rates":
                row["rate"] = draw.decimal(float(row["rate"]) * rng.uniform(0.85, 1.15), 6)
        draw.write(folder, name + ".csv", columns, rows)
    if "--was-charges" in words and "charges.csv" not in draw.words_of(folder):
        at = words.index("--was-charges")
        del words[at:at + 2]
    return words


# ---------------------------------------------------------------- which pieces can be had

def kind_of(row):
    return row["seller"], row["part"], row["color"], row["condition"]


def own_key(listing, klass, price):
    return ("listing", listing) if listing else ("class and price", klass, Fraction(price))


def ways(listing, wanted, asked):
    """How many pieces of a listing can be taken, with the price each: one of those `asked` where it is reached."""
    found = [(0, Fraction(0))]
    most = wanted if listing.qty is None else min(wanted, listing.qty)
    for pieces in range(listing.step, most + 1, listing.step):
        prices = [one.price for one in listing.breaks if one.least <= pieces]
        if prices:
            found.append((pieces, min(set(prices) & asked or prices)))
    return found


def best_way(lines, listings):
    """(pieces, own, same class, -offers, -goods) of the best way to take the pieces of lines from listings, by
    trying all; None where they are too many. The lines are of one class."""
    wanted, klass = sum(int(row["qty"]) for row in lines), lines[0]["class"]
    due = defaultdict(int)
    for row in lines:
        due[own_key(row["listing"], row["class"], row["price"])] += int(row["qty"])
    choices = [ways(listing, wanted, {Fraction(row["price"]) for row in lines if listing.name and
                                      row["listing"] == listing.name}) for listing in listings]
    if len({row["class"] for row in lines}) > 1 or functools.reduce(lambda a, b: a * len(b), choices, 1) > WAYS_MOST:
        return None
    best = None
    for pick in itertools.product(*choices):
        pieces = sum(one[0] for one in pick)
        if pieces > wanted:
            continue
        own, same, goods, used = defaultdict(int), 0, Fraction(0), 0
        for (taken, price), listing in zip(pick, listings):
            if not taken:
                continue
            own[own_key(listing.name, listing.klass, listing.breaks[0].price)] += taken
            same += taken if listing.klass == klass else 0
            goods += taken * price
            used += 1
        stays = sum(min(due[key], taken) for key, taken in own.items() if key in due)
        worth = (pieces, stays, same, -used, -goods)
        if best is None or worth > best:
            best = worth
    return best


def check_kinds(folder, standing, table):
    """Pieces, and what they cost, against the best of all ways."""
    faults = []
    listings = defaultdict(list)
    for listing in landed.read_offers([os.path.join(folder, "offers.csv")])[0]:
        listings[(listing.seller,) + listing.kind].append(listing)
    lines, rows = defaultdict(list), defaultdict(list)
    for row in standing:
        lines[kind_of(row)].append(row)
    for row in table:
        rows[kind_of(row)].append(row)
    for kind, mine in lines.items():
        said = rows[kind]
        if sum(int(row["qty"]) for row in said) != sum(int(row["qty"]) for row in mine):
            faults.append("%s: pieces of the lines are lost" % (kind,))
        best = best_way(mine, listings[kind])
        if best is None:
            continue
        own = sum(int(row["pieces"]) for row in said if row["new_price"] and
                  (row["new_listing"] == row["listing"] and
                   (row["listing"] or (row["price"] == row["new_price"] and row["class"] == row["new_class"]))))
        same = sum(int(row["pieces"]) for row in said if row["new_price"] and row["class"] == row["new_class"])
        goods = sum(int(row["pieces"]) * Fraction(row["new_price"] or 0) for row in said)
        found = (sum(int(row["pieces"]) for row in said), own, same, -goods)
        if found != best[:3] + best[4:]:
            faults.append("%s: took (pieces, own, class, goods) %s, best is %s" % (
                kind, [str(one) for one in found], [str(one) for one in best[:3] + best[4:]]))
    return faults


def check_rows(table):
    faults = []
    for row in table:
        qty, pieces = int(row["qty"]), int(row["pieces"])
        word = "yes" if pieces == qty else "fewer" if pieces else "no"
        if row["available"] != word or pieces > qty:
            faults.append("%s: %s with %d of %d" % (row["part"], row["available"], pieces, qty))
        if Fraction(row["amount"]) != qty * Fraction(row["price"]):
            faults.append("%s: amount %s" % (row["part"], row["amount"]))
        if Fraction(row["new_amount"]) != pieces * Fraction(row["new_price"] or 0):
            faults.append("%s: new_amount %s" % (row["part"], row["new_amount"]))
    keys = [[row[name].encode() for name in "route seller class part color condition lot".split()] +
            [Fraction(row["price"])] for row in table]
    if keys != sorted(keys):
        faults.append("rows are out of order")
    return faults


# ---------------------------------------------------------------- the money

def total(folder, opts, rows):
    """(home total, orders, pieces) of rows by landed.py. What a charge refuses to ship is counted without it."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(landed.ORDER_COLUMNS)
    writer.writerows([row[name] for name in landed.ORDER_COLUMNS] for row in rows)
    text.seek(0)
    text.name = "rows"
    strict = landed.exact_charges
    landed.exact_charges = lambda terms, lines, standing=False: strict(terms, lines, True)
    try:
        _, found, _ = landed.totals(opts, text)
    finally:
        landed.exact_charges = strict
    return Fraction(found[-1]["home"]), len(found) - 1, int(found[-1]["pieces"])


def options_at(folder, words, was=()):
    """Options of lot-total; was: which files are those of before."""
    opts = landed.options(without(words, "--effort"))
    for name in ("sellers", "charges", "rates", "weights"):
        if name in opts:
            opts[name] = os.path.join(folder, ("was-" if name in was else "") + opts[name])
    return {name: opts[name] for name in ("sellers", "charges", "rates", "weights", "currency") if name in opts}


def now_rows(folder, table, standing):
    """The lines as they are now; None where two offers that look alike weigh differently."""
    grams = defaultdict(set)
    for row in read(os.path.join(folder, "offers.csv")):
        grams[kind_of(row) + (row["class"], row["listing"], Fraction(row["price"]))].add(row["grams"])
    weights = defaultdict(set)
    for row in standing:
        weights[line_key(row)].add(row["grams"])
    left, now = [], []
    for row in table:
        if row["pieces"] == "0":
            continue
        said = grams[kind_of(row) + (row["new_class"], row["new_listing"], Fraction(row["new_price"]))]
        own = weights[line_key(row)]
        if len(said) > 1 or len(own) > 1:
            return None, None
        before = {name: row.get(name, "") for name in landed.ORDER_COLUMNS}
        before.update(qty=row["pieces"], amount="", surplus="", grams=next(iter(own)))
        after = dict(before, price=row["new_price"], currency=row["new_currency"], listing=row["new_listing"])
        after["class"], after["grams"] = row["new_class"], next(iter(said)) or before["grams"]
        left.append(before)
        now.append(after)
    return left, now


def line_key(row):
    return kind_of(row) + (row["class"], row["lot"], row["listing"], Fraction(row["price"]))


def check_money(folder, words, was, standing, table, items):
    faults = []
    moved = {word[len("--was-"):] for word in was if word.startswith("--was-")}
    left, now = now_rows(folder, table, standing)
    amount = {item: Fraction(row["amount"]) for item, row in items.items()}
    if amount["was"] + amount["gone"] + amount["prices"] + amount["charges"] + amount["rates"] != amount["is"]:
        faults.append("the parts do not add up")
    if amount["is"] + amount["again"] != amount["kept"] or amount["kept"] - amount["afresh"] != amount["saving"]:
        faults.append("is, again, kept, afresh, saving do not add up")
    if left is None:
        return faults
    before, charged, after = (options_at(folder, words, moved), options_at(folder, words, moved & {"rates"}),
                              options_at(folder, words))
    sums = [total(folder, opts, rows) for opts, rows in ((before, standing), (before, left), (before, now),
                                                         (charged, now), (after, now))]
    wanted = [("was", sums[0])] + [(name, tuple(a - b for a, b in zip(sums[i + 1], sums[i]))) for i, name in
                                   enumerate(("gone", "prices", "charges", "rates"))] + [("is", sums[4])]
    for name, (money, orders, pieces) in wanted:
        row = items[name]
        if (Fraction(row["amount"]), int(row["orders"]), int(row["pieces"])) != (money, orders, pieces):
            faults.append("%s is %s, %s orders, %s pieces, not %s, %d, %d" % (
                name, row["amount"], row["orders"], row["pieces"], float(money), orders, pieces))
    rates = landed.Rates(before.get("rates"))
    home = items["was"]["currency"]
    for row in table:
        change = int(row["pieces"]) * (
            Fraction(row["new_price"] or 0) * (rates.paid(row["new_currency"], home) if row["new_currency"] else 0)
            - Fraction(row["price"]) * rates.paid(row["currency"], home))
        if Fraction(row["change"]) != landed.rounded(change, 6):
            faults.append("%s: change %s, not %s" % (row["part"], row["change"], float(change)))
    return faults


# ---------------------------------------------------------------- planning

def check_plan(folder, words, need, items):
    """The plan made afresh keeps every rule, of the true need, and costs `afresh`."""
    opts = landed.options(words + ["--need", need])
    for name in ("sellers", "charges", "rates", "weights", "need"):
        if name in opts:
            opts[name] = os.path.join(folder, opts[name])
    opts["offers"] = [os.path.join(folder, name) for name in opts["offers"]]
    rows = read(os.path.join(folder, "replan.csv"))
    owned = defaultdict(int)
    for row in read(os.path.join(folder, "orders.csv")):
        if row["seller"] == landed.OWNED:
            owned[row["part"], row["color"], row["condition"]] += int(row["qty"])
    market = landed.Market(opts)
    market.stock = owned
    plan = landed.check_plan(market, os.path.join(folder, "replan.csv"))
    # A piece that nothing weighs now weighs what its line says, which other offers may have said.
    faults = ["replan: " + fault for fault in plan.faults if "grams '" not in fault]
    found = total(folder, options_at(folder, words), [row for row in rows if row["seller"] != landed.OWNED])
    said = items["afresh"]
    if (Fraction(said["amount"]), int(said["orders"]), int(said["pieces"])) != found:
        faults.append("afresh is %s, not %s" % (said["amount"], float(found[0])))
    if plan.unmet != int(said["unmet"]):
        faults.append("afresh leaves %s unmet, not %d" % (said["unmet"], plan.unmet))
    return faults


def check_kept(settings, folder, words, standing, table, items):
    """What is missing of the true need, bought again around the standing lines, by lot-split --keep."""
    left = read(os.path.join(folder, "offers.csv"))
    taken = defaultdict(int)
    for row in table:
        taken[kind_of(row) + (row["new_class"], row["new_listing"])] += int(row["pieces"])
    alike = defaultdict(set)
    for row in left:
        key = kind_of(row) + (row["class"], row["listing"])
        alike[key].add(tuple(row.values()) if not row["listing"] else row["listing"])
    for row in left:
        key = kind_of(row) + (row["class"], row["listing"])
        if taken[key] and len(alike[key]) > 1:
            return []  # which of two offers without a listing was taken does not show
        if row["qty"] != "":
            row["qty"] = int(row["qty"]) - taken[key]
    draw.write(folder, "left.csv", list(left[0]) if left else draw.OFFERS, left)
    _, now = now_rows(folder, table, standing)
    if now is None:
        return []
    keep = [dict(row, state="open") for row in now]
    draw.write(folder, "keep.csv", landed.ORDER_COLUMNS + ["state"], keep)
    owned = [row for row in read(os.path.join(folder, "orders.csv")) if row["seller"] == landed.OWNED]
    draw.write(folder, "owned.csv", ["part", "color", "condition", "qty"], owned)
    command = [os.path.join(settings["bin"], "lot-split"), "-q", "--effort", EFFORT, "--keep", "keep.csv", "-k",
               "owned.csv"] + ["left.csv" if word == "offers.csv" else word for word in words]
    status, out, err = run(folder, command, "need.csv")
    if status > 1:
        return ["lot-split --keep: %s" % err.strip()[-200:]]
    bought = [row for row in csv.DictReader(io.StringIO(out, newline="")) if row["seller"] != landed.OWNED]
    found = total(folder, options_at(folder, words), bought)
    if "--max-orders" in words and found[1] > int(words[words.index("--max-orders") + 1]):
        return []  # lot-drift buys then where there are orders already
    if (Fraction(items["kept"]["amount"]), int(items["kept"]["pieces"])) != (found[0], found[2]):
        return ["kept is %s, not %s" % (items["kept"]["amount"], float(found[0]))]
    return []


def check_moved(settings, folder, words, was, counts):
    rng, faults = random.Random(len(words)), []
    rows = read(os.path.join(folder, "orders.csv"))
    standing = [row for row in rows if row["seller"] != landed.OWNED]
    status, table, items, err = drift(settings, folder, words + was)
    if status > 1:
        return ["moved: exit status %d: %s" % (status, err.strip()[-300:])]
    gone = any(row["available"] != "yes" for row in table)
    told = "its minimum" in err or "is not shipped" in err or int(items["afresh"]["unmet"]) or "cut short" in err
    if status != int(bool(gone or told)):
        faults.append("exit status %d: %s" % (status, err.strip()[-200:]))
    if list(table[0] if table else OWN + ["surplus", "grams"])[:len(OWN)] != OWN:
        faults.append("header %s" % list(table[0]))
    faults += check_rows(table) + check_kinds(folder, standing, table)
    faults += check_money(folder, words, was, standing, table, items)
    if not gone and items["again"]["amount"].strip("0.-"):
        faults.append("nothing is missing, and %s buys it again" % items["again"]["amount"])
    files = [open(os.path.join(folder, name), "rb").read() for name in ("summary.csv", "replan.csv")]
    for name in os.listdir(folder):
        if name.endswith(".csv") and name not in ("summary.csv", "replan.csv", "need.csv"):
            some, columns = draw.read(folder, name)
            rng.shuffle(some)
            draw.write(folder, name, columns, some)
    again = drift(settings, folder, words + was)
    if again[0] != status or again[1] != table or files != [
            open(os.path.join(folder, name), "rb").read() for name in ("summary.csv", "replan.csv")]:
        faults.append("rows shuffled: not the same")
    _, table, items, err = drift(settings, folder, words + was, "--need", "need.csv")
    faults += check_money(folder, words, was, standing, table, items) + check_plan(folder, words, "need.csv", items)
    if "cut short" not in err:
        faults += check_kept(settings, folder, words, standing, table, items)
    counts.lines += len(table)
    counts.moved += sum(row["change"] != "0" for row in table)
    counts.gone += sum(row["available"] != "yes" for row in table)
    return faults


def check_draw(settings, profile, seed, folder, numbers, counts):
    draw.draw(profile, seed, folder, *numbers)
    rng = random.Random("drift %d" % seed)
    if rng.random() < 0.3:
        draw.more_taxes(rng, folder)
    words = without(draw.words_of(folder), "--carry", "--keep", "--was", "--stay")
    status, out, err = run(folder, [os.path.join(settings["bin"], "lot-split"), "-q", "--report", "report.csv",
                                    "--effort", EFFORT] + words, "need.csv")
    if status > 1:
        return ["lot-split: " + err.strip()[-200:]]
    with open(os.path.join(folder, "orders.csv"), "w", encoding="utf-8", newline="") as handle:
        handle.write(out)
    words = without(words, "-k")
    report = {row["metric"]: row["value"] for row in read(os.path.join(folder, "report.csv"))}
    faults = check_still(settings, folder, words, report)
    was = move_terms(rng, folder)
    draw.write(folder, "offers.csv", draw.OFFERS, move_offers(rng, read(os.path.join(folder, "offers.csv"))))
    return faults + check_moved(settings, folder, words, was, counts)


def main(words):
    settings, keep, counts = {"bin": os.path.join(HERE, "..", "..", "bin")}, None, Counts()
    while words and words[0] in ("--bin", "--keep"):
        if words[0] == "--bin":
            settings["bin"] = words[1]
        else:
            keep = words[1]
        words = words[2:]
    if len(words) < 3:
        sys.exit(__doc__)
    settings["bin"] = os.path.abspath(settings["bin"])
    profile, first, last = words[0], int(words[1]), int(words[2])
    with tempfile.TemporaryDirectory() as scratch:
        for seed in range(first, last + 1):
            folder = os.path.join(keep or scratch, "%s-%d" % (profile, seed))
            try:
                faults = check_draw(settings, profile, seed, folder, [int(word) for word in words[3:]], counts)
            except landed.Trouble as trouble:
                faults = ["landed.py: %s" % trouble]
            counts.draws += 1
            counts.failures += bool(faults)
            for fault in faults[:3]:
                print("%s %d: %s" % (profile, seed, fault), flush=True)
    print("%d draws, %d lines, %d moved, %d gone, %d failures" % (counts.draws, counts.lines, counts.moved,
                                                                  counts.gone, counts.failures))
    return int(counts.failures > 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
