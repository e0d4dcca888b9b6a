"""The table of currencies against libraries that carry the same data.

    currencies.py codes PROGRAM LIST      every code of iso-codes' JSON is known (Debian, iso-codes)
    currencies.py babel PROGRAM           minor units against CLDR (Debian, python3-babel; run with its Python)
    currencies.py iso PROGRAM XML         codes and minor units against ISO 4217 list one (npm, currency-codes)

PROGRAM is lot-total: the decimals of a total of nothing are those of its currency. What differs is named
here, with why; anything else that differs is told, exit status 1. Last line: `N codes, N differ`.
"""
import json
import os
import re
import subprocess
import sys
import xml.etree.ElementTree

TABLE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "src", "trade", "currency.c")

# Metals, units of account and codes for tests: ISO 4217 gives them no minor unit ("N.A.").
NO_MONEY = set("XAG XAU XBA XBB XBC XBD XDR XPD XPT XSU XTS XUA XXX".split())

# Code: (ours, CLDR's). CLDR has the decimals in use, ISO 4217 those that are defined: where coins of the
# minor unit are out of use, CLDR has none.
CLDR_DIFFERS = {code: (2, 0) for code in "AFN ALL IRR KPW LAK LBP MGA MMK RSD SOS SYP YER".split()}
CLDR_DIFFERS["IQD"] = (3, 0)
# Withdrawn codes stand in no list of ISO 4217 with a minor unit. From memory of the standard of their days:
# the Belgian franc, the drachma and so on had none there, where CLDR has two by default.
CLDR_DIFFERS.update({code: (0, 2) for code in "BEF BYB GRD PTE TPE".split()})
CLDR_DIFFERS.update({code: (2, 0) for code in "MRO SLL STD TMM ZMK".split()})
# In force since 2024 and 2025: libraries made before do not have them.
NEW = {"XAD", "XCG", "ZWG"}


def decimals(program, code):
    """Decimals of a total in that currency; None where the program does not know the code."""
    run = subprocess.run([program, "-q", "-C", code], input=b"seller,part,color,qty,price\n",
                         stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, check=False)
    if run.returncode:
        return None
    home = run.stdout.decode().splitlines()[1].split(",")[-1]
    return len(home.partition(".")[2])


def table():
    """The codes of the program's table, current ones and withdrawn ones."""
    with open(TABLE, encoding="utf-8") as handle:
        lists = re.findall(r"struct currency (\w+)\[\] = \{(.*?)\};", handle.read(), re.S)
    return {name: re.findall(r'\{"([A-Z]{3})", \d\}', text) for name, text in lists}


def report(faults, count):
    print("\n".join(faults + ["%d codes, %d differ" % (count, len(faults))]))
    return int(bool(faults))


def codes(program, path):
    with open(path, encoding="utf-8") as handle:
        found = sorted(entry["alpha_3"] for entry in json.load(handle)["4217"])
    faults = ["%s: %s" % (code, "known" if code in NO_MONEY else "not known") for code in found
              if (decimals(program, code) is None) != (code in NO_MONEY)]
    return report(faults, len(found))


def babel(program):
    from babel.core import get_global
    from babel.numbers import get_currency_precision
    ours = [code for codes in table().values() for code in codes]
    theirs = set(get_global("all_currencies"))
    faults = ["%s: not in CLDR" % code for code in ours if code not in theirs | NEW]
    for code in sorted(theirs & set(ours)):
        pair = decimals(program, code), get_currency_precision(code)
        if pair != CLDR_DIFFERS.get(code, (pair[1], pair[1])):
            faults.append("%s: %s decimals, CLDR has %d" % ((code,) + pair))
    return report(faults, len(theirs & set(ours)))


def iso(program, path):
    listed = {}
    for entry in xml.etree.ElementTree.parse(path).iter("CcyNtry"):
        if entry.find("Ccy") is not None:
            listed[entry.findtext("Ccy")] = entry.findtext("CcyMnrUnts")
    faults = []
    for code, units in sorted(listed.items()):
        said = decimals(program, code)
        if said != (int(units) if units.isdigit() else None):
            faults.append("%s: %s decimals, ISO 4217 has %s" % (code, said, units))
    faults += ["%s: not in ISO 4217" % code for code in table()["current"] if code not in set(listed) | NEW]
    return report(faults, len(listed))


if __name__ == "__main__":
    sys.exit({"codes": codes, "babel": babel, "iso": iso}[sys.argv[1]](*sys.argv[2:]))
