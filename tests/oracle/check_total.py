"""Runs lot-total on generated orders and compares every field with an independent costing.

    check_total.py [--program FILE] [--keep DIR] FROM TO      seeds FROM to TO

Each set has 1 to 6 orders: every basis of a charge, steps by `from` and `over` (often met to the cent),
class rows, tariffs, `*`, percent and negative amounts, charges after others, estimates, tax on goods or all
with `taxed` either way, included or several, minor units of 0, 2 and 3 decimals (ISO 4217: JPY, USD EUR GBP,
KWD), rates as given, by the reverse, and through a third currency, of a day, with a fee, a column a
currency, weights from the lines or a file, other costs, --each-charge, --tax-by, --round, --round-by and
--cash. Figures: landed.py, exact fractions. Prints a line a failure, and last `N sets, N failures`.
"""
import csv
import io
import os
import random
import subprocess
import sys
import tempfile

import draw
import landed

HERE = os.path.dirname(os.path.abspath(__file__))
LINES = landed.ORDER_COLUMNS
VALUE = {"USD": 1.0, "EUR": 1.0837, "GBP": 1.2711, "JPY": 0.0067, "KWD": 3.2571}  # in USD; sizes only, invented


def money(rng, usual, currency, places):
    """An amount around a usual size in USD, in a currency, as text; 0 decimals now and then."""
    amount = usual * rng.uniform(0.3, 2) / VALUE[currency]
    return draw.decimal(amount, places if currency != "JPY" else min(places, 2))


def lines_of(rng, seller, route, currency, kinds, weights):
    rows = []
    for _ in range(rng.randint(1, 7)):
        part, color, klass = rng.choice(kinds)
        price = money(rng, 0.6, currency, rng.choice((2, 2, 3, 4, 6)))
        row = {"seller": seller, "route": route, "class": klass, "lot": part + "/" + color, "part": part,
               "color": color, "condition": rng.choice(("", "", "new")), "qty": rng.choice((1, 2, 5, 7, 10, 40, 250)),
               "price": price, "currency": currency, "surplus": "0"}
        row["amount"] = draw.decimal(0, 0) if price == "0" else plain_product(row["qty"], price)
        if part not in weights or draw.likely(rng, 0.3):
            row["grams"] = draw.decimal(rng.uniform(0.1, 5), 2)
        rows.append(row)
    return rows


def plain_product(qty, price):
    text = landed.text_of(qty * landed.Fraction(price), 6)
    return text.rstrip("0").rstrip(".")


def place(rng, basis, lines, currency, usual):
    """Where a step stands: often just where an order is."""
    if draw.likely(rng, 0.4):
        mine = [landed.Line(row["class"], (row["part"], row["color"], row["condition"]), row["qty"],
                            landed.Fraction(row["price"]), landed.Fraction(row.get("grams") or 0)) for row in lines]
        return plain_product(1, landed.measure(basis, mine))
    if basis == "value":
        return money(rng, usual, currency, 2)
    return draw.decimal(rng.uniform(0, 2) * {"weight": 150, "pieces": 60, "lots": 4}[basis], 0)


def charges_of(rng, lines, currency, classes):
    """Charge rows of one speaker, without its name."""
    rows, seen = [], set()
    for _ in range(rng.randint(1, 5)):
        name, klass = rng.choice(("handling", "shipping", "insurance", "rebate")), rng.choice(["", ""] + classes)
        if (name, klass) in seen:
            continue
        seen.add((name, klass))
        basis = rng.choice(("", "value", "weight", "pieces", "lots"))
        currency_said = rng.choice(("", currency, "USD"))
        places = set()
        for step in range(rng.choice((1, 1, 2, 3))):
            row = {"charge": name, "class": klass, "basis": basis, "currency": currency_said,
                   "taxed": rng.choice(("", "", "yes", "no"))}
            at = place(rng, basis or "value", lines, currency_said or currency, 20)
            if (at in places or landed.Fraction(at) == 0) and step:
                continue
            if step or draw.likely(rng, 0.4):
                row[rng.choice(("from", "over"))] = at
                places.add(at)
            row["estimate"] = rng.choice(("", "", "", "yes", "no"))
            kind = rng.random()
            sign = "-" if name == "rebate" else ""
            if kind < 0.7:
                row["amount"] = sign + money(rng, 2, currency_said or currency, rng.choice((2, 2, 4)))
            if kind > 0.55:
                row["percent"] = sign + rng.choice(("3", "7.5", "12.345", "0.001"))
            rows.append(row)
    return rows + after_others(rng, rows, lines, classes)


