#!/usr/bin/env bats
# lot-check: what was expected against what was found. Figures are counted by hand; sellers, parts and
# prices are invented.

load lib

expected() {
	cat >expected.csv
}

found() {
	cat >found.csv
}

# check [OPTION...]: what was found against what was expected.
check() {
	try lot-check -q -e expected.csv "$@" <found.csv
}

# shuffle SEED FILE: the rows of a file in another order.
shuffle() {
	{
		head -n 1 "$2"
		sed 1d "$2" | python3 -c 'import random, sys
rows = sys.stdin.readlines()
random.Random(int(sys.argv[1])).shuffle(rows)
sys.stdout.writelines(rows)' "$1"
	} >shuffled
	mv shuffled "$2"
}

@test "a parcel against its order: short, missing, unasked, what it costs, what is needed, what came" {
	cat >orders.csv <<-'END'
		seller,part,color,qty,price,currency,surplus
		Attic,P-104,red,25,0.06,GBP,2
		Attic,P-201,grey,10,0.025,GBP,0
		Attic,P-330,brown,2,0.41,GBP,0
	END
	found <<-'END'
		seller,part,color,qty
		Attic,P-104,red,22
		Attic,P-201,grey,10
		Attic,P-331,brown,2
	END
	try lot-check -e orders.csv --short again.csv --into came.csv <found.csv
	exits 1
	out_is <<-'END'
		part,color,seller,expected,found,difference,amount,currency,verdict
		P-104,red,Attic,25,22,-3,0.18,GBP,short
		P-330,brown,Attic,2,0,-2,0.82,GBP,missing
		P-331,brown,Attic,0,2,2,0,,unasked
	END
	err_is <<-'END'
		lot-check: 37 pieces expected, 34 found: 5 missing, 2 too many; 3 of 4 rows differ; what is missing costs 1 GBP
	END
	# three are missing, and two of the order were surplus
	diff - again.csv <<-'END'
		part,color,qty
		P-104,red,1
		P-330,brown,2
	END
	diff - came.csv <<-'END'
		part,color,qty
		P-104,red,22
		P-201,grey,10
		P-331,brown,2
	END
}

@test "a new version of a list against the old one, as written, and what it needs more" {
	cat >version-1.csv <<-'END'
		group,part,color,qty
		wall,P-104,red,16
		roof,P-400,slate,12
		wall,P-201,grey,6
	END
	cat >version-2.csv <<-'END'
		color,group,part,qty
		red,wall,P-104,10
		any,roof,P-400,12
		grey,wall,P-201,6
		red,wall,P-104,8
	END
	try lot-check --exact --by group,part,color -e version-1.csv <version-2.csv
	exits 1
	out_is <<-'END'
		group,part,color,expected,found,difference,amount,verdict
		roof,P-400,any,0,12,12,,unasked
		roof,P-400,slate,12,0,-12,,missing
		wall,P-104,red,16,18,2,,over
	END
	err_is <<-'END'
		lot-check: 34 pieces expected, 36 found: 12 missing, 14 too many; 3 of 4 rows differ
	END
	try lot-check -e version-2.csv --short more.csv <version-1.csv
	exits 1
	err_has '12 pieces count where any color or condition will do'
	diff - more.csv <<-'END'
		color,group,part,qty
		red,wall,P-104,2
	END
}

@test "a count of the drawers against the stock list, place by place" {
	expected <<-'END'
		part,color,qty,condition,place
		P-104,red,9,used,drawer 2
		P-104,grey,20,new,drawer 7
	END
	found <<-'END'
		place,part,color,qty
		drawer 7,P-104,grey,13
		drawer 7,P-104,red,1
		drawer 2,P-104,red,8
		drawer 7,P-104,grey,7
	END
	try lot-check --by place,part,color -e expected.csv <found.csv
	exits 1
	out_is <<-'END'
		place,part,color,expected,found,difference,amount,verdict
		drawer 2,P-104,red,9,8,-1,,short
		drawer 7,P-104,red,0,1,1,,unasked
	END
	err_is <<-'END'
		lot-check: 29 pieces expected, 29 found: 1 missing, 1 too many; 2 of 3 rows differ
	END
}

@test "all agree: header alone, exit 0; --all has the rows too" {
	expected <<-'END'
		part,color,qty,condition
		P,red,5,new
		P,blue,0,new
		Q,red,1,
	END
	found <<-'END'
		part,color,qty,condition
		Q,red,1,
		P,red,2,new
		P,red,3,new
	END
	try lot-check -e expected.csv <found.csv
	exits 0
	out_is <<<'part,color,condition,expected,found,difference,amount,verdict'
	err_is <<<'lot-check: 6 pieces expected, all found; 2 rows agree'
	check --all
	exits 0
	out_is <<-'END'
		part,color,condition,expected,found,difference,amount,verdict
		P,red,new,5,5,0,,same
		Q,red,,1,1,0,,same
	END
}

