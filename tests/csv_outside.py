"""CSV checks against things outside: Python's csv module and the csv-spectrum test set.

usage: csv_outside.py spectrum DIRECTORY     each file of the set, read and passed on by lot-norm
       csv_outside.py roundtrip SEED         generated hostile fields, written, passed on and read again

The fields travel in columns that lot-norm does not know, beside part, color and qty, which it
needs. PATH leads to lot-norm.
"""

import csv
import io
import json
import pathlib
import random
import subprocess
import sys

KNOWN = ["part", "color", "qty"]


def norm(data, *options):
    """Status, stdout and stderr of lot-norm over bytes."""
    done = subprocess.run(["lot-norm", "--keep-rows", *options], input=data, capture_output=True)
    return done.returncode, done.stdout, done.stderr.decode()


def parse(data):
    """Rows of what lot-norm wrote, read by Python's csv module, strictly."""
    return list(csv.reader(io.StringIO(data.decode("utf-8"), newline=""), strict=True))


def beside_lots(data):
    """The bytes of a CSV file with part, color and qty before each row; all else as it was."""
    lines = data.splitlines(keepends=True)
    reader = csv.reader(io.StringIO(data.decode("utf-8"), newline=""))
    start, out = 0, []
    for number, _ in enumerate(reader):
        known = f"P{number},slate,{number}," if number else ",".join(KNOWN) + ","
        out.append(known.encode() + b"".join(lines[start : reader.line_num]))
        start = reader.line_num
    return b"".join(out)


def spectrum(directory):
    checked = 0
    for path in sorted(pathlib.Path(directory, "csvs").glob("*.csv")):
        status, out, err = norm(beside_lots(path.read_bytes()))
        if path.stem == "location_coordinates":
            # A quote inside an unquoted field breaks rule 5 of RFC 4180, section 2 (and the JSON
            # beside it is of another row): a fault with its line.
            assert status == 2 and "<stdin>:2: stray quote" in err, err
            checked += 1
            continue
        assert status == 0, f"{path.name}: {err}"
        header, *rows = parse(out)
        due = json.loads(pathlib.Path(directory, "json", path.stem + ".json").read_text("utf-8"))
        due = due if isinstance(due, list) else [due]
        assert header[:3] == KNOWN, header
        got = [dict(zip(header[3:], row[3:])) for row in rows]
        assert got == due, f"{path.name}: {got} is not {due}"
        assert [row[:3] for row in rows] == [[f"P{i + 1}", "slate", str(i + 1)] for i in range(len(rows))]
        checked += 1
    assert checked >= 12, checked


HOSTILE = list(',;|"\'\t\n\r =+-@#x0') + ["\r\n", '""', '"\n', "é", "\u00a0", "漢", "🧱", "\u202e", "\x01", "\ufeff", "\x7f"]


def hostile_field(dice):
    return "".join(dice.choice(HOSTILE) for _ in range(dice.choice([0, 1, 2, 3, 8, 40])))


def roundtrip(seed):
    dice = random.Random(seed)
    for delimiter in ",;\t|":
        for quoting, end in ((csv.QUOTE_ALL, "\n"), (csv.QUOTE_ALL, "\r\n"), (csv.QUOTE_ALL, "\r"), (csv.QUOTE_MINIMAL, "\r\n")):
            columns = dice.randint(1, 6)
            header = KNOWN + [f"column {i} {hostile_field(dice)}" for i in range(columns)]
            rows = [
                [f"P{i}", "slate", str(i)] + [hostile_field(dice) for _ in range(columns)]
                for i in range(dice.randint(1, 60))
            ]
            text = io.StringIO(newline="")
            writer = csv.writer(text, delimiter=delimiter, quoting=quoting, lineterminator=end)
            writer.writerow(header)
            writer.writerows(rows)
            data = text.getvalue()
            if dice.random() < 0.3:
                data = data[: -len(end)]
            for encoding in ("utf-8", "utf-8-sig", "utf-16"):
                status, out, err = norm(data.encode(encoding), "-D", "tab" if delimiter == "\t" else delimiter)
                assert status == 0, f"seed {seed}: {err}"
                got = parse(out)
                assert got == [header] + rows, f"seed {seed}, {delimiter!r}, {encoding}: {got}"
                # What was written is read back to the same bytes.
                again = norm(out)
                assert again[0] == 0 and again[1] == out, f"seed {seed}: {again[2]}"


{"spectrum": spectrum, "roundtrip": lambda seed: roundtrip(int(seed))}[sys.argv[1]](sys.argv[2])