def after_others(rng, before, lines, classes):
    """Duty, and import tax after it: charges by landed cost, after some of those there are."""
    rows, names = [], sorted({row["charge"] for row in before})
    for name in ("duty", "import tax"):
        if not draw.likely(rng, 0.3):
            continue
        after, klass, places = rng.sample(names, rng.randint(0, len(names))), rng.choice(["", ""] + classes), set()
        for _ in range(rng.choice((1, 1, 2))):
            at = place(rng, "value", lines, "USD", 15)
            if at in places:
                continue
            places.add(at)
            row = {"charge": name, "class": klass, "basis": "landed", "after": "|".join(after),
                   "taxed": rng.choice(("", "no", "no")), "percent": rng.choice(("4.7", "19", "20", "2.125")),
                   "estimate": rng.choice(("", "yes")), rng.choice(("from", "over")): at}
            if draw.likely(rng, 0.3):
                row.update(amount=money(rng, 2, "USD", 2), currency=rng.choice(("", "USD")))
            rows.append(row)
        names += [name] * any(row["charge"] == name for row in rows)
    return rows


def rates_of(rng, used):
    """Rows of rates, each currency against the first, and the options that go with them."""
    rows, words = [], []
    days = sorted("2026-%02d-%02d" % (rng.randint(1, 12), rng.randint(1, 28)) for _ in range(3))
    dated, fees, wide = draw.likely(rng, 0.4), draw.likely(rng, 0.4), draw.likely(rng, 0.3)
    for other in used[1:]:
        for day in sorted(set(rng.choices(days, k=2) if dated else days[:1])):
            turned = not wide and draw.likely(rng, 0.5)
            pair = (other, used[0]) if turned else (used[0], other)
            row = {"from": pair[0], "to": pair[1], "date": day if dated else "",
                   "rate": draw.decimal(VALUE[pair[0]] / VALUE[pair[1]] * rng.uniform(0.9, 1.1), 6)}
            row["fee"] = rng.choice(("", "1.5", "2", "0.75")) if fees else ""
            rows.append(row)
    if dated and draw.likely(rng, 0.5):
        words += ["--on", max(min(row["date"] for row in rows if set((row["from"], row["to"])) == set((used[0], other)))
                              for other in used[1:])] if rows else []
    columns = ["from", "to", "rate"] + ["date"] * dated + ["fee"] * fees
    if not wide or not rows:
        return columns, rows, words if rows else []
    # One fee a row, so rows of one currency each; which is also how gaps look.
    table = [dict(row, **{row["to"]: row["rate"]}) for row in rows]
    return ["date"] * dated + used[1:] + ["fee"] * fees, table, words + ["--rates-base", used[0]]


def others_of(rng, currencies, home):
    return [{"item": name, "amount": ("-" if name == "voucher" else "") + money(rng, 9, currency or home, 3),
             "currency": currency, "tax": rng.choice(("", "7", "5.3+0.7"))}
            for name in rng.sample(("instructions", "tray", "voucher"), rng.randint(1, 3))
            for currency in (rng.choice(currencies + [""]),)]


def make(seed, folder, orders=None):
    """Writes a set: orders.csv, sellers.csv, charges.csv, rates.csv, weights.csv, others.csv, args."""
    rng = random.Random("total %d" % seed)
    os.makedirs(folder, exist_ok=True)
    currencies = rng.sample(sorted(VALUE), rng.choice((1, 2, 3, 4)))
    home = rng.choice(currencies + ["USD"])
    classes = rng.sample(["loose", "packed", "printed"], rng.choice((0, 1, 2)))
    parts = draw.names(rng, 6, "%s-%d")
    kinds = [(part, rng.choice(draw.COLORS), rng.choice(classes + [""])) for part in parts]
    weights = {part: draw.decimal(rng.uniform(0.1, 5), 2) for part in parts if draw.likely(rng, 0.7)}
    lines, sellers, charges, by_tariff = [], [], [], {}
    for shop in draw.names(rng, orders or rng.randint(1, 6), "%s%02d"):
        currency, route = rng.choice(currencies), rng.choice(("market", "market", "direct"))
        mine = lines_of(rng, shop, route, currency, kinds, weights)
        lines += mine
        for row in mine:
            row.setdefault("grams", "" if row["part"] in weights else "1")
        row = {"seller": shop, "route": route, "currency": currency, "tax": rng.choice(("", "7", "8.25", "19", "7.7", "5.3+0.7", "5+9.975+0.7", "7")),
               "tax_on": rng.choice(("", "goods", "all", "included"))}
        if draw.likely(rng, 0.3):
            row["minimum"] = money(rng, 10, currency, 2)
        if draw.likely(rng, 0.3):
            row["tariff"] = rng.choice(("plan-a", "plan-b"))
            by_tariff.setdefault(row["tariff"], []).extend(mine)
        sellers.append(row)
        if draw.likely(rng, 0.6):
            charges += [dict(one, seller=shop) for one in charges_of(rng, mine, currency, classes)]
    for tariff, mine in sorted(by_tariff.items()):
        if draw.likely(rng, 0.7):
            charges += [dict(one, tariff=tariff) for one in charges_of(rng, mine, "USD", classes)]
    charges += [dict(one, seller="*") for one in charges_of(rng, lines[:3], "USD", classes)]
    used = sorted(set(currencies) | {"USD", home})
    rng.shuffle(used)
    columns, rates, rate_words = rates_of(rng, used)
    rng.shuffle(lines)
    draw.write(folder, "orders.csv", LINES, lines)
    draw.write(folder, "sellers.csv", draw.SELLERS, sellers)
    draw.write(folder, "charges.csv", draw.CHARGES, charges)
    draw.write(folder, "rates.csv", columns, rates)
    draw.write(folder, "others.csv", ["item", "amount", "currency", "tax"], others_of(rng, currencies, home))
    draw.write(folder, "weights.csv", ["part", "grams"],
               [{"part": part, "grams": grams} for part, grams in sorted(weights.items())])
    words = "-c charges.csv -x rates.csv -w weights.csv -C".split() + [home] + rate_words
    if draw.likely(rng, 0.85):
        words += ["-s", "sellers.csv"]
    if draw.likely(rng, 0.4):
        words += ["--each-charge"]
    if draw.likely(rng, 0.4):
        words += ["--tax-by", "line"]
    for chance, more in ((0.3, "--round half-even"), (0.3, "--round-by line"), (0.3, "--others others.csv"),
                         (0.3, "--cash 5" if home == "JPY" else "--cash 0.05")):
        words += more.split() if draw.likely(rng, chance) else []
    draw.write_args(folder, words)


