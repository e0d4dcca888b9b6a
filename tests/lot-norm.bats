#!/usr/bin/env bats
# shellcheck disable=SC2016 # patterns and names hold dollar signs
# shellcheck disable=SC2030,SC2031 # bats runs every test in a subshell of its own
# lot-norm, on literal lists. All parts, colors and sellers are invented.

load lib

# -- kinds of list, options ------------------------------------------------------------------

@test "need is the kind of list unless another is named" {
	try lot-norm <<-'END'
		part,color,qty
		B-204,slate,12
	END
	exits 0
	out_is <<-'END'
		part,color,qty
		B-204,slate,12
	END
	err_is <<-'END'
		lot-norm: 1 lot, 12 pieces
	END
}

@test "the summary of offers counts offers and sellers, that of stock lots and pieces" {
	try lot-norm offers <<-'END'
		seller,part,color,qty,price
		Nine,B-204,slate,12,0.10
		Nine,B-101,slate,,0.05
		Ten,B-204,slate,3,0.11
	END
	exits 0
	err_is <<<'lot-norm: 3 offers, 2 sellers'
	try lot-norm stock <<-'END'
		part,color,qty
		B-204,slate,12
		B-101,slate,3
	END
	exits 0
	err_is <<<'lot-norm: 2 lots, 15 pieces'
}

@test "rows of one named lot count as one lot" {
	try lot-norm <<-'END'
		part,color,qty,lot
		B-204,slate,12,roof
		B-205,slate,12,roof
		B-101,slate,3,
	END
	err_is <<<'lot-norm: 2 lots, 15 pieces'
}

@test "-q leaves out the summary" {
	try lot-norm -q <<-'END'
		part,color,qty
		B-204,slate,12
	END
	exits 0
	err_is_empty
}

@test "--help tells the options and exits 0, --version the version" {
	try lot-norm --help
	exits 0
	out_has 'usage: lot-norm [options] [need|stock|offers]'
	for option in --delimiter --encoding --map --names --codes --decimal --only --except \
		--keep-rows --rejects --quiet --version; do
		out_has "$option"
	done
	try lot-norm -V
	exits 0
	grep -Eqx 'lot-norm [0-9]+\.[0-9]+\.[0-9]+' "$OUT"
}

@test "an unknown option, one given twice, one without its value" {
	try lot-norm --frobnicate </dev/null
	refused 'unknown or ambiguous option --frobnicate'
	try lot-norm -Z </dev/null
	refused 'unknown option -Z'
	for option in -q '-D ;' '--model a' '-m a.csv' '--codes a.csv' '--decimal comma' \
		'--only part=x' '--except part=x' --keep-rows '--rejects r.csv' '--unknown u.csv' '--encoding latin1'; do
		# shellcheck disable=SC2086
		try lot-norm $option $option </dev/null
		refused 'is given twice'
	done
	try lot-norm --map
	refused 'option --map needs a value'
}

@test "another kind of list, two kinds, another decimal mark, a long delimiter" {
	try lot-norm parts </dev/null
	refused 'parts: No such file'
	try lot-norm need stock </dev/null
	refused 'one kind of list at a time'
	err_has 'a file of that name is ./stock'
	try lot-norm --decimal semicolon </dev/null
	refused '--decimal is point or comma'
	try lot-norm -D ';;' </dev/null
	refused 'a delimiter is one byte of ASCII'
}

@test "a missing file is told, stdin is not read twice" {
	for option in -m -n --codes; do
		try lot-norm "$option" nowhere.csv </dev/null
		refused 'nowhere.csv: No such file or directory'
		try lot-norm "$option" - </dev/null
		refused 'stdin is already an input'
	done
}

# -- models ----------------------------------------------------------------------------------

@test "--model names the model of each row, in a column of its own that comes first" {
	try lot-norm --model 'Old  mill ' < <(printf 'Bag,Part,Color,Qty\n1,P,red,2\n2,P,red,3\n2,Q,red,1\n')
	exits 0
	out_is <<-'END'
		model,Bag,part,color,qty
		Old mill,1,P,red,5
		Old mill,2,Q,red,1
	END
	err_is <<<'lot-norm: 2 lots, 6 pieces'
	try lot-norm -q --model mill stock < <(printf 'part,color,qty,place\nP,red,2,box\n')
	exits 0
	out_is <<-'END'
		model,part,color,qty,place
		mill,P,red,2,box
	END
	try lot-norm -q --model mill --keep-rows < <(printf 'part,color,qty\n')
	exits 0
	out_is <<<'model,part,color,qty'
	printf 'code,part,color\n17,P,red\n' >codes.csv
	try lot-norm -q --model mill --codes codes.csv < <(printf 'code,qty\n17,3\n')
	exits 0
	out_is <<-'END'
		model,part,color,code,qty
		mill,P,red,17,3
	END
}

@test "--model takes the place of what the list says, after rows are chosen, and tells how often" {
	printf 'part,color,model,qty\nP,red,v1,2\nP,red,v2,3\nP,red,,4\nP,red,mill,1\n' >list.csv
	try lot-norm --model mill <list.csv
	exits 0
	out_is <<-'END'
		part,color,model,qty
		P,red,mill,10
	END
	err_is <<-'END'
		lot-norm: 2 rows named another model than --model, which takes its place
		lot-norm: 1 lot, 10 pieces
	END
	try lot-norm -q --model mill --only model=v2 <list.csv
	exits 0
	err_is_empty
	out_is <<-'END'
		part,color,model,qty
		P,red,mill,3
	END
}

@test "--model: a name that is none, and offers" {
	try lot-norm --model '' </dev/null
	refused '--model: the name is empty'
	try lot-norm --model ' ' </dev/null
	refused '--model: the name is empty'
	try lot-norm --model TOTAL </dev/null
	refused '--model: a model may not be named TOTAL'
	try lot-norm --model $'\xff' </dev/null
	refused '--model: the name is not UTF-8'
	try lot-norm --model mill offers </dev/null
	refused '--model is for need and stock lists'
}

@test "several lists become one: the columns of the first, then those that only others have" {
	printf 'Bag,part,color,qty,model,Shelf\n1,P,red,2,mill,a\n1,P,red,3,mill,a\n2,Q,any,1,mill,b\n' >mill.csv
	printf 'Anzahl;Farbe;Teil;not_color;shelf;bag;Modell\n4;red;P;;c;9;barn\n5;any;Q;clear;d;8;barn\n' >barn.csv
	try lot-norm mill.csv barn.csv
	exits 0
	out_is <<-'END'
		Bag,part,color,qty,model,Shelf,not_color
		1,P,red,5,mill,a,
		2,Q,any,1,mill,b,
		9,P,red,4,barn,c,
		8,Q,any,5,barn,d,clear
	END
	err_is <<<'lot-norm: 4 lots, 15 pieces'
	try lot-norm -q need barn.csv - <mill.csv
	exits 0
	out_is <<-'END'
		qty,color,part,not_color,shelf,bag,model
		4,red,P,,c,9,barn
		5,any,Q,clear,d,8,barn
		5,red,P,,a,1,mill
		1,any,Q,,b,2,mill
	END
	try lot-norm -q stock barn.csv
	exits 0
	out_has 'qty,color,part,not_color,shelf,bag,model'
}

@test "several lists: equal lots of one model are one, and --keep-rows keeps them" {
	printf 'part,color,qty\nP,red,2\n' >bag1.csv
	printf 'color,part,qty\nred,P,3\nblue,P,1\n' >bag2.csv
	try lot-norm -q --model mill bag1.csv bag2.csv
	exits 0
	out_is <<-'END'
		model,part,color,qty
		mill,P,red,5
		mill,P,blue,1
	END
	try lot-norm -q --keep-rows bag1.csv bag2.csv
	exits 0
	out_is <<-'END'
		part,color,qty
		P,red,2
		P,red,3
		P,blue,1
	END
	printf 'seller,part,color,qty,price\nA,P,red,2,1.00 EUR\n' >a.csv
	printf 'seller,part,color,qty,price,class\nA,Q,red,2,2 USD,x\n' >b.csv
	try lot-norm -q offers a.csv b.csv
	refused 'b.csv:2: price "USD" is not the currency of the seller'
	sed -i 's/ USD//' b.csv
	try lot-norm offers a.csv b.csv
	exits 0
	out_is <<-'END'
		seller,part,color,qty,price,class
		A,P,red,2,1,
		A,Q,red,2,2,x
	END
	err_is <<<'lot-norm: 2 offers, 1 seller'
}

@test "several lists: filters, order codes and a header named as a canonical one, in any of them" {
	printf 'part,color,qty\nP,red,2\nQ,red,1\n' >a.csv
	printf 'Item,Part,color,qty,bag\nP,x,red,3,1\nQ,y,red,4,2\n' >b.csv
	printf 'column,pattern\npart,Item\n' >map.csv
	try lot-norm -m map.csv --except bag=2 a.csv b.csv
	exits 0
	out_is <<-'END'
		part,color,qty,Part 2,bag
		P,red,5,,
		Q,red,1,,
	END
	err_has 'b.csv:1: header "Part" is passed on as "Part 2"'
	try lot-norm --only crate=2 a.csv b.csv
	refused 'no column "crate" for --only'
	printf 'code,part,color\n7,P,red\n' >codes.csv
	printf 'code,qty\n7,1\n' >c.csv
	printf 'qty,code,color,part\n2,7,,\n3,,red,P\n' >d.csv
	try lot-norm -q --codes codes.csv c.csv d.csv
	exits 0
	out_is <<-'END'
		part,color,code,qty
		P,red,7,6
	END
	try lot-norm --codes codes.csv c.csv a.csv
	refused 'a.csv:1: no header is known to be the code column'
}

