"""Runs lot-split on drawn needs and checks every plan against the independent oracles.

    check_split.py [options] PROFILE FROM TO [SIZE...]     seeds FROM to TO of a profile of draw.py

    --proved        also demand that each plan is proved and costs the optimum, to half a cent
    --taxes         give each draw several taxes, included ones, and rates with fees
    --duties        give each draw duty and import tax: charges by landed cost, after others
    --no-optimum    check the plans alone, solve no MIP (large draws)
    --program FILE  the program (bin/lot-split of this tree)
    --time S        longest a MIP may take (120); a draw that takes longer is checked without its optimum
    --patience S    longest the program may take (900), lest it never end
    --table FILE    answers of the MIP, `profile,seed,files,unmet,cost`; seeds that are there are not solved
    --write         add to the table what was solved
    --again K       solve every K-th seed of the table all the same, and compare
    --keep DIR      keep each draw and its plan there, as PROFILE-SEED

The MIP is told what the program's plan costs, and looks for no dearer ones; where it finds none as cheap, it
is solved again without that.

Demanded of each draw: exit status 1 where musts are unmet, else 0; a plan that keeps every rule; a report
whose figures are, to the last digit, those of an independent costing; bound <= optimum <= cost; as many
unmet pieces as the optimum has, and those in the --short file; proved said exactly where cost - bound is
under half a cent. With orders under way (profile kept): every line that stands comes out whole, the shares
and the surplus have each piece of the lines once, and shuffled files make the same plan. Prints a line a failure, with the way to see it again, and last `N draws, N failures`.
"""
import csv
import os
import random
import re
import subprocess
import sys
import tempfile
import zlib
from collections import defaultdict
from fractions import Fraction

import draw
import landed
import mip

HERE = os.path.dirname(os.path.abspath(__file__))
SOLVER_PYTHON = "/usr/bin/python3"  # the one that Debian's python3-scipy is for
METRICS = ("cost landed penalties order_cost worth bound gap_percent proved orders lots pieces surplus unmet "
           "work").split()
SIDE_FILES = "--report report.csv --short short.csv --shares shares.csv --surplus surplus.csv".split()
HALF_CENT = Fraction(1, 200)
HAIR = Fraction(1, 10 ** 6)


class Settings:
    proved = write = taxes = duties = False
    optimum = True
    program = os.path.join(HERE, "..", "..", "bin", "lot-split")
    seconds, patience, table, again, keep = 120.0, 900.0, None, 0, None


def files_sum(folder):
    """A checksum of a draw, so that a table of answers is not used on other files."""
    total = 0
    for name in sorted(os.listdir(folder)):
        if name == "args" or name in ("need.csv", "offers.csv", "sellers.csv", "charges.csv", "rates.csv",
                                      "stock.csv", "weights.csv", "keep.csv", "was.csv"):
            with open(os.path.join(folder, name), "rb") as handle:
                total = zlib.crc32(name.encode() + b"\n" + handle.read(), total)
    return "%08x" % total


def read_table(path):
    answers = {}
    if path and os.path.exists(path):
        for row in landed.table(path, "profile,seed,files,unmet,cost"):
            answers[row["profile"], int(row["seed"])] = (row["files"], int(row["unmet"]), Fraction(row["cost"]))
    return answers


def solve(folder, seconds, most):
    """(unmet, cost) by the MIP, or None where time ran out. most: a cost said to be had, or None."""
    said = ["--most", str(most)] if most is not None else []
    run = subprocess.run([SOLVER_PYTHON, os.path.join(HERE, "mip.py"), "--time", str(seconds)] + said + [folder],
                         stdout=subprocess.PIPE, stderr=subprocess.PIPE, universal_newlines=True, check=False)
    if run.returncode == 1:
        return None
    if run.returncode:
        raise RuntimeError("mip.py: " + run.stderr.strip())
    unmet, cost = run.stdout.strip().split(",")[:2]
    return int(unmet), Fraction(cost)


def run_split(program, folder, patience):
    """Exit status and what stderr said; leaves orders.csv and the side files in the folder."""
    with open(os.path.join(folder, "args"), encoding="utf-8") as handle:
        words = handle.read().split()
    with open(os.path.join(folder, "need.csv"), "rb") as need, \
            open(os.path.join(folder, "orders.csv"), "wb") as orders:
        run = subprocess.run([os.path.abspath(program)] + words + SIDE_FILES, cwd=folder, stdin=need, stdout=orders,
                             stderr=subprocess.PIPE, check=False, timeout=patience)
    return run.returncode, run.stderr.decode("utf-8", "replace")


def check_figures(plan, report):
    """Faults of a report, against the figures of an independent costing."""
    faults = []
    if [name for name in METRICS if name in report] != METRICS:
        faults.append("report has no %s" % ", ".join(sorted(set(METRICS) - set(report))))
    for name, value in plan.figures():
        said = report.get(name, "")
        if name in ("cost", "landed", "penalties", "order_cost", "worth", "stay"):
            if not re.fullmatch(r"-?\d+(\.\d{1,9})?", said) or Fraction(said) != Fraction(value):
                faults.append("report says %s %s, costed again %s" % (name, said, value))
        elif name != "pieces" and said != value:
            faults.append("report says %s %s, counted again %s" % (name, said, value))
    return faults


