#!/usr/bin/env bats
# lot-gain: what each swap rule is worth, alone and with the others, and the best subset.

# shellcheck disable=SC2016 # $1 is for the rules, not for the shell
load lib
load drawn

# gain [OPTION...]: the files here through lot-gain.
gain() {
	try lot-gain -q -r swaps.csv -o offers.csv -s sellers.csv -c charges.csv "$@" <parts.csv
}

# columns A,B...: these columns of the table, no field of which has a comma but in quotes.
columns() {
	python3 - "$1" "$OUT" <<-'END'
		import csv, sys
		names = sys.argv[1].split(",")
		rows = list(csv.DictReader(open(sys.argv[2], newline="")))
		for row in [dict(zip(names, names))] + rows:
		    print("|".join(row[name] for name in names))
	END
}

# The example of lot-gain(1), worked by hand. As it stands all comes from the Counter:
# 40 x 0.10 + 4 x 0.60 + 6 x 0.20 + 2 = 9.60. The Attic ships for 1 and has the frame in brown at 0.06 and
# 0.005 of penalty, 60 of it, and the plain part at 0.10.
example() {
	cat >parts.csv <<-'END'
		part,color,qty,group
		P-1,red,40,frame
		P-2+sun,white,4,front
		P-9,blue,6,stand
	END
	cat >swaps.csv <<-'END'
		rule,do,part,color,group,to_part,to_color,qty,penalty
		plain,use,(P-2)\+sun,,,$1,,,
		no-stand,drop,,,stand,,,,
		brown,may,P-1,red,frame,,brown,,0.005
		spare,spare,P-1,,,,,10%,
		roof,use,W-1,,,W-2,,,
	END
	cat >offers.csv <<-'END'
		seller,part,color,qty,price
		Counter,P-1,red,,0.10
		Counter,P-2+sun,white,,0.60
		Counter,P-2,white,,0.15
		Counter,P-9,blue,,0.20
		Attic,P-1,brown,60,0.06
		Attic,P-2,white,10,0.10
	END
	printf '%s\n' seller,route,currency Counter,direct,EUR Attic,market,EUR >sellers.csv
	printf '%s\n' seller,charge,amount Counter,shipping,2 Attic,shipping,1 >charges.csv
}

@test "as it stands, each rule alone, all, all but one, the best: worked by hand" {
	example
	gain
	exits 0
	# alone: plain 4 + 4 x 0.15 + 1.20 + 2; no-stand 4 + 2.40 + 2; brown 2.40 + 1.20 + 2 at the Counter and
	# 40 x 0.06 + 1 + 0.20 of penalty; spare 44 x 0.10 + 2.40 + 1.20 + 2
	# all: 44 x 0.06 + 4 x 0.10 + 1 + 0.22; best: without the spare pieces
	# without plain: 2.40 + 2 and 44 x 0.06 + 1 + 0.22; no-stand: 1.20 + 2 and all's 4.26; brown: 4.40 + 0.60 + 2
	out_is <<-'END'
		scenario,rule,applied,not_applied,orders,lots,pieces,unmet,landed,penalties,order_cost,worth,cost,saving,bound,gap_percent,proved
		as-is,,,,1,3,50,0,9.60,0.00,0.00,0.00,9.60,0.00,9.60,0.000,yes
		alone,plain,plain,,1,3,50,0,7.80,0.00,0.00,0.00,7.80,1.80,7.80,0.000,yes
		alone,no-stand,no-stand,,1,2,44,0,8.40,0.00,0.00,0.00,8.40,1.20,8.40,0.000,yes
		alone,brown,brown,,2,3,50,0,9.00,0.20,0.00,0.00,9.20,0.40,9.20,0.000,yes
		alone,spare,spare,,1,3,54,0,10.00,0.00,0.00,0.00,10.00,-0.40,10.00,0.000,yes
		alone,roof,,roof,1,3,50,0,9.60,0.00,0.00,0.00,9.60,0.00,9.60,0.000,yes
		all,,"plain,no-stand,brown,spare",roof,1,2,48,0,4.04,0.22,0.00,0.00,4.26,5.34,4.26,0.000,yes
		without,plain,"no-stand,brown,spare",roof,2,2,48,0,8.04,0.22,0.00,0.00,8.26,1.34,8.26,0.000,yes
		without,no-stand,"plain,brown,spare",roof,2,3,54,0,7.24,0.22,0.00,0.00,7.46,2.14,7.46,0.000,yes
		without,brown,"plain,no-stand,spare",roof,1,2,48,0,7.00,0.00,0.00,0.00,7.00,2.60,7.00,0.000,yes
		without,spare,"plain,no-stand,brown",roof,1,2,44,0,3.80,0.20,0.00,0.00,4.00,5.60,4.00,0.000,yes
		without,roof,"plain,no-stand,brown,spare",,1,2,48,0,4.04,0.22,0.00,0.00,4.26,5.34,4.26,0.000,yes
		best,,"plain,no-stand,brown",,1,2,44,0,3.80,0.20,0.00,0.00,4.00,5.60,4.00,0.000,yes
	END
	err_is <<-'END'
		lot-gain: swaps.csv:6: rule "roof" is not applied: a step of it matches no row
	END
}

