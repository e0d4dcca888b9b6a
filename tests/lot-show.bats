#!/usr/bin/env bats
# lot-show: any table for eyes. Tables are literal and laid out by hand; sellers are invented.

load lib

table() {
	cat >table.csv
}

# render [OPTION...]: the table in the file table.csv.
render() {
	try lot-show -q "$@" <table.csv
}

# on_terminal COLUMNS [OPTION...]: the same on a terminal so wide; what the terminal gets is stdout.
on_terminal() {
	try env -u COLUMNS -u NO_COLOR TERM=xterm python3 "$TESTS/terminal.py" --stdout "$1" \
		lot-show "${@:2}" <table.csv
}

totals() {
	table <<-'END'
		seller,route,pieces,currency,goods,note
		Counter,direct,521,EUR,35.00,
		Grå Låda,market,9,SEK,60.1,slow
		TOTAL,,530,,-0.25,
	END
}

two_sellers() {
	table <<-'END'
		seller,part,qty,price,currency,amount
		Counter,P-330,2,0.41,EUR,0.82
		Attic,P-104,20,0.06,GBP,1.2
		Counter,P-331,1,1,EUR,1
		Attic,P-201,3,0.025,GBP,0.075
	END
}

# ---- text

@test "columns are aligned, numbers on the point, the total is set apart" {
	totals
	try lot-show <table.csv
	exits 0
	err_is <<<'lot-show: 3 rows, 6 columns'
	out_is <<-'END'
		seller    route   pieces  currency  goods  note
		--------  ------  ------  --------  -----  ----
		Counter   direct     521  EUR       35.00
		Grå Låda  market       9  SEK       60.1   slow
		========  ======  ======  ========  =====  ====
		TOTAL                530            -0.25
	END
}

@test "a column of numbers is one where most are; names are never numbers" {
	table <<-'END'
		part,metric,value,code
		1,cost,75.123456789,007
		22,proved,yes,012
		333,lots,64,5
	END
	render
	out_is <<-'END'
		part  metric         value  code
		----  ------  ------------  ----
		1     cost    75.123456789  007
		22    proved           yes  012
		333   lots    64            5
	END
}

@test "totals in the middle have a rule on either side; a table may be all totals, or empty" {
	table <<<$'seller,qty\nA,1\nTOTAL,1\nB,2\nTotal,2\ntotal,2'
	render
	out_is <<-'END'
		seller  qty
		------  ---
		A         1
		======  ===
		TOTAL     1
		------  ---
		B         2
		======  ===
		Total     2
		total     2
	END
	table <<<$'seller,qty\nTOTAL,1'
	render
	out_is <<-'END'
		seller  qty
		------  ---
		TOTAL     1
	END
	table <<<'seller,qty'
	render
	exits 0
	out_is <<-'END'
		seller  qty
		------  ---
	END
}

@test "TOTAL is looked for where rows are named, whatever comes before it" {
	table <<<$'route,seller,part\nmarket,A,TOTAL\nmarket,TOTAL,P'
	render
	out_is <<-'END'
		route   seller  part
		------  ------  -----
		market  A       TOTAL
		======  ======  =====
		market  TOTAL   P
	END
}

@test "wide characters take two cells, marks that combine none" {
	table <<-'END'
		name,end
		日本,1
		한글,2
		ＡＢ,3
		é,4
		e̍,5
		🧱,6
		ﾊﾟ,7
		abcd,8
	END
	render
	out_is <<-'END'
		name  end
		----  ---
		日本    1
		한글    2
		ＡＢ    3
		é       4
		e̍       5
		🧱      6
		ﾊﾟ      7
		abcd    8
	END
}

@test "every character is as wide as an independent library has it" {
	/usr/bin/python3 -c 'import wcwidth' 2>/dev/null || needs wcwidth python3-wcwidth
	try /usr/bin/python3 "$TESTS/check_widths.py"
	exits 0
	out_has ' characters, 0 differ'
}

@test "the table of widths is what its script makes of the Unicode data it names" {
	local data=/usr/share/unicode version
	[ -e $data/EastAsianWidth.txt ] || needs EastAsianWidth.txt unicode-data
	version=$(sed -n 's/^# EastAsianWidth-\(.*\)\.txt$/\1/p' $data/EastAsianWidth.txt)
	[ "$version" = 15.0.0 ] || skip "the table is of Unicode 15.0.0, and $data of $version"
	try python3 "$TESTS/width_table.py" $data
	exits 0
	out_is <"$TESTS/../src/base/width_table.h"
}

@test "control bytes are shown, and reach no terminal" {
	printf 'a,"b\033]0;x\007"\n\033[31mred,"x\ty\r\nz\rw"\n\302\233A\302\205,\177\342\200\256abc\n\342\200\217\357\273\277\342\200\213,\302\255-\n' \
		>table.csv
	render
	exits 0
	out_is <<-'END'
		a         b␛]0;x␇
		--------  -------
		␛[31mred  x␉y␤z␤w
		�A�       ␡�abc
		���       �-
	END
}

