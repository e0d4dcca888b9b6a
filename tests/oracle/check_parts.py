"""The parts that lot-total shows add up to the total that it shows, in every row and in the TOTAL row.

    check_parts.py [--program FILE] ORDERS SETS      ORDERS drawn orders, in SETS files

Orders are drawn as check_total.py draws them: every rule of charges and taxes, every way of rounding, in
currencies of 0, 2 and 3 decimals. Nothing is counted a second time here, but added up, with Python's decimal:

    goods + charges (with --each-charge: each of them) + tax = total, in order currency
    the taxes, where each is shown, = tax
    home_goods + home_charges + home_tax + rounding = home
    TOTAL = the sum of the rows, column by column; but with --cash home is the multiple of M that is nearest
        to that sum, and rounding takes the difference

and every amount has exactly the decimals of its currency. Prints a line a fault, and last
`N orders, N rows at fault`.
"""
import csv
import io
import os
import subprocess
import sys
import tempfile
from decimal import Decimal, getcontext

import check_total
import landed

getcontext().prec = 60
OWN_AFTER = "tax total home_currency home_goods home_charges home_tax rounding home home_estimated estimated_percent".split()
OWN_BEFORE = "seller route lots pieces currency goods".split()


def rows_of(program, folder, words):
    with open(os.path.join(folder, "orders.csv"), "rb") as orders:
        run = subprocess.run([os.path.abspath(program), "-q"] + words, cwd=folder, stdin=orders,
                             stdout=subprocess.PIPE, stderr=subprocess.PIPE, check=False)
    if run.returncode > 1:
        raise RuntimeError(run.stderr.decode("utf-8", "replace").strip()[-300:])
    reader = csv.DictReader(io.StringIO(run.stdout.decode("utf-8"), newline=""), strict=True)
    return list(reader), list(reader.fieldnames)


def decimals_fit(row, names, currency):
    places = landed.MINOR_UNITS.get(currency, 2)
    return all(len(row[name].partition(".")[2]) == places for name in names)


def row_faults(row, each, taxes):
    """What does not add up in one row. `each`: the columns of charges; `taxes`: those of each tax."""
    faults, own = [], ["goods"] + each + taxes + ["tax", "total"]
    if row["currency"]:
        if sum(Decimal(row[name]) for name in ["goods"] + each + ["tax"]) != Decimal(row["total"]):
            faults.append("total")
        if taxes and sum(Decimal(row[name]) for name in taxes) != Decimal(row["tax"]):
            faults.append("taxes")
        if not decimals_fit(row, own, row["currency"]):
            faults.append("decimals")
    elif any(row[name] for name in own):
        faults.append("mixed currencies")
    home = "home_goods home_charges home_tax rounding".split()
    if sum(Decimal(row[name]) for name in home) != Decimal(row["home"]):
        faults.append("home")
    if not decimals_fit(row, home + ["home"], row["home_currency"]):
        faults.append("decimals at home")
    return faults


def sum_faults(total, rows, columns, cash):
    """What the TOTAL row does not have of the rows."""
    faults = []
    for name in columns:
        if name in ("seller", "route", "currency", "home_currency", "estimated_percent") or total[name] == "":
            continue
        difference = Decimal(total[name]) - sum(Decimal(row[name]) for row in rows)
        if cash and name in ("home", "rounding"):
            if abs(difference) * 2 > cash or (name == "home" and Decimal(total[name]) % cash):
                faults.append(name + " in cash")
        elif difference:
            faults.append(name)
    return faults


def check(program, seed, folder, orders):
    check_total.make(seed, folder, orders)
    with open(os.path.join(folder, "args"), encoding="utf-8") as handle:
        words = handle.read().split()
    rows, columns = rows_of(program, folder, words)
    cash = Decimal(words[words.index("--cash") + 1]) if "--cash" in words else None
    taxes = [name for name in columns if name.startswith("tax ")]
    each = [name for name in columns if name not in OWN_BEFORE + OWN_AFTER + taxes]
    faults = ["%s: %s" % (row["seller"], fault) for row in rows for fault in row_faults(row, each, taxes)]
    faults += ["TOTAL: %s is not the sum" % name for name in sum_faults(rows[-1], rows[:-1], columns, cash)]
    if rows[-1]["seller"] != "TOTAL" or sum(row["route"] != "other" for row in rows[:-1]) != orders:
        faults.append("rows are missing")
    return faults


def main(words):
    program = os.path.join(check_total.HERE, "..", "..", "bin", "lot-total")
    if words[:1] == ["--program"]:
        program, words = words[1], words[2:]
    if len(words) != 2:
        sys.exit(__doc__)
    orders, sets, count, at_fault = int(words[0]), int(words[1]), 0, 0
    with tempfile.TemporaryDirectory() as scratch:
        for seed in range(1, sets + 1):
            size = orders // sets + (seed <= orders % sets)
            faults = check(program, seed, os.path.join(scratch, str(seed)), size)
            count, at_fault = count + size, at_fault + len(faults)
            for fault in faults[:5]:
                print("set %d: %s" % (seed, fault))
    print("%d orders, %d rows at fault" % (count, at_fault))
    return int(at_fault > 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
