#!/usr/bin/env bats
# Lists as people paste them, through lot-norm --loose. The forms of lines: common practice, no
# source. Markdown tables: the GitHub Flavored Markdown spec, "Tables (extension)".

load lib

# What becomes of one line: `part|color|qty`, or why it is none.
line_of() {
	local line=$1
	shift
	rm -f bad.csv
	try lot-norm -q --loose --rejects bad.csv "$@" < <(printf '%s\n' "$line")
	if [ "$status" -eq 0 ]; then
		python3 -c 'import csv, sys; print("|".join(list(csv.reader(sys.stdin))[1]))' <"$OUT"
	else
		python3 -c 'import csv; text, line, why = list(csv.reader(open("bad.csv", newline="")))[1]; print(f"{line} {why}")'
	fi
}

# Lines `TEXT => due`, each for itself; the due text is the beginning of what comes out.
all_lines() {
	local text due found
	while IFS= read -r line; do
		text=${line%% => *} due=${line##* => }
		found=$(line_of "$text" "$@")
		[[ $found == "$due"* ]] || show "$text: $found, but $due was due"
	done
}

# -- lines -----------------------------------------------------------------------------------

@test "the quantity: marked, at the start, at the end, or between separators" {
	all_lines <<-'END'
		12x 2x4 plate, red => 2x4 plate|red|12
		12 x plate, red => plate|red|12
		x12 plate, red => plate|red|12
		12× plate, red => plate|red|12
		12 × 3001, red => 3001|red|12
		12 pcs plate, red => plate|red|12
		12 pcs. of plate, red => plate|red|12
		(4) tile 1x2 ..... white => tile 1x2|white|4
		[4] tile 1x2, white => tile 1x2|white|4
		(4x) tile 1x2, white => tile 1x2|white|4
		tile 1x2, white (4) => tile 1x2|white|4
		tile 1x2, white x4 => tile 1x2|white|4
		tile 1x2, white 4x => tile 1x2|white|4
		tile 1x2, white 4 Stück => tile 1x2|white|4
		tile 1x2, white: 4 pcs => tile 1x2|white|4
		tile 1x2, 4 pcs, white => tile 1x2|white|4
		1,200x plate, red => plate|red|1200
		K1042 black 8 pcs => K1042|black|8
		K1042, black, 8 => K1042|black|8
		8, K1042, black => K1042|black|8
		K1042	black	8 => K1042|black|8
		tile 1x2, white ..... 4 => tile 1x2|white|4
	END
	[ "$(line_of '1.200x plate, red' --decimal comma)" = 'plate|red|1200' ]
}

@test "the quantity: none, two, and what may be a size, is not guessed" {
	all_lines <<-'END'
		plate 2x4, red => 1 no quantity: write it as 12x, (12) or 12 pcs, and a size as 2x4
		2 x 4 plate, red => 1 no quantity
		12 x 2 x 4 plate, red => 1 no quantity
		plate, red 2 x 4 => 1 no quantity
		red plate 2 x4 => 1 no quantity
		black 1 200 pcs => 1 no quantity
		plate, red 1 200 pcs => 1 no quantity
		-4x plate, red => 1 no quantity
		4.5x plate, red => 1 no quantity
		12x plate, red, 8 pcs => 1 two numbers may be the quantity: mark one alone
		(2) plate, red (3) => 1 two numbers may be the quantity
		3001, red, 8 => 1 two numbers may be the quantity
		12x => 1 nothing but a quantity
	END
}

@test "part and color: by the one strongest separator" {
	all_lines <<-'END'
		2x tile, round ..... white => tile, round|white|2
		2x tile; round, white => 1 which is the color?
		2x slope - sand green => slope|sand green|2
		2x slope – sand green => slope|sand green|2
		2x slope 45° — sand green => slope 45°|sand green|2
		2x slope … sand green => slope|sand green|2
		2x slope ____ sand green => slope|sand green|2
		2x slope . . . . sand green => slope|sand green|2
		2x K-10-42; black => K-10-42|black|2
		2x K1042: black => K1042|black|2
		2x 0,5 plate, red => 0,5 plate|red|2
		2x plate, old, red => 1 which is the color?
		2x red, plate 2x4 => 1 which is the color?
		2x plate 2x4, grey 5 => plate 2x4|grey 5|2
		2x plate, 1, round; red => plate, 1, round|red|2
		tile, 2 pcs, round; red => 1 which is the color?
	END
}

@test "part and color without a separator: a number and a word, or it is not certain" {
	all_lines <<-'END'
		2x K1042 black => K1042|black|2
		2x 3001 rot => 3001|rot|2
		2x tile white => 1 no color is parted off
		2x black K1042 => 1 no color is parted off
		2x K1042 dark red => 1 no color is parted off
		2x 3001 2x4 => 1 no color is parted off
		2x K1042 => 1 no color is parted off
	END
}

@test "brackets around a color, quotes around a name" {
	all_lines <<-'END'
		2x K1042 (black) => K1042|black|2
		K1042 [black] x2 => K1042|black|2
		2x plate 2x4, (dark red) => plate 2x4|dark red|2
		2x plate 2x4, red (dull) => plate 2x4|red (dull)|2
		2x plate 2x4 (red) => 1 no color is parted off
		2x "tile, round" => 1 no color is parted off
		"tile, round",12 => 1 no color is parted off
		2x 1" tile, red => 1" tile|red|2
		2x "tile", "red" => "tile"|"red"|2
	END
	printf '%s\n' color red 'dk. gr.' >known.csv
	all_lines --known known.csv <<-'END'
		2x plate 2x4 (red) => plate 2x4|red|2
		(red), plate 2x4, x2 => plate 2x4|red|2
		2x plate 2x4, red. => plate 2x4|red|2
		2x plate 2x4 red. => plate 2x4|red|2
		2x plate 2x4, dk. gr. => plate 2x4|dk. gr.|2
		2x plate 2x4, sand. => plate 2x4|sand.|2
	END
}

@test "no-break spaces, as pages have them, are blanks; lines of signs alone say nothing" {
	local nb=$'\u00a0'
	all_lines <<-END
		12x${nb}2x4${nb}plate, red => 2x4 plate|red|12
		K1042${nb}black${nb}8${nb}pcs => K1042|black|8
		(4)${nb}tile 1x2 ..... white => tile 1x2|white|4
		slope${nb}—${nb}sand green, x2 => slope|sand green|2
		•${nb}2x plate, red => plate|red|2
	END
	try lot-norm --loose < <(printf '%s\n' "$nb" '———' '• • •' '2x plate, red' '👍' '═════' $'\u3000')
	exits 0
	out_is <<<$'part,color,qty\nplate,red,2'
	try lot-norm --loose < <(printf '%s\n' '2x plate, red' ½)
	refused '<stdin>:2: no quantity'
}

@test "known colors tell part and color apart" {
	printf '%s\n' color red 'dark red' white any >known.csv
	printf '%s\n' column,pattern,name 'color,(?i)bla[ck]+,black' >names.csv
	all_lines --known known.csv -n names.csv <<-'END'
		2x tile 1x2 dark red => tile 1x2|dark red|2
		2x tile 1x2 Dark Red => tile 1x2|Dark Red|2
		2x dark red tile round => tile round|dark red|2
		2x tile BLAK => tile|black|2
		2x red, plate 2x4 => plate 2x4|red|2
		2x plate, old, red => plate, old|red|2
		2x red, plate, old => plate, old|red|2
		2x red plate white => 1 which is the color?
		2x white, red => white|red|2
		2x red => 1 no color is parted off
		2x tile olive green => 1 no color is parted off
	END
}

@test "marks of lists and of quoted mails are no part of the line" {
	all_lines <<-'END'
		- 2x plate, red => plate|red|2
		* 2x plate, red => plate|red|2
		• 2x plate, red => plate|red|2
		3. 2x plate, red => plate|red|2
		3) 2x plate, red => plate|red|2
		- [ ] 2x plate, red => plate|red|2
		- [x] 2x plate, red => plate|red|2
		> > - 2x plate, red => plate|red|2
		3. plate, red => 1 no quantity
	END
}

