#!/usr/bin/env bats
# examples/spreadsheet: every command of its README is run in a copy of the folder, and prints what
# stands there; the sheet it ends with is opened in a spreadsheet program, and saved there.

load lib

setup() {
	begin
	EXAMPLE=$TESTS/../examples/spreadsheet
	cp "$EXAMPLE"/* .
}

# Runs the commands of the README in order; each with what it prints becomes a session like the page's
# own. Byte-order marks and CR are not seen on a page.
replay() {
	local line command='' inside=''
	while IFS= read -r line; do
		case $line in
		'```'*)
			[ -n "$inside" ] && inside='' || inside=yes
			printf '%s\n' "$line"
			;;
		'$ '* | '    '*)
			[ -n "$inside" ] || continue
			printf '%s\n' "$line"
			command="$command${line#'$ '}"
			case $command in
			*\\) command=${command%\\} ;;
			*)
				sh -c "$command" 2>&1 </dev/null | sed -e 's/\r$//' -e 's/^\xEF\xBB\xBF//'
				command=''
				;;
			esac
			;;
		esac
	done
}

@test "the commands of examples/spreadsheet print what its README says" {
	replay <README.md >played
	awk '/^```/ { inside = !inside; print; next } inside' README.md | diff -u - played
	[ "$(grep -c '^\$ ' played)" -eq 19 ]
	# Every file that is kept is in the table of files.
	for file in "$EXAMPLE"/*.*; do
		case $file in
		*README.md) ;;
		*) grep -qF "\`${file##*/}\`" README.md ;;
		esac
	done
}

@test "what the README says of the files is so" {
	[ "$(head -c 3 liste.csv)" = $'\xEF\xBB\xBF' ]
	[ "$(grep -c $'\r$' liste.csv)" -eq 6 ]
	try lot-norm --decimal comma offers angebote.csv
	refused 'is not UTF-8'
}

@test "LibreOffice opens the sheet and saves it: parts, colors and quantities are those of the orders" {
	needs soffice libreoffice-calc
	replay <README.md >played
	# The filter's words: delimiter, quote, UTF-8, first line, no formats, German, quoted fields are text.
	HOME=$PWD soffice "-env:UserInstallation=file://$PWD/profile" --headless \
		--infilter='CSV:59,34,76,1,,1031,true,true' \
		--convert-to 'csv:Text - txt - csv (StarCalc):59,34,76,1,,1031,false,true,true' \
		--outdir saved bestellung.csv >/dev/null 2>&1
	lot-norm -q --keep-rows --decimal comma saved/bestellung.csv |
		cut -d, -f2-4 | diff -u <(cut -d, -f5,6,8 orders.csv) -
}
