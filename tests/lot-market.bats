#!/usr/bin/env bats
# lot-market: offers summed up as a price list. Figures are counted by hand where nothing else is said.
# All sellers and prices are invented.

load lib

HEADER=part,color,condition,sellers,pieces,min,median,mean,p90,max

# rows: the offers on stdin (seller, part, color, condition, qty, price, step, least, listing, currency).
rows() {
	echo seller,part,color,condition,qty,price,step,least,listing,currency
	cat
}

# figures: columns of the last try's list, without its header.
figures() {
	tail -n +2 "$OUT" | cut -d , -f "$1"
}

attic() {
	cat >offers.csv <<-'END'
		seller,part,color,condition,qty,price,least,listing
		Attic,P-104,red,used,10,0.08,,k1
		Attic,P-104,red,used,10,0.06,5,k1
		Barn,P-104,red,used,20,0.05,,
		Cellar,P-104,red,used,9,0.09,,
		Counter,P-104,red,new,,0.11,,
	END
}

@test "a row a part, color and condition: sellers, pieces, prices" {
	attic
	try lot-market -C EUR <offers.csv
	exits 0
	# 39 used pieces: the 20th costs 0.05, the 36th 0.09; 0.80 + 1.00 + 0.81 are 2.61, / 39 = 0.0669230...
	out_is <<-'END'
		part,color,condition,sellers,pieces,min,median,mean,p90,max
		P-104,red,new,1,,0.11,0.11,0.11,0.11,0.11
		P-104,red,used,3,39,0.05,0.05,0.066923,0.09,0.09
	END
	err_is <<<'lot-market: 2 lots, 4 sellers, 4 offers, prices in EUR'
	# Without -C no currency is known, and none is told.
	try lot-market <offers.csv
	err_is <<<'lot-market: 2 lots, 4 sellers, 4 offers'
	try lot-market -q <offers.csv
	err_is_empty
}

@test "median: of an even number of pieces the mean of the two in the middle" {
	# 0.1 0.1 | 0.2 0.3: 0.15; then 0.1 0.1 0.2 0.3 0.3: 0.2; and 0.000001 + 0.000002 is a half of the last decimal
	try lot-market < <(rows <<-'END'
		A,even,red,,2,0.1
		B,even,red,,1,0.2
		C,even,red,,1,0.3
		A,odd,red,,2,0.1
		B,odd,red,,1,0.2
		C,odd,red,,2,0.3
		A,small,red,,1,0.000001
		B,small,red,,1,0.000002
	END
	)
	exits 0
	diff - <(figures 1,7,8) <<-'END'
		even,0.15,0.175
		odd,0.2,0.2
		small,0.000002,0.000002
	END
}

@test "p90: the nearest rank" {
	# A worked example of the nearest rank, from memory: of 15, 20, 35, 40, 50 the 90th percentile is 50. Of 1 to
	# 10 it is 9; of nine pieces at 1 and one at 2 it is 1, of eight and two it is 2.
	try lot-market < <(rows < <(
		for price in 15 20 35 40 50; do echo "S$price,five,red,,1,$price"; done
		for price in 1 2 3 4 5 6 7 8 9 10; do echo "S$price,ten,red,,1,$price"; done
		printf '%s\n' A,nine,red,,9,1 B,nine,red,,1,2 A,eight,red,,8,1 B,eight,red,,2,2
	))
	exits 0
	diff - <(figures 1,9) <<-'END'
		eight,2
		five,50
		nine,1
		ten,9
	END
}

@test "price breaks of a listing are one offer, at the price of the lowest least" {
	try lot-market < <(rows <<-'END'
		A,P,red,,100,0.05,,50,k
		A,P,red,,100,0.09,,2,k
		A,P,red,,100,0.07,,10,k
		A,P,red,,10,0.2,,,j
		B,P,red,,10,0.3,,,k
	END
	)
	exits 0
	# 100 at 0.09, 10 at 0.2, 10 at 0.3: 14 / 120
	diff - <(figures 4-) <<<2,120,0.09,0.09,0.116667,0.2,0.3
	err_is <<<'lot-market: 1 lot, 2 sellers, 3 offers'
}

