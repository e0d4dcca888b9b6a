#!/usr/bin/env bats
# examples/tidemill/report.sh, in a copy of the folder: one page from a run. A small limit on the search keeps it
# short. What the page must say is reckoned from the run's files by check_report.py, on its own.

load lib

EFFORT=500000

# The run and its page, once for all tests.
setup_file() {
	mkdir "$BATS_FILE_TMPDIR/mill"
	cd "$BATS_FILE_TMPDIR/mill" || return
	cp "$TESTS"/../examples/tidemill/{*.csv,Makefile,report.sh} .
	make -s EFFORT=$EFFORT report
}

setup() {
	begin
	# Times are kept, or all would be new.
	cp -a "$BATS_FILE_TMPDIR/mill/." .
	unset MAKEFLAGS MFLAGS MAKELEVEL
}

page() {
	try ./report.sh out
	exits 0
	out_is_empty
	err_is_empty
}

# The page is sound, and has what stands in the run's files.
sound() {
	python3 "$TESTS/check_report.py" out swaps.csv >headings || return
	local chart
	for chart in out/report/*.svg; do
		python3 "$TESTS/check_chart.py" "$chart" >/dev/null || return
	done
}

@test "the page has each section with the figures of the run, in HTML and Markdown alike" {
	command -v cmark-gfm >/dev/null || needs cmark-gfm cmark-gfm
	sound
	head -n 6 headings | diff - <(printf '%s\n' 'The tide mill: what it costs' Scenarios 'Fewer parcels' Swaps 'Watch list' Orders)
	tail -n +7 headings | diff - <(sed -e 1d -e '/^TOTAL/d' -e 's/,.*//' out/totals.csv)
	(cd out/report && ls) | diff - <(printf '%s\n' cost.svg curve.svg orders.svg report.html report.md scenarios.svg swaps.svg)
	local words
	for words in 'The design has 64 lots and 902 pieces.' "the seller's invoice and local rules decide" \
		'All of it is invented: the model, the market, every name'; do
		grep -qF "$words" out/report/report.md
	done
	# lot-show's script and no other; styles come with the charts.
	grep -q "default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'sha256-[^']*';" out/report/report.html
	[ "$(grep -c '^<style>$' out/report/report.html)" -eq 12 ]
	grep -qF "for $(tail -n 1 out/totals.csv | sed 's/.*,//') EUR landed" out/report/report.md
}

@test "the texts say what the run found: proofs, savings, what was searched longer" {
	sed -i -e 's/^proved,.*/proved,no/' -e 's/^gap_percent,.*/gap_percent,1.250/' -e 's/^cost,.*/cost,50/' out/report-*.csv
	cat >out/gain.csv <<-'END'
		scenario,rule,applied,cost,saving,bound,proved
		as-is,,,60.00,0.00,60.00,yes
		alone,half,,60.00,0.005,1,yes
		alone,minus,,60.00,-0.005,1,yes
		alone,nothing,,60.00,-0.0049,1,yes
		alone,most,,60.00,7,1,yes
		alone,unmet,,60.00,,1,yes
		alone,same,,60.00,0.005,1,yes
		all,,,60.00,2.125,1,yes
		without,half,,60.00,2.12,1,yes
		without,minus,,60.00,2.13,1,yes
		without,nothing,,60.00,2.125,1,yes
		without,most,,60.00,,1,yes
		without,unmet,,60.00,0.3,1,no
		without,same,,60.00,-0.1,1,no
		best,,"most,half",52.345,7.655,51.006,no
	END
	page
	sound
	try sed -n -e 's/^| \(half\|minus\|nothing\|most\|unmet\|same\) *|/\1 |/p' out/report/report.md
	tr -s ' ' <"$OUT" | diff - <(
		cat <<-'END'
			most | 7.00 | | yes | |
			half | 0.01 | 0.01 | yes | |
			same | 0.01 | 2.23 | no | |
			nothing | 0.00 | 0.00 | no | |
			minus | -0.01 | -0.01 | no | |
			unmet | | 1.83 | no | |
		END
	)
	try cat out/report/report.md
	out_has 'No plan for it costs less by more than 1.250 %.'
	out_has 'at most 1.250 % above the least'
	out_has 'a cost of 60.00. The best of all subsets comes to 52.35, 7.66 less; no subset can cost less than 51.00.'
	out_has '2 of the 14 plans behind this are not proved least'
	# shellcheck disable=SC2016 # marks of Markdown
	out_has 'The scenario `swaps`, which has all the rules, was searched longer and comes to a cost of 50.00.'
	sed -i -e 's/,no$/,yes/' out/gain.csv
	sed -i 's/^proved,.*/proved,yes/' out/report-*.csv
	page
	try cat out/report/report.md
	out_has 'No plan for it costs less.'
	out_has '52.35, 7.66 less, the least of all subsets.'
	run ! grep -q 'not proved' "$OUT"
}

@test "no lot to watch is said" {
	sed -i -e 's/,scarce$/,/' -e 's/,price$/,/' -e 's/,both$/,/' out/priced.csv
	page
	sound
	try cat out/report/report.md
	out_has 'No lot is dear or scarce'
}

