"""Runs lot-gain on drawn lists and swap rules and checks it against all subsets of the rules, one by one.

    check_gain.py [options] PROFILE FROM TO [SIZE...]     seeds FROM to TO of a profile of draw.py

    --bin DIR       where the programs are (bin of this tree)
    --rules N       at most so many rules (5)

    check_gain.py --write-twelve DIR                      twelve rules whose worth is plain

The rules are drawn here: one to three steps each, of every kind, on parts and colors of the list and of what
earlier rules make of it, so that rules touch each other's rows, match nothing, or get in each other's way.
The reference is lot-swap --only ... | lot-split, for every subset. Demanded of each draw: the same bytes with
--jobs 1, 2 and 3; exit status 2 only where a subset is refused; each row has the rules that lot-swap applies,
as many unmet pieces as lot-split has, and a cost within half a cent of its; `best` as few unmet pieces and as
little cost, within half a cent, as the best subset, from a subset that has that; every bound at most the cost
that the reference has; savings that are differences; proved where lot-split proves. Prints a line a failure,
with the way to see it again, and last `N draws, S subsets, F failures`.
"""
import csv
import io
import itertools
import os
import random
import subprocess
import sys
import tempfile
from fractions import Fraction

import draw

HERE = os.path.dirname(os.path.abspath(__file__))
HALF_CENT = Fraction(1, 200)
COLUMNS = ("scenario,rule,applied,not_applied,orders,lots,pieces,unmet,landed,penalties,order_cost,worth,cost,saving,"
           "bound,gap_percent,proved").split(",")
RULES = ("rule,do,part,color,group,condition,to_part,to_color,to_condition,of,qty,penalty,together,must,note").split(",")


class Settings:
    bin = os.path.join(HERE, "..", "..", "bin")
    rules = 5


