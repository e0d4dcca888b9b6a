"""Landed cost, worked out a second time: exact fractions, straight from the file formats.

Owns: the readers of need, offers, sellers, charges, rates, weights and stock as lotpipe(5) has them,
the landed cost of an order, the check of a whole plan, and the figures of lot-total. It shares nothing
with the C programs but the description of the files; that is its use.

Units: money, grams and percent are fractions.Fraction, pieces are int. A fault of an input file is a
Trouble, with text; a fault of a plan is a line in Plan.faults.

    landed.py split [options of lot-split] --need need.csv < orders.csv    check a plan, print its figures
    landed.py total [options of lot-total] < orders.csv                    print what lot-total should
"""
import csv
import io
import itertools
import re
import sys
from collections import OrderedDict, defaultdict
from fractions import Fraction

NANO = 9  # decimals of an exact charge, tax and total
MINOR_UNITS = {"JPY": 0, "KRW": 0, "ISK": 0, "KWD": 3, "BHD": 3, "TND": 3, "CLF": 4}  # ISO 4217; the rest here: 2
ORDER_COLUMNS = ("seller route class lot part color condition qty price currency amount surplus grams "
                 "listing").split()
OWNED = "owned"


class Trouble(Exception):
    """An input that the formats do not allow."""


class NotShipped(Exception):
    """A charge step of amount `no` was reached."""


# ---------------------------------------------------------------- numbers and tables

def rounded(amount, places, even=False):
    """Half away from zero, or to even, to so many decimals."""
    scaled = abs(amount) * 10 ** places
    units = (2 * scaled.numerator + scaled.denominator) // (2 * scaled.denominator)
    if even and units % 2 and units - scaled == Fraction(1, 2):
        units -= 1
    return Fraction(units if amount >= 0 else -units, 10 ** places)


def floored(amount, places):
    return Fraction((amount * 10 ** places).__floor__(), 10 ** places)


def text_of(amount, places):
    """A fraction that has at most so many decimals, with exactly so many."""
    units = amount * 10 ** places
    if units.denominator != 1:
        raise ValueError("%s has more than %d decimals" % (amount, places))
    sign, digits = ("-" if units < 0 else ""), str(abs(units.numerator)).rjust(places + 1, "0")
    return sign + (digits[:-places] + "." + digits[-places:] if places else digits)


def number(text, where, negative=False, places=6):
    if not re.fullmatch(r"%s\d+(\.\d{1,%d})?" % ("-?" if negative else "", places), text):
        raise Trouble("%s: '%s' is not a number" % (where, text))
    return Fraction(text)


def whole(text, where):
    if not re.fullmatch(r"\d{1,9}", text):
        raise Trouble("%s: '%s' is not a quantity" % (where, text))
    return int(text)


def table(source, required):
    """Rows of a canonical CSV file as dictionaries; a column that is not there reads as empty."""
    name = getattr(source, "name", str(source))
    if hasattr(source, "read"):
        text = source.read()
    else:
        with open(source, encoding="utf-8-sig", newline="") as handle:
            text = handle.read()
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    header = [cell.strip().lower() for cell in next(reader, [])]
    for column in filter(None, required.split(",")):
        if column not in header:
            raise Trouble("%s: no column %s" % (name, column))
    rows = []
    for cells in reader:
        if not cells:
            continue
        if len(cells) > len(header):
            raise Trouble("%s:%d: too many fields" % (name, reader.line_num))
        row = defaultdict(str, zip(header, cells))
        row[":where"] = "%s:%d" % (name, reader.line_num)
        row[":header"] = header
        rows.append(row)
    return rows


# ---------------------------------------------------------------- need

class Row:
    """One way to fill a lot."""

    def __init__(self, row):
        where = row[":where"]
        self.part, self.color = row["part"], row["color"]
        self.condition = "" if row["condition"] == "any" else row["condition"]
        self.not_color, self.together = row["not_color"], row["together"]
        self.penalty = number(row["penalty"] or "0", where)
        self.grams = number(row["grams"], where) if row["grams"] else None
        self.worth = number(row["worth"], where) if row["worth"] else None
        self.qty = whole(row["qty"], where)
        self.group, self.model, self.where = row["group"], row["model"], where

    def fits(self, part, color, condition):
        if part != self.part or (self.condition and condition != self.condition):
            return False
        if self.color != "any":
            return color == self.color
        return not (self.not_color and re.fullmatch(self.not_color, color))


class Lot:
    def __init__(self, name, qty, worth, rows):
        self.name, self.qty, self.worth, self.rows = name, qty, worth, rows

    def fits(self, part, color, condition):
        return any(row.fits(part, color, condition) for row in self.rows)


def read_need(source):
    """The lots of a need list, alternatives gathered and equal rows merged, in order."""
    named, single = OrderedDict(), OrderedDict()
    for raw in table(source, "part,color,qty"):
        row = Row(raw)
        if raw["lot"]:
            named.setdefault(raw["lot"], []).append(row)
        else:
            key = (row.part, row.color, row.condition, row.not_color, row.worth, row.together)
            single.setdefault(key, []).append(row)
    lots, taken = [], set()
    for name, rows in named.items():
        first = rows[0]
        for row in rows[1:]:
            if (row.qty, row.group, row.model, row.worth) != (first.qty, first.group, first.model, first.worth):
                raise Trouble("%s: lot %s: rows differ in qty, group, model or worth" % (row.where, name))
        if first.qty:
            lots.append(Lot(name, first.qty, first.worth, rows))
            taken.add(name)
    for rows in single.values():
        rows = [row for row in rows if row.qty]
        if not rows:
            continue
        first = rows[0]
        for row in rows[1:]:
            if (row.penalty, row.grams) != (first.penalty, first.grams):
                raise Trouble("%s: rows of one lot differ in penalty or grams" % row.where)
        stem = first.part + "/" + first.color + ("/" + first.condition if first.condition else "")
        name, count = stem, 1
        while name in taken:
            count += 1
            name = "%s#%d" % (stem, count)
        taken.add(name)
        lots.append(Lot(name, sum(row.qty for row in rows), first.worth, [first]))
    for lot in lots:
        for row in lot.rows:
            row.qty = lot.qty
    return lots