def expected(folder):
    """(columns, rows, exit status) by landed.py."""
    with open(os.path.join(folder, "args"), encoding="utf-8") as handle:
        opts = landed.options(handle.read().split())
    for name in ("sellers", "charges", "rates", "weights", "others"):
        if name in opts:
            opts[name] = os.path.join(folder, opts[name])
    columns, rows, below = landed.totals(opts, os.path.join(folder, "orders.csv"))
    return columns, rows, int(below)


def same(column, said, wanted):
    """Equal, and money with as many decimals; `-0.00` is not `0.00`."""
    return said == wanted or (column == "route" and wanted == "" and said in ("", "market", "direct"))


def check(program, folder):
    columns, wanted, status = expected(folder)
    with open(os.path.join(folder, "args"), encoding="utf-8") as handle:
        words = handle.read().split()
    with open(os.path.join(folder, "orders.csv"), "rb") as orders:
        run = subprocess.run([os.path.abspath(program)] + words, cwd=folder, stdin=orders, stdout=subprocess.PIPE,
                             stderr=subprocess.PIPE, check=False)
    if run.returncode != status:
        return ["exit status %d, not %d: %s" % (run.returncode, status,
                                                run.stderr.decode("utf-8", "replace").strip()[-300:])]
    reader = csv.DictReader(io.StringIO(run.stdout.decode("utf-8"), newline=""), strict=True)
    rows = list(reader)
    faults = [] if list(reader.fieldnames or ()) == columns else [
        "header %s, not %s" % (",".join(reader.fieldnames or ()), ",".join(columns))]
    if not rows or rows[-1]["seller"] != "TOTAL":
        return faults + ["the last row is not TOTAL"]
    found = {row["seller"]: row for row in rows}
    if len(rows) != len(wanted) or len(found) != len(wanted):
        faults.append("%d rows, not %d" % (len(rows), len(wanted)))
    for row in wanted:
        said = found.get(row["seller"])
        if said is None:
            faults.append("no row for %s" % row["seller"])
            continue
        for column in columns:
            if not same(column, said.get(column), row[column]):
                faults.append("%s: %s is %s, not %s" % (row["seller"], column, said.get(column), row[column]))
    return faults


def main(words):
    program, keep = os.path.join(HERE, "..", "..", "bin", "lot-total"), None
    while words and words[0].startswith("--"):
        if words[0] == "--program" and len(words) > 1:
            program = words[1]
        elif words[0] == "--keep" and len(words) > 1:
            keep = words[1]
        else:
            sys.exit(__doc__)
        words = words[2:]
    if len(words) != 2:
        sys.exit(__doc__)
    if not os.access(program, os.X_OK):
        sys.exit("check_total.py: %s: no such program; make it first" % program)
    failures, first, last = 0, int(words[0]), int(words[1])
    with tempfile.TemporaryDirectory() as scratch:
        for seed in range(first, last + 1):
            folder = os.path.join(keep or scratch, "total-%d" % seed)
            make(seed, folder)
            try:
                faults = check(program, folder)
            except (landed.Trouble, landed.NotShipped) as trouble:
                faults = ["the set itself is at fault: %s" % trouble]
            failures += bool(faults)
            if faults:
                more = " (and %d more)" % (len(faults) - 1) if len(faults) > 1 else ""
                print("seed %d: %s%s | again: check_total.py --keep D %d %d; cd D/total-%d; "
                      "lot-total $(cat args) < orders.csv" % (seed, faults[0], more, seed, seed, seed), flush=True)
    print("%d sets, %d failures" % (last - first + 1, failures))
    return int(failures > 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