@test "a whole mail: blank lines and rules passed over, prose to the rejects, lots merged" {
	cat >mail.txt <<-'END'
		Hi, this is what the mill needs:

		-------------
		12x 2x4 plate, red
		K1042 black 8 pcs
		  (4) tile 1x2 ..... white
		K1042, black, 2
		=============
		Thanks!
	END
	try lot-norm --loose --rejects bad.csv mail.txt
	exits 1
	out_is <<-'END'
		part,color,qty
		2x4 plate,red,12
		K1042,black,10
		tile 1x2,white,4
	END
	err_is <<<'lot-norm: 3 lots, 26 pieces, 2 rows rejected'
	diff - bad.csv <<-'END'
		text,line,why
		"Hi, this is what the mill needs:",1,"no quantity: write it as 12x, (12) or 12 pcs, and a size as 2x4"
		Thanks!,9,"no quantity: write it as 12x, (12) or 12 pcs, and a size as 2x4"
	END
	try lot-norm --loose mail.txt
	refused 'lot-norm: mail.txt:1: no quantity'
	err_lines 2
}

@test "the other options hold: names, model, only, except, stock, several lists" {
	# shellcheck disable=SC2016
	printf '%s\n' column,pattern,name 'part,(\d)x(\d) plate,plate $1x$2' >names.csv
	echo '12x 2x4 plate, red' >a.txt
	printf '%s\n' '3x 2x4 plate, red' '3x Total, all' >b.txt
	try lot-norm --loose -n names.csv --except part=Total stock a.txt b.txt
	exits 0
	out_is <<-'END'
		part,color,qty
		plate 2x4,red,15
	END
	try lot-norm --loose --model mill --only qty=12 a.txt
	exits 0
	out_is <<-'END'
		model,part,color,qty
		mill,2x4 plate,red,12
	END
}

