#!/usr/bin/env bats
# lot-compare: several totals side by side as scenarios. Figures are counted by hand. All sellers and
# prices are invented.

load lib

HEADER=seller,route,lots,pieces,currency,goods,charges,tax,total,home_currency,home_goods,home_charges,home_tax,rounding,home

# totals NAME: the rows on stdin (seller, route, lots, pieces, home_currency, home_goods, home_charges,
# home_tax, rounding, home) as the totals file NAME.csv.
totals() {
	{ echo "$HEADER" && sed 's/^\([^,]*,[^,]*,[^,]*,[^,]*,\)/\1,,,,,/'; } >"$1.csv"
}

far_and_near() {
	totals far <<-'END'
		Attic,market,3,40,EUR,4.10,2.85,0.00,0.00,6.95
		Counter,direct,4,60,EUR,9.00,6.00,3.15,0.00,18.15
		instructions,other,0,0,EUR,8.00,0.00,0.56,0.00,8.56
		TOTAL,,7,100,EUR,21.10,8.85,3.71,0.00,33.66
	END
	totals near <<-'END'
		Counter,direct,7,100,EUR,13.90,6.00,4.18,0.00,24.08
		instructions,other,0,0,EUR,8.00,0.00,0.56,0.00,8.56
		TOTAL,,7,100,EUR,21.90,6.00,4.74,0.00,32.64
	END
}

@test "a row a scenario: parts of the orders, others, and what is saved on the first" {
	far_and_near
	try lot-compare far=far.csv near=near.csv
	exits 0
	out_is <<-'END'
		scenario,orders,lots,pieces,goods,charges,tax,others,rounding,total,saving,saving_percent,per_piece
		far,2,7,100,13.10,8.85,3.15,8.56,0.00,33.66,0.00,0.00,0.3366
		near,1,7,100,13.90,6.00,4.18,8.56,0.00,32.64,1.02,3.03,0.3264
	END
	err_is <<<'lot-compare: 2 scenarios, least is "near" at 32.64 EUR, 1.02 less than "far"'
}

@test "--base: savings are on that scenario, and may be negative" {
	far_and_near
	try lot-compare -q --base near far=far.csv near=near.csv
	exits 0
	err_is_empty
	# 1.02 / 32.64 = 3.125 %, a half that goes away from zero
	cut -d , -f 1,10-12 "$OUT" >found
	diff - found <<-'END'
		scenario,total,saving,saving_percent
		far,33.66,-1.02,-3.13
		near,32.64,0.00,0.00
	END
	try lot-compare --base nera far=far.csv near=near.csv
	refused '--base: no scenario is named "nera", did you mean "near"?'
}

@test "without NAME= the file's name is the scenario's; stdin needs one" {
	far_and_near
	mkdir plans
	mv near.csv plans/near.csv
	mv far.csv far.totals
	try lot-compare -q far.totals plans/near.csv 'by stdin=-' < <(cat plans/near.csv)
	exits 0
	cut -d , -f 1,10 "$OUT" >found
	diff - found <<-'END'
		scenario,total
		far.totals,33.66
		near,32.64
		by stdin,32.64
	END
	try lot-compare - <far.totals
	refused 'a scenario from stdin has no name: NAME=-'
	try lot-compare a=- b=- <far.totals
	refused 'stdin is already an input'
	try lot-compare plans/near.csv near=far.totals
	refused 'two scenarios are named "near"'
	try lot-compare =far.totals
	refused 'operand "=far.totals" is not NAME=FILE'
	try lot-compare far=
	refused 'operand "far=" is not NAME=FILE'
	try lot-compare
	refused 'no totals to compare: NAME=FILE...'
}

@test "rounding, that of cash too, is what the parts lack to the total" {
	totals a <<-'END'
		A,market,1,3,EUR,0.51,0.51,0.51,-0.01,1.52
		voucher,other,0,0,EUR,-0.10,0.00,0.00,0.00,-0.10
		TOTAL,,1,3,EUR,0.41,0.51,0.51,-0.03,1.40
	END
	try lot-compare -q a.csv
	# 1.40 / 3 = 0.4666..., to six decimals
	out_is <<-'END'
		scenario,orders,lots,pieces,goods,charges,tax,others,rounding,total,saving,saving_percent,per_piece
		a,1,1,3,0.51,0.51,0.51,-0.10,-0.03,1.40,0.00,0.00,0.466667
	END
}

@test "a base that costs less than nothing: in percent of that, a piece to less than nothing" {
	totals gift <<-'END'
		Attic,market,1,8,EUR,1.00,0.00,0.00,0.00,1.00
		voucher,other,0,0,EUR,-3.05,0.00,0.00,0.00,-3.05
		TOTAL,,1,8,EUR,-2.05,0.00,0.00,0.00,-2.05
	END
	totals bare <<-'END'
		Attic,market,1,8,EUR,1.00,0.00,0.00,0.00,1.00
		TOTAL,,1,8,EUR,1.00,0.00,0.00,0.00,1.00
	END
	try lot-compare -q gift.csv bare.csv
	exits 0
	# -3.05 / -2.05 is 148.7804...; -2.05 / 8 is -0.25625
	out_is <<-'END'
		scenario,orders,lots,pieces,goods,charges,tax,others,rounding,total,saving,saving_percent,per_piece
		gift,1,1,8,1.00,0.00,0.00,-3.05,0.00,-2.05,0.00,0.00,-0.25625
		bare,1,1,8,1.00,0.00,0.00,0.00,0.00,1.00,-3.05,148.78,0.125
	END
}

