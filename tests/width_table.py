"""Makes src/base/width_table.h from the data files of the Unicode Character Database.

usage: width_table.py [DIRECTORY] > src/base/width_table.h

The directory holds EastAsianWidth.txt, DerivedCoreProperties.txt and extracted/DerivedGeneralCategory.txt;
the default is where Debian's package unicode-data puts them.
"""

import re
import sys

# Characters of category Cf that are seen, or that shape what is: signs of Arabic, Syriac and Kaithi numbers
# and verses, and the two joiners.
SEEN = {*range(0x600, 0x606), 0x6DD, 0x70F, 0x890, 0x891, 0x8E2, 0x110BD, 0x110CD}
JOINERS = {0x200C, 0x200D}
# Vowels and final consonants of Hangul, which stand in the cells of the consonant before them.
JAMO = {*range(0x1160, 0x1200), *range(0xD7B0, 0xD800)}


def values(path, only=None):
    """The property of each code point that the file lists, or that one alone, and the file's version."""
    of = {}
    with open(path, encoding="utf-8") as file:
        lines = file.readlines()
    version = re.search(r"-(\d+\.\d+\.\d+)\.txt", lines[0]).group(1)
    for line in lines:
        found = re.match(r"([0-9A-F]+)(?:\.\.([0-9A-F]+))?\s*;\s*(\w+)", line)
        if found and only in (None, found.group(3)):
            first, last, value = found.groups()
            for point in range(int(first, 16), int(last or first, 16) + 1):
                of[point] = value
    return of, version


def ranges(points):
    out = []
    for point in sorted(points):
        if out and out[-1][1] == point - 1:
            out[-1][1] = point
        else:
            out.append([point, point])
    return out


def show(name, points):
    print(f"static const struct points {name}[] = {{")
    line = ""
    for first, last in ranges(points):
        entry = f"{{0x{first:X}, 0x{last:X}}},"
        if len(line) + 1 + len(entry) > 84:
            print("\t" + line)
            line = entry
        else:
            line = f"{line} {entry}".strip()
    print("\t" + line)
    print("};")


def main(directory="/usr/share/unicode"):
    width, version = values(f"{directory}/EastAsianWidth.txt")
    category, other = values(f"{directory}/extracted/DerivedGeneralCategory.txt")
    ignorable, third = values(f"{directory}/DerivedCoreProperties.txt", "Default_Ignorable_Code_Point")
    assert version == other == third
    hidden = {point for point, value in category.items() if value in ("Cc", "Zl", "Zp")}
    hidden |= {point for point, value in category.items() if value == "Cf"} - SEEN - JOINERS
    # What is kept for characters of that kind.
    hidden |= {point for point in ignorable if category.get(point, "Cn") == "Cn"}
    hidden |= {point for point in range(0x110000) if point & 0xFFFE == 0xFFFE or 0xFDD0 <= point <= 0xFDEF}
    zero = {point for point, value in category.items() if value in ("Mn", "Me")} | JOINERS | JAMO
    wide = {point for point, value in width.items() if value in ("W", "F")}
    # As the head of EastAsianWidth.txt says of what is not assigned there.
    for first, last in ((0x3400, 0x4DBF), (0x4E00, 0x9FFF), (0xF900, 0xFAFF), (0x20000, 0x2FFFD),
                        (0x30000, 0x3FFFD)):
        wide |= {point for point in range(first, last + 1) if point not in width}
    print(f"""/*
 * Made by tests/width_table.py from the Unicode Character Database, version {version}:
 * EastAsianWidth.txt, DerivedCoreProperties.txt and extracted/DerivedGeneralCategory.txt. Not to be
 * changed by hand.
 *
 * From data files (C) Unicode, Inc., https://www.unicode.org/terms_of_use.html
 */
#ifndef LOTPIPE_WIDTH_TABLE_H
#define LOTPIPE_WIDTH_TABLE_H

#include <stdint.h>

struct points {{
	uint32_t first, last;
}};

/* clang-format off */

/* Marks that stand on the character before them (Mn, Me), joiners, Hangul vowels and finals. */""")
    show("zero_points", zero - hidden)
    print("\n/* East Asian Width W or F. */")
    show("wide_points", wide - zero - hidden)
    print("\n/* Controls, separators of lines, format characters that are not seen, and what is no character. */")
    show("hidden_points", hidden)
    print("\n/* clang-format on */\n\n#endif")


main(*sys.argv[1:])
