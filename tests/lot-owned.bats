#!/usr/bin/env bats
# lot-owned: a need list netted against owned stock.

load lib

stock() {
	cat >stock.csv
}

need() {
	cat >need.csv
}

# owned [OPTION...]: the need list against the stock.
owned() {
	try lot-owned -q -k stock.csv "$@" <need.csv
}

@test "what remains comes out, fully covered rows do not, columns pass through" {
	need <<-'END'
		bag,part,color,qty,note
		1,P-1,red,10,a
		2,P-2,red,4,b
		3,P-3,red,5,c
		4,P-4,red,0,d
	END
	stock <<-'END'
		part,color,qty,place
		P-1,red,3,jar
		P-2,red,9,jar
		P-3,blue,9,jar
	END
	try lot-owned -k stock.csv --taken taken.csv --left left.csv <need.csv
	exits 0
	out_is <<-'END'
		bag,part,color,qty,note
		1,P-1,red,7,a
		3,P-3,red,5,c
	END
	err_is <<-'END'
		lot-owned: 7 pieces from stock, for 2 lots; 2 lots, 12 pieces remain
	END
	diff - taken.csv <<-'END'
		stock,place,part,color,condition,qty,lot,group,model
		stock.csv,jar,P-1,red,,3,P-1/red,,
		stock.csv,jar,P-2,red,,4,P-2/red,,
	END
	diff - left.csv <<-'END'
		part,color,qty,place
		P-2,red,5,jar
		P-3,blue,9,jar
	END
}

@test "rows of one stock lot in several places stand, and give in order of place" {
	need <<-'END'
		part,color,qty,group,model
		P,red,5,wall,mill
		P,red,4,roof,mill
	END
	stock <<-'END'
		place,part,color,qty,shelf
		tub,P,red,2,s1
		jar,P,red,4,s2
		box,P,red,1,s3
		jar,P,red,4,s4
	END
	owned --taken taken.csv --left left.csv
	exits 0
	out_is <<-'END'
		part,color,qty,group,model
	END
	diff - taken.csv <<-'END'
		stock,place,part,color,condition,qty,lot,group,model
		stock.csv,box,P,red,,1,P/red,wall,mill
		stock.csv,jar,P,red,,4,P/red,wall,mill
		stock.csv,jar,P,red,,4,P/red,roof,mill
	END
	diff - left.csv <<-'END'
		place,part,color,qty,shelf
		tub,P,red,2,s1
	END
}

@test "any color takes every color but those that not_color matches whole" {
	need <<-'END'
		part,color,qty,not_color
		P,any,9,clear|sm.ke
		Q,any,9,
	END
	stock <<-'END'
		part,color,qty
		P,clear,1
		P,clear blue,2
		P,smoke,1
		P,red,3
		Q,clear,4
	END
	owned
	exits 0
	out_is <<-'END'
		part,color,qty,not_color
		P,any,4,clear|sm.ke
		Q,any,5,
	END
}

@test "a condition takes stock that says so alone; blank and any take every one" {
	need <<-'END'
		part,color,qty,condition
		P,red,9,new
		Q,red,9,
		R,red,9,any
	END
	stock <<-'END'
		part,color,qty,condition
		P,red,1,new
		P,red,2,used
		P,red,4,
		Q,red,1,new
		Q,red,2,
		R,red,3,used
	END
	owned --taken taken.csv
	exits 0
	out_is <<-'END'
		part,color,qty,condition
		P,red,8,new
		Q,red,6,
		R,red,6,any
	END
	diff - taken.csv <<-'END'
		stock,place,part,color,condition,qty,lot,group,model
		stock.csv,,P,red,new,1,P/red/new,,
		stock.csv,,Q,red,,2,Q/red,,
		stock.csv,,Q,red,new,1,Q/red,,
		stock.csv,,R,red,used,3,R/red,,
	END
}

