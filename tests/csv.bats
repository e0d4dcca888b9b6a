#!/usr/bin/env bats
# shellcheck disable=SC2030,SC2031 # bats runs every test in a subshell of its own
# CSV in and out, through lot-norm: what spreadsheets write, RFC 4180, the csv-spectrum test set,
# and Python's csv module. Fields travel in columns that lot-norm does not know.

load lib

canonical='part,color,qty,bag
B-204,slate,12,1;a
B-205,grün,3,'

@test "the csv-spectrum test set" {
	# Source: npm registry, package csv-spectrum: its files and the JSON expected of them.
	spectrum=$TESTS/node_modules/csv-spectrum
	[ -d "$spectrum" ] || skip "csv-spectrum is not installed: make test-deps, with npm, installs it"
	try python3 "$TESTS/csv_outside.py" spectrum "$spectrum"
	exits 0
}

@test "hostile fields, written by Python's csv module, passed on, and read by it" {
	# Outside reference: csv.writer and csv.reader of Python, the latter strict.
	for seed in 1 2 3 4 5; do
		try python3 "$TESTS/csv_outside.py" roundtrip "$seed"
		exits 0
	done
}

# -- RFC 4180, section 2 ---------------------------------------------------------------------

@test "RFC 4180, 2.1 and 2.2: lines end in CRLF, the last one may not" {
	printf 'part,color,qty,aaa,bbb,ccc\r\nB,slate,1,aaa,bbb,ccc\r\nB,slate,2,zzz,yyy,xxx\r\n' >whole.csv
	printf 'part,color,qty,aaa,bbb,ccc\r\nB,slate,1,aaa,bbb,ccc\r\nB,slate,2,zzz,yyy,xxx' >cut.csv
	for file in whole cut; do
		try lot-norm --keep-rows <$file.csv
		exits 0
		out_is <<-'END'
			part,color,qty,aaa,bbb,ccc
			B,slate,1,aaa,bbb,ccc
			B,slate,2,zzz,yyy,xxx
		END
	done
}

@test "RFC 4180, 2.4: blanks are part of a field" {
	printf 'part,color,qty,aaa\r\nB,slate,1, a  \r\n' >list.csv
	try lot-norm <list.csv
	exits 0
	out_is < <(printf 'part,color,qty,aaa\nB,slate,1, a  \n')
}

@test "RFC 4180, 2.5: quotes around a field come off; inside an unquoted one they are a fault" {
	printf 'part,color,qty,"aaa","bbb"\r\nB,slate,"1","zzz",yyy\r\n' >list.csv
	try lot-norm <list.csv
	exits 0
	out_is < <(printf 'part,color,qty,aaa,bbb\nB,slate,1,zzz,yyy\n')
	printf 'part,color,qty,aaa\r\nB,slate,1,z"z\r\n' >list.csv
	try lot-norm <list.csv
	refused '<stdin>:2: stray quote'
}

@test "RFC 4180, 2.6 and 2.7: line breaks, commas and doubled quotes in quoted fields" {
	printf 'part,color,qty,aaa,bbb\r\nB,slate,1,"b\r\nb","b""b, b"\r\n' >list.csv
	try lot-norm <list.csv
	exits 0
	out_is < <(printf 'part,color,qty,aaa,bbb\nB,slate,1,"b\r\nb","b""b, b"\n')
}

# -- what spreadsheets write -----------------------------------------------------------------

@test "line ends, marks, delimiters and encodings: the same list, the same bytes" {
	printf 'part;color;qty;bag\nB-204;slate;12;"1;a"\nB-205;grün;3;\n' >lf
	sed 's/$/\r/' lf >crlf
	tr '\n' '\r' <lf >cr
	head -c -1 lf >unended
	printf '\xEF\xBB\xBF' | cat - lf >mark
	printf 'sep=;\r\n' | cat - crlf >sep
	printf '\xEF\xBB\xBFsep=;\r\n' | cat - crlf >mark-sep
	printf '\n\r\n' | cat - lf >blank-first
	sed 's/$/\n\n/' lf >blank-between
	sed "1!s/\$/;;;/" lf >surplus
	sed '1!s/;$//' lf >short
	printf 'part,color,qty,bag\nB-204,slate,12,1;a\nB-205,grün,3,\n' >comma
	printf 'part\tcolor\tqty\tbag\nB-204\tslate\t12\t1;a\nB-205\tgrün\t3\t\n' >tab
	printf 'part|color|qty|bag\nB-204|slate|12|1;a\nB-205|grün|3|\n' >bar
	printf 'sep=|\npart|color|qty|bag\nB-204|slate|12|1;a\nB-205|grün|3|\n' >sep-bar
	printf '"part","color","qty","bag"\n"B-204","slate","12","1;a"\n"B-205","grün","3",""\n' >quoted
	iconv -f UTF-8 -t UTF-16 lf >utf-16
	{ printf '\xFE\xFF' && iconv -f UTF-8 -t UTF-16BE crlf; } >utf-16be
	{ printf '\xFF\xFE' && iconv -f UTF-8 -t UTF-16LE tab; } >utf-16le
	for form in lf crlf cr unended mark sep mark-sep blank-first blank-between surplus short comma \
		tab bar sep-bar quoted utf-16 utf-16be utf-16le; do
		try lot-norm <$form
		exits 0
		out_is <<<"$canonical" || show "from $form"
	done
	iconv -f UTF-8 -t WINDOWS-1252 crlf >windows
	try lot-norm --encoding WINDOWS-1252 <windows
	exits 0
	out_is <<<"$canonical"
}