@test "condition and seller are compared where both lists have them, and not else" {
	expected <<-'END'
		seller,condition,part,color,qty
		A,new,P,red,5
		B,used,P,red,5
	END
	found <<<$'part,color,qty\nP,red,10'
	check --all
	exits 0
	out_is <<<$'part,color,expected,found,difference,amount,verdict\nP,red,10,10,0,,same'
	found <<<$'part,color,qty,condition\nP,red,10,new'
	check --all
	exits 1
	out_is <<-'END'
		part,color,condition,expected,found,difference,amount,verdict
		P,red,new,5,10,5,,over
		P,red,used,5,0,-5,,missing
	END
	found <<<$'part,SELLER,color,qty\nP,A,red,4\nP,B,red,6'
	check
	out_is <<-'END'
		part,color,seller,expected,found,difference,amount,verdict
		P,red,A,5,4,-1,,short
		P,red,B,5,6,1,,over
	END
	check --by seller
	out_is <<-'END'
		seller,expected,found,difference,amount,verdict
		A,5,4,-1,,short
		B,5,6,1,,over
	END
	check --by part
	exits 0
}

@test "missing pieces are the dearest of their row; no price, no amount" {
	expected <<-'END'
		part,color,qty,price
		P,red,3,0.1
		P,red,2,0.25
		P,red,4,0.000001
		Q,red,2,7
		Q,red,2,
		R,red,2,
		S,red,1,0
	END
	# of P: 2 x 0.25 + 2 x 0.1; of Q: three, of which two have prices
	found <<<$'part,color,qty\nP,red,5\nQ,red,1\nS,red,1'
	try lot-check --all -e expected.csv <found.csv
	out_is <<-'END'
		part,color,expected,found,difference,amount,verdict
		P,red,9,5,-4,0.7,short
		Q,red,4,1,-3,,short
		R,red,2,0,-2,,missing
		S,red,1,1,0,0,same
	END
	err_has 'what is missing costs 0.7, some of it without an amount'
	found <<<$'part,color,qty\nP,red,5\nQ,red,2\nR,red,2\nS,red,1'
	try lot-check -e expected.csv <found.csv
	out_has 'Q,red,4,2,-2,14,short'
	err_has 'what is missing costs 14.7'
	# exact: past what 64 bits hold of millionths
	printf 'part,color,qty,price\nP,red,999999999,9999999.999999\n' >expected.csv
	printf 'part,color,qty\n' >found.csv
	check
	out_has 'P,red,999999999,0,-999999999,9999999989999000.000001,missing'
}

@test "amounts in several currencies: by seller they are apart, together there is none" {
	expected <<-'END'
		seller,part,color,qty,price,currency
		A,P,red,2,0.5,EUR
		B,P,red,2,5,SEK
		B,Q,red,1,3,SEK
	END
	found <<<$'part,color,qty,seller\nP,red,1,A\nP,red,1,B'
	try lot-check -e expected.csv <found.csv
	exits 1
	out_is <<-'END'
		part,color,seller,expected,found,difference,amount,currency,verdict
		P,red,A,2,1,-1,0.5,EUR,short
		P,red,B,2,1,-1,5,SEK,short
		Q,red,B,1,0,-1,3,SEK,missing
	END
	err_has 'what is missing costs 0.5 EUR and 8 SEK'
	try lot-check --by part,color -e expected.csv <found.csv
	out_is <<-'END'
		part,color,expected,found,difference,amount,currency,verdict
		P,red,4,2,-2,,,short
		Q,red,1,0,-1,3,SEK,missing
	END
	err_has 'P/red is priced in several currencies, so that what is missing has no amount: compare by seller'
	err_has 'costs 3 SEK, some of it without an amount'
	check --by currency,part -q
	refused 'option --quiet is given twice'
	found <<<$'part,color,qty,currency\nP,red,2,EUR'
	check --by currency,part
	out_is <<-'END'
		currency,part,expected,found,difference,amount,verdict
		SEK,P,2,0,-2,10,missing
		SEK,Q,1,0,-1,3,missing
	END
}

