"""Published problems as the files of lot-split.

    published.py ten DIR            ten items, ten shops, 4 a delivery: "Optimal Internet shopping", a
                                    published puzzle (solve.club problem collection). Least total 149, from
                                    two shops (2 and 10).
    published.py steiner ORDER DIR  ORDER 9, 15, 27, 45 or 81: a lot for each triple of a Steiner triple
                                    system, sold by the sellers who are its three points, at price 0; a
                                    seller costs 1. Fewest sellers that serve all: 5, 9, 18, 30, 61.
                                    Fulkerson, Nemhauser and Trotter 1974; Ratliff 1979; Mannino and Sassano
                                    1995 for 81. Order 9 is the affine plane of order 3, 15 the Bose
                                    construction, 27, 45 and 81 the tripling of 9, 15 and 27.

Writes need.csv, offers.csv, sellers.csv, charges.csv and `args`, as draw.py does; the names are invented.
"""
import itertools
import os
import sys

import draw

TEN = """13 19 16 19 19 18 17 16 15 14
18 13 17 14 15 16 15 17 18 17
17 14 13 17 16 18 16 17 18 17
19 18 17 13 16 15 15 16 17 14
16 14 17 18 13 16 15 16 17 16
17 17 16 14 15 13 16 17 18 16
17 14 16 17 15 16 13 18 19 17
17 16 15 14 17 16 15 13 15 15
15 15 16 18 17 15 16 15 13 14
16 14 16 18 17 17 15 16 18 13"""
TEN_LEAST, FEWEST = 149, {9: 5, 15: 9, 27: 18, 45: 30, 81: 61}


def affine_plane():
    """Order 9: the lines of the plane over the integers mod 3; three points a line."""
    points = list(itertools.product(range(3), repeat=2))
    return 9, [triple for triple in itertools.combinations(range(9), 3)
               if all(sum(points[point][axis] for point in triple) % 3 == 0 for axis in (0, 1))]


def bose():
    """Order 15: the integers mod 5 three times over, with x o y = (x + y) / 2."""
    triples = [tuple(3 * x + level for level in range(3)) for x in range(5)]
    for x, y in itertools.combinations(range(5), 2):
        middle = (x + y) * 3 % 5  # 3 is one half, mod 5
        triples += [(3 * x + level, 3 * y + level, 3 * middle + (level + 1) % 3) for level in range(3)]
    return 15, triples


def tripled(order, triples):
    """Three copies: each point with its copies, each triple in one copy, or a point in each copy."""
    found = [(point, point + order, point + 2 * order) for point in range(order)]
    for triple in triples:
        for levels in [(0, 0, 0), (1, 1, 1), (2, 2, 2)] + list(itertools.permutations(range(3))):
            found.append(tuple(point + level * order for point, level in zip(triple, levels)))
    return 3 * order, found


def steiner(order):
    """(points, triples), checked to be a Steiner triple system: every pair in just one triple."""
    count, triples = {9: affine_plane, 15: bose, 27: lambda: tripled(*affine_plane()),
                      45: lambda: tripled(*bose()), 81: lambda: tripled(*tripled(*affine_plane()))}[order]()
    pairs = [pair for triple in triples for pair in itertools.combinations(sorted(triple), 2)]
    assert len(pairs) == len(set(pairs)) == count * (count - 1) // 2
    return count, triples


def write_ten(folder):
    rows = [line.split() for line in TEN.splitlines()]
    shops = ["shop%02d" % (shop + 1) for shop in range(10)]
    need = [{"part": "item%02d" % (item + 1), "color": "plain", "qty": 1} for item in range(10)]
    offers = [{"seller": shops[shop], "part": need[item]["part"], "color": "plain", "qty": "", "price": price}
              for item, prices in enumerate(rows) for shop, price in enumerate(prices)]
    write(folder, need, offers, shops, "4")


def write_steiner(folder, order):
    count, triples = steiner(order)
    shops = ["point%02d" % point for point in range(count)]
    need = [{"part": "triple%03d" % number, "color": "plain", "qty": 1} for number in range(len(triples))]
    offers = [{"seller": shops[point], "part": lot["part"], "color": "plain", "qty": 1, "price": 0}
              for lot, triple in zip(need, triples) for point in triple]
    write(folder, need, offers, shops, "1")


def write(folder, need, offers, shops, amount):
    os.makedirs(folder, exist_ok=True)
    draw.write(folder, "need.csv", ["part", "color", "qty"], need)
    draw.write(folder, "offers.csv", ["seller", "part", "color", "qty", "price"], offers)
    draw.write(folder, "sellers.csv", ["seller", "route", "currency"],
               [{"seller": shop, "route": "market", "currency": "USD"} for shop in shops])
    draw.write(folder, "charges.csv", ["seller", "charge", "amount"],
               [{"seller": "*", "charge": "delivery", "amount": amount}])
    draw.write_args(folder, "-o offers.csv -s sellers.csv -c charges.csv".split())


def main(words):
    if len(words) == 2 and words[0] == "ten":
        write_ten(words[1])
    elif len(words) == 3 and words[0] == "steiner" and words[1] in ("9", "15", "27", "45", "81"):
        write_steiner(words[2], int(words[1]))
    else:
        sys.exit(__doc__)


if __name__ == "__main__":
    main(sys.argv[1:])