@test "-D overrides what the header line suggests" {
	printf 'part,color,qty,a;b;c;d;e\nB-204,slate,12,x\n' >list.csv
	try lot-norm <list.csv
	refused 'no header is known to be the part column'
	try lot-norm -D , <list.csv
	exits 0
	# Quoted, so that whoever reads it sees commas.
	printf 'part,color,qty,"a;b;c;d;e"\nB-204,slate,12,x\n' | out_is
	printf 'part,x\tcolor\tqty\nB-204\tslate\t12\n' >list.csv
	try lot-norm -D tab <list.csv
	refused 'the headers are part,x, color, qty'
	printf 'part:color:qty\nB-204:slate:12\n' >list.csv
	try lot-norm -D : <list.csv
	exits 0
}

@test "the delimiter is told from the header line, quoted parts aside" {
	printf '"a,b,c,d,e";part;color;qty\nx;B-204;slate;12\n' >list.csv
	try lot-norm <list.csv
	exits 0
	out_is <<-'END'
		"a,b,c,d,e",part,color,qty
		x,B-204,slate,12
	END
}

@test "header names: letter case and surrounding blanks aside; passed on as they are" {
	printf '  PART ,Color\t,"qty\n",  Bag  \nB-204,slate,12,1\n' >list.csv
	try lot-norm <list.csv
	exits 0
	out_is < <(printf 'part,color,qty,  Bag  \nB-204,slate,12,1\n')
}

@test "the line of a fault is the physical one where its row starts" {
	printf 'part,color,qty,note\r\n\r\nB,slate,1,"a\r\nb\r\nc"\r\nB,slate,x,"d\r\ne"\r\nB,slate,y,\r\n' >list.csv
	try lot-norm <list.csv
	refused 'lot-norm: <stdin>:6: qty "x"'
	err_has 'lot-norm: <stdin>:8: qty "y"'
	tr -d '\n' <list.csv >cr.csv
	try lot-norm <cr.csv
	refused 'lot-norm: <stdin>:6: qty "x"'
	err_has 'lot-norm: <stdin>:8: qty "y"'
	printf 'sep=,\npart,color,qty\nB,slate,x\n' >list.csv
	try lot-norm <list.csv
	refused 'lot-norm: <stdin>:3: qty "x"'
}

@test "long files, long rows and long fields, from a file and from a pipe" {
	# Larger than any block that is read at once, with line ends, accents and quotes anywhere.
	python3 - <<-'END'
		import random
		dice = random.Random(7)
		rows = ["part,color,qty,text,%s" % ("h" * 300000)]
		for i in range(20000):
		    text = dice.choice(["x" * dice.randint(0, 60), "ü" * dice.randint(0, 30), "🧱é,"])
		    rows.append(f'P{i},slate,1,"{text}",')
		rows.append('Q,slate,1,"%s",' % ("long\n" * 200000))
		rows.append('R,slate,1,"%s",z' % ("ä" * 400001))
		lf = "\n".join(rows) + "\n"
		open("lf.csv", "w", newline="").write(lf)
		open("crlf.csv", "w", newline="").write("\r\n".join(rows) + "\r\n")
		open("cr.csv", "w", newline="").write("\r".join(rows) + "\r")
		open("bad.csv", "w", newline="").write(lf + 'S,slate,no,,\n')
		open("latin.csv", "wb").write(lf.encode() + b"S,sl\xe4te,1,,\n")
		import csv
		csv.field_size_limit(10**7)
		read = list(csv.reader(open("lf.csv", newline="")))
		writer = csv.writer(open("due.csv", "w", newline=""), lineterminator="\n")
		writer.writerows(read)
	END
	for form in lf crlf cr; do
		try lot-norm --keep-rows <$form.csv
		exits 0
		cmp due.csv "$OUT"
		try lot-norm --keep-rows < <(cat $form.csv)
		exits 0
		cmp due.csv "$OUT"
	done
	try lot-norm <bad.csv
	refused 'lot-norm: <stdin>:220004: qty "no"'
	try lot-norm <latin.csv
	refused 'lot-norm: <stdin>:220004: column 2 (color) is not UTF-8 at byte 3 of the field'
}

