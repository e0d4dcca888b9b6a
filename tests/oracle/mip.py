"""The whole model of lot-split as a mixed-integer program, written from the file formats alone.

    mip.py [--solver highs|cbc] [--time S] [--most COST] [--write FILE.mps] [--plan FILE.csv] DIR
    mip.py ... --options [options of lot-split] --need need.csv

DIR holds need.csv and `args`, as draw.py writes them. Prints one line, `unmet,cost,bound,seconds`: the
pieces of musts that no plan can meet and the least cost among plans that meet all others. Exit status 1
where the time ran out before that was proved (cost is then the best found, empty where there is none).
--most: what a plan is said to cost; dearer ones are not looked for, which can save most of the time. Where
none costs as little, nothing is taken from what was said: the program is solved again without it.

The solver is a stranger: HiGHS through scipy.optimize.milp (Debian: python3-scipy), or the cbc command
(Debian: coinor-cbc). It works in floating point; so its plan is taken in whole pieces only, checked rule
by rule and costed again in exact fractions by landed.py, and that is the cost printed. A plan whose exact
cost lies off the solver's own by more than TOLERANCE is not believed: the other solver is asked.

Model. Per seller: is it open. Per price break: is it used, how many steps of it. Per offer and need row
that it fits: pieces that fill the row. Per class and charge: which step the order is in, with the measure
of the charge and the goods value shared out over the steps (the convex hull form), so that each step's
limits hold exactly. A strict limit (`over`, or below the next `from`) is moved to the next value that the
prices, grams or steps of the offers can add up to. What a charge comes to is a sum over those variables; a
charge by landed cost that comes after others goes by the goods and these sums, shared out in the same way.

Lines that stand (--keep) bring pieces as stock does. Those of an open order are in every measure of the order
as soon as it gets a line more; what it costs as it stands is then taken off.
"""
import csv
import io
import math
import os
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from fractions import Fraction

import landed

TOLERANCE = Fraction(1, 1000)


class TimeOut(Exception):
    """The solver stopped before it had proved anything."""


# ---------------------------------------------------------------- a program of variables and rows

class Program:
    """min cost.x, row limits, bounds, some x whole. Numbers are Fractions until they reach a solver."""

    def __init__(self):
        self.low, self.high, self.whole, self.cost = [], [], [], []
        self.rows = []  # ({variable: factor}, low or None, high or None)
        self.constant = Fraction(0)

    def variable(self, low, high, whole=False, cost=0):
        self.low.append(low)
        self.high.append(high)
        self.whole.append(whole)
        self.cost.append(Fraction(cost))
        return len(self.low) - 1

    def row(self, terms, low, high):
        self.rows.append((terms, low, high))

    def solve(self, solver, seconds):
        """(values, objective, bound), or None where it cannot be met. TimeOut where unknown."""
        return (solve_highs if solver == "highs" else solve_cbc)(self, seconds)


def solve_highs(program, seconds):
    import numpy
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_matrix
    data, columns, starts = [], [], [0]
    for terms, _, _ in program.rows:
        columns += terms.keys()
        data += [float(factor) for factor in terms.values()]
        starts.append(len(data))
    count = len(program.low)
    lows = [-math.inf if low is None else float(low) for _, low, _ in program.rows]
    highs = [math.inf if high is None else float(high) for _, _, high in program.rows]
    matrix = csr_matrix((data, columns, starts), shape=(len(program.rows), count))
    for presolve in (True, False):  # HiGHS 1.2's presolve has been seen to call a good program infeasible
        result = milp(numpy.array([float(cost) for cost in program.cost]),
                      integrality=numpy.array([int(whole) for whole in program.whole]),
                      bounds=Bounds([float(low) for low in program.low], [float(high) for high in program.high]),
                      constraints=LinearConstraint(matrix, lows, highs) if program.rows else None,
                      options={"mip_rel_gap": 0, "time_limit": max(0.1, seconds), "presolve": presolve})
        if result.status != 2:
            break
    else:
        return None
    if result.x is None:
        if result.status == 1:
            raise TimeOut()
        raise RuntimeError("HiGHS: " + result.message)
    bound = result.fun if result.mip_dual_bound is None else result.mip_dual_bound
    return list(result.x), result.fun, bound