@test "any color, and not_color: filled by what is left of other colors" {
	expected <<-'END'
		part,color,qty,not_color
		P,any,10,clear.*
		P,any,2,
		P,red,4,
	END
	found <<<$'part,color,qty\nP,red,9\nP,clear blue,3\nP,blue,2\nQ,red,1'
	try lot-check --all -e expected.csv --short short.csv <found.csv
	exits 1
	# 4 red by name; 5 red and 2 blue are not clear, and 2 clear ones are for the others
	out_is <<-'END'
		part,color,expected,found,difference,amount,verdict
		P,any,12,9,-3,,short
		P,clear blue,0,1,1,,unasked
		P,red,4,4,0,,same
		Q,red,0,1,1,,unasked
	END
	err_has '9 pieces count where any color or condition will do'
	diff - short.csv <<<$'part,color,qty,not_color\nP,any,3,clear.*'
	# too many of any color
	found <<<$'part,color,qty\nP,red,4\nP,blue,14'
	check
	out_is <<<$'part,color,expected,found,difference,amount,verdict\nP,any,12,14,2,,over'
	check --exact
	out_is <<-'END'
		part,color,expected,found,difference,amount,verdict
		P,any,12,0,-12,,missing
		P,blue,0,14,14,,unasked
	END
}

@test "an empty condition, and any, take every one; another takes its own" {
	expected <<-'END'
		part,color,qty,condition
		P,red,3,
		P,red,2,any
		Q,red,4,new
	END
	found <<<$'part,color,qty,condition\nP,red,2,new\nP,red,3,used\nQ,red,3,used\nQ,red,1,'
	check --all
	out_is <<-'END'
		part,color,condition,expected,found,difference,amount,verdict
		P,red,,5,5,0,,same
		Q,red,,0,1,1,,unasked
		Q,red,new,4,0,-4,,missing
		Q,red,used,0,3,3,,unasked
	END
	found <<<$'part,color,qty,condition\nP,red,5,\nQ,red,4,new'
	check --exact
	exits 0
}

@test "alternatives of a lot are one count, and stay alternatives in what is needed" {
	expected <<-'END'
		lot,part,color,qty,penalty,note
		roof,P,slate,8,0.02,b
		roof,P,red,8,,a
		,P,red,3,,c
	END
	found <<<$'part,color,qty\nP,red,5\nP,slate,4'
	try lot-check --all -e expected.csv --short short.csv <found.csv
	exits 1
	# 3 red by name, 2 red and 4 slate for the roof, which lacks 2
	out_is <<-'END'
		part,color,expected,found,difference,amount,verdict
		P,red,7,5,-2,,short
		P,slate,4,4,0,,same
	END
	err_has '11 pieces expected, 9 found: 2 missing, 0 too many'
	diff - short.csv <<-'END'
		lot,part,color,qty,penalty,note
		roof,P,red,2,,a
		roof,P,slate,2,0.02,b
	END
	cp expected.csv same.csv
	try lot-check -e expected.csv <same.csv
	exits 0
	check --exact
	out_is <<-'END'
		part,color,expected,found,difference,amount,verdict
		P,red,11,5,-6,,short
		P,slate,8,4,-4,,short
	END
	check --exact --short short.csv
	refused '--short: the rows of lot "roof" are alternatives'
}

@test "lots of order lines are what they were bought for: each line counts" {
	expected <<-'END'
		seller,lot,part,color,qty,price
		A,roof,P,red,3,0.1
		A,roof,P,slate,5,0.1
	END
	found <<<$'part,color,qty\nP,red,3\nP,slate,4'
	check --short short.csv
	out_is <<<$'part,color,expected,found,difference,amount,verdict\nP,slate,5,4,-1,0.1,short'
	diff - short.csv <<<$'part,color,qty\nP,slate,1'
}

@test "stock in use is in no parcel, on either side" {
	expected <<-'END'
		seller,route,part,color,qty,price
		A,market,P,red,3,0.1
		owned,owned,P,red,2,0
	END
	cp expected.csv found.csv
	try lot-check -e expected.csv --into came.csv <found.csv
	exits 0
	err_is <<-'END'
		lot-check: 4 pieces of stock in use are left out
		lot-check: 3 pieces expected, all found; 1 row agrees
	END
	diff - came.csv <<<$'part,color,qty\nP,red,3'
}

@test "what is needed: one seller's surplus makes good for another's gap" {
	expected <<-'END'
		seller,part,color,condition,qty,price,surplus,grams
		A,P,red,new,5,0.1,0,1.5
		B,P,red,new,5,0.1,1,1.5
		B,Q,red,used,2,0.1,,
		B,Q,red,new,2,0.3,,
	END
	found <<<$'seller,part,color,qty\nA,P,red,3\nB,P,red,7\nB,Q,red,1'
	check --short short.csv --into came.csv
	out_is <<-'END'
		part,color,seller,expected,found,difference,amount,verdict
		P,red,A,5,3,-2,0.2,short
		P,red,B,5,7,2,0,over
		Q,red,B,4,1,-3,0.7,short
	END
	# two at 0.3, one at 0.1
	diff - short.csv <<-'END'
		part,color,qty,condition,grams
		Q,red,2,new,
		Q,red,1,used,
	END
	# in which condition Q came, nobody said
	diff - came.csv <<<$'part,color,qty,condition\nP,red,10,new\nQ,red,1,'
}