@test "--codes: a quantity and an order code" {
	printf '%s\n' code,part,color 30014,B-204,slate >codes.csv
	try lot-norm --loose --codes codes.csv --rejects bad.csv <<-'END'
		12x 30014
		30014, 3 pcs
		12x slate 30014
	END
	exits 1
	out_is <<-'END'
		part,color,code,qty
		B-204,slate,30014,15
	END
	grep -q 'slate 30014,3,no order code that stands alone' bad.csv
}

# -- tables ----------------------------------------------------------------------------------

@test "a Markdown table: alignment, escaped bars, bold and code, no outer bars" {
	# The GFM spec, examples 198 to 205: the forms of tables; a bar in a cell is written \|.
	try lot-norm --loose --rejects bad.csv <<-'END'
		Some words: | see below

		> | Part no. | Colour | Qty | Bag | Bag |
		> |:---------|:------:|----:|-----|-----|
		> | K\|1042  | red    | 12  | 1a  | x   |
		> | **K1043** | `dark tan` | 4x | | |
		> | K1044 | tan | 3

		Part | Color | Qty
		--- | --- | ---
		K\*1045 | white | 1,200
		12x 2x4 plate, red
	END
	exits 1
	out_is <<-'END'
		part,color,qty,Bag,Bag
		K|1042,red,12,1a,x
		K1043,dark tan,4,,
		K1044,tan,3,,
		K*1045,white,1200,,
		2x4 plate,red,12,,
	END
	err_is <<<'lot-norm: 5 lots, 1231 pieces, 1 row rejected'
}

@test "a Markdown table, drawn, as cmark-gfm reads it" {
	needs cmark-gfm cmark-gfm
	for seed in 1 2 3; do
		try python3 "$TESTS/check_markdown.py" "$seed"
		exits 0
	done
}