# ---------------------------------------------------------------- offers, stock, terms

class Break:
    """One price of a listing."""

    def __init__(self, listing, least, price, row):
        self.listing, self.least, self.price, self.row = listing, least, price, row


class Listing:
    def __init__(self, row, grams):
        self.seller, self.name, self.klass = row["seller"], row["listing"], row["class"]
        self.kind = (row["part"], row["color"], row["condition"])
        self.qty = whole(row["qty"], row[":where"]) if row["qty"] else None
        self.step = max(1, whole(row["step"] or "1", row[":where"]))
        self.grams, self.breaks = grams, []


def read_offers(sources):
    listings, by_name, seen, currencies = [], {}, set(), {}
    for raw in itertools.chain.from_iterable(table(source, "seller,part,color,qty,price") for source in sources):
        same = tuple(sorted((k, v) for k, v in raw.items() if not k.startswith(":")))
        if same in seen:
            continue
        seen.add(same)
        where = raw[":where"]
        if raw["seller"] in (OWNED, "TOTAL", ""):
            raise Trouble("%s: a seller may not be named '%s'" % (where, raw["seller"]))
        currencies.setdefault(raw["seller"], set()).add(raw["currency"])
        listing = Listing(raw, number(raw["grams"], where) if raw["grams"] else None)
        if listing.name:
            first = by_name.setdefault((listing.seller, listing.name), listing)
            if (first.kind, first.klass, first.qty, first.step) != (listing.kind, listing.klass, listing.qty,
                                                                    listing.step):
                raise Trouble("%s: listing %s: rows differ" % (where, listing.name))
            if first is not listing:
                listing = first
            else:
                listings.append(listing)
        else:
            listings.append(listing)
        least = max(1, whole(raw["least"] or "1", where))
        if any(one.least == least for one in listing.breaks):
            raise Trouble("%s: listing %s: two prices from %d" % (where, listing.name, least))
        listing.breaks.append(Break(listing, least, number(raw["price"], where), raw))
    return listings, currencies


def read_stock(sources):
    stock = OrderedDict()
    for raw in itertools.chain.from_iterable(table(source, "part,color,qty") for source in sources):
        kind = (raw["part"], raw["color"], raw["condition"])
        stock[kind] = stock.get(kind, 0) + whole(raw["qty"], raw[":where"])
    return stock


class Rates:
    """Of each pair, whichever way it is stated, the rows of the newest day up to `day`."""

    def __init__(self, source=None, base=None, day=None):
        self.given, dates = {}, {}
        for pair, where, rate, fee, date in self.rows(source, base) if source else ():
            if rate <= 0:
                raise Trouble("%s: a rate is above 0" % where)
            if day and date > day:
                continue
            newest = dates.get(frozenset(pair), "")
            if date < newest:
                continue
            if date > newest:
                self.given = {known: value for known, value in self.given.items() if set(known) != set(pair)}
            dates[frozenset(pair)] = date
            if self.given.setdefault(pair, (rate, fee)) != (rate, fee):
                raise Trouble("%s: %s to %s has two rates" % ((where,) + pair))

    @staticmethod
    def rows(source, base):
        for raw in table(source, "" if base else "from,to,rate"):
            where, fee = raw[":where"], number(raw["fee"] or "0", raw[":where"])
            pairs = [(raw["from"], raw["to"], raw["rate"])]
            if base:
                pairs = [(base, name.upper(), raw[name]) for name in raw[":header"]
                         if re.fullmatch("[a-z]{3}", name) and name not in ("fee", base.lower()) and raw[name]]
            for one, other, rate in pairs:
                yield (one, other), where, number(rate, where), fee, raw["date"]

    def direct(self, one, other, paid=False):
        if one == other:
            return Fraction(1)
        for pair, turned in ((one, other), False), ((other, one), True):
            if pair in self.given:
                rate, fee = self.given[pair]
                return (1 / rate if turned else rate) * (1 + fee / 100 if paid else 1)
        return None

    def paid(self, one, other):
        """What one `one` costs in `other`, with the fees of the bank."""
        return self.rate(one, other, True)

    def rate(self, one, other, paid=False):
        """What one `one` is in `other`, exact."""
        found = self.direct(one, other, paid)
        if found is not None:
            return found
        between = {name for pair in self.given for name in pair} - {one, other}
        ways = [name for name in between if self.direct(one, name) and self.direct(name, other)]
        if len(ways) != 1:
            raise Trouble("%s to %s: %s" % (one, other, "several ways through" if ways else "no rate"))
        return self.direct(one, ways[0], paid) * self.direct(ways[0], other, paid)


class Step:
    """One step of a charge, place and amount in the order's currency."""

    def __init__(self, raw, basis, order_currency, rates):
        where = raw[":where"]
        rate = rates.rate(raw["currency"] or order_currency, order_currency)
        if raw["from"] and raw["over"]:
            raise Trouble("%s: a step has from or over" % where)
        self.strict = bool(raw["over"])
        money = basis in ("value", "landed")
        self.place = number(raw["from"] or raw["over"] or "0", where) * (rate if money else 1)
        self.shipped = raw["amount"] != "no"
        self.amount = number(raw["amount"] or "0", where, negative=True) * rate if self.shipped else None
        self.percent = number(raw["percent"] or "0", where, negative=True)
        if raw["taxed"] not in ("", "yes", "no"):
            raise Trouble("%s: taxed is yes or no" % where)
        self.taxed, self.estimate = raw["taxed"], raw["estimate"] == "yes"

    def reached(self, measure):
        return self.place < measure if self.strict else self.place <= measure


