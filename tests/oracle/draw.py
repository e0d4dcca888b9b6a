"""Drawn markets: a need list with offers, sellers, charges and the rest, from a seed.

    draw.py [--seed N] small DIR                     up to 8 lots, 6 sellers, every rule, some unmeetable
    draw.py [--seed N] tiny DIR                      the same in miniature, for full enumeration
    draw.py [--seed N] kept DIR                      4 to 12 lots, 3 to 10 sellers, with orders under way
    draw.py [--seed N] rules DIR                     5 to 40 lots, 4 to 50 sellers, every rule
    draw.py [--seed N] rules DIR LOTS SELLERS        the same at one size
    draw.py [--seed N] flat DIR LOTS SELLERS OFFERS  one flat charge a seller
    draw.py [--seed N] market DIR LOTS SELLERS [OFFERS]   every rule, in the terms that sellers really have

Writes need.csv, offers.csv, sellers.csv, charges.csv, and rates.csv, stock.csv, weights.csv, keep.csv, was.csv
where the draw uses them, and `args`: the options of lot-split, one word a line, for use inside the directory:

    lot-split $(cat args) < need.csv

Prices are log-normal around a part's typical price; sellers are a few big ones and a long tail. All names
are invented. The same seed gives the same files.
"""
import csv
import os
import random
import sys

SYLLABLES = "ba de fi go ku la me ni po ru sa te vi wo zu bra cle dri flo gru ple sko tra".split()
COLORS = "moss slate dune ember fog plum reed chalk night coral".split()
NEED = "lot,part,color,qty,group,model,condition,not_color,penalty,worth,together,grams".split(",")
OFFERS = "seller,part,color,condition,qty,price,class,step,least,listing,grams,currency,code".split(",")
SELLERS = "seller,route,currency,minimum,tax,tax_on,tariff,order_cost".split(",")
CHARGES = "seller,tariff,class,charge,basis,from,over,amount,percent,currency,taxed,after,estimate".split(",")
ORDERS = ("seller,route,class,lot,part,color,condition,qty,price,currency,amount,surplus,grams,listing").split(",")
CURRENCIES = ("USD", "EUR", "GBP")

# What is drawn, and how likely. `value`, `pieces`, `grams`, `lots`: size of a usual order, on which the
# steps of charges and the minimums are set.
SHAPES = {
    "tiny": dict(lots=(1, 4), sellers=(1, 4), qty=(1, 4), density=0.55, value=6, pieces=6, grams=8, order_lots=3,
                 price=1.0, unlimited=0.15, any=0.2, alternatives=0.2, worth=0.12, together=0.25, condition=0.15,
                 stock=0.3, max_orders=0.3, few_kinds=True),
    "small": dict(lots=(2, 8), sellers=(2, 6), qty=(1, 12), density=0.6, value=12, pieces=15, grams=25,
                  order_lots=4, price=0.6, unlimited=0.15, any=0.15, alternatives=0.18, worth=0.1, together=0.3,
                  condition=0.12, stock=0.35, max_orders=0.25),
    "rules": dict(lots=(5, 40), sellers=(4, 50), qty=(1, 20), density=0.3, value=16, pieces=40, grams=60,
                  order_lots=6, price=0.35, unlimited=0.1, any=0.1, alternatives=0.12, worth=0.08, together=0.25,
                  condition=0.08, stock=0.3, max_orders=0.12),
    "market": dict(lots=(0, 0), sellers=(0, 0), qty=(1, 40), density=0.15, value=25, pieces=120, grams=150,
                   order_lots=12, price=0.15, unlimited=0.02, any=0.06, alternatives=0.06, worth=0.03,
                   together=0.03, condition=0.03, stock=0.0, max_orders=0.0, typical=True),
}
SHAPES["kept"] = dict(SHAPES["small"], lots=(4, 12), sellers=(3, 10), max_orders=0.2, stock=0.25)


def likely(rng, chance):
    return rng.random() < chance


def names(rng, count, pattern):
    """Distinct invented names; `pattern` takes a word and a number."""
    found = []
    for index in range(count):
        word = "".join(rng.choice(SYLLABLES) for _ in range(2))
        found.append(pattern % (word, index + 1))
    return found


def decimal(amount, places):
    """Decimal text, no trailing zeros."""
    text = "%.*f" % (places, amount)
    return text.rstrip("0").rstrip(".") if "." in text else text


def write(folder, name, columns, rows):
    with open(os.path.join(folder, name), "w", encoding="utf-8", newline="") as handle:
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(columns)
        writer.writerows([row.get(column, "") for column in columns] for row in rows)


def read(folder, name):
    """Rows and columns of what was written."""
    with open(os.path.join(folder, name), encoding="utf-8", newline="") as handle:
        reader = csv.DictReader(handle)
        return list(reader), list(reader.fieldnames)