@test "what is told: the summary, rates and rules that match nothing" {
	example
	try lot-gain -r swaps.csv -o offers.csv -s sellers.csv -c charges.csv <parts.csv
	exits 0
	err_is <<-'END'
		lot-gain: swaps.csv:6: rule "roof" is not applied: a step of it matches no row
		lot-gain: 5 rules, 11 lists searched: best with "plain,no-stand,brown": 4.00 EUR, 5.60 EUR less than as it stands, proved least
	END
}

@test "the example of the manual page is what the programs print" {
	local page=$TESTS/../doc/lot-gain.1
	example
	gain
	for file in parts swaps offers sellers charges; do
		sed -n "/^\\$ cat $file.csv\$/,/^\\$ /p" "$page" | sed -e '/^\$ /d' -e 's/\\e/\\/g' >shown
		diff -u shown $file.csv
	done
	columns scenario,rule,cost,saving | tr '|' , >table
	sed -n '/^scenario,rule,cost,saving$/,/^\.Ed$/p' "$page" | grep -v '^\.Ed' | diff -u - table
}

@test "--only and --except: the other rules are as if they were not there" {
	example
	gain --only plain,brown
	exits 0
	err_is_empty
	columns scenario,rule,applied,cost >table
	# plain and brown without no-stand: 0.40 + 2.40 + 0.20 + 1 at the Attic, the stand 3.20 at the Counter
	diff -u - table <<-'END'
		scenario|rule|applied|cost
		as-is|||9.60
		alone|plain|plain|7.80
		alone|brown|brown|9.20
		all||plain,brown|7.20
		without|plain|brown|9.20
		without|brown|plain|7.80
		best||plain,brown|7.20
	END
	cp "$OUT" only
	gain --except no-stand,spare,roof
	cmp "$OUT" only
	gain --only plain,brown --except brown
	columns scenario,rule,cost >table
	diff -u - table <<-'END'
		scenario|rule|cost
		as-is||9.60
		alone|plain|7.80
		all||7.80
		without|plain|9.60
		best||7.80
	END
	gain --only plane
	refused 'lot-gain: swaps.csv: no rule "plane", which --only names: did you mean "plain"?'
	gain --except bogus-name
	refused 'lot-gain: swaps.csv: no rule "bogus-name", which --except names: name rules of the file'
}

@test "no rules: three rows of the list as it stands" {
	example
	printf 'rule,do,part\n' >swaps.csv
	gain
	exits 0
	columns scenario,applied,cost,saving,proved >table
	diff -u - table <<-'END'
		scenario|applied|cost|saving|proved
		as-is||9.60|0.00|yes
		all||9.60|0.00|yes
		best||9.60|0.00|yes
	END
}

@test "an empty list: nothing to buy, rules match nothing" {
	example
	printf 'part,color,qty\n' >parts.csv
	gain --only plain
	exits 0
	columns scenario,rule,not_applied,orders,cost,proved >table
	diff -u - table <<-'END'
		scenario|rule|not_applied|orders|cost|proved
		as-is|||0|0.00|yes
		alone|plain|plain|0|0.00|yes
		all||plain|0|0.00|yes
		without|plain||0|0.00|yes
		best|||0|0.00|yes
	END
}

