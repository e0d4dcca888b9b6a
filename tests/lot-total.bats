#!/usr/bin/env bats
# lot-total: orders with charges, tax and currency. Figures are counted by hand unless a source is
# named. All sellers, parts and prices are invented.

load lib

orders() {
	cat >orders.csv
}

sellers() {
	cat >sellers.csv
}

charges() {
	cat >charges.csv
}

rates() {
	cat >rates.csv
}

# total [OPTION...]: the orders of orders.csv.
total() {
	try lot-total "$@" <orders.csv
}

# columns_are A,B,...: these columns of what came out are what stands on stdin.
columns_are() {
	python3 -c '
import csv, sys
names = sys.argv[1].split(",")
for row in csv.DictReader(sys.stdin, strict=True):
    print(",".join(row[name] for name in names))
' "$1" <"$OUT" >columns
	diff -u --label due --label "columns $1" - columns || show "columns $1 differ"
}

# ---- what an order is

@test "lines of a seller are one order; lots are different part, color and condition" {
	orders <<-'END'
		seller,route,class,lot,part,color,condition,qty,price,currency,amount,surplus,grams,listing
		Kiste,market,,a,P-1,red,,10,0.05,EUR,0.5,0,,
		Kiste,market,,b,P-1,red,,4,0.05,EUR,0.2,0,,
		Kiste,market,,c,P-1,red,used,6,0.03,EUR,0.18,2,,
		Counter,direct,shelf,a,P-1,red,,5,0.08,EUR,0.4,0,,
	END
	total
	exits 0
	out_is <<-'END'
		seller,route,lots,pieces,currency,goods,charges,tax,total,home_currency,home_goods,home_charges,home_tax,rounding,home
		Counter,direct,1,5,EUR,0.40,0.00,0.00,0.40,EUR,0.40,0.00,0.00,0.00,0.40
		Kiste,market,2,20,EUR,0.88,0.00,0.00,0.88,EUR,0.88,0.00,0.00,0.00,0.88
		TOTAL,,3,25,EUR,1.28,0.00,0.00,1.28,EUR,1.28,0.00,0.00,0.00,1.28
	END
	err_is <<<"lot-total: 2 orders, 25 pieces, 1.28 EUR"
}

@test "only seller, part, color, qty and price are needed; the seller's route and currency stand in" {
	orders <<-'END'
		PRICE;qty; Color ;part;seller
		0.5;2;red;P-1;A
	END
	sellers <<-'END'
		seller,route,currency
		A,market,GBP
	END
	total -q -s sellers.csv
	exits 0
	err_is_empty
	columns_are seller,route,currency,total,home <<-'END'
		A,market,GBP,1.00,1.00
		TOTAL,,GBP,1.00,1.00
	END
}

@test "no currency anywhere: two decimals and no code" {
	orders <<-'END'
		seller,part,color,qty,price
		A,P-1,red,3,0.335
	END
	total
	exits 0
	columns_are currency,goods,home_currency,home <<-'END'
		,1.01,,1.01
		,1.01,,1.01
	END
	err_is <<<"lot-total: 1 order, 3 pieces, 1.01"
}

@test "a header alone totals to nothing, in home currency where that is said" {
	orders <<<"seller,part,color,qty,price"
	total -C JPY
	exits 0
	out_is <<-'END'
		seller,route,lots,pieces,currency,goods,charges,tax,total,home_currency,home_goods,home_charges,home_tax,rounding,home
		TOTAL,,0,0,JPY,0,0,0,0,JPY,0,0,0,0,0
	END
}

@test "goods are rounded once, the sum and not the lines" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		A,P-1,red,1,0.333,EUR
		A,P-2,red,1,0.333,EUR
		A,P-3,red,1,0.333,EUR
		B,P-1,red,1,0.004999,EUR
		C,P-1,red,1,0.005,EUR
	END
	total -q
	columns_are seller,goods,total <<-'END'
		A,1.00,1.00
		B,0.00,0.00
		C,0.01,0.01
		TOTAL,1.01,1.01
	END
}

@test "stock in use is no order, costs nothing, and is told" {
	orders <<-'END'
		seller,route,part,color,qty,price,currency
		owned,owned,P-1,red,40,0,
		A,market,P-1,red,2,0.5,USD
	END
	sellers <<-'END'
		seller,tax
		A,10
	END
	total -s sellers.csv
	exits 0
	columns_are seller,pieces,tax,total <<-'END'
		A,2,0.10,1.10
		TOTAL,2,0.10,1.10
	END
	err_is <<<"lot-total: 1 order, 2 pieces, 1.10 USD; and 40 pieces owned"
}

@test "lines of no pieces are nothing" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		A,P-1,red,2,0.5,USD
		A,P-2,red,0,0.5,USD
		B,P-2,red,0,0.5,USD
	END
	total
	columns_are seller,lots,pieces <<-'END'
		A,1,2
		TOTAL,1,2
	END
}

# ---- minimums

@test "an order below its seller's minimum is totalled, told, exit 1; minimums go by exact values" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		A,P-1,red,1,4.999999,EUR
		B,P-1,red,1,5,EUR
	END
	sellers <<-'END'
		seller,route,minimum
		*,market,5
	END
	total -s sellers.csv
	exits 1
	columns_are seller,goods <<-'END'
		A,5.00
		B,5.00
		TOTAL,10.00
	END
	err_is <<-'END'
		lot-total: <stdin>:2: the order of seller "A" is below its minimum: goods are 4.999999 EUR, and 5.00 is the least
		lot-total: 2 orders, 2 pieces, 10.00 EUR
	END
}

# ---- which charges count

@test "charges: those of the seller, else of its tariff, else of *" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		Own,P-1,red,1,1,EUR
		Tariff,P-1,red,1,1,EUR
		Else,P-1,red,1,1,EUR
		Bare,P-1,red,1,1,EUR
	END
	sellers <<-'END'
		seller,tariff
		Own,letter
		Tariff,letter
		Else,unheard
		Bare,
	END
	charges <<-'END'
		seller,tariff,charge,amount
		Own,,shipping,1
		,letter,shipping,2
		,letter,packing,0.25
		*,,shipping,4
		Nobody,,shipping,99
		,parcel,insurance,99
	END
	total -q -s sellers.csv -c charges.csv --each-charge
	exits 0
	out_is <<-'END'
		seller,route,lots,pieces,currency,goods,packing,shipping,tax,total,home_currency,home_goods,home_charges,home_tax,rounding,home
		Bare,,1,1,EUR,1.00,0.00,4.00,0.00,5.00,EUR,1.00,4.00,0.00,0.00,5.00
		Else,,1,1,EUR,1.00,0.00,4.00,0.00,5.00,EUR,1.00,4.00,0.00,0.00,5.00
		Own,,1,1,EUR,1.00,0.00,1.00,0.00,2.00,EUR,1.00,1.00,0.00,0.00,2.00
		Tariff,,1,1,EUR,1.00,0.25,2.00,0.00,3.25,EUR,1.00,2.25,0.00,0.00,3.25
		TOTAL,,4,4,EUR,4.00,0.25,11.00,0.00,15.25,EUR,4.00,11.25,0.00,0.00,15.25
	END
}

@test "without sellers: no tax, no minimum; charges by name and by * still apply" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		A,P-1,red,1,1,EUR
		B,P-1,red,1,1,EUR
	END
	charges <<-'END'
		seller,charge,amount
		A,shipping,3
		*,shipping,4
	END
	total -q -c charges.csv
	columns_are seller,charges,tax,total <<-'END'
		A,3.00,0.00,4.00
		B,4.00,0.00,5.00
		TOTAL,7.00,0.00,9.00
	END
}

# ---- steps

@test "the last step reached applies: from is reached at its place, over past it" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		a,P-1,red,1,9.999999,EUR
		b,P-1,red,1,10,EUR
		c,P-1,red,1,10.000001,EUR
		d,P-1,red,1,20,EUR
		e,P-1,red,1,20.01,EUR
	END
	charges <<-'END'
		seller,charge,from,over,amount
		*,shipping,,20,0
		*,shipping,10,,5
		*,shipping,,10,4
	END
	total -q -c charges.csv
	columns_are seller,charges <<-'END'
		a,0.00
		b,5.00
		c,4.00
		d,4.00
		e,0.00
		TOTAL,13.00
	END
}

@test "steps by pieces, by lots and by weight" {
	orders <<-'END'
		seller,part,color,condition,qty,price,currency,grams
		A,P-1,red,,60,0.1,EUR,0.5
		A,P-1,red,used,40,0.1,EUR,
		A,P-2,red,,1,0.1,EUR,
	END
	printf '%s\n' part,grams P-1,0.25 P-2,10.01 >weights.csv
	charges <<-'END'
		seller,charge,basis,from,over,amount
		A,shipping,weight,,,1
		A,shipping,weight,,50,2
		A,shipping,weight,50.01,,3
		A,shipping,weight,,50.01,99
		A,picking,lots,,,0.1
		A,picking,lots,3,,0.3
		A,picking,lots,,3,99
		A,packing,pieces,,100,0.7
		A,packing,pieces,102,,99
	END
	# 60 x 0.5 + 40 x 0.25 + 10.01 = 50.01 g, 3 lots, 101 pieces
	total -q -c charges.csv -w weights.csv --each-charge
	exits 0
	columns_are shipping,picking,packing,total <<-'END'
		3.00,0.30,0.70,14.10
		3.00,0.30,0.70,14.10
	END
}

@test "class rows go by the lines of their class, add up with rows without class, one column a name" {
	orders <<-'END'
		seller,class,part,color,qty,price,currency
		Counter,shelf,P-1,red,10,0.5,EUR
		Counter,shelf,P-2,red,10,0.5,EUR
		Counter,store,P-3,red,10,0.7,EUR
	END
	charges <<-'END'
		seller,class,charge,from,amount
		Counter,shelf,handling,,3
		Counter,shelf,handling,10,0.5
		Counter,store,handling,,4
		Counter,store,handling,10,0
		Counter,made,handling,,6
		Counter,,shipping,,7
		Counter,,shipping,20,0
		Counter,,lift,17.01,9
	END
	# shelf 10.00: 0.50; store 7.00: 4.00; no line of made; all 17.00: shipping 7.00, no lift
	total -q -c charges.csv --each-charge
	columns_are goods,handling,lift,shipping,total <<-'END'
		17.00,4.50,0.00,7.00,28.50
		17.00,4.50,0.00,7.00,28.50
	END
}

@test "a charge is amount and percent of the exact goods of its lines, rounded once; rebates are negative" {
	orders <<-'END'
		seller,class,part,color,qty,price,currency
		A,x,P-1,red,1,10.004,EUR
		A,,P-2,red,1,5,EUR
	END
	charges <<-'END'
		seller,class,charge,amount,percent
		A,x,insurance,0.1,12.5
		A,,rebate,,-5
		A,,gift,-1,
	END
	# 0.1 + 1.2505 = 1.3505 -> 1.35; 15.004 x -5 % = -0.7502 -> -0.75; goods 15.00
	total -q -c charges.csv --each-charge
	columns_are goods,gift,insurance,rebate,total <<-'END'
		15.00,-1.00,1.35,-0.75,14.60
		15.00,-1.00,1.35,-0.75,14.60
	END
}

