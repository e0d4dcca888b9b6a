#!/usr/bin/env bats
# How large things may be, and what happens past that: at the limit and one past it. The table of limits is
# in doc/reliability.md. Large inputs, measured, are in long/large.bats; small ones of the same shapes here.

# shellcheck disable=SC2094,SC2016 # one file read twice; patterns with a dollar sign

load lib
load runs

@test "every number of every file: the largest is taken or told, one past it is refused by name" {
	runs_files
	runs_listed >runs.tsv
	python3 "$TESTS/check_told.py" bounds runs.tsv
}

# ---- sums

@test "pieces of a lot: 999,999,999 are the most, summed up too" {
	local most=999999999 part=part,color,qty
	# 999,999,998 and 1 are one lot; one more, and rows stay apart, or that is told
	try lot-norm -q < <(printf '%s\n' $part P,red,999999998 P,red,1)
	exits 0
	out_is < <(printf '%s\n' $part P,red,$most)
	try lot-norm < <(printf '%s\n' $part P,red,$most P,red,1)
	refused 'too large'

	printf '%s\n' rule,do,part,qty spares,spare,P,1 >swaps.csv
	try lot-swap -q -r swaps.csv < <(printf '%s\n' $part P,red,999999998)
	exits 0
	out_is < <(printf '%s\n' $part P,red,$most)
	try lot-swap -q -r swaps.csv < <(printf '%s\n' $part P,red,$most)
	refused 'makes 1000000000 pieces'

	printf '%s\n' $part P,red,$most >most.csv
	printf '%s\n' $part P,red,$most P,red,1 >more.csv
	try lot-check -q -e most.csv <most.csv
	exits 0
	try lot-check -q -e most.csv <more.csv
	exits 1
	out_has "P,red,$most,1000000000,1,,over"
	try lot-check -q -e more.csv --into into.csv <more.csv
	refused "at most $most"

	# stock and offers may have more in all than a lot needs
	try lot-owned -k more.csv <most.csv
	exits 0
	err_has '999999999 pieces from stock, for 1 lot; 0 lots'
	printf '%s\n' seller,part,color,qty,price A,P,red,$most,0.01 A,P,red,1,0.01 >offers.csv
	printf '%s\n' seller,route '*,market' >sellers.csv
	try lot-split -q -o offers.csv -s sellers.csv <most.csv
	exits 0
	out_has ",999999998,0.01,,9999999.98,"
	try lot-split -q -o offers.csv -s sellers.csv <more.csv
	refused 'more than 999999999'
}

@test "money: qty x price and sums of it are exact up to 2^63 - 1 millionths, and refused one past it" {
	# 2^63 - 1 = 649657 x 14197294936951
	local header=seller,part,color,qty,price
	printf '%s\n' seller,route,currency A,market,EUR >sellers.csv
	try lot-total -q -s sellers.csv < <(printf '%s\n' $header A,P,red,649657,14197294.936951)
	exits 0
	out_has 'A,market,1,649657,EUR,9223372036854.78,0.00,0.00,9223372036854.78,EUR'
	try lot-total -q -s sellers.csv < <(printf '%s\n' $header A,P,red,649657,14197294.936952)
	refused '<stdin>:2: qty x price is too large'
	try lot-total -q -s sellers.csv < <(printf '%s\n' $header A,P,red,649657,14197294.936951 A,P,blue,1,0.000001)
	refused 'A: the figures are too large to count exactly'

	# two orders may come to more: their sum is of 128 bits
	try lot-total -q -s sellers.csv < <(printf '%s\n' $header A,P,red,649657,14197294.936951) && cp "$OUT" one.csv
	printf '%s\n' seller,route,currency A,market,EUR B,market,EUR >sellers.csv
	try lot-total -q -s sellers.csv < <(printf '%s\n' $header A,P,red,649657,14197294.936951 B,P,red,1,9000000000000)
	exits 0
	out_has 'TOTAL,,2,649658,EUR,18223372036854.78,'
	# which is past what a file can say: lot-compare says so
	cp "$OUT" two.csv
	sed -i 's/54\.78/54.77/g' one.csv
	try lot-compare -q one.csv
	exits 0
	out_has one,1,1,649657,9223372036854.77,
	try lot-compare -q one.csv two.csv
	refused 'home "18223372036854.78" is too large'
}