class Charge:
    """The steps of one class and charge, lowest first."""

    def __init__(self, klass, name, basis, steps, after=()):
        self.klass, self.name, self.basis, self.after = klass, name, basis, set(after)
        self.steps = sorted(steps, key=lambda step: (step.place, step.strict))
        places = [(step.place, step.strict) for step in self.steps]
        if len(set(places)) < len(places):
            raise Trouble("charge %s %s: two steps at one place" % (klass, name))


class Terms:
    """What a seller asks of an order."""

    def __init__(self, seller, raw, currency):
        where = raw[":where"]
        self.seller, self.currency = seller, currency
        self.route, self.tariff = raw["route"], raw["tariff"]
        self.minimum = number(raw["minimum"] or "0", where)
        self.taxes = [number(part, where) for part in raw["tax"].split("+")] if raw["tax"] else []
        if raw["tax_on"] not in ("", "goods", "all", "included"):
            raise Trouble("%s: tax_on is goods, all or included" % where)
        self.included = raw["tax_on"] == "included"
        self.tax = Fraction(0) if self.included else sum(self.taxes, Fraction(0))  # on top of the prices
        self.charges_taxed = raw["tax_on"] != "goods"
        self.order_cost = number(raw["order_cost"], where) if raw["order_cost"] else None
        self.charges = []

    def bears_tax(self, step):
        return step.taxed == "yes" if step.taxed else self.charges_taxed


def charges_of(seller, tariff, currency, raws, rates):
    """The charges that count for a seller; None where no row speaks for it."""
    mine = [raw for raw in raws if raw["seller"] == seller]
    mine = mine or [raw for raw in raws if tariff and raw["tariff"] == tariff and not raw["seller"]]
    mine = mine or [raw for raw in raws if raw["seller"] == "*"]
    groups = OrderedDict()
    for raw in mine:
        groups.setdefault((raw["class"], raw["charge"]), []).append(raw)
    charges = []
    for (klass, name), rows in sorted(groups.items()):
        bases = {raw["basis"] or "value" for raw in rows}
        if len(bases) > 1 or not bases <= {"value", "weight", "pieces", "lots", "landed"}:
            raise Trouble("%s: charge %s %s: basis %s" % (rows[0][":where"], klass, name, sorted(bases)))
        basis = bases.pop()
        afters = {frozenset(raw["after"].split("|")) - {""} for raw in rows}
        if len(afters) > 1 or (basis != "landed" and afters != {frozenset()}):
            raise Trouble("%s: charge %s %s: after" % (rows[0][":where"], klass, name))
        charges.append(Charge(klass, name, basis, [Step(raw, basis, currency, rates) for raw in rows], afters.pop()))
    return charges if mine else None


# ---------------------------------------------------------------- the cost of an order

class Line:
    """Pieces of one kind (part, color, condition) at one price."""

    def __init__(self, klass, kind, qty, price, grams):
        self.klass, self.kind, self.qty, self.price, self.grams = klass, kind, qty, price, grams

    def value(self):
        return self.qty * self.price


def measure(basis, lines):
    if basis == "value":
        return sum((line.value() for line in lines), Fraction(0))
    if basis == "pieces":
        return Fraction(sum(line.qty for line in lines))
    if basis == "lots":
        return Fraction(len({line.kind for line in lines}))
    for line in lines:
        if line.grams is None:
            raise Trouble("%s/%s: a charge goes by weight and no grams are known" % line.kind[:2])
    return sum((line.grams * line.qty for line in lines), Fraction(0))


def exact_charges(terms, lines, standing=False):
    """(charge, step, amount) for each class and charge that an order meets, before any rounding. Of lines that
    stand in an order not yet sent, a step of amount `no` is nothing."""
    found = {}

    def amount_of(charge, ways=()):
        """What a charge comes to; those it comes after are counted first."""
        if charge in found:
            return found[charge][1]
        if charge in ways:
            raise Trouble("charge %s comes after itself" % charge.name)
        mine = [line for line in lines if not charge.klass or line.klass == charge.klass]
        goods = measure("value", mine)
        if charge.basis == "landed":
            goods += sum((amount_of(other, ways + (charge,)) for other in terms.charges
                          if other.name in charge.after), Fraction(0))
        size = goods if charge.basis in ("value", "landed") else measure(charge.basis, mine)
        reached = [step for step in charge.steps if mine and step.reached(size)]
        if not reached:
            return Fraction(0)
        step = reached[-1]
        if not step.shipped:
            if standing:
                return Fraction(0)
            raise NotShipped("charge %s %s: not shipped at %s" % (charge.klass, charge.name, size))
        found[charge] = step, step.amount + step.percent * goods / 100
        return found[charge][1]

    for charge in terms.charges:
        amount_of(charge)
    return [(charge,) + found[charge] for charge in terms.charges if charge in found]


def landed(terms, lines, home_rate, standing=False):
    """An order's landed cost in home currency, to 10^-9."""
    goods = measure("value", lines)
    total, taxable = goods, goods
    for _, step, amount in exact_charges(terms, lines, standing):
        amount = rounded(amount, NANO)
        total += amount
        taxable += amount if terms.bears_tax(step) else 0
    if not terms.included:
        total += sum(rounded(taxable * tax / 100, NANO) for tax in terms.taxes)
    return rounded(total * home_rate, NANO)


def landed_more(terms, standing, lines):
    """What lines add to the landed cost of an order in which others stand, perhaps none; in home currency."""
    whole_order = landed(terms, standing + lines, terms.home_rate)
    return whole_order - (landed(terms, standing, terms.home_rate, True) if standing else 0)


# ---------------------------------------------------------------- options and the whole problem