@test "halves are rounded away from zero, on both sides of it" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		A,P-1,red,1,0.5,EUR
	END
	charges <<-'END'
		seller,charge,percent
		A,up,1
		A,down,-1
	END
	total -q -c charges.csv --each-charge
	columns_are down,up,total <<-'END'
		-0.01,0.01,0.50
		-0.01,0.01,0.50
	END
}

@test "a published discount ladder, as rebates" {
	# From 100: 2 %, 200: 5 %, 300: 10 %, 500: 15 %, 1000: 20 %. Blazewicz et al., "Internet shopping
	# with price sensitive discounts", 4OR (2013), doi 10.1007/s10288-013-0230-7.
	orders <<-'END'
		seller,part,color,qty,price,currency
		a,P-1,red,1,99.99,EUR
		b,P-1,red,1,100,EUR
		c,P-1,red,1,250,EUR
		d,P-1,red,1,300,EUR
		e,P-1,red,1,500,EUR
		f,P-1,red,1,1000,EUR
	END
	charges <<-'END'
		seller,charge,from,percent
		*,discount,1000,-20
		*,discount,300,-10
		*,discount,500,-15
		*,discount,100,-2
		*,discount,200,-5
	END
	total -q -c charges.csv
	columns_are seller,charges,total <<-'END'
		a,0.00,99.99
		b,-2.00,98.00
		c,-12.50,237.50
		d,-30.00,270.00
		e,-75.00,425.00
		f,-200.00,800.00
		TOTAL,-319.50,1930.49
	END
}

@test "an order that is not shipped is totalled without that charge, told, exit 1" {
	orders <<-'END'
		seller,part,color,qty,price,currency,grams
		A,P-1,red,1,1,EUR,2001
	END
	charges <<-'END'
		seller,charge,basis,over,amount
		A,shipping,weight,,5
		A,shipping,weight,2000,no
		A,packing,weight,,1
	END
	total -c charges.csv
	exits 1
	columns_are charges,total <<-'END'
		1.00,2.00
		1.00,2.00
	END
	err_has '<stdin>:2: the order of seller "A" is not shipped'
	err_lines 2
}

# ---- tax

@test "tax on goods, on all, and what taxed overrides, step by step" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		All,P-1,red,1,100,EUR
		Blank,P-1,red,1,100,EUR
		Goods,P-1,red,1,100,EUR
		None,P-1,red,1,100,EUR
		Step,P-1,red,1,200,EUR
	END
	sellers <<-'END'
		seller,tax,tax_on
		All,20,all
		Blank,20,
		Goods,20,goods
		Step,20,goods
		None,,all
	END
	charges <<-'END'
		seller,charge,from,amount,taxed
		*,plain,,10,
		*,always,,1,yes
		*,always,200,2,no
		*,never,,0.5,no
	END
	# All, Blank: 20 % of 111; Goods: of 101; Step: of 200
	total -q -s sellers.csv -c charges.csv
	columns_are seller,charges,tax,total <<-'END'
		All,11.50,22.20,133.70
		Blank,11.50,22.20,133.70
		Goods,11.50,20.20,131.70
		None,11.50,0.00,111.50
		Step,12.50,40.00,252.50
		TOTAL,58.50,104.60,763.10
	END
}

@test "tax is taken on the rounded goods and charges" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		A,P-1,red,1,10.046,EUR
		B,P-1,red,1,10,EUR
	END
	sellers <<<$'seller,tax\n*,10'
	charges <<<$'seller,charge,amount\nA,post,0\nB,post,5.046'
	# 10 % of 10.05 is 1.005, of 10.046 it were 1.0046; of 15.05 1.505, of 15.046 1.5046
	total -q -s sellers.csv -c charges.csv
	columns_are goods,charges,tax,total <<-'END'
		10.05,0.00,1.01,11.06
		10.00,5.05,1.51,16.56
		20.05,5.05,2.52,27.62
	END
}

@test "section 324: the third decimal over four goes up to the next cent" {
	# Streamlined Sales and Use Tax Agreement, section 324 (rounding rule): carried to the third
	# decimal place, rounded up to the next cent whenever that is greater than four.
	orders <<-'END'
		seller,part,color,qty,price,currency
		a,P-1,red,1,0.64,USD
		b,P-1,red,1,0.65,USD
		c,P-1,red,1,1.06,USD
		d,P-1,red,1,1.07,USD
		e,P-1,red,1,10.78,USD
		f,P-1,red,1,10.79,USD
	END
	sellers <<<$'seller,tax\n*,7'
	# 0.0448, 0.0455, 0.0742, 0.0749, 0.7546, 0.7553
	total -q -s sellers.csv
	columns_are seller,tax <<-'END'
		a,0.04
		b,0.05
		c,0.07
		d,0.07
		e,0.75
		f,0.76
		TOTAL,1.74
	END
}

@test "section 324: by invoice or by item, as the seller chooses" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		A,P-1,red,1,0.35,USD
		A,P-2,red,1,0.35,USD
		A,P-3,red,1,0.35,USD
		B,P-1,red,1,0.36,USD
		B,P-2,red,1,0.36,USD
		B,P-3,red,1,0.36,USD
	END
	sellers <<<$'seller,tax\n*,7'
	# A: an item 0.0245 -> 0.02, the invoice 0.0735 -> 0.07; B: 0.0252 -> 0.03, 0.0756 -> 0.08
	total -q -s sellers.csv --tax-by order
	columns_are seller,tax <<-'END'
		A,0.07
		B,0.08
		TOTAL,0.15
	END
	total -q -s sellers.csv --tax-by line
	columns_are seller,tax <<-'END'
		A,0.06
		B,0.09
		TOTAL,0.15
	END
}

@test "tax by line: each taxed charge is a line of its own, after the goods" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		A,P-1,red,3,0.115,USD
	END
	sellers <<<$'seller,tax\nA,10'
	charges <<-'END'
		seller,charge,amount,taxed
		A,shipping,1.04,
		A,handling,1.04,
		A,deposit,5,no
	END
	# by line 0.0345 -> 0.03, 0.104 -> 0.10 twice: 0.23; by order 10 % of 0.35 + 2.08 = 0.243
	total -q -s sellers.csv -c charges.csv --tax-by line
	columns_are goods,charges,tax,total <<-'END'
		0.35,7.08,0.23,7.66
		0.35,7.08,0.23,7.66
	END
	total -q -s sellers.csv -c charges.csv
	columns_are tax <<-'END'
		0.24
		0.24
	END
}

@test "several taxes: each is rounded for itself, and stands in a column of its own with each charge" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		One,P-1,red,1,10.00,USD
		Two,P-1,red,1,10.10,USD
	END
	sellers <<<$'seller,tax\nOne,6\nTwo,0.7+5.3'
	charges <<<$'seller,charge,amount\n*,post,1'
	# 11.10 x 5.3 % = 0.5883, x 0.7 % = 0.0777: 0.59 + 0.08; as one of 6 % it were 0.666, 0.67
	total -q -s sellers.csv -c charges.csv --each-charge
	exits 0
	out_is <<-'END'
		seller,route,lots,pieces,currency,goods,post,tax 0.7,tax 5.3,tax 6,tax,total,home_currency,home_goods,home_charges,home_tax,rounding,home
		One,,1,1,USD,10.00,1.00,0.00,0.00,0.66,0.66,11.66,USD,10.00,1.00,0.66,0.00,11.66
		Two,,1,1,USD,10.10,1.00,0.08,0.59,0.00,0.67,11.77,USD,10.10,1.00,0.67,0.00,11.77
		TOTAL,,2,2,USD,20.10,2.00,0.08,0.59,0.66,1.33,23.43,USD,20.10,2.00,1.33,0.00,23.43
	END
	# Without --each-charge, and where each order has one tax, there are no such columns.
	total -q -s sellers.csv -c charges.csv
	columns_are seller,tax <<<$'One,0.66\nTwo,0.67\nTOTAL,1.33'
	sellers <<<$'seller,tax\nOne,6\nTwo,7'
	total -q -s sellers.csv -c charges.csv --each-charge
	[ "$(grep -c 'tax [0-9]' "$OUT")" -eq 0 ]
}

@test "a published example of two taxes: 5 % and 9.975 % of 100" {
	# Revenu Québec, Calculating the Taxes: selling price 100.00, GST 5.00, QST 9.98, total 114.98. A half
	# of a cent counts as a whole one.
	orders <<<$'seller,part,color,qty,price,currency\nA,P-1,red,1,100,CAD'
	sellers <<<$'seller,tax\nA,5+9.975'
	total -q -s sellers.csv --each-charge
	columns_are 'tax 5,tax 9.975,tax,total' <<<$'5.00,9.98,14.98,114.98\n5.00,9.98,14.98,114.98'
}

@test "several taxes by line: each of them on each line" {
	orders <<<$'seller,part,color,qty,price,currency\nA,P-1,red,1,0.35,USD\nA,P-2,red,1,0.36,USD'
	sellers <<<$'seller,tax\nA,7+1'
	# 7 %: 0.0245 -> 0.02, 0.0252 -> 0.03; 1 %: 0.0035 -> 0.00, 0.0036 -> 0.00
	total -q -s sellers.csv --tax-by line --each-charge
	columns_are 'tax 1,tax 7,tax' <<<$'0.00,0.05,0.05\n0.00,0.05,0.05'
	# by order 0.71: 0.0497, 0.0071
	total -q -s sellers.csv --each-charge
	columns_are 'tax 1,tax 7,tax' <<<$'0.01,0.05,0.06\n0.01,0.05,0.06'
}

@test "prices that include tax: goods and charges are shown net, the tax is what is left of the gross" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		A,P-1,red,10,0.999,EUR
		B,P-1,red,1,119,EUR
	END
	sellers <<<$'seller,tax,tax_on,minimum\n*,19,included,9.99'
	charges <<-'END'
		seller,charge,amount,percent,taxed
		A,shipping,3.50,,
		A,deposit,1.00,,no
		A,rebate,,-10,yes
		B,shipping,0,,
	END
	# A: 9.99 / 1.19 = 8.394..., 3.50 / 1.19 = 2.941..., rebate -0.999 -> -1.00 / 1.19 = -0.840...; the gross is
	# 9.99 + 3.50 + 1.00 - 1.00 = 13.49, of which 8.39 + 2.94 + 1.00 - 0.84 = 11.49 leave 2.00
	total -q -s sellers.csv -c charges.csv --each-charge
	exits 0
	columns_are seller,goods,deposit,rebate,shipping,tax,total <<-'END'
		A,8.39,1.00,-0.84,2.94,2.00,13.49
		B,100.00,0.00,0.00,0.00,19.00,119.00
		TOTAL,108.39,1.00,-0.84,2.94,21.00,132.49
	END
}

