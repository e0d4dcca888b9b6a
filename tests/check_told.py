"""Holds what programs tell of hostile input to: lines that start with the program's name, of what a terminal
shows and nothing it obeys, at most 21 faults of a file and 3,000 bytes each; an exit status of 0, 1 or 2; and
where it is 2, nothing on stdout and some reason told.

usage: check_told.py fields|headers|arguments|files|nul|empty|bounds RUNS.tsv

RUNS.tsv has the runs of runs.bash: run, file on stdin, command. The files are in the directory.
"""

import csv
import io
import os
import re
import shutil
import subprocess
import sys

from check_hostile import is_harmless

EVIL = "\x1b[31m\x1b]0;x\x07\u202e\u009b2J\x7f\r\nx\ty"
SIDES = re.compile(r"\S+\.out|dealt")
LINE_MOST, LINES_MOST = 3000, 60


class Run:
    def __init__(self, line):
        self.name, self.input, words = line.rstrip("\n").split("\t")
        self.words = words.split()

    def reads(self, file):
        return self.input == file or file in self.words or any(w.endswith("=" + file) for w in self.words)

    def go(self, words=None, given=None):
        return subprocess.run(words or self.words, capture_output=True, timeout=120,
                              stdin=open(given or self.input, "rb"))


def hold(what, done, refused=False):
    """What was told is as it must be; refused: the exit status must be 2."""
    program = done.args[0]
    told = done.stderr.decode()  # strict: what is told is UTF-8
    if "--rejects" in done.args and refused:  # bad rows go there
        assert done.returncode in (1, 2), (what, told)
        refused = False
    assert done.returncode in ((2,) if refused else (0, 1, 2)), (what, done.returncode, told)
    assert is_harmless(told), (what, told)
    for line in told.splitlines():
        assert line.startswith(program + ": "), (what, line)
        assert len(line.encode()) <= LINE_MOST, (what, len(line))
    assert len(told.splitlines()) <= LINES_MOST, (what, told)
    if done.returncode == 2:
        assert told and not done.stdout, (what, told, done.stdout)


def tables():
    for file in sorted(f for f in os.listdir() if f.endswith(".csv")):
        with open(file, encoding="utf-8", newline="") as text:
            yield file, list(csv.reader(text, delimiter=";" if file == "export.csv" else ","))


def write(file, rows):
    out = io.StringIO()
    csv.writer(out, lineterminator="\n", delimiter=";" if file == "export.csv" else ",").writerows(rows)
    return out.getvalue()


def with_file(file, content, runs, refused=False):
    """Runs those that read the file with other bytes in it."""
    shutil.copy(file, "kept.whole")
    with open(file, "wb") as out:
        out.write(content)
    told = 0
    for run in runs:
        if run.reads(file):
            done = run.go()
            hold((run.name, file, content), done, refused)
            told += done.returncode == 2
    shutil.move("kept.whole", file)
    return told


def fields(runs):
    count = 0
    for file, rows in tables():
        for column in range(len(rows[0])):
            changed = [list(row) for row in rows]
            changed[1][column] = changed[-1][column] = EVIL
            count += with_file(file, write(file, changed).encode(), runs)
        count += with_file(file, write(file, rows[:1] + [[EVIL] * len(rows[0])] * 30).encode(), runs)
        count += with_file(file, write(file, rows[:1] + [["x" * 100000] * len(rows[0])] * 3).encode(), runs)
    assert count > 300, count
    print(count, "runs refused")


def headers(runs):
    count = 0
    for file, rows in tables():
        for column in range(len(rows[0])):
            changed = [list(row) for row in rows]
            changed[0][column] = EVIL
            count += with_file(file, write(file, changed).encode(), runs)
        count += with_file(file, write(file, [[EVIL + str(i) for i in range(3000)]]).encode(), runs)
        count += with_file(file, write(file, [["x" * 100000, EVIL]]).encode(), runs)
        count += with_file(file, b'"' + EVIL.encode(), runs)
    assert count > 100, count
    print(count, "runs refused")


def options_of(program):
    told = subprocess.run([program, "--help"], capture_output=True, text=True, check=True).stdout
    return re.findall(r"^ +(?:-., )?(--[a-z-]+)( \S+)?", told, re.M)


def arguments(runs):
    count = 0
    for program in sorted({run.words[0] for run in runs}):
        run = [run for run in runs if run.words[0] == program][0]
        for option, value in options_of(program):
            for evil in (EVIL, "x" * (200 if "FILE" in value or option == "--dir" else 5000) + EVIL):
                words = [option, evil] if value else [option + "=" + evil]
                if option == "--dir" or "FILE" in value:
                    words[1] = "not/there/" + words[1]
                for given in ([program] + words, run.words + words):
                    done = run.go(given)
                    hold((program, words), done)
                    count += done.returncode == 2
        for words in ([EVIL], ["--" + EVIL], ["-" + EVIL], ["-\u202e"], ["--q" + EVIL], ["", EVIL], [EVIL + "=" + EVIL]):
            done = run.go([program] + words)
            hold((program, words), done, refused=True)
            count += 1
    assert count > 400, count
    print(count, "command lines refused")


