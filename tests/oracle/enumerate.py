"""Every plan of a tiny need, looked at: a second oracle, to try the first one (mip.py) on.

    enumerate.py DIR            prints `unmet,cost`; exit status 3 where there are too many plans to look at
    enumerate.py --mip FROM TO  compares mip.py on the tiny draws of these seeds (needs python3-scipy or cbc)
    enumerate.py --duties --mip FROM TO     the same with duty and import tax
    enumerate.py --kept --mip FROM TO       the same with orders under way, and an old plan to stay by

Per seller every purchase is costed (landed.py) and the cheapest kept for each set of pieces it brings; the
sellers are put together one by one, and what they bring is shared out over the lots in every way. Exact
fractions throughout; no bound, no relaxation, no rounding beyond that of the landed cost itself.
"""
import itertools
import os
import random
import sys
import tempfile
from fractions import Fraction

import draw
import landed
import mip

TOO_MANY = 100000


class TooMany(Exception):
    pass


def enough(terms, listing, one, lots):
    """Pieces beyond which more of an offer only costs more."""
    most = max([one.least] + [sum(lot.qty for lot in lots)])
    for charge in terms.charges:
        if charge.klass in ("", listing.klass):
            for step in charge.steps:
                unit = {"value": one.price, "landed": one.price, "pieces": 1, "lots": 0}.get(charge.basis)
                if unit is None:
                    unit = listing.weight
                place = mip.past_rebates(terms, step.place) if charge.basis == "landed" else step.place
                most = max(most, int(place / unit) + 1 if unit else 0)
    if one.price:
        most = max(most, int(terms.minimum / one.price) + 1)
    most = (most // listing.step + 1) * listing.step
    return most if listing.qty is None else min(most, listing.qty)


def purchases(terms, listing, lots):
    """None, and every (price break, pieces) that may be bought."""
    found = [None]
    for one in listing.breaks:
        for qty in range(one.least, enough(terms, listing, one, lots) + 1):
            if qty % listing.step == 0:
                found.append((one, qty))
    return found


def orders_of(terms, listings, kinds, useful, market):
    """{pieces brought, by kind: least cost} over every order that may be made."""
    ways = []
    for listing in listings:
        lots = [lot for lot in market.lots if lot.fits(*listing.kind)]
        weights = {market.grams(listing, lot) for lot in lots}
        listing.weight = weights.pop()
        if weights:
            raise landed.Trouble("grams differ")
        ways.append(purchases(terms, listing, lots))
    size, standing = 1, market.standing[terms.seller]
    for way in ways:
        size *= len(way)
    if size > TOO_MANY:
        raise TooMany()
    best = {}
    for pick in itertools.product(*ways):
        pick = [one for one in pick if one]
        if not pick:
            continue
        lines = [landed.Line(one.listing.klass, one.listing.kind, qty, one.price, one.listing.weight)
                 for one, qty in pick]
        if landed.measure("value", standing + lines) < terms.minimum:
            continue
        try:
            cost = landed.landed_more(terms, standing, lines) + (0 if standing else terms.order_cost)
        except landed.NotShipped:
            continue
        brought = [0] * len(kinds)
        for line in lines:
            brought[kinds[line.kind]] += line.qty
        brought = tuple(map(min, brought, useful))
        if brought not in best or cost < best[brought]:
            best[brought] = cost
    return best


def shares_of(lot, rows, kinds, have):
    """Every way to fill a lot from what is there by these rows: (pieces taken by kind, filled, cost)."""
    ways = [((0,) * len(have), 0, Fraction(0))]
    for kind, index in kinds.items():
        fitting = [row.penalty for row in rows if row.fits(*kind)]
        if not fitting:
            continue
        price, more = min(fitting) - (lot.worth or 0), []
        for taken, filled, cost in ways:
            for qty in range(0, min(have[index], lot.qty - filled) + 1):
                more.append((taken[:index] + (qty,) + taken[index + 1:], filled + qty, cost + qty * price))
        ways = more
    return ways


def least(market):
    """(unmet, cost) of the best plan."""
    listings = [one for one in market.listings if any(lot.fits(*one.kind) for lot in market.lots)]
    kinds = {}
    for kind in [one.kind for one in listings] + list(market.stock) + list(market.held):
        if any(lot.fits(*kind) for lot in market.lots):
            kinds.setdefault(kind, len(kinds))
    useful = [sum(lot.qty for lot in market.lots if lot.fits(*kind)) for kind in kinds]
    start = [0] * len(kinds)
    for kind, qty in list(market.stock.items()) + list(market.held.items()):
        if kind in kinds:
            start[kinds[kind]] += qty
    stay, from_whom = market.stay or Fraction(0), {one.seller for one in listings}
    dropped = market.old_sellers - market.kept_sellers
    # By orders made (if they count) and pieces had: the least cost.
    states = {(0,) + tuple(map(min, start, useful)): stay * len(dropped - from_whom)}
    for seller in sorted({one.seller for one in listings}):
        mine = [one for one in listings if one.seller == seller]
        orders = orders_of(market.terms[seller], mine, kinds, useful, market)
        if len(orders) * len(states) > 20 * TOO_MANY:
            raise TooMany()
        leave = stay if seller in dropped else 0
        add = stay if seller not in market.old_sellers | market.kept_sellers else 0
        after = {state: cost + leave for state, cost in states.items()}
        for (count, *have), cost in states.items():
            if market.max_orders is not None:
                if count == market.max_orders:
                    continue
                count += 1
            for brought, price in orders.items():
                price += add
                state = (count,) + tuple(min(one + two, top) for one, two, top in zip(have, brought, useful))
                if state not in after or cost + price < after[state]:
                    after[state] = cost + price
        states = after
    bought = {}
    for (_, *have), cost in states.items():
        have = tuple(have)
        bought[have] = min(cost, bought.get(have, cost))
    labels = sorted({row.together for lot in market.lots for row in lot.rows if row.together})
    best = None
    for pick in itertools.product((False, True), repeat=len(labels)):
        found = shared_out(market, kinds, bought, {label for label, yes in zip(labels, pick) if yes})
        if found is not None and (best is None or found < best):
            best = found
    return best


def shared_out(market, kinds, bought, taken):
    """Least (unmet, cost) with just these `together` labels taken; None where that cannot be."""
    states = {have: (0, cost) for have, cost in bought.items()}
    for lot in market.lots:
        chosen = [row for row in lot.rows if row.together in taken]
        if len(chosen) > 1:
            return None
        rows, after = chosen or [row for row in lot.rows if not row.together], {}
        for have, (unmet, cost) in states.items():
            for used, filled, more in shares_of(lot, rows, kinds, have):
                if chosen and filled < lot.qty:
                    continue
                rest = tuple(one - two for one, two in zip(have, used))
                value = (unmet + (lot.qty - filled if lot.worth is None else 0), cost + more)
                if rest not in after or value < after[rest]:
                    after[rest] = value
        if len(after) > TOO_MANY:
            raise TooMany()
        states = after
    return min(states.values()) if states else None


def compare(first, last, duties=False, kept=False):
    """The MIP and full enumeration on tiny draws. Exit status 1 where they differ."""
    failures = skipped = 0
    for seed in range(first, last + 1):
        with tempfile.TemporaryDirectory() as folder:
            draw.draw("tiny", seed, folder)
            if duties:
                draw.more_duties(random.Random("duties %d" % seed), folder, draw.SHAPES["tiny"]["value"])
            if kept:
                draw.more_kept(random.Random("kept %d" % seed), folder, draw.SHAPES["tiny"]["value"])
            market = mip.market_of(folder)
            try:
                found = least(market)
            except TooMany:
                skipped += 1
                continue
            unmet, cost = mip.optimum(market)[:2]
        if unmet != found[0] or abs(cost - found[1]) > Fraction(1, 10 ** 6):
            failures += 1
            print("seed %d: the MIP has %d unmet, %.9f; enumerated %d, %.9f" % (seed, unmet, cost, *found))
    print("%d draws, %d too large, %d failures" % (last - first + 1, skipped, failures))
    return int(failures > 0)


def main(words):
    duties = words[:1] == ["--duties"]
    words = words[duties:]
    kept = words[:1] == ["--kept"]
    words = words[kept:]
    if len(words) == 3 and words[0] == "--mip":
        return compare(int(words[1]), int(words[2]), duties, kept)
    if len(words) != 1 or not os.path.isdir(words[0]):
        sys.exit(__doc__)
    try:
        unmet, cost = least(mip.market_of(words[0]))
    except TooMany:
        return 3
    print("%d,%s" % (unmet, landed.text_of(cost, landed.NANO)))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