@test "whatever a field holds, no form but the sheet has controls or marks of direction in it" {
	python3 - <<-'PYTHON' >table.csv
		import csv, random, sys
		dice = random.Random(6)
		sys.stdout.reconfigure(encoding="utf-8", newline="")
		out = csv.writer(sys.stdout, lineterminator="\n", quoting=csv.QUOTE_ALL)
		def text():
		    points = [dice.choice([dice.randrange(1, 0xA0), dice.randrange(0x2000, 0x2070),
		                           dice.randrange(0xE000, 0x10FFFE)]) for _ in range(dice.randrange(9))]
		    return "".join(map(chr, points))
		for _ in range(2000):
		    out.writerow(["x" + text(), text(), text()])
	PYTHON
	for form in text markdown html; do
		render --to $form
		exits 0
		python3 - "$OUT" <<-'PYTHON'
			import re, sys
			text = open(sys.argv[1], encoding="utf-8", newline="").read()
			bad = re.findall("[\0-\x09\x0b-\x1f\x7f-\x9f\xad\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ufeff]"
			                 "|[\U000e0000-\U000e007f]", text)
			assert not bad, bad[:9]
			if "<html" not in text:
			    assert text.count("\n") == 2001, text.count("\n")
		PYTHON
	done
}

@test "a mark at the start of a field stands on a sign of its own" {
	table <<<$'a,b\nx,̈y'
	render
	out_is <<-'END'
		a  b
		-  --
		x  ◌̈y
	END
}

# ---- on a terminal

@test "lines are cut to the terminal: text first, then whole columns, never a number" {
	table <<-'END'
		part,qty,price,note,more
		P-1,20,0.06,a long long long note of many words,other
		TOTAL,20,,,
	END
	export NO_COLOR=
	cut_to() {
		try env TERM=xterm NO_COLOR= python3 "$TESTS/terminal.py" --stdout "$1" lot-show -q "${@:2}" \
			<table.csv
		exits 0
	}
	cut_to 50
	out_is <<-'END'
		part   qty  price  note                      more
		-----  ---  -----  ------------------------  -----
		P-1     20   0.06  a long long long note o…  other
		=====  ===  =====  ========================  =====
		TOTAL   20
	END
	cut_to 30
	out_is <<-'END'
		part   qty  price  note      …
		-----  ---  -----  --------
		P-1     20   0.06  a long …
		=====  ===  =====  ========
		TOTAL   20
	END
	cut_to 4
	out_is <<-'END'
		part   …
		-----
		P-1
		=====
		TOTAL
	END
	cut_to 30 --wide
	out_has 'a long long long note of many words  other'
	# a terminal that does not know its width
	cut_to 0
	out_has 'a long long long note of many words  other'
	# COLUMNS goes before what the terminal says, and is nothing elsewhere
	try env TERM=xterm COLUMNS=30 python3 "$TESTS/terminal.py" --stdout 99 lot-show -q <table.csv
	out_has 'a long …'
	try env TERM=xterm COLUMNS=x python3 "$TESTS/terminal.py" --stdout 99 lot-show -q <table.csv
	out_has 'many words  other'
	COLUMNS=30 render
	out_has 'many words  other'
}

@test "columns that do not fit are told" {
	totals
	on_terminal 30
	err_is <<-'END'
		lot-show: 3 of 6 columns do not fit the terminal: --columns picks, --wide shows all
		lot-show: 3 rows, 6 columns
	END
}

@test "no line is wider than the terminal, wide characters too" {
	table <<-'END'
		seller,note
		日本語の部品店,とても長い長い長い注釈がここにあります
		Ä,ééééééééééééééééééééééééééééééééééééé
	END
	for width in 20 21 22 23 30; do
		try env NO_COLOR=1 TERM=xterm python3 "$TESTS/terminal.py" --stdout $width lot-show -q \
			--group seller <table.csv
		exits 0
		python3 - "$OUT" $width <<-'PYTHON'
			import sys, unicodedata
			for line in open(sys.argv[1], encoding="utf-8"):
			    cells = sum(0 if unicodedata.combining(c) else 1 + (unicodedata.east_asian_width(c) in "WF")
			                for c in line.rstrip("\n"))
			    assert cells <= int(sys.argv[2]), (cells, line)
		PYTHON
	done
}

@test "color on a terminal alone, and only if NO_COLOR is unset" {
	totals
	on_terminal 80 -q
	out_is <<-END
		$(printf '\033[1m')seller    route   pieces  currency  goods  note$(printf '\033[0m')
		$(printf '\033[2m')--------  ------  ------  --------  -----  ----$(printf '\033[0m')
		Counter   direct     521  EUR       35.00
		Grå Låda  market       9  SEK       60.1   slow
		$(printf '\033[2m')========  ======  ======  ========  =====  ====$(printf '\033[0m')
		$(printf '\033[1m')TOTAL                530            -0.25$(printf '\033[0m')
	END
	cp "$OUT" colored
	render
	cp "$OUT" plain
	run ! grep -q $'\033' plain
	diff plain <(sed 's/\x1b\[[0-9]m//g' colored)
	for none in NO_COLOR=1 NO_COLOR= TERM=dumb TERM=; do
		try env -u NO_COLOR TERM=xterm "$none" python3 "$TESTS/terminal.py" --stdout 80 lot-show -q <table.csv
		out_is <plain
	done
	on_terminal 80 -q --to markdown
	run ! grep -q $'\033' "$OUT"
}

# ---- columns, groups, sums