@test "as many pieces as the stock can: a greedy first row would leave the second short" {
	need <<-'END'
		part,color,qty,group
		P,any,4,a
		P,red,4,b
	END
	stock <<-'END'
		part,color,qty
		P,red,4
		P,blue,4
	END
	owned
	exits 0
	out_is <<-'END'
		part,color,qty,group
	END
}

@test "more pieces come before less penalty, less penalty before all else" {
	need <<-'END'
		lot,part,color,qty,penalty
		L,P,red,4,0.3
		L,Q,red,4,0.1
		,Q,red,2,
		M,R,red,3,0.2
		M,R,blue,3,
	END
	stock <<-'END'
		part,color,qty
		P,red,9
		Q,red,3
		R,red,3
		R,blue,2
	END
	# Q goes to the plain lot (no penalty) and, what is left of it, to L before P.
	owned --taken taken.csv
	exits 0
	out_is <<-'END'
		lot,part,color,qty,penalty
	END
	diff - taken.csv <<-'END'
		stock,place,part,color,condition,qty,lot,group,model
		stock.csv,,P,red,,3,L,,
		stock.csv,,Q,red,,1,L,,
		stock.csv,,Q,red,,2,Q/red,,
		stock.csv,,R,blue,,2,M,,
		stock.csv,,R,red,,1,M,,
	END
}

@test "lots that fewest stock could fill come first, then any color, then row order" {
	need <<-'END'
		lot,part,color,qty,condition
		hidden,P,any,2,new
		wide,P,red,2,
		narrow,P,red,2,new
		narrow2,P,red,2,new
	END
	stock <<-'END'
		part,color,qty,condition
		P,red,3,new
	END
	# wide could be filled by 3 as the narrow ones: row order decides, hidden is last.
	owned
	out_is <<-'END'
		lot,part,color,qty,condition
		hidden,P,any,2,new
		narrow,P,red,1,new
		narrow2,P,red,2,new
	END
	printf 'P,red,1,used\n' >>stock.csv
	# Now 4 pieces could fill wide, 3 the narrow ones; the used one fits wide alone.
	owned
	out_is <<-'END'
		lot,part,color,qty,condition
		hidden,P,any,2,new
		wide,P,red,1,
		narrow2,P,red,1,new
	END
}

@test "all rows of a lot that is covered in part get what it still needs" {
	need <<-'END'
		lot,part,color,qty,penalty
		L,P,red,10,
		L,P,blue,10,0.1
		L,Q,red,10,0.1
	END
	stock <<-'END'
		part,color,qty
		P,red,2
		Q,red,4
	END
	owned
	out_is <<-'END'
		lot,part,color,qty,penalty
		L,P,red,4,
		L,P,blue,4,0.1
		L,Q,red,4,0.1
	END
}

@test "optional rows get what no must can use" {
	need <<-'END'
		part,color,qty,worth,group
		P,red,4,0.50,later
		P,red,4,,now
		Q,red,3,0.10,later
	END
	stock <<-'END'
		part,color,qty
		P,red,5
		Q,red,2
	END
	owned
	out_is <<-'END'
		part,color,qty,worth,group
		P,red,3,0.50,later
		Q,red,1,0.10,later
	END
}

together_need() {
	need <<-'END'
		lot,part,color,qty,penalty,together
		A,P,red,4,,
		A,P,slate,4,0.1,roof
		B,Q,red,3,,
		B,Q,slate,3,0.1,roof
	END
}

@test "together rows are covered all of them in full" {
	together_need
	stock <<-'END'
		part,color,qty
		P,slate,9
		Q,slate,3
		P,red,1
	END
	owned
	out_is <<-'END'
		lot,part,color,qty,penalty,together
	END
	[ "$(cat "$ERR")" = "" ]
}

@test "together rows are not covered where one would lack a piece; the label stays open" {
	together_need
	stock <<-'END'
		part,color,qty
		P,slate,9
		Q,slate,2
	END
	owned
	out_is <need.csv
}

