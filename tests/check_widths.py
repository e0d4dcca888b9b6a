"""Holds the cells that lot-show counts for each character against wcwidth, a library of Debian's.

It shows every assigned code point in a row of its own, and reads from the blanks behind it how wide it
was taken to be. wcwidth is a table for itself, made from the same standard by other people. Where the
two differ on purpose is said below.
"""

import csv
import io
import subprocess
import sys
import unicodedata

import wcwidth


def due(point):
    character = chr(point)
    category = unicodedata.category(character)
    # Soft hyphens, marks of direction and the like are shown as U+FFFD, controls as pictures.
    if category in ("Cc", "Zl", "Zp") or (category == "Cf" and not 0x600 <= point <= 0x8E2
                                          and point not in (0x200C, 0x200D, 0x110BD, 0x110CD)):
        return 1
    # Vowels and finals of Hangul join the consonant before them; this wcwidth knows some of them.
    if 0x1160 <= point <= 0x11FF or 0xD7B0 <= point <= 0xD7FF:
        return 0
    width = wcwidth.wcwidth(character, "15.0.0")
    return width


points = [point for point in range(1, 0x110000)
          if unicodedata.category(chr(point)) not in ("Cn", "Cs", "Co") and point != 0xFEFF]
table = io.StringIO(newline="")
writer = csv.writer(table, lineterminator="\n", quoting=csv.QUOTE_ALL)
writer.writerow(["seen", "end"])
# A letter first, for the marks to stand on.
writer.writerows(["a" + chr(point), "|"] for point in points)
shown = subprocess.run(["lot-show", "-q"], input=table.getvalue().encode(), stdout=subprocess.PIPE,
                       check=True).stdout.decode().split("\n")[2:-1]
assert len(shown) == len(points), (len(shown), len(points))
bad = 0
for point, line in zip(points, shown):
    assert line.endswith("|"), (hex(point), line)
    seen = line[:-1].rstrip(" ") if point != 0x20 else "a "
    blanks = len(line) - 1 - len(seen)
    width = len("seen") + 2 - blanks - 1
    if width != due(point):
        bad += 1
        print(f"U+{point:04X} {unicodedata.name(chr(point), '?')}: {width}, due {due(point)}")
print(f"{len(points)} characters, {bad} differ")
sys.exit(bad > 0)