OPTIONS = {"-o": "offers", "--offers": "offers", "-s": "sellers", "--sellers": "sellers", "-c": "charges",
           "--charges": "charges", "-x": "rates", "--rates": "rates", "-w": "weights", "--weights": "weights",
           "-C": "currency", "--currency": "currency", "-k": "stock", "--stock": "stock",
           "--order-cost": "order_cost", "--max-orders": "max_orders", "--route": "route",
           "--without": "without", "--carry": "carry", "--need": "need", "--tax-by": "tax_by",
           "--round": "round", "--round-by": "round_by", "--cash": "cash", "--rates-base": "rates_base", "--on": "on",
           "--others": "others", "--effort": "effort", "--keep": "keep", "--was": "was", "--stay": "stay"}
SEVERAL = ("offers", "stock")


def options(words):
    """The words of a command line as a dictionary; files and values as text."""
    found, words = {"offers": [], "stock": []}, list(words)
    while words:
        word = words.pop(0)
        if word == "--each-charge":
            found["each_charge"] = True
        elif word in OPTIONS and words:
            name, value = OPTIONS[word], words.pop(0)
            if name in SEVERAL:
                found[name].append(value)
            elif name in found:
                raise Trouble("%s: given twice" % word)
            else:
                found[name] = value
        else:
            raise Trouble("%s: unknown option" % word)
    return found


def read_rates(opts):
    return Rates(opts.get("rates"), opts.get("rates_base"), opts.get("on"))


def home_currency(opts, *currencies):
    if opts.get("currency"):
        return opts["currency"]
    used = set().union(*currencies) - {""}
    if len(used) > 1:
        raise Trouble("several currencies in use and none said to be home: %s" % " ".join(sorted(used)))
    return used.pop() if used else ""


def read_weights(opts):
    rows = table(opts["weights"], "part,grams") if opts.get("weights") else []
    return {raw["part"]: number(raw["grams"], raw[":where"]) for raw in rows}


class Kept:
    """An order line that stands: `paid`, its order closed, or `open`, its order one that may grow."""

    def __init__(self, raw, weights):
        where = raw[":where"]
        self.raw, self.state, self.seller, self.klass = raw, raw["state"], raw["seller"], raw["class"]
        self.kind = (raw["part"], raw["color"], raw["condition"])
        self.qty, self.price = whole(raw["qty"], where), number(raw["price"], where)
        self.currency = raw["currency"]
        self.grams = number(raw["grams"], where) if raw["grams"] else weights.get(raw["part"])

    def line(self):
        return Line(self.klass, self.kind, self.qty, self.price, self.grams)


def kept_key(row, carry):
    """What tells a kept line from another; it may come out in parts, over several lots."""
    return (tuple(row[name] for name in "state seller route class part color condition currency grams listing".split())
            + (number(row["price"], row[":where"]),) + tuple(row[name] for name in carry))


def read_kept(path, weights):
    """The lines that stand, and the sellers of those that are planned afresh."""
    kept, afresh = [], set()
    for raw in table(path, "seller,part,color,qty,price,state"):
        if raw["state"] not in ("paid", "open", "new", ""):
            raise Trouble("%s: state '%s' is not paid, open or new" % (raw[":where"], raw["state"]))
        if raw["seller"] == OWNED:
            continue
        if raw["state"] in ("paid", "open"):
            kept.append(Kept(raw, weights))
        else:
            afresh.add(raw["seller"])
    return kept, afresh


class Market:
    """Everything lot-split is given, read and resolved; sellers left out by the options are gone."""

    def __init__(self, opts):
        self.opts = opts
        self.lots = read_need(opts["need"])
        self.listings, currencies = read_offers(opts["offers"])
        self.stock = read_stock(opts["stock"])
        self.rates, self.weights = read_rates(opts), read_weights(opts)
        sellers = {raw["seller"]: raw for raw in table(opts["sellers"], "seller,route")}
        if OWNED in sellers or "TOTAL" in sellers:
            raise Trouble("%s: a seller may not be named owned or TOTAL" % opts["sellers"])
        raws = table(opts["charges"], "charge") if opts.get("charges") else None
        self.home = home_currency(opts, *currencies.values(), {raw["currency"] for raw in sellers.values()},
                                  {raw["currency"] for raw in raws or ()})
        without = set(opts.get("without", "").split(",")) - {""}
        for name in without:
            if name not in currencies and name not in sellers:
                raise Trouble("--without %s: no such seller" % name)
        self.terms = {}
        for seller, said in currencies.items():
            raw = sellers.get(seller) or sellers.get("*")
            if raw is None:
                raise Trouble("seller %s: no row speaks for it" % seller)
            resolved = {one or raw["currency"] or self.home for one in said}
            if len(resolved) > 1:
                raise Trouble("seller %s: offers in several currencies" % seller)
            terms = Terms(seller, raw, resolved.pop())
            if raws is not None:
                terms.charges = charges_of(seller, terms.tariff, terms.currency, raws, self.rates)
                if terms.charges is None:
                    raise Trouble("seller %s: no charge speaks for it" % seller)
            if terms.order_cost is None:
                terms.order_cost = number(opts.get("order_cost", "0"), "--order-cost")
            terms.home_rate = self.rates.paid(terms.currency, self.home)
            if seller not in without and opts.get("route", terms.route) == terms.route:
                self.terms[seller] = terms
        self.listings = [listing for listing in self.listings if listing.seller in self.terms]
        self.max_orders = int(opts["max_orders"]) if "max_orders" in opts else None
        self.carry = [name for name in opts.get("carry", "").split(",") if name]
        self.read_orders()

    def read_orders(self):
        """The orders that are under way, and whom the old plan bought from."""
        opts, self.kept, self.old_sellers = self.opts, [], set()
        self.stay = number(opts["stay"], "--stay") if "stay" in opts else None
        self.columns = ORDER_COLUMNS + (["state"] if "keep" in opts else []) + self.carry
        if "keep" in opts:
            self.kept, self.old_sellers = read_kept(opts["keep"], self.weights)
        if "was" in opts:
            self.old_sellers |= {raw["seller"] for raw in table(opts["was"], "seller")} - {OWNED}
        self.kept_sellers = {one.seller for one in self.kept}
        self.standing = defaultdict(list)  # seller -> lines of its open order
        for one in self.kept:
            if one.state == "open":
                terms = self.terms.get(one.seller)
                if terms and one.currency != terms.currency:
                    raise Trouble("%s: an open line in %s, the order is in %s" % (one.raw[":where"], one.currency,
                                                                                  terms.currency))
                self.standing[one.seller].append(one.line())
        self.held = defaultdict(int)  # kind -> pieces in paid and open lines
        for one in self.kept:
            self.held[one.kind] += one.qty

    def turned(self, bought_from):
        """How many sellers a plan drops from the old one or adds to it; no lines that stand make either."""
        old = self.old_sellers - self.kept_sellers
        return len(old - set(bought_from)) + len(set(bought_from) - self.old_sellers - self.kept_sellers)

    def grams(self, listing, lot):
        """Weight of a piece of an offer that serves a lot, None where nothing says."""
        if listing.grams is not None:
            return listing.grams
        said = {row.grams for row in lot.rows if row.grams is not None and row.fits(*listing.kind)}
        if len(said) > 1:
            raise Trouble("lot %s: its rows differ in grams" % lot.name)
        return said.pop() if said else self.weights.get(listing.kind[0])