def files(runs):
    """Good files and bad ones, under a hostile name."""
    name = EVIL.replace("/", "_") + ".csv"
    bad = "bad" + name
    with open(bad, "w", encoding="utf-8") as out:
        out.write('seller,"x\n')
    count = 0
    for file, _ in tables():
        if file == bad:
            continue
        shutil.copy(file, name)
        for run in runs:
            for path in (name, bad):
                words = [re.sub("(^|=)" + re.escape(file) + "$", lambda m: m[1] + path, word) for word in run.words]
                if words != run.words:
                    done = run.go(words)
                    hold((run.name, file, path), done, refused=path == bad)
                    count += 1
        os.remove(name)
    for run in runs:
        for word in run.words:
            if SIDES.fullmatch(word):
                for path in (name, os.path.join("not there" + EVIL, "x")):
                    done = run.go([path if w == word else w for w in run.words])
                    hold((run.name, word, path), done)
                    count += 1
    assert count > 80, count
    print(count, "runs")


def nul(runs):
    count = 0
    for file, rows in tables():
        for at in range(2):
            changed = [list(row) for row in rows]
            changed[at][0] = "x\x01y"
            content = write(file, changed).encode().replace(b"\x01", b"\0")
            count += with_file(file, content, runs, refused=True)
    with_file("lines.txt", b"12x P-104 r\0d\n", runs, refused=True)
    assert count > 100, count
    print(count, "runs refused")


def empty(runs):
    count = 0
    for file, rows in tables():
        for column in range(len(rows[0])):
            changed = [list(row) for row in rows]
            for row in changed[1:]:
                row[column] = ""
            count += with_file(file, write(file, changed).encode(), runs)
    assert count > 50, count
    print(count, "runs refused")


with open(sys.argv[2], encoding="utf-8") as listed:
    RUNS = [Run(line) for line in listed]
QTY_MOST, MONEY_MOST = "999999999", "9223372036854.775807"
PAST = {QTY_MOST: ["1000000000", "9" * 30, "1" + "0" * 1000], MONEY_MOST: ["9223372036854.775808", "9" * 40, "1" + "0" * 1000]}
# Codes; and pieces of many offers together, which are as many as money can say.
OTHERWISE = {("rates.csv", "from"), ("prices.csv", "pieces")}
QUANTITIES = {"qty", "step", "least", "of", "surplus", "lots", "pieces", "sellers"}
MONEY = {"penalty", "worth", "price", "grams", "minimum", "order_cost", "from", "over", "amount", "percent", "rate", "tax",
         "home", "home_goods", "home_charges", "home_tax", "rounding", "min", "median", "mean", "p90", "max"}


def bounds(runs):
    """Where a run reads a column, the largest number is read, whatever is then said of it beside others; one past it,
    and any number beyond, is refused by name. A column is read where a text in it is refused."""
    counted = taken = 0
    for file, rows in tables():
        for column, name in enumerate(rows[0]):
            if name not in QUANTITIES | MONEY or (file, name) in OTHERWISE:
                continue
            most = QTY_MOST if name in QUANTITIES else MONEY_MOST
            # lot-plot and lot-show take any table, and larger numbers.
            for run in [r for r in runs if r.reads(file) and r.words[0] not in ("lot-plot", "lot-show")]:

                def told(field):
                    changed = [list(row) for row in rows]
                    at = [i for i in range(1, len(rows)) if rows[i][column] not in ("", "no")] or [1]
                    changed[at[0]][column] = field
                    with open(file, "w", encoding="utf-8", newline="") as out:
                        out.write(write(file, changed))
                    done = run.go()
                    hold((run.name, file, name, field), done)
                    return done

                if told("x").returncode == 2:
                    counted += 1
                    for field in PAST[most]:
                        done = told(field)
                        why = done.stderr.decode()
                        assert done.returncode == 2 and name in why and "too large" in why, (run.name, file, name, field, why)
                    done = told(most)
                    assert '%s "%s" is too large' % (name, most) not in done.stderr.decode(), (run.name, file, done.stderr)
                    taken += done.returncode < 2
                with open(file, "w", encoding="utf-8", newline="") as out:
                    out.write(write(file, rows))
    assert counted > 100 and taken > 30, (counted, taken)
    print(counted, "columns of runs: one past the limit refused in all, the limit itself taken in", taken)


CHECKS = {"fields": fields, "headers": headers, "arguments": arguments, "files": files, "nul": nul, "empty": empty, "bounds": bounds}
try:
    CHECKS[sys.argv[1]](RUNS)
except AssertionError as why:
    sys.exit(ascii(str(why))[:3000])