@test "no limit: no number of pieces, and as many as the largest of the others in the figures" {
	try lot-market < <(rows <<-'END'
		A,P,red,,,0.3
		B,P,red,,40,0.1
		C,P,red,,20,0.2
		A,Q,red,,,0.3
		B,Q,red,,,0.1
	END
	)
	exits 0
	# P: 40 at 0.1, 20 at 0.2, 40 at 0.3: 20 / 100; the 50th and 51st cost 0.2. Q: one piece each.
	diff - <(figures 1,4-) <<-'END'
		P,3,,0.1,0.2,0.2,0.3,0.3
		Q,2,,0.1,0.2,0.2,0.3,0.3
	END
}

@test "offers of which nothing can be bought do not count" {
	try lot-market < <(rows <<-'END'
		A,P,red,,0,0.1
		B,P,red,,4,0.2,5
		C,P,red,,9,0.3,,10
		D,P,red,,11,0.4,6,7
		E,P,red,,12,0.5,6,7
		F,P,red,,30,0.6,,10,k
		F,P,red,,30,0.6,,40,k
		A,gone,red,,0,0.1
	END
	)
	exits 0
	diff - <(figures 1,4-) <<<P,2,42,0.5,0.6,0.571429,0.6,0.6
	err_is <<-'END'
		lot-market: 5 offers left out: fewer pieces than the least that is sold
		lot-market: 1 lot, 2 sellers, 2 offers
	END
}

@test "rows equal in every column count once, unknown columns too" {
	printf '%s\n' seller,part,color,qty,price,link,shelf A,P,red,5,0.1,x, A,P,red,5,0.10,x, A,P,red,5,0.1,y, \
		A,P,red,5,0.1,,x A,P,red,5,0.1,,x >offers.csv
	try lot-market <offers.csv
	exits 0
	diff - <(figures 5) <<<15
	err_is <<-'END'
		lot-market: <stdin>:3: equals another offer in every column: counted once (2 such rows in all)
		lot-market: 1 lot, 1 seller, 3 offers
	END
	# The same columns in another order, in another file.
	printf '%s\n' shelf,price,link,qty,color,part,seller ,0.1,x,5,red,P,A >other.csv
	try lot-market -o offers.csv -o other.csv
	diff - <(figures 5) <<<15
	err_has '(3 such rows in all)'
}

@test "several files, stdin among them, are one market" {
	attic
	{ head -n 1 offers.csv && sed -n 4p offers.csv; } >one.csv
	sed 4d offers.csv >two.csv
	lot-market -q <offers.csv >due
	try lot-market -q -o two.csv -o one.csv
	cmp due "$OUT"
	try lot-market -q -o one.csv -o - <two.csv
	cmp due "$OUT"
	# The breaks of a listing may stand in two files.
	{ head -n 1 offers.csv && sed -n 3p offers.csv; } >one.csv
	sed 3d offers.csv >two.csv
	try lot-market -q -o two.csv -o one.csv
	cmp due "$OUT"
}