@test "a label is ruled out once stock fills its lots otherwise, and that is told" {
	together_need
	stock <<-'END'
		part,color,qty
		P,slate,9
		Q,red,1
	END
	try lot-owned -k stock.csv <need.csv
	exits 0
	out_is <<-'END'
		lot,part,color,qty,penalty,together
		A,P,red,4,,
		B,Q,red,2,,
	END
	err_is <<-'END'
		lot-owned: together "roof": its rows are left out, since stock fills part of its lots otherwise
		lot-owned: 1 piece from stock, for 1 lot; 2 lots, 6 pieces remain
	END
}

# Five slate pieces are all in or all out of either lot: the stock does for one of them.
either() {
	need <<-END
		lot,part,color,qty,penalty,together,worth
		A,P,red,$1,,,$5
		A,P,slate,$1,$2,roof,$5
		B,P,blue,$3,,,$5
		B,P,slate,$3,$4,wall,$5
	END
	printf 'part,color,qty\nP,slate,5\n' | stock
	owned
	exits 0
}

@test "of two labels that compete, the one with more pieces, then less penalty, then the earlier lot is covered" {
	either 3 0.1 4 0.9
	[ "$(cut -d , -f 1,4 "$OUT" | tr '\n' ' ')" = 'lot,qty A,3 A,3 ' ]
	either 3 0.1 4 0.9 1.50 # optional lots: no piece is a must
	[ "$(cut -d , -f 1,4 "$OUT" | tr '\n' ' ')" = 'lot,qty A,3 A,3 ' ]
	either 4 0.2 4 0.1
	[ "$(cut -d , -f 1,4 "$OUT" | tr '\n' ' ')" = 'lot,qty A,4 A,4 ' ]
	either 4 0.1 4 0.2
	[ "$(cut -d , -f 1,4 "$OUT" | tr '\n' ' ')" = 'lot,qty B,4 B,4 ' ]
	either 4 0.1 4 0.1
	[ "$(cut -d , -f 1,4 "$OUT" | tr '\n' ' ')" = 'lot,qty B,4 B,4 ' ]
}

@test "a label that is no choice binds nothing" {
	need <<-'END'
		part,color,qty,together
		P,red,4,pair
		Q,red,4,pair
	END
	stock <<-'END'
		part,color,qty
		P,red,1
	END
	owned
	out_is <<-'END'
		part,color,qty,together
		P,red,3,pair
		Q,red,4,pair
	END
}

@test "optional rows of a label are covered in full or not at all" {
	need <<-'END'
		part,color,qty,together,worth
		P,red,4,pair,1
		Q,red,4,pair,1
	END
	stock <<-'END'
		part,color,qty
		P,red,4
		Q,red,3
	END
	owned
	out_is <need.csv
	printf 'Q,red,1\n' >>stock.csv
	owned
	out_is <<-'END'
		part,color,qty,together,worth
	END
}

@test "several stocks give in the order given, and --left has the columns of all" {
	need <<-'END'
		part,color,qty
		P,any,5
	END
	printf 'part,color,qty,place\nP,red,3,shelf\nQ,red,1,shelf\n' >shelf.csv
	printf 'qty;COLOR;part;seller\n4;blue;P;North\n' >way.csv
	try lot-owned -q -k way.csv -k shelf.csv --taken taken.csv --left left.csv <need.csv
	exits 0
	out_is <<-'END'
		part,color,qty
	END
	diff - taken.csv <<-'END'
		stock,place,part,color,condition,qty,lot,group,model
		way.csv,North,P,blue,,4,P/any,,
		shelf.csv,shelf,P,red,,1,P/any,,
	END
	diff - left.csv <<-'END'
		qty,COLOR,part,seller,place
		2,red,P,,shelf
		1,red,Q,,shelf
	END
	try lot-owned -q -k shelf.csv -k way.csv --left left.csv <need.csv
	exits 0
	diff - left.csv <<-'END'
		part,color,qty,place,seller
		Q,red,1,shelf,
		P,blue,2,North,North
	END
}