@test "totals as large as there are: exact to the last digit, one more is refused" {
	totals most <<-'END'
		voucher,other,0,0,JPY,9223372036854.775807,0,0,0,9223372036854.775807
		TOTAL,,0,0,JPY,9223372036854.775807,0,0,0,9223372036854.775807
	END
	totals least <<-'END'
		voucher,other,0,0,JPY,-9223372036854.775807,0,0,0,-9223372036854.775807
		TOTAL,,0,0,JPY,-9223372036854.775807,0,0,0,-9223372036854.775807
	END
	totals tiny <<-'END'
		voucher,other,0,0,JPY,0.000001,0,0,0,0.000001
		TOTAL,,0,0,JPY,0.000001,0,0,0,0.000001
	END
	try lot-compare -q --base tiny most.csv least.csv tiny.csv
	exits 0
	cut -d , -f 1,10-12 "$OUT" >found
	diff - found <<-'END'
		scenario,total,saving,saving_percent
		most,9223372036854.775807,-9223372036854.775806,-922337203685477580600.00
		least,-9223372036854.775807,9223372036854.775808,922337203685477580800.00
		tiny,0.000001,0,0.00
	END
	try lot-compare -q most.csv least.csv
	exits 0
	out_has 'least,0,0,0,0,0,0,-9223372036854.775807,0,-9223372036854.775807,18446744073709.551614,200.00,'
	totals most <<-'END'
		voucher,other,0,0,JPY,9223372036854.775808,0,0,0,9223372036854.775808
		TOTAL,,0,0,JPY,9223372036854.775808,0,0,0,9223372036854.775808
	END
	try lot-compare -q most.csv least.csv
	refused 'most.csv:2: home_goods "9223372036854.775808" is too large'
}

@test "nothing bought: no percent, no price of a piece" {
	totals none <<<'TOTAL,,0,0,JPY,0,0,0,0,0'
	totals one <<-'END'
		A,market,1,4,JPY,100,20,0,0,120
		TOTAL,,1,4,JPY,100,20,0,0,120
	END
	try lot-compare none.csv one.csv
	exits 0
	out_is <<-'END'
		scenario,orders,lots,pieces,goods,charges,tax,others,rounding,total,saving,saving_percent,per_piece
		none,0,0,0,0,0,0,0,0,0,0,,
		one,1,1,4,100,20,0,0,0,120,-120,,30
	END
	err_is <<<'lot-compare: 2 scenarios, least is "none" at 0 JPY'
}

@test "totals with a column a charge, of other delimiters, in any order of columns, without a currency" {
	printf '%s\n' 'home;rounding;Home_Tax;home_charges;home_goods;home_currency;post;pieces;lots;route;seller' \
		'3.50;0.00;0.00;1.50;2.00;;1.50;8;2;market;A' '3.50;0.00;0.00;1.50;2.00;;1.50;8;2;;TOTAL' >a.csv
	try lot-compare a.csv
	exits 0
	out_is <<-'END'
		scenario,orders,lots,pieces,goods,charges,tax,others,rounding,total,saving,saving_percent,per_piece
		a,1,2,8,2.00,1.50,0.00,0.00,0.00,3.50,0.00,0.00,0.4375
	END
	err_is <<<'lot-compare: 1 scenario, least is "a" at 3.50'
	sed 's/;/!/g' a.csv >b.csv
	try lot-compare -q -D ! b.csv
	exits 0
	tail -n 1 "$OUT" | grep -q '^b,1,2,8,'
	sed 's/;A$/;Krümel/' a.csv | iconv -t ISO-8859-1 >d.csv
	try lot-compare -q --encoding ISO-8859-1 d.csv
	exits 0
	try lot-compare d.csv
	refused UTF-8
}

@test "what lot-total writes, with every detail, and cash" {
	printf '%s\n' seller,part,color,qty,price,currency A,P,red,10,0.333,USD B,P,red,7,0.07,GBP >orders.csv
	printf '%s\n' seller,tax,tax_on A,7+1, B,20,included >sellers.csv
	printf '%s\n' seller,charge,amount,estimate '*,post,1.99,yes' >charges.csv
	printf '%s\n' from,to,rate USD,EUR,0.857 GBP,EUR,1.151 >rates.csv
	printf '%s\n' item,amount,currency,tax instructions,12.5,USD,7 >others.csv
	lot-total -q -s sellers.csv -c charges.csv -x rates.csv -C EUR --others others.csv <orders.csv >plain.csv
	lot-total -q -s sellers.csv -c charges.csv -x rates.csv -C EUR --others others.csv --each-charge --cash 0.05 \
		<orders.csv >cash.csv
	try lot-compare -q plain.csv cash.csv
	exits 0
	# A: 3.33, 1.99, 0.37 + 0.05: 5.74 USD are 4.91918; 2.85, 1.71, 0.36. B: 2.48 GBP: 0.41 + 1.66 net, 0.41
	# of tax, are 2.85448; 0.47, 1.91, 0.47. Instructions: 13.38 USD are 11.46666.
	out_is <<-'END'
		scenario,orders,lots,pieces,goods,charges,tax,others,rounding,total,saving,saving_percent,per_piece
		plain,2,2,17,3.32,3.62,0.83,11.47,0.00,19.24,0.00,0.00,1.131765
		cash,2,2,17,3.32,3.62,0.83,11.47,0.01,19.25,-0.01,-0.05,1.132353
	END
}