@test "side files are read in the same forms" {
	printf '\xEF\xBB\xBFsep=;\r\nColumn ; PATTERN;Name;why\r\ncolor;"gr(ü|ue)n";"green";x\r\n' >names.csv
	try lot-norm -n names.csv <<-'END'
		part,color,qty
		B-204,gruen,12
	END
	exits 0
	out_is <<-'END'
		part,color,qty
		B-204,green,12
	END
}

@test "headers that hold other delimiters, or start as a mark, read back as they were" {
	# Found by fuzzing: what was written had more semicolons than commas, and read as another table.
	printf 'part,color,qty,"a;b;c;d","e\tf","g|h"\nB-204,slate,1,"1;2",3,4\n' >list.csv
	try lot-norm <list.csv
	exits 0
	printf 'part,color,qty,"a;b;c;d","e\tf","g|h"\nB-204,slate,1,1;2,3,4\n' | out_is
	cp "$OUT" first.csv
	try lot-norm <first.csv
	exits 0
	out_is <first.csv
	# A first column that is named as a mark or a line of its own.
	for name in 'sep=;' $'\xEF\xBB\xBFx'; do
		printf '"%s",part,color,qty\n1,B-204,slate,1\n' "$name" >list.csv
		try lot-norm <list.csv
		exits 0
		out_is <list.csv
	done
}

@test "a delimiter is ASCII and no quote: sep= that says another is a header" {
	for byte in '"' $'\xE9'; do
		try lot-norm <<<"sep=$byte"$'\npart,color,qty\nB-204,slate,1'
		exits 2
		try lot-norm -D "$byte" <<<$'part,color,qty\nB-204,slate,1'
		refused 'a delimiter is one byte of ASCII and no quote, or "tab"'
	done
}

@test "the last character of an encoding that holds it back" {
	# Found by fuzzing. In CP1255 a point may follow a letter; in Big5 with HKSCS, another mark.
	for encoding in CP1255 CP1258 BIG5-HKSCS EUC-JISX0213; do
		case $encoding in
		CP1255) letter=א ;;
		CP1258) letter=a ;;
		BIG5-HKSCS) letter=Ê ;;
		EUC-JISX0213) letter=か ;;
		esac
		printf 'part,color,qty,note\nB-204,slate,1,x%s' "$letter" | iconv -t $encoding >list.csv
		try lot-norm --encoding $encoding <list.csv
		exits 0
		printf 'part,color,qty,note\nB-204,slate,1,x%s\n' "$letter" | out_is
	done
}

# Rows of a table that fill so many bytes and no more, with its header.
rows_of() {
	python3 - "$1" <<-'END'
		import sys
		size = int(sys.argv[1])
		header, row = "part,color,qty,note\n", "B-204,slate,1,%s\n"
		full, left = divmod(size - len(header), len(row % "xxxxxx"))
		sys.stdout.write(header + row % "xxxxxx" * (full - 1) + row % ("x" * (6 + left)))
	END
}

@test "bytes that are no text where one read ends and the next begins" {
	# Found by fuzzing. A row that ended a read, four bytes after them or less, passed as text; behind
	# them in a long file, what lay before the buffer was looked at. 256 KiB are read at a time.
	for before in 1 2 3; do
		rows_of $((262144 - 15 - before)) >list.csv
		printf 'B-204,slate,1,\xE2%s\n' "$(head -c $((before - 1)) /dev/zero | tr '\0' y)" >>list.csv
		[ "$(wc -c <list.csv)" -eq 262144 ]
		rows_of 1000 | tail -n +2 >>list.csv
		try lot-norm <list.csv
		refused 'column 4 (note) is not UTF-8 at byte 1 of the field'
		err_lines 1
	done
	{ rows_of 1000 && printf 'B-204,slate,1,\xE9\n' && rows_of 600000 | tail -n +2; } >list.csv
	for input in list.csv <(cat list.csv); do
		try lot-norm <"$input"
		refused 'column 4 (note) is not UTF-8 at byte 1 of the field'
		err_lines 1
	done
}