@test "taxes that are included by line: each in each line, rounded, and net is what is left" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		A,P-1,red,1,0.99,EUR
		A,P-2,red,1,0.99,EUR
	END
	sellers <<<$'seller,tax,tax_on\nA,19,included'
	charges <<<$'seller,charge,amount\nA,post,0.99'
	# 0.99 x 19 / 119 = 0.158...: 0.16 each; net 0.83 each. By order: 1.98 / 1.19 = 1.663..., 0.99 / 1.19 = 0.831...
	total -q -s sellers.csv -c charges.csv --tax-by line
	columns_are goods,charges,tax,total <<<$'1.66,0.83,0.48,2.97\n1.66,0.83,0.48,2.97'
	total -q -s sellers.csv -c charges.csv
	columns_are goods,charges,tax,total <<<$'1.66,0.83,0.48,2.97\n1.66,0.83,0.48,2.97'
	# Two of them, 10 and 9: 0.0831..., 0.0748..., each 0.08 and 0.07; three times 0.24 and 0.21
	sellers <<<$'seller,tax,tax_on\nA,10+9,included'
	total -q -s sellers.csv -c charges.csv --tax-by line --each-charge
	columns_are 'goods,post,tax 9,tax 10,tax,total' <<<$'1.68,0.84,0.21,0.24,0.45,2.97\n1.68,0.84,0.21,0.24,0.45,2.97'
	# By order, on 1.66 + 0.83 = 2.49: 10 % is 0.249, 0.25; the last, 9 %, is what is left of 2.97 - 2.49
	total -q -s sellers.csv -c charges.csv --each-charge
	columns_are 'goods,post,tax 9,tax 10,tax,total' <<<$'1.66,0.83,0.23,0.25,0.48,2.97\n1.66,0.83,0.23,0.25,0.48,2.97'
}

@test "included without a tax is nothing" {
	orders <<<$'seller,part,color,qty,price,currency\nA,P-1,red,3,0.335,EUR'
	sellers <<<$'seller,tax,tax_on\nA,,included'
	total -q -s sellers.csv
	columns_are goods,tax,total <<<$'1.01,0.00,1.01\n1.01,0.00,1.01'
}

# ---- duty and import tax: charges by landed cost

@test "a published example: duty on goods, shipping and insurance, import tax on those and the duty" {
	# calqoo.com, import and export cost: 1000 + 100 + 50 = 1150; customs 20 % = 230.00; VAT 18 % of 1380 =
	# 248.40; total 1628.40. The rule is that of Directive 2006/112/EC, articles 85 and 86.
	orders <<<$'seller,part,color,qty,price,currency\nA,P-1,red,1,1000,USD'
	charges <<-'END'
		seller,charge,basis,after,amount,percent
		A,shipping,,,100,
		A,insurance,,,50,
		A,VAT,landed,shipping | duty|insurance,,18
		A,duty,landed,insurance|shipping,,20
	END
	total -q -c charges.csv --each-charge
	exits 0
	columns_are VAT,duty,insurance,shipping,total <<<$'248.40,230.00,50.00,100.00,1628.40\n248.40,230.00,50.00,100.00,1628.40'
}

@test "a charge by landed cost is due from or over a value, its basis counted exactly" {
	# Goods and shipping of 10 % (1.5 for sh): from 150 of both 5 %, over 165 of both 8 %.
	orders <<-'END'
		seller,part,color,qty,price,currency
		a,P-1,red,1,136.36,EUR
		b,P-1,red,1,136.37,EUR
		c,P-1,red,1,150,EUR
		d,P-1,red,1,150.000001,EUR
	END
	charges <<-'END'
		seller,charge,basis,after,from,over,percent
		*,shipping,,,,,10
		*,duty,landed,shipping,150,,5
		*,duty,landed,shipping,,165,8
	END
	# a 149.996: nothing; b 150.007 x 5 % = 7.50035; c 165 x 5 % = 8.25; d 165.0000011 x 8 % = 13.2000...
	total -q -c charges.csv --each-charge
	columns_are seller,duty,shipping <<-'END'
		a,0.00,13.64
		b,7.50,13.64
		c,8.25,15.00
		d,13.20,15.00
		TOTAL,28.95,57.28
	END
}

@test "what a charge comes after counts unrounded, of every class, and nothing where it is not due" {
	orders <<-'END'
		seller,class,part,color,qty,price,currency
		A,x,P-1,red,1,10,EUR
		A,y,P-2,red,1,20,EUR
		B,x,P-1,red,1,10,EUR
	END
	charges <<-'END'
		seller,class,charge,basis,after,from,amount,percent
		*,x,fee,,,,,33.335
		*,y,fee,,,,,0.004
		*,,bag,pieces,,2,1,
		*,,all,landed,fee|bag,,,100
		*,x,part,landed,fee,,0.5,10
	END
	# A: fees 3.3335 and 0.0008, bag 1; all 34.3343; part 0.5 + 10 % of 13.3343. B: fee 3.3335; 13.3335; 0.5 +
	# 10 % of 13.3335
	total -q -c charges.csv --each-charge
	columns_are seller,all,bag,fee,part <<-'END'
		A,34.33,1.00,3.33,1.83
		B,13.33,0.00,3.33,1.83
		TOTAL,47.66,1.00,6.66,3.66
	END
}

@test "steps and amounts by landed cost in another currency; three in a row" {
	orders <<<$'seller,part,color,qty,price,currency\nA,P-1,red,1,100,USD'
	rates <<<$'from,to,rate\nEUR,USD,1.25'
	charges <<-'END'
		seller,charge,basis,after,from,amount,percent,currency
		A,post,,,,8,,EUR
		A,duty,landed,post,88,2,10,EUR
		A,duty,landed,post,88.000001,99,,EUR
		A,import,landed,post|duty,,,20,
		A,service,landed,import,,,50,
	END
	# post 10 USD; goods and post are 110 USD, 88 EUR: duty 2.50 + 11.00; import 20 % of 123.50; service 50 % of 124.70
	total -q -c charges.csv -x rates.csv -C USD --each-charge
	columns_are duty,import,post,service,total <<<$'13.50,24.70,10.00,62.35,210.55\n13.50,24.70,10.00,62.35,210.55'
}

@test "the seller's tax is on a charge by landed cost or not, as on any" {
	orders <<<$'seller,part,color,qty,price,currency\nA,P-1,red,1,100,EUR'
	sellers <<<$'seller,tax,tax_on\nA,10,all'
	charges <<<$'seller,charge,basis,percent,taxed\nA,duty,landed,5,no\nA,other,landed,5,'
	total -q -s sellers.csv -c charges.csv
	columns_are charges,tax,total <<<$'10.00,10.50,120.50\n10.00,10.50,120.50'
}

# ---- rounding

@test "--round half-even: a seller's halves go to the even side, the conversion's do not" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		a,P-1,red,1,1.005,USD
		b,P-1,red,1,1.015,USD
		c,P-1,red,1,0.5,USD
		d,P-1,red,1,1.015001,USD
	END
	sellers <<<$'seller,tax\n*,5'
	charges <<<$'seller,charge,percent\n*,post,0\nc,post,-1\nc,box,1'
	rates <<<$'from,to,rate\nUSD,EUR,0.5'
	# Goods 1.00, 1.02, 0.50, 1.02; post -0.005 and box 0.005 are 0; tax 0.05, 0.051, 0.025 -> 0.02, 0.051;
	# at home 0.525 -> 0.53, 0.535 -> 0.54, 0.26, 0.54
	total -q -s sellers.csv -c charges.csv -x rates.csv -C EUR --round half-even
	columns_are seller,goods,charges,tax,total,home <<-'END'
		a,1.00,0.00,0.05,1.05,0.53
		b,1.02,0.00,0.05,1.07,0.54
		c,0.50,0.00,0.02,0.52,0.26
		d,1.02,0.00,0.05,1.07,0.54
		TOTAL,3.54,0.00,0.17,3.71,1.87
	END
	total -q -s sellers.csv -c charges.csv -x rates.csv -C EUR --round half-away
	columns_are seller,goods,tax,total <<-'END'
		a,1.01,0.05,1.06
		b,1.02,0.05,1.07
		c,0.50,0.03,0.53
		d,1.02,0.05,1.07
		TOTAL,3.55,0.18,3.73
	END
}

@test "--round-by line: goods are the sum of rounded lines, and tax by line is on those" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		A,P-1,red,1,0.333,USD
		A,P-2,red,1,0.333,USD
		A,P-3,red,1,0.333,USD
	END
	sellers <<<$'seller,tax\nA,15'
	charges <<<$'seller,charge,percent\nA,fee,50'
	# The fee is 50 % of the exact 0.999. Tax on 0.99 + 0.50; by line 3 x 0.0495 -> 0.05, and 0.075 -> 0.08;
	# on unrounded lines 3 x 0.04995 -> 0.05 as well
	total -q -s sellers.csv -c charges.csv --round-by line
	columns_are goods,charges,tax,total <<<$'0.99,0.50,0.22,1.71\n0.99,0.50,0.22,1.71'
	total -q -s sellers.csv -c charges.csv --round-by line --tax-by line
	columns_are goods,charges,tax,total <<<$'0.99,0.50,0.23,1.72\n0.99,0.50,0.23,1.72'
	total -q -s sellers.csv -c charges.csv --round-by order
	columns_are goods,charges,tax,total <<<$'1.00,0.50,0.23,1.73\n1.00,0.50,0.23,1.73'
	# 10 % of 0.555 is 0.0555, 0.06; of the line as rounded, 0.56, 0.056; of 0.545 and 0.55, 0.05 and 0.06
	orders <<<$'seller,part,color,qty,price,currency\nA,P-1,red,1,0.545,USD'
	sellers <<<$'seller,tax\nA,10'
	total -q -s sellers.csv --tax-by line
	columns_are goods,tax <<<$'0.55,0.05\n0.55,0.05'
	total -q -s sellers.csv --round-by line --tax-by line
	columns_are goods,tax <<<$'0.55,0.06\n0.55,0.06'
}

@test "a published example of cash rounding: 4.92 is paid as 4.90" {
	# Government of Canada, budget 2012, on phasing out the penny: 1.83 and 2.86 are 4.92 with 5 percent tax, and
	# 4.90 in cash; amounts ending in 1, 2, 6 and 7 go down, in 3, 4, 8 and 9 up.
	orders <<<$'seller,part,color,qty,price,currency\nA,P-1,red,1,1.83,CAD\nA,P-2,red,1,2.86,CAD'
	sellers <<<$'seller,tax\nA,5'
	total -q -s sellers.csv --cash 0.05
	columns_are seller,total,home_goods,home_tax,rounding,home <<-'END'
		A,4.92,4.69,0.23,0.00,4.92
		TOTAL,4.92,4.69,0.23,-0.02,4.90
	END
	local pair
	for pair in 1.01:1.00 1.02:1.00 1.03:1.05 1.04:1.05 1.05:1.05 1.06:1.05 1.07:1.05 1.08:1.10 1.09:1.10 1.10:1.10; do
		orders <<<$'seller,part,color,qty,price,currency\nA,P-1,red,1,'"${pair%:*},CAD"
		total -q --cash 0.05
		[ "$(tail -n 1 "$OUT" | cut -d , -f 15)" = "${pair#*:}" ]
	done
}