# Counted by hand; lot-owned(1) has it as its example.
@test "on the shelf, arrived, under way: each gives what those before it lack" {
	need <<-'END'
		part,color,qty
		P-1,red,12
		P-2,any,5
	END
	printf 'part,color,qty,place\nP-1,red,4,drawer 2\nP-2,blue,1,drawer 2\n' >shelf.csv
	printf 'part,color,qty,place\nP-1,red,3,box\n' >arrived.csv
	printf 'seller,part,color,qty,price\nAttic,P-1,red,10,0.04\nCounter,P-2,grey,2,0.11\n' >ordered.csv
	try lot-owned -k shelf.csv -k arrived.csv -k ordered.csv --taken taken.csv --left left.csv <need.csv
	exits 0
	out_is <<-'END'
		part,color,qty
		P-2,any,2
	END
	err_is <<-'END'
		lot-owned: 15 pieces from stock, for 2 lots; 1 lot, 2 pieces remain
	END
	diff - taken.csv <<-'END'
		stock,place,part,color,condition,qty,lot,group,model
		shelf.csv,drawer 2,P-1,red,,4,P-1/red,,
		shelf.csv,drawer 2,P-2,blue,,1,P-2/any,,
		arrived.csv,box,P-1,red,,3,P-1/red,,
		ordered.csv,Attic,P-1,red,,5,P-1/red,,
		ordered.csv,Counter,P-2,grey,,2,P-2/any,,
	END
	diff - left.csv <<-'END'
		part,color,qty,place,seller,price
		P-1,red,5,Attic,Attic,0.04
	END
}

@test "an earlier stock goes first, but not at the price of a piece or of a penalty" {
	need <<-'END'
		lot,part,color,qty,penalty
		,P,any,2,
		,P,red,2,
		L,Q,red,1,
		L,R,red,1,0.1
	END
	printf 'part,color,qty\nP,red,2\nR,red,1\n' >shelf.csv
	printf 'seller,part,color,qty,price\nA,P,blue,2,1\nA,Q,red,1,1\n' >ordered.csv
	try lot-owned -q -k shelf.csv -k ordered.csv --taken taken.csv <need.csv
	exits 0
	out_is <<-'END'
		lot,part,color,qty,penalty
	END
	diff - taken.csv <<-'END'
		stock,place,part,color,condition,qty,lot,group,model
		shelf.csv,,P,red,,2,P/red,,
		ordered.csv,A,P,blue,,2,P/any,,
		ordered.csv,A,Q,red,,1,L,,
	END
}

@test "order lines as stock: the surplus counts, those of stock in use do not, no amount is untrue" {
	need <<-'END'
		part,color,qty
		P,red,8
		Q,red,3
	END
	cat >ordered.csv <<-'END'
		seller,route,class,lot,part,color,condition,qty,price,currency,amount,surplus,grams,listing,code
		A,market,,P/red,P,red,new,6,0.5,EUR,3,2,1.5,,x1
		B,market,,P/red,P,red,,4,0.6,EUR,2.4,1,,,x2
		B,market,,S/red,S,red,,4,0.6,EUR,2.4,4,,,x3
		owned,owned,,Q/red,Q,red,,3,0,EUR,0,0,,,
	END
	try lot-owned -k ordered.csv --taken taken.csv --left left.csv <need.csv
	exits 0
	out_is <<-'END'
		part,color,qty
		Q,red,3
	END
	err_is <<-'END'
		lot-owned: 3 pieces in order lines of seller owned: left out, they are pieces of other stock
		lot-owned: 8 pieces from stock, for 1 lot; 1 lot, 3 pieces remain
	END
	diff - taken.csv <<-'END'
		stock,place,part,color,condition,qty,lot,group,model
		ordered.csv,B,P,red,,4,P/red,,
		ordered.csv,A,P,red,new,4,P/red,,
	END
	diff - left.csv <<-'END'
		seller,route,class,lot,part,color,condition,qty,price,currency,amount,surplus,grams,listing,code
		A,market,,P/red,P,red,new,2,0.5,EUR,,,1.5,,x1
		B,market,,S/red,S,red,,4,0.6,EUR,2.4,4,,,x3
	END
	try lot-total -q <left.csv
	exits 0
	out_has 'B,market,1,4,EUR,2.40'
	try lot-owned -q -k ordered.csv <need.csv
	exits 0
	err_is_empty
}