@test "a rule that takes what another one makes has no effect alone, and is not told as one without any" {
	example
	cat >swaps.csv <<-'END'
		rule,do,part,to_part,to_color
		plain,use,(P-2)\+sun,$1,
		grey,use,P-2,,grey
	END
	printf 'Counter,P-2,grey,,0.05\n' >>offers.csv
	gain
	exits 0
	err_is <<-'END'
		lot-gain: swaps.csv:3: rule "grey" is not applied alone: a step of it matches no row
	END
	# grey: 4 x 0.05 in place of 4 x 0.15
	columns scenario,rule,applied,not_applied,cost >table
	diff -u - table <<-'END'
		scenario|rule|applied|not_applied|cost
		as-is||||9.60
		alone|plain|plain||7.80
		alone|grey||grey|9.60
		all||plain,grey||7.40
		without|plain||grey|9.60
		without|grey|plain||7.80
		best||plain,grey||7.40
	END
}

@test "a rule that takes away what another one matches" {
	example
	cat >swaps.csv <<-'END'
		rule,do,part,to_part,must
		gone,drop,P-9,,
		other,use,P-9,P-1,yes
	END
	gain
	exits 1
	err_is <<-'END'
		lot-gain: swaps.csv:3: rule "other" is not applied with all the others, but must be: a step of it matches no row
	END
	# P-1 is to be had in red and brown, not in blue: that leaves 6 pieces unmet
	columns scenario,rule,applied,unmet,cost,saving >table
	diff -u - table <<-'END'
		scenario|rule|applied|unmet|cost|saving
		as-is|||0|9.60|0.00
		alone|gone|gone|0|8.40|1.20
		alone|other|other|6|8.40|
		all||gone|0|8.40|1.20
		without|gone|other|6|8.40|
		without|other|gone|0|8.40|1.20
		best||gone|0|8.40|1.20
	END
}

@test "what meets more is best, whatever it costs; no saving is told where unmet pieces differ" {
	example
	sed -i '/P-9,blue/d' offers.csv
	printf 'Counter,P-8,blue,,5.00\n' >>offers.csv
	cat >swaps.csv <<-'END'
		rule,do,part,to_part
		other,use,P-9,P-8
		plain,use,(P-2)\+sun,$1
	END
	gain
	exits 0
	columns scenario,rule,unmet,cost,saving,proved >table
	# 4 + 2.40 + 2 = 8.40 without the stand, and 6 x 5.00 with it; plain 1.80 less
	diff -u - table <<-'END'
		scenario|rule|unmet|cost|saving|proved
		as-is||6|8.40|0.00|yes
		alone|other|0|38.40||yes
		alone|plain|6|6.60|1.80|yes
		all||0|36.60||yes
		without|other|6|6.60|1.80|yes
		without|plain|0|38.40||yes
		best||0|36.60||yes
	END
	sed -i '/P-8,blue/d' offers.csv
	gain
	exits 1
	err_has 'lot-gain: 6 pieces stay unmet whatever rules are applied'
	columns scenario,unmet,cost,proved | tail -n 1 >table
	diff -u - table <<<'best|6|6.60|yes'
}

@test "an option that nothing uses is not in the best subset; of equal subsets the smaller, then the earlier" {
	example
	cat >swaps.csv <<-'END'
		rule,do,part,color,to_part,to_color,penalty
		dear,may,P-1,red,,brown,1
		plain-2,use,P-2\+sun,,P-2,,
		plain,use,(P-2)\+sun,,$1,,
	END
	gain
	exits 0
	columns scenario,applied,cost | tail -n 1 >table
	diff -u - table <<<'best|plain-2|7.80'
}