# ---------------------------------------------------------------- a plan

def least_penalty(lots, fills):
    """The least penalty at which the filled pieces can be shared out over the rows of their lots, with
    every `together` label taken in full or not at all. None where that cannot be.

    A labelled row that is taken fills its whole lot, so a lot has either one of those or none; lots
    that share a label are decided as one."""
    def cost(lot, chosen):
        if len(chosen) > 1:
            return None
        rows = chosen or [row for row in lot.rows if not row.together]
        total = Fraction(0)
        if chosen and sum(fills[lot.name].values()) != lot.qty:
            return None
        for kind, qty in fills[lot.name].items():
            fitting = [row.penalty for row in rows if row.fits(*kind)]
            if qty and not fitting:
                return None
            total += qty * min(fitting) if qty else 0
        return total

    groups = []  # (labels, lots), labels of different groups share no lot
    for lot in lots:
        labels, mine = {row.together for row in lot.rows if row.together}, [lot]
        apart = []
        for group in groups:
            if group[0] & labels:
                labels, mine = labels | group[0], group[1] + mine
            else:
                apart.append(group)
        groups = apart + [(labels, mine)]
    total = Fraction(0)
    for labels, mine in groups:
        best = None
        for pick in itertools.product((False, True), repeat=len(labels)):
            taken = {label for label, yes in zip(sorted(labels), pick) if yes}
            costs = [cost(lot, [row for row in lot.rows if row.together in taken]) for lot in mine]
            if None not in costs and (best is None or sum(costs) < best):
                best = sum(costs, Fraction(0))
        if best is None:
            return None
        total += best
    return total


class Plan:
    """A plan's figures, and what is wrong with it."""

    def __init__(self):
        self.faults = []
        self.landed = self.penalties = self.order_cost = self.worth = Fraction(0)
        self.stay, self.kept, self.kept_unused, self.keeps = None, 0, 0, False
        self.orders = self.pieces = self.surplus = self.unmet = 0
        self.unmet_lots = {}

    def cost(self):
        return self.landed + self.penalties + self.order_cost + (self.stay or 0) - self.worth

    def figures(self):
        rows = [("cost", text_of(self.cost(), NANO)), ("landed", text_of(self.landed, NANO)),
                ("penalties", text_of(self.penalties, NANO)), ("order_cost", text_of(self.order_cost, NANO)),
                ("worth", text_of(self.worth, NANO)), ("orders", self.orders), ("pieces", self.pieces),
                ("surplus", self.surplus), ("unmet", self.unmet)]
        if self.keeps:
            rows += [("kept", self.kept), ("kept_unused", self.kept_unused)]
        if self.stay is not None:
            rows.append(("stay", text_of(self.stay, NANO)))
        return [(name, str(value)) for name, value in rows]


def sort_key(row):
    def octets(column):
        return row[column].encode()
    return ([octets(column) for column in "route seller class part color condition lot".split()]
            + [Fraction(row["price"]), octets("listing")])


def matched(rows, candidates, weight):
    """Gives each row a price break, such that no break serves a lot twice and all holds; None if none can.

    `weight(price break, row)`: grams of a piece, or None. Only offers that the order lines cannot tell apart
    leave a choice."""
    if len(candidates) ** len(rows) > 200000:
        raise Trouble("%s: too many offers alike to match its lines" % rows[0]["seller"])
    why = ""
    ways = []
    for row in rows:  # offers that differ in grams alone are told apart by the row's
        said = [one for one in candidates if row["grams"] == text_of_weight(weight(one, row))]
        ways.append(said or candidates)
    for pick in itertools.product(*ways):
        shares = defaultdict(list)
        for row, one in zip(rows, pick):
            shares[id(one)].append(row)
        why = next(filter(None, (break_fault(one, shares[id(one)]) for one in candidates)), None)
        if why is None:
            return pick, None
    return None, why


def text_of_weight(grams):
    if grams is None:
        return ""
    text = text_of(grams, 6)
    return text.rstrip("0").rstrip(".")


def break_fault(one, rows):
    """Why a price break cannot be bought as these rows say; None where it can."""
    if not rows:
        return None
    qty, listing = sum(row[":qty"] for row in rows), one.listing
    if len({row["lot"] for row in rows}) < len(rows):
        return "two rows for one offer and lot"
    if listing.qty is not None and qty > listing.qty:
        return "%d pieces bought, %d for sale" % (qty, listing.qty)
    if qty < one.least:
        return "%d pieces bought, at this price at least %d" % (qty, one.least)
    if qty % listing.step:
        return "%d pieces bought, sold by %d" % (qty, listing.step)
    if any(row[":surplus"] for row in rows[:-1]):
        return "surplus that is not on the last row"
    return None