def check_short(plan, folder):
    """The --short file is a need list of what is unmet."""
    path = os.path.join(folder, "short.csv")
    if not os.path.exists(path):
        return ["no --short file"] if plan.unmet else []
    try:
        lots = landed.read_need(path)
    except landed.Trouble as trouble:
        return [str(trouble)]
    total = sum(lot.qty for lot in lots)
    return [] if total == plan.unmet else ["--short has %d pieces, %d are unmet" % (total, plan.unmet)]


def check_pieces(market, folder):
    """No piece of the order lines is lost, or counted twice: in what they fill, the shares, the surplus, the
    stock taken, the lines that stand and the need."""
    lines = landed.table(os.path.join(folder, "orders.csv"), "seller,lot,qty,surplus")
    faults = []

    def same(what, one, other):
        if any(one.get(key, 0) != other.get(key, 0) for key in set(one) | set(other)):
            key = next(key for key in sorted(set(one) | set(other)) if one.get(key, 0) != other.get(key, 0))
            faults.append("%s: %s: %d pieces, %d" % (what, "/".join(key), one.get(key, 0), other.get(key, 0)))

    def counted(rows, names, column="qty"):
        found = defaultdict(int)
        for row in rows:
            found[tuple(row[name] for name in names)] += int(row[column] or 0)
        return found

    kind = ("part", "color", "condition")
    extra = counted(lines, kind, "surplus")
    same("--surplus", counted(landed.table(os.path.join(folder, "surplus.csv"), "part,color,qty"), kind), extra)
    named = ("seller",) + kind
    same("--shares", counted(landed.table(os.path.join(folder, "shares.csv"), "part,color,qty,seller"), named),
         counted(lines, named))
    short = os.path.join(folder, "short.csv")
    filled = counted([dict(row, qty=int(row["qty"]) - int(row["surplus"] or 0)) for row in lines], ("lot",))
    unmet = sum(lot.qty for lot in landed.read_need(short)) if os.path.exists(short) else 0
    asked = sum(lot.qty for lot in market.lots)
    optional = sum(lot.qty - filled.get((lot.name,), 0) for lot in market.lots if lot.worth is not None)
    if sum(filled.values()) + unmet + optional != asked:
        faults.append("%d pieces filled, %d short, %d optional ones left; %d are asked for" % (
            sum(filled.values()), unmet, optional, asked))
    return faults


def check_shuffled(settings, folder):
    """The lines of orders in another order make the same plan, to the byte."""
    def said():
        found = {}
        for name in ("orders.csv", "report.csv", "shares.csv", "surplus.csv"):
            with open(os.path.join(folder, name), "rb") as handle:
                found[name] = handle.read()
        return found

    before = said()
    for name in ("keep.csv", "was.csv"):
        if os.path.exists(os.path.join(folder, name)):
            rows, columns = draw.read(folder, name)
            random.Random(name).shuffle(rows)
            draw.write(folder, name, columns, rows)
    run_split(settings.program, folder, settings.patience)
    after = said()
    return ["keep.csv shuffled, another %s" % name for name in before if before[name] != after[name]]


def check_bound(report, plan, optimum, proved):
    faults = []
    if not re.fullmatch(r"-?\d+\.\d{9}", report.get("bound", "")):
        return ["bound '%s' has not 9 decimals" % report.get("bound")]
    bound, cost = Fraction(report["bound"]), plan.cost()
    said, true = report.get("proved"), "yes" if cost - bound < HALF_CENT else "no"
    if said != true:
        faults.append("proved %s, but cost - bound is %s" % (said, landed.text_of(cost - bound, landed.NANO)))
    if bound > cost:
        faults.append("bound %s above the cost" % report["bound"])
    if proved and said != "yes":
        faults.append("not proved: cost %.6f, bound %s" % (cost, report["bound"]))
    if optimum is None:
        return faults
    unmet, best = optimum
    if plan.unmet != unmet:
        return faults + ["%d unmet, the optimum has %d" % (plan.unmet, unmet)]
    if cost < best - HAIR:
        faults.append("cost %.9f BEATS the MIP's %.9f: the oracle is wrong" % (cost, best))
    elif bound > best + HAIR:
        faults.append("bound %s above the optimum %.9f" % (report["bound"], best))
    if proved and cost > best + HALF_CENT:
        faults.append("cost %.6f, the optimum is %.6f" % (cost, best))
    return faults


def plan_draw(settings, folder):
    """Exit status and what stderr said, or None where the program took too long."""
    try:
        return run_split(settings.program, folder, settings.patience)
    except subprocess.TimeoutExpired:
        return None


def report_of(folder):
    return {row["metric"]: row["value"] for row in landed.table(os.path.join(folder, "report.csv"), "metric,value")}