@test "the options of a purchase: stock, route, without, order cost, limit, weights, rates, kept lines" {
	example
	printf 'part,color,qty\nP-9,blue,6\n' >stock.csv
	gain --only no-stand -k stock.csv
	# the stand is there already: dropping it saves nothing
	columns scenario,pieces,cost,saving >table
	diff -u - table <<-'END'
		scenario|pieces|cost|saving
		as-is|50|8.40|0.00
		alone|44|8.40|0.00
		all|44|8.40|0.00
		without|50|8.40|0.00
		best|50|8.40|0.00
	END
	gain --only brown --route direct
	columns scenario,applied,cost | tail -n 1 >table
	diff -u - table <<<'best||9.60'
	gain --only brown --without Attic
	columns scenario,applied,cost | tail -n 1 >table
	diff -u - table <<<'best||9.60'
	gain --only brown --order-cost 0.50
	# 9.20 and two orders: 10.20; 9.60 and one: 10.10
	columns scenario,orders,landed,penalties,order_cost,cost,saving >table
	diff -u - table <<-'END'
		scenario|orders|landed|penalties|order_cost|cost|saving
		as-is|1|9.60|0.00|0.50|10.10|0.00
		alone|1|9.60|0.00|0.50|10.10|0.00
		all|1|9.60|0.00|0.50|10.10|0.00
		without|1|9.60|0.00|0.50|10.10|0.00
		best|1|9.60|0.00|0.50|10.10|0.00
	END
	gain --only brown --max-orders 1
	columns scenario,orders,cost | tail -n 1 >table
	diff -u - table <<<'best|1|9.60'
	printf 'from,to,rate\nEUR,USD,1.25\n' >rates.csv
	gain --only plain -x rates.csv -C USD
	columns scenario,cost,saving | tail -n 1 >table
	diff -u - table <<<'best|9.75|2.25'
	printf 'part,grams\nP-1,1\nP-2,1\nP-2+sun,1\nP-9,10\n' >weights.csv
	printf '%s\n' seller,charge,basis,from,amount Counter,shipping,weight,0,2 Counter,shipping,weight,100,5 \
		Attic,shipping,,,1 >charges.csv
	gain --only no-stand -w weights.csv
	# 40 + 4 + 60 grams: shipping for 5; without the stand 44 grams and 2
	columns scenario,cost,saving | tail -n 1 >table
	diff -u - table <<<'best|8.40|4.20'
	printf '%s\n' seller,part,color,qty,price,state Counter,P-9,blue,6,0.20,paid >keep.csv
	gain --only no-stand -w weights.csv --keep keep.csv
	columns scenario,pieces,cost,saving | tail -n 1 >table
	diff -u - table <<<'best|44|8.40|0.00'
	gain --only no-stand -w weights.csv --keep keep.csv --stay 0.10
	exits 0
	printf '%s\n' seller,part,color,qty,price Attic,P-1,brown,6,0.20 >was.csv
	gain --only no-stand -w weights.csv --was was.csv --stay 0.10
	# the Attic is dropped, the Counter new: 0.20
	columns scenario,landed,order_cost,cost | tail -n 1 >table
	diff -u - table <<<'best|8.40|0.20|8.60'
}

@test "--jobs: the same bytes whatever it is" {
	example
	gain --jobs 1
	cp "$OUT" one
	for jobs in 2 3 16; do
		gain --jobs $jobs
		exits 0
		cmp "$OUT" one
	done
	gain --jobs 0
	refused '--jobs takes a whole number from 1 on'
}

# A process that cannot join its stderr to the pipe has no words for it: dup2 is made to fail.
@test "a process that ends without a word, or is killed, is told of" {
	example
	printf 'int dup2(int a, int b) { (void)a; (void)b; return -1; }\n' >no-dup2.c
	"${CC:-gcc}" -shared -fPIC -o no-dup2.so no-dup2.c
	ASAN_OPTIONS=verify_asan_link_order=0${ASAN_OPTIONS:+:$ASAN_OPTIONS} LD_PRELOAD=$PWD/no-dup2.so gain
	refused 'lot-gain: a process ended without its answer'
	err_lines 1
	printf '#include <signal.h>\nint dup2(int a, int b) { (void)a; (void)b; return raise(SIGKILL); }\n' >no-dup2.c
	"${CC:-gcc}" -shared -fPIC -o no-dup2.so no-dup2.c
	ASAN_OPTIONS=verify_asan_link_order=0${ASAN_OPTIONS:+:$ASAN_OPTIONS} LD_PRELOAD=$PWD/no-dup2.so gain
	refused 'lot-gain: a process was ended: Killed'
	err_lines 1
}

# Rows of side files in another order; the rules stay as they are.
@test "side files shuffled: the same bytes" {
	example
	gain
	cp "$OUT" one
	for seed in 1 2 3; do
		shuffle offers.csv $seed
		shuffle sellers.csv $seed
		shuffle charges.csv $seed
		gain
		cmp "$OUT" one
	done
}

@test "drawn rules on drawn lists: every row and the best of all subsets, against lot-swap and lot-split" {
	try python3 "$TESTS/oracle/check_gain.py" --bin "$BIN" tiny 1 40
	exits 0
	out_has '40 draws, '
	try python3 "$TESTS/oracle/check_gain.py" --bin "$BIN" small 1 12
	exits 0
	out_has '12 draws, '
}