@test "--columns picks and orders" {
	totals
	render --columns 'goods, SELLER'
	out_is <<-'END'
		goods  seller
		-----  --------
		35.00  Counter
		60.1   Grå Låda
		=====  ========
		-0.25  TOTAL
	END
	render --columns seller,nothing
	refused '<stdin>:1: no column "nothing": there are seller, route, pieces, currency, goods, note'
	render --columns seller,Seller
	refused '--columns: "Seller" is named twice'
	render --columns seller,
	refused '--columns: a name is empty'
}

@test "--group: a block a seller, with subtotals; no sum over several currencies" {
	two_sellers
	try lot-show --group seller <table.csv
	exits 0
	err_is <<<'lot-show: 4 rows, 5 columns, 2 groups'
	out_is <<-'END'
		seller: Counter
		part      qty  price  currency  amount
		--------  ---  -----  --------  ------
		P-330       2  0.41   EUR        0.82
		P-331       1  1      EUR        1
		========  ===  =====  ========  ======
		subtotal    3         EUR        1.82

		seller: Attic
		part      qty  price  currency  amount
		--------  ---  -----  --------  ------
		P-104      20  0.06   GBP        1.2
		P-201       3  0.025  GBP        0.075
		========  ===  =====  ========  ======
		subtotal   23         GBP        1.275

		TOTAL
		part      qty  price  currency  amount
		--------  ---  -----  --------  ------
		TOTAL      26
	END
}

@test "--group: the table's own total line stays, and is in no sum" {
	table <<-'END'
		seller,route,home_currency,home
		Counter,direct,EUR,49.61
		A,market,EUR,10.39
		B,market,EUR,0.1
		TOTAL,,EUR,60.10
	END
	render --group route
	out_is <<-'END'
		route: direct
		seller    home_currency   home
		--------  -------------  -----
		Counter   EUR            49.61
		========  =============  =====
		subtotal  EUR            49.61

		route: market
		seller    home_currency   home
		--------  -------------  -----
		A         EUR            10.39
		B         EUR             0.1
		========  =============  =====
		subtotal  EUR            10.49

		TOTAL
		seller    home_currency   home
		--------  -------------  -----
		TOTAL     EUR            60.10
	END
}

@test "--group: an empty value, one group, no rows" {
	table <<<$'model,part,qty\n,P,1\nmill,P,2'
	render --group model --columns qty,part
	out_is <<-'END'
		model: (empty)
		qty  part
		---  --------
		  1  P
		===  ========
		  1  subtotal

		model: mill
		qty  part
		---  --------
		  2  P
		===  ========
		  2  subtotal

		TOTAL
		qty  part
		---  --------
		  3  TOTAL
	END
	table <<<$'model,qty\nmill,2'
	render --group model
	out_is <<-'END'
		model: mill
		qty
		---
		  2
		===
		  2
	END
	table <<<'model,qty'
	render --group model
	exits 0
	render --group model --columns model
	refused 'no column is left beside that of --group'
	render --group model,qty
	refused '--group: rows are grouped by one column'
	render --group x
	refused '<stdin>:1: no column "x"'
}

@test "sums are exact, against Python's fractions: drawn tables" {
	python3 - <<-'PYTHON' >table.csv
		import random
		dice = random.Random(4)
		print("seller,qty,amount")
		for _ in range(3000):
		    whole = dice.choice(["", str(dice.randrange(10)), str(dice.randrange(10**12))])
		    amount = whole + "." + "".join(dice.choice("0123456789") for _ in range(dice.randrange(1, 10)))
		    print(f"{dice.choice('ABCDE')},{dice.randrange(100)},{dice.choice(['', '-', '+'])}{amount}")
	PYTHON
	render --group seller --to sheet
	exits 0
	python3 - "$OUT" <<-'PYTHON'
		import csv, sys
		from collections import defaultdict
		from fractions import Fraction
		due = defaultdict(lambda: [0, Fraction(0)])
		for row in csv.DictReader(open("table.csv")):
		    for name in (row["seller"], "TOTAL"):
		        due[name][0] += int(row["qty"])
		        due[name][1] += Fraction(row["amount"])
		rows = list(csv.reader(open(sys.argv[1], encoding="utf-8-sig", newline="")))
		ends = [i for i in range(len(rows)) if i + 1 == len(rows) or not rows[i + 1]]
		names = [row[1] for row in rows if row and row[0] == "seller"] + ["TOTAL"]
		assert len(ends) == 6
		for name, end in zip(names, ends):
		    assert [Fraction(field) for field in rows[end]] == due[name], (name, rows[end], due[name])
	PYTHON
}

@test "--sum names what is summed, and gives a table without groups a total line" {
	table <<<$'bag,weight,price\nx,0.5,1\ny,0.25,2'
	render --sum weight
	out_is <<-'END'
		bag    weight  price
		-----  ------  -----
		x        0.5       1
		y        0.25      2
		=====  ======  =====
		TOTAL    0.75
	END
	# not where there is one already
	table <<<$'bag,weight\nx,0.5\nTOTAL,7'
	render --sum weight
	out_is <<-'END'
		bag    weight
		-----  ------
		x         0.5
		=====  ======
		TOTAL     7
	END
	render --sum height
	refused 'no column "height"'
}

