"""Runs every program on large inputs of one shape after the other, at 1, 2, 4 and 8 times a size, and prints what
each took: a row a program and shape, seconds of processor time and megabytes of memory at each size. There is
no verdict on time. Where a program refuses, the row says so.

usage: large.py [--programs A,B] [SHAPE=SIZE]...      default: all shapes, at the sizes below

Shapes: field (bytes of one field), columns, rows (equal ones), names (rows that are all different), line (one
physical line without a quote or a delimiter), quote (a field that is never closed).
An exit status of more than 2, or no message with 2, ends it with a failure.
"""

import os
import shutil
import subprocess
import sys
import tempfile

SIZES = {"field": 12_500_000, "columns": 125_000, "rows": 250_000, "names": 125_000, "line": 12_500_000, "quote": 1_250_000}

HEAD = ["seller", "part", "color", "qty", "price", "condition", "lot", "model"]
BUY = "-s sellers.csv -C EUR"
PROGRAMS = {
    "lot-norm": ("lot-norm", "in"),
    "lot-norm stock": ("lot-norm --keep-rows stock", "in"),
    "lot-norm offers": ("lot-norm offers", "in"),
    "lot-norm --loose": ("lot-norm --loose --rejects rejects.out", "in"),
    "lot-norm --known": ("lot-norm --known in --unknown unknown.out", "plain"),
    "lot-swap": ("lot-swap -r swaps.csv", "in"),
    "lot-owned": ("lot-owned -k plain --taken taken.out --left left.out", "in"),
    "lot-owned -k": ("lot-owned -k in", "plain"),
    "lot-split -o": ("lot-split -o in %s --effort 1000000" % BUY, "plain"),
    "lot-split": ("lot-split -o plain %s --effort 1000000 --short short.out" % BUY, "in"),
    "lot-total": ("lot-total %s" % BUY, "in"),
    "lot-compare": ("lot-compare a=totals.in", "plain"),
    "lot-check": ("lot-check -e in --all", "in"),
    "lot-deal": ("lot-deal --force -d dealt", "in"),
    "lot-show": ("lot-show", "in"),
    "lot-show markdown": ("lot-show --to markdown", "in"),
    "lot-show html": ("lot-show --to html --group seller", "in"),
    "lot-show sheet": ("lot-show --to sheet", "in"),
    "lot-gain": ("lot-gain -r swaps.csv -o plain %s --effort 100000 --jobs 1" % BUY, "in"),
    "lot-market": ("lot-market -C EUR", "in"),
    "lot-price": ("lot-price --prices prices.csv", "in"),
    "lot-price --prices": ("lot-price --prices prices.in", "plain"),
    "lot-drift": ("lot-drift -o in %s --no-plan" % BUY, "in"),
    "lot-plot": ("lot-plot --label part --columns qty", "in"),
    "lot-plot pareto": ("lot-plot --kind pareto --label part --columns qty", "in"),
}


def give(shape, size, path, header=None, row=None):
    """Writes a file of the shape."""
    def many(text, count):
        """In pieces, so that this program stays small: a child's memory starts at its."""
        while count > 0:
            out.write(text * min(count, 65536 // len(text)))
            count -= 65536 // len(text)

    header, row = header or HEAD, row or ["Attic", "P-1", "red", "2", "0.10", "", "", ""]
    with open(path, "w", encoding="ascii") as out:
        if shape == "line":
            many("x", size)
            out.write("\n")
        elif shape == "quote":
            out.write(",".join(header) + "\n" + ",".join(row[:-1]) + ',"')
            many("x\n", size // 2)
        elif shape == "field":
            out.write(",".join(header) + ",note\n" + ",".join(row) + ",")
            many("x", size)
            out.write("\n")
        elif shape == "columns":
            out.write(",".join(header))
            for i in range(size):
                out.write(",c%d" % i)
            out.write("\n" + ",".join(row))
            for i in range(size):
                out.write(",%d" % i)
            out.write("\n")
        elif shape == "rows":
            out.write(",".join(header) + "\n")
            many(",".join(row) + "\n", size)
        else:
            out.write(",".join(header) + "\n")
            for i in range(size):
                out.write(",".join([field if field in ("0.10", "2", "", "1") else field + str(i) for field in row]) + "\n")


def set_up():
    with open("plain", "w", encoding="ascii") as out:
        out.write(",".join(HEAD) + "\nAttic,P-1,red,2,0.10,,,\nAttic,P-2,red,2,0.10,,,\n")
    with open("sellers.csv", "w", encoding="ascii") as out:
        out.write("seller,route,currency\n*,market,EUR\n")
    with open("swaps.csv", "w", encoding="ascii") as out:
        out.write("rule,do,part,color,to_color,penalty\nr,may,P-[1-9]*,red,blue,0.01\n")
    with open("prices.csv", "w", encoding="ascii") as out:
        out.write("part,color,condition,sellers,pieces,min,median,mean,p90,max\nP-1,red,,1,100,1,1,1,1,1\n")


TOTALS = "seller,route,lots,pieces,home_currency,home_goods,home_charges,home_tax,rounding,home".split(",")
PRICES = "part,color,sellers,pieces,min,median,mean,p90,max".split(",")


def run(words, source):
    """(status, seconds, megabytes, bytes out)"""
    shutil.rmtree("dealt", ignore_errors=True)
    with open(source, "rb") as given, open("out", "wb") as out, open("err", "wb") as err:
        child = subprocess.Popen(words.split(), stdin=given, stdout=out, stderr=err)
        _, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    told = open("err", "rb").read()
    if child.returncode not in (0, 1, 2) or (child.returncode == 2 and not told) or len(told) > 100_000:
        raise SystemExit("%s: exit status %d, %d bytes told: %s" % (words, child.returncode, len(told), ascii(told[:500])))
    return child.returncode, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, told


def main(words):
    chosen = list(PROGRAMS)
    if words[:1] == ["--programs"]:
        chosen = [name for name in PROGRAMS if name.split()[0] in words[1].split(",") or name in words[1].split(",")]
        words = words[2:]
    sizes = dict((shape, int(size)) for shape, _, size in (word.partition("=") for word in words)) or SIZES
    with tempfile.TemporaryDirectory() as place:
        os.chdir(place)
        set_up()
        for shape, size in sizes.items():
            print("\n%-18s %-24s %31s %31s" % ("", "", "seconds at 1, 2, 4, 8 times", "megabytes"))
            figures = {name: [] for name in chosen}
            for times in (1, 2, 4, 8):
                give(shape, size * times, "in")
                give(shape, size * times, "totals.in", TOTALS, "A,market,1,2,EUR,0.10,0,0,0,0.10".split(","))
                give(shape, size * times, "prices.in", PRICES, "P,red,1,2,0.10,0.10,0.10,0.10,0.10".split(","))
                for name in chosen:
                    figures[name].append(run(*PROGRAMS[name]))
            for name in figures:
                did = figures[name]
                said = "" if did[-1][0] < 2 else "  " + ascii(did[-1][3][:70].decode("ascii", "replace"))
                print("%-18s %-24s %7.2f %7.2f %7.2f %7.2f %7.0f %7.0f %7.0f %7.0f%s" % (
                    (name, "%s from %d" % (shape, size)) + tuple(d[1] for d in did) + tuple(d[2] for d in did) + (said,)),
                      flush=True)


main(sys.argv[1:])