@test "twelve rules on one list: the best of 4096 subsets is proved" {
	python3 "$TESTS/oracle/check_gain.py" --write-twelve .
	gain
	exits 0
	# 24 x 0.60 + 1 as it stands; every rule is worth what it is worth alone, and six save 0.10 each
	columns scenario,applied,cost,proved | tail -n 1 >table
	diff -u - table <<<'best|r1,r3,r5,r7,r9,r11|14.80|yes'
}

# large: a market in which no list is proved.
large() {
	drawn market 3 60 60
	cp need.csv parts.csv
	python3 - <<-'END'
		import csv
		rows = list(csv.DictReader(open("parts.csv", newline="")))
		parts = list(dict.fromkeys(row["part"] for row in rows))
		with open("swaps.csv", "w", newline="") as handle:
		    write = csv.writer(handle, lineterminator="\n").writerow
		    write(["rule", "do", "part", "to_color", "qty", "penalty"])
		    write(["any", "may", parts[0], "any", "", "0.01"])
		    write(["none", "drop", parts[1], "", "", ""])
		    write(["more", "spare", parts[2], "", "10%", ""])
	END
}

large_gain() {
	# shellcheck disable=SC2046
	try lot-gain -r swaps.csv $(cat args) "$@" <parts.csv
}

# A table that has its rows, with plans that are not proved.
table_so_far() {
	exits 1
	columns scenario >scenarios
	diff -u - scenarios <<-'END'
		scenario
		as-is
		alone
		alone
		alone
		all
		without
		without
		without
		best
	END
	err_has 'not proved least: their rows say with what gap'
	err_has 'the best subset was found with a gap of '
}

@test "--effort: cut short is told, exit 1; the same bytes with --jobs 1 and 3" {
	large
	large_gain --effort 4000000 --jobs 1
	table_so_far
	cp "$OUT" one
	large_gain --effort 4000000 --jobs 3
	cmp "$OUT" one
	large_gain --effort none
	refused '--effort takes a whole number from 1 on'
}

@test "on a terminal one line tells how far it is, and SIGINT ends all searches with the best so far" {
	large
	# shellcheck disable=SC2046
	try python3 "$TESTS/terminal.py" --interrupt ' bound ' lot-gain -r swaps.csv $(cat args) \
		--effort 10000000000000000000 --jobs 2 <parts.csv
	table_so_far
	python3 - "$ERR" <<-'END'
		import re, sys
		text = open(sys.argv[1], "rb").read().decode()
		shown, mark, rest = text.rpartition("\r\x1b[K")
		lines = shown.split("\r")
		assert mark and lines[0] == "" and len(lines) > 1, text
		form = r"[1-9][0-9]* s, as it stands(, best [0-9]+\.[0-9]{2})?(, bound [0-9]+\.[0-9]{2})?\x1b\[K"
		assert re.fullmatch(form, lines[1]), lines[1]
		assert "\n" not in shown, shown
		assert "\x1b" not in rest, rest
	END
}

@test "no line with --quiet, none where stderr is no terminal" {
	large
	# shellcheck disable=SC2046
	try python3 "$TESTS/terminal.py" lot-gain -q -r swaps.csv $(cat args) --effort 1000000 <parts.csv
	[ "$(grep -c $'\033' "$ERR")" -eq 0 ]
	large_gain --effort 1000000
	[ "$(grep -c $'\033' "$ERR")" -eq 0 ]
}

@test "rules that do not go together are refused with the rule's line" {
	example
	cat >swaps.csv <<-'END'
		rule,do,part,color,to_part,to_color,qty
		brown,may,P-1,red,,brown,
		two,use,P-1,red,P-3,,2
	END
	gain
	refused 'lot-gain: swaps.csv:3: rule "two" multiplies one row of lot'
}

@test "what is wrong with the market is told once, though many lists are searched" {
	example
	printf '%s\n' seller,charge,basis,amount '*,shipping,weight,1' >charges.csv
	gain
	refused 'charges by weight, and nothing says what a piece of "P-1" weighs'
	# as it stands already: one line an offer
	[ "$(grep -c 'what a piece of "P-9" weighs' "$ERR")" -eq 1 ]
	# only a rule needs the offer that has no weight
	printf 'part,grams\nP-1,1\nP-2+sun,1\nP-9,1\n' >weights.csv
	gain -w weights.csv
	refused 'offers.csv:'
	err_has 'what a piece of "P-2" weighs'
	[ "$(grep -c 'Attic.*what a piece of "P-2" weighs' "$ERR")" -eq 1 ]
}