@test "several lists: a model twice, a lot twice, a file twice, and what is wrong in one of them" {
	printf 'part,color,qty,model\nP,red,2,mill\nQ,red,2,\n' >a.csv
	printf 'part,color,qty,model\nR,red,3,barn\nP,red,3,mill\nQ,red,3,mill\nS,red,1,\n' >b.csv
	try lot-norm a.csv b.csv
	refused 'lot-norm: b.csv:3: model "mill" is in a.csv too, a model twice: --model NAME gives a list another'
	err_lines 1
	try lot-norm -q --model all a.csv b.csv
	exits 0
	try lot-norm -q stock a.csv b.csv
	exits 0
	out_has 'P,red,5,mill'
	printf 'lot,part,color,qty\ndoor,P,red,2\ndoor,Q,red,2\n' >c.csv
	printf 'lot,part,color,qty\ndoor,P,red,2\ndoor,Q,red,2\n' >d.csv
	try lot-norm c.csv d.csv
	refused 'd.csv:2: lot "door" is in c.csv too: rows of a lot are alternatives'
	err_lines 1
	printf 'column,pattern,name\nlot,(.+),barn $1\n' >names.csv
	lot-norm -q -n names.csv --model barn <d.csv >barn.csv
	try lot-norm -q c.csv barn.csv
	exits 0
	out_is <<-'END'
		lot,part,color,qty,model
		door,P,red,2,
		door,Q,red,2,
		barn door,P,red,2,barn
		barn door,Q,red,2,barn
	END
	try lot-norm a.csv c.csv a.csv
	refused 'list a.csv is given twice, its rows would count twice'
	try lot-norm a.csv nowhere.csv
	refused 'nowhere.csv: No such file'
	try lot-norm --rejects bad.csv a.csv b.csv
	refused '--rejects is for one list at a time'
	printf 'part,color,qty\nP,red,x\n' >e.csv
	try lot-norm a.csv e.csv
	refused 'lot-norm: e.csv:2: qty "x"'
	printf 'part,color,qty\nP,red,999999999\n' >f.csv
	printf 'part,color,qty\nP,red,1\n' >g.csv
	try lot-norm f.csv g.csv
	refused 'g.csv:2: qty "1" makes the lot of line 2 of f.csv too large'
	try lot-norm --rejects bad.csv e.csv
	exits 1
	grep -q '^P,red,x,2,' bad.csv
}

# -- columns ---------------------------------------------------------------------------------

@test "canonical names take the place of the headers, other columns stay in theirs" {
	try lot-norm <<-'END'
		Bag,Part No.,Shape,Colour,Link,Quantity
		1a,B-204,"block, two by four",slate,x/1,12
	END
	exits 0
	out_is <<-'END'
		Bag,part,Shape,color,Link,qty
		1a,B-204,"block, two by four",slate,x/1,12
	END
}

@test "what is canonical passes unchanged, every column of it" {
	cat >need.csv <<-'END'
		part,color,qty,lot,group,model,condition,not_color,penalty,worth,together,grams,note,bag
		B-204,slate,12,roof,wall,mill,new,clear.*,0.5,1.25,pair,2.31,by  the sea ,1
		B-205,slate,12,roof,wall,mill,,,,1.25,,,,
		B-101,any,3,,,,,"pale, .*",,,,,,
	END
	cat >stock.csv <<-'END'
		part,color,qty,condition,place,grams
		B-101,chalk,9,used,drawer 2,0.43
		B-101,chalk,4,used,drawer 3,0.43
	END
	cat >offers.csv <<-'END'
		seller,part,color,qty,price,condition,class,step,least,listing,grams,currency
		Nine,B-204,slate,12,0.1,new,shelf,2,,L1,2.3,EUR
		Nine,B-204,slate,12,0.09,new,shelf,2,10,L1,2.3,EUR
		Nine,B-204,slate,12,0.09,new,shelf,2,10,L1,2.3,EUR
		Ten,B-101,chalk,,7,,,,,,,
	END
	for kind in need stock offers; do
		try lot-norm "$kind" <"$kind.csv"
		exits 0
		out_is <"$kind.csv"
	done
}

@test "its own output passes unchanged, whatever came in" {
	cat >names.csv <<-'END'
		column,pattern,name
		color,(?i)pa?le?\.? ?green,pale green
	END
	try lot-norm -n names.csv <<-'END'
		Teil;Farbe;Menge;Bemerkung
		B 1 ; Pl. green;x3;"a; b"
		B 1;palegreen;4 Stk.;
		B 2;"Pale  GREEN";1;"say ""hi"""
	END
	exits 0
	out_is <<-'END'
		part,color,qty,Bemerkung
		B 1,pale green,7,a; b
		B 2,pale green,1,"say ""hi"""
	END
	cp "$OUT" once.csv
	try lot-norm -n names.csv <once.csv
	exits 0
	out_is <once.csv
}

@test "header words of several languages, with and without accents" {
	while IFS= read -r header; do
		try lot-norm <<-END
			$header
			B-204;slate;12
		END
		exits 0
		out_is <<-'END'
			part,color,qty
			B-204,slate,12
		END
	done <<-'END'
		Part;Color;Quantity
		PART NUMBER;Colour;Qty.
		item_no;colour name;pcs
		Teil;Farbe;Anzahl
		Teile-Nr.;FARBE;Stück
		Artikelnummer;Farbname;Stueckzahl
		Pièce;Couleur;Quantité
		piece;couleur;quantite
		Article;Coloris;Qté
		Pieza;Color;Cantidad
		Artículo;Color;Cant.
		Pezzo;Colore;Quantità
		Onderdeel;Kleur;Aantal
		Peça;Cor;Quantidade
		Część;Kolor;Ilość
		czesc;kolor;ilosc
		Díl;Barva;Počet
		Del;Färg;Antal
		Varenr;Farve;Antal
		Varenummer;Farge;Antall
		Osa;Väri;Määrä
	END
}

@test "header words for price and seller" {
	while IFS= read -r header; do
		try lot-norm offers --decimal comma <<-END
			$header
			Nine;B-204;slate;12;0,10
		END
		exits 0
		out_is <<-'END'
			seller,part,color,qty,price
			Nine,B-204,slate,12,0.1
		END
	done <<-'END'
		Shop;Item;Colour;Available;Unit price (EUR)
		Verkäufer;Teil;Farbe;Anzahl;Preis
		Haendler;Teil;Farbe;Menge;Einzelpreis €
		Vendeur;Pièce;Couleur;Quantité;Prix unitaire
		Vendedor;Pieza;Color;Unidades;Precio
		Venditore;Pezzo;Colore;Quantità;Prezzo
		Verkoper;Onderdeel;Kleur;Aantal;Prijs per stuk
		Loja;Peça;Cor;Qtd;Preço
		Sprzedawca;Część;Kolor;Ilość;Cena
		Säljare;Del;Färg;Antal;Styckpris
		Myyjä;Osa;Väri;Määrä;Hinta
	END
}

@test "header words of the other columns" {
	try lot-norm offers <<-'END'
		Seller,Part,Color,Qty,Price,Zustand,Klasse,Multiple,Min. qty,Listing No,Weight (g),Currency
		Nine,B-204,slate,12,0.10,new,shelf,2,10,L1,2.3,EUR
	END
	exits 0
	head -n 1 "$OUT" >header
	[ "$(cat header)" = seller,part,color,qty,price,condition,class,step,least,listing,grams,currency ]
	try lot-norm stock <<-'END'
		Part,Color,Qty,State of mind,Lagerort,Notes
		B-204,slate,12,good,drawer 2,n
	END
	exits 0
	out_is <<-'END'
		part,color,qty,State of mind,place,note
		B-204,slate,12,good,drawer 2,n
	END
	try lot-norm <<-'END'
		Part,Color,Qty,Baugruppe,Modell,Not color
		B-204,slate,12,wall,mill,clear
	END
	exits 0
	out_is <<-'END'
		part,color,qty,group,model,not_color
		B-204,slate,12,wall,mill,clear
	END
}

@test "the columns of other kinds of list are not known, and pass" {
	try lot-norm <<-'END'
		Part,Color,Qty,Preis,Seller
		B-204,slate,12,"0,10 EUR",Nine
	END
	exits 0
	out_is <<-'END'
		part,color,qty,Preis,Seller
		B-204,slate,12,"0,10 EUR",Nine
	END
}

@test "a canonical name wins over header words" {
	try lot-norm <<-'END'
		Item no,Part,Color,Pieces,QTY
		1,B-204,slate,x,12
	END
	exits 0
	out_is <<-'END'
		Item no,part,color,Pieces,qty
		1,B-204,slate,x,12
	END
}

@test "a missing column is an error that lists the headers seen" {
	try lot-norm <<-'END'
		Part,Shade,Qty
		B-204,slate,12
	END
	refused 'lot-norm: <stdin>:1: no header is known to be the color column: say which with --map; the headers are Part, Shade, Qty'
	try lot-norm offers <<-'END'
		part,color,price
		B-204,slate,12
	END
	refused 'no header is known to be the seller column'
	err_has 'no header is known to be the qty column'
	try lot-norm stock <<-'END'
		color,qty
		slate,12
	END
	refused 'no header is known to be the part column'
}