def check_plan(market, source):
    """Every rule a plan must keep, and what it costs. `source` is the order lines, a file."""
    plan = Plan()

    def fault(row, text, *values):
        where = row[":where"] + ": " if row else ""
        plan.faults.append(where + (text % values if values else text))

    plan.keeps = "keep" in market.opts
    lots = {lot.name: lot for lot in market.lots}
    rows = table(source, ",".join(ORDER_COLUMNS))
    for row in rows[:1]:
        if row[":header"] != market.columns:
            fault(None, "header is %s", ",".join(row[":header"]))
    usable = []
    for row in rows:
        try:
            row[":qty"] = whole(row["qty"], row[":where"])
            row[":surplus"] = whole(row["surplus"] or "0", row[":where"])
            row[":price"] = number(row["price"], row[":where"])
            if number(row["amount"], row[":where"], places=15) != row[":qty"] * row[":price"]:
                fault(row, "amount %s is not %s x %s", row["amount"], row["qty"], row["price"])
        except Trouble as trouble:
            fault(None, str(trouble))
            continue
        lot, kind = lots.get(row["lot"]), (row["part"], row["color"], row["condition"])
        if "keep" in market.opts and row["seller"] != OWNED and row["state"] not in ("paid", "open", "new"):
            fault(row, "state '%s'", row["state"])
        elif row["state"] in ("paid", "open") and row[":qty"] and row[":surplus"] == row[":qty"]:
            usable.append(row)  # whether or not the need asks for any
        elif not row[":qty"] or row[":surplus"] > row[":qty"]:
            fault(row, "qty %s, surplus %s", row["qty"], row["surplus"])
        elif lot is None:
            fault(row, "no lot %s in the need", row["lot"])
        elif not lot.fits(*kind):
            fault(row, "%s does not fit lot %s", "/".join(kind), row["lot"])
        else:
            usable.append(row)
    for one, other in zip(usable, usable[1:]):
        if sort_key(one) > sort_key(other):
            fault(other, "out of order")

    fills = {name: defaultdict(int) for name in lots}
    for row in usable:
        if row[":qty"] > row[":surplus"]:
            fills[row["lot"]][row["part"], row["color"], row["condition"]] += row[":qty"] - row[":surplus"]
        if row["state"] in ("paid", "open"):
            plan.kept += row[":qty"]
            plan.kept_unused += row[":surplus"]
        else:
            plan.pieces += row[":qty"]
            plan.surplus += row[":surplus"]
    for name, kinds in fills.items():
        lot, filled = lots[name], sum(kinds.values())
        if filled > lot.qty:
            fault(None, "lot %s: %d pieces fill a need of %d", name, filled, lot.qty)
        elif lot.worth is not None:
            plan.worth += lot.worth * filled
        elif filled < lot.qty:
            plan.unmet += lot.qty - filled
            plan.unmet_lots[name] = lot.qty - filled
    penalties = least_penalty(market.lots, fills)
    if penalties is None:
        fault(None, "a `together` label is neither taken in full nor left")
    plan.penalties = penalties or Fraction(0)

    used = defaultdict(int)
    orders = OrderedDict()
    check_kept(market, fault, [row for row in usable if row["state"] in ("paid", "open")])
    for row in usable:
        if row["state"] in ("paid", "open"):
            continue
        if row["seller"] == OWNED or row["route"] == OWNED:
            if (row["seller"], row["route"], row[":price"], row[":surplus"]) != (OWNED, OWNED, 0, 0):
                fault(row, "an owned row has seller and route owned, price 0 and no surplus")
            used[row["part"], row["color"], row["condition"]] += row[":qty"]
        elif row["seller"] not in market.terms:
            fault(row, "seller %s may not be used", row["seller"])
        else:
            orders.setdefault(row["seller"], []).append(row)
    for kind, qty in used.items():
        if qty > market.stock.get(kind, 0):
            fault(None, "%s: %d owned pieces used of %d", "/".join(kind), qty, market.stock.get(kind, 0))

    breaks = defaultdict(list)
    for listing in market.listings:
        for one in listing.breaks:
            carried = tuple(one.row[name] for name in market.carry)
            breaks[(listing.seller, listing.klass, listing.name, one.price) + listing.kind + carried].append(one)
    for seller, mine in orders.items():
        check_order(market, plan, fault, lots, breaks, market.terms[seller], mine)
    plan.orders = len(orders)
    if market.max_orders is not None and plan.orders > market.max_orders:
        fault(None, "%d orders, at most %d", plan.orders, market.max_orders)
    if market.stay is not None:
        plan.stay = market.stay * market.turned(orders)
    return plan


def check_kept(market, fault, rows):
    """The lines that stand come out whole, and no others."""
    left = defaultdict(int)
    for one in market.kept:
        left[kept_key(one.raw, market.carry)] += one.qty
    for row in rows:
        left[kept_key(row, market.carry)] -= row[":qty"]
    for key, qty in left.items():
        if qty:
            fault(None, "%d pieces of the kept line %s are %s", abs(qty), " ".join(map(str, key)),
                  "missing" if qty > 0 else "too many")