@test "cash rounding is of the home total alone, to any multiple of the minor unit, halves away from zero" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		A,P-1,red,1,101,JPY
		B,P-1,red,1,101.5,JPY
	END
	total -q --cash 5
	columns_are seller,total,rounding,home <<-'END'
		A,101,0,101
		B,102,0,102
		TOTAL,203,2,205
	END
	orders <<<$'seller,part,color,qty,price,currency\nA,P-1,red,1,1,EUR'
	printf '%s\n' item,amount,currency voucher,-1.25,EUR >others.csv
	total -q --cash 0.10 --others others.csv
	columns_are seller,rounding,home <<<$'A,0.00,1.00\nvoucher,0.00,-1.25\nTOTAL,-0.05,-0.30'
	total --cash 0.025
	refused '--cash 0.025 is no multiple of the smallest amount of EUR, which has 2 decimals'
	total --cash 0
	refused '--cash takes an amount above 0'
	total --cash -1
	refused '--cash "-1" is negative'
	total --round up
	refused '--round "up" is not known: it is half-away or half-even'
	total --round-by item
	refused '--round-by "item" is not known: it is order or line'
}

@test "10000 drawn orders: the parts shown add up to the total shown, in every row and in TOTAL" {
	# A property, added up with Python's decimal; nothing is counted a second time.
	try python3 "$TESTS/oracle/check_parts.py" --program "$BIN/lot-total" 10000 80
	exits 0
	out_has "10000 orders, 0 rows at fault"
}

# ---- estimates

@test "an estimate in a total of nothing is no share of it" {
	orders <<<$'seller,part,color,qty,price,currency\nA,P-1,red,1,1,EUR'
	charges <<<$'seller,charge,amount,estimate\n*,duty,1,yes\n*,rebate,-2,'
	total -c charges.csv --each-charge
	exits 0
	columns_are seller,home,home_estimated,estimated_percent <<-'END'
		A,0.00,1.00,0.00
		TOTAL,0.00,1.00,0.00
	END
	err_has 'lot-total: 1.00 EUR of the total, 0.00 %, is an estimate'
}

@test "charges that are estimates: their share of the total is told, and a column with each charge" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		A,P-1,red,1,100,USD
		B,P-1,red,1,50,EUR
	END
	sellers <<<$'seller,tax,tax_on\nA,10,all\nB,,'
	charges <<-'END'
		seller,charge,from,amount,taxed,estimate
		A,shipping,,8,,
		A,shipping,50,10,,yes
		A,duty,,5,no,yes
		B,shipping,,10,,no
	END
	rates <<<$'from,to,rate\nUSD,EUR,0.5'
	# A: 10 of shipping with 1 of tax, and 5 of duty: 16 USD, 8.00 EUR of 63.00; in all 8 of 123 = 6.504 %
	total -s sellers.csv -c charges.csv -x rates.csv -C EUR --each-charge
	exits 0
	columns_are seller,duty,shipping,tax,home,home_estimated,estimated_percent <<-'END'
		A,5.00,10.00,11.00,63.00,8.00,12.70
		B,0.00,10.00,0.00,60.00,0.00,0.00
		TOTAL,,,,123.00,8.00,6.50
	END
	err_is <<-'END'
		lot-total: 8.00 EUR of the total, 6.50 %, is an estimate
		lot-total: 2 orders, 2 pieces, 123.00 EUR
	END
	total -q -s sellers.csv -c charges.csv -x rates.csv -C EUR
	err_is_empty
	[ "$(grep -c estimated "$OUT")" -eq 0 ]
	# Nothing is said where no charge of a seller with an order is one, though another's is.
	orders <<<$'seller,part,color,qty,price,currency\nB,P-1,red,1,50,EUR'
	total -c charges.csv --each-charge -C EUR
	err_is <<<'lot-total: 1 order, 1 piece, 60.00 EUR'
	[ "$(grep -c estimated "$OUT")" -eq 0 ]
}

# The share takes 10^4 times the estimate in cents, 10^6 times that in EUR; 2^127 is 1.7 x 10^38. First 8.1 x 10^31 EUR,
# then 7.3 x 10^32.
@test "an estimate too large for its share to be counted is refused" {
	orders <<<$'seller,part,color,qty,price,currency\nA,P-1,red,1,1,GBP'
	charges <<<$'seller,charge,amount,estimate\nA,duty,9000000000000,yes'
	rates <<<$'from,to,rate\nGBP,USD,9000000000000\nUSD,EUR,1000000'
	total -c charges.csv -x rates.csv -C EUR --each-charge
	exits 0
	columns_are seller,home_estimated,estimated_percent <<-'END'
		A,81000000000000000000000000000000.00,100.00
		TOTAL,81000000000000000000000000000000.00,100.00
	END
	err_has 'lot-total: 81000000000000000000000000000000.00 EUR of the total, 100.00 %, is an estimate'

	rates <<<$'from,to,rate\nGBP,USD,9000000000000\nUSD,EUR,9000000'
	for more in '' -q --each-charge; do
		total -c charges.csv -x rates.csv -C EUR $more
		refused 'TOTAL: the figures are too large to count exactly'
	done
	# A row's share may be past it where the total's is not.
	charges <<<$'seller,charge,amount,estimate\nA,duty,9000000000000,yes\nB,duty,-9000000000000,yes'
	orders <<<$'seller,part,color,qty,price,currency\nA,P-1,red,1,1,GBP\nB,P-1,red,1,1,GBP'
	total -c charges.csv -x rates.csv -C EUR
	exits 0
	total -c charges.csv -x rates.csv -C EUR --each-charge
	refused 'A: the figures are too large to count exactly'
}

# ---- currency

@test "amounts have the minor unit of their currency (ISO 4217: JPY 0, USD 2, KWD 3, CLF 4)" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		Four,P-1,red,1,1.00005,CLF
		None,P-1,red,1,100.5,JPY
		Three,P-1,red,1,1.0005,KWD
		Two,P-1,red,1,1.005,USD
	END
	sellers <<<$'seller,tax\n*,10'
	rates <<-'END'
		from,to,rate
		CLF,USD,40
		USD,JPY,150
		KWD,USD,3.25
	END
	total -q -s sellers.csv -x rates.csv -C USD
	exits 0
	columns_are seller,currency,goods,tax,total,home_goods,home_tax,rounding,home <<-'END'
		Four,CLF,1.0001,0.1000,1.1001,40.00,4.00,0.00,44.00
		None,JPY,101,10,111,0.67,0.07,0.00,0.74
		Three,KWD,1.001,0.100,1.101,3.25,0.33,0.00,3.58
		Two,USD,1.01,0.10,1.11,1.01,0.10,0.00,1.11
		TOTAL,,,,,44.93,4.50,0.00,49.43
	END
}

@test "Regulation (EC) No 1103/97: by dividing, never by a rounded inverse, half up" {
	# Published examples for the changeover of Slovenia: 1 EUR = 239.640 SIT, 500 SIT = 2.09 EUR,
	# 1000 SIT = 4.17 EUR.
	orders <<-'END'
		seller,part,color,qty,price,currency
		A,P-1,red,500,1,SIT
		B,P-1,red,1000,1,SIT
	END
	rates <<<$'from,to,rate\nEUR,SIT,239.640'
	total -q -x rates.csv -C EUR
	columns_are seller,total,home <<-'END'
		A,500.00,2.09
		B,1000.00,4.17
		TOTAL,1500.00,6.26
	END
}

@test "the fixed rates of 1999, by the rate, by its reverse, and through the euro" {
	# Regulation (EC) No 2866/98: 1 EUR = 1.95583 DEM = 6.55957 FRF = 1936.27 ITL; figures counted
	# with bc(1) from those.
	orders <<-'END'
		seller,part,color,qty,price,currency
		Euro,P-1,red,100,1,EUR
		Franc,P-1,red,100,1,FRF
		Lira,P-1,red,100000,1,ITL
	END
	rates <<-'END'
		from,to,rate
		EUR,DEM,1.95583
		EUR,FRF,6.55957
		EUR,ITL,1936.27
	END
	# 195.583; 100 / 6.55957 x 1.95583 = 29.8164...; 100000 / 1936.27 x 1.95583 = 101.0102...
	total -q -x rates.csv -C DEM
	columns_are seller,home <<-'END'
		Euro,195.58
		Franc,29.82
		Lira,101.01
		TOTAL,326.41
	END
	total -q -x rates.csv -C EUR
	columns_are seller,home <<-'END'
		Euro,100.00
		Franc,15.24
		Lira,51.65
		TOTAL,166.89
	END
}

@test "the fixed rates of 1999 in both directions agree with Python's decimal" {
	# Regulation (EC) No 2866/98; the program's conversions against the decimal module, half up.
	try python3 "$TESTS/oracle/conversions.py" "$BIN/lot-total"
	exits 0
	[ "$(sed -n '$s/ conversions, 0 differ$//p' "$OUT")" -gt 5000 ]
}

@test "a third decimal of 4 is rounded down, of 5 up" {
	# Published with the changeover of Slovenia: 24.784 EUR becomes 24.78 EUR, 24.785 EUR becomes 24.79 EUR.
	orders <<-'END'
		seller,part,color,qty,price,currency
		A,P-1,red,1000,24.784,DEM
		B,P-1,red,1000,24.785,DEM
	END
	rates <<<$'from,to,rate\nDEM,EUR,0.001'
	total -q -x rates.csv -C EUR
	columns_are seller,total,home <<-'END'
		A,24784.00,24.78
		B,24785.00,24.79
		TOTAL,49569.00,49.57
	END
}

# ---- rates with a date, a fee, or a column a currency

# three_orders: one in each of EUR, USD and GBP, of 100.
three_orders() {
	orders <<-'END'
		seller,part,color,qty,price,currency
		E,P-1,red,1,100,EUR
		G,P-1,red,1,100,GBP
		U,P-1,red,1,100,USD
	END
}

@test "a wide file: a row of codes, one of rates, against one base" {
	three_orders
	rates <<<$'USD;jpy;GBP;remark;\n1.25;162;0.8;noon;'
	total -x rates.csv --rates-base EUR -C EUR
	exits 0
	# 100 / 0.8 = 125, 100 / 1.25 = 80
	columns_are seller,home <<<$'E,100.00\nG,125.00\nU,80.00\nTOTAL,305.00'
	# Without dates there is nothing to tell of them.
	err_is <<<'lot-total: 3 orders, 3 pieces, 305.00 EUR'
	# Another home goes through the base: 100 x 0.8; 100 / 1.25 x 0.8
	total -q -x rates.csv --rates-base EUR -C GBP
	columns_are seller,home <<<$'E,80.00\nG,100.00\nU,64.00\nTOTAL,244.00'
}