@test "an ambiguous column is an error that lists the headers seen" {
	try lot-norm <<-'END'
		Part No,Item,Color,Qty
		B-204,1,slate,12
	END
	refused 'lot-norm: <stdin>:1: 2 headers may be the part column: say which with --map; the headers are Part No, Item, Color, Qty'
	err_lines 1
}

@test "two columns of one name are an error, unless it is an unknown one" {
	try lot-norm <<-'END'
		part,color,Part,qty
		B-204,slate,B-205,12
	END
	refused 'lot-norm: <stdin>:1: 2 columns are named "part"'
	err_lines 1
	try lot-norm <<-'END'
		part,color,Teil,teil,bag,bag,qty
		B-204,slate,1,2,3,4,12
	END
	exits 0
	out_is <<-'END'
		part,color,Teil,teil,bag,bag,qty
		B-204,slate,1,2,3,4,12
	END
}

# -- map -------------------------------------------------------------------------------------

@test "-m: the first header that the pattern matches whole becomes the column" {
	cat >map.csv <<-'END'
		column,pattern
		part,(?i)no\.?
		color,(?i)shade.*
		group,Sub-?build
		worth,Not there
	END
	try lot-norm -m map.csv <<-'END'
		Row no.;No.;Shade, by name;Shade, by number;Needed;Sub-build;Qty
		1;B-204;slate;77;yes;wall;12
	END
	exits 0
	out_is <<-'END'
		Row no.,part,color,"Shade, by number",Needed,group,qty
		1,B-204,slate,77,yes,wall,12
	END
}

@test "-m settles what would be ambiguous" {
	printf '%s\n' 'column,pattern' 'part,Item' >map.csv
	try lot-norm -m map.csv <<-'END'
		Part No,Item,Color,Qty
		B-204,1,slate,12
	END
	exits 0
	out_is <<-'END'
		Part No,part,color,qty
		B-204,1,slate,12
	END
}

@test "-m: a header named like a column that is taken from elsewhere gets a number" {
	printf '%s\n' 'column,pattern' 'part,No\.' >map.csv
	try lot-norm -m map.csv <<-'END'
		Part,No.,Color,Qty
		block two by four,B-204,slate,12
	END
	exits 0
	out_is <<-'END'
		Part 2,part,color,qty
		block two by four,B-204,slate,12
	END
	err_has 'lot-norm: <stdin>:1: header "Part" is passed on as "Part 2": another one is the part column'
}

@test "-m: bad maps" {
	printf '%s\n' 'column,pattern' 'part,no(' 'colour,x' 'part,' >map.csv
	try lot-norm -m map.csv </dev/null
	refused 'lot-norm: map.csv:2: pattern "no(": missing closing parenthesis'
	err_has 'lot-norm: map.csv:3: no column is named "colour": did you mean "color"?'
	printf '%s\n' 'column,header' 'part,no' >map.csv
	try lot-norm -m map.csv </dev/null
	refused 'lot-norm: map.csv:1: no column "pattern": there are column, header'
	printf '%s\n' 'column,pattern' 'part,.*' 'color,Item' >map.csv
	try lot-norm -m map.csv <<-'END'
		Item,Color,Qty
		B-204,slate,12
	END
	refused 'header "Item" is both part and color (map.csv:3)'
}

@test "-m: a pattern that backtracks without end" {
	printf '%s\n' 'column,pattern' 'part,(a+)+[bc]' >map.csv
	try lot-norm -m map.csv <<-'END'
		aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa,color,qty
		B-204,slate,12
	END
	refused 'rule at map.csv:2: match limit reached'
	err_has 'lot-norm: <stdin>:1: header "aaaa'
}

# -- names -----------------------------------------------------------------------------------

@test "-n: many ways to write a name become one, and the lots one" {
	cat >names.csv <<-'END'
		column,pattern,name
		color,(?i)p(?:a?l(?:e|\.)) ?green,pale green
		part,([A-Z])[ -]?([0-9]{3}),$1-$2
	END
	try lot-norm -n names.csv <<-'END'
		part,color,qty
		B204,Pl. green,1
		B 204,"pale green ",2
		B-204,palegreen,4
	END
	exits 0
	out_is <<-'END'
		part,color,qty
		B-204,pale green,7
	END
	err_is <<<'lot-norm: 1 lot, 7 pieces'
}

@test "-n: rules in file order, each on the result of those before" {
	cat >names.csv <<-'END'
		column,pattern,name
		color,a,b
		color,b,c
		color,d,a
		part,(?<stem>[A-Z]+)([0-9]*)x?,${stem}/$2$$
	END
	try lot-norm -n names.csv <<-'END'
		part,color,qty
		P1x,a,1
		P,d,1
		Q2,ab,1
	END
	exits 0
	out_is <<-'END'
		part,color,qty
		P/1$,c,1
		P/$,a,1
		Q/2$,ab,1
	END
}

@test "-n: on any canonical column, before numbers are read; blanks are folded before and after" {
	cat >names.csv <<-'END'
		column,pattern,name
		qty,about ([0-9]+),$1
		color,,any
		group,(.*) \+ (.*),"$1   $2 "
		seller,x,y
		note,old,new
	END
	try lot-norm -n names.csv <<-'END'
		part,color,qty,group,note,seller
		B-204,,about 12,  wall +	roof ,old,x
	END
	exits 0
	out_is <<-'END'
		part,color,qty,group,note,seller
		B-204,any,12,wall roof,new,x
	END
}

@test "-n: what a replacement gives is what Python's re gives" {
	# Outside reference: Python's re, fullmatch and Match.expand, on the same patterns.
	cat >names.csv <<-'END'
		column,pattern,name
		part,([A-Z]+)-?([0-9]+)([a-z]?),$2.$1$3
		part,([0-9]+)\.([A-Z])([A-Z]*).*,$3$2-$1
	END
	printf '%s\n' AB12c A-7 ABC-900 x Z0z '12.AB' 'é1' 'A1 ' >parts
	{
		echo part,color,qty
		sed 's/$/,slate,1/' parts
	} >list.csv
	try lot-norm --keep-rows -n names.csv <list.csv
	exits 0
	python3 - parts >due <<-'END'
		import re, sys
		rules = [(r"([A-Z]+)-?([0-9]+)([a-z]?)", r"\2.\1\3"), (r"([0-9]+)\.([A-Z])([A-Z]*).*", r"\3\2-\1")]
		print("part,color,qty")
		for part in open(sys.argv[1], encoding="utf-8"):
		    part = part.strip()
		    for pattern, name in rules:
		        match = re.fullmatch(pattern, part)
		        part = match.expand(name) if match else part
		    print(f"{part},slate,1")
	END
	out_is <due
}