@test "what came keeps its places and weights, in the condition found" {
	expected <<<$'part,color,qty,condition\nP,red,9,new'
	found <<-'END'
		condition,part,place,grams,color,qty,remark
		used,P,jar,1.5,red,2,x
		any,P,jar,,red,1,y
		used,P,jar,1.5,red,3,z
		new,P,,,red,0,
	END
	check --into came.csv
	diff - came.csv <<-'END'
		part,color,qty,condition,place,grams
		P,red,1,,jar,
		P,red,5,used,jar,1.5
	END
}

@test "rows in another order give the same bytes, everywhere" {
	expected <<-'END'
		lot,part,color,qty,condition,not_color,price,note
		,P,any,7,,,0.1,a
		,P,any,2,new,bl.*,0.1,b
		L,P,red,4,,,0.2,c
		L,Q,blue,4,,,0.2,d
		,P,red,2,,,0.3,e
		,P,red,2,,,0.3,f
		,Q,red,5,used,,,g
	END
	found <<-'END'
		part,color,qty,condition,place
		P,red,2,new,x
		P,red,3,used,y
		P,blue,1,new,x
		Q,blue,3,used,z
		Q,red,1,,z
		P,green,2,new,x
	END
	check --all --short short.csv --into came.csv
	cp "$OUT" first
	cp short.csv short-first
	cp came.csv came-first
	for seed in 1 2 3 4 5 6 7 8; do
		shuffle "$seed" expected.csv
		shuffle "$seed" found.csv
		check --all --short short.csv --into came.csv
		exits 1
		out_is <first
		cmp short.csv short-first
		cmp came.csv came-first
	done
}

@test "drawn lists: matched piece by piece, subtracted, and priced another way" {
	try python3 "$TESTS/oracle/check_lists.py" 120 5
	exits 0
}

@test "what is short, with what came, is what was expected: nothing is lost, nothing counted twice" {
	{
		printf 'seller,part,color,qty,price\n'
		for i in $(seq 200); do
			printf 'S%s,P%s,c%s,%s,0.1\n' $((i % 3)) $((i % 40)) $((i % 4)) $((i * 7 % 23))
		done
	} >expected.csv
	awk -F, -v OFS=, 'NR == 1 { print "part,color,qty"; next } { print $2, $3, int($4 * 2 / 3) }' \
		expected.csv >found.csv
	check --short short.csv --into came.csv
	exits 1
	# came and short, added up by part and color, are the order again
	sum() {
		awk -F, -v OFS=, '{ n[$1 "," $2] += $3 } END { for (k in n) if (n[k]) print k, n[k] }' | sort
	}
	sed 1d expected.csv | cut -d, -f2-4 | sum >due
	cat <(sed 1d came.csv) <(sed 1d short.csv) | cut -d, -f1-3 | sum | diff due -
}

@test "header only, on either side" {
	expected <<<'part,color,qty,price'
	found <<<'part,color,qty'
	try lot-check -e expected.csv --short short.csv --into came.csv <found.csv
	exits 0
	out_is <<<'part,color,expected,found,difference,amount,verdict'
	err_is <<<'lot-check: 0 pieces expected, all found; 0 rows agree'
	diff - short.csv <<<'part,color,qty,price'
	diff - came.csv <<<'part,color,qty'
	found <<<$'part,color,qty\nP,red,1'
	check
	exits 1
	out_has 'P,red,0,1,1,0,unasked'
}

@test "forms of standard input: delimiter and encoding" {
	expected <<<$'part,color,qty\nP,grün,1'
	iconv -f UTF-8 -t LATIN1 <<<$'part:color:qty\nP:grün:1' >found.csv
	check -D : --encoding LATIN1
	exits 0
}

# bad TEXT MESSAGE: what is wrong with the expected list.
bad() {
	printf '%b' "$1" >expected.csv
	check --short short.csv --into came.csv
	refused "$2"
	[ ! -e short.csv ] && [ ! -e came.csv ]
}