@test "currencies: of the offers, of the sellers, with the bank's fee; one rounding" {
	printf '%s\n' seller,currency A,GBP '*,EUR' >sellers.csv
	printf '%s\n' from,to,rate,fee,date GBP,EUR,1.168,,2026-03-01 GBP,EUR,1.2,,2026-03-02 EUR,SEK,11,2,2026-03-01 >rates.csv
	rows >offers.csv <<-'END'
		A,P,red,,10,0.10
		B,P,red,,10,0.10
		C,P,red,,10,1.1,,,,SEK
	END
	try lot-market -s sellers.csv -x rates.csv -C EUR --on 2026-03-01 <offers.csv
	exits 0
	# 0.1168, 0.10, and 1.1 / 11 x 1.02 = 0.102: 0.3188 / 3
	diff - <(figures 4-) <<<3,30,0.1,0.102,0.106267,0.1168,0.1168
	err_is <<-'END'
		lot-market: rates.csv:4: 1 EUR = 11 SEK, rate of 2026-03-01, fee 2 %
		lot-market: rates.csv:2: 1 GBP = 1.168 EUR, rate of 2026-03-01
		lot-market: 1 lot, 3 sellers, 3 offers, prices in EUR
	END
	try lot-market -q -s sellers.csv -x rates.csv -C EUR <offers.csv
	diff - <(figures 10) <<<0.12
	# Council Regulation (EC) No 1103/97, articles 4 and 5: by dividing. 500 SIT are 2.0864... EUR.
	printf '%s\n' date,SIT 2007-01-01,239.640 >wide.csv
	try lot-market -q -x wide.csv --rates-base EUR -C EUR < <(rows <<<A,P,red,,1,500,,,,SIT)
	diff - <(figures 6) <<<2.086463
}

