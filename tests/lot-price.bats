#!/usr/bin/env bats
# lot-price: a need list priced and ranked. Figures are counted by hand where nothing else is said. All
# parts and prices are invented.

load lib

# list: the prices on stdin (part, color, condition, sellers, pieces, median) as prices.csv.
list() {
	{ echo part,color,condition,sellers,pieces,median && cat; } >prices.csv
}

# need: the rows on stdin (part, color, qty and more) as need.csv.
need() {
	{ echo "part,color,qty${1:+,$1}" && cat; } >need.csv
}

price() {
	try lot-price --prices prices.csv "$@" <need.csv
}

# figures: columns of the last try's table, without its header.
figures() {
	tail -n +2 "$OUT" | cut -d , -f "$1"
}

reds() {
	list <<-'END'
		P-104,red,new,9,800,0.08
		P-104,brown,new,2,30,0.36
		P-104,moss,new,5,200,0.1
		P-201,grey,new,6,900,0.03
		P-330,brown,new,4,12,0.41
	END
	need <<-'END'
		P-104,red,100
		P-104,brown,20
		P-201,any,60
		P-330,brown,2
	END
}

@test "price, amount, share, band, sellers, and what is dear" {
	reds
	price
	exits 0
	# 8 + 7.2 + 1.8 + 0.82 = 17.82. Brown: 0.36 is over 3 x 0.09, the median of 0.08 and 0.1; two sell it.
	out_is <<-'END'
		part,color,qty,price,amount,share,cumulative,band,sellers,dear
		P-104,red,100,0.08,8,44.89,44.89,A,9,
		P-104,brown,20,0.36,7.2,40.40,85.30,B,2,both
		P-201,any,60,0.03,1.8,10.10,95.40,C,6,
		P-330,brown,2,0.41,0.82,4.60,100.00,C,4,
	END
	err_is <<<'lot-price: 4 lots, 182 pieces: 17.82 at the median; 1 in A, 1 in B, 2 in C; 1 dear, 1 scarce'
	price -q
	err_is_empty
}

@test "bands: an ABC analysis by hand" {
	# Limits of 80, 95 and 100 percent, cumulative: common practice, no source. Of 100 in all:
	# 50 | 50, 30 | 80, 8 | 88, 7 | 95, 3 | 98, 2 | 100.
	list < <(for part in 1 2 3 4 5 6; do echo "P-$part,red,,9,99,1"; done)
	need <<-'END'
		P-1,red,7
		P-2,red,50
		P-3,red,2
		P-4,red,30
		P-5,red,8
		P-6,red,3
	END
	price -q
	exits 0
	diff - <(figures 1,5-8) <<-'END'
		P-2,50,50.00,50.00,A
		P-4,30,30.00,80.00,A
		P-5,8,8.00,88.00,B
		P-1,7,7.00,95.00,B
		P-6,3,3.00,98.00,C
		P-3,2,2.00,100.00,C
	END
	price -q --bands 50,79.999999
	diff - <(figures 8) < <(printf '%s\n' A C C C C C)
	price -q --bands 80.000001,80.000001
	diff - <(figures 8) < <(printf '%s\n' A A C C C C)
	# The dearest is in A though it is more than 80 percent; the next are not.
	need < <(printf '%s\n' P-1,red,96 P-2,red,3 P-3,red,1)
	price -q
	diff - <(figures 8) < <(printf '%s\n' A C C)
	# Not by rounded shares: 80.004 percent is more than 80.
	need < <(printf '%s\n' P-1,red,79004 P-2,red,1000 P-3,red,19996)
	price -q
	diff - <(figures 5-8) < <(printf '%s\n' 79004,79.00,79.00,A 19996,20.00,99.00,C 1000,1.00,100.00,C)
	need < <(printf '%s\n' P-1,red,60004 P-2,red,20000 P-3,red,19996)
	price -q
	diff - <(figures 7-8) < <(printf '%s\n' 60.00,A 80.00,B 100.00,C)
}

