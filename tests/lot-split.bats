#!/usr/bin/env bats
# lot-split: a need list bought at the least landed cost. One rule of the model at a time, on tables
# small enough to count by hand; then published problems and drawn needs, against independent oracles.

# shellcheck disable=SC2154 # status is set by try
load lib
load drawn

# Every test has three sellers without tax or minimum, in dollars, and no charges, until it says otherwise.
setup() {
	begin
	sellers <<-'END'
		seller,route,currency
		A,market,USD
		B,market,USD
		C,market,USD
	END
}

need() {
	cat >need.csv
}

offers() {
	cat >offers.csv
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

stock() {
	cat >stock.csv
}

weights() {
	cat >weights.csv
}

# split [OPTION...]: need.csv bought with the files that there are, quietly, with a report.
split() {
	run_split -q --report report.csv "$@"
}

run_split() {
	local args=(-o offers.csv -s sellers.csv)
	[ ! -e charges.csv ] || args+=(-c charges.csv)
	[ ! -e rates.csv ] || args+=(-x rates.csv)
	[ ! -e weights.csv ] || args+=(-w weights.csv)
	[ ! -e stock.csv ] || args+=(-k stock.csv)
	try lot-split "${args[@]}" "$@" <need.csv
}

# What is bought, as seller,lot,color,qty,price,surplus rows, is what stands on stdin.
buys() {
	cut -d , -f 1,4,6,8,9,12 "$OUT" | sed 1d >bought
	diff -u --label 'bought due' --label 'bought' - bought || show "something else is bought"
}

# ---- offers

@test "each lot where it is cheapest: the order lines in full" {
	need <<-'END'
		part,color,qty
		P-1,red,4
		P-2,blue,3
	END
	offers <<-'END'
		seller,part,color,qty,price,condition,class,listing,grams
		A,P-1,red,10,0.10,new,k,,
		B,P-1,red,10,0.08,used,,x7,1.25
		A,P-2,blue,,0.05,new,k,,
	END
	run_split
	exits 0
	out_is <<-'END'
		seller,route,class,lot,part,color,condition,qty,price,currency,amount,surplus,grams,listing
		A,market,k,P-2/blue,P-2,blue,new,3,0.05,USD,0.15,0,,
		B,market,,P-1/red,P-1,red,used,4,0.08,USD,0.32,0,1.25,x7
	END
	err_is <<<"lot-split: 2 orders, 2 lots, 7 pieces, 0.47 USD landed, proved least"
}

@test "a lot is bought from several sellers where one has too few" {
	need <<<$'part,color,qty\nP-1,red,10'
	offers <<-'END'
		seller,part,color,qty,price
		A,P-1,red,6,0.1
		B,P-1,red,20,0.2
	END
	split
	costs 1.4
	buys <<-'END'
		A,P-1/red,red,6,0.1,0
		B,P-1/red,red,4,0.2,0
	END
}

@test "rows without a listing are listings of their own: their pieces add up" {
	need <<<$'part,color,qty\nP-1,red,8'
	offers <<-'END'
		seller,part,color,qty,price
		A,P-1,red,5,0.12
		A,P-1,red,5,0.1
	END
	split
	costs 0.86
	buys <<-'END'
		A,P-1/red,red,5,0.1,0
		A,P-1/red,red,3,0.12,0
	END
}

@test "rows equal in every column count once, which is told" {
	need <<<$'part,color,qty\nP-1,red,8'
	offers <<-'END'
		seller,part,color,qty,price,code
		A,P-1,red,5,0.1,x
		A,P-1,red,5,0.1,x
		A,P-1,red,5,0.1,y
	END
	run_split
	exits 0
	out_is <<-'END'
		seller,route,class,lot,part,color,condition,qty,price,currency,amount,surplus,grams,listing
		A,market,,P-1/red,P-1,red,,3,0.1,USD,0.3,0,,
		A,market,,P-1/red,P-1,red,,5,0.1,USD,0.5,0,,
	END
	err_has "lot-split: offers.csv:3: equals another offer in every column: counted once"
}

@test "price breaks: all pieces of an order at the price of one break" {
	offers <<-'END'
		seller,part,color,qty,price,least,listing
		A,P-1,red,,0.10,,k
		A,P-1,red,,0.07,10,k
	END
	need <<<$'part,color,qty\nP-1,red,12'
	split
	costs 0.84
	buys <<<"A,P-1/red,red,12,0.07,0"
	need <<<$'part,color,qty\nP-1,red,6'
	split
	costs 0.6
	buys <<<"A,P-1/red,red,6,0.1,0"
}

@test "more than needed is bought where a break makes that cheaper" {
	offers <<-'END'
		seller,part,color,qty,price,least,listing
		A,P-1,red,,0.10,,k
		A,P-1,red,,0.07,10,k
	END
	need <<<$'part,color,qty\nP-1,red,9'
	split
	costs 0.7
	buys <<<"A,P-1/red,red,10,0.07,1"
	reports pieces=10 surplus=1
	# 7 at 0.10 or 10 at 0.07 cost the same: no surplus for nothing is needed, but either is least.
	need <<<$'part,color,qty\nP-1,red,7'
	split
	costs 0.7
}

@test "breaks of a listing share its pieces" {
	offers <<-'END'
		seller,part,color,qty,price,least,listing
		A,P-1,red,12,0.10,,k
		A,P-1,red,12,0.07,10,k
		B,P-1,red,,0.20,,
	END
	need <<<$'part,color,qty\nP-1,red,15'
	split
	costs 1.44
	buys <<-'END'
		A,P-1/red,red,12,0.07,0
		B,P-1/red,red,3,0.2,0
	END
}

@test "the dearer break is taken where it alone reaches a threshold" {
	offers <<-'END'
		seller,part,color,qty,price,least,listing
		A,P-1,red,10,0.50,,k
		A,P-1,red,10,0.48,10,k
	END
	charges <<-'END'
		seller,charge,from,amount
		A,shipping,,3
		A,shipping,5,0
	END
	need <<<$'part,color,qty\nP-1,red,10'
	split
	costs 5
	buys <<<"A,P-1/red,red,10,0.5,0"
}

@test "step: only multiples of it are sold" {
	need <<<$'part,color,qty\nP-1,red,14'
	offers <<<$'seller,part,color,qty,price,step\nA,P-1,red,,0.05,10'
	split
	costs 1
	buys <<<"A,P-1/red,red,20,0.05,6"
	# Ten in a step and four loose are cheaper.
	offers <<-'END'
		seller,part,color,qty,price,step
		A,P-1,red,,0.05,10
		B,P-1,red,,0.1,
	END
	split
	costs 0.9
	buys <<-'END'
		A,P-1/red,red,10,0.05,0
		B,P-1/red,red,4,0.1,0
	END
}

@test "step and qty: what is less than a step beyond is not sold" {
	need <<<$'part,color,qty\nP-1,red,22'
	offers <<-'END'
		seller,part,color,qty,price,step
		A,P-1,red,25,0.05,10
		B,P-1,red,,0.1,
	END
	split
	costs 1.2
	buys <<-'END'
		A,P-1/red,red,20,0.05,0
		B,P-1/red,red,2,0.1,0
	END
}

@test "least: fewer are not sold" {
	need <<<$'part,color,qty\nP-1,red,3'
	offers <<-'END'
		seller,part,color,qty,price,least
		A,P-1,red,,0.1,5
		B,P-1,red,,0.2,
	END
	split
	costs 0.5
	buys <<<"A,P-1/red,red,5,0.1,2"
	offers <<-'END'
		seller,part,color,qty,price,least
		A,P-1,red,,0.1,5
		B,P-1,red,,0.15,
	END
	split
	costs 0.45
	buys <<<"B,P-1/red,red,3,0.15,0"
}

@test "step and least together: the first multiple that is not below least" {
	need <<<$'part,color,qty\nP-1,red,3'
	offers <<<$'seller,part,color,qty,price,step,least\nA,P-1,red,,0.1,4,6'
	split
	costs 0.8
	buys <<<"A,P-1/red,red,8,0.1,5"
}

@test "step and least hold over an offer's rows together" {
	need <<-'END'
		part,color,qty
		P-1,any,4
		P-1,red,3
	END
	offers <<<$'seller,part,color,qty,price,step,least\nA,P-1,red,,0.1,7,5'
	split
	costs 0.7
	buys <<-'END'
		A,P-1/any,red,4,0.1,0
		A,P-1/red,red,3,0.1,0
	END
}

@test "surplus stands on the last of an offer's rows, beyond the need" {
	need <<-'END'
		part,color,qty
		P-1,any,4
		P-1,red,3
	END
	offers <<<$'seller,part,color,qty,price,step\nA,P-1,red,,0.1,10'
	split
	costs 1
	buys <<-'END'
		A,P-1/any,red,4,0.1,0
		A,P-1/red,red,6,0.1,3
	END
	reports pieces=10 surplus=3
}

@test "a line may be surplus alone, and bears no penalty" {
	sellers <<<$'seller,route,currency,minimum\nA,market,USD,5'
	need <<-'END'
		lot,part,color,qty,penalty
		x,P-1,red,4,
		x,P-2,red,4,3
	END
	offers <<-'END'
		seller,part,color,qty,price
		A,P-1,red,4,1
		A,P-2,red,10,1
	END
	split
	costs 5
	cut -d , -f 4,5,8,12 "$OUT" | sed 1d >found
	diff - found <<-'END'
		x,P-1,4,0
		x,P-2,1,1
	END
	reports penalties=0 surplus=1
}

# ---- charges

@test "a flat charge: one order instead of two cheaper ones" {
	need <<<$'part,color,qty\nP-1,red,1\nP-2,red,1'
	offers <<-'END'
		seller,part,color,qty,price
		A,P-1,red,,1.5
		A,P-2,red,,1.5
		B,P-1,red,,1
		C,P-2,red,,1
	END
	split
	costs 2
	reports orders=2
	charges <<<$'seller,charge,amount\n*,shipping,2'
	split
	costs 5
	reports orders=1 landed=5
}

@test "class fees: for each class that is bought, and none without a line of it" {
	charges <<-'END'
		seller,class,charge,from,amount
		A,shelf,handling,,3
		A,shelf,handling,12,0
		A,store,handling,,4
		A,,shipping,,5
		A,,shipping,60,0
	END
	offers <<-'END'
		seller,part,color,qty,price,class
		A,P-1,red,,0.5,shelf
		A,P-2,red,,1,store
		A,P-3,red,,1,
	END
	need <<<$'part,color,qty\nP-1,red,10\nP-2,red,2'
	split
	costs 19 # 5 + 2, fees 3 + 4, shipping 5
	need <<<$'part,color,qty\nP-2,red,2\nP-3,red,1'
	split
	costs 12 # 2 + 1, fee 4, shipping 5
	need <<<$'part,color,qty\nP-3,red,1'
	split
	costs 6
}

@test "class fees are waived from a value of that class on, and a piece more may pay for that" {
	charges <<-'END'
		seller,class,charge,from,amount
		A,shelf,handling,,3
		A,shelf,handling,12,0
	END
	offers <<-'END'
		seller,part,color,qty,price,class
		A,P-1,red,,0.5,shelf
		A,P-2,red,,1,store
	END
	need <<<$'part,color,qty\nP-1,red,24'
	split
	costs 12
	need <<<$'part,color,qty\nP-1,red,23'
	split
	costs 12
	buys <<<"A,P-1/red,red,24,0.5,1"
	# Goods of another class do not count: 8 + 3 + 50.
	need <<<$'part,color,qty\nP-1,red,16\nP-2,red,50'
	split
	costs 61
}

@test "the class decides where the same part stands in two" {
	charges <<-'END'
		seller,class,charge,amount
		A,shelf,handling,3
		A,store,handling,0
	END
	offers <<-'END'
		seller,part,color,qty,price,class
		A,P-1,red,,0.5,shelf
		A,P-1,red,,0.75,store
	END
	need <<<$'part,color,qty\nP-1,red,10'
	split
	costs 7.5
	need <<<$'part,color,qty\nP-1,red,20'
	split
	costs 13
}

@test "from is reached at its value, over only past it; below the first step there is no charge" {
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,10,1'
	charges <<<$'seller,charge,from,amount\nA,shipping,5,2'
	need <<<$'part,color,qty\nP-1,red,4'
	split
	costs 4
	need <<<$'part,color,qty\nP-1,red,5'
	split
	costs 7
	charges <<<$'seller,charge,over,amount\nA,shipping,5,2'
	split
	costs 5
	need <<<$'part,color,qty\nP-1,red,6'
	split
	costs 8
}

@test "the last step reached applies alone, in whatever order the rows stand" {
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,30,1'
	charges <<-'END'
		seller,charge,from,over,amount
		A,shipping,20,,1
		A,shipping,,,5
		A,shipping,,10,3
	END
	need <<<$'part,color,qty\nP-1,red,10'
	split
	costs 14 # 11 goods + 3 would be no less
	need <<<$'part,color,qty\nP-1,red,12'
	split
	costs 15
	need <<<$'part,color,qty\nP-1,red,19'
	split
	costs 21 # one piece more: 20 + 1, not 19 + 3
	buys <<<"A,P-1/red,red,20,1,1"
}

@test "basis weight, grams from the offer" {
	charges <<-'END'
		seller,charge,basis,over,amount
		*,letter,weight,,1.95
		*,letter,weight,50,2.85
	END
	offers <<<$'seller,part,color,qty,price,grams\nA,P-1,red,,0.01,1.6'
	need <<<$'part,color,qty,grams\nP-1,red,31,9'
	weights <<<$'part,grams\nP-1,7'
	split
	costs 2.26 # 49.6 g
	need <<<$'part,color,qty,grams\nP-1,red,32,9'
	split
	costs 3.17 # 51.2 g
}

@test "basis weight, grams from the need, else from the weights" {
	charges <<-'END'
		seller,charge,basis,from,amount
		*,letter,weight,,1
		*,letter,weight,50,2
	END
	offers <<<$'seller,part,color,qty,price,grams\nA,P-1,red,,0.01,'
	need <<<$'part,color,qty,grams\nP-1,red,10,5'
	weights <<<$'part,grams\nP-1,4.9'
	split
	costs 2.1
	cut -d , -f 13 "$OUT" | sed 1d >grams
	[ "$(cat grams)" = 5 ]
	need <<<$'part,color,qty\nP-1,red,10'
	split
	costs 1.1
	cut -d , -f 13 "$OUT" | sed 1d >grams
	[ "$(cat grams)" = 4.9 ]
}

@test "basis weight decides between sellers" {
	charges <<-'END'
		seller,charge,basis,from,amount
		*,parcel,weight,,1
		*,parcel,weight,1000,10
	END
	offers <<-'END'
		seller,part,color,qty,price,grams
		A,P-1,red,,1,100
		B,P-1,red,,1.5,100
	END
	need <<<$'part,color,qty\nP-1,red,12'
	split
	costs 15.5 # 9 at A, 3 at B: 9 + 4.5 + 1 + 1
	buys <<-'END'
		A,P-1/red,red,9,1,0
		B,P-1/red,red,3,1.5,0
	END
}

@test "basis pieces counts pieces, surplus too" {
	charges <<-'END'
		seller,charge,basis,from,amount
		*,packing,pieces,,1
		*,packing,pieces,11,3
	END
	offers <<<$'seller,part,color,qty,price,step\nA,P-1,red,,0.5,'
	need <<<$'part,color,qty\nP-1,red,10'
	split
	costs 6
	need <<<$'part,color,qty\nP-1,red,11'
	split
	costs 8.5
	offers <<<$'seller,part,color,qty,price,step\nA,P-1,red,,0.5,6'
	need <<<$'part,color,qty\nP-1,red,10'
	split
	costs 9
}

@test "basis lots counts different part, color and condition, whatever lots they serve" {
	charges <<-'END'
		seller,charge,basis,over,amount
		A,picking,lots,,1
		A,picking,lots,1,5
	END
	need <<-'END'
		lot,part,color,qty
		x,P-1,red,2
		y,P-1,red,3
	END
	offers <<-'END'
		seller,part,color,qty,price,condition
		A,P-1,red,,1,new
	END
	split
	costs 6
	reports lots=1
	# Two listings of one kind are one lot; another condition is another.
	offers <<-'END'
		seller,part,color,qty,price,condition
		A,P-1,red,2,1,new
		A,P-1,red,3,0.9,new
	END
	split
	costs 5.7
	offers <<-'END'
		seller,part,color,qty,price,condition
		A,P-1,red,2,1,new
		A,P-1,red,3,1,used
	END
	split
	costs 10
	reports lots=2
}

@test "percent: amount and percent of the goods it is about" {
	offers <<-'END'
		seller,part,color,qty,price,class
		A,P-1,red,,1,shelf
		A,P-2,red,,10,
	END
	charges <<-'END'
		seller,class,charge,from,amount,percent
		A,,insurance,25,0.4,1.5
		A,shelf,care,,,10
	END
	need <<<$'part,color,qty\nP-1,red,4\nP-2,red,2'
	split
	costs 24.4 # below 25: only 10 % of 4
	need <<<$'part,color,qty\nP-1,red,10\nP-2,red,2'
	split
	costs 31.85 # 30, insurance 0.4 + 0.45, care 1
}

@test "rebates: a published ladder, and a piece more that pays" {
	# Ladder: Internet shopping with price sensitive discounts, 4OR (2013), doi 10.1007/s10288-013-0230-7.
	charges <<-'END'
		seller,charge,from,percent
		A,rebate,100,-2
		A,rebate,200,-5
		A,rebate,300,-10
		A,rebate,500,-15
		A,rebate,1000,-20
		*,none,,0
	END
	offers <<-'END'
		seller,part,color,qty,price
		A,P-1,red,,10
		B,P-1,red,,9.6
	END
	need <<<$'part,color,qty\nP-1,red,19'
	split --without B
	costs 186.2
	split
	costs 182.4 # B
	need <<<$'part,color,qty\nP-1,red,20'
	split
	costs 190 # 5 % off 200, against 192
	need <<<$'part,color,qty\nP-1,red,29'
	split
	costs 270 # a piece more: 10 % off 300, against 275.5
	buys <<<"A,P-1/red,red,30,10,1"
	need <<<$'part,color,qty\nP-1,red,45'
	split
	costs 405
	need <<<$'part,color,qty\nP-1,red,48'
	split
	costs 425 # 15 % off 500, against 432
	need <<<$'part,color,qty\nP-1,red,95'
	split
	costs 800 # 20 % off 1000, against 807.5
	reports surplus=5
}

@test "a rebate in money is for an order, not for none" {
	# Found by fuzzing: an order of nothing at all got the rebate in the bound, which stayed below 0.
	need <<<$'lot,part,color,qty,penalty,worth\nL0,P,red,4,1,0.3\nL0,Q,any,4,,0.3'
	offers <<<$'seller,part,color,qty,price,step\nA,P,red,30,2,5'
	sellers <<<$'seller,route,tax,tax_on\nA,market,50,all'
	charges <<<$'seller,charge,basis,amount\nA,coupon,weight,-1'
	printf 'part,grams\nP,1\n' >weights.csv
	split --order-cost 0.5
	exits 0
	out_is <<<'seller,route,class,lot,part,color,condition,qty,price,currency,amount,surplus,grams,listing'
	reports cost=0 bound=0 proved=yes
}

@test "rebates of more than what goods cost are refused: the more, the better" {
	# Found by fuzzing: the bound left such pieces out of account, and was above the plan.
	need <<<$'part,color,qty\nP,red,2'
	offers <<<$'seller,part,color,qty,price\nB,P,red,9,3\nA,P,red,,3'
	sellers <<<$'seller,route,currency\n*,market,EUR'
	charges <<-'END'
		seller,charge,over,amount,percent
		A,shipping,2,3,100
		A,shipping,13,0,-5
		A,coupon,,0,-100
		B,coupon,,0,-100
	END
	split
	refused 'offers.csv:3: the rebates of seller "A" can come to more than its goods cost, and a piece to less than nothing: lower a percent of its charges'
	err_lines 1
	# All of it, and no more.
	sed -i 's/13,0,-5/13,0,0/' charges.csv
	split
	exits 0
	reports cost=0 proved=yes
	# Of what other charges come to, and the tax on it.
	charges <<-'END'
		seller,charge,basis,amount,percent,after
		A,shipping,value,,200,
		A,rebate,landed,,-101,shipping
		B,coupon,value,,-100,
	END
	split
	refused 'the rebates of seller "A" can come to more'
	sed -i 's/,-101,/,-100,/' charges.csv
	split
	exits 0
}

@test "a rebate in money may make an order pay that nothing else does" {
	charges <<<$'seller,charge,from,amount\nA,voucher,4,-3\n*,none,,0'
	offers <<-'END'
		seller,part,color,qty,price
		A,P-1,red,,1
		B,P-1,red,,0.4
	END
	need <<<$'part,color,qty\nP-1,red,3'
	split
	costs 1 # 4 - 3 at A, against 1.2
	buys <<<"A,P-1/red,red,4,1,1"
}

@test "amount no: such an order is not made" {
	charges <<-'END'
		seller,charge,basis,over,amount
		*,parcel,weight,,0
		*,parcel,weight,2000,no
	END
	offers <<-'END'
		seller,part,color,qty,price,grams
		A,P-1,red,,1,100
		B,P-1,red,,2,100
	END
	need <<<$'part,color,qty\nP-1,red,30'
	split
	costs 40
	buys <<-'END'
		A,P-1/red,red,20,1,0
		B,P-1/red,red,10,2,0
	END
	split --without B --short short.csv
	exits 1
	buys <<<"A,P-1/red,red,20,1,0"
	reports cost=20 unmet=10
}

@test "amount no below a step keeps small orders from being made" {
	charges <<-'END'
		seller,charge,from,amount
		A,shipping,,no
		A,shipping,5,1
		*,shipping,,1
	END
	offers <<-'END'
		seller,part,color,qty,price
		A,P-1,red,,1
		B,P-1,red,,2
	END
	need <<<$'part,color,qty\nP-1,red,2'
	split
	costs 5
	buys <<<"B,P-1/red,red,2,2,0"
	need <<<$'part,color,qty\nP-1,red,4'
	split
	costs 6
	buys <<<"A,P-1/red,red,5,1,1"
}

@test "a seller's own charges stand in place of its tariff's, and those in place of *" {
	sellers <<-'END'
		seller,route,currency,tariff
		A,market,USD,letter
		B,market,USD,letter
		C,market,USD,
	END
	charges <<-'END'
		seller,tariff,charge,amount
		A,,shipping,1
		,letter,shipping,2
		,letter,bag,0.5
		*,,shipping,4
		*,,bag,0.25
	END
	offers <<-'END'
		seller,part,color,qty,price
		A,P-1,red,,10
		B,P-2,red,,10
		C,P-3,red,,10
	END
	need <<<$'part,color,qty\nP-1,red,1\nP-2,red,1\nP-3,red,1'
	split
	costs 37.75 # 30 + 1 + 2.5 + 4.25
}

# ---- minimum, tax, currency

@test "minimum: more is bought, or elsewhere" {
	sellers <<<$'seller,route,currency,minimum\nA,market,USD,5\nB,market,USD,'
	need <<<$'part,color,qty\nP-1,red,4'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,1\nB,P-1,red,,1.3'
	split
	costs 5
	buys <<<"A,P-1/red,red,5,1,1"
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,1\nB,P-1,red,,1.2'
	split
	costs 4.8
	buys <<<"B,P-1/red,red,4,1.2,0"
}

@test "a minimum is of goods, not of charges, and met by the exact value" {
	sellers <<<$'seller,route,currency,minimum\nA,market,USD,5'
	charges <<<$'seller,charge,amount\nA,shipping,2'
	need <<<$'part,color,qty\nP-1,red,3'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,3,1.666667'
	split
	costs 7.000001
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,3,1.666666'
	split
	exits 1
	reports unmet=3 orders=0 cost=0
}

@test "a step that whole pieces miss by a hair of a piece" {
	# By hand: one piece for 5 is at the step and costs 9.39, four cost 16.84; three are worth 0.90.
	# Where the step's rebate ends, at 4.999999, 0.999999.. of a piece would do. (Found by fuzzing.)
	need <<-'END'
		part,color,qty,worth,together
		Q-1,red,3,0.3,t
	END
	offers <<-'END'
		seller,part,color,qty,price,least,listing
		S,Q-1,red,,5,1,x
		S,Q-1,red,,3.108447,4,x
	END
	sellers <<-'END'
		seller,route,currency,minimum,tax
		S,direct,USD,3,0.000001
	END
	charges <<-'END'
		seller,charge,from,amount,percent
		S,handling,,-2,-100
		S,handling,5,4.37,0.3
	END
	split -C USD --order-cost 0.5
	costs 0
	reports orders=0
}

@test "a minimum that whole pieces miss by a hair: the search says that it is proved" {
	# 3 of Q and 3 of P come to 12000.11, 4 of Q and 2 of P to 12000.15: the minimum of 12000.60 takes a piece more.
	printf '%s\n' part,color,qty P,red,2 Q,red,3 >need.csv
	printf '%s\n' seller,part,color,qty,price S0,P,red,4,2000 S0,Q,red,4,2000.038103 >offers.csv
	printf '%s\n' seller,route,currency,minimum,tax S0,market,EUR,12000.60,6 >sellers.csv
	try lot-split -o offers.csv -s sellers.csv --report report.csv <need.csv
	exits 0
	reported 'cost,14840.121167540'
	reported 'proved,yes'
}

@test "pieces that cost hundreds of millions, a class that is not shipped: the search says that it is proved" {
	need <<-'END'
		part,color,qty,penalty,worth
		P-0,red,2,,
		P-1,red,3,,0.2
		P-2,red,10,0.01,
		P-3,red,2,,
		P-4,red,123456,0.1,
	END
	offers <<-'END'
		seller,part,color,qty,price,class
		A,P-0,red,1,300000000,printed
		A,P-2,red,3,60000,
		B,P-0,red,4,100000000,printed
		B,P-1,red,1,300000000,
		B,P-3,red,4,30000000,
		B,P-4,red,246912,50000,printed
		C,P-1,red,1,30000000,
		C,P-3,red,2,8000000,printed
		C,P-3,red,4,5000000,
		C,P-4,red,123456,3000,printed
	END
	sellers <<<$'seller,route,currency,tax,tax_on\nA,market,USD,7,all\nB,market,USD,,\nC,market,USD,7,all'
	charges <<-'END'
		seller,class,charge,amount
		A,,shipping,0
		B,,shipping,4
		B,printed,box,no
		C,,shipping,0
		C,,rebate,-1
		C,printed,box,0
	END
	split -C USD
	exits 1
	# (300,000,000 + 3 x 60,000) x 1.07, (2 x 5,000,000 + 123,456 x 3,000 - 1) x 1.07, penalties of 12,345.63
	reported 'cost,728198704.560000000'
	reported 'unmet,8'
	reported 'proved,yes'
}

@test "what fits no row is never bought, not even to reach a minimum" {
	sellers <<<$'seller,route,currency,minimum\nA,market,USD,5'
	need <<<$'part,color,qty\nP-1,red,4'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,4,1\nA,P-1,blue,,0.5\nA,P-2,red,,0.5'
	split
	exits 1
	err_is <<<"lot-split: 4 pieces of 1 lot stay unmet: --short FILE lists them"
	reports unmet=4
	[ "$(wc -l <"$OUT")" -eq 1 ]
}

@test "tax on goods and charges, or on goods, and taxed that says otherwise" {
	need <<<$'part,color,qty\nP-1,red,10'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,1'
	charges <<<$'seller,charge,amount,taxed\nA,shipping,5,\nA,duty,1,'
	sellers <<<$'seller,route,currency,tax,tax_on\nA,market,USD,10,'
	split
	costs 17.6
	sellers <<<$'seller,route,currency,tax,tax_on\nA,market,USD,10,all'
	split
	costs 17.6
	sellers <<<$'seller,route,currency,tax,tax_on\nA,market,USD,10,goods'
	split
	costs 17
	charges <<<$'seller,charge,amount,taxed\nA,shipping,5,yes\nA,duty,1,'
	split
	costs 17.5
	sellers <<<$'seller,route,currency,tax,tax_on\nA,market,USD,10,all'
	charges <<<$'seller,charge,amount,taxed\nA,shipping,5,\nA,duty,1,no'
	split
	costs 17.5
}

@test "taxed is of the step that applies" {
	need <<<$'part,color,qty\nP-1,red,10'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,1'
	sellers <<<$'seller,route,currency,tax\nA,market,USD,10'
	charges <<<$'seller,charge,from,amount,taxed\nA,shipping,,5,yes\nA,shipping,10,5,no'
	split
	costs 16
}

@test "tax decides between sellers" {
	need <<<$'part,color,qty\nP-1,red,10'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,1\nB,P-1,red,,1.1'
	sellers <<<$'seller,route,currency,tax\nA,market,USD,10.1\n*,market,USD,'
	split
	costs 11
	buys <<<"B,P-1/red,red,10,1.1,0"
}

@test "prices that include the tax cost what they say, and those without it more" {
	need <<<$'part,color,qty\nP-1,red,10'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,1.19\nB,P-1,red,,1'
	sellers <<<$'seller,route,currency,tax,tax_on\nA,market,USD,19,included\nB,market,USD,20,'
	charges <<<$'seller,charge,amount,taxed\nA,post,2,\nB,post,2,'
	split
	costs 13.9
	buys <<<$'A,P-1/red,red,10,1.19,0'
	# 12 x 1.15; untaxed, the post of B is 2
	sellers <<<$'seller,route,currency,tax,tax_on\nA,market,USD,19,included\nB,market,USD,15,'
	split
	costs 13.8
	buys <<<$'B,P-1/red,red,10,1,0'
}

@test "several taxes are each rounded to 10^-9" {
	need <<<$'part,color,qty\nP-1,red,1'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,0.000001'
	sellers <<<$'seller,route,currency,tax\nA,market,USD,0.05+0.05'
	# 0.05 % of 0.000001 is half of 10^-9, rounded up, twice
	split
	costs 0.000001002
}

@test "a fee of the bank is part of what an order costs at home" {
	need <<<$'part,color,qty\nP-1,red,10'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,1\nB,P-1,red,,0.8'
	sellers <<<$'seller,route,currency\nA,market,USD\nB,market,EUR'
	rates <<<$'date,EUR,fee\n2026-01-02,0.8,1\n2026-01-01,0.85,0'
	split -C USD --rates-base USD
	costs 10
	buys <<<$'A,P-1/red,red,10,1,0'
	# 8 / 0.85 = 9.41176470588...
	split -C USD --rates-base USD --on 2026-01-01
	costs 9.411764706
	run_split -C USD --rates-base USD
	err_has 'lot-split: rates.csv:2: 1 USD = 0.8 EUR, rate of 2026-01-02, fee 1 %'
}

@test "a charge by landed cost is taken on goods and on the charges it comes after" {
	need <<<$'part,color,qty\nP-1,red,10'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,1\nB,P-1,red,,2'
	charges <<<$'seller,charge,basis,after,from,percent,amount\nA,duty,landed,post,5,10,\nA,post,,,,,1\n*,post,,,,,0'
	# 10 + 1 + 1.10.
	split
	costs 12.1
	buys <<<$'A,P-1/red,red,10,1,0'
	# After nothing, landed is the value of the goods.
	charges <<<$'seller,charge,basis,after,from,percent,amount\nA,duty,landed,,5,10,\nA,post,,,,,1\n*,post,,,,,0'
	split
	costs 12
}

@test "duty and import tax, one after the other: the example of lotpipe(5)" {
	need <<<$'part,color,qty\nP-1,red,100'
	offers <<<$'seller,part,color,qty,price\nFar Shore,P-1,red,,10'
	sellers <<<$'seller,route,currency\nFar Shore,market,USD'
	charges <<-'END'
		seller,charge,basis,after,over,amount,percent,taxed,estimate
		Far Shore,shipping,,,,100,,,
		Far Shore,insurance,,,,50,,,
		Far Shore,duty,landed,shipping|insurance,150,,20,no,yes
		Far Shore,import tax,landed,shipping|insurance|duty,,,18,no,yes
	END
	split
	costs 1628.4
}

@test "an order is kept below what is dutiable, where another seller has the rest" {
	need <<<$'part,color,qty\nP-1,red,10'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,1\nB,P-1,red,5,1.1'
	sellers <<<$'seller,route,currency,tax\nA,market,USD,5\nB,market,USD,'
	# Of A 6 and 2 of post are 8, not over it; with tax 8.40. B: 4.40 + 2. All of A would be 10 + 2,
	# the duty 6, untaxed, tax 0.60: 18.60.
	charges <<<$'seller,charge,basis,after,over,percent,amount,taxed\nA,duty,landed,post,8,50,,no\n*,post,,,,,2,\nA,post,,,,,2,'
	split
	costs 14.8
	buys <<<$'A,P-1/red,red,6,1,0\nB,P-1/red,red,4,1.1,0'
	# From 8 on: 5 of each, 7.35 + 7.50.
	charges <<<$'seller,charge,basis,after,from,percent,amount,taxed\nA,duty,landed,post,8,50,,no\n*,post,,,,,2,\nA,post,,,,,2,'
	split
	costs 14.85
	buys <<<$'A,P-1/red,red,5,1,0\nB,P-1/red,red,5,1.1,0'
}

@test "the goods of two classes count differently in what an import tax goes by" {
	need <<<$'lot,part,color,qty\nL,P-1,red,20\nL,P-2,red,20\nL,P-3,red,20'
	offers <<<$'seller,part,color,qty,price,class\nA,P-1,red,12,1,a\nA,P-2,red,,1,b\nB,P-3,red,,1.5,'
	charges <<-'END'
		seller,class,charge,basis,after,over,percent,amount
		A,,post,,,,,1
		A,a,duty,landed,post,,10,
		A,b,duty,landed,post,,20,
		A,,import tax,landed,post|duty,20,25,
		B,,post,,,,,0
	END
	# Of A: 1 + 12 + 4 of goods, duties of 10 % of 13 and 20 % of 5: 19.30, with one piece of P-2 more
	# 20.50, which is taxed. Of B 4 pieces, 6.
	split
	costs 25.3
	buys <<<$'A,L,red,12,1,0\nA,L,red,4,1,0\nB,L,red,4,1.5,0'
}

@test "what is not shipped by its landed cost stays unmet" {
	need <<<$'part,color,qty\nP-1,red,12'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,1'
	charges <<<$'seller,charge,basis,after,from,amount\nA,post,,,,2\nA,duty,landed,post,,1\nA,duty,landed,post,12,no'
	run_split --report report.csv
	exits 1
	[ "$(sed -n 's/^unmet,//p' report.csv)" = 3 ]
	# 9 pieces, 2 of post, 1 of duty.
	[ "$(sed -n 's/^cost,//p' report.csv)" = 12.000000000 ]
}

@test "charges with more steps together than are told apart at once: a surplus for free shipping" {
	need <<<$'part,color,qty\nP-1,red,1\nP-2,red,1'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,10\nA,P-2,red,5,10'
	{
		echo 'seller,charge,basis,from,amount'
		for name in a b c d e f g h i j k; do echo "A,$name,lots,2,1"; done
		printf 'A,shipping,value,,55\nA,shipping,value,60,0\n'
	} | charges
	# 6 pieces and 11 charges of 1; two pieces with shipping would be 20 + 11 + 55.
	split
	costs 71
}

@test "a rebate lessens what is taxed" {
	need <<<$'part,color,qty\nP-1,red,10'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,1'
	sellers <<<$'seller,route,currency,tax\nA,market,USD,10'
	charges <<<$'seller,charge,percent\nA,rebate,-20'
	split
	costs 8.8
}

@test "an order in another currency: a rate as given" {
	sellers <<<$'seller,route,currency\nA,market,GBP\nB,market,EUR'
	rates <<<$'from,to,rate\nGBP,EUR,1.25'
	need <<<$'part,color,qty\nP-1,red,8'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,1'
	split -C EUR
	costs 10
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,0.09\nB,P-1,red,,0.1'
	split -C EUR
	costs 0.8 # 0.72 GBP would be 0.90 EUR
}

@test "a rate by dividing, never by a rounded inverse" {
	# Irrevocable rates: Council Regulation (EC) No 2866/98.
	sellers <<<$'seller,route,currency\nA,market,DEM'
	rates <<<$'from,to,rate\nEUR,DEM,1.95583'
	need <<<$'part,color,qty\nP-1,red,1'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,1000000'
	split -C EUR
	costs 511291.881196218 # 1000000 / 1.95583 = 511291.88119621848...
}

@test "a rate through the one currency that has both" {
	sellers <<<$'seller,route,currency\nA,market,GBP'
	rates <<<$'from,to,rate\nGBP,USD,1.5\nEUR,USD,1.2'
	need <<<$'part,color,qty\nP-1,red,8'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,1'
	split -C EUR
	costs 10
}

@test "charges in another currency than the order's, their steps too" {
	sellers <<<$'seller,route,currency,minimum\nA,market,GBP,4'
	rates <<<$'from,to,rate\nGBP,EUR,1.25'
	charges <<<$'seller,charge,from,amount,currency\nA,shipping,,2.5,EUR\nA,shipping,10,1.25,EUR'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,1'
	need <<<$'part,color,qty\nP-1,red,5'
	split -C EUR
	costs 8.75 # 6.25 + 2.50
	need <<<$'part,color,qty\nP-1,red,7'
	split -C EUR
	costs 11.25 # 8.75 + 2.50, or a piece more: 10 + 1.25
	# The minimum is in pounds.
	need <<<$'part,color,qty\nP-1,red,2'
	split -C EUR
	costs 7.5
	reports surplus=2
}

@test "offers name their seller's currency; home is the only one in use" {
	sellers <<<$'seller,route\nA,market'
	need <<<$'part,color,qty\nP-1,red,8'
	offers <<<$'seller,part,color,qty,price,currency\nA,P-1,red,,1,EUR'
	run_split
	exits 0
	err_is <<<"lot-split: 1 order, 1 lot, 8 pieces, 8.00 EUR landed, proved least"
	cut -d , -f 10 "$OUT" | sed 1d >currency
	[ "$(cat currency)" = EUR ]
}

@test "costs are rounded to 10^-9 at three places: each charge, the tax, the order in home currency" {
	sellers <<<$'seller,route,currency,tax\nA,market,SEK,7'
	rates <<<$'from,to,rate\nEUR,SEK,11.325'
	charges <<<$'seller,charge,amount,currency\nA,shipping,1,EUR'
	need <<<$'part,color,qty\nP-1,red,3'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,0.333333'
	split -C EUR
	# 0.999999 + 11.325 = 12.324999; tax 0.862749930; 13.18774893 / 11.325 = 1.16448114172...
	costs 1.164481142
}

# ---- alternatives, any color, condition

@test "alternatives: the penalty of a piece counts in the choice, and in no total" {
	need <<-'END'
		lot,part,color,qty,penalty
		door,P-330,brown,2,
		door,P-331,brown,2,0.1
	END
	offers <<<$'seller,part,color,qty,price\nA,P-330,brown,,1\nA,P-331,brown,,0.95'
	split
	costs 2
	offers <<<$'seller,part,color,qty,price\nA,P-330,brown,,1\nA,P-331,brown,,0.85'
	run_split --report report.csv
	exits 0
	reports cost=1.9 landed=1.7 penalties=0.2
	err_is <<<"lot-split: 1 order, 1 lot, 2 pieces, 1.70 USD landed, proved least"
}

@test "alternatives: any mix of the rows, one piece for one piece" {
	need <<-'END'
		lot,part,color,qty,penalty
		door,P-330,brown,5,
		door,P-331,brown,5,0.1
	END
	offers <<<$'seller,part,color,qty,price\nA,P-330,brown,3,1\nA,P-331,brown,,2'
	split
	costs 7.2
	cut -d , -f 4,5,8 "$OUT" | sed 1d >found
	diff - found <<-'END'
		door,P-330,3
		door,P-331,2
	END
}

@test "a penalty is borne by what fills the need, not by a surplus" {
	need <<-'END'
		lot,part,color,qty,penalty
		door,P-330,brown,2,
		door,P-331,brown,2,0.1
	END
	offers <<<$'seller,part,color,qty,price,step\nA,P-331,brown,,0.5,5'
	split
	costs 2.7
	reports penalties=0.2 surplus=3
}

@test "any takes the cheapest color but those that not_color matches whole" {
	need <<-'END'
		part,color,qty,not_color
		P-1,any,4,clear.*|red
	END
	offers <<-'END'
		seller,part,color,qty,price
		A,P-1,clear,,0.1
		A,P-1,clear blue,,0.1
		A,P-1,red,,0.1
		A,P-1,dark red,1,0.2
		A,P-1,unclear,,0.3
		A,P-2,green,,0.1
	END
	split
	costs 1.1
	buys <<-'END'
		A,P-1/any,dark red,1,0.2,0
		A,P-1/any,unclear,3,0.3,0
	END
}

@test "any leaves the scarce color to the lot that asks for it" {
	need <<-'END'
		part,color,qty
		P-1,any,5
		P-1,red,5
	END
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,5,0.05\nA,P-1,blue,,0.06'
	split
	costs 0.55
	buys <<-'END'
		A,P-1/any,blue,5,0.06,0
		A,P-1/red,red,5,0.05,0
	END
}

@test "condition: blank and any take every condition, another only offers that say so" {
	need <<-'END'
		part,color,qty,condition
		P-1,red,2,new
		P-2,red,2,
		P-3,red,2,any
	END
	offers <<-'END'
		seller,part,color,qty,price,condition
		A,P-1,red,,0.1,
		A,P-1,red,,0.1,used
		A,P-1,red,,0.5,new
		A,P-2,red,,0.1,used
		A,P-3,red,,0.1,
	END
	split
	costs 1.4
	cut -d , -f 4,7,9 "$OUT" | sed 1d >found
	diff - found <<-'END'
		P-1/red/new,new,0.5
		P-2/red,used,0.1
		P-3/red,,0.1
	END
}

# ---- worth and together

@test "worth: an optional piece is bought for less than it is worth, and no lack of it is unmet" {
	need <<<$'part,color,qty,worth\nP-1,red,10,0.08'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,6,0.05\nB,P-1,red,,0.1'
	split --short short.csv
	costs -0.18
	buys <<<"A,P-1/red,red,6,0.05,0"
	reports landed=0.3 worth=0.48 unmet=0
	offers <<<$'seller,part,color,qty,price\nB,P-1,red,,0.1'
	split
	costs 0
	reports orders=0 pieces=0 unmet=0
	[ "$(wc -l <"$OUT")" -eq 1 ]
}

@test "worth: next month's parts as a filler for free shipping" {
	need <<-'END'
		part,color,qty,worth
		P-1,red,1,
		P-9,grey,10,0.1
	END
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,1,9\nA,P-9,grey,,0.5'
	charges <<<$'seller,charge,from,amount\nA,shipping,,3\nA,shipping,10,0'
	split
	costs 9.8 # 9 + 2 x 0.5 - 2 x 0.1, against 12
	buys <<-'END'
		A,P-1/red,red,1,9,0
		A,P-9/grey,grey,2,0.5,0
	END
}

@test "worth: a piece that is not to be had at any price" {
	need <<<$'part,color,qty,worth\nP-1,red,2,1.5\nP-2,red,1,'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,1,1\nB,P-1,red,,1\nA,P-2,red,,1'
	charges <<<$'seller,charge,amount\n*,shipping,1'
	split
	costs 1.5 # P-2 1, shipping 1, one P-1 at 1 - 1.5; a second would open an order for 0.5
	reports orders=1
}

@test "together: a part that may not be mixed within a lot" {
	offers <<-'END'
		seller,part,color,qty,price
		A,P-1,red,4,0.1
		A,P-1,dark,10,0.2
		B,P-1,red,10,0.3
	END
	need <<<$'lot,part,color,qty\nroof,P-1,red,6\nroof,P-1,dark,6'
	split
	costs 0.8
	need <<<$'lot,part,color,qty,together\nroof,P-1,red,6,as red\nroof,P-1,dark,6,as dark'
	split
	costs 1
	buys <<-'END'
		A,roof,red,4,0.1,0
		B,roof,red,2,0.3,0
	END
}

@test "together: two parts that only fit each other" {
	need <<-'END'
		lot,part,color,qty,together
		top,P-10,grey,1,
		top,P-20,grey,1,new
		bottom,P-11,grey,2,
		bottom,P-21,grey,2,new
	END
	offers <<-'END'
		seller,part,color,qty,price
		A,P-10,grey,,0.4
		A,P-20,grey,,0.1
		A,P-11,grey,,0.2
		A,P-21,grey,,0.45
	END
	split
	costs 0.8 # P-10 and P-11; P-20 and P-21 are 1.0, the mix of 0.5 does not fit
	sed -i 's/P-21,grey,,0.45/P-21,grey,,0.3/' offers.csv
	split
	costs 0.7
	cut -d , -f 4,5,8 "$OUT" | sed 1d >found
	diff - found <<-'END'
		top,P-20,1
		bottom,P-21,2
	END
}

@test "together: optional rows, all in full or none" {
	need <<-'END'
		part,color,qty,worth,together
		P-1,red,2,0.5,pair
		P-2,red,2,0.5,pair
	END
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,0.3\nA,P-2,red,,0.8'
	split
	costs 0
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,0.3\nA,P-2,red,,0.6'
	split
	costs -0.2
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,0.3\nA,P-2,red,1,0.1'
	split
	costs 0
}

@test "together: a must whose other half is not to be had is unmet" {
	need <<-'END'
		part,color,qty,together
		P-1,red,2,pair
		P-2,red,2,pair
		P-3,red,1,
	END
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,0.3\nA,P-2,red,1,0.1\nA,P-3,red,,1'
	split --short short.csv
	exits 1
	reports cost=1 unmet=4
	diff - short.csv <<-'END'
		part,color,qty,together
		P-1,red,2,pair
		P-2,red,2,pair
	END
}

# ---- which orders

@test "order cost: steers the choice, is in no total" {
	need <<<$'part,color,qty\nP-1,red,1\nP-2,red,1'
	offers <<-'END'
		seller,part,color,qty,price
		A,P-1,red,,1.2
		A,P-2,red,,1.2
		B,P-1,red,,1
		C,P-2,red,,1
	END
	split
	costs 2
	split --order-cost 0.5
	costs 2.9
	reports landed=2.4 order_cost=0.5 orders=1
	split --order-cost 0.3
	costs 2.6
	reports landed=2 order_cost=0.6 orders=2
}

@test "order cost: a seller's own stands in place of the option's, 0 too" {
	need <<<$'part,color,qty\nP-1,red,1\nP-2,red,1'
	offers <<-'END'
		seller,part,color,qty,price
		A,P-1,red,,1.2
		A,P-2,red,,1.2
		B,P-1,red,,1
		C,P-2,red,,1
	END
	sellers <<<$'seller,route,currency,order_cost\nA,market,USD,2\nB,market,USD,0\nC,market,USD,'
	split --order-cost 0.5
	costs 2.5
	reports landed=2 order_cost=0.5 orders=2
}

@test "--max-orders: the best of at most so many, unmet pieces first" {
	need <<<$'part,color,qty\nP-1,red,1\nP-2,red,1\nP-3,red,1'
	offers <<-'END'
		seller,part,color,qty,price
		A,P-1,red,,1.2
		A,P-2,red,,1.2
		B,P-1,red,,1
		C,P-2,red,,1
		B,P-3,red,,1
	END
	split --max-orders 3
	costs 3
	split --max-orders 2
	costs 3
	reports orders=2
	split --max-orders 1
	exits 1
	reports orders=1 unmet=1 cost=2 # B has two of them for 2
	split --max-orders 0
	exits 1
	reports orders=0 unmet=3 cost=0
}

@test "offers of one seller in two currencies, one of them unsaid" {
	need <<<$'part,color,qty\nP-1,red,1'
	sellers <<<$'seller,route,currency\nA,market,EUR'
	offers <<<$'seller,part,color,qty,price,currency\nA,P-1,red,1,1,USD\nA,P-1,red,1,1,'
	split
	refused 'offers of "A" name USD as their currency, or none where the seller'"'"'s is EUR: a seller has one'
}

@test "many sellers at fault: 20 are told, and how many were not looked at" {
	need <<<$'part,color,qty\nP-1,red,1'
	{
		echo seller,part,color,qty,price,currency
		seq -f 'S%02g,P-1,red,1,1,EUR' 1 20
	} >offers.csv
	sellers <<<$'seller,route\n*,market'
	split -C USD
	refused 'offers.csv:21: no rate from EUR to USD: give a file of rates'
	err_lines 20
	printf '%s\n' S21,P-1,red,1,1,EUR S21,P-1,blue,1,1,EUR S22,P-1,red,1,1,EUR >>offers.csv
	split -C USD
	refused 'lot-split: 2 more sellers were not looked at'
	err_lines 21
}

@test "--route and --without leave sellers out" {
	sellers <<<$'seller,route,currency\nA,direct,USD\nB,market,USD\nC,market,USD'
	need <<<$'part,color,qty\nP-1,red,1'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,3\nB,P-1,red,,1\nC,P-1,red,,2'
	split
	costs 1
	split --without B
	costs 2
	split --without B,C
	costs 3
	split --route direct
	costs 3
	split --route market --without B
	costs 2
	split --without A,B,C
	exits 1
	reports unmet=1
	split --without D
	refused 'lot-split: --without: no seller is named "D"'
	offers <<<$'seller,part,color,qty,price\nAnna,P-1,red,,3\nBert,P-1,red,,1'
	split --without Anne
	refused 'lot-split: --without: no seller is named "Anne": did you mean "Anna"?'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,3\nB,P-1,red,,1\nC,P-1,red,,2'
	split --route sea
	refused 'lot-split: --route: no seller of sellers.csv has the route "sea"'
}

@test "--carry: columns of the offers in the order lines, empty for owned stock" {
	need <<<$'part,color,qty\nP-1,red,3'
	stock <<<$'part,color,qty\nP-1,red,1'
	offers <<<$'seller,code,part,color,qty,price,link\nA,77-1,P-1,red,,1,"there, left"'
	run_split --carry link,code
	exits 0
	out_is <<-'END'
		seller,route,class,lot,part,color,condition,qty,price,currency,amount,surplus,grams,listing,link,code
		A,market,,P-1/red,P-1,red,,2,1,USD,2,0,,,"there, left",77-1
		owned,owned,,P-1/red,P-1,red,,1,0,USD,0,0,,,,
	END
	split --carry page
	refused 'no offers file has the column "page" that is to be carried'
	split --carry code,Price
	refused '--carry: order lines have a column "Price" of their own'
	split --carry code,link,code
	refused '--carry: "code" is named twice'
	split --carry code,
	refused '--carry: a name is empty'
}

# ---- stock

@test "stock is used where it saves most: neither an order nor a cost" {
	need <<-'END'
		part,color,qty
		P-1,any,5
		P-1,red,5
	END
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,0.5\nA,P-1,blue,,0.05'
	stock <<<$'part,color,qty,place\nP-1,red,3,box 1\nP-1,red,2,box 2\nP-7,red,4,box 2'
	run_split --report report.csv
	exits 0
	buys <<-'END'
		A,P-1/any,blue,5,0.05,0
		owned,P-1/red,red,5,0,0
	END
	reports cost=0.25 orders=1 lots=1 pieces=10 unmet=0
}

@test "stock: several files, --condition as asked for" {
	need <<<$'part,color,qty,condition\nP-1,red,5,new'
	offers <<<$'seller,part,color,qty,price,condition\nA,P-1,red,,0.5,new'
	stock <<<$'part,color,qty,condition\nP-1,red,2,new\nP-1,red,9,used\nP-1,red,9,'
	printf '%s\n' part,color,qty,condition P-1,red,1,new >more.csv
	split -k more.csv
	costs 1
	buys <<-'END'
		A,P-1/red/new,red,2,0.5,0
		owned,P-1/red/new,red,3,0,0
	END
}

@test "stock is not used up where buying all costs less" {
	need <<<$'part,color,qty\nP-1,red,10'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,1'
	stock <<<$'part,color,qty\nP-1,red,2'
	charges <<<$'seller,charge,from,amount\nA,shipping,,5\nA,shipping,10,0'
	split
	costs 10
}

@test "stock alone: no order, with --max-orders 0 too" {
	need <<<$'part,color,qty\nP-1,red,2'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,1'
	stock <<<$'part,color,qty\nP-1,red,2'
	run_split --max-orders 0
	exits 0
	buys <<<"owned,P-1/red,red,2,0,0"
	err_is <<<"lot-split: 0 orders, 0 lots, 2 pieces, 0.00 USD landed, proved least"
}

# ---- what is unmet

@test "unmet: the most pieces first, then the least cost; --short has the rest; exit 1" {
	need <<-'END'
		note,part,color,qty,bag
		n1,P-1,red,10,b1
		n2,P-2,red,1,b2
	END
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,4,1\nB,P-1,red,2,900\nA,P-2,red,,1'
	run_split --short short.csv --report report.csv
	exits 1
	err_is <<-'END'
		lot-split: 4 pieces of 1 lot stay unmet
		lot-split: 2 orders, 3 lots, 7 pieces, 1805.00 USD landed, proved least
	END
	diff - short.csv <<-'END'
		note,part,color,qty,bag
		n1,P-1,red,4,b1
	END
	reports unmet=4
}

@test "unmet: nothing is, and --short has a header alone" {
	need <<<$'part,color,qty\nP-1,red,1'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,4,1'
	split --short short.csv
	costs 1
	diff - short.csv <<<"part,color,qty"
}

@test "unmet: of alternatives all rows, of rows that were taken as one the last" {
	need <<-'END'
		lot,part,color,qty,group
		door,P-1,red,5,house
		door,P-2,red,5,house
		,P-3,red,2,house
		,P-3,red,4,stand
		,P-3,red,3,quay
	END
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,2,1\nA,P-3,red,5,1'
	split --short short.csv
	exits 1
	reports unmet=7
	diff - short.csv <<-'END'
		lot,part,color,qty,group
		door,P-1,red,3,house
		door,P-2,red,3,house
		,P-3,red,1,stand
		,P-3,red,3,quay
	END
}

@test "unmet: what is short can be bought for again" {
	need <<<$'part,color,qty\nP-1,red,10'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,4,1'
	split --short short.csv
	exits 1
	mv short.csv need.csv
	offers <<<$'seller,part,color,qty,price\nB,P-1,red,,2'
	split
	costs 12
}

# ---- lots, names, order of rows

# ---- who gets what

@test "--shares: each piece for one row, in need order and line order, surplus last; amounts exact" {
	need <<-'END'
		model,group,part,color,qty,lot,penalty
		mill,roof,P-1,red,5,,
		barn,door,P-7,brown,2,door,
		mill,wall,P-1,red,3,,
		barn,,P-1,red,4,,
		barn,door,P-8,brown,2,door,0.1
		,,P-9,any,1,,
		mill,,P-1,red,0,,
	END
	offers <<-'END'
		seller,part,color,qty,price,step,condition
		A,P-1,red,6,0.055,,new
		B,P-1,red,,0.0725,5,
		A,P-8,brown,1,0.2,,
		B,P-7,brown,1,0.3,,
		C,P-9,blue,,0.1,3,
	END
	stock <<-'END'
		part,color,qty,place
		P-1,red,2,box
	END
	split --shares shares.csv --surplus surplus.csv
	exits 0
	out_is <<-'END'
		seller,route,class,lot,part,color,condition,qty,price,currency,amount,surplus,grams,listing
		A,market,,P-1/red,P-1,red,new,5,0.055,USD,0.275,0,,
		A,market,,door,P-8,brown,,1,0.2,USD,0.2,0,,
		B,market,,P-1/red,P-1,red,,5,0.0725,USD,0.3625,0,,
		B,market,,door,P-7,brown,,1,0.3,USD,0.3,0,,
		C,market,,P-9/any,P-9,blue,,3,0.1,USD,0.3,2,,
		owned,owned,,P-1/red,P-1,red,,2,0,USD,0,0,,
	END
	diff - shares.csv <<-'END'
		model,group,lot,part,color,condition,qty,seller,amount
		mill,roof,P-1/red,P-1,red,new,5,A,0.275
		barn,door,door,P-8,brown,,1,A,0.2
		barn,door,door,P-7,brown,,1,B,0.3
		mill,wall,P-1/red,P-1,red,,3,B,0.2175
		barn,,P-1/red,P-1,red,,2,B,0.145
		barn,,P-1/red,P-1,red,,2,owned,0
		,,P-9/any,P-9,blue,,1,C,0.1
		,,,P-9,blue,,2,C,0.2
	END
	diff - surplus.csv <<-'END'
		part,color,qty,condition,place,grams
		P-9,blue,2,,C,
	END
}

@test "--shares: what stays unmet gets nothing, of rows that are one lot the last" {
	need <<-'END'
		model,part,color,qty
		mill,P,red,4
		barn,P,red,4
		quay,P,red,4
	END
	offers <<-'END'
		seller,part,color,qty,price
		A,P,red,6,0.1
	END
	split --shares shares.csv --short short.csv
	exits 1
	diff - shares.csv <<-'END'
		model,group,lot,part,color,condition,qty,seller,amount
		mill,,P/red,P,red,,4,A,0.4
		barn,,P/red,P,red,,2,A,0.2
	END
	diff - short.csv <<-'END'
		model,part,color,qty
		barn,P,red,2
		quay,P,red,4
	END
}

@test "--surplus: stock at its seller's, with grams, rows of one kind and seller as one" {
	need <<-'END'
		part,color,qty,condition
		Q,any,1,
		P,red,1,
		P,blue,1,new
	END
	offers <<-'END'
		seller,part,color,qty,price,step,condition,grams,listing
		A,P,red,5,0.1,5,,1.5,x
		B,P,blue,5,0.1,5,new,,
		A,Q,tan,4,0.1,4,used,0.25,
	END
	sellers <<-'END'
		seller,route,currency,minimum
		A,market,USD,
		B,market,USD,1
	END
	printf '%s\n' 'B,P,blue,5,0.1,5,new,,y' >>offers.csv
	split --surplus surplus.csv
	exits 0
	diff - surplus.csv <<-'END'
		part,color,qty,condition,place,grams
		P,blue,9,new,B,
		P,red,4,,A,1.5
		Q,tan,3,used,A,0.25
	END
	printf 'part,color,qty\nP,red,6\n' >next.csv
	try lot-owned -q -k surplus.csv --taken taken.csv <next.csv
	exits 0
	diff - taken.csv <<-'END'
		stock,place,part,color,condition,qty,lot,group,model
		surplus.csv,A,P,red,,4,P/red,,
	END
}

@test "--shares and --surplus: a header alone where nothing is bought" {
	need <<<'part,color,qty'
	offers <<<'seller,part,color,qty,price'
	split --shares shares.csv --surplus surplus.csv
	exits 0
	diff - shares.csv <<<'model,group,lot,part,color,condition,qty,seller,amount'
	diff - surplus.csv <<<'part,color,qty,condition,place,grams'
}

@test "100 drawn needs of several models: shares, surplus and totals by model add up" {
	try env PYTHONPATH="$TESTS/oracle" python3 "$TESTS/oracle/check_shares.py" small 1 60
	exits 0
	out_is <<<'60 draws, 48 of several models, 9 with a surplus'
	try env PYTHONPATH="$TESTS/oracle" python3 "$TESTS/oracle/check_shares.py" tiny 1 40
	exits 0
}

@test "rows outside lots that ask for the same are one lot; other worth or condition is another" {
	need <<-'END'
		part,color,qty,group,condition,worth
		P-1,red,3,wall,,
		P-1,red,4,roof,any,
		P-1,red,5,roof,new,
		P-1,red,2,,,9
		P-1,blue,0,,,
	END
	offers <<<$'seller,part,color,qty,price,condition\nA,P-1,red,,1,new'
	split
	exits 0
	buys <<-'END'
		A,P-1/red,red,7,1,0
		A,P-1/red#2,red,2,1,0
		A,P-1/red/new,red,5,1,0
	END
}

@test "names: named lots first, then #2 and so on in order of appearance" {
	need <<-'END'
		lot,part,color,qty,worth,not_color
		,P-1,any,1,,
		,P-1,any,2,,red
		P-1/any#2,P-1,any,4,,
		P-1/any,P-1,any,3,,
		,P-1,any,5,9,
	END
	offers <<<$'seller,part,color,qty,price\nA,P-1,blue,,1'
	split
	exits 0
	buys <<-'END'
		A,P-1/any,blue,3,1,0
		A,P-1/any#2,blue,4,1,0
		A,P-1/any#3,blue,1,1,0
		A,P-1/any#4,blue,2,1,0
		A,P-1/any#5,blue,5,1,0
	END
}

@test "rows are sorted by route, seller, class, part, color, condition, lot, price and listing" {
	sellers <<<$'seller,route,currency\nZ,direct,USD\na,market,USD\nB,market,USD'
	need <<-'END'
		lot,part,color,qty
		l10,P-1,red,1
		l9,P-1,red,1
		,P-2,blue,12
		,P-2,amber,1
		,P-10,red,1
		,P-3,red,1
		,P-4,red,3
	END
	offers <<-'END'
		seller,part,color,qty,price,class,condition,listing
		a,P-1,red,,1,,,
		B,P-2,blue,10,10,,,
		B,P-2,blue,1,9,,,
		B,P-2,blue,1,9,,,k
		B,P-2,amber,,1,,,
		B,P-10,red,,1,x,,
		Z,P-3,red,,1,,,
		a,P-4,red,1,2,,used,
		a,P-4,red,2,3,,new,
	END
	split
	exits 0
	cut -d , -f 1,2,3,4,6,7,8,9,14 "$OUT" >found
	diff - found <<-'END'
		seller,route,class,lot,color,condition,qty,price,listing
		Z,direct,,P-3/red,red,,1,1,
		B,market,,P-2/amber,amber,,1,1,
		B,market,,P-2/blue,blue,,1,9,
		B,market,,P-2/blue,blue,,1,9,k
		B,market,,P-2/blue,blue,,10,10,
		B,market,x,P-10/red,red,,1,1,
		a,market,,l10,red,,1,1,
		a,market,,l9,red,,1,1,
		a,market,,P-4/red,red,new,2,3,
		a,market,,P-4/red,red,used,1,2,
	END
}

@test "plans of equal cost: fewer orders, then the output that is lower in byte order" {
	need <<<$'part,color,qty\nP-1,red,4\nP-2,red,3'
	offers <<-'END'
		seller,part,color,qty,price
		C,P-1,red,,1
		B,P-1,red,,1
		C,P-2,red,,1
		A,P-1,red,,1
	END
	split
	costs 7
	buys <<-'END'
		C,P-1/red,red,4,1,0
		C,P-2/red,red,3,1,0
	END
	offers <<-'END'
		seller,part,color,qty,price
		C,P-1,red,,1
		B,P-1,red,,1
		A,P-1,red,,1
		B,P-2,red,,1
		A,P-2,red,,1
		C,P-2,red,,1
	END
	split
	costs 7
	buys <<-'END'
		A,P-1/red,red,4,1,0
		A,P-2/red,red,3,1,0
	END
}

@test "plans of equal cost in a draw: of those that are met, the one written lower is kept" {
	drawn small 5
	split_drawn
	# The spare piece can be either seller's: "...,1.462,0" stands before "...,1.462,1".
	out_has 'niwo02,market,,traku-1/plum,traku-1,plum,,2,0.731,USD,1.462,0,3.12,'
	out_has 'tede04,market,,traku-1/plum,traku-1,plum,,4,0.58,USD,2.32,1,3.02,'
}

# ---- report and summary

@test "the report: every metric, costs with nine decimals" {
	sellers <<<$'seller,route,currency,tax\nA,market,USD,10\nB,market,USD,'
	need <<-'END'
		lot,part,color,qty,penalty,worth
		x,P-1,red,4,,
		x,P-2,red,4,0.05,
		,P-3,red,3,,0.5
		,P-4,red,2,,
		,P-9,red,6,,
	END
	offers <<-'END'
		seller,part,color,qty,price,step
		A,P-1,red,1,0.1,
		A,P-2,red,,0.2,
		A,P-3,red,,0.25,
		A,P-4,red,,0.03,3
		B,P-9,red,5,1,
	END
	charges <<<$'seller,charge,amount\n*,shipping,1'
	stock <<<$'part,color,qty\nP-9,red,2'
	split --order-cost 0.75
	exits 0
	grep -vE '^work,[0-9]+$' report.csv >found
	[ "$(wc -l <found)" -eq 14 ]
	# A: 0.1 + 3 x 0.2 + 3 x 0.25 + 3 x 0.03 = 1.54, + 1, + 10 %: 2.794. B: 4 + 1.
	grep -vE '^(bound|gap_percent),' found >exact
	diff - exact <<-'END'
		metric,value
		cost,7.944000000
		landed,7.794000000
		penalties,0.150000000
		order_cost,1.500000000
		worth,1.500000000
		proved,yes
		orders,2
		lots,5
		pieces,16
		surplus,1
		unmet,0
	END
	grep -qxE 'bound,7\.9(39|4[0-4])[0-9]{6}' found
	grep -qxE 'gap_percent,0\.0[0-9]{2}' found
}

# ---- why

# why [OPTION...]: need.csv bought, proved the least, and what --why says, its header aside, is what stands on stdin.
why() {
	split --why why.csv "$@"
	reports proved=yes
	head -n 1 why.csv | diff - <(echo \
		lot,part,color,condition,qty,surplus,seller,price,cheapest,cheapest_seller,above,reason)
	sed 1d why.csv >reasons
	diff -u --label 'reasons due' --label 'reasons' - reasons || show "--why says something else"
}

@test "--why: cheapest, rows in the order of the need; of equal prices that of the seller" {
	need <<<$'part,color,qty\nP-2,any,2\nP-1,red,4'
	offers <<-'END'
		seller,part,color,qty,price,condition
		A,P-1,red,,0.11,new
		B,P-1,red,,0.1,new
		A,P-2,tan,,0.2,used
		B,P-2,tan,,0.2,used
		B,P-2,blue,1,0.2,new
	END
	why <<-'END'
		P-2/any,P-2,blue,new,1,0,B,0.2,0.2,B,0,cheapest
		P-2/any,P-2,tan,used,1,0,B,0.2,0.2,B,0,cheapest
		P-1/red,P-1,red,new,4,0,B,0.1,0.1,B,0,cheapest
	END
	exits 0
	err_is_empty
}

@test "--why: stock, owned or a cheaper seller's that is used up" {
	need <<<$'part,color,qty\nP-1,red,10'
	stock <<<$'part,color,qty\nP-1,red,2'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,3,0.1\nB,P-1,red,20,0.2'
	# 2 x (0 - 0.1), 3 x 0, 5 x (0.2 - 0.1)
	why <<-'END'
		P-1/red,P-1,red,,2,0,owned,0,0.1,A,-0.2,stock
		P-1/red,P-1,red,,3,0,A,0.1,0.1,A,0,cheapest
		P-1/red,P-1,red,,5,0,B,0.2,0.1,A,0.5,stock
	END
	# Of a step of 2 one piece is left, which is not sold: 2 x 0, 6 x (0.2 - 0.1).
	offers <<<$'seller,part,color,qty,price,step\nA,P-1,red,3,0.1,2\nB,P-1,red,20,0.2,'
	why <<-'END'
		P-1/red,P-1,red,,2,0,owned,0,0.1,A,-0.2,stock
		P-1/red,P-1,red,,2,0,A,0.1,0.1,A,0,cheapest
		P-1/red,P-1,red,,6,0,B,0.2,0.1,A,0.6,stock
	END
}

@test "--why: only-offer, where no other can be bought at all" {
	need <<<$'part,color,qty\nP-1,red,12'
	offers <<-'END'
		seller,part,color,qty,price,step,least
		A,P-1,red,,0.1,5,
		B,P-1,red,0,0.05,,
		B,P-1,red,5,0.05,,6
		B,P-1,red,2,0.05,3,
		B,P-1,blue,,0.05,,
	END
	# Steps of 5: 15 are bought, 3 x 0.1 beyond the need.
	why <<-'END'
		P-1/red,P-1,red,,12,3,A,0.1,0.1,A,0.3,only-offer
	END
}

@test "--why: step, where a cheaper offer is sold in more pieces, or a surplus comes of it" {
	need <<<$'part,color,qty\nP-1,red,6\nP-2,red,36\nP-3,red,4\nP-4,red,8'
	offers <<-'END'
		seller,part,color,qty,price,step,least,listing
		A,P-1,red,,0.1,,,
		B,P-1,red,,0.08,,10,
		A,P-2,red,,0.05,,,k
		A,P-2,red,,0.04,,40,k
		B,P-2,red,,0.06,,,
		A,P-3,red,,0.1,,,k3
		A,P-3,red,,0.05,,50,k3
		B,P-3,red,,0.2,,,
		A,P-4,red,,0.1,5,,
		B,P-4,red,,0.2,,,
	END
	# P-1: 6 x 0.1 is less than 10 x 0.08; above are 6 x 0.02. P-2: 40 x 0.04 is less than 36 x 0.05; 4 x 0.04.
	# P-3: 4 x 0.1 is less than 50 x 0.05; 4 x 0.05. P-4: 10 x 0.1 is less than 5 x 0.1 and 3 x 0.2; 2 x 0.1.
	why <<-'END'
		P-1/red,P-1,red,,6,0,A,0.1,0.08,B,0.12,step
		P-2/red,P-2,red,,36,4,A,0.04,0.04,A,0.16,step
		P-3/red,P-3,red,,4,0,A,0.1,0.05,A,0.2,step
		P-4/red,P-4,red,,8,2,A,0.1,0.1,A,0.2,step
	END
}

@test "--why: minimum, where the order would be below it without the line or the surplus" {
	sellers <<<$'seller,route,currency,minimum\nA,market,USD,2.1\nB,market,USD,'
	need <<<$'part,color,qty\nP-1,red,8\nP-2,red,5\nP-9,red,1'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,0.2\nA,P-2,red,,0.1\nB,P-2,red,,0.09\nB,P-9,red,,1'
	# B has an order for P-9. 8 x 0.2 + 5 x 0.1 = 2.1; without the second 1.6, so 11 x 0.2 + 5 x 0.09 = 2.65 would be due.
	why <<-'END'
		P-1/red,P-1,red,,8,0,A,0.2,0.2,A,0,only-offer
		P-2/red,P-2,red,,5,0,A,0.1,0.09,B,0.05,minimum
		P-9/red,P-9,red,,1,0,B,1,1,B,0,only-offer
	END
	sellers <<<$'seller,route,currency,minimum\nA,market,USD,2\nB,market,USD,'
	need <<<$'part,color,qty\nP-1,red,8'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,0.2\nB,P-1,red,,0.3'
	# 10 x 0.2 is less than 8 x 0.3: 2 pieces are beyond the need, 2 x 0.2.
	why <<-'END'
		P-1/red,P-1,red,,8,2,A,0.2,0.2,A,0.4,minimum
	END
	# A line that is surplus alone: a door that is not liked, 1 x 0.5 without its penalty.
	need <<<$'lot,part,color,qty,penalty\n,P-1,red,8,\nd,P-7,red,1,\nd,P-8,red,1,1'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,8,0.2\nA,P-8,red,,0.5\nB,P-1,red,,0.3\nB,P-7,red,,0.1'
	why <<-'END'
		P-1/red,P-1,red,,8,0,A,0.2,0.2,A,0,cheapest
		d,P-7,red,,1,0,B,0.1,0.1,B,0,cheapest
		d,P-8,red,,0,1,A,1.5,0.1,B,0.5,minimum
	END
}

@test "--why: threshold, where a charge would be at a step that is higher, or the order not shipped" {
	need <<<$'part,color,qty\nP-1,red,10\nP-2,red,10\nP-9,red,1'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,0.4\nA,P-2,red,,0.1\nB,P-2,red,,0.08\nB,P-9,red,,1'
	charges <<<$'seller,charge,from,amount\nA,ship,,2\nA,ship,5,0\nB,ship,,0'
	# B has an order for P-9. 4 + 1 = 5, shipped free; without the second 4 + 2, and 0.8 from B.
	why <<-'END'
		P-1/red,P-1,red,,10,0,A,0.4,0.4,A,0,only-offer
		P-2/red,P-2,red,,10,0,A,0.1,0.08,B,0.2,threshold
		P-9/red,P-9,red,,1,0,B,1,1,B,0,only-offer
	END
	charges <<<$'seller,charge,from,amount\nA,ship,,no\nA,ship,5,0\nB,ship,,0'
	why <<-'END'
		P-1/red,P-1,red,,10,0,A,0.4,0.4,A,0,only-offer
		P-2/red,P-2,red,,10,0,A,0.1,0.08,B,0.2,threshold
		P-9/red,P-9,red,,1,0,B,1,1,B,0,only-offer
	END
	# Handling of a class, waived from 3 of it on: 2 + 1 = 3; without the second 2 + 1 + 0.8.
	offers <<<$'seller,class,part,color,qty,price\nA,k,P-1,red,,0.2\nA,k,P-2,red,,0.1\nB,,P-2,red,,0.08\nB,,P-9,red,,1'
	charges <<<$'seller,class,charge,from,amount\nA,k,handling,,1\nA,k,handling,3,0\nB,,ship,,0'
	why <<-'END'
		P-1/red,P-1,red,,10,0,A,0.2,0.2,A,0,only-offer
		P-2/red,P-2,red,,10,0,A,0.1,0.08,B,0.2,threshold
		P-9/red,P-9,red,,1,0,B,1,1,B,0,only-offer
	END
	# 13 x 0.4 = 5.2, shipped free, is less than 4 + 2: 3 pieces are beyond the need, 3 x 0.4.
	need <<<$'part,color,qty\nP-1,red,10'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,0.4\nB,P-1,red,,1'
	charges <<<$'seller,charge,from,amount\nA,ship,,2\nA,ship,5,0\nB,ship,,0'
	why <<-'END'
		P-1/red,P-1,red,,10,3,A,0.4,0.4,A,1.2,threshold
	END
	# The price of a break that is reached would be 10 x 0.35, and 2 for shipping, instead of 10 x 0.5.
	offers <<<$'seller,part,color,qty,price,least,listing\nA,P-1,red,10,0.5,,k\nA,P-1,red,10,0.35,10,k\nB,P-1,red,,1,,'
	why <<-'END'
		P-1/red,P-1,red,,10,0,A,0.5,0.35,A,1.5,threshold
	END
}

@test "--why: bundled, where cheaper pieces take another order, or cost more landed" {
	need <<<$'part,color,qty\nP-1,red,10\nP-2,red,5'
	offers <<-'END'
		seller,part,color,qty,price,grams
		A,P-1,red,,0.4,10
		A,P-2,red,,0.1,10
		B,P-2,red,,0.05,10
	END
	charges <<<$'seller,charge,amount\nA,ship,1\nB,ship,1'
	# 5 x (0.1 - 0.05) is less than another order's 1.
	why <<-'END'
		P-1/red,P-1,red,,10,0,A,0.4,0.4,A,0,only-offer
		P-2/red,P-2,red,,5,0,A,0.1,0.05,B,0.25,bundled
	END
	# B has an order for P-9, but takes 2 more for any of class k, and A waives nothing for it. Another step
	# of a charge is no reason where it would be lower without the line; nor is a share of the goods.
	need <<<$'part,color,qty\nP-1,red,10\nP-2,red,5\nP-9,red,1'
	offers <<-'END'
		seller,part,color,qty,price,grams,class
		A,P-1,red,,0.4,10,
		A,P-2,red,,0.1,10,
		B,P-2,red,,0.05,10,k
		B,P-9,red,,1,10,
	END
	charges <<-'END'
		seller,charge,class,basis,from,amount,percent
		A,ship,,weight,,1,
		A,ship,,weight,120,1.1,
		A,rebate,,value,,,-1
		B,handling,k,,,2,
	END
	why <<-'END'
		P-1/red,P-1,red,,10,0,A,0.4,0.4,A,0,only-offer
		P-2/red,P-2,red,,5,0,A,0.1,0.05,B,0.25,bundled
		P-9/red,P-9,red,,1,0,B,1,1,B,0,only-offer
	END
	# The only line of its order: 10 x 0.4 + 1 is less than 10 x 0.3 + 3.
	need <<<$'part,color,qty\nP-1,red,10'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,0.4\nB,P-1,red,,0.3'
	charges <<<$'seller,charge,amount\nA,ship,1\nB,ship,3'
	why <<-'END'
		P-1/red,P-1,red,,10,0,A,0.4,0.3,B,1,bundled
	END
}

@test "--why: what is missing, unmet or not worth it" {
	need <<<$'part,color,qty,worth\nP-1,red,5,\nP-2,red,4,0.05\nP-3,any,1,'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,3,0.1\nB,P-2,red,,0.1'
	why <<-'END'
		P-1/red,P-1,red,,3,0,A,0.1,0.1,A,0,only-offer
		P-1/red,P-1,red,,2,0,,,0.1,A,,unmet
		P-2/red,P-2,red,,4,0,,,0.1,B,,optional
		P-3/any,P-3,any,,1,0,,,,,,unmet
	END
	exits 1
}

@test "--why: prices in home currency, with the penalty of an alternative" {
	sellers <<<$'seller,route,currency\nA,market,GBP\nB,market,JPY'
	rates <<<$'from,to,rate\nGBP,EUR,1.168\nEUR,JPY,157.3'
	need <<<$'lot,part,color,qty,penalty\nd,P-7,blue,6,\nd,P-8,blue,6,0.02\n,P-1,red,3,'
	offers <<-'END'
		seller,part,color,qty,price
		A,P-7,blue,5,0.17
		A,P-8,blue,4,0.15
		B,P-1,red,,7
		B,P-1,red,1,6
	END
	# 0.17 x 1.168 = 0.19856; 0.15 x 1.168 + 0.02 = 0.1952; 2 x 0.00336 above.
	# 7 / 157.3 = 0.0445009535..., 6 / 157.3 = 0.0381436745...: 2 x (0.044500954 - 0.038143675) above.
	why -C EUR <<-'END'
		d,P-7,blue,,2,0,A,0.19856,0.1952,A,0.00672,stock
		d,P-8,blue,,4,0,A,0.1952,0.1952,A,0,cheapest
		P-1/red,P-1,red,,1,0,B,0.038143675,0.038143675,B,0,cheapest
		P-1/red,P-1,red,,2,0,B,0.044500954,0.038143675,B,0.012714558,stock
	END
}

# ---- curve

# curve [OPTION...]: need.csv bought; what --curve says, its header and bounds aside, is what stands on stdin, and each
# bound is under half a cent below its cost.
curve() {
	split --curve curve.csv "$@"
	head -n 1 curve.csv | diff - <(echo orders,cost,landed,bound,saving)
	sed 1d curve.csv | cut -d , -f 1-3,5 >points
	diff -u --label 'points due' --label 'points' - points || show "--curve says something else"
	awk -F, 'NR > 1 && ($4 > $2 || $2 - $4 >= 0.005) { exit 1 }' curve.csv || show "not proved: $(cat curve.csv)"
}

# Three lots: at A all, at B the first two, at C the last two, at D the last.
four_sellers() {
	sellers <<<$'seller,route,currency\n*,market,USD'
	need <<<$'part,color,qty\nP-1,red,1\nP-2,red,1\nP-3,red,1'
	offers <<-'END'
		seller,part,color,qty,price
		A,P-1,red,,2
		A,P-2,red,,2
		A,P-3,red,,2
		B,P-1,red,,1
		B,P-2,red,,1
		C,P-2,red,,0.5
		C,P-3,red,,1
		D,P-3,red,,0.25
	END
}

@test "--curve: what one parcel more saves, until more save nothing" {
	four_sellers
	# A alone 3 x 2; B and D 1 + 1 + 0.25; B, C and D 1 + 0.5 + 0.25.
	curve <<-'END'
		1,6.000000000,6.000000000,3.750000000
		2,2.250000000,2.250000000,0.500000000
		3,1.750000000,1.750000000,0.000000000
	END
	costs 1.75
	# An order cost is in the cost, not in what is landed; at 0.6 a third order saves nothing.
	curve --order-cost 0.6 <<-'END'
		1,6.600000000,6.000000000,3.150000000
		2,3.450000000,2.250000000,0.000000000
	END
	costs 3.45
	curve --order-cost 0.5 <<-'END'
		1,6.500000000,6.000000000,3.250000000
		2,3.250000000,2.250000000,0.000000000
	END
	reports cost=3.25 orders=2
}

@test "--curve: with --max-orders, what one more would save is not known at the limit" {
	four_sellers
	curve --max-orders 2 <<-'END'
		1,6.000000000,6.000000000,3.750000000
		2,2.250000000,2.250000000,
	END
	exits 0
	curve --max-orders 4 <<-'END'
		1,6.000000000,6.000000000,3.750000000
		2,2.250000000,2.250000000,0.500000000
		3,1.750000000,1.750000000,0.000000000
	END
}

@test "--curve: starts at the fewest orders that can meet the need, stock is none" {
	four_sellers
	curve --without A <<-'END'
		2,2.250000000,2.250000000,0.500000000
		3,1.750000000,1.750000000,0.000000000
	END
	stock <<<$'part,color,qty\nP-1,red,1\nP-2,red,1\nP-3,red,1'
	curve <<-'END'
		0,0.000000000,0.000000000,0.000000000
	END
	exits 0
	rm stock.csv
	need <<<$'part,color,qty'
	curve <<-'END'
		0,0.000000000,0.000000000,0.000000000
	END
}

@test "--curve: a minimum keeps fewer orders from meeting the need, and one more may save nothing where two do" {
	sellers <<<$'seller,route,currency,minimum\nA,market,USD,\nB,market,USD,3\nC,market,USD,'
	need <<<$'part,color,qty\nP-1,red,1\nP-2,red,1'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,1,2\nB,P-1,red,1,1\nB,P-2,red,1,1\nC,P-2,red,1,1'
	# B has both, for 2, but takes no order below 3.
	curve <<<2,3.000000000,3.000000000,0.000000000
	# One more order saves nothing, two more do: 3 + 2 + 2 from A, whose minimum is that; 2 + 2 + 2.
	sellers <<<$'seller,route,currency,minimum\nA,market,USD,7\n*,market,USD,'
	need <<<$'part,color,qty\nP-1,red,1\nP-2,red,1\nP-3,red,1'
	offers <<-'END'
		seller,part,color,qty,price
		A,P-1,red,,3
		A,P-2,red,,2
		A,P-3,red,,2
		D,P-1,red,,2
		E,P-2,red,,2
		F,P-3,red,,2
	END
	curve <<-'END'
		1,7.000000000,7.000000000,0.000000000
		2,7.000000000,7.000000000,1.000000000
		3,6.000000000,6.000000000,0.000000000
	END
}

@test "--curve: where not all can be met, of plans that meet as much" {
	four_sellers
	need <<<$'part,color,qty\nP-1,red,1\nP-2,red,1\nP-3,red,1\nP-4,red,2'
	curve <<-'END'
		1,6.000000000,6.000000000,3.750000000
		2,2.250000000,2.250000000,0.500000000
		3,1.750000000,1.750000000,0.000000000
	END
	exits 1
	reports unmet=2 orders=3
}

# ---- edges

@test "an empty need list costs nothing" {
	need <<<'part,color,qty'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,1'
	run_split --report report.csv
	exits 0
	out_is <<<"seller,route,class,lot,part,color,condition,qty,price,currency,amount,surplus,grams,listing"
	err_is <<<"lot-split: 0 orders, 0 lots, 0 pieces, 0.00 USD landed, proved least"
	reports cost=0 proved=yes
}

@test "no offers: nothing is met" {
	need <<<$'part,color,qty\nP-1,red,2'
	offers <<<'seller,part,color,qty,price'
	split
	exits 1
	reports unmet=2 cost=0
}

@test "pieces at price 0 are goods as others are" {
	need <<<$'part,color,qty\nP-1,red,2'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,0\nB,P-1,red,,0.5'
	charges <<<$'seller,charge,amount\n*,shipping,1'
	split
	costs 1
	buys <<<"A,P-1/red,red,2,0,0"
}

@test "large amounts stay exact" {
	need <<<$'part,color,qty\nP-1,red,999999999'
	offers <<<$'seller,part,color,qty,price\nA,P-1,red,,9.000001'
	split
	costs 9000000990.999999
}

@test "CSV as spreadsheets write it, and columns in any order" {
	printf '\357\273\277sep=;\r\n"Color";QTY; part ;x\r\nred;2;"P;1";\r\n\r\nblue;1;P-2\r\n' >need.csv
	printf 'price\tseller\tpart\tcolor\tqty\n1\tA\tP;1\tred\t\n2\tB\tP-2\tblue\t9\n' >offers.csv
	split
	costs 4
	out_has 'A,market,,P;1/red,P;1,red,,2,1,USD,2,0,,'
	printf 'part|color|qty\nP;1|red|1\n' >need.csv
	split -D '|'
	costs 1
}

# ---- the same bytes

@test "rows of the need list shuffled: the same orders, where no names change" {
	local seed
	for seed in 4 7 12 31; do
		drawn small "$seed"
		# Names of lots are given by the order of rows only where a name is taken twice: here each row has one.
		python3 - <<-'END'
			import csv
			rows = list(csv.DictReader(open("need.csv")))
			for number, row in enumerate(rows):
			    row["lot"] = row.get("lot") or "row %02d" % number
			with open("need.csv", "w", newline="") as out:
			    writer = csv.DictWriter(out, list(rows[0]), lineterminator="\n")
			    writer.writeheader()
			    writer.writerows(rows)
		END
		split_drawn
		[ "$status" -le 1 ]
		cp "$OUT" before
		grep -E '^(cost|landed|unmet|orders),' report.csv >figures
		shuffle need.csv "$seed"
		split_drawn
		grep -E '^(cost|landed|unmet|orders),' report.csv | diff figures -
		diff before "$OUT"
	done
}

plan_is_whole() {
	# shellcheck disable=SC2046
	try python3 "$TESTS/oracle/landed.py" split $(cat args) --need need.csv <orders.csv
	exits 0
	out_has 'unmet,0'
}

@test "--effort: a limit of work, exit 1 with the gap, the same bytes each time" {
	drawn rules 3 30 40
	split_drawn --effort 1
	exits 1
	reports proved=no
	err_has 'the search was cut short with a gap of '
	keep before
	cp "$OUT" orders.csv
	plan_is_whole
	split_drawn --effort 1
	keep after
	diff -r before after
}

@test "--why on drawn needs: every order line is in it, and side files shuffled give the same bytes" {
	local seed file
	for seed in 4 7 12 31; do
		drawn small "$seed"
		split_drawn --why why.csv
		[ "$status" -le 1 ]
		python3 - "$OUT" <<-'END'
			import csv, sys
			from collections import Counter
			bought, said = Counter(), Counter()
			for row in csv.DictReader(open(sys.argv[1])):
			    bought[row["lot"], row["seller"], row["part"], row["color"], row["condition"]] += int(row["qty"])
			for row in csv.DictReader(open("why.csv")):
			    if row["seller"]:
			        goods = row["lot"], row["seller"], row["part"], row["color"], row["condition"]
			        said[goods] += int(row["qty"]) + int(row["surplus"])
			assert bought == said, (bought, said)
		END
		cp why.csv before
		for file in offers sellers charges rates stock weights; do
			[ ! -e "$file.csv" ] || shuffle "$file.csv" "$seed"
		done
		split_drawn --why why.csv
		diff before why.csv
	done
}

# ---- against other programs

@test "lot-total agrees with what is landed, to the cent" {
	sellers <<-'END'
		seller,route,currency,minimum,tax,tax_on,tariff
		A,direct,USD,,10,all,
		B,market,EUR,2,,,letter
	END
	charges <<-'END'
		seller,tariff,class,charge,basis,from,over,amount,percent,taxed
		A,,shelf,handling,,,,3,,
		A,,shelf,handling,,12,,0,,
		A,,,shipping,,,,5,,no
		,letter,,post,weight,,,1.5,,
		,letter,,post,weight,,50,2.5,,
		,letter,,care,,,,,10,
	END
	rates <<<$'from,to,rate\nEUR,USD,1.25'
	need <<<$'part,color,qty\nP-1,red,20\nP-2,red,8\nP-3,red,4'
	offers <<-'END'
		seller,part,color,qty,price,class,grams
		A,P-1,red,,0.5,shelf,
		A,P-2,red,,0.5,store,
		B,P-2,red,,0.4,,10
		B,P-3,red,,1,,10
	END
	run_split -C USD --report report.csv
	exits 0
	cp "$OUT" orders.csv
	# A: 12, its handling waived, and 4; shipping 5; tax 1.6: 22.6. B: 4, post 1.5, care 0.4: 5.9 EUR are 7.375.
	reports landed=29.975
	try lot-total -q -s sellers.csv -c charges.csv -x rates.csv -C USD <orders.csv
	exits 0
	cut -d , -f 1,6,7,8,9,15 "$OUT" >found
	diff - found <<-'END'
		seller,goods,charges,tax,total,home
		A,16.00,5.00,1.60,22.60,22.60
		B,4.00,1.90,0.00,5.90,7.38
		TOTAL,,,,,29.98
	END
}

@test "lot-total agrees on drawn needs, but for its rounding to the minor unit" {
	local seed args word skip
	for seed in $(seq 1 12); do
		drawn small "$seed"
		split_drawn
		[ "$status" -le 1 ]
		cp "$OUT" orders.csv
		# The options that lot-total has too.
		args=() skip=
		while read -r word; do
			case $skip$word in
			-s | -c | -x | -w | -C) args+=("$word") skip=keep ;;
			keep*) args+=("$word") skip= ;;
			esac
		done <args
		try lot-total -q "${args[@]}" <orders.csv
		exits 0
		python3 - "$OUT" <<-'END'
			import csv, sys
			from decimal import Decimal
			rows = list(csv.DictReader(open(sys.argv[1])))
			landed = {r["metric"]: r["value"] for r in csv.DictReader(open("report.csv"))}["landed"]
			orders = len(rows) - 1
			# Each order: goods, a dozen charges and tax rounded to at most half a unit, then converted.
			room = Decimal("0.08") * orders
			assert abs(Decimal(rows[-1]["home"]) - Decimal(landed)) <= room, (rows[-1]["home"], landed)
		END
	done
}

