"""Holds what the runs of runs.bash wrote, with a hostile name in every column, to what each form promises.

usage: check_hostile.py NAME RUN...      NAME as Python's ascii() writes it, without quotes

For each RUN there are RUN.stdout, RUN.stderr, RUN.status and RUN.sides, the names of its side files.
 - diagnostics: lines that start with the program's name, of what a terminal shows and nothing it obeys,
   nothing that is not seen or turns text round
 - CSV: as Python's csv module reads it, each row as long as the header, the name in it byte for byte
 - text: nothing that a terminal obeys; Markdown, as cmark-gfm renders it, and HTML: no element that is not
   lot-show's; SVG: well-formed, no element but those of a drawing; a sheet: no cell that OWASP's "CSV
   Injection" names as a formula
 - files of lot-deal: names of POSIX's portable set, none but in its directory
"""

import ast
import csv
import html.parser
import io
import os
import re
import subprocess
import sys
import unicodedata
import xml.etree.ElementTree as ET

# Not seen, or turning round what is: Unicode Standard Annex 9, 2.4 (bidirectional formatting), and common practice.
UNSEEN = set("\u00ad\u061c\u180e\u200b\u200e\u200f\u2028\u2029\ufeff") | \
    {chr(p) for first, last in ((0x202A, 0x202E), (0x2060, 0x206F), (0xFFF9, 0xFFFB), (0xE0000, 0xE007F))
     for p in range(first, last + 1)}

# The name is in none of their tables.
NAMELESS = {"lot-norm:loose", "lot-compare", "lot-plot:lines"}
NAMELESS_SIDES = {"report.out", "curve.out", "rejects.out", "unknown.out", "summary.out", "short.out"}
BLANKS = "[ \t-\r\u00a0\u202f\u2009]+"
# Blanks around names are off, and runs of them one.
FOLDS = {"lot-norm", "lot-norm:files", "lot-norm:offers", "lot-norm:stock"}

PAGE_TAGS = set("html head meta title link style body h1 h2 section div table thead tbody tfoot tr th td button script "
                "p span".split())
MARKDOWN_TAGS = set("table thead tbody tr th td h1 h2 h3 strong br p".split())
DRAWING_TAGS = set("svg title desc style g rect path line polyline circle text tspan defs pattern".split())


def is_harmless(text):
    return not [c for c in text
                if (unicodedata.category(c) == "Cc" and c != "\n") or c in UNSEEN]


def check_diagnostics(text, program):
    assert is_harmless(text), ascii(text)
    for line in text.splitlines():
        assert line.startswith(program + ": "), line


def table(text):
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert rows and not [row for row in rows if len(row) != len(rows[0])], rows
    return rows


def check_table(text, name):
    rows = table(text)
    if name is not None:
        assert any(field == name for row in rows for field in row), (name, rows)


class Elements(html.parser.HTMLParser):
    def __init__(self, text):
        super().__init__()
        self.tags, self.attributes, self.text = set(), set(), ""
        self.links = []  # where each leads, and its text
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        if tag == "a":
            self.links.append([dict(attributes)["href"], len(self.text)])
            return
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attributes}

    def handle_endtag(self, tag):
        if tag == "a":
            self.links[-1][1] = self.text[self.links[-1][1]:]

    def handle_comment(self, data):
        raise AssertionError("comment: " + data)

    def handle_data(self, data):
        self.text += data


def check_page(text, name):
    seen = Elements(text)
    assert seen.tags <= PAGE_TAGS and not seen.links, seen.tags - PAGE_TAGS
    assert text.count("<script>") == 1 and text.count("</script>") == 1
    assert not [a for a in seen.attributes if a.startswith("on")] and "src" not in seen.attributes
    assert not UNSEEN & set(seen.text)
    if is_harmless(name) and not re.search("[\n\ufffe]", name):
        assert name in seen.text


