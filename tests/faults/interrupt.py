#!/usr/bin/env python3
"""Runs of programs that are ended by a signal, and what they leave.

usage: interrupt.py SHIM KIND [PART] < RUNS

RUNS as starve.py has them; of those, the ones that write files are made. With PART, one in so many of what there is to
be tried.

  kill     SIGKILL before each call that a run makes on files (shim.c), in the middle of it where it writes, with the
           files there before and not. Each file is there whole, as it was or as it should be; the next run does what
           it should, and clears away what is left
  end      SIGHUP, SIGINT and SIGTERM at each call. The run is done, or it is ended by the signal, with all files as
           they were or all as they should be; and nothing is left
  moments  SIGKILL at 200 moments of a run, drawn from those that it takes, with seed 8; where it was done before, again
  pair     each call is a place to stop at, while another run is made from beginning to end, and to go on from

Beside what the runs write stand files of others, whose names are like a temporary's: they are to stay.

Prints a line a run: how many of the runs were met by the signal, how many left a temporary for the next one to clear
away, and how many came out bad. Those are told on stderr. Exit status 1 where there are any.
"""
import os
import random
import signal
import sys
import time

from run import Run, is_left

STRANGERS = {
    ".lotpipe-": b"1", ".lotpipe-12345": b"2", ".lotpipe-1234567": b"3", ".lotpipe-12345g": b"4", ".lotpipe-ABCDEF": b"5",
    "lotpipe-123456": b"6", ".lotpipe-123456.csv": b"7", "short.out.part": b"8",
}
MOMENTS, SEED = 200, 8


class Count:
    def __init__(self):
        self.made = self.ended = self.left = self.bad = 0

    def add(self, other):
        self.made, self.ended = self.made + other.made, self.ended + other.ended
        self.left, self.bad = self.left + other.left, self.bad + other.bad

    def tell(self, what):
        print("%s: %d runs, %d of them met, %d left a temporary, %d bad outcomes" %
              (what, self.made, self.ended, self.left, self.bad), flush=True)

    def note(self, run, what, why):
        self.bad += 1
        print("%s: %s: %s" % (run.name, what, why), run.told(), sep="\n", file=sys.stderr)


def prepare(run, old):
    run.prepare(old)
    places = ["."] + [name for name in run.outputs if os.path.isdir(name)]
    for place in places:
        for name, value in STRANGERS.items():
            with open(os.path.join(place, name), "wb") as handle:
                handle.write(value)
        # One of another: a link is not followed, and not a temporary.
        os.symlink(".lotpipe-", os.path.join(place, ".lotpipe-abcdef"))
    return places


def files_of(run, places, count, what):
    """What is written, without what strangers have; these are looked at."""
    files = run.outputs_now()
    for place in places:
        for name, value in STRANGERS.items():
            path = os.path.normpath(os.path.join(place, name))
            if files.pop(path, None) != value:
                count.note(run, what, "a stranger's file is gone or changed: " + path)
        path = os.path.normpath(os.path.join(place, ".lotpipe-abcdef"))
        if not os.path.islink(path):
            count.note(run, what, "a stranger's link is gone: " + path)
        files.pop(path, None)
    return files


def check_left(run, old, places, count, what):
    """After a run that was ended in whatever way: what is there; then once more to the end."""
    before = run.old if old else {}
    files = files_of(run, places, count, what)
    count.left += any(is_left(name) for name in files)
    for name in set(files) | set(before):
        if not is_left(name) and not name.endswith("/") and \
                files.get(name) not in (before.get(name), run.due.get(name)):
            count.note(run, what, "not whole: " + name)
    status, _ = run.once({})
    if status != 0:
        count.note(run, what, "the next run is not done: exit status %d" % status)
    elif files_of(run, places, count, what) != run.due:
        count.note(run, what, "the next run leaves other files: " +
                   " ".join(sorted(set(run.outputs_now()) ^ set(run.due))))