@test "conversion and percent: what 128 bits do not hold is refused" {
	local header=seller,part,color,qty,price,currency
	printf '%s\n' seller,charge,percent '*,fee,9000000000000' >charges.csv
	try lot-total -q -c charges.csv < <(printf '%s\n' $header A,P,red,1,1,EUR)
	exits 0
	out_has 'A,,1,1,EUR,1.00,90000000000.00,0.00,90000000001.00,'
	printf '%s\n' from,to,rate EUR,GBP,9000000000000 GBP,USD,9000000000000 >rates.csv
	try lot-total -q -C USD -x rates.csv < <(printf '%s\n' $header A,P,red,1,0.01,EUR)
	exits 0
	out_has ',USD,810000000000000000000000.00,0.00,0.00,0.00,810000000000000000000000.00'
	try lot-total -q -C USD -x rates.csv < <(printf '%s\n' $header A,P,red,1,9000000000000,EUR)
	refused 'too large'
	try lot-market -q -C USD -x rates.csv < <(printf '%s\n' seller,part,color,qty,price,currency A,P,red,1,9000000000000,EUR)
	refused 'too large'
}

@test "drawn orders with extreme figures: exact, as counted in fractions, or refused" {
	python3 "$TESTS/oracle/extreme.py" --program "$BIN/lot-total" total 1 200
}

@test "drawn needs with extreme figures: plans exact, bounds below them, or refused" {
	python3 "$TESTS/oracle/extreme.py" --program "$BIN/lot-split" split 1 80
}

@test "lot-split: a piece up to 1,000,000,000 of home currency, an order's charges to 1,000,000,000,000" {
	local offers=seller,part,color,qty,price
	printf '%s\n' part,color,qty P,red,999999999 >need.csv
	printf '%s\n' seller,route,currency,tax '*,market,EUR,0' >sellers.csv
	printf '%s\n' seller,charge,amount '*,shipping,1000000000000' >charges.csv
	printf '%s\n' $offers A,P,red,1,1000000000 >offers.csv
	try lot-split -o offers.csv -s sellers.csv -c charges.csv <need.csv
	exits 1
	out_has ',1,1000000000,EUR,1000000000,'
	err_has '1001000000000.00 EUR landed'
	sed -i 's/,0$/,1/' sellers.csv
	try lot-split -q -o offers.csv -s sellers.csv <need.csv
	refused 'offers.csv:2: the price is too large: a piece can come to more than 1,000,000,000'
	sed -i 's/,1$/,0/' sellers.csv
	printf '%s\n' $offers A,P,red,1,1000000000.000001 >offers.csv
	try lot-split -q -o offers.csv -s sellers.csv <need.csv
	refused 'offers.csv:2: the price is too large'
	printf '%s\n' $offers A,P,red,1,1 >offers.csv
	sed -i 's/,1000000000000$/,1000000000001/' charges.csv
	try lot-split -q -o offers.csv -s sellers.csv -c charges.csv <need.csv
	refused 'offers.csv:2: a charge, the minimum or the order cost of seller "A" is too large'
	printf '%s\n' part,color,qty,worth P,red,1,1000000000.000001 >need.csv
	try lot-split -q -o offers.csv -s sellers.csv <need.csv
	refused '<stdin>:2: worth is too large'
	printf '%s\n' part,color,qty,penalty P,red,1,1000000000.000001 >need.csv
	try lot-split -q -o offers.csv -s sellers.csv <need.csv
	refused '<stdin>:2: penalty is too large'
}

@test "lot-split: an exchange rate of more digits than the search has room for" {
	printf '%s\n' part,color,qty P,red,1 >need.csv
	printf '%s\n' seller,part,color,qty,price,currency A,P,red,1,1,EUR >offers.csv
	printf '%s\n' seller,route '*,market' >sellers.csv
	# 10^24 on either side are the most; these come to 8.1 x 10^25, and to 10^12 in lowest terms.
	printf '%s\n' from,to,rate EUR,GBP,9000000000000.000001 GBP,CHF,9000000000000.000003 >rates.csv
	try lot-split -q -o offers.csv -s sellers.csv -x rates.csv -C CHF <need.csv
	refused 'offers.csv:2: the exchange rate for the currency of seller "A" is too large, or has too many digits, for the search'
	printf '%s\n' from,to,rate EUR,GBP,30000.000001 GBP,CHF,10000.000003 >rates.csv
	try lot-split -q -o offers.csv -s sellers.csv -x rates.csv -C CHF <need.csv
	exits 0
}