@test "-n: bad names files" {
	cat >names.csv <<-'END'
		column,pattern,name
		color,[a-,x
		shade,a,b
		color,(a),$2
		part,a,$
	END
	try lot-norm -n names.csv </dev/null
	refused 'lot-norm: names.csv:2: pattern "[a-": missing terminating ]'
	err_has 'lot-norm: names.csv:3: no column is named "shade"'
	err_has 'lot-norm: names.csv:4: name "$2": $2, but the pattern has 1 groups'
	err_has 'lot-norm: names.csv:5: name "$": a single $'
	printf '' >names.csv
	try lot-norm -n names.csv </dev/null
	refused 'lot-norm: names.csv: no header line'
	err_lines 1
}

@test "-n: a pattern that backtracks without end is told as such, with the row" {
	printf '%s\n' 'column,pattern,name' 'color,(a+)+[bc],x' >names.csv
	try lot-norm -n names.csv <<-'END'
		part,color,qty
		B-204,slate,12
		B-204,aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa,12
	END
	refused 'lot-norm: <stdin>:3: color "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa", rule at names.csv:2: match limit reached'
	err_lines 1
	try lot-norm -n names.csv --rejects rejects.csv <<-'END'
		part,color,qty
		B-204,aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa,12
	END
	refused 'match limit reached'
	[ ! -e rejects.csv ]
}

# -- codes -----------------------------------------------------------------------------------

@test "--codes: an order code becomes part and color, which stand before it" {
	cat >codes.csv <<-'END'
		code,part,color
		70011,B-204,slate
		70012,B-204,chalk
	END
	try lot-norm --codes codes.csv <<-'END'
		Bestellnummer;Menge
		70011;3
		 70012 ;4
		70011;5
	END
	exits 0
	out_is <<-'END'
		part,color,code,qty
		B-204,slate,70011,8
		B-204,chalk,70012,4
	END
}

@test "--codes: a code goes before what the row says, a row without one speaks for itself" {
	cat >codes.csv <<-'END'
		code,part,color
		70011,B-204,slate
		70019,B-209,
	END
	printf '%s\n' 'column,pattern,name' 'code,No ([0-9]+),$1' 'color,slate,grey' >names.csv
	try lot-norm --codes codes.csv -n names.csv <<-'END'
		part,code,color,qty
		?,No 70011,,3
		B-101,,chalk,4
		,70019,fog,5
	END
	exits 0
	out_is <<-'END'
		part,code,color,qty
		B-204,70011,grey,3
		B-101,,chalk,4
		B-209,70019,fog,5
	END
}

@test "--codes: an unknown code, no code column, a code for two things" {
	printf '%s\n' code,part,color 70011,B-204,slate >codes.csv
	try lot-norm --codes codes.csv <<-'END'
		code,qty
		70012,3
	END
	refused 'lot-norm: <stdin>:2: '
	err_has 'code "70012" is no known order code'
	try lot-norm --codes codes.csv <<-'END'
		part,color,qty
		B-204,slate,3
	END
	refused 'no header is known to be the code column'
	printf '%s\n' code,part,color 70011,B-204,slate 70011,B-204,slate 70011,B-205,slate ,B-1,x >codes.csv
	try lot-norm --codes codes.csv </dev/null
	refused 'lot-norm: codes.csv:4: code "70011" stands for something else on line 2'
	err_has 'lot-norm: codes.csv:5: code is empty'
	err_lines 2
}

@test "without --codes a code column is like any other" {
	try lot-norm <<-'END'
		code,part,color,qty
		70011,B-204,slate,3
	END
	exits 0
	out_is <<-'END'
		code,part,color,qty
		70011,B-204,slate,3
	END
}

# -- quantities and prices -------------------------------------------------------------------

# The qty (price) that a text becomes, or what is said of it.
qty_of() {
	local field=$1
	shift
	printf 'part|color|qty\nB|slate|%s\n' "$field" >one.csv
	try lot-norm -q "$@" <one.csv
	if [ "$status" -eq 0 ]; then
		tail -n +2 "$OUT" | cut -d, -f3
	else
		out_is_empty && sed 's/^lot-norm: <stdin>:2: qty "[^"]*" //' "$ERR"
	fi
}

price_of() {
	local field=$1
	shift
	printf 'seller|part|color|qty|price\nNine|B|slate|1|%s\n' "$field" >one.csv
	try lot-norm -q offers "$@" <one.csv
	if [ "$status" -eq 0 ]; then
		tail -n +2 "$OUT" | cut -d, -f5
	else
		out_is_empty && sed 's/^lot-norm: <stdin>:2: price "[^"]*" //' "$ERR"
	fi
}

@test "quantities, with a decimal point" {
	while IFS='|' read -r field due; do
		[ "$(qty_of "$field")" = "$due" ] || show "\"$field\" should be $due"
	done <<-'END'
		12|12
		12.0|12
		12.000|12
		 12 pcs|12
		12 pcs.|12
		12pcs|12
		12 Stück|12
		12 Stk.|12
		12 pièces|12
		12 szt.|12
		x12|12
		x 12|12
		X12|12
		×12|12
		12x|12
		12 x|12
		12×|12
		x12 pcs|12
		1,200|1200
		1,200.00|1200
		1,234,567|1234567
		1 200|1200
		1 200|1200
		1'200|1200
		1’200 pcs|1200
		012|12
		0|0
		999,999,999|999999999
		999999999|999999999
	END
}

@test "quantities, with a decimal comma" {
	while IFS='|' read -r field due; do
		[ "$(qty_of "$field" --decimal comma)" = "$due" ] || show "\"$field\" should be $due"
	done <<-'END'
		12|12
		12,0|12
		1.200|1200
		1.200,0|1200
		1 200,00|1200
		x12|12
	END
	[ "$(qty_of 12.0 --decimal point)" = 12 ]
}

@test "quantities that are none" {
	while IFS='|' read -r field due; do
		case $(qty_of "$field") in
		"$due"*) ;;
		*) show "\"$field\": $due" ;;
		esac
	done <<-'END'
		12.5|is no whole number
		1.200|is no whole number
		.5|is no number of pieces
		-5|is negative
		−5|is negative
		1000000000|is too large
		1,000,000,000|is too large
		99999999999999999999999999|is too large
		twelve|is no number of pieces
		12 bags|is no number of pieces
		12 pcs each|is no number of pieces
		x12x|is no number of pieces
		12 12 12|is grouped wrong
		1,20|is grouped wrong
		12,0|is grouped wrong
		1,2000|is grouped wrong
		1,200,5|is grouped wrong
		0,123|is grouped wrong
		1,234 567|is grouped wrong
		1.200,5|is grouped wrong
		12,|is grouped wrong
		1E+05|is no number of pieces
		0x10|is no number of pieces
		1/2|is no number of pieces
		+5|is no number of pieces
		١٢|is no number of pieces
	END
	case $(qty_of 1.20 --decimal comma) in "is grouped wrong"*"--decimal point"*) ;; *) show 1.20 ;; esac
	case $(qty_of 1,20) in "is grouped wrong"*"--decimal comma"*) ;; *) show 1,20 ;; esac
	case $(qty_of 12,5 --decimal comma) in "is no whole number"*) ;; *) show 12,5 ;; esac
}

@test "an empty quantity is an error in need and stock, unlimited in offers" {
	try lot-norm <<-'END'
		part,color,qty
		B-204,slate,
	END
	refused 'lot-norm: <stdin>:2: qty is empty'
	try lot-norm stock <<-'END'
		part,color,qty
		B-204,slate,
	END
	refused 'lot-norm: <stdin>:2: qty is empty'
	try lot-norm offers <<-'END'
		seller,part,color,qty,price
		Nine,B-204,slate, ,0.10
	END
	exits 0
	out_is <<-'END'
		seller,part,color,qty,price
		Nine,B-204,slate,,0.1
	END
}

@test "prices, with a decimal point: without signs, grouping, and zeros at the end" {
	while IFS='|' read -r field due; do
		[ "$(price_of "$field")" = "$due" ] || show "\"$field\" should be $due"
	done <<-'END'
		1.20|1.2
		1.2|1.2
		0|0
		.5|0.5
		5.|5
		5.000|5
		0.00|0
		100|100
		0.1000000|0.1
		007.50|7.5
		00.5|0.5
		0.000001|0.000001
		1,234.50|1234.5
		12,345,678|12345678
		1 234.50|1234.5
		1 234.50|1234.5
		1 234.50|1234.5
		1'234.50|1234.5
		1’234.50|1234.5
		$1.20|1.2
		$ 1.20|1.2
		US$1.20|1.2
		1.20 $|1.2
		€ 1.20|1.2
		1.20€|1.2
		£0.12|0.12
		USD 1.20|1.2
		1.20 EUR|1.2
		eur 1.20|1.2
		1.20EUR|1.2
		€ 1.20 EUR|1.2
		1.20 kr|1.2
		kr. 1.20|1.2
		0.12 zł|0.12
		12 Kč|12
		CHF 1'200.05|1200.05
	END
}

# What is canonical already is looked at by another way than what is not.
@test "a price is the same text however many decimals it has" {
	for field in 0.1 0.10 0.100000 0.1000000 '$0.10' 00.1 .10; do
		[ "$(price_of "$field")" = 0.1 ] || show "$field"
	done
	for field in 7 7.0 7.00 07 '7.00 EUR'; do
		[ "$(price_of "$field")" = 7 ] || show "$field"
	done
}

# What Gnumeric 1.12 writes of the cells =0.1+0.2, =1.1*3 and =0.07*100/1000; the others are made up, the
# digits those of Python's repr.
@test "binary numbers written out to the last digit are what the spreadsheet shows" {
	while IFS='|' read -r field due; do
		[ "$(price_of "$field")" = "$due" ] || show "\"$field\" should be $due"
	done <<-'END'
		0.30000000000000004|0.3
		3.3000000000000003|3.3
		0.007000000000000001|0.007
		0.09999999999999999|0.1
		9.999999999999998|10
		99.99999999999999|100
		1,234.5600000000002|1234.56
		0.0010000000000000002|0.001
	END
	[ "$(price_of '0,30000000000000004 €' --decimal comma)" = 0.3 ]
	# 15 digits are the spreadsheet's own, and more than 17 no spreadsheet's
	for field in 0.333333333333333 0.3333333333333333 0.300000000000001 0.300000000000000004 1.0000001; do
		try lot-norm offers < <(printf 'seller,part,color,qty,price\nNine,B,slate,1,%s\n' "$field")
		refused "price \"$field\" has more than 6 decimals" || show "$field"
	done
	try lot-norm -q < <(printf 'part,color,qty\nA,red,3.0000000000000004\nB,red,2.9999999999999996\nC,red,0.9999999999999999\n')
	exits 0
	out_is <<-'END'
		part,color,qty
		A,red,3
		B,red,3
		C,red,1
	END
	try lot-norm <<<$'part,color,qty\nA,red,2.99999999999999'
	refused 'qty "2.99999999999999" is no whole number'
}

@test "prices, with a decimal comma" {
	while IFS='|' read -r field due; do
		[ "$(price_of "$field" --decimal comma)" = "$due" ] || show "\"$field\" should be $due"
	done <<-'END'
		1,20|1.2
		€ 1,20|1.2
		0,186 €|0.186
		1.234,50 €|1234.5
		1 234,50 EUR|1234.5
		1.234|1234
		,5|0.5
		12|12
	END
}

