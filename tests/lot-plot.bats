#!/usr/bin/env bats
# lot-plot: a chart of any table. Tables are literal, figures counted by hand where nothing else is said;
# scenarios, parts and prices are invented.

load lib

table() {
	cat >table.csv
}

# plot [OPTION...]: the table in the file table.csv; what is drawn is kept as chart.svg too.
plot() {
	try lot-plot "$@" <table.csv
	cp "$OUT" chart.svg
}

# sound: the chart is well-formed, draws and does nothing else, and its texts keep apart. Python's
# parser has it, that of libxml2 where it is here.
sound() {
	exits 0
	python3 "$TESTS/check_chart.py" chart.svg >sound.txt || show "no sound chart"
	if command -v xmllint >/dev/null; then
		xmllint --noout chart.svg || show "not well-formed to xmllint"
	fi
}

# texts: what stands in the chart, a line a text, "|" before what it was cut from.
texts() {
	python3 - chart.svg <<-'PYTHON'
		import sys, xml.etree.ElementTree as ET
		sys.stdout.reconfigure(encoding="utf-8")
		svg = "{http://www.w3.org/2000/svg}"
		for text in ET.parse(sys.argv[1]).iter(svg + "text"):
		    cut = text.find(svg + "title")
		    print(text.text if cut is None else f"{cut.tail}|{cut.text}")
	PYTHON
}

# texts_are: the texts are what stands on stdin, blanks that do not break as "~".
texts_are() {
	cat >due.txt
	texts | sed 's/\xC2\xA0/~/g' >texts.txt
	diff -u --label 'texts due' --label 'texts' due.txt texts.txt || show "other texts"
}

# plain: the chart, blanks that do not break as others.
plain() {
	sed 's/\xC2\xA0/ /g' chart.svg
}

tip() {
	plain | grep -qF "<title>$1</title>" || show "no such tip: $1"
}

described() {
	plain | grep -qxF "<desc>$1</desc>" || show "described otherwise: $(grep '<desc>' chart.svg)"
}

scenarios() {
	table <<-'END'
		scenario,orders,lots,pieces,goods,charges,tax,others,rounding,total,saving,saving_percent,per_piece
		as-is,9,64,904,66.72,28.60,6.71,0.00,0.00,102.03,0.00,0.00,0.11
		swaps,8,60,878,54.51,23.53,4.07,0.00,0.00,82.11,19.92,19.52,0.09
		both-routes,4,67,748,49.75,13.95,10.69,0.00,0.01,74.40,27.63,27.08,0.10
	END
}

curve() {
	table <<-'END'
		orders,cost,landed,bound,saving
		3,83.200000000,83.200000000,80.100000000,5.100000000
		4,78.100000000,78.100000000,76.200000000,1.500000000
		5,76.600000000,76.600000000,74.400000000,2.200000000
		8,74.400000000,74.400000000,72.280000000,
	END
}

prices() {
	table <<-'END'
		part,color,qty,price,amount,share
		P-104,red,100,0.08,8,44.89
		P-330,brown,2,0.41,0.82,4.60
		P-104,brown,20,0.36,7.2,40.40
		P-201,any,60,0.03,1.8,10.10
	END
}

# Names as a stranger could give them: marks of XML, controls, marks of direction, scripts, lengths.
hostile() {
	python3 - >table.csv <<-'PYTHON'
		import csv, sys
		sys.stdout.reconfigure(encoding="utf-8", newline="")
		out = csv.writer(sys.stdout, lineterminator="\n")
		out.writerow(["name", "a</text><script>alert(1)</script>", "]]> & \" '", "<!-- c", "\x1b]0;x\x07"])
		for i, name in enumerate([
		        "</text></svg>", "]]>", "<![CDATA[x", "&#0;&lt;&bogus;", "\x01\x07\x08\x0b\x0c\x1b[31mred\x7f",
		        "\x80\x85\x9f", "\u202eright to left\u2066\u200f", "שלום עולם", "مرحبا بالعالم", "two\nlines\r\nof\rit", "",
		        "very long name " * 500, "W" * 300, "日本語の名前はここでとても長い", "🧱🧱👩‍👩‍👧", "\ufffe\uffff\ufeff\U000fffff",
		        "e\u0301\u0301\u0301\u0301", "\u0301alone", "﷽﷽﷽", "𒐫𒐫", "⸻⸻⸻", "a\u200bb\u00adc\u2028d\u2029e",
		        "<?xml version='1.0'?>", "<!DOCTYPE x [<!ENTITY y SYSTEM 'file:///etc/passwd'>]>", " \t ", "javascript:alert(1)",
		        "' onload='alert(1)", "\" onload=\"alert(1)"]):
		    out.writerow([name, i % 5, -(i % 3), 1 + i % 2, 3])
	PYTHON
}