@test "dates: of each pair the newest row is used, or the newest on or before a day; it is told" {
	three_orders
	rates <<-'END'
		date,from,to,rate
		2026-01-05,EUR,USD,1.25
		2026-03-01,EUR,USD,1.6
		2026-02-01,GBP,EUR,1.1
		2026-01-01,GBP,EUR,1.2
		2025-12-31,EUR,USD,1
	END
	total -x rates.csv -C EUR
	exits 0
	columns_are seller,home <<<$'E,100.00\nG,110.00\nU,62.50\nTOTAL,272.50'
	err_is <<-'END'
		lot-total: rates.csv:3: 1 EUR = 1.6 USD, rate of 2026-03-01
		lot-total: rates.csv:4: 1 GBP = 1.1 EUR, rate of 2026-02-01
		lot-total: 3 orders, 3 pieces, 272.50 EUR
	END
	total -x rates.csv -C EUR --on 2026-01-31
	exits 0
	columns_are seller,home <<<$'E,100.00\nG,120.00\nU,80.00\nTOTAL,300.00'
	err_is <<-'END'
		lot-total: rates.csv:2: 1 EUR = 1.25 USD, rate of 2026-01-05
		lot-total: rates.csv:5: 1 GBP = 1.2 EUR, rate of 2026-01-01
		lot-total: 3 orders, 3 pieces, 300.00 EUR
	END
	total -q -x rates.csv -C EUR --on 2026-01-05
	err_is_empty
	columns_are seller,home <<<$'E,100.00\nG,120.00\nU,80.00\nTOTAL,300.00'
	total -x rates.csv -C EUR --on 2025-12-31
	refused '<stdin>:3: no rate from GBP to EUR in rates.csv on or before 2025-12-31: add a row'
}

@test "dates count for a pair whichever way it is given; of one day, as given goes first" {
	three_orders
	rates <<-'END'
		date,from,to,rate
		2026-01-01,USD,EUR,0.5
		2026-01-02,EUR,USD,1.25
		2026-01-02,GBP,EUR,1.1
		2026-01-02,EUR,GBP,0.5
	END
	total -q -x rates.csv -C EUR
	columns_are seller,home <<<$'E,100.00\nG,110.00\nU,80.00\nTOTAL,290.00'
}

@test "a wide file of many days, with N/A where nothing was quoted" {
	three_orders
	rates <<-'END'
		Date,USD,GBP,SIT,
		2026-01-07,1.25,N/A,N/A,
		2026-01-06,1.6,0.8,,
		2026-01-05,2,0.5,N/A,
	END
	total -x rates.csv --rates-base EUR -C EUR
	exits 0
	columns_are seller,home <<<$'E,100.00\nG,125.00\nU,80.00\nTOTAL,305.00'
	err_has 'rates.csv:2: 1 EUR = 1.25 USD, rate of 2026-01-07'
	err_has 'rates.csv:3: 1 EUR = 0.8 GBP, rate of 2026-01-06'
	err_lines 3
}

@test "fee: a percent that the bank adds to what it converts, whichever way and through a third" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		A,P-1,red,1,100,USD
		B,P-1,red,1,100,GBP
		C,P-1,red,1,100,SEK
	END
	rates <<-'END'
		from,to,rate,fee
		EUR,USD,1.25,1.5
		GBP,EUR,1.2,2
		GBP,SEK,12.5,0.5
	END
	total -q -x rates.csv -C EUR
	# 100 / 1.25 x 1.015 = 81.2; 100 x 1.2 x 1.02 = 122.4; 100 / 12.5 x 1.005 x 1.2 x 1.02 = 9.84096
	columns_are seller,total,home <<-'END'
		A,100.00,81.20
		B,100.00,122.40
		C,100.00,9.84
		TOTAL,,213.44
	END
}

@test "the fee is on what is paid, not on charges that are stated in another currency" {
	orders <<<$'seller,part,color,qty,price,currency\nA,P-1,red,1,100,USD'
	charges <<<$'seller,charge,from,amount,currency\nA,post,80,8,EUR\nA,post,80.000001,99,EUR'
	rates <<<$'from,to,rate,fee\nEUR,USD,1.25,10'
	# 80 EUR are 100 USD, 8 EUR are 10 USD; 110 USD are 88 EUR, and 8.80 for the bank
	total -q -c charges.csv -x rates.csv -C EUR
	columns_are charges,total,home_goods,home_charges,home <<<$'10.00,110.00,88.00,8.80,96.80\n10.00,110.00,88.00,8.80,96.80'
	total -q -c charges.csv -x rates.csv -C USD
	columns_are total,home <<<$'110.00,110.00\n110.00,110.00'
}

@test "home parts are rounded each, and rounding is what they lack to home" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		A,P-1,red,1,1.01,USD
	END
	sellers <<<$'seller,tax,tax_on\nA,100,goods'
	charges <<<$'seller,charge,amount\nA,post,1.01'
	rates <<<$'from,to,rate\nUSD,EUR,0.5'
	# each part 0.505 -> 0.51; the total of 3.03 is 1.515 -> 1.52
	total -q -s sellers.csv -c charges.csv -x rates.csv -C EUR
	columns_are total,home_currency,home_goods,home_charges,home_tax,rounding,home <<-'END'
		3.03,EUR,0.51,0.51,0.51,-0.01,1.52
		3.03,EUR,0.51,0.51,0.51,-0.01,1.52
	END
}

@test "an order's currency is its lines', else its seller's, else home" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		A,P-1,red,1,1,GBP
		B,P-1,red,1,1,
		C,P-1,red,1,1,
		D,P-1,red,1,1,
		D,P-2,red,1,1,USD
	END
	sellers <<-'END'
		seller,currency
		A,USD
		B,USD
		C,
		D,USD
	END
	rates <<<$'from,to,rate\nUSD,EUR,0.9\nGBP,EUR,1.2'
	total -q -s sellers.csv -x rates.csv -C EUR
	exits 0
	columns_are seller,currency,total,home <<-'END'
		A,GBP,1.00,1.20
		B,USD,1.00,0.90
		C,EUR,1.00,1.00
		D,USD,2.00,1.80
		TOTAL,,,4.90
	END
}

@test "steps and amounts of a charge in another currency are converted exactly" {
	# 10 EUR are 2396.4 SIT
	orders <<-'END'
		seller,part,color,qty,price,currency
		a,P-1,red,1,2396.399999,SIT
		b,P-1,red,1,2396.4,SIT
		c,P-1,red,1,2396.400001,SIT
	END
	charges <<-'END'
		seller,charge,from,over,amount,currency
		*,shipping,,,1,
		*,shipping,10,,2,EUR
		*,shipping,,10,4,EUR
	END
	rates <<<$'from,to,rate\nEUR,SIT,239.640'
	total -q -c charges.csv -x rates.csv -C SIT
	columns_are seller,charges <<-'END'
		a,1.00
		b,479.28
		c,958.56
		TOTAL,1438.84
	END
}

@test "ISO 4217: codes and minor units, against list one as the npm registry has it" {
	# Package currency-codes: the list of the maintenance agency itself, with its minor units.
	local list=$TESTS/node_modules/currency-codes/iso-4217-list-one.xml
	[ -r "$list" ] || skip "currency-codes is not installed: make test-deps, with npm, installs it"
	try python3 "$TESTS/oracle/currencies.py" iso "$BIN/lot-total" "$list"
	exits 0
	[ "$(sed -n '$s/ codes, 0 differ$//p' "$OUT")" -gt 170 ]
}

@test "ISO 4217: minor units against CLDR in Babel, what differs being named" {
	# Debian's python3-babel, which is for Debian's own Python.
	/usr/bin/python3 -c 'import babel' || skip "Babel is not installed (Debian package python3-babel)"
	try /usr/bin/python3 "$TESTS/oracle/currencies.py" babel "$BIN/lot-total"
	exits 0
	[ "$(sed -n '$s/ codes, 0 differ$//p' "$OUT")" -gt 200 ]
}

@test "ISO 4217: every code that has a minor unit is known, against Debian's iso-codes" {
	local list=/usr/share/iso-codes/json/iso_4217.json
	[ -r "$list" ] || skip "no $list (Debian package iso-codes)"
	try python3 "$TESTS/oracle/currencies.py" codes "$BIN/lot-total" "$list"
	exits 0
	[ "$(sed -n '$s/ codes, 0 differ$//p' "$OUT")" -gt 150 ]
}

@test "a code that is none is an error that suggests the nearest" {
	local pair
	orders <<<"seller,part,color,qty,price"
	# By edit distance, neighbours exchanged counting as one slip; current codes before withdrawn ones.
	for pair in usd:USD UDS:USD GPB:GBP EUO:EUR euro:EUR US:USD DM:DEM; do
		total -C "${pair%:*}"
		refused "--currency \"${pair%:*}\" is no currency code of ISO 4217: did you mean ${pair#*:}?"
	done
	total -C '€'
	refused 'is no currency code of ISO 4217, such as EUR'
	# A metal has no minor unit.
	total -C XAU
	refused 'no currency code of ISO 4217'
}

# ---- the sum, others

@test "TOTAL leaves columns in order currency empty where those differ, with each charge too" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		A,P-1,red,1,1,GBP
		B,P-1,red,1,1,EUR
	END
	charges <<<$'seller,charge,amount\n*,post,1\n*,bag,0.1'
	rates <<<$'from,to,rate\nGBP,EUR,1.168'
	total -q -c charges.csv -x rates.csv -C EUR --each-charge
	out_is <<-'END'
		seller,route,lots,pieces,currency,goods,bag,post,tax,total,home_currency,home_goods,home_charges,home_tax,rounding,home
		A,,1,1,GBP,1.00,0.10,1.00,0.00,2.10,EUR,1.17,1.28,0.00,0.00,2.45
		B,,1,1,EUR,1.00,0.10,1.00,0.00,2.10,EUR,1.00,1.10,0.00,0.00,2.10
		TOTAL,,2,2,,,,,,,EUR,2.17,2.38,0.00,0.00,4.55
	END
}

@test "others: costs that are no order, with their tax, after the orders" {
	orders <<-'END'
		seller,part,color,qty,price,currency
		zoo,P-1,red,1,1,EUR
	END
	cat >others.csv <<-'END'
		item,amount,currency,tax
		tray,12.5,EUR,19
		instructions,10,USD,
		voucher,-2,,
	END
	rates <<<$'from,to,rate\nUSD,EUR,0.9'
	total -x rates.csv -C EUR --others others.csv
	exits 0
	out_is <<-'END'
		seller,route,lots,pieces,currency,goods,charges,tax,total,home_currency,home_goods,home_charges,home_tax,rounding,home
		zoo,,1,1,EUR,1.00,0.00,0.00,1.00,EUR,1.00,0.00,0.00,0.00,1.00
		instructions,other,0,0,USD,10.00,0.00,0.00,10.00,EUR,9.00,0.00,0.00,0.00,9.00
		tray,other,0,0,EUR,12.50,0.00,2.38,14.88,EUR,12.50,0.00,2.38,0.00,14.88
		voucher,other,0,0,EUR,-2.00,0.00,0.00,-2.00,EUR,-2.00,0.00,0.00,0.00,-2.00
		TOTAL,,1,1,,,,,,EUR,20.50,0.00,2.38,0.00,22.88
	END
	err_is <<<"lot-total: 1 order, 1 piece, 3 other costs, 22.88 EUR"
}