@test "order lines that are wrong as stock are told as stock is" {
	printf 'part,color,qty\nP,red,1\n' >need.csv
	bad_stock 'seller,part,color,qty\nowned,P,red,x\n' 'stock.csv:2: qty "x"'
	bad_stock 'seller,Seller,part,color,qty\nA,B,P,red,1\n' 'two columns are named "seller"'
}

@test "stock rows in another order give the same bytes" {
	need <<-'END'
		lot,part,color,qty,penalty
		,P,any,7,
		L,P,red,4,
		L,P,blue,4,
		,P,red,2,
	END
	{
		printf 'part,color,qty,place,tag\n'
		for place in d b a c; do
			printf 'P,%s,2,%s,%s\n' red $place 1 blue $place 2 green $place 3
		done
	} >stock.csv
	owned --taken taken.csv --left left.csv
	exits 0
	cp "$OUT" first.csv
	mv taken.csv taken-first.csv
	mv left.csv left-first.csv
	{
		head -n 1 stock.csv
		sed 1d stock.csv | sort -r -t, -k4,4 -k2,2
	} >shuffled.csv
	mv shuffled.csv stock.csv
	owned --taken taken.csv --left left.csv
	out_is <first.csv
	cmp taken.csv taken-first.csv
	cmp left.csv left-first.csv
}

@test "drawn cases are covered as the best of all covers, found by trying all" {
	try python3 "$TESTS/oracle/cover.py" 150 11
	exits 0
}

@test "a demo-sized need of any colors adds up: nothing is lost, nothing counted twice" {
	{
		printf 'part,color,qty,not_color\n'
		for i in $(seq 60); do
			printf 'P%s,%s,%s,\n' $((i % 20)) "$([ $((i % 3)) -eq 0 ] && echo any || echo "c$((i % 4))")" \
				$((i * 7 % 23 + 1))
		done
	} >need.csv
	{
		printf 'part,color,qty,place\n'
		for i in $(seq 200); do
			printf 'P%s,c%s,%s,b%s\n' $((i % 25)) $((i % 5)) $((i * 3 % 11)) $((i % 9))
		done
	} >stock.csv
	owned --taken taken.csv --left left.csv
	exits 0
	sum() {
		awk -F, -v col="$2" 'NR == 1 { for (i = 1; i <= NF; i++) if ($i == col) at = i; next }
			{ n += $at } END { print n + 0 }' "$1"
	}
	[ "$(sum need.csv qty)" -eq $(($(sum "$OUT" qty) + $(sum taken.csv qty))) ]
	[ "$(sum stock.csv qty)" -eq $(($(sum left.csv qty) + $(sum taken.csv qty))) ]
	[ "$(sum taken.csv qty)" -gt 0 ]
}

@test "header only, on either side" {
	printf 'part,color,qty\n' >need.csv
	printf 'part,color,qty\nP,red,1\n' >stock.csv
	owned --left left.csv
	exits 0
	out_is <need.csv
	cmp left.csv stock.csv
	printf 'part,color,qty\n' >stock.csv
	printf 'part,color,qty\nP,red,1\n' >need.csv
	owned --taken taken.csv
	exits 0
	out_is <need.csv
	[ "$(wc -l <taken.csv)" -eq 1 ]
}

# A fault of the stock file: what it holds, and what is said of it.
bad_stock() {
	printf '%b' "$1" >stock.csv
	printf 'part,color,qty\nP,red,1\n' >need.csv
	rm -f left.csv
	owned --left left.csv
	refused "$2"
	err_lines 1
	[ ! -e left.csv ]
}