def check_order(market, plan, fault, lots, breaks, terms, rows):
    alike = OrderedDict()
    for row in rows:
        if (row["route"], row["currency"]) != (terms.route, terms.currency):
            fault(row, "route %s, currency %s; the seller's are %s, %s", row["route"], row["currency"],
                  terms.route, terms.currency)
        key = (row["seller"], row["class"], row["listing"], row[":price"], row["part"], row["color"],
               row["condition"]) + tuple(row[name] for name in market.carry)
        alike.setdefault(key, []).append(row)
    lines, priced = [], {}

    def weight(one, row):
        return market.grams(one.listing, lots[row["lot"]])

    for key, mine in alike.items():
        if key not in breaks:
            fault(mine[0], "no such offer: %s", " ".join(map(str, key)))
            continue
        picks, why = matched(mine, breaks[key], weight)
        if picks is None:
            fault(mine[0], why)
            continue
        for row, one in zip(mine, picks):
            if priced.setdefault(id(one.listing), one) is not one:
                fault(row, "two prices of one listing in an order")
            grams = weight(one, row)
            if row["grams"] or (grams is not None and grams != market.weights.get(row["part"])):
                if grams is None or not row["grams"] or Fraction(row["grams"]) != grams:
                    fault(row, "grams '%s', should be %s", row["grams"], text_of_weight(grams))
            lines.append(Line(row["class"], one.listing.kind, row[":qty"], row[":price"], grams))
    standing = market.standing[terms.seller]
    goods = measure("value", standing + lines)
    if goods < terms.minimum:
        fault(rows[0], "goods of %s, minimum %s", goods, terms.minimum)
    try:
        plan.landed += landed_more(terms, standing, lines)
    except NotShipped as no:
        fault(rows[0], str(no))
    if not standing:  # an order that grows is none more
        plan.order_cost += terms.order_cost


# ---------------------------------------------------------------- lot-total

class Manner:
    """How sellers round, as the options say."""

    def __init__(self, opts):
        self.even = opts.get("round") == "half-even"
        self.goods_by_line, self.tax_by_line = opts.get("round_by") == "line", opts.get("tax_by") == "line"


def invoice(terms, lines, places, manner):
    """(goods, [(charge, step, stated, shown)], [amount of each tax]), in minor units: what is stated includes
    the taxes where prices do, what is shown is net then."""
    def cut(amount):
        return rounded(amount, places, manner.even)

    def taxes_in(amount):  # or on it
        return [cut(amount * tax / ((100 + sum(terms.taxes)) if terms.included else 100)) for tax in terms.taxes]

    values = [cut(line.value()) if manner.goods_by_line else line.value() for line in lines]
    goods = cut(sum(values, Fraction(0)))
    stated = [(charge, step, cut(amount)) for charge, step, amount in exact_charges(terms, lines)]
    if manner.tax_by_line:
        found = [taxes_in(value) for value in values]
        goods -= sum(map(sum, found)) if terms.included else 0
        charges = []
        for charge, step, amount in stated:
            mine = taxes_in(amount) if terms.bears_tax(step) else [0] * len(terms.taxes)
            found.append(mine)
            charges.append((charge, step, amount, amount - sum(mine) if terms.included else amount))
        return goods, charges, [sum((mine[i] for mine in found), Fraction(0)) for i in range(len(terms.taxes))]
    gross = goods + sum(amount for _, step, amount in stated if terms.bears_tax(step))
    share = 100 / (100 + sum(terms.taxes, Fraction(0))) if terms.included else Fraction(1)
    net = goods if not terms.included else cut(goods * share)
    charges = [(charge, step, amount, cut(amount * share) if terms.bears_tax(step) else amount)
               for charge, step, amount in stated]
    base = net + sum(shown for _, step, _, shown in charges if terms.bears_tax(step))
    taxes = [cut(base * tax / 100) for tax in terms.taxes]
    if terms.included and taxes:
        taxes[-1] = gross - base - sum(taxes[:-1])
    return net, charges, taxes


def order_totals(terms, lines, home, rates, manner):
    """One order's figures in minor units: goods, {charge name: amount}, {tax: amount}, total, the home ones."""
    places, home_places = MINOR_UNITS.get(terms.currency, 2), MINOR_UNITS.get(home, 2)
    goods, found, amounts = invoice(terms, lines, places, manner)
    charges, taxes, estimated = OrderedDict(), OrderedDict(), Fraction(0)
    for charge, step, stated, shown in found:
        charges[charge.name] = charges.get(charge.name, Fraction(0)) + shown
        if step.estimate:
            estimated += stated
            if terms.bears_tax(step) and not terms.included:
                estimated += sum(rounded(stated * tax / 100, places, manner.even) for tax in terms.taxes)
    for tax, amount in zip(terms.taxes, amounts):
        taxes[tax] = taxes.get(tax, Fraction(0)) + amount
    rate = rates.paid(terms.currency, home)
    figures = {"goods": goods, "charges": sum(charges.values(), Fraction(0)), "tax": sum(amounts, Fraction(0))}
    figures["total"] = sum(figures.values())
    figures["home_estimated"] = rounded(estimated * rate, home_places)
    for name in ("goods", "charges", "tax"):
        figures["home_" + name] = rounded(figures[name] * rate, home_places)
    figures["home"] = rounded(figures["total"] * rate, home_places)
    figures["rounding"] = (figures["home"] - figures["home_goods"] - figures["home_charges"]
                           - figures["home_tax"])
    figures.update(charges_by=charges, taxes_by=taxes)
    return figures