def write_args(folder, words):
    with open(os.path.join(folder, "args"), "w", encoding="utf-8", newline="") as handle:
        handle.write("".join(word + "\n" for word in words))


def sizes(rng, count, total, most):
    """How many offers each seller has: a few big ones and a long tail, `total` in all."""
    wanted = [rng.paretovariate(0.9) for _ in range(count)]
    total = min(total, count * most)
    low, high = 0.0, float(total * max(1, most))
    for _ in range(60):  # the factor at which the sizes, cut to 1..most, add up to the total
        middle = (low + high) / 2
        if sum(min(most, max(1, middle * want)) for want in wanted) < total:
            low = middle
        else:
            high = middle
    found = [int(min(most, max(1, high * want))) for want in wanted]
    short = total - sum(found)
    order = sorted(range(count), key=lambda index: wanted[index], reverse=True)
    while short > 0:
        before = short
        for index in order:
            if short > 0 and found[index] < most:
                found[index] += 1
                short -= 1
        if short == before:
            break
    return found


# ---------------------------------------------------------------- one flat charge a seller

def draw_flat(rng, folder, lots, sellers, offers):
    parts, shops = names(rng, lots, "%s-%d"), names(rng, sellers, "%s%05d")
    need = [{"part": part, "color": rng.choice(COLORS), "qty": max(1, int(rng.lognormvariate(2.2, 0.9)))}
            for part in parts]
    typical = [rng.lognormvariate(-2.2, 0.9) for _ in parts]
    rows, terms, charges = [], [], []
    for shop, size in zip(shops, sizes(rng, sellers, offers, lots)):
        level = rng.lognormvariate(0, 0.15)
        for index in rng.sample(range(lots), size):
            price = max(0.001, typical[index] * level * rng.lognormvariate(0, 0.35))
            rows.append({"seller": shop, "part": parts[index], "color": need[index]["color"],
                         "qty": max(1, int(need[index]["qty"] * rng.lognormvariate(0, 0.8))),
                         "price": decimal(price, 3)})
        terms.append({"seller": shop, "route": "market", "currency": "USD"})
        charges.append({"seller": shop, "charge": "shipping", "amount": decimal(rng.uniform(2, 7), 2)})
    write(folder, "need.csv", ["part", "color", "qty"], need)
    write(folder, "offers.csv", ["seller", "part", "color", "qty", "price"], rows)
    write(folder, "sellers.csv", ["seller", "route", "currency"], terms)
    write(folder, "charges.csv", ["seller", "charge", "amount"], charges)
    write_args(folder, "-o offers.csv -s sellers.csv -c charges.csv".split())


# ---------------------------------------------------------------- need

class Kinds:
    """The parts of a draw, their typical prices and weights, and the kinds that the need can use."""

    def __init__(self, rng, shape, lots):
        self.rng = rng
        self.parts = names(rng, max(1, lots), "%s-%d")
        self.price = {part: shape["price"] * rng.lognormvariate(0, 0.8) for part in self.parts}
        self.grams = {part: decimal(rng.uniform(0.1, 4), rng.choice((1, 1, 2))) for part in self.parts}
        self.colors = COLORS[:3] if shape.get("few_kinds") else COLORS
        self.useful = []  # (part, color, condition or "", pieces wanted)

    def want(self, part, color, condition, qty):
        if color == "any":
            several = self.rng.sample(self.colors, 2 if len(self.colors) < 4 else self.rng.randint(2, 4))
            for one in several:
                self.useful.append((part, one, condition, qty))
        else:
            self.useful.append((part, color, condition, qty))


def draw_need(rng, shape, count, kinds):
    rows, label = [], 0
    low, high = shape["qty"]
    for index in range(count):
        part = kinds.parts[index] if likely(rng, 0.85) else rng.choice(kinds.parts)
        if shape.get("typical"):
            qty = min(200, max(1, int(rng.lognormvariate(2.2, 0.9))))
        else:
            qty = rng.randint(low, high) * (3 if likely(rng, 0.05) else 1)
        row = draw_row(rng, shape, part, kinds)
        row["qty"] = qty
        if likely(rng, shape["worth"]):
            row["worth"] = decimal(kinds.price[part] * rng.uniform(0.3, 1.8), 3)
        kinds.want(part, row["color"], row.get("condition", ""), qty)
        if likely(rng, shape["alternatives"]):
            row["lot"] = "spot-%d" % (index + 1)
            if likely(rng, 0.05):
                row["lot"] = rows[-1]["part"] + "/" + rows[-1]["color"] if rows else row["lot"]
                if any(other.get("lot") == row["lot"] for other in rows):
                    row["lot"] = "spot-%d" % (index + 1)
            others = []
            for _ in range(rng.choice((1, 1, 2))):
                other = draw_row(rng, shape, part if likely(rng, 0.6) else rng.choice(kinds.parts), kinds)
                other.update(lot=row["lot"], qty=qty, worth=row.get("worth", ""), group=row.get("group", ""),
                             model=row.get("model", ""))
                if likely(rng, 0.7):
                    other["penalty"] = decimal(kinds.price[part] * rng.uniform(0, 0.4), 3)
                kinds.want(other["part"], other["color"], other.get("condition", ""), qty)
                others.append(other)
            if likely(rng, shape["together"]):  # no mixing: each way is taken in full or not at all
                for other in [row] + others:
                    label += 1
                    other["together"] = "one-%d" % label
            rows += [row] + others
        elif not row.get("worth") and likely(rng, 0.08) and qty > 1:  # one lot, listed for two assemblies
            other = dict(row, qty=rng.randint(1, qty - 1), group="stand")
            row["qty"] -= other["qty"]
            rows += [row, other]
        else:
            rows.append(row)
    if likely(rng, shape["together"]):
        label_rows(rng, rows)
    if likely(rng, 0.1):
        rows.append(dict(draw_row(rng, shape, rng.choice(kinds.parts), kinds), qty=0))
    return rows