def check_markdown(text, name):
    assert is_harmless(text), ascii(text)
    page = subprocess.run(["cmark-gfm", "--unsafe", "-e", "table", "-e", "autolink", "-e", "strikethrough"], input=text,
                          capture_output=True, text=True, check=True).stdout
    seen = Elements(page)
    assert seen.tags <= MARKDOWN_TAGS, (seen.tags - MARKDOWN_TAGS, page)
    assert seen.attributes <= {"align"}, seen.attributes
    # An address is a link, one that shows where it leads.
    assert not [link for link in seen.links if link[0] != link[1]], seen.links
    if is_harmless(name) and not re.search("[\n\ufffe]", name) and name == name.strip():
        assert name in seen.text, (name, seen.text)


def check_text(text):
    assert is_harmless(text), ascii(text)


def check_sheet(text, name):
    assert text.startswith("\ufeff") and "\0" not in text
    rows = list(csv.reader(io.StringIO(text[1:], newline=""), delimiter=";", strict=True))
    cells = [field for row in rows for field in row]
    for field in cells:
        assert re.fullmatch(r"-?\d+(,\d+)?", field) or not re.match("[\t\r\n \"]*[=+\\-@＝＋－＠]|[\t\r\n]", field), field
    assert name in cells or "'" + name in cells, (name, rows)


def check_drawing(text):
    for element in ET.fromstring(text).iter():
        tag = element.tag.rsplit("}", 1)[-1]
        assert tag in DRAWING_TAGS, tag
        assert not [a for a in element.attrib if a.startswith("on") or a.endswith("href")], element.attrib
    assert is_harmless(text)


def check_dealt(place, name):
    index = table(open(os.path.join(place, "index.csv"), encoding="utf-8", newline="").read())
    files = {row[1] for row in index[1:]} | {"index.csv"}
    found = set(os.listdir(place)) - {".lot-deal"}
    assert {f for f in found if not f.startswith(".")} == files, (found, files)
    assert name in [row[0] for row in index]
    for file in files:
        assert re.fullmatch(r"[A-Za-z0-9._][A-Za-z0-9._-]{0,70}", file), file
        assert os.path.isfile(os.path.join(place, file)) and not os.path.islink(os.path.join(place, file))
    for row in index[1:]:
        lines = list(csv.DictReader(open(os.path.join(place, row[1]), encoding="utf-8", newline="")))
        assert lines and {line["seller"] for line in lines} == {row[0]}, row


def read(path):
    with open(path, encoding="utf-8", newline="") as file:
        return file.read()


def check(run, name):
    program = run.split(":")[0]
    assert read(run + ".status").strip() == "0", read(run + ".stderr")
    check_diagnostics(read(run + ".stderr"), program)
    out = read(run + ".stdout")
    due = None if run in NAMELESS else re.sub(BLANKS, " ", name).strip(" ") if run in FOLDS else name
    forms = {"lot-show:text": lambda: check_text(out), "lot-show:markdown": lambda: check_markdown(out, name),
             "lot-show:html": lambda: check_page(out, name), "lot-show:sheet": lambda: check_sheet(out, name)}
    if run in forms:
        forms[run]()
    elif program == "lot-plot":
        check_drawing(out)
    elif program == "lot-deal":
        assert out == ""
    elif run == "lot-norm":  # the color went by a map of names
        check_table(out, due)
    else:
        check_table(out, due)
    for side in read(run + ".sides").split():
        if os.path.isdir(side):
            check_dealt(side, name)
        else:
            check_table(read(side), None if side in NAMELESS_SIDES or run in FOLDS else name)


def main(name, runs):
    for run in runs:
        try:
            check(run, name)
        except Exception as why:
            sys.exit(f"{run}, name {ascii(name)}: {type(why).__name__}: {ascii(str(why))[:2000]}")


if __name__ == "__main__":
    main(ast.literal_eval("'" + sys.argv[1] + "'"), sys.argv[2:])