hostile_columns() {
	printf '%s' "a</text><script>alert(1)</script>,]]> & \" ',<!-- c,"$'\033]0;x\007'
}

# ---- the kinds

@test "a small chart, byte by byte" {
	table <<<$'name,a\none,3\n"two ""x""",-1.5'
	plot --width 240 --height 200 --title 'T & t'
	exits 0
	err_is <<<'lot-plot: 2 rows, 1 stacked column'
	out_is <<-'END'
		<svg xmlns="http://www.w3.org/2000/svg" class="lot-plot" role="img" aria-label="T &amp; t" width="240" height="200" viewBox="0 0 240 200" font-family="system-ui, sans-serif">
		<title>T &amp; t</title>
		<desc>Bars of a, 2 rows by name. Most: one 3.0. Least: two &quot;x&quot; −1.5.</desc>
		<style>
		@media (prefers-color-scheme: dark) {
		.lot-plot .paper { fill: #161819 } .lot-plot .edge { stroke: #161819 }
		.lot-plot .ink { fill: #e8e8e8 } .lot-plot .soft { fill: #a5a8ab }
		.lot-plot .grid { stroke: #3a3e41 } .lot-plot .axis { stroke: #a5a8ab }
		.lot-plot .fill7 { fill: #fff } .lot-plot .stroke7 { stroke: #fff }
		}
		</style>
		<rect class="paper" fill="#fff" width="240" height="200"/>
		<g class="ink" fill="#1b1b1b" font-size="17">
		<text x="14" y="31">T &amp; t</text>
		</g>
		<g class="ink" fill="#1b1b1b" font-size="13">
		<rect class="fill0" fill="#0072b2" x="14" y="45" width="12" height="12"/>
		<text x="32" y="55.5">a</text>
		</g>
		<line class="grid" stroke="#ddd" x1="38.72" y1="143" x2="226" y2="143"/>
		<line class="grid" stroke="#ddd" x1="38.72" y1="120.5" x2="226" y2="120.5"/>
		<line class="grid" stroke="#ddd" x1="38.72" y1="98" x2="226" y2="98"/>
		<line class="grid" stroke="#ddd" x1="38.72" y1="75.5" x2="226" y2="75.5"/>
		<g class="soft" fill="#5c5c5c" font-size="12">
		<text x="32.72" y="147.5" text-anchor="end">−2</text>
		<text x="32.72" y="125" text-anchor="end">0</text>
		<text x="32.72" y="102.5" text-anchor="end">2</text>
		<text x="32.72" y="80" text-anchor="end">4</text>
		<text x="85.54" y="162" text-anchor="middle">one</text>
		<text x="179.18" y="162" text-anchor="middle">two &quot;x&quot;</text>
		<text x="132.36" y="186" text-anchor="middle">name</text>
		</g>
		<g class="fill0" fill="#0072b2">
		<g class="edge" stroke="#fff">
		<rect x="52.77" y="86.75" width="65.54" height="33.75"><title>one, a: 3</title></rect>
		<rect x="146.41" y="120.5" width="65.54" height="16.87"><title>two &quot;x&quot;, a: -1.5</title></rect>
		</g>
		</g>
		<line class="axis" stroke="#5c5c5c" x1="38.72" y1="120.5" x2="226" y2="120.5"/>
		</svg>
	END
	sound
}

@test "bars: goods, charges and tax of scenarios, with what they come to" {
	scenarios
	plot --title 'Landed cost' --unit EUR
	sound
	err_is <<<'lot-plot: 3 rows, 4 stacked columns'
	texts_are <<-'END'
		Landed cost
		goods
		charges
		tax
		rounding
		0
		20
		40
		60
		80
		100
		120
		EUR
		as-is
		swaps
		both-routes
		scenario
		102.03
		82.11
		74.40
	END
	tip 'swaps, charges: 23.53'
	described 'Bars of goods, charges, tax and rounding, 3 rows by scenario. Most: as-is 102.03. Least: both-routes 74.40.'
	python3 "$TESTS/check_figures.py" table.csv chart.svg bars scenario goods charges tax rounding
}

@test "bars: rebates hang below zero; what is over a bar is the sum of both" {
	table <<<$'seller,goods,rebate\nAttic,10,-2.5\nLoft,4,-6\nShed,,'
	plot --columns goods,rebate
	sound
	texts >texts.txt
	tail -n 2 texts.txt | diff -u - <(printf '%s\n' 7.5 −2.0)
	err_is <<<'lot-plot: 3 rows, 2 stacked columns, 2 empty fields'
	python3 "$TESTS/check_figures.py" table.csv chart.svg bars seller goods rebate
}

@test "bars of totals are in home money, without the total line" {
	table <<-'END'
		seller,route,goods,charges,tax,total,home_goods,home_charges,home_tax,rounding,home
		Attic,market,10,2,0,12,11,2.2,0,0,13.2
		Loft,market,5,1,1,7,5.5,1.1,1.1,0.00,7.7
		TOTAL,,,,,,16.5,3.3,1.1,0,20.9
	END
	plot
	sound
	err_is <<<'lot-plot: 2 rows, 3 stacked columns, 1 total line left out'
	texts | head -n 3 | diff -u - <(printf '%s\n' home_goods home_charges home_tax)
	tip 'Attic, home_goods: 11'
}

@test "lines: the curve of cost by orders, with its bound" {
	curve
	plot --kind lines
	sound
	err_is <<<'lot-plot: 4 rows, 2 lines'
	texts_are <<-'END'
		cost
		bound
		72
		74
		76
		78
		80
		82
		84
		3
		4
		5
		6
		7
		8
		orders
	END
	tip '8, bound: 72.28'
	described 'Lines of cost and bound, 4 rows by orders. cost from 83.20 at 3 to 74.40 at 8. bound from 80.10 at 3 to 72.28 at 8.'
	python3 "$TESTS/check_figures.py" table.csv chart.svg lines orders cost bound
}

@test "lines: by number in its order, gaps where fields are empty, a point without neighbours" {
	table <<<$'x,y\n4,2\n1,1\n2,\n3,5\n2.5,\n10,1'
	plot --kind lines
	sound
	err_is <<<'lot-plot: 6 rows, 1 line, 2 empty fields'
	# 3, 4 and 10 are one line; 1 is alone.
	[ "$(grep -c 'd="M[^"]*L' chart.svg)" -eq 1 ]
	[ "$(grep -o 'd="M[^"]*L[^"]*"' chart.svg | tr -cd ML)" = MLL ]
	[ "$(grep -c 'path.*<title>' chart.svg)" -eq 4 ]
	table <<<$'x,y\n1,1\n2,2\n3,5\n4,2\n10,1'
	plot -q --kind lines
	python3 "$TESTS/check_figures.py" table.csv chart.svg lines x y
}

@test "lines: names, dates, and numbers that are all one stand side by side as they come" {
	table <<<$'day,y\n2026-02-01,2\n2026-01-01,1'
	plot -q --kind lines
	sound
	texts | tail -n 3 | diff -u - <(printf '%s\n' 2026-02-01 2026-01-01 day)
	table <<<$'x,y\n7,2\n7.0,1'
	plot -q --kind lines
	texts | tail -n 3 | diff -u - <(printf '%s\n' 7 7.0 x)
}

@test "Pareto: from high to low, shares by hand" {
	prices
	plot --kind pareto --label part,color
	sound
	# 8 + 7.2 + 1.8 + 0.82 = 17.82; 8 are 44.89 %, 15.2 are 85.30 %, 17 are 95.40 %.
	err_is <<<'lot-plot: 4 rows, 1 column, 2 of them make up 80 % of the sum'
	tip 'P-104 red, amount: 8 (44.9 % so far)'
	tip 'P-104 brown, amount: 7.2 (85.3 % so far)'
	tip 'P-201 any, amount: 1.8 (95.4 % so far)'
	tip 'P-330 brown, amount: 0.82 (100.0 % so far)'
	described 'Pareto chart of amount, 4 rows by part color. Most: P-104 red 8.00. Least: P-330 brown 0.82. 2 rows make up 80 % of the sum.'
	table <<<$'part,amount\na,8\nb,1.5\nc,0.5\nd,'
	plot --kind pareto
	sound
	# 80 % to the point is 80 %.
	err_is <<<'lot-plot: 3 rows, 1 column, 1 of them makes up 80 % of the sum, 1 without an amount left out'
	python3 "$TESTS/check_figures.py" table.csv chart.svg pareto part amount
}

@test "Pareto: the others in one bar" {
	prices
	plot --kind pareto --most 2
	sound
	err_is <<<'lot-plot: 3 rows, 1 column, 2 of them make up 80 % of the sum, 2 gathered in the last'
	tip '2 others, amount: 2.62 (100.0 % so far)'
	# One other is no others.
	plot -q --kind pareto --most 3
	tip 'P-330, amount: 0.82 (100.0 % so far)'
}

@test "Pareto: amounts below zero, and sums that no share is of" {
	table <<<$'part,amount\na,-5\nb,7.5\nc,\nd,30'
	plot --kind pareto
	sound
	tip 'b, amount: 7.5 (115.4 % so far)'
	texts | sed 's/\xC2\xA0/~/g' | grep -qx '120~%'
	table <<<$'part,amount\na,-5\nb,5'
	plot --kind pareto
	sound
	err_is <<<'lot-plot: 2 rows, 1 column'
	[ "$(texts | grep -c '%')" -eq 0 ]
}

@test "Pareto: shares as large as can be drawn, one more is refused" {
	table <<<$'part,amount\na,999999999999999999999.5\nb,-999999999999999999998.5'
	plot -q --kind pareto
	sound
	tip 'a, amount: 999999999999999999999.5 (99 999 999 999 999 999 999 950.0 % so far)'
	tip 'b, amount: -999999999999999999998.5 (100.0 % so far)'
	table <<<$'part,amount\na,1000000000000000000000\nb,-999999999999999999999'
	plot -q --kind pareto
	refused 'lot-plot: the amounts above zero are 10^21 times the sum of all or more, since others are below zero: such shares cannot be drawn, but --kind bars can'
	plot -q --kind bars
	sound
	# Many amounts of 22 digits that all but cancel: sums of them, in parts of their sum, are beyond 128 bits.
	awk 'BEGIN {
		print "part,amount"
		for (i = 0; i < 5000; i++) print i ",9999999999999999999999\n-" i ",-" 9999 "99999999999999999" (i ? 9 : 8)
	}' >table.csv
	plot -q --kind pareto --most 20
	refused 'the amounts above zero are 10^21 times the sum'
}

@test "Pareto: the order of rows does not matter" {
	python3 - >table.csv <<-'PYTHON'
		import random
		dice = random.Random(7)
		print("part,amount")
		for i in range(200): print(f"P-{i:03},{dice.randrange(40) / 4}")
	PYTHON
	plot -q --kind pareto
	sound
	cp chart.svg first.svg
	python3 "$TESTS/check_figures.py" table.csv chart.svg pareto part amount
	{ head -n 1 table.csv && tail -n +2 table.csv | sort -r -k 1.4; } >other.csv
	mv other.csv table.csv
	plot -q --kind pareto
	cmp first.svg chart.svg
}

# ---- axes

# ticks LOW HIGH: labels of the axis of lines through both, in a line.
ticks() {
	printf 'x,y\na,%s\nb,%s\n' "$1" "$2" >table.csv
	plot -q --kind lines "${@:3}"
	texts | sed '1d' | sed '/^a$/,$d' | sed 's/\xC2\xA0/~/g' | tr '\n' ' '
}

@test "axes: round numbers, steps of 1, 2 and 5" {
	# By hand after Heckbert, "Nice Numbers for Graph Labels" (1990): 6 ticks at 450 pixels, so the step is the
	# nice number nearest to a fifth: of 0.99 it is 0.198, so 0.2; of 1.99 0.398, so 0.5; of 4.2 0.84, so 1.
	[ "$(ticks 0 0.99)" = "0.0 0.2 0.4 0.6 0.8 1.0 " ]
	[ "$(ticks 0 1.99)" = "0.0 0.5 1.0 1.5 2.0 " ]
	[ "$(ticks 0 4.2)" = "0 1 2 3 4 5 " ]
	[ "$(ticks 72.3 83.2)" = "72 74 76 78 80 82 84 " ]
	[ "$(ticks -3 7)" = "−4 −2 0 2 4 6 8 " ]
	[ "$(ticks 0 68000)" = "0 10~000 20~000 30~000 40~000 50~000 60~000 70~000 " ]
	# Zero is there where the low end is less than half of the high one, or they are the same.
	[ "$(ticks 49 100)" = "0 20 40 60 80 100 " ]
	[ "$(ticks 5 5)" = "0 1 2 3 4 5 " ]
	[ "$(ticks -5 -5)" = "−5 −4 −3 −2 −1 0 " ]
	[ "$(ticks 0 0)" = "0 1 " ]
	# Differences that no label could show.
	[ "$(ticks 50000000.00000001 50000000)" = "0 10 20 30 40 50 60 ×10⁶ " ]
	# Whole numbers have no ticks between them.
	[ "$(ticks 0 2)" = "0 1 2 " ]
	[ "$(ticks 0 1)" = "0 1 " ]
}

@test "axes: large and small numbers are of a power of ten; a decimal comma" {
	[ "$(ticks 0 70000000 --unit USD)" = "0 10 20 30 40 50 60 70 ×10⁶ USD " ]
	[ "$(ticks 0 0.00034)" = "0 50 100 150 200 250 300 350 ×10⁻⁶ " ]
	[ "$(ticks 0 1234567890123456789012345678901234567890)" = "0.0 0.2 0.4 0.6 0.8 1.0 1.2 1.4 ×10³⁹ " ]
	[ "$(ticks 0 0.000000000000000000000000000000000000000000000000000007)" = "0 1 2 3 4 5 6 7 ×10⁻⁵⁴ " ]
	[ "$(ticks 0 2.1 --locale de)" = "0,0 0,5 1,0 1,5 2,0 2,5 " ]
	plot -q --locale de_AT.UTF-8
	sound
	tip 'b, y: 2,1'
}

@test "axes: numbers of any size, drawn by an independent reckoning" {
	python3 - <<-'PYTHON'
		import random
		dice = random.Random(11)
		for case in range(12):
		    power = dice.randrange(-9, 10)
		    with open(f"{case}.csv", "w") as file:
		        print("name,a,b,c", file=file)
		        for i in range(dice.randrange(1, 60)):
		            fields = [f"{dice.uniform(-1, 3) * 10.0 ** power:.12f}" if dice.random() < 0.9 else "" for _ in range(3)]
		            print(f"row {i}", *fields, sep=",", file=file)
	PYTHON
	for case in 0 1 2 3 4 5 6 7 8 9 10 11; do
		cp "$case.csv" table.csv
		plot -q --columns a,b,c --width $((300 + 70 * case))
		sound
		# Labels of a power of ten are none that the reckoning reads.
		grep -q '×10' chart.svg || python3 "$TESTS/check_figures.py" table.csv chart.svg bars name a b c
	done
}

# ---- rows and columns

@test "the only column of numbers is drawn; of several one must say which" {
	table <<<$'rule,saving,note\na,1.5,x\nb,-2,7'
	plot
	sound
	tip 'b, saving: -2'
	table <<<$'rule,saving,gap\na,1.5,1\nb,-2,7'
	plot
	refused 'lot-plot: <stdin>:1: which columns are drawn? --columns says: of numbers are saving, gap'
	table <<<$'rule,saving\na,x'
	plot
	refused 'lot-plot: <stdin>:1: no column is of numbers: --columns says which are drawn'
	table <<<$'amount\n4\n5'
	plot
	sound
	tip '2, amount: 5'
	table <<<$'amount,part\n4,a\n5,b'
	plot --columns ' AMOUNT '
	sound
	tip 'b, amount: 5'
}

@test "no rows, one row, zeros, empty fields" {
	table <<<'name,amount'
	for kind in bars lines pareto; do
		plot --kind $kind
		sound
		err_is < <([ $kind = lines ] && echo 'lot-plot: 0 rows, 1 line' ||
			{ [ $kind = bars ] && echo 'lot-plot: 0 rows, 1 stacked column' || echo 'lot-plot: 0 rows, 1 column'; })
		texts | grep -qx 'no rows'
	done
	table <<<'name,b,c'
	plot
	sound
	table <<<$'seller,amount\nTOTAL,7'
	plot
	sound
	err_is <<<'lot-plot: 0 rows, 1 stacked column, 1 total line left out'
	for rows in 'a,5' 'a,0' 'a,' 'a,0\nb,0' 'a,\nb,-3' ',2\n,2'; do
		printf 'name,amount\n%b\n' "$rows" >table.csv
		for kind in bars lines pareto; do
			plot -q --kind $kind --columns amount
			sound
		done
	done
}

@test "what is no number is told with its line" {
	printf 'name,a,b\nx,1,\n"y\nz",2.5.1,7\nw,"2,5",1e5\nv,007,-\nu,\302\2405,1\n' >table.csv
	plot --columns a,b
	exits 2
	out_is_empty
	err_is <<-END
		lot-plot: <stdin>:3: a "2.5.1" is no number: digits, with a point before decimals and without grouping, or an empty field
		lot-plot: <stdin>:5: a "2,5" is no number: digits, with a point before decimals and without grouping, or an empty field
		lot-plot: <stdin>:5: b "1e5" is no number: digits, with a point before decimals and without grouping, or an empty field
		lot-plot: <stdin>:6: a "007" is no number: digits, with a point before decimals and without grouping, or an empty field
		lot-plot: <stdin>:6: b "-" is no number: digits, with a point before decimals and without grouping, or an empty field
		lot-plot: <stdin>:7: a "$(printf '\302\240')5" is no number: digits, with a point before decimals and without grouping, or an empty field
	END
}

@test "signs, and digits on one side of the point" {
	table <<<$'name,amount\na,+5\nb,.5\nc,-5.\nd,-0'
	plot -q
	sound
	texts | tail -n 4 | diff -u - <(printf '%s\n' 5.0 0.5 −5.0 0.0)
}

# ---- names

@test "hostile names: well-formed, nothing runs, nothing is fetched" {
	hostile
	for kind in bars lines; do
		plot -q --kind $kind --columns "$(hostile_columns)" --title "</title><script>alert('x')</script> ]]>" --unit '<&>'
		sound
	done
	plot -q --kind pareto --columns '<!-- c' --label "name,]]> & \" '" --title $'\033[31m\342\200\256'
	sound
	[ "$(grep -c '<script' chart.svg)" -eq 0 ]
}

@test "whatever a field holds, the chart is XML without controls and marks of direction" {
	for seed in 1 2 3; do
		python3 - $seed >table.csv <<-'PYTHON'
			import csv, random, sys
			dice = random.Random(int(sys.argv[1]))
			sys.stdout.reconfigure(encoding="utf-8", newline="")
			out = csv.writer(sys.stdout, lineterminator="\n", quoting=csv.QUOTE_ALL)
			def text():
			    points = [dice.choice([dice.randrange(1, 0xA0), dice.randrange(0x2000, 0x2070), dice.randrange(0x300, 0x370),
			                           dice.randrange(0xE000, 0x10FFFE), ord(dice.choice("<>&\"']"))]) for _ in range(dice.randrange(40))]
			    return "".join(map(chr, points))
			out.writerow(["x", "amount", text() + "z"])
			for _ in range(300):
			    out.writerow([text(), dice.randrange(99), ""])
		PYTHON
		plot -q --columns amount --width 4000
		sound
	done
}

@test "bytes that are not UTF-8, and NUL, are told" {
	printf 'name,amount\na\355\240\200,1\nb\377,2\n' >table.csv
	plot
	refused '<stdin>:2:'
	err_has '<stdin>:3:'
	printf 'name,amount\na\0b,1\n' >table.csv
	plot
	refused '<stdin>:2:'
	table <<<$'name,amount\na,1'
	plot --title $'\355\240\200'
	refused '--title is not UTF-8'
	plot --unit $'\377'
	refused '--unit is not UTF-8'
}

@test "long names are cut, and whole where one points at them" {
	table <<-END
		name,amount
		$(printf 'n%.0s' {1..400}),1
		short,2
	END
	plot -q --title "$(printf 'word %.0s' {1..80})"
	sound
	texts >texts.txt
	grep -q '^n*…|nn' texts.txt
	[ "$(grep -c 'word.*…$' texts.txt)" -eq 1 ]
	tip "$(printf 'n%.0s' {1..400}), amount: 1"
}

@test "nothing touches: drawn tables of every kind and size" {
	python3 - <<-'PYTHON'
		import csv, random
		dice = random.Random(5)
		words = "oak straw Grå Låda works counter W iii Größe mill-wheel 000 @% tide".split()
		for case in range(40):
		    with open(f"{case}.csv", "w", encoding="utf-8", newline="") as file:
		        out = csv.writer(file, lineterminator="\n")
		        columns = dice.randrange(1, 9)
		        names = [" ".join(dice.choices(words, k=dice.randrange(1, 6))) + f" {i}" for i in range(columns)]
		        out.writerow(["name"] + names)
		        numbers = dice.random() < 0.3
		        power = dice.randrange(-5, 12)
		        for i in range(dice.choice([0, 1, 2, 3, 7, 20, 64, 300])):
		            name = str(i * dice.choice([1, 3]) - 5) if numbers else " ".join(dice.choices(words, k=dice.randrange(0, 7)))
		            out.writerow([name] + [f"{dice.uniform(-1, 4) * 10.0 ** power:.6f}" for _ in names])
		    with open(f"{case}.options", "w", encoding="utf-8") as file:
		        print(dice.choice([240, 320, 720, 1600]), dice.choice([330, 450, 900]), ",".join(names), sep="\n", file=file)
	PYTHON
	for case in {0..39}; do
		{ read -r width && read -r height && read -r columns; } <"$case.options"
		cp "$case.csv" table.csv
		for kind in bars lines pareto; do
			[ $kind = pareto ] && columns=${columns%%,*}
			plot -q --kind $kind --columns "$columns" --width "$width" --height "$height" --unit EUR --title "$columns"
			[ "$status" -eq 2 ] && grep -q 'would do' "$ERR" && continue
			sound
		done
	done
}

@test "hundreds of bars, and more than there can be" {
	{ echo name,amount && seq 900 | sed 's/.*/row &,&/'; } >table.csv
	plot
	sound
	[ "$(grep -c '^<rect x.*<title>' chart.svg)" -eq 900 ]
	python3 "$TESTS/check_figures.py" table.csv chart.svg bars name amount
	{ echo name,amount && seq 9000 | sed 's/.*/row &,&/'; } >table.csv
	plot
	refused '9000 rows are too many for a width of 720'
	plot --width 2000
	exits 0
	plot --kind pareto --most 50
	sound
	err_has '8950 gathered in the last'
}

@test "an axis of large numbers counts in a power of ten, which stands beside its name" {
	{ echo x,a && seq -f '%.0f000000000000' 1 5 | awk '{ print $1 "," NR }'; } >table.csv
	plot -q --kind lines --label x --width 240
	sound
	grep -qF '>x, ×10¹²</text>' chart.svg
}

@test "too little room is told, with what would do" {
	scenarios
	plot --height 200 --title "$(printf 'word %.0s' {1..80})" --unit EUR --label scenario,orders,lots,pieces --width 300
	exits 2
	out_is_empty
	err_has 'is too little for title, legend and labels: '
	height=$(sed -n 's/.*labels: \([0-9]*\) would do.*/\1/p' "$ERR")
	plot -q --height $((height + 40)) --title "$(printf 'word %.0s' {1..80})" --unit EUR --label scenario,orders,lots,pieces --width 300
	sound
}

# ---- drawn by others

@test "rsvg-convert: bars have the colors of their series, in their places, on light paper" {
	needs rsvg-convert librsvg2-bin
	table <<<$'name,a,b\none,60,40\ntwo,20,-20'
	plot -q --columns a,b
	rsvg-convert chart.svg -o chart.png
	# Of each bar and the paper: the middle.
	python3 - chart.svg <<-'PYTHON' >places.txt
		import sys, xml.etree.ElementTree as ET
		svg = "{http://www.w3.org/2000/svg}"
		print("1,1")
		for bar in ET.parse(sys.argv[1]).iter(svg + "rect"):
		    if bar.find(svg + "title") is not None:
		        x, y, w, h = (float(bar.get(name)) for name in ("x", "y", "width", "height"))
		        print(f"{x + w / 2},{y + h / 2}")
	PYTHON
	mapfile -t places <places.txt
	python3 "$TESTS/pixels.py" chart.png "${places[@]}" | diff -u - <(printf '%s\n' \#ffffff \#0072b2 \#0072b2 \#e69f00 \#e69f00)
}

@test "rsvg-convert draws every kind, and what is hostile" {
	needs rsvg-convert librsvg2-bin
	hostile
	for kind in bars lines; do
		plot -q --kind $kind --columns "$(hostile_columns)"
		rsvg-convert chart.svg -o $kind.png
		[ "$(python3 "$TESTS/pixels.py" $kind.png 1,1)" = '#ffffff' ]
	done
	prices
	plot -q --kind pareto
	rsvg-convert chart.svg -o pareto.png
	[ "$(python3 "$TESTS/pixels.py" pareto.png 1,1)" = '#ffffff' ]
}

# boxes [ACTION...]: what the browser finds of texts that touch or leave the frame.
boxes() {
	python3 "$TESTS/browser.py" chart.svg "$@" "run=$(cat "$TESTS/text_boxes.js")" | grep -vx None >boxes.txt
	[ "$(wc -l <boxes.txt)" -eq 1 ] || {
		cat boxes.txt
		return 1
	}
}

@test "Chromium: no text touches another or leaves the frame, in fonts narrow and wide" {
	needs chromium chromium
	hostile
	plot -q --columns "$(hostile_columns)" --title "$(printf 'Wm@ %.0s' {1..60})" --unit EUR
	sound
	for font in 'system-ui, sans-serif' 'DejaVu Serif' 'DejaVu Sans Mono' 'Nimbus Sans'; do
		boxes "run=document.documentElement.setAttribute('font-family', '$font')"
	done
	scenarios
	plot -q --title 'Landed cost' --unit EUR --width 280
	boxes
	curve
	plot -q --kind lines --unit EUR --width 240 --height 300
	boxes
	{ echo name,amount && for i in {1..300}; do echo "WWW mill $i,$((i % 17 - 3))"; done; } >table.csv
	plot -q --kind pareto
	boxes
	boxes "run=document.documentElement.setAttribute('font-family', 'DejaVu Serif')"
}

@test "Chromium: light or dark as the reader has it; nothing runs, nothing is fetched" {
	needs chromium chromium
	hostile
	plot -q --columns "$(hostile_columns)" --title "</title><script>alert('x')</script>"
	try python3 "$TESTS/browser.py" chart.svg size=720x450 shot=light.png dark shot=dark.png requests \
		'run=document.querySelectorAll("script").length' 'run=document.querySelector("title").textContent'
	exits 0
	out_is <<-END
		file://$PWD/chart.svg
		0
		</title><script>alert('x')</script>
	END
	[ "$(python3 "$TESTS/pixels.py" light.png 1,1)" = '#ffffff' ]
	[ "$(python3 "$TESTS/pixels.py" dark.png 1,1)" = '#161819' ]
}

# ---- colors

@test "the colors are those of Okabe and Ito, and can be told apart" {
	# Okabe and Ito, "Color Universal Design" (2008), figure 16: red, green and blue of the eight.
	{
		printf 'name'
		printf ',c%d' {1..8}
		printf '\nx'
		printf ',%d' 1 1 1 1 1 1 1 1
		echo
	} >table.csv
	for kind in bars lines; do
		plot -q --kind $kind --columns c1,c2,c3,c4,c5,c6,c7,c8
		sound
		python3 - chart.svg <<-'PYTHON'
			import re, sys
			due = [(0, 0, 0), (230, 159, 0), (86, 180, 233), (0, 158, 115), (240, 228, 66), (0, 114, 178), (213, 94, 0), (204, 121, 167)]
			text = open(sys.argv[1], encoding="utf-8").read()
			here = {color for _, color in re.findall(r'class="(fill|stroke)\d" (?:fill|stroke)="(#\w+)"', text)}
			full = {"#" + "".join(2 * c for c in color[1:]) if len(color) == 4 else color for color in here}
			assert full == {"#%02x%02x%02x" % color for color in due}, full
		PYTHON
	done
	sed 's/$/,1/; 1s/1$/c9/' table.csv >more.csv && mv more.csv table.csv
	plot --columns c1,c2,c3,c4,c5,c6,c7,c8,c9
	refused '--columns: more than 8 cannot be told apart'
}

# ---- forms of files, usage

@test "delimiters, encodings, line ends" {
	table <<<$'name;amount\na,b;1'
	plot
	sound
	tip 'a,b, amount: 1'
	plot -D ';'
	tip 'a,b, amount: 1'
	printf 'name\tamount\r\ngr\374n\t1\r\n' >table.csv
	plot --encoding ISO-8859-1 -D tab
	sound
	tip 'grün, amount: 1'
	: >table.csv
	plot
	refused '<stdin>: no header line'
	table <<<$'a,b\n1,2,3\n4,"'
	plot
	refused '<stdin>:2: 3 fields'
}

@test "the same bytes in any locale" {
	scenarios
	plot -q
	cp chart.svg first.svg
	for locale in C POSIX de_DE.UTF-8 tr_TR.UTF-8; do
		LC_ALL=$locale LANG=$locale try lot-plot -q <table.csv
		cmp "$OUT" first.svg
	done
}

@test "usage: what cannot be" {
	scenarios
	plot --kind line
	refused '--kind: there is no chart "line", but "lines"'
	plot --kind cake99999
	refused 'bars, lines or pareto'
	plot --columns goods,nothing
	refused '<stdin>:1: no column "nothing"'
	plot --label nothing
	refused '<stdin>:1: no column "nothing"'
	plot --columns goods,GOODS
	refused '--columns: "GOODS" is named twice'
	plot --columns goods,
	refused '--columns: a name is empty'
	plot --kind pareto --columns goods,tax
	refused '--kind pareto is of one column'
	plot --most 3
	refused '--most is for --kind pareto'
	for value in 0 -1 x 1.5 10000001; do
		plot --kind pareto --most "$value"
		refused "--most \"$value\" is no whole number from 1 to 1000000"
	done
	for value in 239 10001 ''; do
		plot --width "$value"
		refused "--width \"$value\" is no whole number from 240 to 10000"
	done
	plot --height 199
	refused '--height "199" is no whole number from 200 to 10000'
	plot --locale xx
	refused '--locale: "xx" is none known here'
	plot --kind bars --kind bars
	refused 'option --kind is given twice'
	plot --nonsense
	refused 'unknown or ambiguous option --nonsense'
	plot table.csv
	refused 'the table comes from stdin, there are no operands'
}

@test "a failing write is told, a closed pipe is quiet" {
	scenarios
	[ -e /dev/full ] || skip "no /dev/full here"
	try sh -c 'lot-plot <table.csv >/dev/full'
	exits 2
	err_has 'lot-plot: <stdout>: No space left'
	try bash -c '{ sleep 0.2; lot-plot -q <table.csv; echo "$?" >kept; } | true'
	[ "$(cat kept)" -eq 141 ]
}

@test "help and version" {
	try lot-plot --help
	exits 0
	out_has 'usage: lot-plot'
	try lot-plot --version
	exits 0
	out_has 'lot-plot '
}

@test "the example of the manual page" {
	sed -n '/^\$ cat curve.csv/,/^\$ lot-plot/p' "$TESTS/../doc/lot-plot.1" | sed '1d;$d' >table.csv
	plot --kind lines
	sound
	err_is < <(sed -n '/^\$ lot-plot --kind lines/,/^\.Ed/p' "$TESTS/../doc/lot-plot.1" | sed '1d;$d')
}
