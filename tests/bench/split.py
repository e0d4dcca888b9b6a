"""What lot-split takes on drawn markets, against general MIP solvers in the same run on the same machine.

usage: split.py [-s SEEDS] [-t S] [CASE...]      or split.sh, with the same words

    -s SEEDS    seeds of the draws, as 1,2,3 (the default)
    -t S        longest that a solver may take, in seconds (600); in rules-160 HiGHS takes all of it

Cases, all without any named:

    flat-160    160 lots, 300 sellers, 6,000 offers, one flat charge a seller: HiGHS and CBC
    flat-200    200 lots, 2,000 sellers, 50,000 offers, one flat charge a seller: HiGHS
    rules-80    80 lots, 100 sellers, 1,430 offers, every rule: HiGHS
    rules-160   160 lots, 300 sellers, 7,441 offers, every rule: the plan after 30 s, HiGHS's after S
    large       400 lots, 10,000 sellers, 530,000 offers: gap after 60 s, and memory

Times are of the processor: the whole of lot-split, files read and written (the least of three runs, where
it is under a second), and of a solver the solving alone, at gap 0. A ratio is solver / lot-split; where a solver ran out of time it is at least that, `>`.
There is no verdict: what is aimed at stands beside each case.
"""
import csv
import getopt
import os
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "..", "oracle"))

import draw  # noqa: E402

PROGRAM = os.path.join(HERE, "..", "..", "bin", "lot-split")
NO_LIMIT = ["--effort", "10000000000000000000"]
NO_GAP = float("inf")
NAMES = {"highs": "HiGHS", "cbc": "CBC"}
# name: profile of the draw, its sizes, solvers, what is aimed at
CASES = {
    "flat-160": ("flat", (160, 300, 6000), ("highs", "cbc"), "proved, ratio at least 40"),
    "flat-200": ("flat", (200, 2000, 50000), ("highs",), "proved, ratio at least 30"),
    "rules-80": ("market", (80, 100, 1430), ("highs",), "proved, ratio at least 20"),
    "rules-160": ("market", (160, 300, 7441), ("highs",), "no dearer after 30 s, gap under 1 %"),
    "large": ("flat", (400, 10000, 530000), (), "gap at most 1 % after 60 s, under 1024 MiB"),
}


class Run:
    """One run of lot-split: seconds of the processor, peak MiB, and its report."""

    def __init__(self, folder, extra):
        with open(os.path.join(folder, "args"), encoding="utf-8") as handle:
            words = handle.read().split()
        report = os.path.join(folder, "report.csv")
        with open(os.path.join(folder, "need.csv"), "rb") as need, open(os.path.join(folder, "stderr"), "w+b") as told:
            # Not forked: what copies of Python's pages cost would count as lot-split's.
            child = subprocess.Popen([PROGRAM, "-q"] + words + ["--report", report] + extra, cwd=folder,
                                     stdin=need, stdout=subprocess.DEVNULL, stderr=told)
            _, status, used = os.wait4(child.pid, 0)
            child.returncode = os.waitstatus_to_exitcode(status)
            if child.returncode not in (0, 1):
                told.seek(0)
                sys.exit("lot-split failed: " + told.read().decode(errors="replace"))
        self.seconds, self.mib = used.ru_utime + used.ru_stime, used.ru_maxrss / 1024
        with open(report, encoding="utf-8") as handle:
            said = {row["metric"]: row["value"] for row in csv.DictReader(handle)}
        self.cost, self.bound, self.gap = (float(said[name]) for name in ("cost", "bound", "gap_percent"))
        self.proved = said["proved"] == "yes"


def quickest(folder):
    """Of three runs, where one is so short that it would be measured badly."""
    run = Run(folder, [])
    if run.seconds > 1:
        return run
    return min(run, Run(folder, []), Run(folder, []), key=lambda run: run.seconds)


class Solved:
    """What solve.py said."""

    def __init__(self, model, solver, seconds, folder):
        run = subprocess.run([sys.executable, os.path.join(HERE, "solve.py"), model, solver, str(seconds), folder],
                             stdout=subprocess.PIPE, universal_newlines=True, check=True)
        taken, proved, cost, bound = run.stdout.strip().split(",")
        self.seconds, self.proved = float(taken), proved == "yes"
        self.cost, self.gap = None, NO_GAP
        if cost:
            self.cost = float(cost)
            self.gap = max(0.0, self.cost - float(bound)) / abs(self.cost) * 100 if self.cost else 0.0


