#!/usr/bin/env bats
# lot-deal: one file per seller, and an index. Figures are counted by hand; sellers and prices are
# invented.

load lib

orders() {
	cat >orders.csv
}

# deal [OPTION...]: the order lines into the directory out.
deal() {
	try lot-deal -q -d out "$@" <orders.csv
}

# named NAME...: order lines of sellers with these names, dealt.
named() {
	printf '%s\n' "$@" | python3 -c 'import csv, sys
names = sys.stdin.read().split("\n")[:-1]
out = csv.writer(sys.stdout, lineterminator="\n")
out.writerow(["seller", "part", "color", "qty", "price"])
out.writerows([name.replace("\\n", "\n"), "P", "red", 1, "0.1"] for name in names)' >orders.csv
	deal
}

# files: the index as `name file`, one a line.
files() {
	python3 -c 'import csv
for row in csv.DictReader(open("out/index.csv", newline="")):
    print(repr(row["seller"])[1:-1], row["file"])'
}

two_sellers() {
	orders <<-'END'
		seller,route,class,lot,part,color,condition,qty,price,currency,amount,surplus,grams,listing
		Counter,direct,made,P-330/brown,P-330,brown,new,2,0.41,EUR,0.82,0,3,
		Attic,market,,wall,P-104,red,used,20,0.06,GBP,1.2,0,1.6,k1
		Attic,market,,P-104/red,P-104,red,used,5,0.060,GBP,,2,1.60,k1
		Attic,market,,P-104/red,P-104,red,used,1,0.06,GBP,0.06,0,1.6,
		Attic,market,,P-201/grey,P-201,grey,new,3,0.025,GBP,0.075,0,,
	END
}

@test "a file a seller and an index; lines of one offer are joined" {
	two_sellers
	try lot-deal -d out <orders.csv
	exits 0
	out_is_empty
	err_is <<<'lot-deal: 2 files in out, by seller: 3 lots, 31 pieces'
	[ "$(ls -A out)" = "$(printf '%s\n' Attic.csv Counter.csv index.csv)" ]
	diff - out/index.csv <<-'END'
		seller,file,lots,pieces,goods,currency
		Attic,Attic.csv,2,29,1.635,GBP
		Counter,Counter.csv,1,2,0.82,EUR
	END
	# 20 and 5 of listing k1 are one offer, the sixth has none
	diff - out/Attic.csv <<-'END'
		seller,route,class,lot,part,color,condition,qty,price,currency,amount,surplus,grams,listing
		Attic,market,,P-104/red,P-104,red,used,1,0.06,GBP,0.06,0,1.6,
		Attic,market,,P-104/red|wall,P-104,red,used,25,0.06,GBP,1.5,2,1.6,k1
		Attic,market,,P-201/grey,P-201,grey,new,3,0.025,GBP,0.075,0,,
	END
	diff - out/Counter.csv <<-'END'
		seller,route,class,lot,part,color,condition,qty,price,currency,amount,surplus,grams,listing
		Counter,direct,made,P-330/brown,P-330,brown,new,2,0.41,EUR,0.82,0,3,
	END
}

@test "what differs in a carried column, a state or a price is no one offer" {
	orders <<-'END'
		seller,lot,part,color,qty,price,state,code
		A,x,P,red,1,0.1,paid,1
		A,y,P,red,2,0.1,open,1
		A,z,P,red,3,0.1,open,2
		A,u,P,red,4,0.2,open,1
		A,v,P,red,5,0.2,open,1
	END
	deal
	exits 0
	diff - out/A.csv <<-'END'
		seller,lot,part,color,qty,price,state,code
		A,y,P,red,2,0.1,open,1
		A,z,P,red,3,0.1,open,2
		A,x,P,red,1,0.1,paid,1
		A,u|v,P,red,9,0.2,open,1
	END
	diff - out/index.csv <<<$'seller,file,lots,pieces,goods\nA,A.csv,1,15,2.4'
}