@test "lot-split --keep: an open order too large is told, and is no plan" {
	# found here: a fault that was told did not end the reckoning
	printf '%s\n' part,color,qty P,red,2 >need.csv
	printf '%s\n' seller,part,color,qty,price A,P,red,9,1 >offers.csv
	printf '%s\n' seller,route,currency A,market,EUR >sellers.csv
	printf '%s\n' seller,charge,basis,amount A,post,weight,1 >charges.csv
	printf '%s\n' seller,part,color,qty,price,grams,state A,P,red,2,1,9223372036854.775807,open >kept.csv
	try lot-split -q -o offers.csv -s sellers.csv -c charges.csv --keep kept.csv <need.csv
	refused "kept.csv:2: the order's sums are too large with this line"
}

@test "lot-drift: a new price that makes a line too large" {
	# found here: the product went round 64 bits
	printf '%s\n' seller,part,color,qty,price A,P,red,30,1 >orders.csv
	printf '%s\n' seller,part,color,qty,price A,P,red,30,9223372036854.775807 >offers.csv
	printf '%s\n' seller,route,currency A,market,EUR >sellers.csv
	try lot-drift -q -o offers.csv -s sellers.csv --no-plan <orders.csv
	refused 'A: the figures are too large to count exactly'
}

# charge_list COUNT AFTER: so many charges of one seller, each after those that AFTER, in Python, lists of i.
charge_list() {
	python3 -c 'import sys
print("seller,charge,basis,percent,after")
for i in range(int(sys.argv[1])):
    print("A,c%d,landed,100," % i + "|".join("c%d" % k for k in eval(sys.argv[2])))' "$1" "$2" >charges.csv
}

@test "charges of a seller: 1,000 are the most, and one that comes after many is counted once" {
	# found here: a charge was counted anew for each that comes after it, and for each after that: 20 of them took minutes
	printf '%s\n' seller,part,color,qty,price,currency A,P,red,1,1,EUR >orders.csv
	charge_list 60 'range(i)'
	try timeout 60 lot-total -q -c charges.csv <orders.csv
	exits 0
	# each is as much as the goods and all before it
	[ "$(sed -n '2s/.*,//p' "$OUT")" = "$(python3 -c 'print(2 ** 60)').00" ]
	printf '%s\n' part,color,qty P,red,1 >need.csv
	printf '%s\n' seller,route,currency A,market,EUR >sellers.csv
	charge_list 25 'range(i)'
	try timeout 60 lot-split -o orders.csv -s sellers.csv -c charges.csv <need.csv
	exits 0
	err_has "$(python3 -c 'print(2 ** 25)').00 EUR landed, proved least"

	# in a row, the last one first
	charge_list 1000 'range(i + 1, min(i + 2, 1000))'
	sed -i 's/,100,/,0,/' charges.csv
	try timeout 60 lot-total -q -c charges.csv <orders.csv
	exits 0
	charge_list 1001 'range(0)'
	try lot-total -q -c charges.csv <orders.csv
	refused 'charges.csv:1001: seller "A" has more than 1000 charges, by class and name: that many are the most'
	charge_list 1 'range(1, 1001)'
	try lot-total -q -c charges.csv <orders.csv
	refused 'charges.csv:2: after names "c1", and no charge of that name counts with "c0"'
	charge_list 1 'range(1, 1002)'
	try lot-total -q -c charges.csv <orders.csv
	refused 'charges.csv:2: after names 1001 charges: 1000 are the most'
}