@test "a sum that cannot be made is told, and the exit status is 1" {
	table <<<$'seller,qty,amount\nA,1,0.1\nA,2 pcs,0.2\nB,x,170141183460469231731687303715884105727\nB,4,1'
	try lot-show --group seller --to sheet <table.csv
	exits 1
	err_is <<-'END'
		lot-show: <stdin>:3: qty "2 pcs" is no number: its sums are left empty; numbers have a point before decimals, and no grouping
		lot-show: <stdin>:5: the sum of amount is too large: it is left empty
		lot-show: 4 rows, 2 columns, 2 groups
	END
	python3 - "$OUT" <<-'PYTHON'
		import csv, sys
		rows = list(csv.reader(open(sys.argv[1], encoding="utf-8-sig", newline="")))
		assert rows[4] == ["", "0.3"] and rows[10] == ["", ""] and rows[-1] == ["", ""], rows
	PYTHON
}

# ---- Markdown

@test "--to markdown" {
	totals
	render --to markdown
	exits 0
	out_is <<-'END'
		| seller    | route  |  pieces | currency |     goods | note |
		| --------- | ------ | ------: | -------- | --------: | ---- |
		| Counter   | direct |     521 | EUR      |     35.00 |      |
		| Grå Låda  | market |       9 | SEK      |      60.1 | slow |
		| **TOTAL** |        | **530** |          | **-0.25** |      |
	END
	two_sellers
	render --to markdown --group seller --columns part,amount
	out_has '### seller: Counter

| part         |   amount |'
}