@test "the mean of prices in many currencies, whose rates have no common denominator in 128 bits" {
	printf '%s\n' from,to,rate EUR,SEK,11.32503 EUR,CZK,25.01371 EUR,HUF,389.71093 EUR,DKK,7.46037 \
		EUR,PLN,4.25717 EUR,NOK,11.71933 EUR,CHF,0.93719 EUR,JPY,171.53119 EUR,USD,1.08421 >rates.csv
	rows >offers.csv < <(tail -n +2 rates.csv | awk -F, '{ print "S" $2 ",P,red,,7," NR "." NR ",,,," $2 }')
	try lot-market -q -x rates.csv -C EUR <offers.csv
	exits 0
	# With Python's fractions.
	diff <(figures 6,7,8,10) <(python3 - <<-'END'
		from fractions import Fraction
		rates = "11.32503 25.01371 389.71093 7.46037 4.25717 11.71933 0.93719 171.53119 1.08421".split()
		prices = sorted(Fraction("%d.%d" % (i, i)) / Fraction(rate) for i, rate in enumerate(rates, 1))
		figures = [prices[0], prices[4], sum(prices) / 9, prices[8]]
		print(",".join("%.6f" % (((2 * f * 10**6 + 1) // 2) / 10**6) for f in figures))
	END
	)
}

# Counted by hand. The rates divide here, and each pair of currencies has one: the two prices of each are 1 at home,
# together 3, and 3 / 6,000,000 is half of the last digit, of which no finite number of binary digits of the single
# fractions is sure, nor do 128 bits hold the product of the denominators. With F a millionth less, the mean is less by
# 2.4 x 10^-26.
@test "the mean of prices whose fractions add up to half of the last digit, and to less by the least amount" {
	printf '%s\n' from,to,rate EUR,SEK,1000000007000.000009 EUR,CZK,1000000007000.000009 EUR,HUF,3000000019000.000057 \
		EUR,DKK,3000000019000.000057 EUR,PLN,7000000033000.000211 EUR,NOK,7000000033000.000211 >rates.csv
	printf '%s\n' seller,part,color,qty,price,currency A,P,red,1,400000000000,SEK B,P,red,1,600000007000.000009,CZK \
		C,P,red,1,1000000000000,HUF D,P,red,1,2000000019000.000057,DKK E,P,red,1,3333333333333.333333,PLN \
		F,P,red,1,3666666699666.666878,NOK G,P,red,5999994,0,EUR >offers.csv
	try lot-market -q -x rates.csv -C EUR <offers.csv
	exits 0
	[ "$(figures 8)" = 0.000001 ]
	sed 's/3666666699666.666878/3666666699666.666877/' offers.csv >less.csv
	try lot-market -q -x rates.csv -C EUR <less.csv
	exits 0
	[ "$(figures 8)" = 0 ]
}

@test "prices whose mean 128 bits do not hold are refused" {
	printf '%s\n' from,to,rate EUR,USD,9000000000000.000001 >rates.csv
	printf '%s\n' seller,part,color,qty,price,currency A,P,red,999999999,9000000000000,EUR \
		B,P,red,7,8999999999999.999999,EUR >offers.csv
	try lot-market -C USD -x rates.csv <offers.csv
	refused 'lot-market: P, red: the prices are too large to be summed up'
}

@test "drawn markets against Python's fractions and statistics.median; rows shuffled, the same bytes" {
	local seed
	for seed in 1 2 3 4 5 6 7 8; do
		try python3 "$TESTS/oracle/check_market.py" 3000 "$seed"
		exits 0
	done
	try python3 "$TESTS/oracle/check_market.py" 50000 9
	exits 0
}

@test "memory: less than three times the size of the offers" {
	! sanitized || skip "sanitizers take memory of their own"
	# Many lots, short rows; one lot; a listing and a link for each row.
	awk 'BEGIN { srand(3); print "seller,part,color,qty,price"
		for (i = 0; i < 500000; i++)
			printf "s%d,p%d,c%d,%d,0.%d\n", rand() * 800, rand() * 5000, rand() * 40, 1 + rand() * 99, 1 + rand() * 98
	}' >many.csv
	sed 's/,p[0-9]*,c[0-9]*,/,p,c,/' many.csv >one.csv
	awk -F, -v OFS=, 'NR == 1 { print $0, "listing", "link" } NR > 1 { print $0, "k" NR, "https://example.org/" NR }' \
		many.csv >listed.csv
	for file in many one listed; do
		used=$(python3 "$TESTS/bench/measure.py" 1 $file.csv lot-market -q | cut -d ' ' -f 2)
		size=$(wc -c <$file.csv)
		echo "$file.csv: $size bytes, $used KiB of memory"
		[ $((used * 1024)) -le $((3 * size)) ]
	done
}

@test "forms of CSV, columns in any order; empty lists; hostile text" {
	attic
	lot-market -q <offers.csv >due
	sed 's/$/\r/; s/,/;/g; 1s/^/sep=;\r\n/' offers.csv >form.csv
	try lot-market -q <form.csv
	cmp due "$OUT"
	tr , ! <offers.csv >form.csv
	try lot-market -q -D ! <form.csv
	cmp due "$OUT"
	sed 's/red/grün/' offers.csv | iconv -t ISO-8859-1 >latin.csv
	try lot-market -q --encoding ISO-8859-1 <latin.csv
	out_has 'P-104,grün,new,1'
	try lot-market <latin.csv
	refused UTF-8
	try lot-market <<<seller,part,color,qty,price
	exits 0
	out_is <<<"$HEADER"
	err_is <<<'lot-market: 0 lots, 0 sellers, 0 offers'
	try lot-market </dev/null
	refused 'no header line'
	printf 'seller,part,color,qty,price\n"a,""b\n",=1+1,"re\nd",3,0.1\n' >odd.csv
	try lot-market -q <odd.csv
	exits 0
	out_is < <(printf '%s\n' "$HEADER" '=1+1,"re' 'd",,1,3,0.1,0.1,0.1,0.1,0.1')
}

@test "faults of offers: told with file and line, and nothing is written" {
	try lot-market < <(rows <<-'END'
		A,P,red,,x,0.1
		A,P,red,,1,-1
		,P,red,,1,1
		TOTAL,P,red,,1,1
		A,P,red,,1,1,0
		A,P,red,,1,1,,,,EUO
		A,P,,,1,1
	END
	)
	refused '<stdin>:2: qty "x" is no number'
	err_has '<stdin>:3: price "-1"'
	err_has '<stdin>:4: seller is empty'
	err_has '<stdin>:5: a seller may not be named "TOTAL"'
	err_has '<stdin>:6: step is 0'
	err_has '<stdin>:7: currency "EUO" is no currency code of ISO 4217: did you mean EUR?'
	err_has '<stdin>:8: color is empty'
	try lot-market <<<seller,part,qty
	refused '<stdin>:1: no column "color"'
	err_has '<stdin>:1: no column "price"'
	rows >a.csv <<-'END'
		A,P,red,,1,1,,,k
		A,P,blue,,1,1,,5,k
		B,P,red,,1,1,,,k
		B,P,red,,1,2,,,k
		C,P,red,,1,2,,,,EUR
	END
	rows >b.csv <<<C,P,red,,1,2,,,,GBP
	try lot-market -o a.csv -o b.csv -C EUR
	refused 'a.csv:3: rows of listing "k" differ in color: a listing is one color (see a.csv:2)'
	err_has 'a.csv:5: rows of listing "k" have the same least: price breaks of a listing differ in it (see a.csv:4)'
	err_has 'b.csv:2: offers of "C" are in different currencies: a seller has one (see a.csv:6)'
	for row in part:A,Q,red,,9,2,,5,k condition:A,P,red,used,9,2,,5,k qty:A,P,red,,8,2,,5,k step:A,P,red,,9,2,5,5,k; do
		try lot-market < <(rows <<<$'A,P,red,,9,1,,,k\n'"${row#*:}")
		refused "<stdin>:3: rows of listing \"k\" differ in ${row%%:*}"
	done
	try lot-market -o missing.csv
	refused 'missing.csv: No such file or directory'
}

@test "faults of sellers and rates" {
	attic
	printf '%s\n' seller,currency Attic,GBP Cellar, Counter,EUR >sellers.csv
	try lot-market -C EUR -s sellers.csv <offers.csv
	refused '<stdin>:4: no row of sellers.csv speaks for seller "Barn": add one, or one for *'
	echo '*,EUR' >>sellers.csv
	try lot-market -s sellers.csv <offers.csv
	refused 'several currencies are in use (EUR, GBP): say which is home with --currency'
	try lot-market -C EUR -s sellers.csv <offers.csv
	refused 'no rate from GBP to EUR: give a file of rates'
	printf '%s\n' from,to,rate GBP,USD,1.3 >rates.csv
	try lot-market -C EUR -s sellers.csv -x rates.csv <offers.csv
	refused 'no rate from GBP to EUR in rates.csv: add a row'
	try lot-market -C EUR -s sellers.csv < <(rows <<-'END'
		Attic,P,red,,1,1,,,,EUR
		Attic,Q,red,,1,1
	END
	)
	refused 'offers of "Attic" name EUR as their currency, or none where the seller'"'"'s is GBP: a seller has one'
	try lot-market -C EURO <offers.csv
	refused '--currency "EURO" is no currency code'
	try lot-market --rates-base EUR <offers.csv
	refused '--rates-base says how to read a file of rates: give --rates'
	try lot-market --on 2026-02-30 -x rates.csv <offers.csv
	refused '--on "2026-02-30" is no date'
}

@test "amounts that 128 bits do not hold are told" {
	printf '%s\n' from,to,rate,fee EUR,GBP,0.000001,99.999999 GBP,CHF,9000000000000.000001,99.999999 >rates.csv
	try lot-market -x rates.csv -C CHF < <(rows <<<A,P,red,,1,9000000000000.999999,,,,EUR)
	exits 2
	out_is_empty
	err_has 'too'
}

@test "options: help, version, unknown, twice; operands; full output, closed pipe" {
	attic
	try lot-market --help
	exits 0
	out_has "usage: lot-market"
	try lot-market -V
	exits 0
	out_has "lot-market "
	try lot-market --nonsense
	refused 'unknown or ambiguous option --nonsense'
	try lot-market -C EUR -C EUR
	refused 'option --currency is given twice'
	try lot-market offers.csv
	refused 'offers come from stdin, or -o FILE: there are no operands'
	try lot-market -o - -s -
	refused 'stdin is already an input'
	try lot-market -s - <offers.csv
	refused 'stdin is already an input'
	try sh -c 'lot-market <offers.csv >/dev/full'
	exits 2
	err_has '<stdout>: No space left on device'
	try bash -c '{ sleep 0.2; lot-market -q <offers.csv; echo "$?" >kept; } | true'
	[ "$(cat kept)" -eq 141 ]
}
