"""Holds the page of examples/tidemill/report.sh to the files of the run that it is made of.

usage: check_report.py OUT SWAPS

The HTML is well-formed, fetches nothing and its links lead to something; its tables have the figures of the CSV
files in OUT, which are read, reckoned and rounded here by Python's csv and decimal modules; its charts are those
beside the Markdown. Prints the headings. With cmark-gfm in the PATH, the reference of GitHub Flavored Markdown, its
reading of report.md must have the same headings, paragraphs and tables as the HTML.
"""

import csv
import html.parser
import pathlib
import shutil
import subprocess
import sys
from decimal import ROUND_HALF_UP, Decimal

VOID = {"meta", "link", "br", "img", "hr"}


def fail(what):
    raise SystemExit(f"check_report.py: {what}")


class Page(html.parser.HTMLParser):
    """Headings, paragraphs, tables (rows of cells), images, links and ids; charts are passed over."""

    def __init__(self, text):
        super().__init__()
        self.open, self.ids, self.links, self.images, self.scripts = [], [], [], [], 0
        self.headings, self.paragraphs, self.tables = [], [], []
        self.feed(text)
        self.close()
        if self.open:
            fail(f"left open: {self.open}")

    def handle_starttag(self, tag, attributes):
        if tag not in VOID:
            self.open.append(tag)
        attributes = dict(attributes)
        if any(name.startswith("on") or name == "style" for name in attributes):
            fail(f"{tag} with {attributes}")
        self.ids += [attributes["id"]] if "id" in attributes else []
        self.links += [attributes[name] for name in ("href", "src") if name in attributes]
        self.images += [attributes["src"]] if tag == "img" else []
        self.scripts += tag == "script"
        if "svg" in self.open:
            return
        if tag in ("h1", "h2", "h3"):
            self.headings.append("")
        elif tag == "p":
            self.paragraphs.append("")
        elif tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        elif tag in ("td", "th"):
            self.tables[-1][-1].append("")

    def handle_startendtag(self, tag, attributes):
        self.handle_starttag(tag, attributes)
        if tag not in VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            fail(f"</{tag}> closes nothing, at {self.getpos()}")

    def handle_data(self, data):
        inside = set(self.open)
        if "svg" in inside:
            return
        if inside & {"td", "th"}:
            self.tables[-1][-1][-1] += data
        elif inside & {"h1", "h2", "h3"}:
            self.headings[-1] += data
        elif "p" in inside:
            self.paragraphs[-1] += data


