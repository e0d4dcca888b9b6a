"""Runs every program on large inputs of one shape after the other, at 1, 2, 4 and 8 times a size, and prints what
each took: a row a program and shape, seconds of processor time and megabytes of memory at each size. There is
no verdict on time. Where a program refuses, the row says so.

usage: large.py [--programs A,B] [SHAPE[=SIZE]]...      default: all shapes, at the sizes below

Shapes of a list: field (bytes of one field), columns, rows (equal ones), names (rows that are all different), line
(one physical line without a quote or a delimiter), quote (a field that is never closed).
Shapes of a side file, by its rows, for the programs that read it: those of SIDES.
An exit status of more than 2, or no message with 2, ends it with a failure; so does a refusal of a side file.
"""

import datetime
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
    with open("weighed.csv", "w", encoding="ascii") as out:
        out.write("seller,charge,basis,from,amount\n*,post,weight,0,1\n")
    with open("coded.csv", "w", encoding="ascii") as out:
        out.write("code,qty\nC1,2\nC2,2\n")


ORDERS = HEAD[:-1]
SWAP = {"lot-swap -r": ("lot-swap -q -r side", "plain")}
KEEP = {
    "lot-split --keep": ("lot-split -q -o plain --keep side --effort 100000 " + BUY, "plain"),
    "lot-split --was": ("lot-split -o plain --was side --stay 1 --effort 100000 " + BUY, "plain"),
}
# A side file that grows: (its header, its row number i, size, {what is run: its command, the list}). The file is
# "side"; "sold" is a list with a row for each of as many sellers, "parts" one with a row for each of as many parts.
SIDES = {
    "steps": ("seller,charge,from,amount", "*,post,{i},{i}", 50_000, {
        "lot-total -c": ("lot-total -c side " + BUY, "plain"),
        "lot-drift -c": ("lot-drift -o plain -c side --no-plan " + BUY, "plain"),
        "lot-split -c": ("lot-split -o plain -c side --effort 100000 " + BUY, "plain"),
    }),
    "charges": ("seller,charge,amount", "Attic{i},post,1", 25_000, {
        "lot-total -c": ("lot-total -c side " + BUY, "sold"),
        "lot-drift -c": ("lot-drift -o sold -c side --no-plan " + BUY, "sold"),
        "lot-split -c": ("lot-split -o sold -c side --effort 100000 " + BUY, "plain"),
    }),
    "tariffs": ("tariff,charge,amount", "T{i},post,1", 25_000, {
        "lot-total -c": ("lot-total -c side -s tariffs.csv -C EUR", "sold"),
    }),
    "sellers": ("seller,route,currency", "Attic{i},market,EUR", 25_000, {
        "lot-total -s": ("lot-total -s side -C EUR", "sold"),
        "lot-market -s": ("lot-market -s side -C EUR", "sold"),
        "lot-drift -s": ("lot-drift -o sold -s side --no-plan -C EUR", "sold"),
        "lot-split -s": ("lot-split -o sold -s side -C EUR --effort 100000", "plain"),
    }),
    "adds": ("rule,do,to_part,to_color,qty", "r{i},add,N-{i},red,1", 12_500, SWAP),
    "alternatives": ("rule,do,part,to_part", "r{i},may,P-1,N-{i}", 125, SWAP),
    "uses": ("rule,do,part,to_part", "r{i},use,\"P-[1-9],?|N-.*\",N-{i}", 2_500, SWAP),
    "rule": ("rule,do,part,to_part", "r,may,P-1,N-{i}", 2_500, SWAP),
    "map": ("column,pattern", "part,Teil {i}", 12_500, {
        "lot-norm -m": ("lot-norm -m side", "plain"),
    }),
    "named": ("column,pattern,name", "part,Teil {i},P-{i}", 12_500, {
        "lot-norm -n": ("lot-norm -n side", "plain"),
    }),
    "codes": ("code,part,color", "C{i},P-{i},red", 50_000, {
        "lot-norm --codes": ("lot-norm --codes side", "coded.csv"),
    }),
    "rates": ("date,from,to,rate", "{day},EUR,GBP,0.8", 50_000, {
        "lot-total -x": ("lot-total -x side -s sellers.csv -C GBP", "plain"),
        "lot-market -x": ("lot-market -x side -s sellers.csv -C GBP", "plain"),
        "lot-split -x": ("lot-split -o plain -x side -s sellers.csv -C GBP --effort 100000", "plain"),
    }),
    "weights": ("part,grams", "P-{i},1.5", 50_000, {
        "lot-total -w": ("lot-total -c weighed.csv -w side " + BUY, "plain"),
        "lot-split -w": ("lot-split -o plain -c weighed.csv -w side --effort 100000 " + BUY, "plain"),
    }),
    "others": ("item,amount,currency", "Item {i},1.50,EUR", 50_000, {
        "lot-total --others": ("lot-total --others side " + BUY, "plain"),
    }),
    "shares": ("model,lot,part,color,qty,seller,amount", "M{i},P/red,P{i},red,2,Attic{i},0.20", 25_000, {
        "lot-total --shares": ("lot-total --by model --shares side " + BUY, "sold"),
    }),
    "kept": ("seller,part,color,qty,price,state", "Attic,P{i},red,2,0.10,open", 12_500, KEEP),
    "paid": ("seller,part,color,qty,price,state", "Attic{i},P-{i},red,2,0.10,paid", 12_500, KEEP),
    "stock": ("part,color,qty,place", "P-1,red,1,box {i}", 12_500, {
        "lot-split -k": ("lot-split -o plain -k side --effort 100000 " + BUY, "plain"),
        "lot-owned -k": ("lot-owned -k side --left left.out --taken taken.out", "plain"),
    }),
    "wanted": ("part,color,qty,lot", "P{i},red,2,one", 1_250, {
        "lot-check -e": ("lot-check -e side", "parts"),
        "lot-owned": ("lot-owned -k parts", "side"),
    }),
}