@test "Markdown: each cell reads as the field it is, by GitHub's own renderer" {
	needs cmark-gfm cmark-gfm
	cat >fields <<-'END'
		a|b
		\| \\ \
		**bold** _it_ __x__ ~~gone~~
		`code` ``
		[link](http://a.example) ![image](x)
		<b>tag</b> <!-- no --> <http://a.example>
		&amp; &lt; &#42; & x
		$x$ ^a^
		| --- |
		# no heading
		- no list
		> no quote
		1. no list
		=1+1
		~~~
		***
		a*b*c _d_e
		<script>alert(1)</script>
		snake_case_name
		https://x.example/a_b*c?d=1&e=[2]
		https://x.example/?a&amp;b
		https://x.example/a|b_c
		<https://x.example/a_b>
		at http://x.example/a_b and www.x.example/a_b
		https://
		 a blank at either end 
	END
	python3 -c 'import csv, sys
out = csv.writer(sys.stdout, lineterminator="\n")
fields = open("fields").read().split("\n")[:-1]
out.writerow(["seller", "x|y*z"])
out.writerows(["s", field] for field in fields)
out.writerows(["TOTAL", field] for field in fields)
out.writerow(["s", "two\nlines"])' >table.csv
	render --to markdown
	exits 0
	cmark-gfm --unsafe -e table -e strikethrough -e autolink "$OUT" >page.html
	python3 - <<-'PYTHON'
		import html.parser
		class Cells(html.parser.HTMLParser):
		    def __init__(self):
		        super().__init__()
		        self.rows, self.tags, self.links = [], set(), []
		    def handle_starttag(self, tag, attributes):
		        self.tags.add(tag)
		        self.links += [value for name, value in attributes if name == "href"]
		        if tag == "tr":
		            self.rows.append([])
		        if tag in ("td", "th"):
		            self.rows[-1].append("")
		        if tag == "br":
		            self.rows[-1][-1] += "\n"
		    def handle_data(self, data):
		        if self.rows and self.rows[-1] and data != "\n":
		            self.rows[-1][-1] += data
		page = Cells()
		page.feed(open("page.html").read())
		fields = open("fields").read().split("\n")[:-1]
		due = [["seller", "x|y*z"]] + [["s", f] for f in fields] + [["TOTAL", f] for f in fields]
		due.append(["s", "two\nlines"])
		due = [[field.strip() for field in row] for row in due]
		for seen, wanted in zip(page.rows, due):
		    assert seen == wanted, (seen, wanted)
		assert len(page.rows) == len(due)
		assert page.tags == {"table", "thead", "tbody", "tr", "th", "td", "strong", "br", "a"}, page.tags
		# a field that is one address is a link there; none is made within other text
		assert page.links == ["https://x.example/a_b*c?d=1&e=%5B2%5D"] * 2, page.links
	PYTHON
}

@test "Markdown: a heading reads as the group it is" {
	needs cmark-gfm cmark-gfm
	table <<<$'seller,qty\nBox #,1\n##,2\n# Nine,3\nC# ###,4\n1. <b>,5'
	render --to markdown --group seller
	exits 0
	cmark-gfm -e table "$OUT" | grep '<h' | diff - <(printf '<h3>%s</h3>\n' 'seller: Box #' 'seller: ##' \
		'seller: # Nine' 'seller: C# ###' 'seller: 1. &lt;b&gt;' TOTAL)
}

# ---- the spreadsheet

@test "--to sheet: byte-order mark, CRLF, and what the locale is used to" {
	table <<<$'part,qty,price,note\n3001.5,-2,0.06,"a ""b"", c;d"\nK,3,,"x\ny"'
	render --to sheet
	exits 0
	out_is < <(printf '\357\273\277' && printf '%s\r\n' '"part","qty","price","note"' '"3001.5",-2,0.06,"a ""b"", c;d"' \
		$'"K",3,,"x\ny"')
	cp "$OUT" english
	for locale in en en_US en-GB.UTF-8 EN_us@x ja zh_TW es_MX; do
		render --to sheet --locale $locale
		out_is <english
	done
	render --to sheet --locale de
	out_is < <(printf '\357\273\277' && printf '%s\r\n' '"part";"qty";"price";"note"' '"3001.5";-2;0,06;"a ""b"", c;d"' \
		$'"K";3;;"x\ny"')
	cp "$OUT" german
	for locale in de_DE de-AT sv_SE.UTF-8 fr pt_BR en_ZA; do
		render --to sheet --locale $locale
		out_is <german
	done
	render --to sheet --locale de_CH
	out_is < <(sed 's/,06/.06/' german)
}

@test "an unknown locale is an error that says which there are" {
	totals
	render --to sheet --locale xx
	refused '--locale: "xx" is none known here: name a language, or a language and a territory such as de_AT; there are bg ca cs'
	render --to sheet --locale german
	refused '"german" is none known here'
	render --to sheet --locale de_BR
	refused '"de_BR" is none known here: territories of that language are AT BE DE IT LU CH LI'
	render --to sheet --locale ''
	refused 'is none known here'
}

@test "every locale's decimal mark is that of the Unicode locale data, as Babel has it" {
	/usr/bin/python3 -c 'import babel' 2>/dev/null || skip "no babel here: it is in Debian's python3-babel"
	table <<<$'x\n1.5'
	lot-show --to sheet --locale xx <table.csv 2>&1 | sed 's/.*there are //; s/: try.*//' | tr ' ' '\n' >languages
	[ "$(wc -l <languages)" -gt 40 ]
	while read -r language; do
		echo "$language"
		lot-show --to sheet --locale "${language}_" <table.csv >/dev/null 2>&1 || true
		lot-show --to sheet --locale "${language}_?" <table.csv 2>&1 |
			sed 's/.*language are *//; s/: try.*//' | tr ' ' '\n' | sed "s/^./${language}_&/"
	done <languages | sed '/^$/d' >locales
	[ "$(wc -l <locales)" -gt 120 ]
	while read -r locale; do
		printf '%s %s\n' "$locale" "$(lot-show -q --to sheet --locale "$locale" <table.csv | tail -n 1 | tr -d '15\r')"
	done <locales >seen
	/usr/bin/python3 - <<-'PYTHON'
		from babel import Locale, UnknownLocaleError
		from babel.core import get_global
		from babel.numbers import get_decimal_symbol
		for line in open("seen"):
		    name, mark = line.split()
		    try:
		        locale = Locale.parse(name)  # adds the script that is likely
		    except UnknownLocaleError:
		        # the language has it in several scripts
		        language, territory = name.split("_")
		        locale = next(Locale.parse(f"{language}_{script}_{territory}")
		                      for script in ("Latn", "Cyrl", "Hans", "Hant")
		                      if f"{language}_{script}_{territory}" in __import__("babel").localedata.locale_identifiers())
		    assert get_decimal_symbol(locale) == mark, (name, mark)
	PYTHON
}

# What is put before a field is said for each: `guarded FIELD` or `as-is FIELD`.
@test "what a spreadsheet would take for a formula is kept from it; numbers stay numbers" {
	python3 - <<-'PYTHON'
		import csv
		guarded = ["=1+1", "+1+1", "-1+1", "@SUM(A1)", "=cmd|' /C x'!A0", "\t=1", "\tx", "\rx", "\r=1", "\n=1",
		           " \tx", "  \rx", " \nx", "\u00a0\tx", "\"\tx", "\u200b\tx", " \t", " \x01x",
		           " =1", "\u00a0=1", "\u3000@x", "\"=1", "\" +x", "＝1+1", "＋1", "－1", "＠x", "﹦1", "−1+x", "\u200b=1",
		           "\ufeff=1", "\u202e=1", "-", "+", "=", "@", "--1", "+-1", "-1e5", "+49 30 123", "-5 EUR", "-007",
		           "-1,5+1", "-1,", "-1,,5", "-0,5 ", "-00,5", "\x01=1", "\x1b=1", "\u0301=1", "-.", "=HYPERLINK(\"http://a.example\";\"x\")"]
		as_is = ["", "-5", "+5", "-0.25", "-1,5", "-0,25", "+1.234,5", "-1,234.5", "5", ".5", "-.5", "x", "'=1", "a=1", "1=1", "1-1", " x", "x\ty", " x\ty", " 5", "x@y", "(=1)", "#=1", "é", "日本"]
		with open("table.csv", "w", newline="") as file:
		    out = csv.writer(file, quoting=csv.QUOTE_ALL)
		    out.writerow(["id", "=head"])
		    out.writerows([["x", field] for field in guarded + as_is])
		with open("due.csv", "w", newline="") as file:
		    out = csv.writer(file)
		    out.writerow(["id", "'=head"])
		    out.writerows([["x", "'" + field] for field in guarded])
		    out.writerows([["x", field] for field in as_is])
	PYTHON
	render --to sheet
	exits 0
	python3 - "$OUT" <<-'PYTHON'
		import csv, sys
		def rows(path): return list(csv.reader(open(path, encoding="utf-8-sig", newline="")))
		for seen, due in zip(rows(sys.argv[1]), rows("due.csv"), strict=True):
		    assert seen == due, (seen, due)
	PYTHON
	# neither twice
	cp "$OUT" once.csv
	try lot-show -q --to sheet <once.csv
	out_is <once.csv
	# the page too, and its headings
	render --to html
	[ "$(grep -c '>&#39;' "$OUT")" -ge 42 ]
	out_has '>&#39;=head</button>'
	run ! grep -q '<td[^>]*>[=@＝＋－＠-][^0-9.]' "$OUT"
	out_has '>-0.25<'
	# all others show the field as it is
	for form in text markdown; do
		render --to $form
		run ! grep -qF "'=1+1" "$OUT"
		out_has '=1+1'
	done
}

@test "groups in a sheet: headings, and names that would be formulas" {
	table <<<$'seller,qty\n=x,1\ny,2'
	render --to sheet --group seller --locale de
	out_is < <(printf '\357\273\277' && printf '%s\r\n' '"seller";"'"'"'=x"' '"qty"' 1 1 '' '"seller";"y"' '"qty"' 2 2 '' \
		'"TOTAL"' '"qty"' 3)
}

spreadsheet_table() {
	python3 - <<-'PYTHON'
		import csv
		with open("table.csv", "w", newline="", encoding="utf-8") as file:
		    out = csv.writer(file)
		    out.writerow(["seller", "part", "qty", "price", "note"])
		    out.writerow(["Grå Låda", "B-104", 20, "0.06", "é ü ß 日本"])
		    out.writerow(["Tiroir; Onze, \"x\"", "K 7", -3, "1234.5678", "two\nlines"])
		    out.writerow(["A", "P-1/red", "999999999", "-0.000001", "=1+1"])
		    out.writerow(["B", "x", 0, "", "+SUM(A1)"])
		    out.writerow(["C", "y", 1, "3", "@x"])
		    out.writerow(["D", "z", "", "7.50", "-x"])
		    out.writerow(["E", "w", 2, "0.5", "\uff1d1"])
	PYTHON
}

# german FILE...: a German locale for Gnumeric, which takes decimal marks from it.
german() {
	needs localedef locales
	mkdir -p "$BATS_FILE_TMPDIR/locales"
	localedef -i de_DE -f UTF-8 "$BATS_FILE_TMPDIR/locales/de_DE.UTF-8" || [ $? -eq 1 ]
	LOCPATH=$BATS_FILE_TMPDIR/locales LC_ALL=de_DE.UTF-8 "$@"
}

@test "Gnumeric reads the same cells from a sheet, in English and in German" {
	needs ssconvert gnumeric
	spreadsheet_table
	render --to sheet --locale en_US
	cp "$OUT" english.csv
	ssconvert english.csv english.gnumeric >/dev/null 2>&1
	try python3 "$TESTS/check_sheet.py" table.csv english.gnumeric
	exits 0
	out_is <<<'38 cells agree'
	# it takes what is named .csv to have commas, whatever the locale
	render --to sheet --locale de_DE
	cp "$OUT" german.txt
	german ssconvert -I Gnumeric_stf:stf_csvtab german.txt german.gnumeric >/dev/null 2>&1
	try python3 "$TESTS/check_sheet.py" table.csv german.gnumeric
	exits 0
	out_is <<<'38 cells agree'
}

@test "LibreOffice reads the same cells from a sheet, in English and in German" {
	needs soffice libreoffice-calc
	spreadsheet_table
	# its filter's words: delimiter, quote, UTF-8, first line, no formats, language, quoted text, numbers
	for locale in en_US:44:1033 de_DE:59:1031; do
		IFS=: read -r name delimiter language <<<"$locale"
		lot-show -q --to sheet --locale "$name" <table.csv >"$name.csv"
		for quoted_is_text in false true; do
			rm -f "$name.fods"
			HOME=$PWD soffice "-env:UserInstallation=file://$PWD/profile" --headless --convert-to fods \
				--infilter="CSV:$delimiter,34,76,1,,$language,$quoted_is_text,true" "$name.csv" >/dev/null 2>&1
			try python3 "$TESTS/check_sheet.py" table.csv "$name.fods"
			exits 0
			out_is <<<'38 cells agree'
		done
	done
}

# ---- the page

hostile() {
	python3 - <<-'PYTHON' >table.csv
		import csv, sys
		out = csv.writer(sys.stdout, lineterminator="\n")
		out.writerow(["<img src=x onerror=alert(1)>", "b\" onclick=\"alert(2)", "</script>"])
		out.writerow(["<script>alert(3)</script>", "\"><svg onload=alert(4)>", "http://a.example/x.png"])
		out.writerow(["<link rel=stylesheet href=//a.example/x>", "&lt;b&gt;", "'\"&<>"])
		out.writerow(["<iframe src=\"http://a.example\"></iframe>", "</td></table>", "<style>*{display:none}</style>"])
	PYTHON
}

@test "the page holds the fields and nothing of theirs; its policy has the hashes of its style and script" {
	hostile
	render --to html --title '</title><script>alert(0)</script>'
	exits 0
	python3 - "$OUT" <<-'PYTHON'
		import base64, csv, hashlib, html.parser, re, sys
		page = open(sys.argv[1], encoding="utf-8").read()
		class Page(html.parser.HTMLParser):
		    def __init__(self):
		        super().__init__()
		        self.tags, self.rows, self.attributes = [], [], set()
		    def handle_starttag(self, tag, attributes):
		        self.tags.append(tag)
		        self.attributes |= {name for name, _ in attributes}
		        if tag == "tr":
		            self.rows.append([])
		        if tag in ("td", "th"):
		            self.rows[-1].append("")
		    def handle_data(self, data):
		        if self.rows and self.rows[-1] and data != "\n" and self.tags[-1] in ("td", "button"):
		            self.rows[-1][-1] += data
		seen = Page()
		seen.feed(page)
		due = list(csv.reader(open("table.csv", newline="")))
		assert [row[:3] for row in seen.rows] == due, (seen.rows, due)
		assert set(seen.tags) == {"html", "head", "meta", "title", "link", "style", "body", "h1", "section", "div", "table",
		                          "thead", "tbody", "tr", "th", "td", "button", "script"}, set(seen.tags)
		assert seen.tags.count("script") == 1 and seen.tags.count("style") == 1
		assert not {name for name in seen.attributes if name.startswith("on")} | (seen.attributes & {"src", "style"})
		policy = re.search('Content-Security-Policy" content="([^"]*)"', page).group(1)
		assert policy.startswith("default-src 'none'")
		for tag in ("style", "script"):
		    text = re.search(f"<{tag}>(.*?)</{tag}>", page, re.S).group(1)
		    due = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
		    assert f"{tag}-src 'sha256-{due}'" in policy, f"the hash of the {tag} is sha256-{due}"
		assert not re.findall("https?://", re.sub("<t[dr].*", "", page))
	PYTHON
}

browse() {
	try python3 "$TESTS/browser.py" "$@"
}

@test "Chromium: a page of a hostile table runs nothing and asks for nothing" {
	needs chromium chromium
	hostile
	render --to html --title '<b>x</b>'
	cp "$OUT" page.html
	browse page.html 'column=3' 'click=</script>' sorted 'text=h1' 'run=document.images.length' requests
	exits 0
	out_is <<-END
		http://a.example/x.png|'"&<>|<style>*{display:none}</style>
		none none ascending
		<b>x</b>
		0
		file://$PWD/page.html
	END
}

@test "Chromium: a click on a header sorts, numbers as numbers, and again turns it round" {
	needs chromium chromium
	table <<-'END'
		part,qty,big
		B-20,9,9007199254740993
		B-104,10,9007199254740992
		,-1.5,
		a-3,,-9007199254740993
		Ä-1,-10,0.30
		TOTAL,7.5,1
		Z-1,+9.0,.3
		TOTAL,1,1
	END
	render --to html
	cp "$OUT" page.html
	browse page.html column=1 click=qty column=2 sorted click=qty column=2 sorted click=qty column=2 sorted requests
	exits 0
	out_is <<-END
		B-20|B-104||a-3|Ä-1|TOTAL|Z-1
		-10|-1.5|7.5|9|+9.0|10|
		none ascending none
		10|9|+9.0|7.5|-1.5|-10|
		none descending none
		9|10|-1.5||-10|7.5|+9.0
		none none none
		file://$PWD/page.html
	END
	# more digits than a double has; words with numbers in them; totals at the end stay there
	browse page.html click=big column=3 click=part column=1 column=1:foot sorted
	out_is <<-'END'
		-9007199254740993|0.30|.3|1|9007199254740992|9007199254740993|
		Ä-1|a-3|B-20|B-104|TOTAL|Z-1|
		TOTAL
		ascending none none
	END
}

@test "Chromium: numbers as other countries write them are sorted as numbers" {
	needs chromium chromium
	table <<-'END'
		part;german;english;both;either
		A;0,5;1,000;1.200,5;1,5
		B;0,06;950;-0,25;1,5 m
		C;-0,25;1,000.5;;0,30
		D;1.200,5;2,000;1.000;10
		E;10;-3;950;9,5
	END
	render --to html
	cp "$OUT" page.html
	browse page.html click=german column=1 click=german column=1 click=english column=1 click=both column=1
	exits 0
	out_is <<-'END'
		C|B|A|E|D
		D|E|A|B|C
		E|B|A|C|D
		B|E|D|A|C
	END
	# one field that is none makes the column one of words
	browse page.html click=either column=5
	out_is <<<'0,30|1,5|1,5 m|9,5|10'
}

@test "Chromium: each block of a group is sorted for itself" {
	needs chromium chromium
	two_sellers
	render --to html --group seller
	cp "$OUT" page.html
	browse page.html click=2:qty column=2 column=2:foot text=h2
	exits 0
	out_is <<-'END'
		2|1
		3|20

		3
		23
		26
		seller: Counter
		seller: Attic
		TOTAL
	END
}

@test "Chromium: on a phone nothing is wider than the window, long rows are cards, and sorting works" {
	needs chromium chromium
	python3 - <<-'PYTHON' >table.csv
		print("seller,route,part,color,condition,qty,price,amount,note")
		for i in range(12):
		    print(f"Seller {i},market,P-{i},very clear glass,new,{i * 7 % 5},0.0{i},1.{i},{'word' * 20}")
	PYTHON
	render --to html
	cp "$OUT" page.html
	browse page.html size=360x640 'run=document.documentElement.scrollWidth' \
		'run=getComputedStyle(document.querySelector("td")).display' \
		'run=parseFloat(getComputedStyle(document.querySelector("td")).fontSize) >= 16' \
		click=qty column=6 size=1400x900 'run=document.documentElement.scrollWidth' \
		'run=getComputedStyle(document.querySelector("td")).display'
	exits 0
	out_is <<-'END'
		360
		flex
		True
		0|0|0|1|1|2|2|2|3|3|4|4
		1400
		table-cell
	END
	# what is empty takes no room on a card, in a total line neither
	render --to html --sum amount
	cp "$OUT" page.html
	grep -q '<tfoot>' page.html
	browse page.html size=360x640 \
		'run=[...document.querySelectorAll("td:empty")].filter(cell => cell.offsetHeight > 0).length'
	out_is <<<0
	# a few narrow columns stay a table
	two_sellers
	render --to html --columns part,qty,price
	cp "$OUT" page.html
	browse page.html size=360x640 'run=document.documentElement.scrollWidth' \
		'run=getComputedStyle(document.querySelector("td")).display'
	out_is <<<$'360\ntable-cell'
}

@test "Chromium: light or dark as the reader has it, and legible" {
	needs chromium chromium
	totals
	render --to html
	cp "$OUT" page.html
	# contrast of WCAG 2.2, 1.4.3: 4.5 at least
	local contrast='(() => {
		const light = color => color.match(/\d+/g).slice(0, 3).map(part => part / 255)
			.map(part => part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4)
			.reduce((sum, part, at) => sum + part * [0.2126, 0.7152, 0.0722][at], 0);
		const of = name => getComputedStyle(document.body)[name];
		const [a, b] = [light(of("color")), light(of("backgroundColor"))];
		return [a > b ? "dark" : "light", (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05) >= 4.5].join(" ");
	})()'
	browse page.html "run=$contrast" dark "run=$contrast"
	exits 0
	out_is <<<$'light true\ndark true'
}