@test "what is wrong with either list is told with file and line" {
	found <<<$'part,color,qty\nP,red,1'
	bad '' 'lot-check: expected.csv: no header line'
	bad 'part,qty\nP,1\n' 'expected.csv:1: no column "color": there are part, qty'
	bad 'part,color,qty,Qty\n' 'expected.csv:1: two columns are named "qty"'
	bad 'part,color,qty\nP,red,\n' 'expected.csv:2: qty is empty'
	bad 'part,color,qty\nP,red,-1\n' 'expected.csv:2: qty "-1"'
	bad 'part,color,qty\nP,red,1.5\n' 'expected.csv:2: qty "1.5"'
	bad 'part,color,qty\n,red,1\n' 'expected.csv:2: part is empty'
	bad 'part,color,qty\nP,,1\n' 'expected.csv:2: color is empty'
	bad 'part,color,qty,price\nP,red,1,-0.1\n' 'expected.csv:2: price "-0.1"'
	bad 'part,color,qty,price\nP,red,1,cheap\n' 'expected.csv:2: price "cheap"'
	bad 'part,color,qty,grams\nP,red,1,x\n' 'expected.csv:2: grams "x"'
	bad 'part,color,qty,currency\nP,red,1,EURO\n' 'expected.csv:2: currency "EURO" is no currency code'
	bad 'part,color,qty,not_color\nP,any,1,(\n' 'expected.csv:2: not_color "(" is no PCRE2 pattern'
	bad 'lot,part,color,qty\nL,P,red,1\nL,Q,red,2\n' 'expected.csv:3: qty of lot "L" is not that of line 2'
	bad 'seller,part,color,qty,surplus\nA,P,red,1,2\n' 'expected.csv:2: surplus is 2 of 1 pieces'
	bad 'part,color,qty\n"P\nQ",red,1\nP,red,1,2\n' 'expected.csv:4: 4 fields'
	expected <<<$'part,color,qty\nP,red,1'
	found <<<$'part,color\nP,red'
	check
	refused '<stdin>:1: no column "qty"'
	found <<<$'part,color,qty,price\nP,red,x,y'
	check
	refused '<stdin>:2: qty "x"'
	err_lines 1
	found <<<$'part,color,qty\nP,any,1'
	check
	exits 1
	check --into came.csv
	refused '<stdin>:2: color is "any", and --into writes stock'
	printf 'part,color,qty\nP,red,999999999\nP,red,1\n' >found.csv
	check
	out_has 'P,red,1,1000000000,999999999,,over'
	check --into came.csv
	refused 'rows of P, red together have 1000000000 pieces'
	[ ! -e came.csv ]
}

@test "a not_color that never ends is told" {
	printf 'part,color,qty\nP,%s,1\n' "$(printf 'a%.0s' $(seq 40))" >found.csv
	printf 'part,color,qty,not_color\nP,any,1,(a|a)+[bc]\n' >expected.csv
	check
	refused 'lot-check: expected.csv:2: not_color "(a|a)+[bc]" on color "aaaa'
}

@test "usage: options, columns and files that cannot be" {
	expected <<<$'part,color,qty,bag,place\nP,red,1,1,jar'
	found <<<$'part,color,qty,place\nP,red,1,jar'
	try lot-check <found.csv
	refused 'nothing to compare with: -e FILE'
	try lot-check -e - <found.csv
	refused 'stdin is already an input'
	check -e expected.csv
	refused 'option --expected is given twice'
	check --by part,bag
	refused '<stdin>:1: no column "bag": there are part, color, qty, place'
	check --by part,tray
	refused 'expected.csv:1: no column "tray": there are part, color, qty, bag, place'
	check --by part,,color
	refused '--by: a name is empty'
	check --by ''
	refused '--by: a name is empty'
	check --by part,Part
	refused '--by: "Part" is named twice'
	check --by part,QTY
	refused '--by: "qty" is what is compared'
	check --by verdict
	refused '--by: "verdict" is what is compared, or told of it'
	check --by ' place , Part'
	exits 0
	out_is <<<'place,Part,expected,found,difference,amount,verdict'
	check --short a.csv --into a.csv
	refused 'a.csv: named for two outputs'
	check --short no/such/dir.csv
	refused 'no/such/dir.csv'
	check --into /dev/full
	refused '/dev/full'
	check found.csv
	refused 'no operands'
	try lot-check -e missing.csv <found.csv
	refused 'lot-check: missing.csv: No such file'
	status=0
	lot-check -q -e expected.csv <found.csv 2>err >/dev/full || status=$?
	[ "$status" -eq 2 ]
	grep -q '<stdout>' err
}

@test "help and version" {
	try lot-check --help
	exits 0
	out_has 'usage: lot-check'
	try lot-check --version
	exits 0
	out_has 'lot-check '
}