@test "prices that are none" {
	while IFS='|' read -r field due; do
		case $(price_of "$field") in
		"$due"*) ;;
		*) show "\"$field\": $due" ;;
		esac
	done <<-'END'
		-1.20|is negative
		€ -1.20|is negative
		$-1|is negative
		1.2000001|has more than 6 decimals
		0.1234567|has more than 6 decimals
		99999999999999999999|is too large
		1,20|is grouped wrong
		0,186|is grouped wrong
		1.234,50|is grouped wrong
		1,23,456.00|is grouped wrong
		free|is no amount
		on request|is no amount
		€|is no amount
		1.20 per|is no amount
		20 ct|is no amount
		20¢|is no amount
		12p|is no amount
		1.20 each|is no amount
		XQX 1.20|is no amount
		1.2.3|is no amount
		1e2|is no amount
		USD 1.20 EUR|names two currencies
	END
	case $(price_of 1.20 --decimal comma) in "is grouped wrong"*"--decimal point"*) ;; *) show 1.20 ;; esac
	try lot-norm offers <<-'END'
		seller,part,color,qty,price
		Nine,B-204,slate,1,
	END
	refused 'lot-norm: <stdin>:2: price is empty'
}

@test "a currency in the price makes no column, and must not contradict" {
	try lot-norm offers <<-'END'
		seller,part,color,qty,price
		Nine,B-204,slate,1,USD 1.20
		Ten,B-204,slate,1,€1.20
		Nine,B-205,slate,1,1.20
	END
	exits 0
	out_is <<-'END'
		seller,part,color,qty,price
		Nine,B-204,slate,1,1.2
		Ten,B-204,slate,1,1.2
		Nine,B-205,slate,1,1.2
	END
	try lot-norm offers <<-'END'
		seller,part,color,qty,price,currency
		Nine,B-204,slate,1,USD 1.20,EUR
		Ten,B-204,slate,1,EUR 1.20,EUR
		Ten,B-204,slate,1,$1.20,USD
	END
	refused 'lot-norm: <stdin>:2: price "USD" is not the currency of the currency column'
	err_lines 1
	try lot-norm offers <<-'END'
		seller,part,color,qty,price
		Nine,B-204,slate,1,USD 1.20
		Nine,B-205,slate,1,1.20 EUR
	END
	refused 'lot-norm: <stdin>:3: price "EUR" is not the currency of the seller'
}

@test "the other numbers: penalty, worth, grams, step, least" {
	try lot-norm --decimal comma <<-'END'
		part;color;qty;penalty;worth;grams
		B-204;slate;1;0,05;€ 1,50;1.002,3
	END
	exits 0
	out_is <<-'END'
		part,color,qty,penalty,worth,grams
		B-204,slate,1,0.05,1.5,1002.3
	END
	try lot-norm offers <<-'END'
		seller,part,color,qty,price,step,least
		Nine,B-204,slate,100,0.1,10 pcs,x20
	END
	exits 0
	out_is <<-'END'
		seller,part,color,qty,price,step,least
		Nine,B-204,slate,100,0.1,10,20
	END
	try lot-norm offers <<-'END'
		seller,part,color,qty,price,step,least,grams
		Nine,B-204,slate,100,0.1,0,2.5,-1
	END
	refused 'lot-norm: <stdin>:2: step is 0: give 1 or more, or leave it empty; least "2.5" is no whole number: pieces are whole; grams "-1" is negative'
}

@test "part, color and seller may not be empty" {
	try lot-norm offers <<-'END'
		seller,part,color,qty,price
		 ,B-204,slate,1,1
		Nine,,slate,1,1
		Nine,B-204,,1,1
	END
	refused 'lot-norm: <stdin>:2: seller is empty'
	err_has 'lot-norm: <stdin>:3: part is empty'
	err_has 'lot-norm: <stdin>:4: color is empty: give the color, or any'
	err_lines 3
}

@test "a pattern of the command line is UTF-8" {
	printf '%s\n' part,color,qty P,red,1 >list.csv
	try lot-norm --except $'part=\xff' list.csv
	refused 'lot-norm: --except: the pattern is not UTF-8'
	try lot-norm --only $'part=P\xe2\x82' list.csv
	refused 'lot-norm: --only: the pattern is not UTF-8'
	try lot-norm --loose --pattern $'(?<part>\xff)' list.csv
	refused 'lot-norm: --pattern: the pattern is not UTF-8'
}

@test "a header that an accent stands apart in, as some systems save them, is the same" {
	printf 'Teil,Farbe,Stu\xcc\x88ck\nP,red,3\n' >list.csv
	try lot-norm -q list.csv
	exits 0
	out_is <<<$'part,color,qty\nP,red,3'
	# Another letter is no accent.
	printf 'part,color,qty,St\xc6\x80ck\nP,red,1,3\n' >list.csv
	try lot-norm -q list.csv
	exits 0
	out_is <<<$'part,color,qty,St\u0180ck\nP,red,1,3'
}

@test "digits in groups apart by a narrow blank, as French and the SI write them" {
	# SI Brochure, 9th edition, 5.4.4; U+202F and U+2009.
	printf 'part,color,qty\nP,red,1\xe2\x80\xaf234\nQ,red,2\xe2\x80\x89345\n' >list.csv
	try lot-norm -q list.csv
	exits 0
	out_is <<<$'part,color,qty\nP,red,1234\nQ,red,2345'
}

@test "a character that is cut short is told, with its place" {
	printf 'part,color,qty\nP\xe2\x82(,red,1\n' >list.csv
	try lot-norm list.csv
	refused 'list.csv:2: column 1 (part) is not UTF-8 at byte 2 of the field'
}

# -- parts that a spreadsheet spoiled ---------------------------------------------------------

# Forms that programs write, English and German: exports.bats. The others: common practice, no
# source, but for the last test of these.
@test "parts that a spreadsheet made numbers and dates of are pointed out" {
	while read -r part; do
		try lot-norm < <(printf 'part,color,qty\n"%s",slate,2\n' "$part")
		refused "lot-norm: <stdin>:2: part \"$part\" is a " || show "$part"
		err_has 'as a spreadsheet makes of a part: make its column text and put the part in again, or say in --names what it stands for'
	done <<-'END'
		1E+05
		1.00E+05
		1,5e-3
		1007.0
		1007,00
		1,007.0
		1.007,0
		0.0
		2026-03-01
		2026-03-01 00:00:00
		2026/3/1
		01.03.2026
		01-03-2026
		3/1/26
		12/31/2026
		Mar-01
		MAR-2026
		1-Mar
		01-Mar-26
		1 Mar 2026
		01. Mrz
		Mrz 01
		1-mai
		févr-01
		1-set
	END
}