def cost_said(folder):
    """What the report says that the plan costs; None: it says nothing."""
    try:
        said = report_of(folder).get("cost", "")
    except (landed.Trouble, OSError):
        return None
    return Fraction(said) if re.fullmatch(r"-?\d+(\.\d+)?", said) else None


def check_run(settings, folder, ran, optimum):
    """Faults of one run (see plan_draw) on the draw in a folder. `optimum`: (unmet, cost) or None."""
    if ran is None:
        return ["not done after %g s" % settings.patience]
    status, said = ran
    if status not in (0, 1):
        return ["exit status %d: %s" % (status, said.strip()[-400:])]
    market = mip.market_of(folder)
    try:
        plan = landed.check_plan(market, os.path.join(folder, "orders.csv"))
        report = report_of(folder)
    except (landed.Trouble, OSError) as trouble:
        return [str(trouble)]
    faults = list(plan.faults)
    if status != (1 if plan.unmet else 0):
        faults.append("exit status %d with %d unmet" % (status, plan.unmet))
    faults += check_figures(plan, report)
    faults += check_short(plan, folder)
    if market.kept:
        faults += check_pieces(market, folder)
        faults += check_shuffled(settings, folder)
    return faults + check_bound(report, plan, optimum, settings.proved)


def optimum_of(settings, answers, profile, seed, folder):
    """((unmet, cost) or None, faults); new answers go into the table in memory."""
    if not settings.optimum:
        return None, []
    key, files = (profile, seed), files_sum(folder)
    known = answers.get(key)
    if known and known[0] != files:
        return None, ["the table's answer is for other files (%s, not %s)" % (known[0], files)]
    if known and not (settings.again and seed % settings.again == 0):
        return known[1:], []
    try:
        found = solve(folder, settings.seconds, cost_said(folder))
    except RuntimeError as error:
        return None, [str(error)]
    if known and found and (found[0] != known[1] or abs(found[1] - known[2]) > HALF_CENT / 5):
        return known[1:], ["the MIP now says %d unmet, %.6f; the table %d, %.6f" % (found + known[1:])]
    if found and not known:
        answers[key] = (files,) + found
    return found, []


def write_table(path, answers):
    with open(path, "w", encoding="utf-8", newline="") as handle:
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(["profile", "seed", "files", "unmet", "cost"])
        for (profile, seed), (files, unmet, cost) in sorted(answers.items()):
            writer.writerow([profile, seed, files, unmet, landed.text_of(cost, landed.NANO)])


def check(settings, profile, first, last, sizes):
    answers, failures, unsettled = read_table(settings.table), 0, 0
    label = " ".join([profile] + [str(size) for size in sizes] + ["taxes"] * settings.taxes + ["duties"] * settings.duties)
    with tempfile.TemporaryDirectory() as scratch:
        for seed in range(first, last + 1):
            folder = os.path.join(settings.keep or scratch, "%s-%d" % (label.replace(" ", "-"), seed))
            draw.draw(profile, seed, folder, *sizes)
            if settings.taxes:
                draw.more_taxes(random.Random("taxes %d" % seed), folder)
            if settings.duties:
                draw.more_duties(random.Random("duties %d" % seed), folder, draw.SHAPES[profile]["value"])
            ran = plan_draw(settings, folder)
            optimum, faults = optimum_of(settings, answers, label, seed, folder)
            unsettled += settings.optimum and optimum is None and not faults
            faults += check_run(settings, folder, ran, optimum)
            failures += bool(faults)
            if faults:
                more = " (and %d more)" % (len(faults) - 1) if len(faults) > 1 else ""
                print("seed %d: %s%s | again: draw.py --seed %d %s; cd D; lot-split $(cat args) < need.csv" % (
                    seed, faults[0], more, seed, " ".join([profile, "D"] + list(map(str, sizes)))), flush=True)
    if settings.write and settings.table:
        write_table(settings.table, answers)
    if unsettled:
        print("%d draws without an optimum: the MIP took longer than %g s" % (unsettled, settings.seconds))
    print("%d draws, %d failures" % (last - first + 1, failures))
    return int(failures > 0)


def main(words):
    settings = Settings()
    while words and words[0].startswith("--"):
        word = words.pop(0)
        if word in ("--proved", "--write", "--taxes", "--duties"):
            setattr(settings, word[2:], True)
        elif word == "--no-optimum":
            settings.optimum = False
        elif word in ("--program", "--table", "--keep") and words:
            setattr(settings, word[2:], words.pop(0))
        elif word == "--time" and words:
            settings.seconds = float(words.pop(0))
        elif word == "--patience" and words:
            settings.patience = float(words.pop(0))
        elif word == "--again" and words:
            settings.again = int(words.pop(0))
        else:
            sys.exit(__doc__)
    if len(words) < 3 or words[0] not in ("tiny", "small", "kept", "rules", "flat", "market"):
        sys.exit(__doc__)
    if not os.access(settings.program, os.X_OK):
        sys.exit("check_split.py: %s: no such program; make it first" % settings.program)
    return check(settings, words[0], int(words[1]), int(words[2]), [int(word) for word in words[3:]])


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