@test "the page: title, total lines, a number's place" {
	totals
	render --to html --title 'What it <costs>'
	out_has '<title>What it &lt;costs&gt;</title>'
	out_has '<h1>What it &lt;costs&gt;</h1>'
	out_has '<td data-label="goods" class="n" data-pad="0">60.1</td>'
	out_has '<tfoot>
<tr class="total"><td data-label="seller">TOTAL</td>'
	render --to html
	out_has '<title>Table</title>'
	run ! grep -q '<h1>' "$OUT"
}

# ---- what is read, what is wrong

@test "any table is read: semicolons, tabs, UTF-16, line breaks in fields, two columns of a name" {
	table <<<$'a;a;""\n1;"x,y";z'
	render
	out_is <<-'END'
		a  a
		-  ---  -
		1  x,y  z
	END
	printf 'a\tb\n1\t2\n' | iconv -t UTF-16 >table.csv
	render
	out_is <<<$'a  b\n-  -\n1  2'
	printf 'a,b\n\351,1\n' >table.csv
	render
	refused '<stdin>:2: column 1 (a) is not UTF-8'
	render --encoding ISO-8859-1
	out_is <<<$'a  b\n-  -\né  1'
	printf 'a-b\n1-2\n' >table.csv
	render -D -
	out_is <<<$'a  b\n-  -\n1  2'
	: >table.csv
	render
	refused '<stdin>: no header line'
	table <<<$'a,b\n1,2,3\n4,"'
	render
	refused '<stdin>:2: 3 fields'
}