# What LibreOffice 7.4 and Gnumeric 1.12 wrote, in the settings named, when lists with the parts on the left
# were opened and saved again.
@test "dates as spreadsheets of other countries write them" {
	while read -r part; do
		part=${part#* }
		try lot-norm < <(printf 'part,color,qty\n"%s",slate,2\n' "${part%% - *}")
		refused "lot-norm: <stdin>:2: part \"${part%% - *}\" is a date, as a spreadsheet makes of a part" || show "$part"
	done <<-'END'
		1-3 01-03-26 - LibreOffice, Danish and Dutch
		5-12 05-12-26 - LibreOffice, Danish and Dutch
		jan-01 01-01-01 - LibreOffice, Dutch
		1-2-3 1-2-2003 - Gnumeric, Danish, Dutch and Swedish
		mar-1 Mar/01/2026 - Gnumeric, English
		jan-01 Jan.01.2026 - Gnumeric, German
		mai-5 mai/05/2026 - Gnumeric, French
		mar-1 mar.01.2026 - Gnumeric, Polish
		maj-26 maj-26-2026 - Gnumeric, Danish and Swedish
		jan-01 jan..01.2026 - Gnumeric, Norwegian
		5-maj 5-maj-2026 - Gnumeric, Danish, Polish and Swedish
		3-sty 3-sty-2026 - Gnumeric, Polish
		3-led 3-led-2026 - Gnumeric, Czech
		1-des 1-des.-2026 - Gnumeric, Norwegian
		3-touko 3-touko-2026 - Gnumeric, Finnish
		1/3 1. 3. 2026 - a Czech date: from memory
		1/3 3 January 2026 - with the month in full: from memory
		1/3 March 1, 2026 - with the month in full: from memory
		1/3 1. října 2026 - with the month in full: from memory
	END
}

@test "error values of a spreadsheet are no parts" {
	while read -r part; do
		try lot-norm < <(printf 'part,color,qty\n"%s",slate,2\n' "$part")
		refused "lot-norm: <stdin>:2: part \"$part\" is an error value of a spreadsheet: mend its formula" ||
			show "$part"
	done <<-'END'
		#N/A
		#n/a
		#NV
		#REF!
		#NAME?
		#DIV/0!
		#WERT!
		#BEZÜGE!
		Err:508
		Fehler:502
		###
	END
	printf '%s\n' part,color,qty '#12,slate,1' '#A,slate,1' '#,slate,1' '##,slate,1' 'A#!,slate,1' '#a!,slate,1' \
		'Err:,slate,1' 'Err:5b,slate,1' >list.csv
	try lot-norm <list.csv
	exits 0
	out_is <list.csv
}

@test "parts that only look a little like it are parts" {
	cat >list.csv <<-'END'
		part,color,qty
		1E5,slate,1
		E+05,slate,1
		1007.5,slate,1
		007.0,slate,1
		.0,slate,1
		00715,slate,1
		2026-13-01,slate,1
		14/14/2026,slate,1
		1-2,slate,1
		2x4,slate,1
		Set 3,slate,1
		Mars bar,slate,1
		2026,slate,1
		12-1-10,slate,1
		1-2-26,slate,1
		13-13-26,slate,1
		LED-3,slate,1
		3-LED,slate,1
		3 LED 2026,slate,1
		3-LED-26,slate,1
		1 Set 2024,slate,1
		Marble-1-20,slate,1
		Marble 41 2020,slate,1
		January,slate,1
		-1-2000,slate,1
		.1.2000,slate,1
		B-204,1-Mar,1
	END
	try lot-norm <list.csv
	exits 0
	out_is <list.csv
}

@test "parts that are nearly what a spreadsheet makes are parts" {
	local part
	for part in 1,00.0 '1,007.00x' '2026-03-01 x' '2026-03-01 10:x' 2026-03-01-x 1-Marx 1-Mar+5 1.Mar-x; do
		try lot-norm -q < <(printf 'part,color,qty\n"%s",slate,2\n' "$part")
		exits 0
		out_has "$part"
	done
}

@test "a name rule says what a spoiled part stands for, or that it is none" {
	cat >names.csv <<-'END'
		column,pattern,name
		part,1E\+05,1E5
		part,1-Mar,1-Mar
		part,\d\.0,$0
		part,(.+) old,$1
	END
	try lot-norm -n names.csv <<-'END'
		part,color,qty
		1E+05,slate,1
		1-Mar,slate,2
		4.0,slate,3
	END
	exits 0
	out_is <<-'END'
		part,color,qty
		1E5,slate,1
		1-Mar,slate,2
		4.0,slate,3
	END
	try lot-norm -n names.csv --rejects bad.csv <<-'END'
		part,color,qty
		B-204,slate,1
		2-Mar old,slate,2
	END
	exits 1
	grep -q '^2-Mar old,slate,2,3,"part ""2-Mar"" is a date' bad.csv
}

# -- blanks ----------------------------------------------------------------------------------

@test "blanks are trimmed and folded in names, but not in remarks and unknown columns" {
	printf 'part,color,qty,note,Bag,not_color\n" B  204\t","pale\n\xC2\xA0green",3," two  blanks "," 1  a "," a  b "\n' >list.csv
	try lot-norm <list.csv
	exits 0
	out_is <<-'END'
		part,color,qty,note,Bag,not_color
		B 204,pale green,3, two  blanks , 1  a ,a  b
	END
}

# -- only, except ----------------------------------------------------------------------------

@test "--only and --except: whole matches on canonical values" {
	cat >list.csv <<-'END'
		Teil,Farbe,Menge,Bag
		B-204,slate,2,1a
		B-205,slate,x3,1b
		B-206,Slate ,4,1a
		Total,,9 in all,
	END
	printf '%s\n' column,pattern,name color,Slate,slate >names.csv
	try lot-norm -n names.csv --only color=slate --except 'part=B-.*5' <list.csv
	exits 0
	out_is <<-'END'
		part,color,qty,Bag
		B-204,slate,2,1a
		B-206,slate,4,1a
	END
	try lot-norm --only 'qty=[23]' <list.csv
	exits 0
	out_is <<-'END'
		part,color,qty,Bag
		B-204,slate,2,1a
		B-205,slate,3,1b
	END
}

@test "--only and --except: by unknown column, by header as the list has it" {
	cat >list.csv <<-'END'
		Teil,Farbe,Menge,Bag
		B-204,slate,2,1a
		B-205,slate,3,1b
	END
	try lot-norm --except 'bag=1A' --only 'TEIL=.*4' <list.csv
	exits 0
	out_is <<-'END'
		part,color,qty,Bag
		B-204,slate,2,1a
	END
	try lot-norm --except 'bag=(?i)1A' <list.csv
	exits 0
	out_is <<-'END'
		part,color,qty,Bag
		B-205,slate,3,1b
	END
	try lot-norm --only 'Bag=.*=.*|1b' <list.csv
	exits 0
	out_is <<-'END'
		part,color,qty,Bag
		B-205,slate,3,1b
	END
}

@test "--only and --except: unknown column, no pattern, bad pattern, match limit" {
	cat >list.csv <<-'END'
		part,color,qty
		aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa,slate,2
	END
	try lot-norm --only shade=x <list.csv
	refused 'lot-norm: <stdin>:1: no column "shade" for --only: the headers are part, color, qty'
	try lot-norm --except place=x <list.csv
	refused 'no column "place" for --except'
	try lot-norm --only part <list.csv
	refused '--only takes COL=PATTERN'
	try lot-norm --except '=x' <list.csv
	refused '--except takes COL=PATTERN'
	try lot-norm --except 'part=(' <list.csv
	refused 'lot-norm: --except: pattern "(": missing closing parenthesis'
	try lot-norm --only 'part=(a+)+[bc]' <list.csv
	refused 'lot-norm: <stdin>:2: part "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa", --only: match limit reached'
}

# -- merging ---------------------------------------------------------------------------------

@test "equal lots are merged in order of first appearance; group, model, place keep them apart" {
	cat >list.csv <<-'END'
		part,color,qty,group,model,place,bag,note
		B-204,slate,1,wall,mill,,1,first
		B-101,slate,2,wall,mill,,1,
		B-204,slate,4,roof,mill,,1,
		B-204,slate,8,wall,barn,,1,
		B-204,slate,16,wall,mill,shed,1,
		B-204,slate,32,wall,mill,,2,second
		B-204,chalk,64,wall,mill,,1,
	END
	try lot-norm <list.csv
	exits 0
	out_is <<-'END'
		part,color,qty,group,model,place,bag,note
		B-204,slate,33,wall,mill,,1,first
		B-101,slate,2,wall,mill,,1,
		B-204,slate,4,roof,mill,,1,
		B-204,slate,8,wall,barn,,1,
		B-204,slate,16,wall,mill,shed,1,
		B-204,chalk,64,wall,mill,,1,
	END
	err_is <<<'lot-norm: 6 lots, 127 pieces'
}

@test "condition, not_color, penalty, worth, together and grams keep lots apart, by value" {
	cat >list.csv <<-'END'
		part,color,qty,condition,not_color,penalty,worth,together,grams
		B-204,any,1,,,0.5,,,
		B-204,any,2,,,0.50,,,
		B-204,any,4,new,,0.5,,,
		B-204,any,8,,a,0.5,,,
		B-204,any,16,,,,,,
		B-204,any,32,,,0.5,2,,
		B-204,any,64,,,0.5,2.00,,
		B-204,any,128,,,0.5,,x,
		B-204,any,256,,,0.5,,,1
	END
	try lot-norm <list.csv
	exits 0
	out_is <<-'END'
		part,color,qty,condition,not_color,penalty,worth,together,grams
		B-204,any,3,,,0.5,,,
		B-204,any,4,new,,0.5,,,
		B-204,any,8,,a,0.5,,,
		B-204,any,16,,,,,,
		B-204,any,96,,,0.5,2,,
		B-204,any,128,,,0.5,,x,
		B-204,any,256,,,0.5,,,1
	END
}

@test "equal rows of a named lot are one, not summed; their qty must agree" {
	try lot-norm <<-'END'
		part,color,qty,lot
		B-204,slate,5,roof
		B-204,slate,5,roof
		B-205,slate,5,roof
	END
	exits 0
	out_is <<-'END'
		part,color,qty,lot
		B-204,slate,5,roof
		B-205,slate,5,roof
	END
	try lot-norm <<-'END'
		part,color,qty,lot
		B-204,slate,5,roof
		B-204,slate,6,roof
	END
	refused 'lot-norm: <stdin>:3: qty "6" is not that of line 2, the same row of one lot'
}

@test "--keep-rows does not merge; offers are never merged" {
	cat >list.csv <<-'END'
		part,color,qty
		B-204,slate,1
		B-204,slate,2
	END
	for kind in need stock; do
		try lot-norm --keep-rows "$kind" <list.csv
		exits 0
		out_is <list.csv
		err_is <<<'lot-norm: 2 lots, 3 pieces'
	done
	try lot-norm stock <list.csv
	exits 0
	out_is <<-'END'
		part,color,qty
		B-204,slate,3
	END
	cat >offers.csv <<-'END'
		seller,part,color,qty,price
		Nine,B-204,slate,1,0.1
		Nine,B-204,slate,1,0.1
	END
	try lot-norm offers <offers.csv
	exits 0
	out_is <offers.csv
}

@test "a sum past the most pieces is an error" {
	cat >list.csv <<-'END'
		part,color,qty
		B-204,slate,999999998
		B-204,slate,1
		B-204,slate,1
	END
	try lot-norm <list.csv
	refused 'lot-norm: <stdin>:4: qty "1" makes the lot of line 2 too large: 999,999,999 pieces are the most'
	try lot-norm --rejects rejects.csv <list.csv
	exits 1
	out_is <<-'END'
		part,color,qty
		B-204,slate,999999999
	END
}

# -- rejects ---------------------------------------------------------------------------------

@test "--rejects: bad rows go there as read, with line and why, and the rest goes on" {
	cat >list.csv <<-'END'
		Teil;Farbe;Menge;Bag
		B-204 ; slate;x2;1a
		 B-205;slate;2.5;"1;b"

		;slate;many;
		B-206;slate;3;1a;surplus;more
		B-207;"sl"ate;3;1a
		B-208;slate;4;1a
	END
	try lot-norm --rejects rejects.csv <list.csv
	exits 1
	out_is <<-'END'
		part,color,qty,Bag
		B-204,slate,2,1a
		B-208,slate,4,1a
	END
	err_is <<<'lot-norm: 2 lots, 6 pieces, 4 rows rejected'
	diff - rejects.csv <<-'END'
		Teil,Farbe,Menge,Bag,line,why
		 B-205,slate,2.5,1;b,3,"qty ""2.5"" is no whole number: pieces are whole"
		,slate,many,,5,"part is empty: give it; qty ""many"" is no number of pieces: write digits, as 12, x12 or 12 pcs"
		B-206,slate,3,1a,6,"6 fields, but the header names 4: quote a field that holds the delimiter; the surplus: surplus more"
		"B-207;""sl""ate;3;1a",,,,7,"stray quote: a quoted field ends at its closing quote, and a quote inside is doubled"
	END
}

@test "--rejects: no bad row, exit 0 and a header; rows left out are not bad" {
	try lot-norm --rejects rejects.csv --except part=Total <<-'END'
		part,color,qty
		B-204,slate,2
		Total,,two
	END
	exits 0
	diff - rejects.csv <<<'part,color,qty,line,why'
}

@test "--rejects: trouble leaves the file as it was" {
	echo before >rejects.csv
	try lot-norm --rejects rejects.csv <<-'END'
		part,shade,qty
		B-204,slate,2
	END
	refused 'color column'
	diff - rejects.csv <<<before
	try lot-norm --rejects nowhere/rejects.csv <<-'END'
		part,color,qty
		B-204,slate,2
	END
	refused 'nowhere/rejects.csv: No such file or directory'
	try lot-norm --rejects /dev/full <<-'END'
		part,color,qty
		B-204,slate,2
	END
	refused '/dev/full: No space left on device'
}

# -- unknown names ---------------------------------------------------------------------------

@test "--unknown: names that no offer, stock row or rule knows, as rules to complete" {
	cat >offers.csv <<-'END'
		seller,part,color,qty,price
		Nine,P-1042,dark red,10,0.10
		Nine,P-1043,dark tan,10,0.10
		Nine,P-2000,black,10,0.10
	END
	cat >stock.csv <<-'END'
		part,color,qty
		P-3000,gray,4
	END
	cat >names.csv <<-'END'
		column,pattern,name
		color,(?i)blak,black
		color,(.+) \?,$1
		color,sand.*,$0
		part,p-(\d+),P-$1
	END
	try lot-norm -n names.csv --known offers.csv --known stock.csv --unknown unknown.csv <<-'END'
		part,color,qty
		p-1042,darkred,1
		p-3000,Blak,2
		P-1O42,Black,3
		P-2000,grey ?,4
		P-1O42,grey,5
		P-2000,sand blue,6
		P-2000,any,7
		P(2),black,8
	END
	exits 0
	out_is <<-'END'
		part,color,qty
		P-1042,darkred,1
		P-3000,black,2
		P-1O42,Black,3
		P-2000,grey,4
		P-1O42,grey,5
		P-2000,sand blue,6
		P-2000,any,7
		P(2),black,8
	END
	err_is <<<'lot-norm: 8 lots, 36 pieces, 5 unknown names'
	diff - unknown.csv <<-'END'
		column,pattern,name,nearest,edits,nearest_2,edits_2,nearest_3,edits_3,rows
		part,P-1O42,,P-1042,1,P-1043,2,P-2000,4,2
		part,P\(2\),,P-2000,4,P-1042,5,P-1043,5,1
		color,darkred,,dark red,1,dark tan,4,black,6,1
		color,Black,,black,1,gray,4,dark red,7,1
		color,grey,,gray,1,black,5,dark red,6,2
	END
}

@test "--unknown: completed row by row, beside the rules there are" {
	printf '%s\n' part,color B-204,slate B-205,grün >known.csv
	cat >list.csv <<-'END'
		part,color,qty
		B204,slaet,1
		B205,gruen,2
	END
	try lot-norm --known known.csv --unknown first.csv list.csv
	exits 0
	# Two of the four are completed; a rule without a name does nothing.
	sed -e 's/^part,B204,,/part,B204,B-204,/' -e 's/^color,gruen,,/color,gruen,grün,/' first.csv >names.csv
	try lot-norm -n names.csv --known known.csv --unknown second.csv list.csv
	exits 0
	out_is <<-'END'
		part,color,qty
		B-204,slaet,1
		B205,grün,2
	END
	err_is <<<'lot-norm: 2 lots, 3 pieces, 2 unknown names'
	cut -d, -f1-3 second.csv | diff - <(printf '%s\n' column,pattern,name part,B205, color,slaet,)
	sed -e 's/^part,B205,,/part,B205,B-205,/' -e 's/^color,slaet,,/color,slaet,slate,/' second.csv >more.csv
	try lot-norm -n names.csv --names more.csv --known known.csv --unknown third.csv list.csv
	exits 0
	out_is <<-'END'
		part,color,qty
		B-204,slate,1
		B-205,grün,2
	END
	err_is <<<'lot-norm: 2 lots, 3 pieces, 0 unknown names'
	diff - third.csv <<<'column,pattern,name,nearest,edits,nearest_2,edits_2,nearest_3,edits_3,rows'
}

@test "--unknown: nearest names are ready to be the name, dollar signs too" {
	printf '%s\n' part,color 'A$1,slate' 'B$$,slate' >known.csv
	printf '%s\n' part,color,qty 'A$2,slate,1' 'C$$,slate,1' >list.csv
	try lot-norm --known known.csv --unknown unknown.csv list.csv
	exits 0
	diff - unknown.csv <<-'END'
		column,pattern,name,nearest,edits,nearest_2,edits_2,nearest_3,edits_3,rows
		part,A\$2,,A$$1,1,B$$$$,2,,,1
		part,C\$\$,,B$$$$,1,A$$1,2,,,1
	END
	awk -F, -v OFS=, 'NR > 1 { $3 = $4 } { print }' unknown.csv >names.csv
	# The rules know the names that they give.
	try lot-norm -n names.csv --unknown unknown.csv list.csv
	exits 0
	out_is <<<$'part,color,qty\nA$1,slate,1\nB$$,slate,1'
	diff <(printf '%s\n' color,slate,) <(tail -n +2 unknown.csv | cut -d, -f1-3)
}

@test "--unknown: a part that a spreadsheet spoiled gets a rule to complete" {
	printf '%s\n' part,color 1-3,white >known.csv
	printf '%s\n' part,color,qty '01. Mrz,wite,8' '01. Mrz,white,two' ',x,1' >list.csv
	try lot-norm --known known.csv --unknown unknown.csv --rejects bad.csv list.csv
	exits 1
	err_is <<<'lot-norm: 0 lots, 0 pieces, 3 rows rejected, 1 unknown name'
	diff - unknown.csv <<-'END'
		column,pattern,name,nearest,edits,nearest_2,edits_2,nearest_3,edits_3,rows
		part,01\. Mrz,,1-3,6,,,,,2
	END
	sed 's/Mrz,,/Mrz,1-3,/' unknown.csv >names.csv
	try lot-norm -q -n names.csv --rejects bad.csv list.csv
	out_is <<<$'part,color,qty\n1-3,wite,8'
}

@test "--unknown and --rejects write over no file that is read" {
	printf '%s\n' part,color,qty B-204,slate,1 >list.csv
	printf '%s\n' column,pattern,name color,slaet,slate >names.csv
	printf '%s\n' column,pattern part,Part >map.csv
	printf '%s\n' part,color B-204,slate >known.csv
	ln -s list.csv link.csv
	cp list.csv before.csv
	for file in list.csv ./list.csv link.csv names.csv map.csv known.csv; do
		for option in --unknown --rejects; do
			try lot-norm -m map.csv -n names.csv --known known.csv --unknown u.csv list.csv
			exits 0
			case $option in
			--unknown) try lot-norm -m map.csv -n names.csv --known known.csv --unknown "$file" list.csv ;;
			*) try lot-norm -m map.csv -n names.csv --known known.csv --unknown u.csv --rejects "$file" list.csv ;;
			esac
			refused "lot-norm: $file: is read here, and would be replaced: name another file to write"
			diff before.csv list.csv
		done
	done
	# a device is no such file
	try lot-norm --rejects /dev/null --unknown u.csv - <list.csv
	exits 0
}