@test "--by model and group: shares into bags, stock in use and surplus too" {
	cat >shares.csv <<-'END'
		model,group,lot,part,color,condition,qty,seller,amount
		mill,wall,P/red,P,red,,20,Attic,1.2
		mill,roof,P/red,P,red,,10,Attic,0.6
		mill,wall,Q/red,Q,red,,4,owned,0
		mill,wall,P/red#2,P,red,,1,Attic,0.06
		mill,wall,P/red,P,red,,2,Attic,0.16
		barn,,P/red,P,red,,3,Attic,0.18
		,,,P,red,,2,Attic,0.12
	END
	try lot-deal -d bags --by model <shares.csv
	exits 0
	err_is <<<'lot-deal: 3 files in bags, by model: 4 lots, 42 pieces'
	diff - bags/index.csv <<-'END'
		model,file,lots,pieces,goods
		,_.csv,1,2,0.12
		barn,barn.csv,1,3,0.18
		mill,mill.csv,2,37,2.02
	END
	# walls at 0.06 are one offer, those at 0.08 another
	diff - bags/mill.csv <<-'END'
		model,group,lot,part,color,condition,qty,seller,amount
		mill,roof,P/red,P,red,,10,Attic,0.6
		mill,wall,P/red|P/red#2,P,red,,21,Attic,1.26
		mill,wall,P/red,P,red,,2,Attic,0.16
		mill,wall,Q/red,Q,red,,4,owned,0
	END
	try lot-deal -q -d groups --by group <shares.csv
	diff - groups/index.csv <<-'END'
		group,file,lots,pieces,goods
		,_.csv,1,5,0.3
		roof,roof.csv,1,10,0.6
		wall,wall.csv,2,27,1.42
	END
	# by seller, models and groups are what lines are bought for
	try lot-deal -d sellers <shares.csv
	err_has '4 pieces of stock in use are left out'
	diff - sellers/Attic.csv <<-'END'
		model,group,lot,part,color,condition,qty,seller,amount
		barn|mill,roof|wall,P/red|P/red#2,P,red,,36,Attic,2.16
		mill,wall,P/red,P,red,,2,Attic,0.16
	END
}

@test "a need list by group: its rows stay as they are" {
	orders <<-'END'
		lot,part,color,qty,group,note
		L,P,red,4,roof,a
		M,P,red,4,roof,a
		,P,red,4,wall,
	END
	deal --by Group
	exits 0
	diff - out/index.csv <<-'END'
		Group,file,lots,pieces,goods
		roof,roof.csv,1,8,
		wall,wall.csv,1,4,
	END
	diff - out/roof.csv <<-'END'
		lot,part,color,qty,group,note
		L,P,red,4,roof,a
		M,P,red,4,roof,a
	END
}

@test "goods are exact; several currencies: none by model, a fault by seller" {
	orders <<-'END'
		seller,model,part,color,qty,price,currency
		A,m,P,red,999999999,9000.000001,EUR
		A,m,Q,red,999999999,0.000001,EUR
		B,m,P,red,1,1,SEK
	END
	deal
	exits 0
	# 999999999 x 9000.000002
	grep -q '^A,A.csv,2,1999999998,8999999992999.999998,EUR$' out/index.csv
	try lot-deal -d models --by model <orders.csv
	exits 0
	err_has 'model "m" has lines in several currencies: its goods have no sum'
	diff - models/index.csv <<<$'model,file,lots,pieces,goods,currency\nm,m.csv,2,1999999999,,'
	sed -i 's/^B/A/' orders.csv
	deal
	refused '<stdin>:2: seller "A" is paid in "EUR" here and in "SEK" elsewhere'
}

@test "names of sellers become safe names of files" {
	# Sources: POSIX.1-2017, 3.282, portable filename character set; Microsoft, "Naming Files, Paths,
	# and Namespaces": CON, PRN, AUX, NUL, COM0 to COM9, LPT0 to LPT9 are devices, whatever follows.
	long=$(printf 'x%.0s' $(seq 300))
	named . .. -rf CON com1 nul LPT9 COM10 index INDEX 'Grå Låda' 'ブロック' ../../etc/passwd /abs 'a\nb' \
		$'tab\tbell\a' 'a.csv' 'C:\dir' '*?' "$long" "${long}y" '~' "\$(touch x)" --force
	exits 0
	files | sed 's/xxx*/xx/g' | sort >found
	sort >due <<-'END'
		$(touch x) _touch_x_.csv
		*? _.csv
		--force _-force.csv
		-rf _rf.csv
		. _-2.csv
		.. _-3.csv
		../../etc/passwd _etc_passwd.csv
		/abs _abs.csv
		C:\\dir C_dir.csv
		COM10 COM10.csv
		CON CON_.csv
		Grå Låda Gr_L_da.csv
		INDEX INDEX_.csv
		LPT9 LPT9_.csv
		a.csv a_csv.csv
		a\nb a_b.csv
		com1 com1_.csv
		index index_-2.csv
		nul nul_.csv
		tab\tbell\x07 tab_bell_.csv
		xx xx.csv
		xxy xx-2.csv
		~ _-4.csv
		ブロック _-5.csv
	END
	diff due found
	# one file each, the index, and nothing anywhere else
	[ "$(find out -type f | wc -l)" -eq 25 ]
	[ "$(ls -A)" = "$(printf '%s\n' due found orders.csv out)" ]
	[ -z "$(find out -name '*[!A-Za-z0-9._-]*' -o -name '-*' -o -name '?????????????????????????????????????????????????????????????????????*')" ]
	# each file has the lines of its own seller
	python3 - <<-'END'
		import csv
		for row in csv.DictReader(open("out/index.csv", newline="")):
		    lines = list(csv.DictReader(open("out/" + row["file"], newline="")))
		    assert [line["seller"] for line in lines] == [row["seller"]], row
	END
}

