"""What spreadsheet programs make of one list: the files in exports/, and the same made anew.

usage: exports.py gnumeric|libreoffice DIRECTORY

The list is put together here as an OpenDocument spreadsheet (ODF 1.2, OASIS), invented from end to
end, with all that lists have: accents, quotes, line breaks in cells, leading zeros, columns and a
row that are empty, a line of totals, a price that was reckoned (=0.1+0.2). The program then saves it
in its own CSV, with semicolons, with tabs in UTF-16, and in Windows-1252, in an English and a German
setting. A second spreadsheet has parts that were taken for numbers and dates; it is saved as the
program shows it.

gnumeric needs ssconvert and localedef (Debian: gnumeric, locales); libreoffice needs soffice.
"""

import os
import shutil
import subprocess
import sys
import tempfile
import zipfile
from xml.sax.saxutils import escape

# A cell is text, "" for none, or (style, value): a number or date that is shown in that style.
LIST = [
    ["Verkäufer", "Teil", "", "Farbe", "Anzahl", "Preis", "Note", ""],
    ["Fach Neun", "00715", "", "dunkelgrün", ("grouped", "1200"), ("price", "0.30000000000000004"),
     'für "Dach"\nlinks; rechts, oben', ""],
    ["Müller & Söhne – Teile", "K1042", "", "café, hell", ("grouped", "8"), ("price", "12.5"), "", ""],
    [""] * 8,
    ['Ladrillo "Año"', "0020-3", "", "„schiefer“", ("grouped", "40"), ("price", "1250.505"),
     "'=1+1", ""],
    ["Summe", "", "", "", ("grouped", "1248"), "", "", ""],
]
SPOILED = [
    ["part", "color", "qty"],
    [("exponent", "100000"), "red", ("whole", "1")],
    [("tenths", "1007"), "red", ("whole", "2")],
    [("iso", "2026-03-01"), "red", ("whole", "3")],
    [("daymonth", "2026-03-01"), "red", ("whole", "4")],
    [("monthyear", "2001-03-01"), "red", ("whole", "5")],
    ["K1042", "red", ("whole", "6")],
]

NAMES = " ".join(f'xmlns:{short}="urn:oasis:names:tc:opendocument:xmlns:{long}:1.0"' for short, long in [
    ("office", "office"), ("style", "style"), ("text", "text"), ("table", "table"),
    ("number", "datastyle"), ("manifest", "manifest")])
STYLES = {
    "text": "<number:text-style {}><number:text-content/></number:text-style>",
    "grouped": '<number:number-style {}><number:number number:decimal-places="0" '
               'number:min-integer-digits="1" number:grouping="true"/></number:number-style>',
    "whole": '<number:number-style {}><number:number number:decimal-places="0" '
             'number:min-integer-digits="1"/></number:number-style>',
    "price": '<number:number-style {}><number:number number:decimal-places="3" '
             'number:min-integer-digits="1"/></number:number-style>',
    "tenths": '<number:number-style {}><number:number number:decimal-places="1" '
              'number:min-integer-digits="1"/></number:number-style>',
    "exponent": '<number:number-style {}><number:scientific-number number:decimal-places="0" '
                'number:min-integer-digits="1" number:min-exponent-digits="2"/></number:number-style>',
    "iso": '<number:date-style {}><number:year number:style="long"/><number:text>-</number:text>'
           '<number:month number:style="long"/><number:text>-</number:text>'
           '<number:day number:style="long"/></number:date-style>',
    "daymonth": '<number:date-style {}><number:day/><number:text>-</number:text>'
                '<number:month number:textual="true"/></number:date-style>',
    "monthyear": '<number:date-style {}><number:month number:textual="true"/>'
                 "<number:text>-</number:text><number:year/></number:date-style>",
}
DATES = ("iso", "daymonth", "monthyear")


def cell(value):
    if value == "":
        return "<table:table-cell/>"
    if isinstance(value, str):
        lines = "".join(f"<text:p>{escape(line)}</text:p>" for line in value.split("\n"))
        return f'<table:table-cell table:style-name="text" office:value-type="string">{lines}</table:table-cell>'
    style, number = value
    kind = f'office:value-type="date" office:date-value="{number}"' if style in DATES else \
        f'office:value-type="float" office:value="{number}"'
    return f'<table:table-cell table:style-name="{style}" {kind}/>'


def spreadsheet(rows, path):
    body = "".join("<table:table-row>" + "".join(map(cell, row)) + "</table:table-row>" for row in rows)
    styles = "".join(
        form.format(f'style:name="N{name}"') +
        f'<style:style style:name="{name}" style:family="table-cell" style:data-style-name="N{name}"/>'
        for name, form in STYLES.items())
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    with zipfile.ZipFile(path, "w") as out:
        out.writestr("mimetype", kind)
        out.writestr("content.xml",
                     f'<?xml version="1.0" encoding="UTF-8"?><office:document-content {NAMES} '
                     f'office:version="1.2"><office:automatic-styles>{styles}</office:automatic-styles>'
                     f'<office:body><office:spreadsheet><table:table table:name="list">{body}'
                     "</table:table></office:spreadsheet></office:body></office:document-content>")
        out.writestr("META-INF/manifest.xml",
                     f'<?xml version="1.0" encoding="UTF-8"?><manifest:manifest {NAMES} '
                     'manifest:version="1.2"><manifest:file-entry manifest:full-path="/" '
                     f'manifest:media-type="{kind}"/><manifest:file-entry '
                     'manifest:full-path="content.xml" manifest:media-type="text/xml"/></manifest:manifest>')