@test "--names several times: rules run file after file, and a fault names its own" {
	printf '%s\n' column,pattern,name color,a,b >one.csv
	printf '%s\n' column,pattern,name color,b,c >two.csv
	try lot-norm -n one.csv -n two.csv <<<$'part,color,qty\nB-204,a,1'
	exits 0
	out_has B-204,c,1
	try lot-norm -n two.csv -n one.csv <<<$'part,color,qty\nB-204,a,1'
	exits 0
	out_has B-204,b,1
	printf '%s\n' column,pattern,name 'color,(x+)+[yz],z' >two.csv
	try lot-norm -n one.csv -n two.csv <<<$'part,color,qty\nB-204,xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx,1'
	refused 'rule at two.csv:2: match limit reached'
}

@test "the edit distance is Levenshtein's: published examples" {
	# Sources: kitten and sitting, Saturday and Sunday, flaw and lawn: the encyclopedia Wikipedia,
	# "Levenshtein distance"; intention and execution: Jurafsky and Martin, Speech and Language
	# Processing, "Minimum edit distance". An accent is one character of the text.
	while IFS=, read -r name other edits; do
		printf '%s\n' part "$other" >known.csv
		try lot-norm --known known.csv --unknown unknown.csv < <(printf 'part,color,qty\n%s,any,1\n' "$name")
		exits 0
		grep -q "^part,$name,,$other,$edits,,,,,1\$" unknown.csv || show "$name $other $edits"
	done <<-'END'
		kitten,sitting,3
		sitting,kitten,3
		Saturday,Sunday,3
		flaw,lawn,2
		intention,execution,5
		gruen,grün,2
		日本,日,1
	END
}

