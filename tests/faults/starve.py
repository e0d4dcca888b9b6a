#!/usr/bin/env python3
"""Runs of programs in which what they ask of the system fails, one request at a time (shim.c).

usage: starve.py SHIM KIND [FIRST [STRIDE]] < RUNS

RUNS has a line a run: its name, the file on stdin, the command, parted by tabs. The files that it reads are in inputs,
in the current directory; what it writes is taken from a run without faults. Of the points where a fault of the KIND
can be, the first FIRST are tried, and of each STRIDE behind them one, drawn with SEED; all of them without FIRST.

  alloc   no memory, at each request for some
  scarce  no memory, from that request on
  full    a disk that is full, at each byte of what is written
  call    EIO from each call on files, directories and processes
  dead    EIO from that call on: what is left behind then, the next run clears away
  short   one byte at a time is read and written; two; seven; so is everything, interrupted
  limit   64 MiB of address space, and a list of as many bytes, which is the run's own again and again, where equal rows
          would be one with a number in each: no shim

Every other time the files to be written are there before, with something else in them.

What is good: the exit status is 2; the last line told is the trouble, by its name, and what is told before it is what
is told before it in a run without faults; stdout is empty, or where a write failed the beginning of what it should be;
each file that is written is whole, or as it was; and nothing else is there. Or else the program could do without:
status, stdout, stderr and files are as they should be.

Prints a line a run: its name, the faults that were made, how many of them the program did without, and how many came
out bad. Each of those is told on stderr. Exit status 1 where there are any.
"""
import csv
import os
import random
import sys

from run import LIMIT, Run, is_left

EIO, SEED = 5, 8
# Of a list that is made long: the column that gets a number.
NUMBERED = {"lot-market": "part", "lot-compare": "seller", "lot-norm:files": "part"}
REASONS = {
    "alloc": ["out of memory", "Cannot allocate memory"],
    "scarce": ["out of memory", "Cannot allocate memory"],
    "full": ["No space left on device"],
    "call": ["Input/output error"],
    "dead": ["Input/output error"],
    "limit": ["out of memory"],
}


def wrong(run, status, before, kind, due_err):
    """What is wrong with how a run with a fault came out, or None; and whether it did without."""
    out, err, files = run.written(), run.told(), run.outputs_now()
    left = [name for name in files if is_left(name)]
    files = {name: value for name, value in files.items() if not is_left(name)}
    if status == 0:
        if out != run.due_out or err not in (run.due_err, due_err):
            return "done, but stdout or stderr differs", False
        if files != run.due:
            return "done, but files differ", False
        return left_wrong(run, left, kind), True
    if status != 2:
        return "exit status %d" % status, False
    lines, due = err.splitlines(), run.due_err.splitlines()
    if not lines or not err.endswith("\n"):
        return "nothing is told", False
    if not lines[-1].startswith(run.program + ": ") or not any(why in lines[-1] for why in REASONS[kind]):
        return "the last line is not the trouble", False
    if lines[:-1] != due[: len(lines) - 1]:
        return "something else is told before the trouble", False
    if out and not ("<stdout>" in lines[-1] and run.due_out.startswith(out)):
        return "something is on stdout", False
    for name in set(files) | set(before):
        if files.get(name) not in (before.get(name), run.due.get(name)):
            return "not whole: " + name, False
    if left and kind != "dead":
        return "left behind: " + " ".join(left), False
    return left_wrong(run, left, kind), False


def left_wrong(run, left, kind):
    """What could not be removed the next run removes."""
    if left and kind in ("call", "dead"):
        run.once({})
        left = [name for name in run.outputs_now() if is_left(name)]
    return "left behind: " + " ".join(left) if left else None


def points(count, first, stride):
    if first is None:
        return list(range(1, count + 1))
    draw = random.Random(SEED)
    windows = range(first + 1, count + 1, stride)
    return list(range(1, min(first, count) + 1)) + [draw.randint(i, min(i + stride - 1, count)) for i in windows]