def draw_row(rng, shape, part, kinds):
    row = {"part": part, "color": rng.choice(kinds.colors), "model": "heron" if likely(rng, 0.3) else ""}
    if likely(rng, shape["any"]):
        row["color"] = "any"
        row["not_color"] = rng.choice(("", "ember", "ember|fog", ".*e", "(?:du|plu).*", "e"))
    if likely(rng, shape["condition"]):
        row["condition"] = rng.choice(("new", "used", "any", "new"))
    if not row.get("condition") and likely(rng, 0.08):
        row["penalty"] = decimal(kinds.price[part] * rng.uniform(0, 0.2), 3)
    return row


def label_rows(rng, rows):
    """Two or three rows of different lots that are taken in full, all of them, or none."""
    free = [row for row in rows if not row.get("together") and not row.get("group")]
    rng.shuffle(free)
    picked, lots = [], set()
    for row in free[:3]:
        key = row.get("lot") or (row["part"], row["color"])
        if key not in lots:
            lots.add(key)
            picked.append(row)
    if len(picked) > 1:
        twins = [row for row in rows if not row.get("lot") and any(row is not one and same_lot(row, one)
                                                                 for one in picked)]
        for row in picked + twins:
            row["together"] = "pair"


def same_lot(one, other):
    return not other.get("lot") and all(
        one.get(column, "") == other.get(column, "") for column in "part color condition not_color worth".split())


def settle_need(rows):
    """Rows that will be read as one lot must agree in penalty: the first says."""
    first = {}
    for row in rows:
        if not row.get("lot"):
            condition = "" if row.get("condition") == "any" else row.get("condition", "")
            key = (row["part"], row["color"], condition, row.get("not_color", ""), row.get("worth", ""),
                   row.get("together", ""))
            row["penalty"] = first.setdefault(key, row.get("penalty", ""))


# ---------------------------------------------------------------- offers