@test "hostile names: rules with quotes, commas, control bytes and spreadsheet formulas" {
	example
	cat >swaps.csv <<-'END'
		rule,do,part,to_part
		"=1+1, ""x""",use,(P-2)\+sun,$1
	END
	printf '"a\033[1m",drop,P-77,\n' >>swaps.csv
	gain
	exits 0
	err_is <<-'END'
		lot-gain: swaps.csv:3: rule "a\x1B[1m" is not applied: a step of it matches no row
	END
	out_has '"=1+1, ""x"""'
}

@test "delimiters, encodings and line ends of every file" {
	example
	gain
	cp "$OUT" one
	for file in parts swaps offers sellers charges; do
		sed -i -e 's/,/;/g' -e 's/$/\r/' $file.csv
	done
	gain
	exits 0
	cmp "$OUT" one
	iconv -f UTF-8 -t ISO-8859-1 parts.csv >latin.csv
	mv latin.csv parts.csv
	gain -D ';' --encoding ISO-8859-1
	exits 0
	cmp "$OUT" one
}

@test "usage: options, files and outputs that cannot be" {
	example
	try lot-gain -o offers.csv -s sellers.csv <parts.csv
	refused 'no swap rules: -r FILE'
	try lot-gain -r swaps.csv -s sellers.csv <parts.csv
	refused 'no offers: -o FILE'
	try lot-gain -r swaps.csv -o offers.csv <parts.csv
	refused 'no sellers: -s FILE'
	gain -r swaps.csv
	refused 'option --rules is given twice'
	gain --jobs 2 --jobs 2
	refused 'option --jobs is given twice'
	gain --stay 1
	refused '--stay counts against a plan of before'
	gain --carry code
	refused '--carry'
	gain parts.csv
	refused 'the parts list comes from stdin, there are no operands'
	gain --without Nobody
	refused '--without: no seller is named "Nobody"'
	gain --route nowhere
	refused '--route: no seller of sellers.csv has the route "nowhere"'
	try lot-gain -r missing.csv -o offers.csv -s sellers.csv <parts.csv
	refused 'lot-gain: missing.csv: No such file'
	try lot-gain -r - -o offers.csv -s sellers.csv <parts.csv
	refused 'stdin'
	printf 'rule,do,part\na,swap,P\n' >swaps.csv
	gain
	refused 'lot-gain: swaps.csv:2: unknown "do" value "swap": use one of use, may, drop, add, spare'
	example
	status=0
	lot-gain -q -r swaps.csv -o offers.csv -s sellers.csv -c charges.csv <parts.csv 2>err >/dev/full || status=$?
	[ "$status" -eq 2 ]
	grep -q '<stdout>' err
}

@test "rules that each change what others made double what a lot may be: as far as lot-swap's most rows, then told" {
	printf '%s\n' part,color,qty P,red,2 >parts.csv
	printf '%s\n' seller,part,color,qty,price,currency A,P,red,9,3,EUR A,P,red-2-9,9,1.25,EUR >offers.csv
	printf '%s\n' seller,route,currency A,market,EUR >sellers.csv
	printf '%s\n' seller,charge,amount A,handling,1 >charges.csv
	numbered 1 17 rule,do,color,to_color 'r@,use,(.*),$1-@' >swaps.csv
	try timeout 120 lot-gain -r swaps.csv -o offers.csv -s sellers.csv <parts.csv
	refused 'lot-gain: swaps.csv:18: rule "r17" and others may make more than 100100 rows of a list of 1'
	err_lines 1
	try timeout 120 lot-gain -r swaps.csv --except r17 -o offers.csv -s sellers.csv -c charges.csv <parts.csv
	exits 0
	err_has 'best with "r2,r9": 3.50 EUR, 3.50 EUR less than as it stands, proved least'
}

@test "help and version" {
	try lot-gain --help
	exits 0
	out_has 'usage: lot-gain -r FILE'
	for option in --rules --only --except --offers --stock --keep --order-cost --max-orders --route --without \
		--effort --jobs; do
		out_has "$option"
	done
	try lot-gain -V
	exits 0
	out_has 'lot-gain '
}