@test "nearest names are those that Python finds" {
	for seed in 1 2 3 4 5 6; do
		try python3 "$TESTS/check_names.py" "$seed"
		exits 0
	done
}

@test "--unknown: bad rows and rows left out are not looked at; order of known rows is nothing" {
	printf '%s\n' part,color b,x a,x c,x d,x >known.csv
	(head -n 1 known.csv && tail -n +2 known.csv | sort -r) >turned.csv
	for file in known.csv turned.csv; do
		try lot-norm --known "$file" --unknown unknown.csv --rejects bad.csv --except part=Total <<-'END'
			part,color,qty
			e,x,1
			f,x,two
			Total,,1
		END
		exits 1
		err_is <<<'lot-norm: 1 lot, 1 piece, 1 row rejected, 1 unknown name'
		diff - unknown.csv <<-'END'
			column,pattern,name,nearest,edits,nearest_2,edits_2,nearest_3,edits_3,rows
			part,e,,a,1,b,1,c,1,1
		END
	done
}

@test "--unknown: in vain, bad files, trouble" {
	echo before >unknown.csv
	printf '%s\n' part,color,qty B-204,slate,1 >list.csv
	try lot-norm --known list.csv list.csv
	refused '--known is for --unknown'
	printf '%s\n' shade,qty x,1 >known.csv
	try lot-norm --known known.csv --unknown unknown.csv list.csv
	refused 'known.csv:1: no column "part" and none "color": there are shade, qty'
	try lot-norm --known absent.csv --unknown unknown.csv list.csv
	refused 'absent.csv: No such file'
	printf '%s\n' part,qty B-204,1 >half.csv
	printf 'part,color\nB,\xff\n' >bad.csv
	try lot-norm --known bad.csv --unknown unknown.csv list.csv
	refused 'bad.csv:2: column 2 (color) is not UTF-8'
	try lot-norm --unknown unknown.csv <<<$'part,color,qty\nB-204,slate,two'
	refused 'qty "two"'
	diff - unknown.csv <<<before
	try lot-norm --known half.csv --unknown unknown.csv list.csv
	exits 0
	grep -c '' unknown.csv | grep -qx 2
	try lot-norm --unknown same.csv --rejects same.csv list.csv
	exits 2
}

# -- bad input -------------------------------------------------------------------------------

@test "an empty file" {
	try lot-norm </dev/null
	refused 'lot-norm: <stdin>: no header line: the first line names the columns'
	err_lines 1
	try lot-norm < <(printf '\n\r\n  ')
	refused 'color column'
	try lot-norm < <(printf '\xEF\xBB\xBF')
	refused 'no header line'
}

@test "a header alone is an empty list" {
	for kind in need stock; do
		try lot-norm "$kind" <<<'Part,Color,Qty'
		exits 0
		out_is <<<'part,color,qty'
		err_is <<<'lot-norm: 0 lots, 0 pieces'
	done
	try lot-norm offers < <(printf 'seller,part,color,qty,price')
	exits 0
	out_is <<<'seller,part,color,qty,price'
	err_is <<<'lot-norm: 0 offers, 0 sellers'
}

@test "a ragged row: too long is an error, too short is padded, an empty surplus is none" {
	try lot-norm <<-'END'
		part,color,qty,bag
		B-204,slate,2
		B-205,slate,3,1a,,
		,,,
	END
	exits 0
	out_is <<-'END'
		part,color,qty,bag
		B-204,slate,2,
		B-205,slate,3,1a
	END
	try lot-norm <<-'END'
		part,color,qty
		B-204,slate,2
		B-205,slate,1,200
	END
	refused 'lot-norm: <stdin>:3: 4 fields, but the header names 3'
	try lot-norm <<-'END'
		part,color,qty
		B-204,slate
	END
	refused 'lot-norm: <stdin>:2: qty is empty'
}

@test "a stray quote, and the rows behind it are still checked" {
	try lot-norm <<-'END'
		part,color,qty
		B-204,sl"ate,2
		B-205,"slate"x,2
		B-206, "slate",2
		B-207,slate,two
	END
	refused 'lot-norm: <stdin>:2: stray quote'
	err_has 'lot-norm: <stdin>:3: stray quote'
	err_has 'lot-norm: <stdin>:4: stray quote'
	err_has 'lot-norm: <stdin>:5: qty "two"'
	err_lines 4
	try lot-norm <<-'END'
		part,color,qty
		B-204,"slate,2
		B-205,slate,2
	END
	refused 'lot-norm: <stdin>:2: quoted field that is never closed'
	err_lines 1
	try lot-norm <<-'END'
		part,co"lor,qty
	END
	refused 'lot-norm: <stdin>:1: stray quote'
	err_lines 1
}

@test "a NUL byte" {
	try lot-norm < <(printf 'part,color,qty\nB-204,sl\0ate,2\n')
	refused 'lot-norm: <stdin>:2: column 2 (color) holds a NUL byte at byte 3: this is no text file'
	err_lines 1
	try lot-norm < <(printf 'part,co\0lor,qty\nB-204,slate,2\n')
	refused 'lot-norm: <stdin>:1: NUL byte in the header of column 2'
}

@test "invalid UTF-8 is told with row, column and byte" {
	try lot-norm < <(printf 'part,color,qty\nB-204,slate,2\nB-205,gr\xFCn,2\n')
	refused 'lot-norm: <stdin>:3: column 2 (color) is not UTF-8 at byte 3 of the field: name its --encoding'
	err_lines 1
	try lot-norm < <(printf 'part,color,qty\nB-204,a\xC0\xAFb\xED\xA0\x80,2\n')
	refused 'lot-norm: <stdin>:2: column 2 (color) is not UTF-8 at byte 2'
	try lot-norm < <(printf 'part,color,qty,\xFC\nB-204,slate,2\n')
	refused 'lot-norm: <stdin>:1: header of column 4 is not UTF-8 at byte 1'
	try lot-norm --rejects rejects.csv < <(printf 'part,color,qty\nB-205,gr\xFCn,2\nB-206,slate,2\n')
	exits 1
	grep -q '^B-205,gr?n,2,2,' rejects.csv
}

@test "--encoding converts, by iconv" {
	try lot-norm --encoding ISO-8859-1 < <(printf 'part;color;qty\nB-205;gr\xFCn;2\n')
	exits 0
	out_is <<-'END'
		part,color,qty
		B-205,grün,2
	END
	try lot-norm --encoding WINDOWS-1252 offers < <(printf 'seller;part;color;qty;price\nNine;B-205;a;2;\x80 1.20\n')
	exits 0
	out_has 'Nine,B-205,a,2,1.2'
	try lot-norm --encoding no-such <<<'part,color,qty'
	refused 'unknown encoding "no-such"'
	try lot-norm --encoding EUC-JP < <(printf 'part,color,qty\nB,\xFF,1\n')
	refused 'byte 18 is not valid EUC-JP'
}

@test "up to 20 faults are told, then how many more" {
	{
		echo part,color,qty
		for i in $(seq 25); do
			echo "B-$i,slate,no"
		done
	} >list.csv
	try lot-norm <list.csv
	refused 'lot-norm: <stdin>:21: qty "no"'
	err_lines 21
	[ "$(tail -n 1 "$ERR")" = 'lot-norm: <stdin>: and 5 more faults' ]
}

@test "what comes from a file reaches the terminal escaped" {
	try lot-norm < <(printf 'part,color,qty\nB-204,slate,\x1b[31mred\n')
	refused 'qty "\x1B[31mred"'
}

@test "a full device, a closed output, a closed pipe" {
	cat >list.csv <<-'END'
		part,color,qty
		B-204,slate,2
	END
	status=0
	lot-norm <list.csv >/dev/full 2>"$ERR" || status=$?
	: >"$OUT"
	refused 'lot-norm: <stdout>: No space left on device'
	err_lines 1
	status=0
	lot-norm <list.csv >&- 2>"$ERR" || status=$?
	refused 'lot-norm: <stdout>:'
	status=0
	lot-norm --help >/dev/full 2>"$ERR" || status=$?
	refused 'lot-norm: <stdout>: No space left on device'
	{
		echo part,color,qty
		seq -f 'B-%g,slate,1' 200000
	} >long.csv
	# SIGPIPE ends it, as any filter, and nothing is said.
	status=$(python3 - long.csv "$ERR" <<-'END'
		import signal, subprocess, sys
		with open(sys.argv[1], "rb") as source, open(sys.argv[2], "wb") as told:
		    filter = subprocess.Popen(["lot-norm"], stdin=source, stdout=subprocess.PIPE, stderr=told)
		    filter.stdout.read(10)
		    filter.stdout.close()
		    print(filter.wait() == -signal.SIGPIPE)
	END
	)
	[ "$status" = True ]
	err_is_empty
}

@test "the order of options and kind does not matter, and -- ends them" {
	try lot-norm stock -q --keep-rows <<<'part,color,qty'
	exits 0
	try lot-norm -q -- stock <<<'part,color,qty'
	exits 0
}