def write_mps(program, handle):
    """Free MPS. A row with two limits is written twice, which keeps every reader happy."""
    rows = []
    for terms, low, high in program.rows:
        if low is not None and low == high:
            rows.append(("E", terms, low))
        else:
            if low is not None:
                rows.append(("G", terms, low))
            if high is not None:
                rows.append(("L", terms, high))
    handle.write("NAME split FREE\nROWS\n N cost\n")
    columns = defaultdict(list)
    for number, (sense, terms, _) in enumerate(rows):
        handle.write(" %s r%d\n" % (sense, number))
        for variable, factor in terms.items():
            columns[variable].append((number, factor))
    handle.write("COLUMNS\n")
    for variable, cost in enumerate(program.cost):
        if program.whole[variable] != (variable > 0 and program.whole[variable - 1]):
            handle.write(" m%d 'MARKER' '%s'\n" % (variable, "INTORG" if program.whole[variable] else "INTEND"))
        handle.write(" x%d cost %.17g\n" % (variable, float(cost)))
        for number, factor in columns[variable]:
            handle.write(" x%d r%d %.17g\n" % (variable, number, float(factor)))
    if program.whole[-1]:
        handle.write(" m 'MARKER' 'INTEND'\n")
    handle.write("RHS\n")
    for number, (_, _, limit) in enumerate(rows):
        if limit:
            handle.write(" rhs r%d %.17g\n" % (number, float(limit)))
    handle.write("BOUNDS\n")
    for variable, (low, high) in enumerate(zip(program.low, program.high)):
        handle.write(" LO b x%d %.17g\n UP b x%d %.17g\n" % (variable, float(low), variable, float(high)))
    handle.write("ENDATA\n")


def solve_cbc(program, seconds):
    with tempfile.TemporaryDirectory() as folder:
        model, answer = os.path.join(folder, "split.mps"), os.path.join(folder, "answer")
        with open(model, "w", encoding="ascii") as handle:
            write_mps(program, handle)
        run = subprocess.run(["cbc", model, "sec", "%.0f" % max(1, seconds), "ratio", "0", "allow", "1e-7",
                              "integerT", "1e-8", "primalT", "1e-8", "solve", "solution", answer],
                             stdout=subprocess.PIPE, stderr=subprocess.STDOUT, universal_newlines=True, check=False)
        if not os.path.exists(answer):
            raise RuntimeError("cbc: " + run.stdout[-300:])
        with open(answer, encoding="ascii") as handle:
            head, lines = handle.readline(), handle.readlines()
        if "infeasible" in head.lower():
            return None
        if not head.startswith("Optimal"):
            raise TimeOut(run.stdout[-300:])
        values = [float(low) for low in program.low]
        for line in lines:
            fields = line.replace("**", " ").split()
            values[int(fields[1][1:])] = float(fields[2])
    objective = sum(float(cost) * value for cost, value in zip(program.cost, values))
    return values, objective, objective


# ---------------------------------------------------------------- grids

def common_grid(amounts):
    """The largest step that all these fractions are multiples of; 0 where all are 0."""
    grid = Fraction(0)
    for amount in amounts:
        amount = abs(Fraction(amount))
        if grid == 0:
            grid = amount
        elif amount:
            scale = grid.denominator * amount.denominator // math.gcd(grid.denominator, amount.denominator)
            grid = Fraction(math.gcd(int(grid * scale), int(amount * scale)), scale)
    return grid