def draw_offers(rng, shape, kinds, shops, target):
    """Offers of each shop, in a price grid of the draw."""
    places, grid = rng.choice(((2, 0.01), (2, 0.01), (2, 0.01), (2, 0.05), (2, 0.25), (3, 0.001), (4, 0.0001)))
    if shape.get("typical"):
        places, grid = 3, 0.001
    supply = rng.choice(("ample",) * 7 + ("tight",) * 2 + ("scarce",))
    if shape.get("typical"):
        supply = "ample"
    useful = list(kinds.useful)
    extra = [(rng.choice(kinds.parts), rng.choice(kinds.colors), "", 3) for _ in range(1 + len(useful) // 10)]
    missing = set(rng.sample(range(len(useful)), len(useful) // 4)) if supply == "scarce" else set()
    share = {"ample": 1.3, "tight": 0.35, "scarce": 0.5}[supply]
    rows, counts = [], None
    if target:
        counts = sizes(rng, len(shops), int(target / 1.25), len(useful))
    for number, shop in enumerate(shops):
        level, size = rng.lognormvariate(0, 0.15), min(1.0, shape["density"] * rng.lognormvariate(0, 0.5))
        listing = 0
        picks = (rng.sample(range(len(useful)), counts[number]) if counts else
                 [index for index in range(len(useful)) if likely(rng, size)])
        stock = [useful[index] for index in picks if index not in missing]
        stock += [kind for kind in extra if likely(rng, 0.03)]
        for part, color, condition, qty in stock:
            price = kinds.price[part] * level * rng.lognormvariate(0, 0.35)
            for _ in range(2 if likely(rng, 0.05) else 1):
                listing += 1
                row = {"seller": shop, "part": part, "color": color, "code": "%s:%d" % (shop, listing),
                       "condition": condition or (rng.choice(("new", "used", "")) if likely(rng, 0.3) else ""),
                       "qty": max(1, int(qty * share * rng.lognormvariate(0, 0.7))),
                       "price": max(grid, round(price / grid) * grid)}
                if likely(rng, shape["unlimited"]):
                    row["qty"] = ""
                rows += draw_breaks(rng, row, qty, grid, listing)
                price *= rng.uniform(0.7, 1.4)
    for row in rows:
        row["price"] = decimal(row["price"], places)
    if rows and likely(rng, 0.3) and not target:
        rows.append(dict(rng.choice(rows)))  # the same row twice counts once
    if rows and likely(rng, 0.15) and not target:
        twin = dict(rng.choice(rows))        # an offer like another in all that order lines show
        if not twin.get("listing"):
            rows.append(dict(twin, least=rng.randint(2, 4)))
    return rows


def draw_breaks(rng, row, qty, grid, listing):
    """The row, or its price breaks, with step and least."""
    if likely(rng, 0.12):
        row["step"] = rng.choice((2, 2, 3, 5, 10))
    if likely(rng, 0.12):
        rows, least, price = [], rng.choice((1, 1, 2)), row["price"]
        for _ in range(rng.choice((2, 2, 3))):
            rows.append(dict(row, listing="n%d" % listing, least=least, price=max(grid, price)))
            least += rng.randint(1, max(2, qty))
            price = max(grid, round(price * rng.uniform(0.7, 0.97) / grid) * grid)
            if price == rows[-1]["price"]:
                break
        return rows
    if likely(rng, 0.1):
        row["least"] = rng.randint(1, max(2, qty // 2))
    if likely(rng, 0.05):
        row["listing"] = "n%d" % listing
    return [row]


# ---------------------------------------------------------------- sellers and charges

def places_of(rng, usual, factors, grid):
    """Rising places of steps around a usual size, on a grid, all different."""
    found = []
    for factor in factors:
        place = max(grid, round(usual * factor * rng.uniform(0.6, 1.4) / grid) * grid)
        if found and place <= found[-1]:
            place = found[-1] + grid
        found.append(place)
    return found


def steps(rng, row, places, amounts, strict, unit):
    """Step rows of one charge: the first from nothing, then one a place."""
    rows = [dict(row, amount=decimal(amounts[0], 2))]
    if likely(rng, 0.5):
        rows[0]["from"] = "0"
    for place, amount in zip(places, amounts[1:]):
        text = amount if amount == "no" else decimal(amount, 2)
        rows.append(dict(row, **{"over" if strict else "from": decimal(place, unit), "amount": text}))
    return rows


def shipping(rng, shape, fee):
    row, kind = {"charge": "shipping"}, rng.random()
    if shape.get("typical") and kind < 0.15:
        kind += 0.3
    value, pieces = shape["value"], shape["pieces"]
    if kind < 0.2:
        return [dict(row, amount=decimal(fee, 2))]
    if kind < 0.45:  # free from a value on
        row["basis"] = rng.choice(("", "value"))
        return steps(rng, row, places_of(rng, value, (1, 2.2), 0.5), [fee, fee * 0.5, 0], likely(rng, 0.3), 2)
    if kind < 0.65:
        last = ["no"] if likely(rng, 0.25) else []
        return steps(rng, dict(row, basis="weight"), places_of(rng, shape["grams"], (0.3, 1, 3), 0.5),
                     [fee * 0.6, fee, fee * 1.7] + last, likely(rng, 0.7), 1)
    if kind < 0.8:
        last = ["no"] if likely(rng, 0.15) else []
        return steps(rng, dict(row, basis="pieces"), places_of(rng, pieces, (0.4, 1, 2.5), 1),
                     [fee * 0.5, fee * 0.9, fee * 1.3] + last, likely(rng, 0.5), 0)
    if kind < 0.92:
        last = ["no"] if likely(rng, 0.1) else []
        return steps(rng, dict(row, basis="lots"), places_of(rng, shape["order_lots"], (0.4, 1, 2), 1),
                     [fee * 0.4, fee * 0.8, fee * 1.2] + last, likely(rng, 0.5), 0)
    small = places_of(rng, value, (0.3,), 0.5)  # too small an order is not shipped
    return [dict(row, basis="value", amount="no"), dict(row, basis="value", amount=decimal(fee, 2),
                                                        **{"from": decimal(small[0], 2)})]


def draw_charges(rng, shape, classes, currencies):
    """The charge rows of one speaker, without its name."""
    value, fee = shape["value"], shape["value"] * rng.uniform(0.08, 0.3)
    rows = shipping(rng, shape, fee) if likely(rng, 0.9) else []
    if likely(rng, 0.35):
        row = {"charge": "handling", "basis": rng.choice(("value", "pieces", "lots", ""))}
        if likely(rng, 0.5):
            rows.append(dict(row, percent=decimal(rng.uniform(1, 6), 1)))
        else:
            basis = row["basis"] or "value"
            usual = {"value": value, "pieces": shape["pieces"], "lots": shape["order_lots"]}[basis]
            rows += steps(rng, row, places_of(rng, usual, (0.8,), 1), [fee * 0.3, fee * rng.choice((0, 0.5))],
                          likely(rng, 0.4), 0)
    for klass in classes:
        if likely(rng, 0.25):  # a class fee, waived from a value on
            row = {"charge": rng.choice(("handling", "packing")), "class": klass}
            rows += steps(rng, row, places_of(rng, value, (0.7,), 0.5), [fee * 0.4, 0], likely(rng, 0.3), 2)
        if likely(rng, 0.08):
            rows.append({"charge": "care", "class": klass, "basis": "pieces", "amount": decimal(fee * 0.1, 2),
                         "percent": decimal(rng.uniform(0, 5), 1)})
    if likely(rng, 0.3):
        row = {"charge": "rebate"}
        if classes and likely(rng, 0.2):
            row["class"] = rng.choice(classes)
        ladder = places_of(rng, value, (0.8, 1.6, 3), 1)
        column = "over" if likely(rng, 0.3) else "from"
        if likely(rng, 0.75):
            for place, percent in zip(ladder, (-2, -5, -10)):
                rows.append(dict(row, **{column: decimal(place, 2), "percent": str(percent)}))
        else:
            for place, factor in zip(ladder[:2], (-0.2, -0.5)):
                rows.append(dict(row, **{column: decimal(place, 2), "amount": decimal(fee * factor, 2)}))
    if likely(rng, 0.1):
        rows.append({"charge": "insurance", "percent": decimal(rng.uniform(0.5, 3), 2), "taxed": "no"})
    if not rows:
        rows.append({"charge": "shipping", "amount": "0"})
    currency = rng.choice(currencies) if likely(rng, 0.25) else ""
    for row in rows:
        row["currency"] = currency
        if not row.get("taxed") and likely(rng, 0.2):
            row["taxed"] = rng.choice(("yes", "no"))
    return rows


def draw_terms(rng, shape, shops, currencies, classes):
    """Seller rows and charge rows. Returns also each seller's currency, for its offers."""
    tariffs = ["plan-%s" % letter for letter in "abc"]
    terms, charges, of_shop, star = [], [], {}, []
    for shop in shops:
        currency = rng.choice(currencies) if likely(rng, 0.5) else currencies[0]
        row = {"seller": shop, "route": "direct" if likely(rng, 0.12) else "market",
               "currency": currency if currency != currencies[0] or likely(rng, 0.6) else ""}
        if likely(rng, 0.7 if shape.get("typical") else 0.35):
            row["minimum"] = decimal(shape["value"] * rng.choice((0.1, 0.2, 0.3, 0.5)), 2)
        if likely(rng, 0.5):
            row["tax"] = rng.choice(("5", "7", "7.7", "19", "21", "8.25", "20"))
            row["tax_on"] = rng.choice(("", "goods", "all"))
        if likely(rng, 0.35):
            row["tariff"] = rng.choice(tariffs)
        if likely(rng, 0.08):
            row["order_cost"] = decimal(shape["value"] * rng.uniform(0, 0.1), 2)
        of_shop[shop] = currency
        if likely(rng, 0.1) and not shape.get("typical"):
            star.append(shop)
        else:
            terms.append(row)
            if not row.get("tariff") or likely(rng, 0.3):
                if likely(rng, 0.75):
                    charges += [dict(one, seller=shop) for one in draw_charges(rng, shape, classes, currencies)]
    if star:
        row = {"seller": "*", "route": "market", "currency": "", "tax": rng.choice(("", "10")),
               "tariff": rng.choice(["", tariffs[0]])}
        if all(of_shop[shop] == currencies[0] for shop in star) and likely(rng, 0.5):
            row["minimum"] = decimal(shape["value"] * 0.2, 2)
        terms.append(row)
    for tariff in tariffs:
        if likely(rng, 0.8):
            charges += [dict(one, tariff=tariff) for one in draw_charges(rng, shape, classes, currencies)]
    charges += [dict(one, seller="*") for one in draw_charges(rng, shape, classes, currencies)]
    return terms, charges, of_shop, star


def draw_rates(rng, currencies):
    """Rates that reach every pair one way: as given, by the reverse, or through one currency."""
    value = {"USD": 1.0, "EUR": 1.0837, "GBP": 1.2711}
    rows, hub = [], currencies[0] if likely(rng, 0.5) else currencies[-1]
    for other in currencies:
        if other != hub:
            pair = (hub, other) if likely(rng, 0.5) else (other, hub)
            rows.append({"from": pair[0], "to": pair[1], "rate": decimal(value[pair[0]] / value[pair[1]],
                                                                          rng.choice((3, 4, 6)))})
    return rows


# ---------------------------------------------------------------- all of it

def draw_rules(rng, folder, shape, lots, sellers, target=0):
    kinds = Kinds(rng, shape, lots)
    need = draw_need(rng, shape, lots, kinds)
    settle_need(need)
    shops = names(rng, sellers, "%s%02d" if sellers < 100 else "%s%05d")
    currencies = list(CURRENCIES[:1]) if likely(rng, 0.4) and not shape.get("typical") else list(CURRENCIES)
    if len(currencies) > 1 and likely(rng, 0.3) and not shape.get("typical"):
        currencies.pop()
    classes = rng.sample(["loose", "packed", "printed"], rng.choice((0, 1, 2, 3)))
    if shape.get("typical"):
        classes = ["loose", "packed", "printed"]
    offers = draw_offers(rng, shape, kinds, shops, target)
    terms, charges, of_shop, star = draw_terms(rng, shape, shops, currencies, classes)
    klass = {part: rng.choice(classes + [""]) for part in kinds.parts}
    for row in offers:
        row["class"] = klass[row["part"]]
    for shop in shops:
        said = shop in star or likely(rng, 0.2)
        for row in offers:
            if row["seller"] == shop and said:
                row["currency"] = of_shop[shop]
    words = ["-o", "offers.csv", "-s", "sellers.csv"]
    if likely(rng, 0.96) or shape.get("typical"):
        words += ["-c", "charges.csv"]
    if len(currencies) > 1:
        write(folder, "rates.csv", ["from", "to", "rate"], draw_rates(rng, currencies))
        words += ["-x", "rates.csv"]
    words += ["-C", "USD"] if len(currencies) > 1 or likely(rng, 0.8) else []
    words += draw_weights(rng, folder, kinds, need, offers)
    words += draw_options(rng, folder, shape, kinds, shops, terms)
    rng.shuffle(offers)
    if "-C" not in words:  # a home must show somewhere
        for row in terms:
            row["currency"] = "USD"
    write(folder, "need.csv", NEED, need)
    write(folder, "offers.csv", OFFERS, offers)
    write(folder, "sellers.csv", SELLERS, terms)
    write(folder, "charges.csv", CHARGES, charges)
    write_args(folder, words)


def draw_weights(rng, folder, kinds, need, offers):
    """Every piece's weight is said somewhere: by the offers, the need, or a file of weights."""
    way = rng.choice(("need", "file", "offers", "mixed", "mixed"))
    for row in need:
        if way == "need" or (way == "mixed" and int(kinds.grams[row["part"]][-1]) % 3 == 0):
            row["grams"] = kinds.grams[row["part"]]
    for row in offers:
        if way == "offers" or (way == "mixed" and not row.get("listing") and likely(rng, 0.2)):
            row["grams"] = kinds.grams[row["part"]]
            if way == "mixed" and likely(rng, 0.5):
                row["grams"] = decimal(float(row["grams"]) + 0.1, 2)
    if way not in ("file", "mixed"):
        return []
    write(folder, "weights.csv", ["part", "grams"],
          [{"part": part, "grams": grams} for part, grams in sorted(kinds.grams.items())])
    return ["-w", "weights.csv"]


def draw_options(rng, folder, shape, kinds, shops, terms):
    words = []
    if likely(rng, shape["stock"]):
        rows = []
        for part, color, condition, qty in kinds.useful:
            if likely(rng, 0.35):
                for place in rng.choice((("tray",), ("tray",), ("tray", "attic"))):
                    rows.append({"part": part, "color": color, "place": place, "qty": rng.randint(1, max(1, qty)),
                                 "condition": condition or rng.choice(("", "used", "new"))})
        write(folder, "stock.csv", ["part", "color", "qty", "condition", "place"], rows)
        words += ["-k", "stock.csv"]
    if likely(rng, 0.35):
        words += ["--order-cost", decimal(shape["value"] * rng.choice((0.01, 0.05, 0.1, 0.25)), 2)]
    if likely(rng, shape["max_orders"]):
        words += ["--max-orders", str(rng.randint(1, max(1, min(4, len(shops) - 1))))]
    if shape.get("typical"):
        return words
    if likely(rng, 0.06) and any(row["seller"] != "*" for row in terms):
        words += ["--route", rng.choice([row["route"] for row in terms])]
    if likely(rng, 0.12) and len(shops) > 1:
        names_known = [row["seller"] for row in terms if row["seller"] != "*"]
        if names_known:
            words += ["--without", ",".join(rng.sample(names_known, min(len(names_known), rng.choice((1, 1, 2)))))]
    if likely(rng, 0.15):
        words += ["--carry", "code"]
    return words


def draw(profile, seed, folder, *numbers):
    """Writes one draw. `numbers`: the sizes that the profile takes."""
    rng = random.Random("%s %d" % (profile, seed))
    os.makedirs(folder, exist_ok=True)
    if profile == "flat":
        draw_flat(rng, folder, *numbers)
        return
    shape = SHAPES[profile]
    if profile == "market":
        lots, sellers = numbers[:2]
        target = numbers[2] if len(numbers) > 2 else round(0.16 * lots * sellers)
        draw_rules(rng, folder, shape, lots, sellers, target)
        return
    lots, sellers = numbers or (rng.randint(*shape["lots"]), rng.randint(*shape["sellers"]))
    draw_rules(rng, folder, shape, lots, sellers)
    if profile == "kept":
        more_kept(rng, folder, shape["value"])


def more_taxes(rng, folder):
    """Gives a draw that is there several taxes, included ones, and rates with fees."""
    rows, columns = read(folder, "sellers.csv")
    for row in rows:
        if likely(rng, 0.6):
            row["tax"] = rng.choice(("19", "5.3+0.7", "5+9.975", "6.25+1+0.5", "7.7"))
            row["tax_on"] = rng.choice(("", "goods", "all", "included"))
    write(folder, "sellers.csv", columns, rows)
    if os.path.exists(os.path.join(folder, "rates.csv")):
        rows, columns = read(folder, "rates.csv")
        for row in rows:
            row["fee"] = rng.choice(("", "1.5", "2"))
        write(folder, "rates.csv", columns + ["fee"], rows)


def duty(rng, value, name, after, percents):
    """The steps of one charge by landed cost: nothing below a value, then a percent, perhaps an amount more."""
    row = {"charge": name, "basis": "landed", "after": "|".join(after), "taxed": rng.choice(("", "yes", "no"))}
    column = rng.choice(("from", "over"))
    rows, places = [], places_of(rng, value, (0.6, 1.5), rng.choice((0.5, 0.01)))
    if likely(rng, 0.35):
        rows.append(dict(row, percent=rng.choice(percents)))
    else:
        rows.append(dict(row, percent=rng.choice(percents), **{column: decimal(places[0], 2)}))
        if likely(rng, 0.2):
            rows[0]["amount"] = decimal(value * 0.05, 2)
    if likely(rng, 0.3):
        rows.append(dict(row, percent=rng.choice(percents), **{column: decimal(places[1], 2)}))
    elif likely(rng, 0.15):
        rows.append(dict(row, amount="no", **{column: decimal(places[1] * 2, 2)}))
    return rows


def more_duties(rng, folder, value):
    """Gives a draw that is there duty and import tax: charges by landed cost, after others and one another."""
    rows, columns = read(folder, "charges.csv")
    classes = sorted({row["class"] for row in read(folder, "offers.csv")[0]} - {""})
    for speaker in sorted({(row["seller"], row["tariff"]) for row in rows}):
        if likely(rng, 0.25):
            continue
        mine = [row for row in rows if (row["seller"], row["tariff"]) == speaker]
        known, made = sorted({row["charge"] for row in mine}), []
        some = rng.sample(known, rng.randint(1, len(known)))
        if classes and likely(rng, 0.5):
            for klass in rng.sample(classes, rng.randint(1, len(classes))):
                made += [dict(row, **{"class": klass})
                         for row in duty(rng, value, "duty", some, ("2.7", "5", "12.5", "20"))]
        elif likely(rng, 0.8):
            made += duty(rng, value, "duty", some, ("2.7", "5", "12.5", "20"))
        if likely(rng, 0.25):
            made.append({"charge": "clearance", "basis": "landed", "after": rng.choice(known),
                         rng.choice(("from", "over")): decimal(value, 2), "amount": decimal(value * 0.1, 2)})
        so_far = sorted({row["charge"] for row in made})
        if likely(rng, 0.75) or not made:
            made += duty(rng, value, "import tax", sorted(set(so_far + some)), ("7.7", "19", "20", "8"))
        for row in made:
            row.update(seller=speaker[0], tariff=speaker[1], currency=mine[0]["currency"])
        rows += made
    write(folder, "charges.csv", columns, rows)


class Lines:
    """Order lines as a plan of some weeks ago may have had them."""

    def __init__(self, rng, folder):
        self.rng = rng
        self.offers, self.need = read(folder, "offers.csv")[0], read(folder, "need.csv")[0]
        self.sellers = {row["seller"]: row for row in read(folder, "sellers.csv")[0]}
        self.weights = {}
        if os.path.exists(os.path.join(folder, "weights.csv")):
            self.weights = {row["part"]: row["grams"] for row in read(folder, "weights.csv")[0]}
        self.currency = {row["seller"]: row["currency"] for row in self.offers if row["currency"]}

    def of(self, seller, offer):
        """A line of an offer, of which the need knows or not."""
        rng, terms = self.rng, self.sellers.get(seller) or self.sellers["*"]
        wanted = [int(row["qty"]) for row in self.need if row["part"] == offer["part"]]
        qty = rng.randint(1, max([2] + wanted) * (2 if likely(rng, 0.2) else 1))
        row = {name: offer[name] for name in "class part color condition price listing code".split()}
        row.update(seller=seller, route=terms["route"], qty=qty,
                   currency=self.currency.get(seller) or terms["currency"] or "USD")
        if likely(rng, 0.2):   # what was paid then is not what is asked now
            row["price"] = decimal(max(0.01, float(row["price"]) * rng.uniform(0.6, 1.5)), 2)
        if likely(rng, 0.15):  # nobody's need
            row["part"], row["listing"] = row["part"] + rng.choice(("b", "c")), ""
        said = [one["grams"] for one in self.need if one["part"] == row["part"] and one["grams"]]
        row["grams"] = (offer["grams"] or (said[0] if said else "") or self.weights.get(row["part"], "")
                        or decimal(rng.uniform(0.2, 3), 1))
        if row["grams"] == self.weights.get(row["part"]):
            row["grams"] = ""
        if row["part"] != offer["part"] and likely(rng, 0.5):
            row["class"] = rng.choice(sorted({one["class"] for one in self.offers}))
        fitting = [one for one in self.need if one["part"] == row["part"]]
        row["lot"] = (fitting[0]["lot"] or row["part"] + "/" + row["color"]) if fitting else "gone"
        return row

    def some(self, sellers, share):
        found = []
        for seller in sellers:
            mine = [one for one in self.offers if one["seller"] == seller]
            for offer in mine:
                if likely(self.rng, share):
                    found.append(self.of(seller, offer))
        return found

    def written(self, rows):
        for row in rows:
            scaled = int(row["qty"]) * round(float(row["price"]) * 10 ** 6)
            whole, part = divmod(scaled, 10 ** 6)
            row["amount"] = ("%d.%06d" % (whole, part)).rstrip("0").rstrip(".")
            row.setdefault("surplus", "0")
        return rows


def more_kept(rng, folder, value):
    """Gives a draw that is there orders under way (keep.csv), and perhaps an old plan (was.csv) to stay by."""
    lines = Lines(rng, folder)
    shops = sorted({row["seller"] for row in lines.offers})
    words = ["--keep", "keep.csv"]
    states = {}  # what the lines of a seller are: closed, to grow, dropped, or some of each
    for shop in shops:
        states[shop] = rng.choice((("open",), ("open",), ("paid",), ("paid", "open"), ("paid", "open", "new"),
                                   ("new", ""), (), ()))
    rows = []
    for shop, mine in states.items():
        share = rng.choice((0.1, 0.25, 0.5))
        for row in lines.some([shop], share) if mine else ():
            rows.append(dict(row, state=rng.choice(mine)))
            if likely(rng, 0.1):  # one offer, on two lines
                rows.append(dict(rows[-1], lot="other", qty=rng.randint(1, 3)))
    for row in rows:
        if likely(rng, 0.1):
            row.update(qty=1)
    for row in rng.sample(rows, len(rows) // 8):  # out of the stock at home: no line of an order
        owned = {name: row[name] for name in "lot part color condition qty".split()}
        rows.append(dict(owned, seller="owned", route="owned", price="0", currency="USD",
                         state=rng.choice(("", "new", "paid"))))
    rng.shuffle(rows)
    carry = ["code"] if "code" in words_of(folder) else []
    write(folder, "keep.csv", ORDERS + ["state"] + carry, lines.written(rows))
    if likely(rng, 0.5):
        old = lines.some(rng.sample(shops, rng.randint(0, len(shops))), 0.3)
        if old and likely(rng, 0.3):
            old.append(dict(old[0], seller="long-gone"))
        write(folder, "was.csv", ORDERS, lines.written(old))
        words += ["--was", "was.csv"]
    if "--was" in words or likely(rng, 0.4):
        words += ["--stay", decimal(value * rng.choice((0.002, 0.02, 0.06, 0.15)), 2)]
    write_args(folder, words_of(folder) + words)


def words_of(folder):
    with open(os.path.join(folder, "args"), encoding="utf-8") as handle:
        return handle.read().split()


def main(words):
    seed = 1
    if words[:1] == ["--seed"]:
        seed, words = int(words[1]), words[2:]
    counts = {"flat": (3,), "market": (2, 3), "rules": (0, 2), "small": (0,), "kept": (0,), "tiny": (0,)}
    if len(words) < 2 or len(words) - 2 not in counts.get(words[0], ()):
        sys.exit(__doc__)
    draw(words[0], seed, words[1], *map(int, words[2:]))


if __name__ == "__main__":
    main(sys.argv[1:])