@test "usage: what cannot be" {
	totals
	render --to htm
	refused '--to: there is no form "htm", but "html"'
	render --to pdf9999999
	refused 'text, markdown, html or sheet'
	render --locale de
	refused '--locale is for --to sheet'
	render --title x
	refused '--title is for --to html'
	render --to html --wide
	refused '--wide is for --to text'
	render --to text --to html
	refused 'option --to is given twice'
	render --to html --title $'\377'
	refused '--title is not UTF-8'
	render table.csv
	refused 'no operands'
}

@test "a failing write is told" {
	totals
	[ -e /dev/full ] || skip "no /dev/full here"
	full() { lot-show -q <table.csv >/dev/full; }
	try full
	exits 2
	err_has 'lot-show: <stdout>: No space left'
}

@test "help and version" {
	try lot-show --help
	exits 0
	out_has 'usage: lot-show'
	try lot-show --version
	exits 0
	out_has 'lot-show '
}

@test "the example of the manual page" {
	table <<-'END'
		seller,part,color,qty,price,currency,amount
		Attic,P-104,red,25,0.06,GBP,1.5
		Counter,P-330,brown,2,0.41,EUR,0.82
		Attic,P-201,grey,10,0.025,GBP,0.25
	END
	try lot-show --group seller --columns part,color,qty,amount <table.csv
	exits 0
	cat "$ERR" >>"$OUT"
	out_is < <(sed -n '/^\$ lot-show --group seller --columns/,/^\.Ed/p' "$TESTS/../doc/lot-show.1" | sed '1d;$d')
}