@test "names that differ in letter case alone are numbered; a name that is safe as it is keeps itself" {
	named attic Attic ATTIC attic-2 'at tic' at_tic
	exits 0
	files >found
	diff - found <<-'END'
		ATTIC ATTIC.csv
		Attic Attic-3.csv
		at tic at_tic-2.csv
		at_tic at_tic.csv
		attic attic-4.csv
		attic-2 attic-2.csv
	END
	[ "$(find out -type f | tr '[:upper:]' '[:lower:]' | sort -u | wc -l)" -eq 7 ]
}

@test "rows in another order give the same bytes, run again too" {
	two_sellers
	deal
	cp -r out first
	for seed in 1 2 3 4 5; do
		{
			head -n 1 orders.csv
			sed 1d orders.csv | python3 -c 'import random, sys
rows = sys.stdin.readlines()
random.Random(int(sys.argv[1])).shuffle(rows)
sys.stdout.writelines(rows)' $seed
		} >shuffled.csv
		mv shuffled.csv orders.csv
		deal
		exits 0
		diff -r first out
	done
}

# ---- a directory that is there

@test "an earlier run's files are replaced, those of sellers that are gone are removed" {
	two_sellers
	deal
	echo mine >out/notes.txt
	orders <<-'END'
		seller,part,color,qty,price,currency
		Barn,P,red,3,0.1,EUR
		Attic,P,red,3,0.1,EUR
	END
	try lot-deal -d out <orders.csv
	exits 0
	err_is <<-'END'
		lot-deal: out: Counter.csv of an earlier run is removed, nothing goes there any more
		lot-deal: 2 files in out, by seller: 2 lots, 6 pieces
	END
	[ "$(ls -A out)" = "$(printf '%s\n' Attic.csv Barn.csv index.csv notes.txt)" ]
	diff - out/index.csv <<-'END'
		seller,file,lots,pieces,goods,currency
		Attic,Attic.csv,1,3,0.3,EUR
		Barn,Barn.csv,1,3,0.3,EUR
	END
	grep -q mine out/notes.txt
	# a header alone: nothing goes to anybody
	orders <<<'seller,part,color,qty,price'
	deal
	exits 0
	[ "$(ls -A out)" = "$(printf '%s\n' index.csv notes.txt)" ]
	diff - out/index.csv <<<'seller,file,lots,pieces,goods'
}

@test "a file that is not of an earlier run is replaced by --force alone" {
	two_sellers
	mkdir out
	echo mine >out/Attic.csv
	echo mine >out/Counter.csv
	cp -r out before
	deal
	refused 'lot-deal: out: Attic.csv is there already, and not of an earlier run'
	err_has 'lot-deal: out: Counter.csv is there already'
	diff -r before out
	deal --force
	exits 0
	grep -q 'P-330' out/Counter.csv
	# and is of an earlier run then
	sed -i '/Counter/d' orders.csv
	deal
	exits 0
	[ ! -e out/Counter.csv ]
}

