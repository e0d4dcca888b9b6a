"""Runs lot-split --curve on drawn needs and checks each point against --max-orders and a MIP.

    check_curve.py [options] PROFILE FROM TO [SIZE...]     seeds FROM to TO of a profile of draw.py

    --program FILE  the program (bin/lot-split of this tree)
    --time S        longest a MIP may take (120)

The draws' own --max-orders is left out. Demanded of each: exit status 1 where musts are unmet, else 0; the
same plan and report as without --curve, but for plans of equal cost; points at consecutive numbers of
orders; cost and landed of point N to the last digit those of --max-orders N; bound <= the MIP's optimum for
at most N orders <= cost, and cost - bound and cost - optimum under half a cent; savings that are the
differences of the costs, above 0 before the last, and 0 there; one order fewer than the first point leaves
more unmet, by --max-orders and by the MIP; the last point costs what the MIP says without a limit. Prints a
line a failure, with the way to see it again, and last `N draws, P points, F failures`.
"""
import csv
import os
import subprocess
import sys
import tempfile
from fractions import Fraction

import draw
from check_split import HAIR, HALF_CENT, HERE, SOLVER_PYTHON

COLUMNS = ["orders", "cost", "landed", "bound", "saving"]


class Settings:
    program = os.path.join(HERE, "..", "..", "bin", "lot-split")
    seconds = 120.0


def without_limit(words):
    at = words.index("--max-orders") if "--max-orders" in words else len(words)
    return words[:at] + words[at + 2:]


def split(settings, folder, words, more):
    """(exit status, the report) of one run."""
    report = os.path.join(folder, "report.csv")
    with open(os.path.join(folder, "need.csv"), "rb") as need:
        run = subprocess.run([settings.program, "-q", "--report", "report.csv"] + words + more, cwd=folder, stdin=need,
                             stdout=subprocess.PIPE, stderr=subprocess.PIPE, check=False)
    with open(report, encoding="utf-8", newline="") as handle:
        return run.returncode, {row["metric"]: row["value"] for row in csv.DictReader(handle)}


def optimum(settings, folder, words, most=None):
    """(unmet, cost) by the MIP."""
    limit = [] if most is None else ["--max-orders", str(most)]
    run = subprocess.run([SOLVER_PYTHON, os.path.join(HERE, "mip.py"), "--time", str(settings.seconds), "--options"] +
                         words + limit + ["--need", "need.csv"], cwd=folder, stdout=subprocess.PIPE,
                         stderr=subprocess.PIPE, universal_newlines=True, check=False)
    if run.returncode:
        raise RuntimeError("mip.py: " + run.stderr.strip())
    unmet, cost = run.stdout.strip().split(",")[:2]
    return int(unmet), Fraction(cost)


def check_point(settings, folder, words, point, unmet):
    orders, cost, faults = point["orders"], Fraction(point["cost"]), []
    status, report = split(settings, folder, words, ["--max-orders", orders])
    if status != int(unmet > 0) or report["unmet"] != str(unmet):
        faults.append("--max-orders %s: exit status %d, %s unmet" % (orders, status, report["unmet"]))
    for column in ("cost", "landed"):
        if report[column] != point[column]:
            faults.append("%s of %s orders: %s, --max-orders says %s" % (column, orders, point[column], report[column]))
    missing, least = optimum(settings, folder, words, orders)
    if missing != unmet or not Fraction(point["bound"]) - HAIR <= least <= cost + HAIR:
        faults.append("%s orders: %d unmet, cost %s, bound %s; the MIP says %d, %.9f" % (
            orders, unmet, point["cost"], point["bound"], missing, least))
    if cost - Fraction(point["bound"]) >= HALF_CENT or cost - least >= HALF_CENT:
        faults.append("%s orders: not proved" % orders)
    return faults


def check_shape(points):
    """Points one after another, savings the differences."""
    faults = []
    for one, next_one in zip(points, points[1:]):
        saving = Fraction(one["cost"]) - Fraction(next_one["cost"])
        if int(next_one["orders"]) != int(one["orders"]) + 1 or saving < 0 or Fraction(one["saving"]) != saving:
            faults.append("after %s orders: %s, saving %s" % (one["orders"], next_one["orders"], one["saving"]))
    if len(points) > 1 and Fraction(points[-2]["saving"]) <= 0:
        faults.append("the last order saves nothing")
    if Fraction(points[-1]["saving"]) != 0:
        faults.append("the last saving is %s" % points[-1]["saving"])
    return faults


def check_ends(settings, folder, words, points, unmet):
    """Fewer orders than the first point's leave more unmet, more than the last point's save nothing."""
    faults, fewer = [], int(points[0]["orders"]) - 1
    if fewer >= 0:
        report = split(settings, folder, words, ["--max-orders", str(fewer)])[1]
        if int(report["unmet"]) <= unmet or optimum(settings, folder, words, fewer)[0] <= unmet:
            faults.append("%d orders do it, too" % fewer)
    if abs(optimum(settings, folder, words)[1] - Fraction(points[-1]["cost"])) >= HALF_CENT:
        faults.append("the last point is not the least")
    return faults


def check_draw(settings, folder):
    """(points, faults)"""
    with open(os.path.join(folder, "args"), encoding="utf-8") as handle:
        words = without_limit(handle.read().split("\n")[:-1])
    plain = split(settings, folder, words, [])[1]
    status, report = split(settings, folder, words, ["--curve", "curve.csv"])
    with open(os.path.join(folder, "curve.csv"), encoding="utf-8", newline="") as handle:
        reader = csv.DictReader(handle)
        points = list(reader)
    unmet, faults = int(report["unmet"]), []
    if reader.fieldnames != COLUMNS or not points:
        return points, ["columns %s, %d points" % (reader.fieldnames, len(points))]
    if status != int(unmet > 0):
        faults.append("exit status %d" % status)
    if report["cost"] != plain["cost"] or report["cost"] != points[-1]["cost"]:
        faults.append("the plan costs %s with the curve, %s without" % (report["cost"], plain["cost"]))
    for point in points:
        faults += check_point(settings, folder, words, point, unmet)
    return points, faults + check_shape(points) + check_ends(settings, folder, words, points, unmet)


def main(words):
    settings, failures, count = Settings(), 0, 0
    while words and words[0] in ("--program", "--time"):
        word = words.pop(0)
        if word == "--program":
            settings.program = words.pop(0)
        else:
            settings.seconds = float(words.pop(0))
    if len(words) < 3:
        sys.exit(__doc__)
    profile, first, last = words[0], int(words[1]), int(words[2])
    sizes = [int(word) for word in words[3:]]
    settings.program = os.path.abspath(settings.program)
    for seed in range(first, last + 1):
        with tempfile.TemporaryDirectory() as folder:
            draw.draw(profile, seed, folder, *sizes)
            points, faults = check_draw(settings, folder)
        count += len(points)
        failures += bool(faults)
        if faults:
            print("seed %d: %s | again: draw.py --seed %d %s" % (
                seed, "; ".join(faults), seed, " ".join([profile, "D"] + words[3:])), flush=True)
    print("%d draws, %d points, %d failures" % (last - first + 1, count, failures))
    return int(failures > 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