@test "names of strangers stand in the page as they are, and do nothing" {
	local name='<script>alert(1)</script> "a" |*b*| [c](http://d.example) & </body>'
	python3 - "$name" <<-'PYTHON'
		import csv, sys
		def rename(path, column, old):
		    rows = list(csv.reader(open(path, newline="")))
		    at = rows[0].index(column)
		    changed = 0
		    for row in rows[1:]:
		        if row[at] == old:
		            row[at], changed = sys.argv[1], changed + 1
		    assert changed
		    csv.writer(open(path, "w", newline=""), lineterminator="\n").writerows(rows)
		seller = [row["seller"] for row in csv.DictReader(open("out/totals.csv"))][1]
		rename("out/totals.csv", "seller", seller)
		rename("out/orders.csv", "seller", seller)
		rename("out/gain.csv", "rule", "slate-roof")
		rename("swaps.csv", "rule", "slate-roof")
		rename("swaps.csv", "note", "foam on the water")
		rename("out/priced.csv", "part", "B-202")
	PYTHON
	page
	sound
	grep -qxF "$name" headings
	run ! grep -q '<script>alert' out/report/report.html out/report/*.svg
}

@test "rules as a German spreadsheet saves them" {
	page
	cp -r out/report before
	sed -i -e 's/;/,/g' -e 's/,/;/g' swaps.csv
	{
		printf '\357\273\277'
		sed 's/$/\r/' swaps.csv
	} >new.csv
	mv new.csv swaps.csv
	page
	diff -r before out/report
}

@test "the same bytes again, elsewhere, by any awk and in any language" {
	cp -r out/report before
	mkdir -p tools
	local awk
	for awk in mawk gawk "busybox awk" original-awk; do
		command -v "${awk%% *}" >/dev/null || continue
		printf '#!/bin/sh\nexec %s "$@"\n' "$awk" >tools/awk
		chmod +x tools/awk
		rm -r out/report
		try env PATH="$PWD/tools:$PATH" LC_ALL=de_DE.UTF-8 ./report.sh out
		exits 0
		err_is_empty
		diff -r before out/report
	done
	mv out elsewhere
	try env -C / "$PWD/report.sh" "$PWD/elsewhere"
	exits 0
	diff -r before elsewhere/report
	run ! grep -q "$PWD" elsewhere/report/*
}

@test "what is missing is told, and the page that was there stays" {
	cp -r out/report before
	mv out/gain.csv kept
	try ./report.sh out
	refused 'out/gain.csv: "make report" makes it'
	# a table that is not what it should be
	sed 's/^alone,slate-roof,\(.*\)$/alone,slate-roof,"\1/' kept >out/gain.csv
	try ./report.sh out
	[ "$status" -ne 0 ]
	sed 's/,saving,/,spared,/' kept >out/gain.csv
	try ./report.sh out
	exits 2
	err_has 'report.sh: no column saving'
	sed 's/^\(as-is,.*\),0[.]00,\([^,]*,[^,]*,[^,]*\)$/\1,1e5,\2/; s/^\(alone,spare-pins,.*\),[-0-9.]*,\([^,]*,[^,]*,[^,]*\)$/\1,1e5,\2/' kept >out/gain.csv
	try ./report.sh out
	exits 2
	err_has 'report.sh: what amount is 1e5?'
	diff -r before out/report
	[ ! -e out/report.new ]
	try ./report.sh nowhere
	exits 2
	err_has 'usage: report.sh'
	try ./report.sh out more
	refused 'usage: report.sh'
}

# The tables that make would make for the report, and the page.
would_make() {
	make -n EFFORT=$EFFORT report | sed -n -e 's|.*mv -f out/.*\.new out/\([^;]*\)$|\1|p' -e 's|^\./report\.sh out$|page|p' | LC_ALL=C sort
}

@test "make report makes again what a changed file changes, and the page" {
	local file due
	try would_make
	out_is </dev/null
	while read -r file due; do
		cp -a "$BATS_FILE_TMPDIR/mill/." .
		touch "$file"
		try would_make
		tr ' ' '\n' <<<"$due" | LC_ALL=C sort | out_is
	done <<-'END'
		offers-market.csv orders-as-is.csv orders-swaps.csv orders.csv totals-as-is.csv totals-swaps.csv totals.csv compare.csv curve-swaps.csv curve.csv gain.csv prices.csv priced.csv page
		charges.csv orders-as-is.csv orders-swaps.csv orders.csv totals-as-is.csv totals-swaps.csv totals.csv compare.csv curve-swaps.csv curve.csv gain.csv page
		stock.csv need.csv orders.csv totals.csv compare.csv curve.csv priced.csv page
		out/gain.csv page
		report.sh page
	END
}

@test "a changed price changes the page, and what is made again is as if made anew" {
	sed -i '2s/,0\.155,/,0.001,/' offers-market.csv
	cp -r out/report before
	make -s EFFORT=$EFFORT report
	sound
	run ! cmp -s before/report.html out/report/report.html
	run ! cmp -s before/report.md out/report/report.md
	make -s EFFORT=$EFFORT OUT=anew report
	diff -r -x '*.log' out anew
}

@test "Chromium: the page is as wide as the window, on a phone too, sorts, and asks for nothing" {
	needs chromium chromium
	local width
	for width in 360 1100; do
		try python3 "$TESTS/browser.py" out/report/report.html "size=${width}x740" dark \
			'run=document.documentElement.scrollWidth' click=6:part sorted requests
		exits 0
		[ "$(head -n 1 "$OUT")" = $width ]
		out_has ascending
		[ "$(tail -n 1 "$OUT")" = "file://$PWD/out/report/report.html" ]
	done
	# Charts fit the window, each in the one form that is for it; charts and text are dark together.
	try python3 "$TESTS/browser.py" out/report/report.html size=360x740 dark \
		'run=[...document.querySelectorAll("svg")].filter(one => one.getBoundingClientRect().width > 0).map(one =>
			one.getBoundingClientRect().right <= 360).join()' \
		'run=getComputedStyle(document.body).backgroundColor === getComputedStyle(document.querySelector(".paper")).fill'
	exits 0
	out_is <<-'END'
		true,true,true,true,true
		True
	END
}