@test "ten items, ten shops: a published puzzle, least total 149" {
	# "Optimal Internet shopping" (solve.club problem collection): shops 2 and 10.
	python3 "$TESTS/oracle/published.py" ten .
	split_drawn
	costs 149
	reports orders=2
	cut -d , -f 1 "$OUT" | sed 1d | sort -u >shops
	diff - shops <<<$'shop02\nshop10'
}

@test "Steiner triple systems of order 9, 15 and 27: 5, 9 and 18 orders" {
	# Fulkerson, Nemhauser and Trotter 1974; Ratliff 1979.
	local case
	for case in 9:5 15:9 27:18; do
		rm -f ./*.csv
		python3 "$TESTS/oracle/published.py" steiner "${case%:*}" .
		split_drawn
		costs "${case#*:}"
		reports "orders=${case#*:}"
	done
}

@test "60 drawn needs under every rule: proved, and what a MIP solver has as the optimum" {
	# The answers of HiGHS (Debian: python3-scipy; seed 209 of CBC, which finds a cheaper plan) stand in a
	# table, since the solver takes up to minutes for one; check_split.py --table --write makes it.
	local range
	for range in '2 41' '43 62'; do
		# shellcheck disable=SC2086 # two words
		try python3 "$TESTS/oracle/check_split.py" --proved --program "$BIN/lot-split" \
			--table "$TESTS/oracle/answers.csv" rules $range
		exits 0
		out_has " draws, 0 failures"
	done
}

@test "50 drawn needs: plans that keep every rule, costed again, against a MIP solver's optimum" {
	# HiGHS (Debian: python3-scipy) or CBC (Debian: coinor-cbc); costs in Python's fractions.
	try python3 "$TESTS/oracle/check_split.py" --proved --program "$BIN/lot-split" small 1 50
	exits 0
	out_has "50 draws, 0 failures"
}

@test "--curve on drawn needs: each point is what --max-orders gives, and a MIP solver's optimum" {
	try python3 "$TESTS/oracle/check_curve.py" --program "$BIN/lot-split" flat 2 2 12 8 60
	exits 0
	out_has "1 draws, 3 points, 0 failures"
	try python3 "$TESTS/oracle/check_curve.py" --program "$BIN/lot-split" small 25 25
	exits 0
	out_has "1 draws, 3 points, 0 failures"
}

@test "25 drawn needs with several taxes, included ones and fees of banks, against a MIP solver's optimum" {
	try python3 "$TESTS/oracle/check_split.py" --proved --taxes --program "$BIN/lot-split" small 101 125
	exits 0
	out_has "25 draws, 0 failures"
}

@test "40 drawn needs with orders paid, open and old: against a MIP solver's optimum, no piece lost" {
	try python3 "$TESTS/oracle/check_split.py" --proved --program "$BIN/lot-split" kept 45 84
	exits 0
	out_has "40 draws, 0 failures"
}

@test "15 drawn needs with duties and import taxes, one after the other, against a MIP solver's optimum" {
	try python3 "$TESTS/oracle/check_split.py" --proved --duties --program "$BIN/lot-split" small 101 115
	exits 0
	out_has "15 draws, 0 failures"
}

@test "tiny needs against full enumeration" {
	local seed
	for seed in 1 2 3 4 5 6 7 8; do
		drawn tiny "$seed"
		split_drawn
		[ "$status" -le 1 ]
		cp "$OUT" orders.csv
		python3 "$TESTS/oracle/enumerate.py" . >least || [ $? -eq 3 ]
		[ -s least ] || continue
		echo "$seed" >>compared
		python3 - <<-'END'
			import csv
			from fractions import Fraction
			unmet, cost = open("least").read().strip().split(",")[:2]
			report = {r["metric"]: r["value"] for r in csv.DictReader(open("report.csv"))}
			assert report["unmet"] == unmet, (report, unmet)
			assert abs(Fraction(report["cost"]) - Fraction(cost)) <= Fraction(1, 200), (report, cost)
		END
	done
	[ "$(wc -l <compared)" -ge 6 ]
}

# ---- bad input

# sound: a need, offers, sellers and charges without fault.
sound() {
	rm -f ./*.csv
	need <<<$'part,color,qty\nP,red,1'
	offers <<<$'seller,part,color,qty,price\nA,P,red,5,1'
	sellers <<<$'seller,route,currency\nA,market,EUR'
}

# bad FILE TEXT [OPTION...]: FILE.csv, as it stands on stdin, is refused with the text as the first line.
bad() {
	local file=$1 text=$2
	shift 2
	sound
	cat >"$file.csv"
	split "$@"
	refused "$text"
	head -n 1 "$ERR" | grep -qF -e "$text" || show "not on the first line: $text"
	[ ! -e report.csv ]
}

@test "bad need lists: told with file and line, exit 2, nothing on stdout" {
	bad need 'lot-split: <stdin>: no header line' </dev/null
	bad need 'lot-split: <stdin>:1: no column "qty": there are part, color' <<<'part,color'
	bad need 'lot-split: <stdin>:1: two columns are named "qty"' <<<$'part,color,qty,Qty'
	bad need '<stdin>:2: qty "-1" is negative' <<<$'part,color,qty\nP,red,-1'
	bad need '<stdin>:2: qty "1.5" is no whole number' <<<$'part,color,qty\nP,red,1.5'
	bad need '<stdin>:2: qty "1000000000" is too large' <<<$'part,color,qty\nP,red,1000000000'
	bad need '<stdin>:2: qty "many" is no number' <<<$'part,color,qty\nP,red,many'
	bad need '<stdin>:2: qty is empty' <<<$'part,color,qty\nP,red,'
	bad need '<stdin>:2: part is empty' <<<$'part,color,qty\n,red,1'
	bad need '<stdin>:2: color is empty: name one, or "any"' <<<$'part,color,qty\nP,,1'
	bad need '<stdin>:2: worth "0.1234567" has more than 6 decimals' <<<$'part,color,qty,worth\nP,red,1,0.1234567'
	bad need '<stdin>:2: penalty "-1" is negative' <<<$'part,color,qty,penalty\nP,red,1,-1'
	bad need '<stdin>:2: grams "1e3" is no number' <<<$'part,color,qty,grams\nP,red,1,1e3'
	bad need '<stdin>:2: 4 fields, but the header names 3' <<<$'part,color,qty\nP,red,1,7'
	bad need '<stdin>:2: stray quote' <<<$'part,color,qty\n"P"x,red,1'
	bad need '<stdin>:4: qty "x" is no number' <<<$'part,color,qty\n"P\n2",red,1\nP,red,x'
	bad need '<stdin>:2: column 1 (part) holds a NUL byte at byte 2' < <(printf 'part,color,qty\nP\0,red,1\n')
}

@test "bytes that are not UTF-8: row, column and byte are told, --encoding reads them" {
	bad need '<stdin>:3: column 2 (color) is not UTF-8 at byte 3 of the field' \
		< <(printf 'part,color,qty\nP,red,1\nP,gr\374n,1\n')
	bad offers 'offers.csv:2: column 3 (color) is not UTF-8 at byte 3 of the field' \
		< <(printf 'seller,part,color,qty,price\nA,P,gr\374n,5,1\n')
	offers <<<$'seller,part,color,qty,price\nA,P,grün,5,1'
	printf 'part,color,qty\nP,gr\374n,1\n' >need.csv
	split --encoding ISO-8859-1
	costs 1
	split --encoding nonsense
	refused 'unknown encoding "nonsense"'
}

@test "bad lots: alternatives that do not agree, rows taken as one that differ" {
	bad need '<stdin>:3: qty of lot "x" is not that of line 2' <<<$'lot,part,color,qty\nx,P,red,1\nx,Q,red,2'
	bad need '<stdin>:3: group of lot "x" is not that of line 2' \
		<<<$'lot,part,color,qty,group\nx,P,red,1,a\nx,Q,red,1,b'
	bad need '<stdin>:3: model of lot "x" is not that of line 2' \
		<<<$'lot,part,color,qty,model\nx,P,red,1,a\nx,Q,red,1,b'
	bad need '<stdin>:3: worth of lot "x" is not that of line 2' \
		<<<$'lot,part,color,qty,worth\nx,P,red,1,\nx,Q,red,1,0'
	bad need '<stdin>:3: penalty differs from that of line 2' <<<$'part,color,qty,penalty\nP,red,1,0.1\nP,red,1,0.2'
	bad need '<stdin>:3: grams differ from those of line 2' <<<$'part,color,qty,grams\nP,red,1,1\nP,red,1,2'
	bad need '<stdin>:3: grams differ from those of line 2, for a piece that fits both' \
		<<<$'part,color,qty,grams\nP,red,1,1\nP,any,1,2'
	bad need '<stdin>:3: two rows of lot "x" share a label in "together"' \
		<<<$'lot,part,color,qty,together\nx,P,red,1,t\nx,Q,red,1,t'
	bad need '<stdin>:3: quantities of the same lot add up to more than 999999999' \
		<<<$'part,color,qty\nP,red,999999999\nP,red,1'
}

@test "cut short before it is sure how much can be met, nothing is proved" {
	# Found by fuzzing: buying nothing, for 0, was told as proved, since no plan costs less than 0.
	need <<<$'lot,part,color,qty,condition,penalty\nL0,P,any,4,,1\nL0,Q,any,4,new,'
	offers <<-'END'
		seller,part,color,qty,price,condition,step,least,listing
		S1,Q,blue,1,3,new,,,
		S2,Q,blue,5,0,new,2,0,l0
		S2,Q,blue,5,4,new,2,2,l0
	END
	sellers <<<$'seller,route,minimum,tax,tax_on\nS1,direct,8,,\n*,market,4,50,goods'
	split -C EUR --effort 100
	exits 1
	reports unmet=4 cost=0 proved=no
	err_has 'the search was cut short'
	split -C EUR --effort 1000000
	exits 0
	reports unmet=0 cost=24 proved=yes
}

@test "a pattern that does not compile, and one that backtracks without end" {
	bad need '<stdin>:2: not_color "(" is no PCRE2 pattern: missing closing parenthesis' \
		<<<$'part,color,qty,not_color\nP,any,1,('
	sound
	offers <<<$'seller,part,color,qty,price\nA,P,aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaac,5,1'
	need <<<$'part,color,qty,not_color\nP,any,1,(a+)+'
	split
	refused '<stdin>:2: not_color "(a+)+" on color "aaaa'
	err_has 'match limit'
}

@test "bad offers" {
	bad offers 'offers.csv: no header line' </dev/null
	bad offers 'offers.csv:1: no column "price": there are seller, part, color, qty' <<<'seller,part,color,qty'
	bad offers 'offers.csv:2: no row of sellers.csv speaks for seller "B"' <<<$'seller,part,color,qty,price\nB,P,red,1,1'
	bad offers 'offers.csv:2: qty "-1" is negative' <<<$'seller,part,color,qty,price\nA,P,red,-1,1'
	bad offers 'offers.csv:2: qty "1.5" is no whole number' <<<$'seller,part,color,qty,price\nA,P,red,1.5,1'
	bad offers 'offers.csv:2: price "-1" is negative' <<<$'seller,part,color,qty,price\nA,P,red,1,-1'
	bad offers 'offers.csv:2: price is empty' <<<$'seller,part,color,qty,price\nA,P,red,1,'
	bad offers 'offers.csv:2: price "0.1234567" has more than 6 decimals' \
		<<<$'seller,part,color,qty,price\nA,P,red,1,0.1234567'
	bad offers 'offers.csv:2: price "1$" is no number' <<<$'seller,part,color,qty,price\nA,P,red,1,1$'
	bad offers 'offers.csv:2: price "99999999999999" is too large' \
		<<<$'seller,part,color,qty,price\nA,P,red,1,99999999999999'
	bad offers 'offers.csv:2: seller is empty' <<<$'seller,part,color,qty,price\n,P,red,1,1'
	bad offers 'offers.csv:2: a seller may not be named "owned"' <<<$'seller,part,color,qty,price\nowned,P,red,1,1'
	bad offers 'offers.csv:2: a seller may not be named "TOTAL"' <<<$'seller,part,color,qty,price\nTOTAL,P,red,1,1'
	bad offers 'offers.csv:2: step is 0' <<<$'seller,part,color,qty,price,step\nA,P,red,1,1,0'
	bad offers 'offers.csv:2: least "x" is no number' <<<$'seller,part,color,qty,price,least\nA,P,red,1,1,x'
	bad offers 'offers.csv:2: currency "EUX" is no currency code of ISO 4217: did you mean EUR?' \
		<<<$'seller,part,color,qty,price,currency\nA,P,red,1,1,EUX'
	bad offers 'offers.csv:3: offers of "A" are in different currencies' \
		<<<$'seller,part,color,qty,price,currency\nA,P,red,1,1,EUR\nA,P,red,1,2,USD'
	bad offers 'offers.csv:3: rows of listing "k" differ in qty' \
		<<<$'seller,part,color,qty,price,listing,least\nA,P,red,5,1,k,\nA,P,red,6,0.9,k,5'
	bad offers 'offers.csv:3: rows of listing "k" have the same least' \
		<<<$'seller,part,color,qty,price,listing,least\nA,P,red,5,1,k,\nA,P,red,5,0.9,k,1'
}

@test "twenty faults are told, then how many more" {
	sound
	{ echo seller,part,color,qty,price && yes A,P,red,x,1 | head -n 25; } >offers.csv
	split
	refused 'offers.csv:21: qty "x"'
	err_has 'lot-split: offers.csv: and 5 more faults'
	err_lines 21
}

@test "bad sellers, charges, rates, weights and stock" {
	bad sellers 'sellers.csv:1: no column "seller"' <<<'name'
	bad sellers 'sellers.csv:3: seller "A" has a row at line 2 already' <<<$'seller,tax\nA,1\nA,1'
	bad sellers 'sellers.csv:2: tax "7%" is no number' <<<$'seller,tax\nA,7%'
	bad sellers 'sellers.csv:2: order_cost "-1" is negative' <<<$'seller,order_cost\nA,-1'
	bad charges 'offers.csv:2: no charge in charges.csv speaks for seller "A"' <<<$'seller,charge,amount\nB,post,1'
	bad charges 'offers.csv:2: seller "A" charges by weight, and nothing says what a piece of "P" weighs' \
		<<<$'seller,charge,basis,amount\nA,post,weight,1'
	bad charges 'charges.csv:2: basis "volume" is not known: it is value, weight, pieces, lots or landed' \
		<<<$'seller,charge,basis,amount\nA,post,volume,1'
	bad charges 'charges.csv:3: charge "post" has a step at this place at line 2' \
		<<<$'seller,charge,from,amount\nA,post,1,1\nA,post,1.0,2'
	bad charges 'charges.csv:3: charge "post" has another basis at line 2' \
		<<<$'seller,charge,basis,from,amount\nA,post,lots,1,1\nA,post,pieces,2,1'
	bad charges 'charges.csv:2: no rate from GBP to EUR: give a file of rates' -C EUR \
		<<<$'seller,charge,amount,currency\nA,post,1,GBP'
	bad charges 'several currencies are in use (EUR, GBP): say which is home with --currency' \
		<<<$'seller,charge,amount,currency\nA,post,1,GBP'
	bad rates 'rates.csv:2: rate is 0' <<<$'from,to,rate\nEUR,USD,0'
	bad rates 'rates.csv:3: EUR to USD has another rate at line 2' <<<$'from,to,rate\nEUR,USD,1.1\nEUR,USD,1.2'
	bad rates 'offers.csv:2: no rate from EUR to JPY in rates.csv' -C JPY <<<$'from,to,rate\nEUR,USD,1.1'
	bad rates 'several ways from EUR to JPY in rates.csv, through GBP and through USD' -C JPY \
		<<<$'from,to,rate\nEUR,USD,1.1\nEUR,GBP,0.9\nUSD,JPY,150\nGBP,JPY,180'
	bad weights 'weights.csv:3: part "P" has other grams' <<<$'part,grams\nP,1\nP,2'
	bad stock 'stock.csv:2: qty "-1" is negative' <<<$'part,color,qty\nP,red,-1'
	bad stock 'stock.csv:1: no column "color"' <<<'part,qty'
}

@test "charges of a seller that sells nothing are fine, and need no rate" {
	sound
	charges <<<$'seller,charge,amount,currency\nA,post,1,\nB,post,1,SEK'
	split -C EUR
	costs 2
}

@test "every seller's terms are checked, those of sellers left out too" {
	sound
	offers <<<$'seller,part,color,qty,price\nA,P,red,5,1\nB,Q,red,5,1'
	split --without B
	refused 'offers.csv:3: no row of sellers.csv speaks for seller "B"'
}

# ---- options, and failing reads and writes

@test "help, version, unknown options, options given twice, values that are none" {
	sound
	try lot-split --help
	exits 0
	out_has 'usage: lot-split '
	out_has '--max-orders N'
	err_is_empty
	try lot-split -V
	exits 0
	out_has 'lot-split '
	split --nonsense
	refused "lot-split: unknown or ambiguous option --nonsense: try 'lot-split --help'"
	split -Z
	refused 'unknown option -Z'
	split need.csv
	refused 'there are no operands'
	split --max-orders 1 --max-orders 2
	refused 'option --max-orders is given twice'
	split -s sellers.csv
	refused 'option --sellers is given twice'
	split -k stock.csv -k stock.csv
	refused 'stock stock.csv is given twice'
	split --carry
	refused 'option --carry needs a value'
	split --max-orders x
	refused '--max-orders takes a whole number from 0 on'
	split --effort 0
	refused '--effort takes a whole number from 1 on'
	split --time 0
	refused '--time takes seconds, more than 0'
	split --order-cost -1
	refused '--order-cost is negative'
	split --order-cost 0.1234567
	refused '--order-cost has more than 6 decimals'
	split -C euro
	refused '--currency "euro" is no currency code of ISO 4217: did you mean EUR?'
	split --short report.csv
	refused 'report.csv: named for two outputs'
	try lot-split -s sellers.csv <need.csv
	refused 'no offers: -o FILE'
	try lot-split -o offers.csv <need.csv
	refused 'no sellers: -s FILE'
}

@test "a missing file; stdin read twice" {
	sound
	split -x rates.csv
	refused 'lot-split: rates.csv: No such file or directory'
	split -c -
	refused 'stdin is already an input'
}

@test "a full device, a closed pipe" {
	sound
	try sh -c 'lot-split -o offers.csv -s sellers.csv <need.csv >/dev/full'
	exits 2
	err_has 'lot-split: <stdout>: No space left on device'
	try bash -c '{ sleep 0.3; lot-split -q -o offers.csv -s sellers.csv <need.csv; echo "$?" >kept; } | true'
	[ "$(cat kept)" -eq 141 ]
	err_is_empty
}

@test "a side file that cannot be written: nothing on stdout, other files as they were" {
	sound
	echo before >short.csv
	run_split --short short.csv --report nowhere/report.csv
	refused 'lot-split: nowhere/report.csv: No such file or directory'
	[ "$(cat short.csv)" = before ]
	run_split --short short.csv --report /dev/full
	refused 'lot-split: /dev/full: No space left on device'
	[ "$(cat short.csv)" = before ]
	[ "$(find . -type f | sort | tr '\n' ' ')" = './need.csv ./offers.csv ./sellers.csv ./short.csv ' ]
}

@test "bad input leaves side files as they were" {
	sound
	echo before >short.csv
	need <<<$'part,color,qty\nP,red,x'
	run_split --short short.csv
	refused '<stdin>:2: qty "x"'
	[ "$(cat short.csv)" = before ]
}

# ---- a search cut short

# A draw that no search settles in the second that it gets here.
large() {
	drawn rules 2 160 300
}

# The search said that it was cut short, and the plan in orders.csv keeps every rule and fills the need.
plan_so_far() {
	exits 1
	err_has 'lot-split: the search was cut short with a gap of '
	plan_is_whole
}

@test "--time: the best plan so far, its gap on stderr, exit 1" {
	large
	split_drawn --time 1
	cp "$OUT" orders.csv
	plan_so_far
	reports proved=no
}

# What is known of a curve that was cut short holds: its points descend, its bounds are below them.
curve_so_far() {
	exits 1
	reports proved=no
	awk -F, 'NR > 1 && ($4 > $2 || (NR > 2 && ($2 > cost || $1 != orders + 1))) { exit 1 }
		{ cost = $2; orders = $1 }
		END { exit NR < 2 }' curve.csv || show "$(cat curve.csv)"
	[ "$(tail -n 1 curve.csv | cut -d , -f 2)" = "$(sed -n 's/^cost,//p' report.csv)" ]
}

@test "--curve with --effort or --time: each gap is told, exit 1" {
	drawn rules 3 30 40
	split_drawn --curve curve.csv --effort 1
	curve_so_far
	err_has 'lot-split: the search was cut short with a gap of '
	cp curve.csv before
	cp "$ERR" said
	for file in offers sellers charges; do shuffle "$file.csv" 1; done
	split_drawn --curve curve.csv --effort 1
	diff before curve.csv
	diff said "$ERR"
	large
	split_drawn --curve curve.csv --time 1
	curve_so_far
	err_has 'lot-split: the search was cut short with a gap of '
}

@test "SIGINT: the best plan so far, its gap on stderr, exit 1" {
	local pid
	large
	status=0
	# shellcheck disable=SC2046
	env --default-signal=INT lot-split -q $(cat args) <need.csv >"$OUT" 2>"$ERR" &
	pid=$!
	# Wait until the program catches the signal (bit 2 of the mask), then send it.
	until grep -qx lot-split "/proc/$pid/comm" && grep -q '^SigCgt:.*[2367abef]$' "/proc/$pid/status"; do
		sleep 0.05
	done
	kill -INT "$pid"
	wait "$pid" || status=$?
	cp "$OUT" orders.csv
	plan_so_far
}

# ---- told while it works

# Of the Steiner triple system of order 81 no search here gets to the end: see oracle/published.py.
endless() {
	rm -f ./*.csv
	python3 "$TESTS/oracle/published.py" steiner 81 .
}

# on_terminal [--interrupt TEXT] [OPTION...]: a run with a terminal as its stderr; lines end in CR LF there.
on_terminal() {
	local words=()
	[ "$1" != --interrupt ] || { words=("$1" "$2") && shift 2; }
	# shellcheck disable=SC2046
	try python3 "$TESTS/terminal.py" "${words[@]}" lot-split $(cat args) "$@" <need.csv
	cp "$OUT" orders.csv
}

# The line was rewritten in place, in the form that it has, and taken away before the rest was told.
line_is_told() {
	python3 - "$ERR" <<-'END'
		import re, sys
		text = open(sys.argv[1], "rb").read().decode()
		shown, mark, rest = text.rpartition("\r\x1b[K")
		assert mark, text
		lines = shown.split("\r")
		assert lines[0] == "" and len(lines) > 1, text
		form = (r"([1-9][0-9]*) s(, best ([0-9]+\.[0-9]{2}))?(, bound ([0-9]+\.[0-9]{2}))?"
		        r"(, gap [0-9]+\.[0-9]{2} %)?, [0-9]+ sellers left\x1b\[K")
		told = [re.fullmatch(form, line) for line in lines[1:]]
		assert all(told), lines
		seconds = [int(line[1]) for line in told]
		assert seconds == sorted(seconds), seconds
		best = [float(line[3]) for line in told if line[3]]
		assert best == sorted(best, reverse=True), best
		# What is shown as a bound is one from the moment it is shown: never above the one told in the end.
		bound = [float(line[5]) for line in told if line[5]]
		assert bound == sorted(bound), bound
		end = float(re.search(r"no plan that meets as much costs less than ([0-9.]+)\r", rest)[1])
		assert not bound or bound[-1] <= end, (bound[-1], end)
		assert "\n" not in shown and rest.count("\r") == rest.count("\r\n"), text
	END
}

@test "on a terminal one line tells how far it is, and SIGINT ends the search with the best so far" {
	endless
	on_terminal --interrupt ' sellers left' --effort 10000000000000000000
	line_is_told
	err_has ' USD landed, not proved'
	plan_so_far
}

@test "no line with --quiet, none where stderr is no terminal, none for a short run" {
	endless
	on_terminal -q --time 2
	exits 1
	tr -d '\r' <"$ERR" >told
	grep -Ex 'lot-split: the search was cut short with a gap of [0-9.]+ %: cost .*' told
	[ "$(wc -l <told)" -eq 1 ]
	# shellcheck disable=SC2046
	try lot-split $(cat args) --time 2 <need.csv
	exits 1
	err_lines 2
	[ "$(tr -d '[:print:]\n' <"$ERR" | wc -c)" -eq 0 ]
	drawn tiny 1
	on_terminal
	[ "$status" -le 1 ]
	[ "$(grep -c 'sellers left' "$ERR")" -eq 0 ]
}

# ---- what is kept of an earlier plan ----
#
# Worked by hand. Anna ships for 5.00, free from 10.00 on; Bert for 3.00, with 10 % on all.
# 8 of P-1 and 4 of P-2 are needed. 4 of P-1 at Anna are open (4.00 + 5.00 = 9.00 so far), 2 of P-2
# at Bert paid. Added to Anna's order: 4 x 1.00 + 2 x 2.00 = 8.00, together 12.00, shipped free:
# 12.00 - 9.00 = 3.00. At Bert instead: (4 x 0.90 + 2 x 1.50 + 3.00) x 1.1 = 10.56.

keep_files() {
	printf 'part,color,qty\nP-1,red,8\nP-2,red,4\n' >need.csv
	printf '%s\n' seller,part,color,qty,price Anna,P-1,red,10,1.00 Anna,P-2,red,10,2.00 \
		Bert,P-1,red,10,0.90 Bert,P-2,red,10,1.50 >offers.csv
	printf '%s\n' seller,route,currency,tax Anna,market,EUR, Bert,market,EUR,10 >sellers.csv
	printf '%s\n' seller,charge,from,amount Anna,shipping,0,5 Anna,shipping,10,0 \
		Bert,shipping,0,3 >charges.csv
	printf '%s\n' seller,part,color,qty,price,state Anna,P-1,red,4,1.00,open \
		Bert,P-2,red,2,1.50,paid >keep.csv
}

keeping() {
	try lot-split -o offers.csv -s sellers.csv -c charges.csv --keep keep.csv --report report.csv \
		"$@" <need.csv
}

reported() {
	grep -qx "$1" report.csv || show "report.csv does not say $1"
}

@test "--keep: an open order grows at what is added to it, paid pieces are there" {
	keep_files
	keeping
	exits 0
	out_is <<-'E'
		seller,route,class,lot,part,color,condition,qty,price,currency,amount,surplus,grams,listing,state
		Anna,market,,P-1/red,P-1,red,,4,1,EUR,4,0,,,new
		Anna,market,,P-1/red,P-1,red,,4,1,EUR,4,0,,,open
		Anna,market,,P-2/red,P-2,red,,2,2,EUR,4,0,,,new
		Bert,market,,P-2/red,P-2,red,,2,1.5,EUR,3,0,,,paid
	E
	reported 'cost,3.000000000'
	reported 'proved,yes'
	reported 'pieces,6'
	reported 'kept,6'
	err_has 'lot-split: kept: 6 pieces of before, 0 not needed'
}

@test "--keep: to buy more of a seller that is paid is a new order, with all its charges" {
	keep_files
	sed -i 's/open/paid/' keep.csv
	keeping
	exits 0
	# All at Bert: 10.56. At Anna 8.00 of goods and 5.00; with one piece more of P-2, 10.00 in all.
	reported 'cost,10.000000000'
	out_has 'Anna,market,,P-2/red,P-2,red,,3,2,EUR,6,1,,,new'
	out_has 'Bert,market,,P-2/red,P-2,red,,2,1.5,EUR,3,0,,,paid'
}

@test "--keep: pieces kept are one reason of --why" {
	keep_files
	keeping --why why.csv
	exits 0
	awk -F, 'FNR == 1 { for (i = 1; i <= NF; i++) at[$i] = i; next } $at["reason"] == "kept" { print $at["part"] "," $at["seller"] "," $at["qty"] "," $at["price"] }' \
		why.csv | sort | diff -u <(printf '%s\n' P-1,Anna,4,0 P-2,Bert,2,0) -
}

@test "--keep: an open order that is charged by weight must say what its lines weigh" {
	keep_files
	printf '%s\n' seller,charge,basis,amount '*,post,weight,1' >charges.csv
	sed -i '1s/$/,grams/; 2,$s/$/,5/' offers.csv
	keeping
	refused 'keep.csv:2: seller "Anna" charges by weight, and nothing says what a piece of "P-1" weighs: add grams to the line, or give --weights'
	sed -i '1s/$/,grams/; 2,$s/$/,5/' keep.csv
	keeping
	[ "$status" -lt 2 ]
}

@test "--keep: what nothing needs any more is surplus, and told" {
	keep_files
	printf '%s\n' Anna,P-9,grey,3,0.10,open Bert,P-2,red,5,1.50,paid >>keep.csv
	keeping --surplus surplus.csv --shares shares.csv
	exits 0
	err_has 'keep.csv:4: 3 of 3 pieces of P-9, grey are open and not needed any more'
	err_has 'are paid and not needed any more'
	out_has 'Anna,market,,,P-9,grey,,3,0.1,EUR,0.3,3,,,open'
	reported 'kept,14'
	reported 'kept_unused,6'
	grep -qx 'P-9,grey,3,,Anna,' surplus.csv
	grep -qx ',,,P-9,grey,,3,Anna,0.3' shares.csv
}

@test "--keep: a lot that the basket has already is not one lot more" {
	printf 'part,color,qty\nP-1,red,8\n' >need.csv
	printf '%s\n' seller,part,color,qty,price Anna,P-1,red,10,1.00 >offers.csv
	printf '%s\n' seller,route,currency Anna,market,EUR >sellers.csv
	printf '%s\n' seller,charge,basis,from,amount Anna,packing,lots,1,2 Anna,packing,lots,2,7 >charges.csv
	printf '%s\n' seller,part,color,qty,price,state Anna,P-1,red,4,1.20,open >keep.csv
	keeping
	exits 0
	reported 'cost,4.000000000'
	sed -i 's/P-1,red,4/P-3,red,4/' keep.csv
	keeping
	exits 0
	reported 'cost,13.000000000' # 8.00, and packing 7.00 in place of 2.00
}

@test "--keep: a part in two classes of goods is a lot of each" {
	# By hand: kept alone 4.00 + 6.00 + 100 % of 4.00 = 14.00; with both P-1 9.00 + 2.00 + 2.00 + 10 % of
	# 1.00 = 13.10, though nine that go together are not to be had. (Found by fuzzing: the second class
	# took the kind's lot, and no order of both was seen.)
	need <<-'END'
		part,color,qty,together
		P-1,red,9,u
	END
	offers <<-'END'
		seller,part,color,qty,price,class
		S,P-1,red,1,1,a
		S,P-1,red,1,4,b
	END
	sellers <<-'END'
		seller,route,currency
		S,market,EUR
	END
	charges <<-'END'
		seller,class,charge,basis,from,amount,percent
		S,,handling,value,0,6,100
		S,,handling,value,9,2,
		S,a,care,lots,1,2,10
	END
	cat >keep.csv <<-'END'
		seller,class,lot,part,color,qty,price,state
		S,,P-2,P-2,red,2,2,open
	END
	split --keep keep.csv
	exits 1
	reports cost=-0.9 proved=yes unmet=9
	buys <<-'END'
		S,,red,2,2,2
		S,P-1/red,red,1,1,1
		S,P-1/red,red,1,4,1
	END
}

@test "two least quantities that weigh more than an order may: the search goes on until that shows" {
	# Of S2's R (least 2, 1 g each) and P (least 2, 1 g each) an order below 2 g has neither both nor one;
	# above, charges c0 and c1 join. (Found by fuzzing: the program of the leaf where both are bought below
	# 2 g has no solution, by a hair along the ray that shows it, and the search ended there with a gap.)
	need <<-'END'
		lot,part,color,qty,worth,together
		,R,any,3,,t
		,P,red,1,15,t
	END
	offers <<-'END'
		seller,part,color,qty,price,step,least,listing
		S0,P,red,30,2,,2,
		S1,P,red,2,3.10,,,
		S1,P,red,3,0.47,,2,l1
		S1,P,red,3,1.014655,,3,l1
		S2,R,grey,,5.55,,2,
		S2,P,red,5,5.55,,2,
	END
	sellers <<-'END'
		seller,route,currency,tax,tax_on,tariff,order_cost
		S0,market,KWD,0.000001,,,
		S1,market,JPY,,included,t,3
		*,market,,,included,,
	END
	charges <<-'END'
		seller,charge,basis,from,over,amount,percent,currency,taxed
		S1,c0,,1,,0.39,12.5,,
		S1,c1,value,,,5.53,-5,,
		*,c0,weight,2,,0,100,USD,
		*,c1,,,,3.061551,-30,,yes
		*,c2,lots,,1,1,,,
		*,c2,lots,7,,0,33.333333,,
		*,c2,lots,11,,6.131895,,,
	END
	printf '%s\n' from,to,rate,fee USD,EUR,0.9,1.5 JPY,USD,0.006, KWD,EUR,3, >rates.csv
	printf '%s\n' part,grams P,1 R,0.000001 >weights.csv
	printf '%s\n' seller,lot,part,color,qty,price,state S0,P,P,red,1,4.7, >keep.csv
	split --keep keep.csv --stay 20 -C EUR --order-cost 100
	exits 0
	reports cost=162.751755463 proved=yes
}

@test "--keep: lines that are new or say nothing are planned afresh; stock in use is passed over" {
	keep_files
	printf '%s\n' seller,route,part,color,qty,price,state Anna,market,P-1,red,8,1.00,new \
		Anna,market,P-2,red,4,2.00, owned,owned,P-1,red,2,0,paid >keep.csv
	keeping
	exits 0
	reported 'kept,0'
	reported 'cost,16.000000000'
}

@test "--stay: each seller dropped or added counts, one with kept lines does not" {
	keep_files
	printf '%s\n' seller,part,color,qty,price,state Bert,P-1,red,8,0.90,new >keep.csv
	# Anna: 16.00 shipped free. Bert: (7.20 + 6.00 + 3.00) x 1.1 = 17.82.
	keeping
	reported 'cost,16.000000000'
	keeping --stay 0.90
	exits 0
	reported 'cost,17.800000000'
	reported 'landed,16.000000000'
	reported 'stay,1.800000000'
	keeping --stay 0.92
	reported 'cost,17.820000000'
	reported 'stay,0.000000000'
	# The plan before may be a file of its own.
	printf '%s\n' seller,part,color,qty,price Bert,P-1,red,8,0.90 >was.csv
	try lot-split -o offers.csv -s sellers.csv -c charges.csv --was was.csv --stay 0.92 \
		--report report.csv <need.csv
	exits 0
	reported 'cost,17.820000000'
}

@test "--keep: bad input" {
	keep_files
	sed -i 's/open/bought/' keep.csv
	keeping
	refused 'keep.csv:2: unknown "state" value "bought": use one of paid, open, new'
	keep_files
	sed -i '1s/state/status/' keep.csv
	keeping
	refused 'keep.csv: there is no column "state": paid, open or new for each line'
	keep_files
	printf 'Zed,P-1,red,1,1,paid\n' >>keep.csv
	keeping
	refused 'keep.csv:4: no row of sellers.csv speaks for seller "Zed"'
	printf 'Zed,market,EUR,\n' >>sellers.csv
	keeping
	refused 'keep.csv:4: no charge in charges.csv speaks for seller "Zed"'
	keep_files
	printf '%s\n' seller,part,color,qty,price,currency,state Anna,P-1,red,4,1.00,USD,open >keep.csv
	keeping -C EUR
	refused 'keep.csv:2: currency "USD" is not that of the orders of "Anna", which is "EUR"'
	try lot-split -o offers.csv -s sellers.csv --stay 1 <need.csv
	refused '--stay counts against a plan of before'
	try lot-split -o offers.csv -s sellers.csv --was keep.csv <need.csv
	refused '--was FILE is for --stay M'
}