def table(folder, name):
    with open(os.path.join(folder, name), encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


# ---------------------------------------------------------------- drawing rules

def draw_step(rng, rule, kinds, market):
    """One step on a kind (part, color) of the list, or on something that may not be there."""
    part, color = rng.choice(kinds)
    do = rng.choice(["use", "use", "use", "may", "may", "drop", "spare", "add"])
    row = {"rule": rule, "do": do, "part": part, "color": color if rng.random() < 0.7 else ""}
    to_part, to_color = rng.choice(market)
    if do == "add":
        row.update(part="", color="", to_part=to_part, to_color=to_color, qty=rng.randint(1, 6))
    elif do in ("use", "may"):
        way = rng.random()
        if way < 0.4:
            row.update(to_part=to_part, to_color=to_color)
        elif way < 0.7:
            row.update(to_color=to_color if rng.random() < 0.6 else "any")
        else:
            row.update(to_part=to_part)
        if do == "may":
            row["penalty"] = rng.choice(["", "0.01", "0.1", "0.5"])
        elif rng.random() < 0.3:
            row["qty"] = rng.choice([2, 2, 3])
        kinds.append((row.get("to_part") or part, row.get("to_color") or row["color"] or color))
    elif do == "spare":
        row["qty"] = rng.choice(["5%", "50%", "1", "3"])
    if do in ("use", "may", "drop", "spare") and rng.random() < 0.3:
        row["of"] = rng.randint(1, 6)
    return row


def draw_rules(rng, folder, most):
    kinds = sorted({(row["part"], row["color"]) for row in table(folder, "need.csv")})
    market = sorted({(row["part"], row["color"]) for row in table(folder, "offers.csv")}) or kinds
    rows, count = [], rng.randint(1, most)
    kinds.append(("NO-SUCH", "void"))
    for number in range(count):
        name = "r%d" % (number + 1)
        steps = [draw_step(rng, name, kinds, market) for _ in range(rng.choice([1, 1, 1, 2, 3]))]
        if rng.random() < 0.3 and any(step["do"] == "may" for step in steps):
            for step in steps:
                step["together"] = "yes"
        rows += steps
    draw.write(folder, "swaps.csv", RULES, rows)
    return ["r%d" % (number + 1) for number in range(count)]


# ---------------------------------------------------------------- the reference

def run(settings, folder, words, stdin):
    return subprocess.run([os.path.join(settings.bin, words[0])] + words[1:], cwd=folder, input=stdin,
                          stdout=subprocess.PIPE, stderr=subprocess.PIPE, check=False)


def solve(settings, folder, words, names, need):
    """(applied, report) of one subset, or None where a program refuses it."""
    only = ["--only", ",".join(names)] if names else ["--only", "none"]
    if names:
        swapped = run(settings, folder, ["lot-swap", "-r", "swaps.csv"] + only, need)
        if swapped.returncode == 2:
            return None
        text = swapped.stderr.decode()
        applied = tuple(name for name in names if 'rule "%s" is not applied' % name not in text)
        need = swapped.stdout
    else:
        applied = ()
    split = run(settings, folder, ["lot-split", "-q", "--report", "report.csv"] + words, need)
    if split.returncode == 2:
        return None
    report = {row["metric"]: row["value"] for row in table(folder, "report.csv")}
    return applied, report


def subsets(names):
    return [subset for count in range(len(names) + 1) for subset in itertools.combinations(names, count)]


def without_carry(words):
    """lot-gain carries no columns."""
    at = words.index("--carry") if "--carry" in words else len(words)
    return words[:at] + words[at + 2:]


# ---------------------------------------------------------------- checks

def check_row(row, names, reference, as_is):
    faults, (applied, report) = [], reference
    if tuple(filter(None, row["applied"].split(","))) != applied:
        faults.append("applied is %s, lot-swap applies %s" % (row["applied"], ",".join(applied)))
    if set(filter(None, row["not_applied"].split(","))) != set(names) - set(applied):
        faults.append("not_applied is %s" % row["not_applied"])
    if row["unmet"] != report["unmet"]:
        faults.append("%s unmet, lot-split says %s" % (row["unmet"], report["unmet"]))
    cost, least = Fraction(row["cost"]), Fraction(report["cost"])
    if report["proved"] == "yes" and row["proved"] == "yes" and abs(cost - least) >= HALF_CENT:
        faults.append("cost %s, lot-split says %s" % (row["cost"], report["cost"]))
    if Fraction(row["bound"]) > least:
        faults.append("bound %s above a plan of %s" % (row["bound"], report["cost"]))
    if report["proved"] == "yes" and row["proved"] != "yes":
        faults.append("not proved")
    if (row["proved"] == "yes") != (cost - Fraction(row["bound"]) < HALF_CENT):
        faults.append("proved %s with cost %s and bound %s" % (row["proved"], row["cost"], row["bound"]))
    if cost != sum(Fraction(row[column]) for column in ("landed", "penalties", "order_cost")) - Fraction(row["worth"]):
        faults.append("the parts are not the cost")
    saving = str(Fraction(as_is["cost"]) - cost) if row["unmet"] == as_is["unmet"] else ""
    if (str(Fraction(row["saving"])) if row["saving"] else "") != saving:
        faults.append("saving %s" % row["saving"])
    return ["%s %s: %s" % (row["scenario"], row["rule"], fault) for fault in faults]


def check_best(row, solved):
    known = {names: (int(report["unmet"]), Fraction(report["cost"])) for names, (_, report) in solved.items()}
    least = min(known.values())
    names = tuple(filter(None, row["applied"].split(",")))
    faults = []
    if row["not_applied"]:
        faults.append("not_applied is not empty")
    if names not in known:
        return ["best: %s is no subset" % row["applied"]]
    unmet, cost = int(row["unmet"]), Fraction(row["cost"])
    if unmet != least[0] or abs(cost - least[1]) >= 2 * HALF_CENT:
        faults.append("%d unmet, cost %.9f; of all subsets: %d, %.9f" % (unmet, cost, least[0], least[1]))
    if known[names][0] != unmet or abs(known[names][1] - cost) >= HALF_CENT:
        faults.append("the subset costs %.9f, not %.9f" % (known[names][1], cost))
    if Fraction(row["bound"]) > least[1]:
        faults.append("bound %s above a plan of %.9f" % (row["bound"], least[1]))
    if row["proved"] != "yes":
        faults.append("not proved")
    return ["best: " + fault for fault in faults]


def check_table(rows, names, solved):
    due = [("as-is", "", ())] + [("alone", name, (name,)) for name in names] + [("all", "", tuple(names))] + [
        ("without", name, tuple(other for other in names if other != name)) for name in names]
    faults = []
    if [(row["scenario"], row["rule"]) for row in rows] != [row[:2] for row in due] + [("best", "")]:
        return ["the rows are not those that are due"]
    for row, (_, _, subset) in zip(rows, due):
        faults += check_row(row, subset, solved[subset], rows[0])
    return faults + check_best(rows[-1], solved)


def check_draw(settings, profile, seed, sizes, folder):
    draw.draw(profile, seed, folder, *sizes)
    words = without_carry(draw.words_of(folder))
    names = draw_rules(random.Random("gain %s %d" % (profile, seed)), folder, settings.rules)
    with open(os.path.join(folder, "need.csv"), "rb") as handle:
        need = handle.read()
    found = [run(settings, folder, ["lot-gain", "-q", "-r", "swaps.csv", "--jobs", str(jobs)] + words, need)
             for jobs in (1, 2, 3)]
    solved = {subset: solve(settings, folder, words, subset, need) for subset in subsets(names)}
    refused = any(result is None for result in solved.values())
    if any((one.returncode, one.stdout) != (found[0].returncode, found[0].stdout) for one in found):
        return ["--jobs 1, 2 and 3 give different bytes"], len(solved)
    if found[0].returncode not in (0, 1):
        return ([] if refused and found[0].returncode == 2 else
                ["exit status %d: %s" % (found[0].returncode, found[0].stderr.decode().strip())]), len(solved)
    rows = list(csv.DictReader(io.StringIO(found[0].stdout.decode("utf-8"), newline="")))
    if list(rows[0]) != COLUMNS:
        return ["the columns are %s" % ",".join(rows[0])], len(solved)
    solved = {subset: result for subset, result in solved.items() if result is not None}
    return check_table(rows, names, solved), len(solved)


def write_twelve(folder):
    """A list of twelve lots, with a rule each: odd ones save 0.05 a piece, even ones cost that."""
    names = ["P-%d" % number for number in range(1, 13)]
    draw.write(folder, "parts.csv", ["part", "color", "qty"], [dict(part=n, color="moss", qty=2) for n in names])
    draw.write(folder, "offers.csv", ["seller", "part", "color", "qty", "price"],
               [dict(seller=seller, part=name + mark, color="moss", price=price)
                for seller in ("Attic", "Loft") for at, name in enumerate(names)
                for mark, price in (("", "0.60"), ("b", "0.65" if at % 2 else "0.55"))])
    draw.write(folder, "sellers.csv", ["seller", "route"], [dict(seller="*", route="market")])
    draw.write(folder, "charges.csv", ["seller", "charge", "amount"], [dict(seller="*", charge="shipping", amount=1)])
    draw.write(folder, "swaps.csv", RULES, [dict(rule="r%d" % (at + 1), do="use", part=name, to_part=name + "b")
                                            for at, name in enumerate(names)])


def main(words):
    settings = Settings()
    if words[:1] == ["--write-twelve"]:
        write_twelve(words[1])
        return 0
    while words and words[0].startswith("--"):
        if words[0] == "--bin":
            settings.bin = words[1]
        elif words[0] == "--rules":
            settings.rules = int(words[1])
        else:
            sys.exit("unknown option " + words[0])
        words = words[2:]
    settings.bin = os.path.abspath(settings.bin)
    profile, first, last = words[0], int(words[1]), int(words[2])
    sizes = [int(word) for word in words[3:]]
    failures = count = 0
    for seed in range(first, last + 1):
        with tempfile.TemporaryDirectory() as folder:
            faults, tried = check_draw(settings, profile, seed, sizes, folder)
        count += tried
        failures += bool(faults)
        for fault in faults:
            print("%s %d: %s" % (" ".join([profile] + words[3:]), seed, fault))
    print("%d draws, %d subsets, %d failures" % (last - first + 1, count, failures))
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