@test "what is wrong with the stock is told with file and line" {
	bad_stock '' 'lot-owned: stock.csv: no header line'
	bad_stock 'part,qty\n' 'lot-owned: stock.csv:1: no column "color": there are part, qty'
	bad_stock 'part,color,qty,Place,place\n' 'stock.csv:1: two columns are named "place"'
	bad_stock 'part,color,qty\nP,red,-1\n' 'lot-owned: stock.csv:2: qty "-1"'
	bad_stock 'part,color,qty\nP,red,12x\n' 'lot-owned: stock.csv:2: qty "12x" is no number'
	bad_stock 'part,color,qty\nP,red,0.5\n' 'stock.csv:2: qty "0.5"'
	bad_stock 'part,color,qty\nP,red,1000000000\n' 'stock.csv:2: qty "1000000000"'
	bad_stock 'part,color,qty\nP,red,lots\n' 'stock.csv:2: qty "lots"'
	bad_stock 'part,color,qty\n,red,1\n' 'stock.csv:2: part is empty'
	bad_stock 'part,color,qty,grams\nP,red,1,0.1234567\n' 'stock.csv:2: grams "0.1234567"'
	bad_stock 'part,color,qty\n"P\nQ",red,1\nP,red,1,2\n' 'stock.csv:4: 4 fields'
}

@test "what is wrong with the need is told, and a not_color that never ends" {
	printf 'part,color,qty\n%s,x,1\nP,%s,1\n' Q "$(printf 'a%.0s' $(seq 40))" >stock.csv
	printf 'part,color,qty,not_color\nP,any,1,(\n' >need.csv
	owned
	refused 'lot-owned: <stdin>:2: not_color "(" is no PCRE2 pattern'
	printf 'part,color,qty,not_color\nP,any,1,(a|a)+[bc]\n' >need.csv
	owned
	refused 'lot-owned: <stdin>:2: not_color "(a|a)+[bc]" on color "aaaa'
	err_has 'match limit'
	printf 'lot,part,color,qty\nL,P,red,1\nL,Q,red,2\n' >need.csv
	owned
	refused 'lot-owned: <stdin>:3: qty of lot "L" is not that of line 2'
}

@test "--delimiter and --encoding are of the need list" {
	printf 'part:color:qty\nP:gr\xfcn:5\n' >need.csv
	printf 'part,color,qty\nP,grün,2\n' | stock
	owned -D : --encoding ISO-8859-1
	exits 0
	out_is <<<$'part,color,qty\nP,grün,3'
	printf 'lot,model,part,color,qty\nL,mill,P,red,1\nL,barn,Q,red,1\n' | need
	owned
	refused 'lot-owned: <stdin>:3: model of lot "L" is not that of line 2'
}

@test "usage: options, files and outputs that cannot be" {
	printf 'part,color,qty\nP,red,1\n' | tee need.csv >stock.csv
	try lot-owned <need.csv
	refused 'no stock: -k FILE'
	owned -k stock.csv
	refused 'stock stock.csv is given twice'
	owned --left a.csv --left b.csv
	refused 'option --left is given twice'
	owned --taken a.csv --left a.csv
	refused 'a.csv'
	owned -k -
	refused 'stdin'
	owned -k missing.csv
	refused 'lot-owned: missing.csv: No such file'
	owned --left no/such/dir.csv
	refused 'no/such/dir.csv'
	owned --taken /dev/full
	refused '/dev/full'
	owned need.csv
	refused 'no operands'
	owned --what
	refused '--what'
	status=0
	lot-owned -q -k stock.csv <need.csv 2>err >/dev/full || status=$?
	[ "$status" -eq 2 ]
	grep -q '<stdout>' err
}

@test "help and version" {
	try lot-owned --help
	exits 0
	out_has 'usage: lot-owned'
	try lot-owned --version
	exits 0
	out_has 'lot-owned '
}