def run(command, **more):
    done = subprocess.run(command, capture_output=True, text=True, **more)
    if done.returncode != 0:
        sys.exit(f"exports.py: {' '.join(command)}: {done.stderr}")


# File, the program's setting, and how it is told to save.
GNUMERIC = [
    ("gnumeric-comma.csv", "en_US", "list", None),
    ("gnumeric-semicolon.csv", "de_DE", "list", "separator=; format=preserve eol=windows"),
    ("gnumeric-tab-utf16.txt", "de_DE", "list", "separator='\t' charset=UTF-16 eol=windows"),
    ("gnumeric-semicolon-1252.csv", "de_DE", "list", "separator=; charset=WINDOWS-1252 eol=windows"),
    ("gnumeric-comma-1252-mac.csv", "en_US", "list",
     "separator=, charset=WINDOWS-1252 format=preserve eol=mac quoting-mode=always"),
    ("gnumeric-spoiled.csv", "en_US", "spoiled", "separator=, format=preserve"),
    ("gnumeric-spoiled-german.csv", "de_DE", "spoiled", "separator=; format=preserve"),
]
# The filter's tokens: delimiter, quote, encoding (76 UTF-8, 65535 UTF-16, ANSI Windows-1252), first
# row, column formats, language, quote all text, detect, save as shown.
LIBREOFFICE = [
    ("libreoffice-comma.csv", "en-US", "list", "44,34,76,1,,0,false,true,false"),
    ("libreoffice-comma-1252.csv", "en-US", "list", "44,34,ANSI,1,,0,true,true,true"),
    ("libreoffice-semicolon.csv", "de-DE", "list", "59,34,76,1,,0,false,true,true"),
    ("libreoffice-tab-utf16.txt", "de-DE", "list", "9,34,65535,1,,0,false,true,true"),
    ("libreoffice-semicolon-1252.csv", "de-DE", "list", "59,34,ANSI,1,,0,false,true,true"),
    ("libreoffice-spoiled.csv", "en-US", "spoiled", "44,34,76,1,,0,false,true,true"),
    ("libreoffice-spoiled-german.csv", "de-DE", "spoiled", "59,34,76,1,,0,false,true,true"),
]


def by_gnumeric(work, out):
    for name in ("en_US", "de_DE"):
        # It has warnings, status 1, of its own.
        subprocess.run(["localedef", "-i", name, "-f", "UTF-8", f"{work}/{name}.UTF-8"], capture_output=True)
    for file, locale, sheet, how in GNUMERIC:
        told = ["-T", "Gnumeric_stf:stf_csv"] if how is None else ["-T", "Gnumeric_stf:stf_assistant", "-O", how]
        run(["ssconvert", *told, f"{work}/{sheet}.ods", f"{out}/{file}"],
            env=dict(os.environ, HOME=work, LOCPATH=work, LC_ALL=f"{locale}.UTF-8"))


def by_libreoffice(work, out):
    for file, locale, sheet, how in LIBREOFFICE:
        profile = f"{work}/{locale}"
        os.makedirs(f"{profile}/user", exist_ok=True)
        if not os.path.exists(f"{profile}/user/registrymodifications.xcu"):
            with open(f"{profile}/user/registrymodifications.xcu", "w", encoding="utf-8") as settings:
                settings.write(
                    '<?xml version="1.0" encoding="UTF-8"?>'
                    '<oor:items xmlns:oor="http://openoffice.org/2001/registry">'
                    '<item oor:path="/org.openoffice.Setup/L10N"><prop oor:name="ooSetupSystemLocale" '
                    f'oor:op="fuse"><value>{locale}</value></prop></item></oor:items>')
        ending = file.rsplit(".", 1)[1]
        run(["soffice", f"-env:UserInstallation=file://{profile}", "--headless", "--convert-to",
             f"{ending}:Text - txt - csv (StarCalc):{how}", "--outdir", work, f"{work}/{sheet}.ods"],
            env=dict(os.environ, HOME=work))
        shutil.move(f"{work}/{sheet}.{ending}", f"{out}/{file}")


def main():
    program, out = sys.argv[1:]
    with tempfile.TemporaryDirectory() as work:
        spreadsheet(LIST, f"{work}/list.ods")
        spreadsheet(SPOILED, f"{work}/spoiled.ods")
        {"gnumeric": by_gnumeric, "libreoffice": by_libreoffice}[program](work, out)


main()