def kill(run, shim, part, count):
    for number, old in tries(run, shim, (False, True), part):
        places = prepare(run, old)
        what = "killed at call %d" % number
        status, _ = run.once({"LD_PRELOAD": shim, "FAULT": "signal:%d:%d" % (number, signal.SIGKILL)})
        count.made += 1
        count.ended += status == -signal.SIGKILL
        if status not in (0, -signal.SIGKILL):
            count.note(run, what, "exit status %d" % status)
        check_left(run, old, places, count, what)


def tries(run, shim, ways, part):
    return [(number, way) for number in range(1, calls_of(run, shim) + 1) for way in ways][::part]


def calls_of(run, shim):
    run.prepare(False)
    _, counts = run.once({"LD_PRELOAD": shim})
    return max(int(line[2]) for line in counts)


def end(run, shim, part, count):
    for number, which in tries(run, shim, (signal.SIGHUP, signal.SIGINT, signal.SIGTERM), part):
        old = number % 2 == 0
        places = prepare(run, old)
        what = "%s at call %d" % (which.name, number)
        status, _ = run.once({"LD_PRELOAD": shim, "FAULT": "signal:%d:%d" % (number, which)})
        count.made += 1
        count.ended += status == -which
        files = files_of(run, places, count, what)
        if status == 0 and (files != run.due or run.written() != run.due_out):
            count.note(run, what, "done, but not all")
        elif status == -which and files not in (run.due, run.old if old else {}):
            count.note(run, what, "some files are new and some are old, or something is left: " + " ".join(files))
        elif status not in (0, -which):
            count.note(run, what, "exit status %d" % status)
        if run.told() not in (run.due_err, "") and not run.due_err.startswith(run.told()):
            count.note(run, what, "the signal is told of")


def moments(run, _shim, part, count):
    """The clock decides where a run is then: the moments are the same each time, what they meet is not."""
    draw = random.Random(SEED)
    times = []
    for _ in range(5):
        run.prepare(False)
        run.once({}, meanwhile=lambda _: times.append(-time.monotonic()))
        times[-1] += time.monotonic()
    due = MOMENTS // part
    while count.ended < due and count.made < 4 * due:
        after = draw.uniform(0, sorted(times)[2])

        def meanwhile(pid, after=after):
            time.sleep(after)
            os.kill(pid, signal.SIGKILL)

        old = count.made % 2 == 1
        places = prepare(run, old)
        status, _ = run.once({}, meanwhile=meanwhile)
        count.made += 1
        count.ended += status == -signal.SIGKILL
        check_left(run, old, places, count, "killed after %.6f s" % after)


def pair(run, shim, part, count):
    for number, old in tries(run, shim, (False, True), part):
        places = prepare(run, old)
        what = "stopped at call %d" % number
        count.made += 1
        status, other = run.both({"LD_PRELOAD": shim, "FAULT": "signal:%d:%d" % (number, signal.SIGSTOP)})
        count.ended += other is not None
        if other not in (None, 0):
            count.note(run, what, "the other run is not done: exit status %d" % other)
        # lot-deal tells of a directory that was not there, and of files that are not as the index said, but are now.
        told = ("File exists", "was changed since an earlier run wrote it")
        if status != 0 and not (status == 2 and any(why in run.told() for why in told)):
            count.note(run, what, "exit status %d" % status)
        if files_of(run, places, count, what) != run.due:
            count.note(run, what, "other files: " + " ".join(sorted(set(run.outputs_now()) ^ set(run.due))))


def main():
    shim, kind = os.path.abspath(sys.argv[1]), sys.argv[2]
    part = int(sys.argv[3]) if len(sys.argv) > 3 else 1
    top, sums = os.getcwd(), Count()
    for line in sys.stdin:
        name, stdin, command = line.rstrip("\n").split("\t")
        run, count = Run(name, stdin, command, os.path.join(top, "run")), Count()
        if run.outputs:
            {"kill": kill, "end": end, "pair": pair, "moments": moments}[kind](run, shim, part, count)
            count.tell("%s: %s" % (name, kind))
        os.chdir(top)
        sums.add(count)
    sums.tell(kind)
    return 1 if sums.bad or not sums.ended else 0


sys.exit(main())