@test "a file that was changed is replaced by --force alone, and never removed" {
	two_sellers
	deal
	sed -i 's/,20,/,21,/; s/,25,/,26,/; s/1\.5,/1.56,/' out/Attic.csv
	echo x >>out/Counter.csv
	cp -r out before
	sed -i 's/,3,0.025,GBP,0.075/,4,0.025,GBP,0.1/; /Counter/d' orders.csv
	deal
	refused 'out: Attic.csv was changed since an earlier run wrote it'
	diff -r before out
	deal --force
	exits 0
	err_has 'Counter.csv was changed since an earlier run wrote it, and stays, though nothing is left of seller "Counter"'
	cmp before/Counter.csv out/Counter.csv
	grep -q '^Attic,Attic.csv,2,30,1.66,GBP$' out/index.csv
}

@test "files that are what would be written are left as they are, whoever wrote them" {
	two_sellers
	deal
	rm out/index.csv
	touch -d 2020-01-01 out/Attic.csv
	deal
	exits 0
	[ -e out/index.csv ]
	[ "$(stat -c %Y out/Attic.csv)" -eq "$(date -d 2020-01-01 +%s)" ]
}

# An index.csv of somebody else, and what it says of the files beside it.
foreign_index() {
	rm -rf out
	mkdir out
	printf '%b' "$1" >out/index.csv
	cp "$2" out/Attic.csv
	cp -r out before
	deal
	refused "$3"
	diff -r before out
	rm -rf before
}

@test "an index that is no index of an earlier run vouches for nothing" {
	two_sellers
	deal
	cp out/Attic.csv earlier.csv
	sed -i '1,/Counter/!s/,3,0.025,GBP,0.075/,4,0.025,GBP,0.1/' orders.csv
	foreign_index 'page,title\n1,x\n' earlier.csv 'index.csv is there already, and not of an earlier run'
	err_has 'Attic.csv is there already'
	foreign_index 'seller,file,lots,pieces,goods,money\n"Attic",Attic.csv,2,29,1.635,GBP\n' earlier.csv 'index.csv is there already, and not of an earlier run'
	foreign_index '' earlier.csv 'index.csv is there already'
	foreign_index '\0377\0376\0000' earlier.csv 'index.csv is there already'
	foreign_index 'seller,file,lots,pieces,goods\n"Attic,Attic.csv,2,29,1.635\n' earlier.csv \
		'index.csv is there already'
	foreign_index 'seller,file,lots,pieces,goods\nAttic,../orders.csv,2,29,1.635\n' earlier.csv \
		'index.csv is there already'
	foreign_index 'seller,file,lots,pieces,goods\nAttic,Attic.csv,2,28,1.635\n' earlier.csv \
		'Attic.csv was changed since an earlier run wrote it'
	foreign_index 'seller,file,lots,pieces,goods\nBarn,Attic.csv,2,29,1.635\n' earlier.csv \
		'Attic.csv was changed since an earlier run wrote it'
	foreign_index 'seller,file,lots,pieces,goods\nAttic,Attic.csv,2,29,1.635\n' /dev/null \
		'Attic.csv was changed since an earlier run wrote it'
	deal --force
	exits 0
	# a name that leads out of the directory is never removed either
	printf 'seller,file,lots,pieces,goods\nx,../orders.csv,1,1,1\n' >out/index.csv
	rm out/[AC]*
	deal --force
	exits 0
	[ -e orders.csv ]
}

@test "links and other things in the directory are never written through" {
	two_sellers
	mkdir out
	echo mine >target
	ln -s ../target out/Attic.csv
	ln -s ../nowhere out/Counter.csv
	deal
	refused 'out: Attic.csv is a link'
	err_has 'out: Counter.csv is a link'
	deal --force
	exits 0
	grep -q mine target
	[ ! -e nowhere ]
	[ ! -L out/Attic.csv ] && [ ! -L out/Counter.csv ]
	rm out/Attic.csv out/index.csv
	ln -s ../target out/index.csv
	deal
	refused 'out: index.csv is a link'
	rm out/index.csv
	mkdir out/Attic.csv
	mkfifo out/index.csv
	deal --force
	refused 'out: Attic.csv is no file'
	err_has 'out: index.csv is no file'
	grep -q mine target
}

@test "files by another column are not mixed into the directory" {
	two_sellers
	deal
	cp -r out before
	deal --by class
	refused 'out: the files are by seller: name another directory for those by class'
	diff -r before out
	deal --by class --force
	exits 0
	[ "$(ls -A out)" = "$(printf '%s\n' _.csv index.csv made.csv)" ]
}