@test "a charge of many steps, in little memory" {
	# found here: every two of them were told apart in memory of their own
	printf '%s\n' seller,part,color,qty,price,currency A,P,red,1,30000,EUR >orders.csv
	numbered 0 40000 seller,charge,from,amount A,post,@,@.5 >charges.csv
	sanitized || ulimit -v 200000
	try timeout 60 lot-total -q -c charges.csv <orders.csv
	exits 0
	out_has ',30000.00,30000.50,0.00,60000.50,'
	echo A,post,30000,1 >>charges.csv
	try timeout 60 lot-total -q -c charges.csv <orders.csv
	refused 'charges.csv:40003: charge "post" has a step at this place at line 30002: keep one'
}

# ---- shapes

# columns N: a need list with so many columns.
columns() {
	seq -s, -f 'c%g' 1 $(($1 - 3)) | sed 's/^/part,color,qty,/'
	seq -s, 1 $(($1 - 3)) | sed 's/^/P,red,1,/'
}

@test "16,384 columns are the most" {
	local run words
	columns 16384 >most.csv
	columns 16385 >more.csv
	try lot-norm -q <most.csv
	exits 0
	cmp most.csv "$OUT"
	try lot-show -q --to sheet <most.csv
	exits 0
	for words in lot-norm 'lot-norm stock' 'lot-swap -r most.csv' 'lot-owned -k most.csv' 'lot-split -o most.csv -s most.csv' \
		lot-total 'lot-compare a=more.csv' 'lot-check -e most.csv' 'lot-deal -d x' lot-show lot-market \
		'lot-price --prices most.csv' 'lot-drift -o most.csv -s most.csv' lot-plot 'lot-gain -r most.csv -o most.csv -s most.csv'; do
		read -ra run <<<"${words//most.csv/more.csv}"
		try "${run[@]}" <more.csv
		refused ':1: the header names 16385 columns: 16384 are the most'
	done
	[ ! -e x ]
}

@test "patterns: repeats up to 65,535, groups 250 deep, and a size that PCRE2 takes" {
	local header=rule,do,part,to_part deep
	printf '%s\n' part,color,qty P,red,1 >need.csv
	rule() {
		printf '%s\n' "$header" "r,use,\"$1\",$2" >swaps.csv
		try lot-swap -q -r swaps.csv <need.csv
	}
	rule 'P{1,65535}' Q
	exits 0
	out_has Q,red,1
	rule 'P{1,65536}' Q
	refused 'swaps.csv:2: part "P{1,65536}" is no PCRE2 pattern: number too big in {} quantifier'
	deep=$(printf '(%.0s' {1..250})P$(printf ')%.0s' {1..250})
	rule "$deep" Q
	exits 0
	rule "($deep)" Q
	refused 'parentheses are too deeply nested'
	rule '(?:(?:(?:abcdefgh){999}){999}){999}' Q
	refused 'regular expression is too large'
	rule '(P)' '$99999999999999999999999'
	refused 'but the pattern has 1 groups'
}

@test "rules that double the list, or a name, one after the other: told once it is too much" {
	printf '%s\n' part,color,qty P,red,1 >one.csv
	numbered 1 20 rule,do,color,to_color 'r@,may,(.*),$1-@' >swaps.csv
	try timeout 120 lot-swap -q -r swaps.csv <one.csv
	refused 'swaps.csv:18: rule "r17" makes more than 100100 rows of a list of 1: that many are the most'
	sed '17,$d' swaps.csv >fewer.csv
	try timeout 120 lot-swap -q -r fewer.csv <one.csv
	exits 0
	[ "$(wc -l <"$OUT")" -eq 32769 ]

	numbered 1 40 rule,do,part,to_part 'r@,use,(.*),$1$1' >swaps.csv
	try timeout 60 lot-swap -q -r swaps.csv <one.csv
	refused 'swaps.csv:18: part "(.*)" on "PPPP'
	err_has 'what is put in its place is too long: 65536 bytes are the most'
	sed '18,$d' swaps.csv >fewer.csv
	try lot-swap -q -r fewer.csv <one.csv
	exits 0
	[ "$(sed -n 2p "$OUT" | tr -dc P | wc -c)" -eq 65536 ]
	sed 's/rule,do,part,to_part/column,pattern,name/; s/^r[0-9]*,use,/part,/' swaps.csv >names.csv
	try timeout 60 lot-norm -q -n names.csv <one.csv
	refused 'what is put in its place is too long'
	# a long field may stay, and get more
	printf 'part,color,qty\n%s,red,1\n' "$(head -c 1000000 /dev/zero | tr '\0' P)" >need.csv
	printf '%s\n' rule,do,part,to_part 'r,use,(.*),$1-x' >swaps.csv
	try lot-swap -q -r swaps.csv <need.csv
	exits 0
}