def median(numbers):
    """Of an even number of them the lower of the two in the middle."""
    numbers = sorted(numbers)
    return numbers[(len(numbers) - 1) // 2]


def put(*cells):
    widths = (9, 24, 26, 10, 26, 10)
    print("".join(("%-*s" % (width, cell)) for width, cell in zip(widths, ("  " + cells[0],) + cells[1:])).rstrip(),
          flush=True)


def gap_text(gap):
    return "no plan" if gap == NO_GAP else "gap %.3f %%" % gap


def ratio_text(ratio):
    return "%s%.1f" % ("> " if ratio[1] else "", ratio[0])


def beside(run, solved):
    """A solver's answer as a cell, and its ratio: (number, is it at least that)."""
    ratio = (solved.seconds / max(run.seconds, 0.001), not solved.proved)
    cell = "%.2f s %s" % (solved.seconds, "-" if solved.cost is None else "%.2f" % solved.cost)
    if not solved.proved:
        cell += " not proved"
    elif run.proved and abs(run.cost - solved.cost) > 0.006:
        cell += " DIFFERS"
    return cell, ratio


def compare(case, folder_of, seeds, seconds):
    profile, _, solvers, _ = CASES[case]
    model, ratios = "flat" if profile == "flat" else "rules", {solver: [] for solver in solvers}
    put("seed", "lot-split", *(word for solver in solvers for word in (NAMES[solver], "ratio")))
    for seed in seeds:
        folder = folder_of(seed)
        run = quickest(folder)
        cells = ["%d" % seed, "%.2f s %.2f%s" % (run.seconds, run.cost, "" if run.proved else " " + gap_text(run.gap))]
        for solver in solvers:
            cell, ratio = beside(run, Solved(model, solver, seconds, folder))
            ratios[solver].append(ratio)
            cells += [cell, ratio_text(ratio)]
        put(*cells)
    put("median", "", *(cell for solver in solvers for cell in ("", ratio_text(median(ratios[solver])))))


def race(folder_of, seeds, seconds):
    gaps = []
    put("seed", "lot-split, 30 s", "HiGHS, %g s" % seconds, "lot-split dearer by")
    for seed in seeds:
        folder = folder_of(seed)
        run = Run(folder, ["--time", "30"] + NO_LIMIT)
        solved = Solved("rules", "highs", seconds, folder)
        gaps.append((run.gap, solved.gap))
        cells = [str(seed), "%.2f %s" % (run.cost, gap_text(run.gap)), gap_text(solved.gap)]
        if solved.cost is not None:
            cells[2] = "%.2f %s" % (solved.cost, cells[2])
            cells.append("%.3f %%" % ((run.cost / solved.cost - 1) * 100))
        put(*cells)
    put("median", *(gap_text(median(found)) for found in zip(*gaps)))


def large(folder_of, seeds):
    runs = []
    put("seed", "lot-split, 60 s", "memory")
    for seed in seeds:
        run = Run(folder_of(seed), ["--time", "60"] + NO_LIMIT)
        runs.append(run)
        put(str(seed), "%.2f %s" % (run.cost, gap_text(run.gap)), "%.0f MiB" % run.mib)
    put("median", gap_text(median(run.gap for run in runs)), "%.0f MiB" % median(run.mib for run in runs))


def main(words):
    try:
        options, cases = getopt.getopt(words, "s:t:")
    except getopt.GetoptError as error:
        sys.exit("split.py: %s\n%s" % (error, __doc__))
    options = dict(options)
    seeds = [int(seed) for seed in options.get("-s", "1,2,3").split(",")]
    seconds = float(options.get("-t", "600"))
    if set(cases) - set(CASES):
        sys.exit("split.py: cases are %s" % ", ".join(CASES))
    print("lot-split on drawn markets, processor time, seeds %s" % ", ".join(map(str, seeds)))
    for case in cases or CASES:
        profile, sizes, _, aim = CASES[case]
        print("\n%s: %d lots, %d sellers, %d offers, %s (aim: %s)" % (
            (case,) + sizes + ("one flat charge a seller" if profile == "flat" else "every rule", aim)), flush=True)
        with tempfile.TemporaryDirectory() as scratch:
            def folder_of(seed, profile=profile, sizes=sizes, scratch=scratch):
                folder = os.path.join(scratch, str(seed))
                draw.draw(profile, seed, folder, *sizes)
                return folder
            if case == "rules-160":
                race(folder_of, seeds, seconds)
            elif case == "large":
                large(folder_of, seeds)
            else:
                compare(case, folder_of, seeds, seconds)


if __name__ == "__main__":
    main(sys.argv[1:])
