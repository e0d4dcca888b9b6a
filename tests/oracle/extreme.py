#!/usr/bin/env python3
"""Holds lot-total and lot-split to exact figures where amounts are as large as a file can say them.

    extreme.py [--program FILE] [--keep DIR] total|split FROM TO      seeds FROM to TO

Each set is one of check_total.py, or a draw of draw.py, in which some amounts, percents, rates, weights and
quantities are made extreme: the largest that a field can say, one step below, halves of it, the smallest, 0,
and powers of ten between. Demanded: exit status 2, nothing on stdout and a message that something is too
large; or every figure equal to landed.py's, which counts in fractions without limit. Nothing else is an
answer: no crash, no figure that is off. Prints a line a failure, and last `N sets, N exact, N refused, N
failures`.
"""
import csv
import os
import random
import re
import subprocess
import sys
import tempfile

import check_split
import check_total
import draw
import landed
import mip

HERE = os.path.dirname(os.path.abspath(__file__))
MOST = 2 ** 63 - 1  # millionths
QTY_MOST = 999999999
REFUSED = re.compile("too large|too many pieces|at most 999999999")
# What extremes make of rows that must differ, or must not: another fault, told as such.
CLASH = re.compile("at this place|differ from|a piece to less than nothing")

# Column: how far it may be from 0, in millionths; "-" where it may be negative.
MONEY = ["price", "penalty", "worth", "grams", "minimum", "order_cost", "from", "over", "rate", "fee"]
SIGNED = ["amount", "percent"]


def plain(millionths):
    return landed.text_of(landed.Fraction(millionths, 10 ** 6), 6).rstrip("0").rstrip(".")


def extreme(rng, gentle):
    """An amount in millionths. gentle: none that any product would have to refuse."""
    kinds = [1, 10 ** rng.randint(0, 18), 3 * 10 ** rng.randint(0, 18), rng.randint(1, 10 ** rng.randint(1, 18)), 0]
    if not gentle:
        kinds += [MOST, MOST - 1, MOST // 2, MOST // 2 + 1, MOST // 3, 2 ** rng.randint(1, 62), MOST // QTY_MOST]
    return min(MOST, rng.choice(kinds))


def mutate(rng, folder):
    """Makes some fields of every file extreme, so that sums of them meet and pass the limits."""
    gentle = draw.likely(rng, 0.6)
    chance = rng.choice((0.02, 0.1, 0.4))
    for name in sorted(os.listdir(folder)):
        if not name.endswith(".csv") or draw.likely(rng, 0.4):
            continue
        rows, columns = draw.read(folder, name)
        for row in rows:
            for column in columns:
                if not draw.likely(rng, chance) or row[column] in ("", "no"):
                    continue
                if column == "grams" and row.get("listing"):
                    continue  # of the breaks of a listing landed.py weighs the first
                if column == "qty" and name != "need.csv":
                    row[column] = str(rng.choice((1, 2, QTY_MOST, QTY_MOST - 1, 10 ** rng.randint(1, 8))))
                elif column in MONEY and (name != "rates.csv" or column == "rate"):
                    row[column] = plain(max(extreme(rng, gentle), int(column == "rate")))
                elif column in SIGNED and name in ("charges.csv", "others.csv"):
                    sign = rng.choice((1, 1, -1))
                    row[column] = plain(sign * extreme(rng, gentle)).replace("-0", "0") if sign < 0 else plain(
                        extreme(rng, gentle))
            if name == "orders.csv" and row.get("amount"):
                row["amount"] = ""
        draw.write(folder, name, columns, rows)


def run(program, words, folder, source):
    with open(os.path.join(folder, source), "rb") as given:
        return subprocess.run([os.path.abspath(program)] + words, cwd=folder, stdin=given, stdout=subprocess.PIPE,
                              stderr=subprocess.PIPE, check=False, timeout=300)


def refused(done):
    told = done.stderr.decode("utf-8", "replace")
    return done.returncode == 2 and not done.stdout and (REFUSED.search(told) or CLASH.search(told)) is not None


def words_of(folder):
    with open(os.path.join(folder, "args"), encoding="utf-8") as handle:
        return handle.read().split()


def total(program, seed, folder):
    """Faults, or None where it was refused."""
    check_total.make(seed, folder)
    mutate(random.Random("extreme %d" % seed), folder)
    words = [word for word in words_of(folder) if word not in ("--cash", "5", "0.05")]
    draw.write_args(folder, words)
    done = run(program, words, folder, "orders.csv")
    if refused(done):
        return None
    try:
        return check_total.check(program, folder)
    except landed.Trouble as trouble:
        # Two steps that extremes put at one place, for instance: the program must say so too.
        return [] if done.returncode == 2 else ["not at fault, but landed.py: %s" % trouble]


def split(program, seed, folder):
    rng = random.Random("extreme %d" % seed)
    draw.draw(rng.choice(("tiny", "tiny", "small")), seed, folder)
    if draw.likely(rng, 0.3):
        draw.more_duties(rng, folder, 20)
    mutate(rng, folder)
    words = words_of(folder)
    side = ["--report", "report.csv", "--short", "short.csv", "--effort", "3000000"]
    done = run(program, words + side, folder, "need.csv")
    if refused(done):
        return None
    try:
        market = mip.market_of(folder)
    except (landed.Trouble, AssertionError) as trouble:
        return [] if done.returncode == 2 else ["not at fault, but landed.py: %s" % trouble]
    if done.returncode not in (0, 1):
        return ["exit status %d: %s" % (done.returncode, done.stderr.decode("utf-8", "replace")[-600:])]
    with open(os.path.join(folder, "orders.csv"), "wb") as out:
        out.write(done.stdout)
    try:
        plan = landed.check_plan(market, os.path.join(folder, "orders.csv"))
        report = {row["metric"]: row["value"]
                  for row in landed.table(os.path.join(folder, "report.csv"), "metric,value")}
    except landed.Trouble as trouble:
        return [str(trouble)]
    faults = plan.faults + check_split.check_figures(plan, report) + check_split.check_bound(report, plan, None, False)
    # A search cut short may not be sure that what is unmet must be, and is not proved then.
    return [fault for fault in faults if not fault.startswith("proved no, but")]


def main(words):
    program, keep = None, None
    while words and words[0] in ("--program", "--keep") and len(words) > 1:
        program, keep = (words[1], keep) if words[0] == "--program" else (program, words[1])
        words = words[2:]
    if len(words) != 3 or words[0] not in ("total", "split"):
        sys.exit(__doc__)
    program = program or os.path.join(HERE, "..", "..", "bin", "lot-" + words[0])
    first, last, exact, no, failures = int(words[1]), int(words[2]), 0, 0, 0
    with tempfile.TemporaryDirectory() as scratch:
        for seed in range(first, last + 1):
            folder = os.path.join(keep or scratch, "%s-%d" % (words[0], seed))
            os.makedirs(folder, exist_ok=True)
            faults = {"total": total, "split": split}[words[0]](program, seed, folder)
            no += faults is None
            exact += faults == []
            if faults:
                failures += 1
                print("seed %d: %s (and %d more) | again: extreme.py --keep D %s %d %d" % (
                    seed, faults[0], len(faults) - 1, words[0], seed, seed), flush=True)
    print("%d sets, %d exact, %d refused, %d failures" % (last - first + 1, exact, no, failures))
    return int(failures > 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