def starve(run, shim, kind, first, stride):
    """Faults, those that were done without, and those that came out bad."""
    made = without = bad = 0
    base = {"LD_PRELOAD": shim}
    run.prepare(False)
    _, counts = run.once(base)
    # Jobs are processes, which count on from where they start.
    allocations, written, calls = (max(int(line[i]) for line in counts) for i in range(3))
    faults = {
        "alloc": lambda: ["alloc:%d" % i for i in points(allocations, first, stride)],
        "scarce": lambda: ["scarce:%d" % i for i in points(allocations, first, stride)],
        "full": lambda: ["full:%d" % (i - 1) for i in points(written, first, stride)],
        "call": lambda: ["call:%d:%d" % (i, EIO) for i in points(calls, first, stride)],
        "dead": lambda: ["dead:%d:%d" % (i, EIO) for i in points(calls, first, stride)],
        "short": lambda: ["short:1", "short:2", "short:7", "interrupted"],
    }[kind]()
    for number, fault in enumerate(faults):
        old = number % 2 == 1
        run.prepare(old)
        status, counts = run.once(dict(base, FAULT=fault))
        made += 1
        why, did = wrong(run, status, run.old if old else {}, kind, run.due_err)
        if kind == "short" and why is None and status != 0:
            why = "not done"
        if why is None and not did and kind != "short" and all(line[3] == "-" for line in counts):
            why = "no fault was made"
        without += did
        if why is not None:
            bad += 1
            failed = " ".join(line[3] for line in counts)
            print("%s: %s (%s)%s: %s" % (run.name, fault, failed, ", over old files" if old else "", why),
                  run.told(), sep="\n", file=sys.stderr)
    return made, without, bad


def lengthened(run):
    """Has the run read a long file in place of its first one, which is made of the same rows again and again."""
    number = next((i for i, word in enumerate(run.command) if word.split("=")[-1] in run.inputs), None)
    name = run.stdin if run.stdin != os.devnull else run.command[number].split("=")[-1]
    if run.stdin != os.devnull:
        run.stdin = "../long"
    else:
        run.command[number] = run.command[number].replace(name, "../long")
    with open(name, "rb") as handle:
        header, *rows = handle.read().splitlines(True)
    with open("../long", "wb") as handle:
        handle.write(header)
        for block in numbered(name, NUMBERED[run.name]) if run.name in NUMBERED else repeated(rows):
            handle.write(block)
            if handle.tell() > LIMIT:
                break
        if rows[-1].startswith(b"TOTAL,"):
            handle.write(rows[-1])


def repeated(rows):
    block = b"".join(rows) * ((1 << 16) // len(b"".join(rows)) + 1)
    while True:
        yield block


def numbered(name, column):
    """Rows of the table without end, no two of them alike, and no total among them."""
    with open(name, newline="", encoding="utf-8") as handle:
        header, *rows = csv.reader(handle)
    at = header.index(column)
    text = "".join(",".join(row[:at] + [row[at] + "%d"] + row[at + 1 :]) + "\n" for row in rows if row[0] != "TOTAL")
    number = 0
    while True:
        lines = []
        for _ in range(1000):
            lines.append(text % tuple(range(number, number + text.count("%"))))
            number += text.count("%")
        yield "".join(lines).encode()


def limit(run):
    run.clear()
    lengthened(run)
    status, _ = run.once({}, limited=True)
    why, did = wrong(run, status, {}, "limit", None)
    if why is not None:
        # Or else memory does not matter to what it says of the list.
        found = status, run.written(), run.told(), run.outputs_now()
        run.clear()
        status, _ = run.once({})
        if found == (status, run.written(), run.told(), run.outputs_now()):
            why, did = None, True
    if why is not None:
        print("%s: %s" % (run.name, why), run.told(), sep="\n", file=sys.stderr)
    return 1, int(did), int(why is not None)


def main():
    shim, kind = os.path.abspath(sys.argv[1]), sys.argv[2]
    first = int(sys.argv[3]) if len(sys.argv) > 3 else None
    stride = int(sys.argv[4]) if len(sys.argv) > 4 else 1
    sums = [0, 0, 0]
    top = os.getcwd()
    for line in sys.stdin:
        name, stdin, command = line.rstrip("\n").split("\t")
        run = Run(name, stdin, command, os.path.join(top, "run"))
        found = limit(run) if kind == "limit" else starve(run, shim, kind, first, stride)
        os.chdir(top)
        print("%s: %s: %d faults, %d done without, %d bad outcomes" % ((name, kind) + found), flush=True)
        sums = [a + b for a, b in zip(sums, found)]
    print("%s: %d faults, %d done without, %d bad outcomes" % ((kind,) + tuple(sums)))
    return 1 if sums[2] or sums[1] == (sums[0] if kind != "short" else 0) else 0


sys.exit(main())
