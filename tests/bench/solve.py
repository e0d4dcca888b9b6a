"""Solves a drawn need with a general MIP solver and says how long the solver alone took.

usage: solve.py flat|rules highs|cbc SECONDS DIR      with Debian's python3, which python3-scipy is for

DIR is what ../oracle/draw.py writes. Prints `seconds,proved,cost,bound`: processor time of the solver, without
that of Python before and after; cost and bound are empty where the time ran out before there were any.

The model is the best that is known for each. flat: facility location in its strong form, a 0-1 variable a
seller, a row an offer that it sells nothing unless it is open, quantities that need not be said to be whole
(for given sellers each lot is a transport problem, whole at a vertex). rules: the model of ../oracle/mip.py.
"""
import os
import resource
import sys
from fractions import Fraction

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "..", "oracle"))

import landed  # noqa: E402
import mip  # noqa: E402


class Clock:
    """Processor seconds of what runs through it."""

    def __init__(self):
        self.seconds = 0.0

    def of(self, who, run):
        def timed(*words, **named):
            before = resource.getrusage(who)
            try:
                return run(*words, **named)
            finally:
                after = resource.getrusage(who)
                self.seconds += after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        return timed


def watch(clock):
    """From here on the clock counts what HiGHS and CBC take."""
    import scipy.optimize
    scipy.optimize.milp = clock.of(resource.RUSAGE_SELF, scipy.optimize.milp)
    mip.subprocess.run = clock.of(resource.RUSAGE_CHILDREN, mip.subprocess.run)


def flat_program(folder):
    program = mip.Program()
    fees = {row["seller"]: Fraction(row["amount"])
            for row in landed.table(os.path.join(folder, "charges.csv"), "seller,amount")}
    opened = {seller: program.variable(0, 1, True, fee) for seller, fee in fees.items()}
    need = {(row["part"], row["color"]): int(row["qty"])
            for row in landed.table(os.path.join(folder, "need.csv"), "part,color,qty")}
    sold, total = {kind: {} for kind in need}, dict.fromkeys(need, 0)
    for row in landed.table(os.path.join(folder, "offers.csv"), "seller,part,color,qty,price"):
        kind = row["part"], row["color"]
        most = min(int(row["qty"]), need[kind])
        pieces = program.variable(0, most, cost=Fraction(row["price"]))
        program.row({pieces: 1, opened[row["seller"]]: -most}, None, 0)
        sold[kind][pieces] = 1
        total[kind] += most
    for kind, qty in need.items():
        met = min(qty, total[kind])
        program.row(sold[kind], met, met)
    return program


def main(words):
    model, solver, seconds, folder = words[0], words[1], float(words[2]), words[3]
    clock = Clock()
    if model == "flat":
        program, high, split = flat_program(folder), None, None
    else:
        split = mip.Split(mip.market_of(folder))
        relaxed = split.solve_with("highs", seconds, costs=split.total_unmet(), relaxed=True)
        high = mip.math.ceil(relaxed[1] - 1e-6)
    watch(clock)
    try:
        if split is None:
            _, cost, bound = program.solve(solver, seconds)
        else:
            _, cost, bound = split.solve_with(solver, seconds, high=high)
    except mip.TimeOut:
        print("%.3f,no,," % clock.seconds)
        return
    print("%.3f,%s,%.9f,%.9f" % (clock.seconds, "yes" if cost - bound < 0.005 else "no", cost, bound))


if __name__ == "__main__":
    if len(sys.argv) != 5:
        sys.exit(__doc__)
    main(sys.argv[1:])