@test "a replacement of many times the field" {
	printf '%s\n' rule,do,part,to_part "r,use,(P*),$(printf '$1%.0s' {1..60})" >swaps.csv
	printf 'part,color,qty\n%s,red,1\n' "$(printf 'P%.0s' {1..1000})" >need.csv
	try lot-swap -q -r swaps.csv <need.csv
	exits 0
	[ "$(sed 1d "$OUT" | tr -d 'P\n')" = ',red,1' ] || show 'something else than P'
	[ "$(sed 1d "$OUT" | tr -dc P | wc -c)" -eq 60000 ]
}

@test "as many files as the command line takes, few of them open at once" {
	local files=() totals=() i
	runs_files
	printf '%s\n' seller,part,color,qty,price >head.csv
	mkdir many
	for i in {1..600}; do
		{ cat head.csv && echo "Kiste,P-104,red,1,$i"; } >"many/$i.csv"
		files+=(-o "many/$i.csv")
		totals+=("t$i=totals.csv")
	done
	ulimit -n 24
	try lot-market -C EUR "${files[@]}"
	exits 0
	err_has '600 offers'
	try lot-split -q -s sellers.csv -C EUR "${files[@]}" -o offers.csv -o more.csv -x rates.csv --effort 100000 <need.csv
	[ "$status" -lt 2 ]
	try lot-compare -q "${totals[@]}"
	exits 0
	[ "$(wc -l <"$OUT")" -eq 601 ]
	try lot-norm -q "${files[@]/-o/need.csv}" offers
	[ "$status" -eq 2 ] # a list given twice
	# and a file a seller
	{
		echo seller,part,color,qty,price
		seq -f 'seller %g,P,red,1,1' 1 600
	} >orders.csv
	try lot-deal -q -d dealt <orders.csv
	exits 0
	[ "$(find dealt -name '*.csv' | wc -l)" -eq 601 ]
}

@test "large fields, lines, lists, in little memory: every program, as in long/large.bats" {
	# The sizes there are a thousand times these: figures are printed, and no time is a fault.
	# A sanitizer takes all addresses.
	sanitized || ulimit -v 1000000
	python3 "$TESTS/large.py" field=100000 columns=300 rows=250 names=250 line=100000 quote=100000
}

@test "long side files, in little memory: every program that reads them, as in long/large.bats" {
	sanitized || ulimit -v 1000000
	python3 "$TESTS/large.py" steps=250 charges=250 tariffs=250 sellers=250 adds=25 alternatives=25 uses=25 \
		rule=25 map=250 named=250 codes=250 rates=250 weights=250 others=250 shares=25 kept=25 paid=25 stock=250 wanted=25
}

@test "names of more than 1,000 characters are like no other: nothing is near them" {
	local long
	long=$(printf 'x%.0s' {1..1000})
	printf '%s\n' part,color,qty "$long,red,1" "${long}x,red,1" >known.csv
	printf '%s\n' part,color,qty "${long}y,red,1" "y${long#x},red,1" >need.csv
	try lot-norm -q --known known.csv --unknown unknown.csv <need.csv
	exits 0
	sed "s/$long/LONG/g; s/${long#x}/LONG-1/g" unknown.csv >short.csv
	diff - short.csv <<-END2
		column,pattern,name,nearest,edits,nearest_2,edits_2,nearest_3,edits_3,rows
		part,LONGy,,,,,,,,1
		part,yLONG-1,,LONG,1,,,,,1
	END2
	printf '%s\n' seller,part,color,qty,price,currency "A,P,red,1,1,$(head -c 100000 /dev/zero | tr '\0' E)" >orders.csv
	try lot-total -q <orders.csv
	refused 'is no currency code of ISO 4217'
}