def totals(opts, source):
    """What lot-total should print: (columns, rows as dictionaries of text), and whether an order is below
    its minimum. Rows are by route and seller, TOTAL last."""
    rows = table(source, "seller,part,color,qty,price")
    sellers = {raw["seller"]: raw for raw in (table(opts["sellers"], "seller,route") if opts.get("sellers") else ())}
    raws = table(opts["charges"], "charge") if opts.get("charges") else None
    rates, weights, manner = read_rates(opts), read_weights(opts), Manner(opts)
    others = table(opts["others"], "item,amount") if opts.get("others") else ()
    home = home_currency(opts, {row["currency"] for row in rows}, {raw["currency"] for raw in sellers.values()},
                         {raw["currency"] for raw in raws or ()}, {raw["currency"] for raw in others})
    orders = OrderedDict()
    for row in rows:
        orders.setdefault((row["route"], row["seller"]), []).append(row)
    found, names, below, estimates = [], set(), False, False
    for (route, seller), mine in sorted(orders.items(), key=lambda item: [text.encode() for text in item[0]]):
        said = sellers.get(seller) or sellers.get("*")
        if sellers and said is None:
            raise Trouble("seller %s: no row speaks for it" % seller)
        said = said or defaultdict(str)
        currencies = {row["currency"] or said["currency"] or home for row in mine}
        if len(currencies) > 1:
            raise Trouble("seller %s: lines in several currencies" % seller)
        terms = Terms(seller, said, currencies.pop())
        if raws is not None:
            terms.charges = charges_of(seller, terms.tariff, terms.currency, raws, rates)
            if terms.charges is None:
                raise Trouble("seller %s: no charge speaks for it" % seller)
        lines = [Line(row["class"], (row["part"], row["color"], row["condition"]), whole(row["qty"], row[":where"]),
                      number(row["price"], row[":where"]),
                      number(row["grams"], row[":where"]) if row["grams"] else weights.get(row["part"]))
                 for row in mine]
        below = below or measure("value", lines) < terms.minimum
        figures = order_totals(terms, lines, home, rates, manner)
        names |= {charge.name for charge in terms.charges}
        estimates = estimates or any(step.estimate for charge in terms.charges for step in charge.steps)
        figures.update(seller=seller, route=route or said["route"], currency=terms.currency, several=terms.taxes,
                       lots=len({line.kind for line in lines}), pieces=sum(line.qty for line in lines))
        found.append(figures)
    for raw in sorted(others, key=lambda raw: (raw["item"].encode(), raw["currency"], Fraction(raw["amount"]))):
        terms = Terms(raw["item"], defaultdict(str, tax=raw["tax"]), raw["currency"] or home)
        line = Line("", (), 1, number(raw["amount"], raw[":where"], negative=True), None)
        aside = Manner({"round": opts.get("round", "")})
        figures = order_totals(terms, [line], home, rates, aside)
        figures.update(seller=raw["item"], route="other", currency=terms.currency, lots=0, pieces=0, several=terms.taxes)
        found.append(figures)
    currencies = {figures["currency"] for figures in found}
    total = {"seller": "TOTAL", "route": "", "currency": currencies.pop() if len(currencies) == 1 else "",
             "charges_by": {}, "taxes_by": {}}
    for name in ("lots", "pieces", "goods", "charges", "tax", "total", "home_goods", "home_charges", "home_tax",
                 "rounding", "home", "home_estimated"):
        total[name] = sum(figures[name] for figures in found)
    for name in names:
        total["charges_by"][name] = sum(figures["charges_by"].get(name, 0) for figures in found)
    if opts.get("cash"):
        unit = Fraction(opts["cash"])
        paid = rounded(total["home"] / unit, 0) * unit
        total["rounding"], total["home"] = total["rounding"] + paid - total["home"], paid
    rates_of = sorted({tax for figures in found for tax in figures["taxes_by"]})
    if not any(len(figures["several"]) > 1 for figures in found):
        rates_of = []
    for figures in found:
        for tax, amount in figures["taxes_by"].items():
            total["taxes_by"][tax] = total["taxes_by"].get(tax, 0) + amount
    own = sorted(names, key=str.encode) if opts.get("each_charge") else ["charges"]
    if opts.get("each_charge"):
        for figures in found + [total]:
            figures.update({tax_column(tax): figures["taxes_by"].get(tax, Fraction(0)) for tax in rates_of})
        own += [tax_column(tax) for tax in rates_of]
    columns = (["seller", "route", "lots", "pieces", "currency", "goods"] + own
               + "tax total home_currency home_goods home_charges home_tax rounding home".split())
    if opts.get("each_charge") and estimates:
        columns += ["home_estimated", "estimated_percent"]
    return columns, [total_row(figures, own, home, opts.get("each_charge")) for figures in found + [total]], below


def tax_column(tax):
    return "tax " + text_of_weight(tax)


def total_row(figures, own, home, each):
    row = {name: str(figures[name]) for name in ("seller", "route", "lots", "pieces", "currency")}
    row["home_currency"] = home
    values = dict(figures)
    if each:
        values.update({name: figures["charges_by"].get(name, Fraction(0)) for name in own if name not in figures})
    for name in ["goods"] + own + ["tax", "total"]:
        row[name] = (text_of(Fraction(values[name]), MINOR_UNITS.get(figures["currency"], 2))
                     if figures["currency"] else "")
    for name in "home_goods home_charges home_tax rounding home".split():
        row[name] = text_of(Fraction(figures[name]), MINOR_UNITS.get(home, 2))
    row["home_estimated"] = text_of(Fraction(figures["home_estimated"]), MINOR_UNITS.get(home, 2))
    share = Fraction(figures["home_estimated"]) * 100 / figures["home"] if figures["home"] else Fraction(0)
    row["estimated_percent"] = text_of(rounded(share, 2), 2)
    return row


def main(words):
    if not words or words[0] not in ("split", "total"):
        sys.exit(__doc__)
    opts = options(words[1:])
    if words[0] == "total":
        columns, rows, below = totals(opts, sys.stdin)
        writer = csv.writer(sys.stdout, lineterminator="\n")
        writer.writerow(columns)
        writer.writerows([row[column] for column in columns] for row in rows)
        return int(below)
    plan = check_plan(Market(opts), sys.stdin)
    print("metric,value")
    for name, value in plan.figures():
        print("%s,%s" % (name, value))
    for text in plan.faults:
        print("landed.py: " + text, file=sys.stderr)
    return int(bool(plan.faults))


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except Trouble as trouble:
        print("landed.py: %s" % trouble, file=sys.stderr)
        sys.exit(2)