@test "--at: which price" {
	printf '%s\n' part,color,min,median,mean,p90,max P,red,1,2,3,4,5 >prices.csv
	need <<<P,red,10
	for at in min:10 median:20 mean:30 p90:40 max:50; do
		price -q --at ${at%:*}
		exits 0
		[ "$(figures 5)" = ${at#*:} ]
	done
	price --at max
	err_has ': 50 at the highest price;'
	price --at mode
	refused '--at "mode" is not known: it is min, median, mean, p90 or max'
}

@test "any color and any condition: the cheapest that has the quantity, else the one with most" {
	list <<-'END'
		P,red,new,9,50,0.09
		P,red,used,8,10,0.05
		P,blue,new,7,,0.08
		P,clear,new,6,500,0.01
	END
	need condition,not_color <<-'END'
		P,red,10,,
		P,red,10,any,
		P,red,11,used,
		P,any,20,,clear
		P,any,20,,
		P,any,5,used,
		P,any,5,used,red
	END
	price -q
	exits 1
	# The first two are bought as one: 20 used ones are not there. The third is alone, and lacks one.
	sort "$OUT" | grep '^P,' | cut -d , -f 1-7,11 >found
	diff - found <<-'END'
		P,any,20,,,0.01,0.2,6
		P,any,20,,clear,0.08,1.6,7
		P,any,5,used,,0.05,0.25,8
		P,any,5,used,red,,,0
		P,red,10,,,0.09,0.9,9
		P,red,10,any,,0.09,0.9,9
		P,red,11,used,,0.05,0.55,8
	END
	need <<<P,red,70
	price -q
	diff - <(figures 4) <<<0.09
}

@test "alternatives: the best row of a lot counts, the others stand below it" {
	list <<-'END'
		P,red,,9,100,0.05
		Q,red,,9,100,0.04
		R,red,,9,3,0.01
		S,red,,4,100,0.4
	END
	need lot,penalty <<-'END'
		P,red,10,door,
		Q,red,10,door,0.02
		R,red,10,door,
		gone,red,10,door,
		S,red,1,,
		R,red,10,only,
		gone,red,10,only,
	END
	price -q
	exits 0
	# Q costs 0.04 and is disliked by 0.02: P counts. There are only three of R.
	diff - <(figures 1,4,6-) <<-'END'
		P,door,0.05,0.5,50.00,50.00,A,9,
		Q,door,0.04,,,,,9,
		R,door,0.01,,,,,9,
		gone,door,,,,,,0,
		S,,0.4,0.4,40.00,90.00,B,4,
		R,only,0.01,0.1,10.00,100.00,C,9,scarce
		gone,only,,,,,,0,
	END
}

@test "lots without a price: last, told, exit status 1" {
	reds
	printf '%s\n' P-9,red,5 P-104,violet,7 >>need.csv
	price
	exits 1
	tail -n 2 "$OUT" >found
	diff - found <<-'END'
		P-104,violet,7,,,,,,0,scarce
		P-9,red,5,,,,,,0,scarce
	END
	out_has 'P-330,brown,2,0.41,0.82,4.60,100.00,C,4,'
	err_is <<-'END'
		lot-price: <stdin>:6: prices.csv has no price for P-9/red
		lot-price: <stdin>:7: prices.csv has no price for P-104/violet
		lot-price: 6 lots, 194 pieces: 17.82 at the median; 1 in A, 1 in B, 2 in C; 1 dear, 3 scarce
	END
	need group < <(seq 1 25 | sed 's/.*/X-&,red,1,g/')
	price -q
	exits 1
	err_lines 21
	err_has 'prices.csv has no price for 5 more lots'
}

@test "dear: by the median of the other colors, in the same condition, each once" {
	list <<-'END'
		P,red,new,9,99,0.300001
		P,blue,new,9,99,0.1
		P,moss,new,9,1,0.2
		P,grey,new,9,999999,0.05
		P,grey,used,9,99,5
		Q,red,new,9,99,9
		R,red,new,9,99,9
		R,blue,used,9,99,1
	END
	need < <(printf '%s\n' P,red,1 P,blue,1 Q,red,1 R,red,1)
	price -q
	# Red: over 3 x 0.1, the middle of 0.05, 0.1 and 0.2. Q has no other color, R none in this condition.
	diff - <(sort "$OUT" | grep '^[PQR],' | cut -d , -f 1,2,10) < <(printf '%s\n' P,blue, P,red,price Q,red, R,red,)
	sed -i s/0.300001/0.3/ prices.csv
	price -q
	[ -z "$(figures 10 | tr -d '\n')" ]
	price -q --dear 2.999999
	diff - <(figures 10 | sort -u) < <(printf '%s\n' '' price)
	price --dear 0
	refused '--dear takes a number above 0, such as 3 or 1.5'
	price --dear x
	refused '--dear "x" is no number'
}

@test "scarce: fewer sellers than --scarce, or none that can have the quantity" {
	list <<-'END'
		P,red,,3,50,0.1
		Q,red,,2,50,0.1
		R,red,,9,50,0.1
		S,red,,9,,0.1
		T,red,,,50,0.1
	END
	need group <<-'END'
		P,red,50,
		Q,red,50,
		R,red,50,
		R,red,1,roof
		S,red,5000,
		T,red,50,
		U,red,0,
	END
	price -q
	exits 1
	diff - <(sort "$OUT" | grep '^[P-U],' | cut -d , -f 1,3,10-) <<-'END'
		P,50,3,
		Q,50,2,scarce
		R,1,9,scarce
		R,50,9,scarce
		S,5000,9,
		T,50,,
		U,0,0,
	END
	price -q --scarce 4
	[ "$(figures 1,11 | grep -c scarce)" -eq 4 ]
	price -q --scarce 0
	[ -z "$(figures 11 | tr -d '\n')" ]
	price --scarce 1.5
	refused '--scarce "1.5"'
}

@test "-o: sellers are those whose offers have the whole quantity" {
	list < <(printf '%s\n' P,red,new,9,,0.1 P,blue,new,9,,0.2 Q,red,new,9,,0.15)
	cat >a.csv <<-'END'
		seller,part,color,condition,qty,price,least,listing
		A,P,red,new,30,0.1,,
		A,P,red,used,30,0.1,,
		B,P,red,new,59,0.1,,
		B,P,blue,new,1,0.1,,
		C,P,red,new,40,0.1,,k
		C,P,red,new,40,0.05,10,k
		D,P,red,new,,0.1,,
		E,P,red,new,80,0.1,90,
	END
	printf '%s\n' seller,part,color,condition,qty,price A,P,red,new,30,0.2 C,Q,red,new,20,0.1 >b.csv
	need lot,condition <<-'END'
		P,red,60,,
		P,red,60,,new
		P,any,60,,new
		P,red,60,door,new
		Q,red,60,door,new
	END
	price -q -o a.csv -o b.csv
	exits 0
	# Red in any condition: A (90) and D. Red and new: A and D. Any color: B has 60, too. Door: C has 40 and 20.
	diff - <(sort "$OUT" | grep '^[PQ],' | cut -d , -f 1-5,11-) <<-'END'
		P,any,60,,new,3,
		P,red,60,,,2,scarce
		P,red,60,,new,2,scarce
		P,red,60,door,new,3,
		Q,red,60,door,new,,
	END
	sed -i 2s/30/-30/ a.csv
	price -o a.csv -o b.csv
	refused 'a.csv:2: qty "-30"'
	price -o a.csv -o missing.csv
	refused 'a.csv:2: qty "-30"'
}

@test "the list's columns pass through; a priced list is priced again" {
	list <<<P,red,new,9,800,0.08
	printf '%s\n' 'Bag,price,Part,qty,color, Note2 ,Dear' '"1,a",7,P,3,red, x ,yes' >need.csv
	price -q
	exits 0
	out_is <<-'END'
		Bag,Part,qty,color,Note2,price,amount,share,cumulative,band,sellers,dear
		"1,a",P,3,red, x ,0.08,0.24,100.00,100.00,A,9,
	END
	cp "$OUT" once.csv
	try lot-price -q --prices prices.csv <once.csv
	cmp once.csv "$OUT"
}

@test "nothing to pay: no shares, no bands; needs of no pieces; empty lists" {
	list < <(printf '%s\n' P,red,,9,99,0 Q,red,,9,99,0.5)
	need < <(printf '%s\n' P,red,5 Q,red,0)
	price -q
	exits 0
	out_is <<-'END'
		part,color,qty,price,amount,share,cumulative,band,sellers,dear
		P,red,5,0,0,,,,9,
		Q,red,0,0.5,0,,,,9,
	END
	need </dev/null
	price
	exits 0
	out_is <<<part,color,qty,price,amount,share,cumulative,band,sellers,dear
	err_is <<<'lot-price: 0 lots, 0 pieces: 0 at the median; 0 in A, 0 in B, 0 in C; 0 dear, 0 scarce'
	list </dev/null
	need <<<P,red,5
	price -q
	exits 1
}

@test "drawn needs, prices and offers, against Python's fractions; rows shuffled, the same bytes" {
	try python3 "$TESTS/oracle/check_price.py" 1 60
	exits 0
}

@test "from offers to a priced list, as lot-market writes it" {
	cat >offers.csv <<-'END'
		seller,part,color,qty,price
		A,P,red,900000000,0.1
		B,P,red,900000000,0.2
		C,P,red,,0.2
		A,Q,red,900000000,0.3
		B,Q,red,900000000,0.4
	END
	lot-market -q <offers.csv >prices.csv
	need < <(printf '%s\n' P,red,4 Q,red,900000001)
	price -q
	exits 0
	# More pieces than any quantity may be: 1800000000 of Q, at 0.35 in the middle.
	diff - <(figures 1,4,5,9,10) < <(printf '%s\n' Q,0.35,315000000.35,2,scarce P,0.2,0.8,3,)
}

@test "faults of the price list and the need" {
	reds
	printf '%s\n' part,color,condition,pieces,median P,red,,x,1 P,,,1,1 ,red,,1,1 P,red,,1,-1 P,red,,1, P,blue,,1,1 \
		P,blue,,2,1 P,blue,new,2,1 >prices.csv
	price
	refused 'prices.csv:2: pieces "x" is no number'
	err_has 'prices.csv:3: color is empty: a price is of a part and a color'
	err_has 'prices.csv:4: part is empty: a price is of a part and a color'
	err_has 'prices.csv:5: median "-1"'
	err_has 'prices.csv:6: median '
	err_has 'prices.csv:8: P, blue has a price at line 7 already: keep one'
	printf '%s\n' part,color,min P,red,1 >prices.csv
	price
	refused 'prices.csv:1: no column "median"'
	printf '%s\n' part,color,median P,red,1 >prices.csv
	price --at p90
	refused 'prices.csv:1: no column "p90"'
	printf '%s\n' part,color,qty P,red,x >need.csv
	price
	refused '<stdin>:2: qty "x" is no number'
}

@test "forms of CSV and hostile text" {
	reds
	price -q
	cp "$OUT" due
	sed 's/$/\r/; s/,/;/g' need.csv >form.csv
	try lot-price -q --prices prices.csv <form.csv
	cmp due "$OUT"
	tr , ! <need.csv >form.csv
	try lot-price -q -D ! --prices prices.csv <form.csv
	cmp due "$OUT"
	sed 's/red/grün/' prices.csv >green.csv
	sed 's/red/grün/' need.csv | iconv -t ISO-8859-1 >latin.csv
	try lot-price -q --encoding ISO-8859-1 --prices green.csv <latin.csv
	exits 0
	out_has 'P-104,grün,100,0.08'
	printf 'part,color,qty\n"a,""b""\n",=1+1,3\n"\033[31mx",red,1\n' >need.csv
	printf 'part,color,median\n"a,""b""\n",=1+1,0.1\n' >prices.csv
	price
	exits 1
	err_has 'has no price for \x1B[31mx/red'
	out_has '",=1+1,3,0.1,0.3,100.00,100.00,A,,'
}

@test "options: help, version, unknown, twice; operands; full output, closed pipe" {
	reds
	try lot-price --help
	exits 0
	out_has "usage: lot-price"
	try lot-price -V
	exits 0
	out_has "lot-price "
	try lot-price <need.csv
	refused 'no prices: --prices FILE'
	price --nonsense
	refused 'unknown or ambiguous option --nonsense'
	price --at min --at min
	refused 'option --at is given twice'
	price more.csv
	refused 'the need list comes from stdin, there are no operands'
	try lot-price --prices - <need.csv
	refused 'stdin is already an input'
	for bands in 80 80,95,99 95,80 80,101 x,95 '80,'; do
		price --bands "$bands"
		refused "--bands \"$bands\": give two percentages, the first no more than the second, such as 80,95"
	done
	try sh -c 'lot-price --prices prices.csv <need.csv >/dev/full'
	exits 2
	err_has '<stdout>: No space left on device'
	try bash -c '{ sleep 0.2; lot-price -q --prices prices.csv <need.csv; echo "$?" >kept; } | true'
	[ "$(cat kept)" -eq 141 ]
}