@test "a tab table, and one with bars alone: by the words of its header" {
	try lot-norm --loose < <(printf 'Teil\tMenge\tFarbe\tNotiz\nB-1\t3\tweiß\t a, 4x b \n\nPart|Color|Qty\nB-2|red|4\n')
	exits 0
	out_is <<-'END'
		part,qty,color,note
		B-1,3,weiß,"a, 4x b"
		B-2,4,red,
	END
}

@test "a table: bad rows with their line, unknown headers, too many cells" {
	try lot-norm --loose --rejects bad.csv < <(printf 'Part\tColor\tQty\nB-1\tred\ttwo\nB-2\tred\t1\t\nB-3\tred\t1\tx\nB-4\t\t1\n')
	exits 1
	out_is <<-'END'
		part,color,qty
		B-2,red,1
	END
	diff - bad.csv < <(printf '%s\n' text,line,why \
		$'B-1\tred\ttwo,2,"qty ""two"" is no number of pieces: write digits, as 12, x12 or 12 pcs"' \
		$'B-3\tred\t1\tx,4,"4 cells, but the header in line 1 names 3"' \
		$'B-4\t\t1,5,"color is empty: give the color, or any"')
	cat >list.md <<-'END'
		| Thing | Shade | How many |
		|-------|-------|----------|
		| B-1   | red   | 3        |
	END
	try lot-norm --loose list.md
	refused 'list.md:1: no header is known to be the part column: say which with --map; the headers are Thing, Shade, How many'
	printf '%s\n' column,pattern part,Thing color,Shade >map.csv
	try lot-norm --loose -m map.csv list.md
	exits 0
	out_is <<-'END'
		part,color,qty
		B-1,red,3
	END
}

@test "a table of offers" {
	try lot-norm --loose offers <<-'END'
		| Shop | Part | Color | Qty | Price |
		|------|------|-------|-----|-------|
		| Nine | B-1  | red   | 40  | $0.10 |
	END
	exits 0
	out_is <<-'END'
		seller,part,color,qty,price
		Nine,B-1,red,40,0.1
	END
	try lot-norm --loose offers <<<'12x 2x4 plate, red'
	refused ':1: seller is empty: give it; price is empty: give it'
}

# -- own patterns ----------------------------------------------------------------------------

@test "--pattern: named groups, several in order, before the built-in forms" {
	try lot-norm --loose --pattern '(?<group>\w+)/(?<part>\S+) in (?<color>.+) \* (?<qty>\d+)' \
		--pattern '(?<qty>\d+) (?<part>\S+)(?: (?<color>any))?' --rejects bad.csv <<-'END'
		roof/K1042 in  dark   red * 7
		- roof/K1042 in red * 7
		12x 2x4 plate, red
		3 K1043 any
		3 K1044
	END
	exits 1
	out_is <<-'END'
		part,color,qty,group
		K1042,dark red,7,roof
		2x4 plate,red,12,
		K1043,any,3,
	END
	diff - bad.csv <<-'END'
		text,line,why
		- roof/K1042 in red * 7,2,"no quantity: write it as 12x, (12) or 12 pcs, and a size as 2x4"
		3 K1044,5,"color is empty: give the color, or any"
	END
	try lot-norm --loose --codes <(printf '%s\n' code,part,color c1,B-1,red) --pattern '(?<code>\w+)=(?<qty>\d+)' <<<'c1=4'
	exits 0
	out_has B-1,red,c1,4
}