@test "a directory that is a link is the one it leads to; a part of a path that is missing is told" {
	two_sellers
	mkdir real
	ln -s real out
	deal
	exits 0
	[ -e real/index.csv ] && [ -L out ]
	try lot-deal -q -d no/such <orders.csv
	refused 'lot-deal: no/such: No such file'
	[ ! -e no ]
	touch file
	try lot-deal -q -d file <orders.csv
	refused 'lot-deal: file: Not a directory'
	try lot-deal -q -d new/ <orders.csv
	exits 0
	[ -e new/index.csv ]
}

@test "a failing write leaves what was there, and nothing else" {
	two_sellers
	deal
	cp -r out before
	python3 - <<-'END' >>orders.csv
		for i in range(400):
		    print(f"Large,market,,x,P-{i},red,,1,0.1,EUR,,0,,")
	END
	sed -i 's/P-330/P-331/g' orders.csv
	# a limit on the size of files: 8 blocks of 1024 bytes
	limited() {
		trap '' XFSZ
		ulimit -f 8
		lot-deal -q -d "$1" <orders.csv
	}
	try limited out
	refused 'lot-deal: out/Large.csv: File too large'
	diff -r before out
	try limited fresh
	refused 'lot-deal: fresh/Large.csv: File too large'
	[ ! -e fresh ]
}

@test "a directory that may not be written is told" {
	[ "$(id -u)" -ne 0 ] || skip "root may write anywhere"
	two_sellers
	mkdir out
	chmod a-w out
	deal
	refused 'lot-deal: out: Permission denied'
	[ -z "$(ls -A out)" ]
	chmod u+w out
}

@test "the files are order lines: each totals and checks as it would among all" {
	two_sellers
	printf 'seller,route,currency\n*,market,\n' >sellers.csv
	printf 'from,to,rate\nGBP,EUR,1.168\n' >rates.csv
	deal
	lot-total -q -C EUR -s sellers.csv -x rates.csv <orders.csv | sort >due
	for file in Attic Counter; do
		lot-total -q -C EUR -s sellers.csv -x rates.csv <out/$file.csv
	done | sort -u | grep -v ^TOTAL >found
	grep -v ^TOTAL due | diff - found
	try lot-check -e orders.csv < <(cat out/Attic.csv && sed 1d out/Counter.csv)
	exits 0
}

@test "no piece and no amount is lost: drawn orders, counted apart" {
	python3 - <<-'END' >orders.csv
		import csv, random, sys
		dice = random.Random(3)
		out = csv.writer(sys.stdout, lineterminator="\n")
		out.writerow("seller,lot,part,color,condition,qty,price,currency,surplus,listing".split(","))
		for i in range(500):
		    qty = dice.randint(0, 9)
		    out.writerow([dice.choice(["Ä", "B b", "B_b", "c,", 'd"']), f"l{dice.randint(1, 9)}",
		                  f"P{dice.randint(1, 12)}", dice.choice(["red", "blue"]), dice.choice(["", "new"]), qty,
		                  dice.choice(["0.1", "0.10", "0.123456"]), "EUR", dice.randint(0, qty),
		                  dice.choice(["", "k"])])
	END
	deal
	exits 0
	python3 - <<-'END'
		import csv, collections
		from fractions import Fraction
		def read(path):
		    return list(csv.DictReader(open(path, newline="")))
		def offers(rows):
		    sums = collections.defaultdict(lambda: [0, 0, set()])
		    for row in rows:
		        key = (row["seller"], row["part"], row["color"], row["condition"], Fraction(row["price"]),
		               row["listing"])
		        if int(row["qty"]):
		            sums[key][0] += int(row["qty"])
		            sums[key][1] += int(row["surplus"])
		            sums[key][2] |= set(row["lot"].split("|"))
		    return dict(sums)
		index = read("out/index.csv")
		assert [row["seller"] for row in index] == ["B b", "B_b", "c,", 'd"', "Ä"]
		dealt = []
		for row in index:
		    lines = read("out/" + row["file"])
		    assert {line["seller"] for line in lines} == {row["seller"]}
		    assert len(lines) == len(offers(lines))
		    assert int(row["pieces"]) == sum(int(line["qty"]) for line in lines)
		    assert Fraction(row["goods"]) == sum(int(line["qty"]) * Fraction(line["price"]) for line in lines)
		    assert int(row["lots"]) == len({(l["part"], l["color"], l["condition"]) for l in lines})
		    dealt += lines
		assert offers(dealt) == offers(read("orders.csv"))
	END
}