@test "40 drawn totals: the parts of every scenario add up to its total" {
	# Drawn as for lot-total's own tests; added up with Python's decimal.
	python3 - "$TESTS/oracle" <<-'END'
		import os, subprocess, sys
		sys.path.insert(0, sys.argv[1])
		import check_total
		for seed in range(1, 41):
		    check_total.make(seed, "d")
		    words = open("d/args").read().split()
		    with open("d/orders.csv") as orders, open("%d.csv" % seed, "w") as out:
		        if subprocess.run(["lot-total", "-q"] + words, stdin=orders, stdout=out, cwd="d",
		                          stderr=subprocess.DEVNULL).returncode > 1:
		            sys.exit("lot-total failed")
		    home = words[words.index("-C") + 1]
		    with open(home + ".list", "a") as names:
		        names.write("%d.csv\n" % seed)
	END
	local currency
	for currency in EUR USD; do
		# shellcheck disable=SC2046
		try lot-compare -q $(cat "$currency.list")
		exits 0
		python3 - "$OUT" <<-'END'
			import csv, sys
			from decimal import Decimal
			rows = list(csv.DictReader(open(sys.argv[1]), strict=True))
			assert len(rows) > 3
			for row in rows:
			    parts = sum(Decimal(row[name]) for name in "goods charges tax others rounding".split())
			    assert parts == Decimal(row["total"]), row
			    assert Decimal(row["saving"]) == Decimal(rows[0]["total"]) - Decimal(row["total"]), row
		END
	done
}

@test "home currencies that differ are an error, in one file too" {
	far_and_near
	sed 's/EUR/USD/' near.csv >other.csv
	try lot-compare far.csv other.csv
	refused 'other.csv: the home currency is "USD", and that of far.csv is "EUR": scenarios are compared in one'
	sed '3s/EUR/USD/' far.csv >mixed.csv
	try lot-compare mixed.csv
	refused 'mixed.csv:3: home_currency is "USD" here and "EUR" before: totals have one'
	sed 's/EUR/EUO/' far.csv >slip.csv
	try lot-compare slip.csv
	refused 'slip.csv:2: home_currency "EUO" is no currency code of ISO 4217: did you mean EUR?'
}

@test "tables that are not as lot-total wrote them" {
	far_and_near
	grep -v Counter far.csv >less.csv
	try lot-compare less.csv
	refused 'less.csv:4: lots and pieces are not the sum of the rows'
	err_has 'less.csv:4: home_goods is 21.1, and the sum of the rows is 12.1: take the table as lot-total wrote it'
	grep -v TOTAL far.csv >none.csv
	try lot-compare none.csv
	refused 'none.csv: there is no TOTAL row'
	{ cat far.csv && tail -n +2 near.csv; } >both.csv
	try lot-compare both.csv
	refused 'both.csv:8: there is a TOTAL row at line 5 already: give one file a scenario'
	sed '2s/6.95/7.95/' far.csv >edited.csv
	try lot-compare edited.csv
	refused 'edited.csv:2: home is 7.95, and the sum of its parts is 6.95'
	sed '2s/4.10/4,10/' far.csv >comma.csv
	try lot-compare comma.csv
	refused 'comma.csv:2: 16 fields, but the header names 15'
	sed '2s/4.10/four/' far.csv >word.csv
	try lot-compare word.csv
	refused 'word.csv:2: home_goods "four" is no number'
	cut -d , -f 1-9 far.csv >cut.csv
	try lot-compare cut.csv
	refused 'cut.csv:1: no column "home_currency"'
	: >empty.csv
	try lot-compare far.csv empty.csv
	refused 'empty.csv'
	try lot-compare far.csv missing.csv
	refused 'missing.csv: No such file or directory'
}

@test "options: help, version, unknown, twice; full output, closed pipe" {
	far_and_near
	try lot-compare --help
	exits 0
	out_has "usage: lot-compare"
	try lot-compare -V
	exits 0
	out_has "lot-compare "
	try lot-compare --nonsense far.csv
	refused 'unknown or ambiguous option --nonsense'
	try lot-compare --base far --base far far.csv
	refused 'option --base is given twice'
	try sh -c 'lot-compare far.csv >/dev/full'
	exits 2
	err_has '<stdout>: No space left on device'
	try bash -c '{ sleep 0.2; lot-compare -q far.csv; echo "$?" >kept; } | true'
	[ "$(cat kept)" -eq 141 ]
}
