#!/usr/bin/env bats
# What spreadsheet programs write of one list (exports/, made by exports.py with ssconvert of
# Gnumeric 1.12 and LibreOffice 7.4, Debian's packages), through lot-norm: the same bytes out of all.

load lib

# The list that exports.py puts together, in canonical form.
canonical() {
	cat <<-'END'
		seller,part,,color,qty,price,note
		Fach Neun,00715,,dunkelgrün,1200,0.3,"für ""Dach""
		links; rechts, oben"
		Müller & Söhne – Teile,K1042,,"café, hell",8,12.5,
		"Ladrillo ""Año""",0020-3,,„schiefer“,40,1250.505,'=1+1
	END
}

# What lot-norm must be told of a file, by its name: what no file says of itself.
options_for() {
	case $1 in
	*semicolon* | *utf16*) echo --decimal comma ;;
	esac
	case $1 in
	*-1252*) echo --encoding WINDOWS-1252 ;;
	esac
}

# Every export in the directory gives the canonical list.
all_the_same() {
	local count=0 file
	for file in "$1"/*; do
		case $file in
		*-spoiled*) continue ;;
		esac
		# One word an option.
		# shellcheck disable=SC2046
		try lot-norm $(options_for "$file") --except seller=Summe offers "$file"
		exits 0 || show "$file"
		out_is < <(canonical) || show "$file"
		err_is <<<'lot-norm: 3 offers, 3 sellers' || show "$file"
		count=$((count + 1))
	done
	[ "$count" -eq "$2" ]
}

# Every part that the spreadsheet took for something else is pointed out, in its line.
all_pointed_out() {
	local count=0 file decimals month_day month_year
	for file in "$1"/*-spoiled*; do
		decimals=1007.0 month_day=1-Mar month_year=Mar-01
		case $file in
		*-german*) decimals=1007,0 month_day=1-Mär month_year=Mär-01 ;;
		esac
		try lot-norm "$file"
		exits 2 && out_is_empty && err_lines 5
		err_has "$file:2: part \"1E+05\" is a number in scientific notation"
		err_has "$file:3: part \"$decimals\" is a number with decimals"
		err_has "$file:4: part \"2026-03-01\" is a date"
		err_has "$file:5: part \"$month_day\" is a date"
		err_has "$file:6: part \"$month_year\" is a date"
		count=$((count + 1))
	done
	[ "$count" -eq "$2" ]
}

@test "the kept exports: comma, semicolon, tab, UTF-16, Windows-1252, decimal comma and point" {
	all_the_same "$TESTS/exports" 10
}

@test "the kept exports: parts that were taken for numbers and dates are pointed out" {
	all_pointed_out "$TESTS/exports" 4
}

@test "Windows-1252 without being told is refused, and the way out is named" {
	try lot-norm --decimal comma offers "$TESTS/exports/libreoffice-semicolon-1252.csv"
	refused ':1: header of column 1 is not UTF-8 at byte 5: name its --encoding, such as WINDOWS-1252'
}

@test "ssconvert here exports the same" {
	needs ssconvert gnumeric
	needs localedef locales
	mkdir made
	try python3 "$TESTS/exports.py" gnumeric made
	exits 0
	all_the_same made 5
	all_pointed_out made 2
}

@test "LibreOffice here exports the same" {
	needs soffice libreoffice-calc
	mkdir made
	try python3 "$TESTS/exports.py" libreoffice made
	exits 0
	all_the_same made 5
	all_pointed_out made 2
}
