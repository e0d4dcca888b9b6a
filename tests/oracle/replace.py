#!/usr/bin/env python3
"""What Python's re makes of the patterns of swap rules, to hold lot-swap against.

usage: replace.py need RULES > NEED       draws a need list and a rules file for it
       replace.py expect RULES < NEED     the need list as the rules' `use` steps should leave it

The patterns are drawn from what PCRE2 and Python's re both have and mean the same by: classes,
groups, alternation, quantifiers greedy and lazy, lookaheads, named groups. The re documentation
(docs.python.org/3/library/re.html) is the reference; the whole field must match (re.fullmatch),
$1 and ${1} are what a group took, $$ is a dollar sign, a group that took no part is empty.
"""

import csv
import random
import re
import sys

PATTERNS = [
    (r"([A-Z])-([0-9]+)", "$2$1"),
    (r"([A-Z]-[0-9]+)\+.+", "$1"),
    (r"([A-Z])-([0-9])([0-9]{2})(\+.*)?", "${1}x$2-$3$4"),
    (r"(?:A|B)-(\d+)", "AB-$1"),
    (r"(.)(.*?)(\+.*)?", "$1$3"),
    (r"(?P<kind>[A-Z])-(?P<size>[0-9]+)", "${kind}/${size}"),
    (r"(?=.*\+)([^+]*)\+(.*)", "$2+$1"),
    (r"[^+]*", "$0!"),
    (r"A-.*|B-1..", "$$0"),
    (r"((A|B)|(C|D))-([0-9]+).*", "$2$3:$4"),
    (r"(\w)-(\d+)\+é(.*)", "$1é$2$3"),
]
PARTS = "A-101 A-204 B-101 B-204+mill B-330 C-100+é1 C-7 D-118+a+b D-1 E-55 E-204+ É-9".split()


def template(replacement):
    """A PCRE2 replacement as a function of a match of re."""
    token = re.compile(r"\$(?:(\$)|\{(\w+)\}|(\d+))")

    def expand(match):
        def value(found):
            if found.group(1):
                return "$"
            name = found.group(2) or found.group(3)
            return match.group(int(name) if name.isdigit() else name) or ""

        return token.sub(value, replacement)

    return expand


def draw(rules_path):
    rng = random.Random(20)
    with open(rules_path, "w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(["rule", "do", "part", "to_part"])
        for number in rng.sample(range(len(PATTERNS)), 6):
            writer.writerow([f"r{number}", "use", *PATTERNS[number]])
    writer = csv.writer(sys.stdout, lineterminator="\n")
    writer.writerow(["part", "color", "qty", "model"])
    for number, part in enumerate(PARTS):
        writer.writerow([part, "red", rng.randint(1, 9), number])


def expect(rules_path):
    rows = list(csv.DictReader(sys.stdin))
    with open(rules_path, newline="", encoding="utf-8") as file:
        rules = list(csv.DictReader(file))
    for rule in rules:
        pattern = re.compile(rule["part"], re.DOTALL)
        expand = template(rule["to_part"])
        for row in rows:
            match = pattern.fullmatch(row["part"])
            if match:
                row["part"] = expand(match)
    writer = csv.writer(sys.stdout, lineterminator="\n")
    writer.writerow(rows[0].keys())
    writer.writerows(row.values() for row in rows)


if __name__ == "__main__":
    {"need": draw, "expect": expect}[sys.argv[1]](sys.argv[2])