@test "the same rows in another order give the same bytes" {
	orders <<-'END'
		seller,route,class,part,color,qty,price,currency
		A,market,,P-1,red,3,0.115,USD
		A,market,x,P-2,red,2,0.5,USD
		B,direct,,P-1,blue,7,0.07,EUR
		B,direct,,P-1,red,7,0.07,EUR
	END
	sellers <<<$'seller,tax,tariff\n*,7,\nA,5,t\nC,1,'
	charges <<<$'seller,tariff,class,charge,from,amount\n,t,,post,,2\n,t,,post,1,1\n,t,x,bag,,1\n*,,,post,,3'
	rates <<<$'from,to,rate\nUSD,EUR,0.9\nGBP,EUR,1.2\nUSD,GBP,0.8'
	printf '%s\n' item,amount,currency b,1,USD a,2,GBP a,1,GBP >others.csv
	total -q -s sellers.csv -c charges.csv -x rates.csv -C EUR --each-charge --others others.csv
	exits 0
	cp "$OUT" first
	for file in orders sellers charges rates others; do
		{ head -n 1 $file.csv && tail -n +2 $file.csv | sort -r; } >turned
		mv turned $file.csv
	done
	total -q -s sellers.csv -c charges.csv -x rates.csv -C EUR --each-charge --others others.csv
	exits 0
	out_is <first
}

@test "others that differ in their taxes alone: in any order the same bytes" {
	local order
	orders <<<$'seller,part,color,qty,price\nA,P-1,red,1,1'
	for order in '5 4 - 4+1 4+2' '4+2 4+1 - 4 5' '- 4+2 5 4+1 4'; do
		# shellcheck disable=SC2086 # words
		printf 'x,1,EUR,%s\n' $order | sed 's/-$//' | cat <(echo item,amount,currency,tax) - >others.csv
		total -q -C EUR --others others.csv
		exits 0
		columns_are seller,tax,total <<-'END'
			A,0.00,1.00
			x,0.00,1.00
			x,0.04,1.04
			x,0.05,1.05
			x,0.06,1.06
			x,0.05,1.05
			TOTAL,0.20,6.20
		END
	done
}

@test "what is too large: several taxes, a step in another currency, the sum of all orders" {
	orders <<<$'seller,part,color,qty,price\nA,P-1,red,1,1'
	sellers <<<$'seller,route,currency,tax\n*,m,USD,9223372036854.775807+0.000001'
	total -s sellers.csv
	refused 'sellers.csv:2: tax "9223372036854.775807+0.000001" is too large'
	sellers <<<$'seller,route,currency,tax\n*,m,USD,'
	rates <<<$'from,to,rate\nEUR,GBP,9000000000000\nGBP,USD,9000000000000.000001'
	charges <<<$'seller,charge,amount,currency\n*,fee,9000000000000,EUR'
	total -s sellers.csv -c charges.csv -x rates.csv -C USD
	refused 'charges.csv:2: the step is too large for the currency USD'
	charges <<<$'seller,charge,basis,from,amount,currency\n*,fee,value,9000000000000,1,EUR'
	total -s sellers.csv -c charges.csv -x rates.csv -C USD
	refused 'charges.csv:2: the step is too large for the currency USD'

	# 9 x 10^12 x 9 x 10^12 x 1.5 x 10^10 = 1.215 x 10^36, in cents; 2^127 is 1.7 x 10^38.
	rates <<<$'from,to,rate\nEUR,GBP,9000000000000\nGBP,USD,15000000000'
	orders <<<$'seller,part,color,qty,price,currency\nA,P-1,red,1,9000000000000,EUR'
	total -q -x rates.csv -C USD
	exits 0
	out_has ,USD,1215000000000000000000000000000000000.00,0.00,0.00,0.00,1215000000000000000000000000000000000.00
	orders <<<$'seller,part,color,qty,price,currency\nA,P-1,red,1,9000000000000,EUR\nB,P-1,red,1,9000000000000,EUR'
	total -q -x rates.csv -C USD
	refused 'TOTAL: the figures are too large to count exactly'
	# With the bank's fees the rate itself is past 2^127.
	rates <<<$'from,to,rate,fee\nEUR,GBP,9000000000000.000001,9000000000000.000001\nGBP,USD,9000000000000,9000000000000'
	total -q -x rates.csv -C USD
	refused 'the rates from EUR to USD in rates.csv have too many digits'
}

# ---- against exact fractions

@test "300 generated sets of orders agree with Python's fractions to the last digit" {
	# Python's fractions and decimal modules; the figures are counted apart from the program's own code.
	try python3 "$TESTS/oracle/check_total.py" --program "$BIN/lot-total" 1 300
	exits 0
	out_has "300 sets, 0 failures"
}

@test "500 drawn needs, split, then totalled: the total is what is landed, but for its rounding" {
	# Within half a minor unit for each amount that is rounded, and equal where none is; Python's fractions.
	try python3 "$TESTS/oracle/agreement.py" --bin "$BIN" 1 500
	exits 0
	[ "$(sed -n '$s/^500 needs, \(.*\) of them without rounding, 0 failures$/\1/p' "$OUT")" -gt 200 ]
}

# ---- bad input

# bad TEXT: the order lines on stdin are refused with that text.
bad() {
	orders
	total
	refused "$1"
}

@test "bad order lines: told with file and line, exit 2, nothing on stdout" {
	bad 'no header line' </dev/null
	bad '<stdin>:1: no column "price": there are seller, part, color, qty' <<<'seller,part,color,qty'
	bad '<stdin>:1: two columns are named "qty"' <<<'seller,part,color,qty,price,QTY'
	bad '<stdin>:2: seller is empty' <<<$'seller,part,color,qty,price\n,P,red,1,1'
	bad '<stdin>:2: color is empty' <<<$'seller,part,color,qty,price\nA,P,,1,1'
	bad '<stdin>:2: qty "-1" is negative' <<<$'seller,part,color,qty,price\nA,P,red,-1,1'
	bad '<stdin>:2: qty "1.5" is no whole number' <<<$'seller,part,color,qty,price\nA,P,red,1.5,1'
	bad '<stdin>:2: qty "1000000000" is too large' <<<$'seller,part,color,qty,price\nA,P,red,1000000000,1'
	bad '<stdin>:2: qty "many" is no number' <<<$'seller,part,color,qty,price\nA,P,red,many,1'
	bad '<stdin>:2: price "-1" is negative' <<<$'seller,part,color,qty,price\nA,P,red,1,-1'
	bad '<stdin>:2: price "1,5" is no number' <<<$'seller,part,color,qty,price\nA,P,red,1,"1,5"'
	bad '<stdin>:2: price "0.1234567" has more than 6 decimals' <<<$'seller,part,color,qty,price\nA,P,red,1,0.1234567'
	bad '<stdin>:2: price "99999999999999" is too large' <<<$'seller,part,color,qty,price\nA,P,red,1,99999999999999'
	bad '<stdin>:2: qty x price is too large' <<<$'seller,part,color,qty,price\nA,P,red,999999999,9999999'
	bad '<stdin>:2: 6 fields, but the header names 5' <<<$'seller,part,color,qty,price\nA,P,red,1,1,1'
	bad '<stdin>:2: stray quote' <<<$'seller,part,color,qty,price\n"A"x,P,red,1,1'
	bad '<stdin>:2: a seller may not be named "TOTAL"' <<<$'seller,part,color,qty,price\nTOTAL,P,red,1,1'
	bad '<stdin>:2: route "other" is for costs' <<<$'seller,part,color,qty,price,route\nA,P,red,1,1,other'
	bad '<stdin>:2: seller and route are "A" and "owned"' <<<$'seller,part,color,qty,price,route\nA,P,red,1,1,owned'
	bad '<stdin>:2: currency "EUO" is no currency code of ISO 4217: did you mean EUR?' \
		<<<$'seller,part,color,qty,price,currency\nA,P,red,1,1,EUO'
	bad '<stdin>:2: amount "2.1" is not qty x price: 2, or' <<<$'seller,part,color,qty,price,amount\nA,P,red,4,0.5,2.1'
	orders <<<$'seller,part,color,qty,price,currency\nA,P,red,1,1,EUR\nA,Q,red,1,1,USD'
	total -C EUR
	refused '<stdin>:3: seller "A" has currency USD here and EUR at line 2'
	bad '<stdin>:3: seller "A" has route "market" here and "direct" at line 2' \
		<<<$'seller,part,color,qty,price,route\nA,P,red,1,1,direct\nA,Q,red,1,1,market'
	bad 'several currencies are in use (EUR, USD): say which is home' \
		<<<$'seller,part,color,qty,price,currency\nB,P,red,1,1,USD\nA,Q,red,1,1,EUR'
}

@test "bytes that are no text: NUL, and what is not UTF-8 unless its encoding is named" {
	printf 'seller,part,color,qty,price\nA,P\0,red,1,1\n' >orders.csv
	total
	refused 'NUL byte'
	printf 'seller,part,color,qty,price\nKr\374mel,P,red,1,1\n' >orders.csv
	total
	refused '<stdin>:2: '
	err_has UTF-8
	total -q --encoding ISO-8859-1
	exits 0
	columns_are seller <<<$'Krümel\nTOTAL'
}

# side NAME TEXT: the file NAME.csv on stdin is refused with that text, for a sound order.
side() {
	cat >"$1.csv"
	orders <<<$'seller,part,color,qty,price,currency\nA,P,red,1,1,EUR'
	total "--$1" "$1.csv"
	refused "$2"
}

@test "bad sellers" {
	side sellers 'no header line' </dev/null
	side sellers 'sellers.csv:1: no column "seller"' <<<'name'
	side sellers '<stdin>:2: no row of sellers.csv speaks for seller "A"' <<<$'seller,tax\nB,1'
	side sellers 'sellers.csv:2: a seller may not be named "owned"' <<<$'seller,tax\nowned,1'
	side sellers 'sellers.csv:2: a seller may not be named "TOTAL"' <<<$'seller,tax\nTOTAL,1'
	side sellers 'sellers.csv:3: seller "A" has a row at line 2 already' <<<$'seller,tax\nA,1\nA,1'
	side sellers 'sellers.csv:2: tax "7%" is no number' <<<$'seller,tax\nA,7%'
	side sellers 'sellers.csv:2: tax "5.3+" is empty: give a number' <<<$'seller,tax\nA,5.3+'
	side sellers 'sellers.csv:2: tax "5+-1" is negative' <<<$'seller,tax\nA,5+-1'
	side sellers 'sellers.csv:2: tax "1+2+3+4+5" is more than 4 taxes' <<<$'seller,tax\nA,1+2+3+4+5'
	side sellers 'sellers.csv:2: minimum "-1" is negative' <<<$'seller,minimum\nA,-1'
	side sellers 'sellers.csv:2: tax_on "sum" is not known: it is goods, all or included' <<<$'seller,tax_on\nA,sum'
	side sellers 'sellers.csv:2: currency "euro" is no currency code of ISO 4217' <<<$'seller,currency\nA,euro'
	side sellers 'sellers.csv:2: a seller'\''s route may not be "owned"' <<<$'seller,route\nA,owned'
}