# ---- what is wrong

# bad TEXT MESSAGE [OPTION...]: order lines that are refused, and no directory made for them.
bad() {
	printf '%b' "$1" >orders.csv
	deal "${@:3}"
	refused "$2"
	[ ! -e out ]
}

@test "what is wrong with the lines is told with file and line, and nothing is made" {
	bad '' 'lot-deal: <stdin>: no header line'
	bad 'part,color,qty\nP,red,1\n' '<stdin>:1: no column "seller": there are part, color, qty'
	bad 'seller,part,qty\n' '<stdin>:1: no column "color"'
	bad 'seller,Seller,part,color,qty\n' '<stdin>:1: two columns are named "seller"'
	bad 'seller,part,color,qty\n,P,red,1\n' '<stdin>:2: seller is empty'
	bad 'seller,part,color,qty\nTOTAL,P,red,1\n' '<stdin>:2: a seller may not be named "TOTAL"'
	bad 'seller,part,color,qty\nA,,red,1\n' '<stdin>:2: part is empty'
	bad 'seller,part,color,qty\nA,P,,1\n' '<stdin>:2: color is empty'
	bad 'seller,part,color,qty\nA,P,red,-1\n' '<stdin>:2: qty "-1"'
	bad 'seller,part,color,qty,price\nA,P,red,1,x\n' '<stdin>:2: price "x"'
	bad 'seller,part,color,qty,price,amount\nA,P,red,2,0.1,0.3\n' \
		'<stdin>:2: amount "0.3" is not qty x price: 0.2'
	bad 'seller,part,color,qty,currency\nA,P,red,2,XXY\n' '<stdin>:2: currency "XXY" is no currency code'
	bad 'seller,part,color,qty,surplus\nA,P,red,2,x\n' '<stdin>:2: surplus "x"'
	bad 'seller,part,color,qty\nA,P,red,999999999\nA,P,red,1\n' \
		'lines of P, red together have 1000000000 pieces'
	bad 'seller,part,color,qty\nA,P,red,1,2\n' '<stdin>:2: 5 fields'
	bad 'seller,part,color,qty\nA,P,red,1\n' '<stdin>:1: no column "model"' --by model
}

@test "usage: options that cannot be" {
	orders <<<$'seller,part,color,qty\nA,P,red,1'
	try lot-deal <orders.csv
	refused 'no directory for the files: -d DIR'
	try lot-deal -d '' <orders.csv
	refused 'no directory for the files: -d DIR'
	deal -d out
	refused 'option --dir is given twice'
	deal --by qty
	refused '--by: "qty" is counted'
	deal --by File
	refused '--by: "file" is counted, or told of a file'
	deal --by ''
	refused '--by: name a column'
	deal orders.csv
	refused 'no operands'
	[ ! -e out ]
}

@test "--delimiter and --encoding are of the order lines" {
	printf 'seller:part:color:qty:price\nGr\xe5:P:red:2:0.5\n' >orders.csv
	deal -D : --encoding ISO-8859-1
	exits 0
	diff - out/index.csv <<-'END'
		seller,file,lots,pieces,goods
		Grå,Gr_.csv,1,2,1
	END
}

@test "help and version" {
	try lot-deal --help
	exits 0
	out_has 'usage: lot-deal'
	try lot-deal --version
	exits 0
	out_has 'lot-deal '
}

@test "the example of the manual page" {
	orders <<-'END'
		seller,lot,part,color,qty,price,currency,surplus
		Attic,wall,P-104,red,20,0.06,GBP,0
		Attic,P-104/red,P-104,red,5,0.06,GBP,2
		Counter,P-330/brown,P-330,brown,2,0.41,EUR,0
	END
	try lot-deal -d to-send <orders.csv
	err_is <<<'lot-deal: 2 files in to-send, by seller: 2 lots, 27 pieces'
	diff - to-send/index.csv <<-'END'
		seller,file,lots,pieces,goods,currency
		Attic,Attic.csv,1,25,1.5,GBP
		Counter,Counter.csv,1,2,0.82,EUR
	END
	diff - to-send/Attic.csv <<-'END'
		seller,lot,part,color,qty,price,currency,surplus
		Attic,P-104/red|wall,P-104,red,25,0.06,GBP,2
	END
}