@test "--pattern: what is wrong with one" {
	try lot-norm --loose --pattern '(?<part>' <<<x
	refused '--pattern "(?<part>": missing closing parenthesis'
	try lot-norm --loose --pattern '(?<prt>.+)' <<<x
	refused '--pattern "(?<prt>.+)": group "prt" is no column of such a list: did you mean "part"?'
	try lot-norm --loose --pattern '(?<part>.+) (?<price>.+)' <<<x
	refused 'group "price" is no column of such a list'
	try lot-norm --loose --pattern '(.+) (?<qty>.+)' <<<x
	refused 'no group is named part, as in (?<part>.+)'
	try lot-norm --pattern '(?<part>.+)' <<<x
	refused '--pattern is for --loose'
	try lot-norm --loose --loose <<<x
	refused 'is given twice'
	try lot-norm --loose -D tab <<<x
	refused '--delimiter is for CSV'
	try lot-norm --loose --pattern '(?<part>(a+)+[bc])' <<<aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa
	refused '<stdin>:1: "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa", --pattern 1: match limit reached'
}

# -- bad input -------------------------------------------------------------------------------

@test "line ends, UTF-16, Windows-1252; a line that is no text" {
	try lot-norm --loose < <(printf '2x plate, red\r\n3x tile, red\r4x slope, red')
	exits 0
	err_is <<<'lot-norm: 3 lots, 9 pieces'
	try lot-norm --loose < <(printf '\xEF\xBB\xBF2x plate, gr\xC3\xBCn\n')
	out_has plate,grün,2
	try lot-norm --loose < <(printf '2× plate, grün\n' | iconv -t UTF-16)
	out_has plate,grün,2
	try lot-norm --loose --encoding WINDOWS-1252 < <(printf '2\xD7 plate, gr\xFCn\n')
	out_has plate,grün,2
	try lot-norm --loose --rejects bad.csv < <(printf '2x plate, red\n3x plate, gr\xFCn\n4x til\0e, red\n')
	exits 1
	out_has plate,red,2
	diff - bad.csv <<-'END'
		text,line,why
		"3x plate, gr?n",2,"not UTF-8 at byte 13: name its --encoding, such as WINDOWS-1252"
		"4x til?e, red",3,NUL byte at byte 7: this is no text file
	END
}

@test "lines that are too many pieces together: each is a row, or a reject that says so" {
	cat >list.txt <<-'END'
		412330001x tile, blue
		2x plate, red
		412330001x tile, blue
		no lot
		412330001x tile, blue
		2x plate, red
	END
	try lot-norm --loose --rejects bad.csv list.txt
	exits 1
	out_is <<-'END'
		part,color,qty
		tile,blue,824660002
		plate,red,4
	END
	err_is <<<'lot-norm: 2 lots, 824660006 pieces, 2 rows rejected'
	[ "$(sed -n '2s/,".*//p; 3p' bad.csv)" = 'no lot,4
"412330001x tile, blue",5,"qty ""412330001"" makes the lot of line 1 too large: 999,999,999 pieces are the most"' ]
	try lot-norm --loose --keep-rows --rejects bad.csv list.txt
	exits 1
	out_is <<-'END'
		part,color,qty
		tile,blue,412330001
		plate,red,2
		tile,blue,412330001
		tile,blue,412330001
		plate,red,2
	END
	[ "$(cut -d, -f1,2 bad.csv)" = $'text,line\nno lot,4' ]
}

@test "an empty text is an empty list; a file that is not there is trouble" {
	for text in '' $'\n\n' $'---\n'; do
		try lot-norm --loose < <(printf '%s' "$text")
		exits 0
		out_is <<<part,color,qty
		err_is <<<'lot-norm: 0 lots, 0 pieces'
	done
	try lot-norm --loose absent.txt
	refused 'absent.txt: No such file'
	try lot-norm --loose .
	refused '.: Is a directory'
}

@test "a long line, and many" {
	try lot-norm --loose < <(printf '2x '; head -c 300000 /dev/zero | tr '\0' a; echo ', red')
	exits 0
	try lot-norm --loose < <(head -c 100000 /dev/zero | tr '\0' '|'; echo; head -c 60000 /dev/zero | tr '\0' '.')
	exits 0
	try lot-norm --loose < <(seq 20000 | sed 's/.*/&x K& red/')
	exits 0
	err_is <<<'lot-norm: 20000 lots, 200010000 pieces'
}