@test "bad charges" {
	side charges 'charges.csv:1: no column "charge"' <<<'seller,amount'
	side charges 'no charge in charges.csv speaks for seller "A"' <<<$'seller,charge,amount\nB,post,1'
	side charges 'no charge in charges.csv speaks for seller "A"' <<<seller,charge,amount
	side charges 'charges.csv:2: basis "volume" is not known' <<<$'seller,charge,basis,amount\nA,post,volume,1'
	side charges 'charges.csv:3: charge "post" has another basis at line 2' \
		<<<$'seller,charge,basis,from,amount\nA,post,lots,1,1\nA,post,pieces,2,1'
	side charges 'charges.csv:3: charge "post" has a step at this place at line 2' \
		<<<$'seller,charge,from,amount\nA,post,1,1\nA,post,1.0,2'
	side charges 'charges.csv:2: from and over are both given' <<<$'seller,charge,from,over,amount\nA,post,1,1,1'
	side charges 'charges.csv:2: from "-1" is negative' <<<$'seller,charge,from,amount\nA,post,-1,1'
	side charges 'charges.csv:2: amount and percent are empty' <<<$'seller,charge,amount\nA,post,'
	side charges 'charges.csv:2: amount "free" is no number' <<<$'seller,charge,amount\nA,post,free'
	side charges 'charges.csv:2: charge is empty' <<<$'seller,charge,amount\nA,,1'
	side charges 'charges.csv:2: seller and tariff are empty' <<<$'seller,tariff,charge,amount\n,,post,1'
	side charges 'charges.csv:2: seller and tariff are both given' <<<$'seller,tariff,charge,amount\nA,t,post,1'
	side charges 'charges.csv:2: taxed "maybe" is not known: it is yes or no' \
		<<<$'seller,charge,amount,taxed\nA,post,1,maybe'
	side charges 'charges.csv:2: estimate "perhaps" is not known: it is yes or no' \
		<<<$'seller,charge,amount,estimate\nA,post,1,perhaps'
	side charges 'charges.csv:2: after is for the basis landed' <<<$'seller,charge,after,amount\nA,post,bag,1'
	side charges 'charges.csv:2: after names "bag", and no charge of that name counts with "post"' \
		<<<$'seller,charge,basis,after,amount\nA,post,landed,bag,1\nB,bag,,,1'
	side charges 'charges.csv:3: charge "post" is after other charges at line 2' \
		<<<$'seller,charge,basis,after,from,amount\nA,post,landed,bag,,1\nA,post,landed,,1,1\nA,bag,,,,1'
	side charges 'charges.csv:3: charge "post" has a step at this place at line 2' \
		<<<$'seller,charge,basis,from,amount\nA,post,landed,1,1\nA,post,landed,1.0,2'
	side charges 'comes after itself, by way of the charges that after names' \
		<<<$'seller,charge,basis,after,percent\nA,tax,landed,duty,1\nA,duty,landed,service,1\nA,service,landed,tax,1'
	side charges 'charges.csv:2: charge "duty" comes after itself' \
		<<<$'seller,class,charge,basis,after,percent\nA,x,duty,landed,duty,1\nA,y,duty,landed,,1'
	side charges '<stdin>:2: a charge of seller "A" goes by weight, and part "P" has no grams' \
		<<<$'seller,charge,basis,amount\nA,post,weight,1'
	side charges 'several currencies are in use (EUR, GBP)' <<<$'seller,charge,amount,currency\nA,post,1,GBP'
}

@test "steps at one place in two currencies are told when the rate makes them so" {
	charges <<<$'seller,charge,from,amount,currency\nA,post,10,1,GBP\nA,post,12,2,EUR'
	rates <<<$'from,to,rate\nGBP,EUR,1.2'
	orders <<<$'seller,part,color,qty,price,currency\nA,P,red,1,1,EUR'
	total -c charges.csv -x rates.csv -C EUR
	refused 'charges.csv:3: charge "post" has a step at this place at line 2, in another currency'
	# A charge of a seller without an order needs no rate.
	charges <<<$'seller,charge,amount,currency\nA,post,1,\nB,post,1,SEK'
	total -q -c charges.csv -C EUR
	exits 0
	charges <<<$'seller,charge,amount,currency\nA,post,1,SEK'
	total -c charges.csv -x rates.csv -C EUR
	refused 'charges.csv:2: no rate from SEK to EUR in rates.csv'
}

@test "bad rates" {
	side rates 'rates.csv:2: rate is 0' <<<$'from,to,rate\nEUR,USD,0'
	side rates 'rates.csv:2: rate "-1" is negative' <<<$'from,to,rate\nEUR,USD,-1'
	side rates 'rates.csv:2: to "USS" is no currency code of ISO 4217: did you mean USD?' <<<$'from,to,rate\nEUR,USS,1'
	side rates 'rates.csv:2: from is empty' <<<$'from,to,rate\n,USD,1'
	side rates 'rates.csv:2: from and to are both EUR' <<<$'from,to,rate\nEUR,EUR,1'
	side rates 'rates.csv:3: EUR to USD has another rate at line 2' <<<$'from,to,rate\nEUR,USD,1.1\nEUR,USD,1.2'
	orders <<<$'seller,part,color,qty,price,currency\nA,P,red,1,1,GBP'
	rates <<<$'from,to,rate\nGBP,EUR,1.2\nGBP,USD,1.3\nEUR,SEK,11\nUSD,SEK,10'
	total -x rates.csv -C SEK
	refused 'several ways from GBP to SEK in rates.csv, through EUR and through USD'
	total -x rates.csv -C JPY
	refused '<stdin>:2: no rate from GBP to JPY in rates.csv'
	total -C JPY
	refused 'no rate from GBP to JPY: give a file of rates'
}

@test "bad dates, fees and wide files" {
	local option
	side rates 'rates.csv:3: date "2026-02-30" is no date: write it as 2026-01-31' \
		<<<$'date,from,to,rate\n2024-02-29,EUR,USD,1\n2026-02-30,EUR,USD,1'
	side rates 'rates.csv:2: date "" is no date' <<<$'date,from,to,rate\n,EUR,USD,1'
	side rates 'rates.csv:2: date "5 May 2026" is no date' <<<$'date,from,to,rate\n5 May 2026,EUR,USD,1'
	side rates 'rates.csv:2: fee "-1" is negative' <<<$'from,to,rate,fee\nEUR,USD,1,-1'
	side rates 'rates.csv:3: EUR to USD has another fee at line 2' <<<$'from,to,rate,fee\nEUR,USD,1,2\nEUR,USD,1,3'
	side rates 'rates.csv:3: EUR to USD has another rate at line 2' \
		<<<$'date,from,to,rate\n2026-01-01,EUR,USD,1\n2026-01-01,EUR,USD,2'
	side rates 'rates.csv:1: no columns "from" and "to": there are USD, GBP; where each column is a currency, name' \
		<<<$'USD,GBP\n1,2'
	orders <<<$'seller,part,color,qty,price,currency\nA,P,red,1,1,EUR'
	rates <<<$'USD,GBQ\n1,2'
	total -x rates.csv --rates-base EUR
	refused 'rates.csv:1: column "GBQ" is no currency code of ISO 4217: did you mean GBP?'
	rates <<<$'USD,usd\n1,2'
	total -x rates.csv --rates-base EUR
	refused 'rates.csv:1: two columns are named "USD"'
	rates <<<$'one,other\n1,2'
	total -x rates.csv --rates-base EUR
	refused 'rates.csv:1: no column is a currency code: there are one, other'
	rates <<<$'USD,EUR\n1.2,1.1'
	total -x rates.csv --rates-base EUR
	refused 'rates.csv:2: EUR is the base, and stands at "1.1": it must be 1'
	rates <<<$'USD,GBP\n1.2,0'
	total -x rates.csv --rates-base EUR
	refused 'rates.csv:2: GBP is 0: it must be more than 0'
	rates <<<$'USD,GBP\n1.2,n/a\n1.2,.8,\n1.3,.8'
	total -x rates.csv --rates-base EUR
	refused 'rates.csv:4: EUR to USD has another rate at line 3'
	rates <<<$'from,to,rate\nEUR,USD,1'
	total -x rates.csv --on 2026-01-01
	refused 'rates.csv:1: there is no column "date", so no rate is of a day'
	total -x rates.csv --on 2026-1-1
	refused '--on "2026-1-1" is no date: it is YYYY-MM-DD'
	for option in '--on 2026-01-01' '--rates-base EUR'; do
		# shellcheck disable=SC2086
		total $option
		refused 'give --rates'
	done
	total -x rates.csv --rates-base EUO
	refused '--rates-base "EUO" is no currency code of ISO 4217: did you mean EUR?'
}

@test "bad weights and others" {
	side weights 'weights.csv:3: part "P" has other grams' <<<$'part,grams\nP,1\nP,2'
	side weights 'weights.csv:2: grams "-1" is negative' <<<$'part,grams\nP,-1'
	side others 'others.csv:2: item is empty' <<<$'item,amount\n,1'
	side others 'others.csv:2: item is named TOTAL' <<<$'item,amount\nTOTAL,1'
	side others 'others.csv:2: amount is empty' <<<$'item,amount\nx,'
	side others 'others.csv:2: tax "-1" is negative' <<<$'item,amount,tax\nx,1,-1'
	orders <<<$'seller,part,color,qty,price,currency\nA,P,red,1,1,EUR'
	printf '%s\n' item,amount,currency x,1,USD >others.csv
	total -C EUR --others others.csv
	refused 'others.csv:2: no rate from USD to EUR'
}

@test "twenty faults are told, then how many more" {
	{ echo seller,part,color,qty,price && yes A,P,red,x,1 | head -n 25; } >orders.csv
	total
	refused '<stdin>:21: qty "x"'
	err_has '<stdin>: and 5 more faults'
	err_lines 21
}

@test "a charge named as a column of the totals cannot be a column" {
	orders <<<$'seller,part,color,qty,price\nA,P,red,1,1'
	charges <<<$'seller,charge,amount\nA,Tax,1'
	total -q -c charges.csv
	exits 0
	total -c charges.csv --each-charge
	refused 'charges.csv: a charge is named "Tax"'
}

# ---- by model

shares() {
	cat >shares.csv
}

# Counted by hand. A: goods 3.00 of mill, 1.00 of barn, 2.00 beyond the need; 1.00 of shipping is
# 0.50, 0.17 (16.67 cents, the larger remainder) and 0.33; 10 percent tax on 7.00 is 0.35, 0.12, 0.23.
# B: all for barn.
@test "--by model: goods by its pieces, charges and tax in proportion, the largest remainder the last cent" {
	orders <<-'END'
		seller,route,lot,part,color,qty,price,surplus
		A,market,P/red,P,red,60,0.1,20
		B,market,Q/red,Q,red,3,0.333,0
		owned,owned,P/red,P,red,7,0,0
	END
	shares <<-'END'
		model,group,lot,part,color,condition,qty,seller,amount
		mill,roof,P/red,P,red,,20,A,2
		mill,wall,P/red,P,red,,10,A,1
		barn,,P/red,P,red,,10,A,1
		barn,,Q/red,Q,red,,3,B,0.999
		quay,,P/red,P,red,,7,owned,0
		,,,P,red,,20,A,2
	END
	sellers <<-'END'
		seller,route,currency,tax
		A,market,EUR,10
		B,market,EUR,
	END
	charges <<-'END'
		seller,charge,amount
		A,shipping,1
		B,shipping,0.50
	END
	total -s sellers.csv -c charges.csv --shares shares.csv --by model
	exits 0
	out_is <<-'END'
		model,kind,pieces,currency,goods,charges,tax,total,home_currency,home_goods,home_charges,home_tax,rounding,home
		barn,need,13,EUR,2.00,0.67,0.12,2.79,EUR,2.00,0.67,0.12,0.00,2.79
		mill,need,30,EUR,3.00,0.50,0.35,3.85,EUR,3.00,0.50,0.35,0.00,3.85
		quay,need,0,EUR,0.00,0.00,0.00,0.00,EUR,0.00,0.00,0.00,0.00,0.00
		,surplus,20,EUR,2.00,0.33,0.23,2.56,EUR,2.00,0.33,0.23,0.00,2.56
		TOTAL,,63,EUR,7.00,1.50,0.70,9.20,EUR,7.00,1.50,0.70,0.00,9.20
	END
	err_is <<<"lot-total: 2 orders, 63 pieces, 9.20 EUR; and 7 pieces owned"
}