def give_side(header, row, size, path):
    first = datetime.date(1000, 1, 1).toordinal()
    with open(path, "w", encoding="ascii") as out:
        out.write(header + "\n")
        for i in range(1, size + 1):
            day = datetime.date.fromordinal(first + i) if "{day}" in row else ""
            out.write(row.format(i=i, day=day) + "\n")


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


def tell(name, shape, size, did):
    """Prints a row of (status, seconds, megabytes, what was told) at 1, 2, 4, 8 times."""
    said = "" if did[-1][0] < 2 else "  " + ascii(did[-1][3][:70].decode("ascii", "replace"))
    print("%-18s %-24s %7.2f %7.2f %7.2f %7.2f %7.0f %7.0f %7.0f %7.0f%s" % (
        (name, "%s from %d" % (shape, size)) + tuple(d[1] for d in did) + tuple(d[2] for d in did) + (said,)), flush=True)


def side(shape, size, chosen):
    """Measures the programs that read the side file."""
    header, row, _, runs = SIDES[shape]
    runs = {name: given for name, given in runs.items() if name.split()[0] in chosen or name in chosen}
    figures = {name: [] for name in runs}
    for times in (1, 2, 4, 8):
        give_side(header, row, size * times, "side")
        give_side(",".join(ORDERS), "Attic{i},P{i},red,2,0.10,,", size * times, "sold")
        give_side("part,color,qty", "P{i},red,2", size * times, "parts")
        give_side("seller,tariff,currency", "Attic{i},T{i},EUR", size * times, "tariffs.csv")
        for name in runs:
            figures[name].append(run(*runs[name]))
            if figures[name][-1][0] == 2:
                raise SystemExit("%s of %d %s is refused: %s" % (name, size * times, shape, ascii(figures[name][-1][3][:500])))
    for name in runs:
        tell(name, shape, size, figures[name])


def main(words):
    chosen, programs = list(PROGRAMS), sorted(set(name.split()[0] for name in PROGRAMS))
    if words[:1] == ["--programs"]:
        programs = words[1].split(",")
        chosen = [name for name in PROGRAMS if name.split()[0] in programs or name in programs]
        words = words[2:]
    usual = dict(SIZES, **dict((shape, SIDES[shape][2]) for shape in SIDES))
    sizes = dict((shape, int(size or usual[shape])) for shape, _, size in (word.partition("=") for word in words)) or usual
    with tempfile.TemporaryDirectory() as place:
        os.chdir(place)
        set_up()
        for shape, size in sizes.items():
            print("\n%-18s %-24s %31s %31s" % ("", "", "seconds at 1, 2, 4, 8 times", "megabytes"))
            if shape in SIDES:
                side(shape, size, programs)
                continue
            figures = {name: [] for name in chosen}
            for times in (1, 2, 4, 8):
                give(shape, size * times, "in")
                give(shape, size * times, "totals.in", TOTALS, "A,market,1,2,EUR,0.10,0,0,0,0.10".split(","))
                give(shape, size * times, "prices.in", PRICES, "P,red,1,2,0.10,0.10,0.10,0.10,0.10".split(","))
                for name in chosen:
                    figures[name].append(run(*PROGRAMS[name]))
            for name in figures:
                tell(name, shape, size, figures[name])


main(sys.argv[1:])
