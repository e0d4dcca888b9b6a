"""Conversions by the fixed rates of 1999, against Python's decimal.

    conversions.py PROGRAM      PROGRAM is lot-total

The rates are those of Council Regulation (EC) No 2866/98: one euro in each currency. Amounts of each
currency are converted to euro by dividing, from euro by multiplying, and to the others through the euro with
nothing rounded between, to the minor unit of ISO 4217, half up. Amounts: minor units, each amount whose
conversion lies halfway between two, and drawn ones. Last line: `N conversions, N differ`.
"""
import csv
import io
import random
import subprocess
import sys
import tempfile
from decimal import ROUND_HALF_UP, Decimal, getcontext

getcontext().prec = 60

RATES = {"ATS": "13.7603", "BEF": "40.3399", "DEM": "1.95583", "ESP": "166.386", "FIM": "5.94573", "FRF": "6.55957",
         "IEP": "0.787564", "ITL": "1936.27", "LUF": "40.3399", "NLG": "2.20371", "PTE": "200.482"}
NO_MINOR_UNIT = {"BEF", "ESP", "ITL", "LUF", "PTE"}


def unit(code):
    return Decimal(1) if code in NO_MINOR_UNIT else Decimal("0.01")


def amounts(rng, source, target):
    """Amounts to convert, in minor units of the source."""
    found = [unit(source) * count for count in (1, 2, 5, 10, 100, 1000)]
    found += [(Decimal(rng.randint(1, 10 ** rng.randint(2, 9))) * unit(source)) for _ in range(40)]
    if source == "EUR":  # rate x amount ends in a half of the target's unit
        rate = Decimal(RATES[target])
        found += [cents for cents in (unit(source) * k for k in range(1, 20000))
                  if (cents * rate / unit(target)) % 1 == Decimal("0.5")][:20]
    return found


def converted(amount, source, target):
    if source != "EUR":
        amount = amount / Decimal(RATES[source])
    if target != "EUR":
        amount = amount * Decimal(RATES[target])
    return amount.quantize(unit(target), ROUND_HALF_UP)


def run(program, folder, source, target, wanted):
    orders = "seller,part,color,qty,price,currency\n" + "".join(
        "s%06d,P,red,1,%s,%s\n" % (number, amount, source) for number, amount in enumerate(wanted))
    done = subprocess.run([program, "-q", "-x", folder + "/rates.csv", "-C", target], input=orders.encode(),
                          stdout=subprocess.PIPE, check=True)
    rows = list(csv.DictReader(io.StringIO(done.stdout.decode()), strict=True))
    return [row["home"] for row in rows[:-1]]


def main(program):
    rng, count, faults = random.Random(1999), 0, 0
    with tempfile.TemporaryDirectory() as folder:
        with open(folder + "/rates.csv", "w", encoding="utf-8") as handle:
            handle.write("from,to,rate\n" + "".join("EUR,%s,%s\n" % pair for pair in RATES.items()))
        codes = ["EUR"] + list(RATES)
        for source in codes:
            for target in codes:
                if source == target:
                    continue
                wanted = amounts(rng, source, target)
                for amount, said in zip(wanted, run(program, folder, source, target, wanted)):
                    due = str(converted(amount, source, target))
                    count += 1
                    if said != due:
                        faults += 1
                        print("%s %s are %s %s, not %s" % (amount, source, due, target, said))
    print("%d conversions, %d differ" % (count, faults))
    return int(faults > 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