def read(path):
    with open(path, encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def pick(rows, columns):
    return [columns] + [[row[column] for column in columns] for row in rows]


def cents(text, places):
    return f"{Decimal(text).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP):f}".replace("-0.00", "0.00")


def tables_due(out, swaps):
    compare = read(out / "compare.csv")
    places = len(compare[0]["total"].partition(".")[2])

    columns = ["scenario", "orders", "pieces", "goods", "charges", "tax", "total", "saving"]
    due = pick(compare, columns)
    due[0].append("plan")
    for row, report in zip(due[1:], ("as-is", "swaps", "best")):
        metric = {row["metric"]: row["value"] for row in read(out / f"report-{report}.csv")}
        row.append("proved least" if metric["proved"] == "yes"
                   else f"at most {metric['gap_percent']} % above the least")
    yield due

    yield [["scenario", "orders", "cost", "saving"]] + [
        [name, row["orders"], cents(row["cost"], places), cents(row["saving"], places)]
        for name, file in (("swaps", "curve-swaps.csv"), ("both-routes", "curve.csv")) for row in read(out / file)]

    gain = read(out / "gain.csv")
    saving = {(row["scenario"], row["rule"]): Decimal(row["saving"]) for row in gain if row["saving"]}
    best = next(row["applied"] for row in gain if row["scenario"] == "best").split(",")
    notes = {}
    for row in read(swaps):
        if row["note"] and row["note"] not in notes.setdefault(row["rule"], []):
            notes[row["rule"]].append(row["note"])
    rules = [row["rule"] for row in gain if row["scenario"] == "alone"]
    rules.sort(key=lambda rule: -saving.get(("alone", rule), Decimal(-10 ** 9)))
    yield [["rule", "alone", "with the others", "in the best", "note"]] + [
        [rule, cents(saving["alone", rule], places) if ("alone", rule) in saving else "",
         cents(saving["all", ""] - saving["without", rule], places)
         if ("all", "") in saving and ("without", rule) in saving else "",
         "yes" if rule in best else "no", "; ".join(notes.get(rule, []))] for rule in rules]

    watch = [row for row in read(out / "priced.csv") if row["dear"]]
    if watch:
        yield pick(watch, ["part", "color", "qty", "price", "amount", "band", "sellers", "dear"])

    totals = read(out / "totals.csv")
    yield pick(totals, ["seller", "route", "lots", "pieces", "currency", "goods", "charges", "tax", "total", "home"])
    orders = read(out / "orders.csv")
    for seller in [row["seller"] for row in totals if row["seller"] != "TOTAL"]:
        lines = {}
        for row in orders:
            if row["seller"] == seller:
                key = tuple(row[name] for name in ("part", "color", "condition", "price", "class", "listing"))
                qty, amount = lines.get(key, (0, 0))
                lines[key] = qty + int(row["qty"]), amount + Decimal(row["amount"])
        yield {(key[:4], amounts) for key, amounts in lines.items()}


def check_tables(page, out, swaps):
    due = list(tables_due(out, swaps))
    if len(page.tables) != len(due):
        fail(f"{len(page.tables)} tables, {len(due)} were due")
    for table, want in zip(page.tables, due):
        if isinstance(want, list):
            if table != want:
                fail(f"table\n{table}\nwhere due is\n{want}")
            continue
        lines = {((part, color, condition, price), (int(qty), Decimal(amount)))
                 for part, color, condition, qty, price, amount in table[1:-1]}
        qty, amount = sum(line[1][0] for line in want), sum(line[1][1] for line in want)
        if lines != want or table[-1][0] != "subtotal" or int(table[-1][3]) != qty or Decimal(table[-1][5]) != amount:
            fail(f"order\n{table}\nwhere due is\n{want}")


def main(out, swaps):
    out = pathlib.Path(out)
    folder = out / "report"
    text = (folder / "report.html").read_text(encoding="utf-8")
    page = Page(text)
    if page.scripts != 1 or page.images or len(page.ids) != len(set(page.ids)):
        fail(f"{page.scripts} scripts, images {page.images}, ids {page.ids}")
    for link in page.links:
        if link != "data:," and link.removeprefix("#") not in page.ids:
            fail(f"{link} leads nowhere")
    charts = sorted(path.name for path in folder.glob("*.svg"))
    for name in charts:
        if (folder / name).read_text(encoding="utf-8") not in text:
            fail(f"{name} is not in the page")
    if text.count("<svg ") != 2 * len(charts):
        fail("each chart is due in two widths")
    check_tables(page, out, swaps)
    print(*page.headings, sep="\n")

    if shutil.which("cmark-gfm"):
        marked = subprocess.run(["cmark-gfm", "-e", "table", folder / "report.md"], capture_output=True, text=True,
                                check=True).stdout
        marked = Page(marked)
        if sorted(marked.images) != charts:
            fail(f"images {marked.images}, {charts} were due")
        for what in ("headings", "tables"):
            if getattr(marked, what) != getattr(page, what):
                fail(f"{what}: {getattr(marked, what)} in Markdown, {getattr(page, what)} in HTML")
        if [one for one in marked.paragraphs if one] != page.paragraphs:
            fail(f"paragraphs: {marked.paragraphs} in Markdown, {page.paragraphs} in HTML")


main(*sys.argv[1:])