# Table 14.5 of COMAP, "For All Practical Purposes", 10th edition: Hamilton's bill of 1792, 120 seats
# for the census of 1790. Here the people are pieces at 1, the seats the cents of the shipping.
@test "--by model: Hamilton's apportionment of 1792, as published" {
	cat >census <<-'END'
		Connecticut 236841 8
		Delaware 55540 2
		Georgia 70835 2
		Kentucky 68705 2
		Maryland 278514 9
		Massachusetts 475327 16
		New-Hampshire 141822 5
		New-Jersey 179570 6
		New-York 331589 11
		North-Carolina 353523 12
		Pennsylvania 432879 14
		Rhode-Island 68446 2
		South-Carolina 206236 7
		Vermont 85533 3
		Virginia 630560 21
	END
	orders <<<$'seller,part,color,qty,price,currency\nA,P,red,3615920,1,USD'
	{
		echo model,lot,part,color,qty,seller,amount
		while read -r state people _; do
			echo "$state,P/red,P,red,$people,A,$people"
		done <census
	} >shares.csv
	charges <<<$'seller,charge,amount\nA,shipping,1.20'
	total -q -c charges.csv --shares shares.csv --by model
	exits 0
	columns_are model,pieces,charges < <(
		awk '{ printf "%s,%d,%d.%02d\n", $1, $2, $3 / 100, $3 % 100 }' census
		echo TOTAL,3615920,1.20
	)
}

# 10.00 USD are 8.55 EUR at 0.855; goods of 9.00 are 7.70, charges of 1.00 are 0.86, and rounding is
# -0.01, which goes to the larger remainder: a's 2/3. 770 cents are 513.33 and 256.67, 86 are 57.33 and
# 28.67. The rebate of B, -0.10, is shared as 0.10 would be: 6.67 and 3.33 cents.
@test "--by model: several currencies, rounding and rebates are shared too, others and cash stand apart" {
	orders <<-'END'
		seller,lot,part,color,qty,price,currency
		A,P,P,red,9,1,USD
		B,P,P,red,3,1,EUR
	END
	shares <<-'END'
		model,lot,part,color,qty,seller,amount
		a,P,P,red,6,A,6
		b,P,P,red,3,A,3
		a,P,P,red,2,B,2
		b,P,P,red,1,B,1
	END
	charges <<-'END'
		seller,charge,amount,taxed
		A,shipping,1,no
		B,rebate,-0.10,
	END
	rates <<<$'from,to,rate\nUSD,EUR,0.855'
	cat >others.csv <<<$'item,amount,currency\nbook,5,USD'
	total -q -c charges.csv -x rates.csv -C EUR --shares shares.csv --by model --others others.csv --cash 0.05
	exits 0
	out_is <<-'END'
		model,kind,pieces,currency,goods,charges,tax,total,home_currency,home_goods,home_charges,home_tax,rounding,home
		a,need,8,,,,,,EUR,7.13,0.50,0.00,-0.01,7.62
		b,need,4,,,,,,EUR,3.57,0.26,0.00,0.00,3.83
		book,other,0,USD,5.00,0.00,0.00,5.00,EUR,4.28,0.00,0.00,0.00,4.28
		TOTAL,,12,,,,,,EUR,14.98,0.76,0.00,0.01,15.75
	END
	total -q -c charges.csv -x rates.csv -C EUR --others others.csv --cash 0.05
	columns_are home_goods,home_charges,home_tax,rounding,home <<-'END'
		7.70,0.86,0.00,-0.01,8.55
		3.00,-0.10,0.00,0.00,2.90
		4.28,0.00,0.00,0.00,4.28
		14.98,0.76,0.00,0.01,15.75
	END
}

@test "--by model: free goods are shared by the piece; an order of nothing but a surplus" {
	orders <<-'END'
		seller,lot,part,color,qty,price,surplus,currency
		A,P,P,red,3,0,0,EUR
		B,Q,Q,red,5,0.2,5,EUR
	END
	shares <<-'END'
		model,lot,part,color,qty,seller,amount
		b,P,P,red,2,A,0
		a,P,P,red,1,A,0
		,,Q,red,5,B,1
	END
	charges <<<$'seller,charge,amount\n*,shipping,1'
	total -q -c charges.csv --shares shares.csv --by model
	exits 0
	columns_are model,kind,pieces,goods,charges,total <<-'END'
		a,need,1,0.00,0.33,0.33
		b,need,2,0.00,0.67,0.67
		,surplus,5,1.00,1.00,2.00
		TOTAL,,8,1.00,2.00,3.00
	END
}

@test "--by model: no orders, no shares" {
	orders <<<'seller,part,color,qty,price'
	shares <<<'model,lot,part,color,qty,seller,amount'
	total -q --shares shares.csv --by model
	exits 0
	out_is <<-'END'
		model,kind,pieces,currency,goods,charges,tax,total,home_currency,home_goods,home_charges,home_tax,rounding,home
		TOTAL,,0,,0.00,0.00,0.00,0.00,,0.00,0.00,0.00,0.00,0.00
	END
}

# bad_shares ROW TEXT: the share instead of the right one is refused.
bad_shares() {
	printf 'model,lot,part,color,condition,qty,seller,amount\n%b\n' "$1" >shares.csv
	total --shares shares.csv --by model
	refused "$2"
}

@test "--by model: shares that are wrong, or of other orders, are told" {
	orders <<<$'seller,part,color,condition,qty,price\nA,P,red,new,4,0.25'
	bad_shares 'a,P,P,red,new,3,A,0.75' 'lot-total: shares.csv:2: shares of P, red, new from seller "A" are 3 pieces for 0.75, the order lines have 4 for 1: every piece'
	bad_shares 'a,P,P,red,new,4,A,1.1' 'shares.csv:2: shares of P, red, new from seller "A" are 4 pieces for 1.1, the order lines have 4 for 1'
	bad_shares 'a,P,P,red,new,2,A,0.5\nb,P,P,red,new,3,A,0.75' 'shares.csv:2: shares of P, red, new from seller "A" are 5 pieces'
	bad_shares 'a,P,P,red,new,4,B,1' 'shares.csv:2: shares of P, red, new from seller "B" are 4 pieces for 1, the order lines have 0 for 0'
	err_has 'shares.csv: shares of P, red, new from seller "A" are 0 pieces for 0, the order lines have 4'
	bad_shares 'a,P,P,red,new,x,A,1' 'shares.csv:2: qty "x"'
	bad_shares 'a,P,P,red,new,4,A,' 'shares.csv:2: amount is empty'
	bad_shares 'a,P,P,red,new,4,A,-1' 'shares.csv:2: amount "-1"'
	bad_shares 'a,P,,red,new,4,A,1' 'shares.csv:2: part is empty'
	bad_shares 'a,P,P,red,new,4,,1' 'shares.csv:2: seller is empty'
	bad_shares 'a,,P,red,new,4,A,1' 'shares.csv:2: model is "a" and lot is empty'
	bad_shares 'TOTAL,P,P,red,new,4,A,1' 'shares.csv:2: a model may not be named "TOTAL"'
	printf 'model,part,color,qty,seller\n' >shares.csv
	total --shares shares.csv --by model
	refused 'no column "lot"'
	err_has 'no column "amount"'
}

@test "--by model: what does not go together" {
	orders <<<'seller,part,color,qty,price'
	shares <<<'model,lot,part,color,qty,seller,amount'
	total --by model
	refused '--by model goes by who gets what: --shares FILE'
	total --shares shares.csv
	refused '--shares is for --by model'
	total --shares shares.csv --by group
	refused '--by takes model'
	total --shares shares.csv --by model --each-charge
	refused '--each-charge is of orders'
	total --shares - --by model
	refused 'stdin is already an input'
}

@test "--delimiter and --encoding are of the order lines" {
	printf 'seller:part:color:qty:price:currency\nGr\xe5:P:red:2:0.5:EUR\n' >orders.csv
	total -D : --encoding ISO-8859-1
	exits 0
	columns_are seller,home <<-'END'
		Grå,1.00
		TOTAL,1.00
	END
}

@test "what a row of sellers or charges must say" {
	orders <<<$'seller,part,color,qty,price\nA,P,red,1,1'
	sellers <<<$'seller,tax\n,19\nowned,19'
	total -s sellers.csv
	refused 'lot-total: sellers.csv:2: seller is empty: name one, or * for all without a row'
	err_has 'lot-total: sellers.csv:3: a seller may not be named "owned": rename it'
	charges <<<$'seller,charge,amount,percent\nTOTAL,shipping,1,\nA,shipping,no,5'
	total -c charges.csv
	refused 'lot-total: charges.csv:2: a seller may not be named "TOTAL": rename it'
	err_has 'lot-total: charges.csv:3: amount is no, such an order is not shipped: leave percent empty'
	charges <<<$'charge,from\nshipping,1'
	total -c charges.csv
	refused 'seller'
	err_has 'amount'
}

# What is told is put together in pieces of 1,024 and 4,096 bytes, of which nobody must see anything.
@test "a message of any length is one line, whole and escaped" {
	local name
	orders <<<$'seller,part,color,qty,price\nA,P,red,1,1'
	for length in 900 1000 1010 1020 1030 4060 4080 4100 9000; do
		name=$(printf "%${length}s" '' | tr ' ' x)
		total -s "$name"
		refused "lot-total: $name: File name too long"
		err_lines 1
		name=$(printf "%${length}s" '' | tr ' ' '\001')
		total -s "$name"
		refused "lot-total: ${name//$'\001'/\\x01}: File name too long"
		err_lines 1
	done
}

@test "options: help, version, unknown, twice, missing file, full output, closed pipe" {
	orders <<<$'seller,part,color,qty,price\nA,P,red,1,1'
	total --help
	exits 0
	out_has "usage: lot-total"
	total -V
	exits 0
	out_has "lot-total "
	total -s sellers.csv -s sellers.csv
	refused 'option --sellers is given twice'
	total --each-charge=yes
	refused 'option --each-charge takes no value'
	total --nonsense
	refused 'unknown or ambiguous option --nonsense'
	total file.csv
	refused 'no operands'
	total --tax-by item
	refused '--tax-by "item" is not known'
	total -C euro
	refused '--currency "euro" is no currency code of ISO 4217'
	total -s -
	refused 'stdin is already an input'
	total -x rates.csv
	refused 'rates.csv: No such file or directory'
	try sh -c 'lot-total <orders.csv >/dev/full'
	exits 2
	err_has '<stdout>: No space left on device'
	try bash -c '{ sleep 0.2; lot-total <orders.csv; echo "$?" >kept; } | true'
	[ "$(cat kept)" -eq 141 ]
}