def at_least(place, strict, grid):
    """The least multiple of the grid that is at the place or, if strict, beyond it."""
    if grid == 0:
        return place + (1 if strict else 0)
    steps = -((-place) // grid)
    if strict and steps * grid == place:
        steps += 1
    return steps * grid


def at_most(place, strict, grid):
    if grid == 0:
        return place
    steps = place // grid
    if strict and steps * grid == place:
        steps -= 1
    return steps * grid


# ---------------------------------------------------------------- the model

class Use:
    """A price break in the program: `used` and `steps` are variables, `most` a limit in pieces."""

    def __init__(self, one, used, steps, most):
        self.one, self.used, self.steps, self.most = one, used, steps, most


class Amount:
    """What a charge comes to: a sum over variables, a grid that it lies on, and the ends of what it can be."""

    def __init__(self, terms, grid, low, high):
        self.terms, self.grid, self.low, self.high = terms, grid, low, high


def plus(one, other):
    """The sum of two sums over variables."""
    return {name: one.get(name, 0) + other.get(name, 0) for name in {**one, **other}}


def in_order(charges):
    """The charges, each behind those it comes after."""
    left, placed = list(charges), []
    while left:
        ready = [one for one in left if not any(other.name in one.after for other in left)]
        if not ready:
            raise landed.Trouble("charges come after themselves: %s" % " ".join(one.name for one in left))
        placed += ready
        left = [one for one in left if one not in ready]
    return placed


def past_rebates(terms, place):
    """Goods at which landed cost is at the place for sure; rebates are less than half of the goods."""
    steps = [step for charge in terms.charges for step in charge.steps if step.shipped]
    if all(step.amount >= 0 and step.percent >= 0 for step in steps):
        return place
    return 2 * (place - sum(min(0, step.amount) for step in steps))


class Split:
    """lot-split's problem as a Program, and the way back from values to order lines."""

    def __init__(self, market):
        self.market, self.program = market, Program()
        self.uses = {}           # listing -> [Use]
        self.fills = []          # (source, lot, row, variable); source a Listing or a stock kind
        self.labels = {}         # label -> variable
        self.unmet = {}          # lot name -> variable
        self.opened = {}         # seller -> variable
        self.by_row, self.by_source = defaultdict(list), defaultdict(list)
        by_seller = defaultdict(list)
        for listing in market.listings:
            if any(lot.fits(*listing.kind) for lot in market.lots):
                by_seller[listing.seller].append(listing)
        for seller in sorted(by_seller):
            self.add_seller(market.terms[seller], by_seller[seller])
        for kind, qty in market.stock.items():
            self.add_free(kind, kind, qty)
        for kind, qty in market.held.items():
            self.add_free(("kept", kind), kind, qty)
        if market.stay:
            self.add_stay()
        self.add_need()
        if not self.program.low:  # nothing to decide; solvers want something
            self.program.variable(0, 0)
        if market.max_orders is not None and self.opened:
            self.program.row({variable: 1 for variable in self.opened.values()}, None, market.max_orders)

    def add_free(self, source, kind, qty):
        """Pieces that cost nothing more."""
        fills = self.add_fills(source, kind, qty, [])
        if fills:
            self.program.row({variable: 1 for variable in fills}, None, qty)

    def add_stay(self):
        """A price on each seller dropped from the old plan or added to it."""
        market, program = self.market, self.program
        dropped = market.old_sellers - market.kept_sellers
        program.variable(1, 1, cost=market.stay * len(dropped))
        for seller, opened in self.opened.items():
            if seller in dropped:
                program.cost[opened] -= market.stay
            elif seller not in market.kept_sellers:
                program.cost[opened] += market.stay

    def useful(self, listing):
        return sum(lot.qty for lot in self.market.lots if lot.fits(*listing.kind))

    def grams(self, listing):
        said = {self.market.grams(listing, lot) for lot in self.market.lots if lot.fits(*listing.kind)}
        if len(said) > 1 or None in said:
            raise landed.Trouble("%s: grams of %s: %s" % (listing.seller, listing.kind, said or "not known"))
        return said.pop()

    def most(self, terms, one):
        """Pieces beyond which more of an offer can do no good: its need is met and it alone reaches every
        step and the minimum."""
        listing = one.listing
        most = max(self.useful(listing), one.least)
        places = [(terms.minimum, "value")]
        for charge in terms.charges:
            if charge.klass in ("", listing.klass):
                places += [(step.place, charge.basis) for step in charge.steps]
        for place, basis in places:
            unit = {"value": one.price, "landed": one.price, "pieces": Fraction(1)}.get(basis, Fraction(0))
            if basis == "weight":
                unit = self.grams(listing)
            if basis == "landed":
                place = past_rebates(terms, place)
            if unit:
                most = max(most, int(place / unit) + 2)
        most = -(-most // listing.step) * listing.step
        if listing.qty is not None:
            most = min(most, listing.qty // listing.step * listing.step)
        return most

    def add_fills(self, source, kind, most, used):
        """Variables for the pieces of a source that fill each row it fits; `used`: what must be open for it."""
        found = []
        for lot in self.market.lots:
            for row in lot.rows:
                if row.fits(*kind):
                    limit = min(most, lot.qty)
                    cost = row.penalty - (lot.worth or 0)
                    variable = self.program.variable(0, limit, cost=cost)
                    if used:
                        self.program.row({variable: 1, **{name: -limit for name in used}}, None, 0)
                    self.fills.append((source, lot, row, variable))
                    self.by_row[id(row)].append(variable)
                    self.by_source[source].append((lot, variable))
                    found.append(variable)
        return found

    def add_seller(self, terms, listings):
        program = self.program
        standing = self.market.standing[terms.seller]
        opened = program.variable(0, 1, True, terms.order_cost)
        if standing:
            program.cost[opened] = -landed.landed(terms, standing, terms.home_rate, True)
        uses = []
        for listing in listings:
            mine = []
            for one in listing.breaks:
                most = self.most(terms, one)
                least = -(-one.least // listing.step) * listing.step
                if most < least:
                    continue
                used = program.variable(0, 1, True)
                steps = program.variable(0, most // listing.step, True)
                program.row({steps: 1, used: -(most // listing.step)}, None, 0)
                program.row({steps: 1, used: -(least // listing.step)}, 0, None)
                mine.append(Use(one, used, steps, most))
            if not mine:
                continue
            program.row({opened: -1, **{use.used: 1 for use in mine}}, None, 0)
            fills = self.add_fills(listing, listing.kind, max(use.most for use in mine), [use.used for use in mine])
            program.row({**{variable: 1 for variable in fills}, **{use.steps: -listing.step for use in mine}}, None, 0)
            self.uses[listing] = mine
            uses += mine
        program.row({opened: 1, **{use.used: -1 for use in uses}}, None, 0)
        self.opened[terms.seller] = opened
        value, _, high = self.measure("value", uses, standing, opened)
        for variable, factor in value.items():
            program.cost[variable] += factor * (1 + terms.tax / 100) * terms.home_rate
        if terms.minimum:
            program.row(plus(value, {opened: -terms.minimum}), 0, None)
            if terms.minimum > high:
                program.high[opened] = 0
        amounts = {}  # of each charge that lines can bear
        for charge in in_order(terms.charges):
            mine = [use for use in uses if charge.klass in ("", use.one.listing.klass)]
            lines = [line for line in standing if charge.klass in ("", line.klass)]
            if mine or lines:
                after = [amounts[other] for other in amounts if other.name in charge.after]
                amounts[charge] = self.add_charge(terms, charge, mine, lines, opened, after)

    def measure(self, basis, uses, lines, opened):
        """({variable: factor}, grid, highest) of what a charge goes by, over these price breaks and, once the
        order gets any, these lines that stand in it."""
        base = landed.measure(basis, lines)
        program = self.program
        if basis == "lots":
            kinds, there = defaultdict(list), {line.kind for line in lines}
            for use in uses:
                if use.one.listing.kind not in there:
                    kinds[use.one.listing.kind].append(use.used)
            terms_of = {opened: base} if base else {}
            for used in kinds.values():
                bought = program.variable(0, 1)
                for name in used:
                    program.row({bought: 1, name: -1}, 0, None)
                program.row({bought: 1, **{name: -1 for name in used}}, None, 0)
                terms_of[bought] = Fraction(1)
            return terms_of, Fraction(1), base + len(kinds)
        factors, high = {}, defaultdict(Fraction)
        for use in uses:
            listing = use.one.listing
            unit = {"value": use.one.price, "pieces": Fraction(1)}.get(basis)
            if unit is None:
                unit = self.grams(listing)
            factors[use.steps] = unit * listing.step
            high[listing] = max(high[listing], unit * use.most)
        if base:
            factors[opened] = base
        return factors, common_grid(factors.values()), sum(high.values(), base)

    def add_charge(self, terms, charge, uses, lines, opened, after):
        """Exactly one step applies where the order has a line of the class. Returns its Amount."""
        program = self.program
        present = opened
        if charge.klass and not lines:
            present = program.variable(0, 1)
            for use in uses:
                program.row({present: 1, use.used: -1}, 0, None)
            program.row({present: 1, **{use.used: -1 for use in uses}}, None, 0)
        size, grid, high = self.measure("value" if charge.basis == "landed" else charge.basis, uses, lines,
                                        opened)
        low = Fraction(0)
        for other in after:
            size = plus(size, other.terms)
            grid = common_grid([grid, other.grid])
            low, high = low + other.low, high + other.high
        spans = []  # (low, high, step or None)
        first = charge.steps[0]
        if first.place > low or (first.strict and first.place == low):
            spans.append((low, min(high, at_most(first.place, not first.strict, grid)), None))
        for step, later in zip(charge.steps, charge.steps[1:] + [None]):
            bottom = max(low, at_least(step.place, step.strict, grid))
            top = high if later is None else min(high, at_most(later.place, not later.strict, grid))
            spans.append((bottom, top, step))
        spans = [span for span in spans if span[0] <= span[1] and (span[2] is None or span[2].shipped)]
        if not spans:
            program.high[present] = 0
            return Amount({}, Fraction(0), Fraction(0), Fraction(0))
        value, value_grid, most_value = self.measure("value", uses, lines, opened)
        whole = len(spans) > 1
        here = [program.variable(0, 1, whole) for _ in spans]
        program.row({present: -1, **{name: 1 for name in here}}, 0, 0)
        shares, values, amount, taxed, ends = [], [], {}, {}, [Fraction(0)]
        for name, (bottom, top, step) in zip(here, spans):
            share = program.variable(min(0, bottom), max(0, top))
            program.row({share: 1, name: -bottom}, 0, None)
            program.row({share: 1, name: -top}, None, 0)
            shares.append(share)
            if step is None:
                continue
            mine = {name: step.amount}
            span = (bottom, top)
            if step.percent:
                part = share
                if charge.basis not in ("value", "landed"):
                    part, span = program.variable(0, most_value), (Fraction(0), most_value)
                    program.row({part: 1, name: -most_value}, None, 0)
                    values.append(part)
                mine[part] = step.percent / 100
            ends += [step.amount + step.percent / 100 * end for end in span]
            amount.update(mine)
            if terms.bears_tax(step):
                taxed.update(mine)
        for variable, factor in amount.items():
            with_tax = terms.tax / 100 if variable in taxed else 0
            program.cost[variable] += terms.home_rate * factor * (1 + with_tax)
        absent = {}  # the charges it comes after, where there is no line of this class
        if after and charge.klass:
            rest = program.variable(min(low, 0), max(high, 0))
            program.row({rest: 1, present: low}, low, None)
            program.row({rest: 1, present: high}, None, high)
            absent = {rest: -1}
        program.row({**size, **{share: -1 for share in shares}, **absent}, 0, 0)
        if values:
            for name, (_, _, step) in zip(here, spans):
                if step is None or not step.percent:
                    part = program.variable(0, most_value)
                    program.row({part: 1, name: -most_value}, None, 0)
                    values.append(part)
            program.row({**value, **{part: -1 for part in values}}, 0, 0)
        basis_grid = grid if charge.basis in ("value", "landed") else value_grid
        steps = [step for _, _, step in spans if step]
        grid = common_grid([step.amount for step in steps] + [step.percent / 100 * basis_grid for step in steps])
        return Amount(amount, grid, min(ends), max(ends))

    def add_need(self):
        program = self.program
        for lot in self.market.lots:
            filled = [variable for row in lot.rows for variable in self.by_row[id(row)]]
            if lot.worth is not None:
                if filled:
                    program.row({variable: 1 for variable in filled}, None, lot.qty)
            else:
                self.unmet[lot.name] = program.variable(0, lot.qty)
                program.row({self.unmet[lot.name]: 1, **{variable: 1 for variable in filled}}, lot.qty, lot.qty)
            for row in lot.rows:
                if row.together:
                    label = self.labels.get(row.together)
                    if label is None:
                        label = self.labels[row.together] = program.variable(0, 1, True)
                    program.row({label: -lot.qty, **{variable: 1 for variable in self.by_row[id(row)]}}, 0, 0)

    # ------------------------------------------------------------ solving

    def total_unmet(self):
        return {variable: 1 for variable in self.unmet.values()}

    def solve_with(self, solver, seconds, high=None, costs=None, relaxed=False, most=None):
        """The program with at most so many unmet pieces or such a cost, other costs, or without whole numbers."""
        program = self.program
        kept = program.cost, program.whole, len(program.rows)
        if costs is not None:
            program.cost = [Fraction(costs.get(index, 0)) for index in range(len(program.cost))]
        if relaxed:
            program.whole = [False] * len(program.whole)
        if high is not None and self.unmet:
            program.row(self.total_unmet(), None, high)
        if most is not None:
            terms = {index: cost for index, cost in enumerate(program.cost) if cost}
            program.row(terms, None, most + 10 * TOLERANCE)
        try:
            return program.solve(solver, seconds)
        finally:
            program.cost, program.whole = kept[:2]
            del program.rows[kept[2]:]

    def least_unmet(self, solver, seconds):
        found = self.solve_with(solver, seconds, costs=self.total_unmet())
        if found is None:
            raise RuntimeError("the empty plan is not allowed")
        if found[1] - found[2] > 0.5:
            raise TimeOut()
        return round(found[1])

    def cheapest(self, solver, ends, unmet, most):
        found = most is not None and self.solve_with(solver, ends - time.time(), high=unmet, most=most)
        return found or self.solve_with(solver, ends - time.time(), high=unmet)

    def solve(self, solver, seconds, most=None):
        """(unmet, Plan, order lines, bound); Plan None where the time ran out with nothing."""
        ends = time.time() + seconds
        relaxed = self.solve_with(solver, seconds, costs=self.total_unmet(), relaxed=True)
        unmet = math.ceil(relaxed[1] - 1e-6)
        found = self.cheapest(solver, ends, unmet, most)
        if found is None:
            unmet = self.least_unmet(solver, ends - time.time())
            found = self.cheapest(solver, ends, unmet, most)
            if found is None:
                raise RuntimeError("%s contradicts itself on the unmet pieces" % solver)
        rows = self.order_rows(self.settle(solver, found[0], unmet))
        plan = landed.check_plan(self.market, io.StringIO(text_of_rows(self.market, rows)))
        return unmet, plan, rows, found[1], found[2]

    def settle(self, solver, values, unmet):
        """Whole numbers fixed; the pieces that fill rows are then a flow, whole at a vertex."""
        program = self.program
        kept = list(program.low), list(program.high)
        for index, whole in enumerate(program.whole):
            if whole:
                program.low[index] = program.high[index] = round(values[index])
        # Steps and shares follow from the whole numbers; only what fills the need is left to find.
        flow, old_rows = {variable for _, _, _, variable in self.fills} | set(self.unmet.values()), program.rows
        firm = {use.used for uses in self.uses.values() for use in uses}
        firm |= {use.steps for uses in self.uses.values() for use in uses} | set(self.labels.values())
        program.rows = [row for row in old_rows if set(row[0]) & flow and not set(row[0]) - flow - firm]
        costs = {variable: program.cost[variable] for variable in flow}
        try:
            found = self.solve_with(solver, 60, high=unmet, costs=costs, relaxed=True)
        finally:
            program.low, program.high = kept
            program.rows = old_rows
        if found is None:
            raise RuntimeError("the solver's plan does not stand in whole pieces")
        settled = [round(value) for value in values]
        for variable in flow:
            settled[variable] = round(found[0][variable])
        return settled

    def order_rows(self, values):
        """Order lines of a solution, sorted."""
        rows = []
        for listing, uses in self.uses.items():
            for use in uses:
                qty = listing.step * values[use.steps]
                if values[use.used] and qty:
                    rows += self.rows_of(listing, use.one, qty, self.shares(listing, values))
        for kind in self.market.stock:
            shares = self.shares(kind, values)
            for lot, qty in shares.items():
                row = dict(zip(("part", "color", "condition"), kind), seller="owned", route="owned", lot=lot,
                           qty=qty, price="0", amount="0", surplus=0, listing="", grams="")
                row.update({"class": "", "currency": self.market.home})
                rows.append(row)
        for kind in self.market.held:
            rows += self.kept_rows(kind, self.shares(("kept", kind), values))
        return sorted((defaultdict(str, row) for row in rows), key=landed.sort_key)

    def kept_rows(self, kind, shares):
        """The lines of a kind that stand, their pieces shared out over the lots."""
        rows = []
        for one in self.market.kept:
            if one.kind != kind:
                continue
            left = one.qty
            for lot in list(shares):
                part = min(left, shares[lot])
                if part:
                    rows.append(dict(one.raw, lot=lot, qty=part, surplus=0, amount=plain(part * one.price)))
                    shares[lot] -= part
                    left -= part
            if left:
                rows.append(dict(one.raw, lot="", qty=left, surplus=left, amount=plain(left * one.price)))
        return rows

    def shares(self, source, values):
        shares = defaultdict(int)
        for lot, variable in self.by_source[source]:
            shares[lot.name] += values[variable]
        return {lot: qty for lot, qty in sorted(shares.items(), key=lambda item: item[0].encode()) if qty > 0}

    def rows_of(self, listing, one, qty, shares):
        terms = self.market.terms[listing.seller]
        surplus = qty - sum(shares.values())
        if not shares:
            shares = {next(lot.name for lot in self.market.lots if lot.fits(*listing.kind)): 0}
        last, rows = list(shares)[-1], []
        lots = {lot.name: lot for lot in self.market.lots}
        for lot, part in shares.items():
            more = surplus if lot == last else 0
            grams = self.market.grams(listing, lots[lot])
            row = dict(zip(("part", "color", "condition"), listing.kind), seller=listing.seller, route=terms.route,
                       lot=lot, qty=part + more, surplus=more, price=one.row["price"], currency=terms.currency,
                       listing=listing.name, grams="" if grams is None else plain(grams))
            row["amount"] = plain(row["qty"] * one.price)
            row["class"] = listing.klass
            row.update({name: one.row[name] for name in self.market.carry}, state="new")
            rows.append(row)
        return rows


def plain(amount):
    """A fraction with few decimals as text."""
    text = landed.text_of(amount, 6)
    return text.rstrip("0").rstrip(".")


def text_of_rows(market, rows):
    columns = market.columns
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([row[column] for column in columns] for row in rows)
    return text.getvalue()


def market_of(folder):
    """The Market of a directory that draw.py wrote."""
    with open(os.path.join(folder, "args"), encoding="utf-8") as handle:
        words = handle.read().split()
    opts = landed.options(words)
    for name in ("sellers", "charges", "rates", "weights", "keep", "was"):
        if name in opts:
            opts[name] = os.path.join(folder, opts[name])
    for name in landed.SEVERAL:
        opts[name] = [os.path.join(folder, file) for file in opts[name]]
    opts["need"] = os.path.join(folder, "need.csv")
    return landed.Market(opts)


def optimum(market, solver="highs", seconds=600.0, most=None):
    """(unmet, cost, bound, order rows); cost exact. TimeOut where nothing is proved about unmet."""
    split, complaints = Split(market), []
    for name in (solver, "cbc" if solver == "highs" else "highs"):
        try:
            unmet, plan, rows, objective, bound = split.solve(name, seconds, most)
        except RuntimeError as error:
            complaints.append("%s: %s" % (name, error))
            continue
        off = abs(plan.cost() - Fraction(objective))
        if not plan.faults and plan.unmet == unmet and off <= TOLERANCE:
            return unmet, plan.cost(), Fraction(bound), rows
        complaints.append("%s: says %.6f, exact %.6f, %d unmet of %d; %s" % (
            name, objective, plan.cost(), plan.unmet, unmet, "; ".join(plan.faults)))
    raise RuntimeError("\n".join(complaints))


def main(words):
    solver, seconds, most, files, market = "highs", 600.0, None, {}, None
    while words:
        word = words.pop(0)
        if word == "--solver":
            solver = words.pop(0)
        elif word == "--time":
            seconds = float(words.pop(0))
        elif word == "--most":
            most = Fraction(words.pop(0))
        elif word in ("--write", "--plan"):
            files[word] = words.pop(0)
        elif word == "--options":
            market, words = landed.Market(landed.options(words)), []
        else:
            market = market_of(word)
    if market is None:
        sys.exit(__doc__)
    if "--write" in files:
        with open(files["--write"], "w", encoding="ascii") as handle:
            write_mps(Split(market).program, handle)
    began = time.time()
    try:
        unmet, cost, bound, rows = optimum(market, solver, seconds, most)
    except TimeOut:
        print("mip.py: out of time", file=sys.stderr)
        print(",,,%.2f" % (time.time() - began))
        return 1
    if "--plan" in files:
        with open(files["--plan"], "w", encoding="utf-8", newline="") as handle:
            handle.write(text_of_rows(market, rows))
    print("%d,%s,%.9f,%.2f" % (unmet, landed.text_of(cost, landed.NANO), bound, time.time() - began))
    return int(cost - bound > TOLERANCE)


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except (landed.Trouble, RuntimeError) as trouble:
        print("mip.py: %s" % trouble, file=sys.stderr)
        sys.exit(2)
