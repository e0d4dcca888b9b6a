#!/usr/bin/env bats
# Names of strangers: sellers, parts, colors, lots, models, charges, rules called what a file system, a
# terminal, a spreadsheet, a page or a program would take for something else. Each name goes through a
# typical run of every program (runs.bash), in every column that names a thing; check_hostile.py holds
# every table, text, page and drawing that comes out to what its form promises.

# shellcheck disable=SC2016,SC1003 # names that look like shell

load lib
load runs

# named NAME...: each as Python writes it between quotes, so that all of it can be seen here.
named() {
	local written name run place=$PWD
	for written; do
		name=$(python3 -c 'import ast, sys; sys.stdout.buffer.write((ast.literal_eval(chr(39) + sys.argv[1] + chr(39)) + ".").encode())' \
			"$written")
		name=${name%.}
		rm -rf "$place/run"
		mkdir "$place/run"
		cd "$place/run" || return
		runs_files "$name" || return
		for run in "${RUNS[@]}"; do
			run_of "$run"
			cp "$OUT" "$run.stdout"
			cp "$ERR" "$run.stderr"
			echo "$status" >"$run.status"
			echo "${RUN_SIDES[$run]}" >"$run.sides"
		done
		python3 "$TESTS/check_hostile.py" "$written" "${RUNS[@]}" || return
		cd "$place" || return
		[ "$(ls -A)" = run ] || show "written beside the run: $(ls -A)" || return
	done
}

@test "the runs here are of every program" {
	local programs
	programs=$(sed -n '/^PROGRAMS = /,/[^\\]$/p' "$TESTS/../Makefile" | tr -d '\\=' | tr -s ' \n' '\n' | grep ^lot- | sort)
	[ "$(printf '%s\n' "${RUNS[@]%%:*}" | sort -u)" = "$programs" ]
}

@test "a plain name" {
	named 'Attic'
}

@test "names of files: paths, options, devices, 300 bytes" {
	named '../../x' '/etc/x' '-rf' '--' '-' 'CON' 'nul.csv' '.' '~' 'x\\y' "$(printf 'x%.0s' {1..300})" "$(printf 'é%.0s' {1..150})"
}

@test "names that are commands" {
	named '$(touch x)' '`touch x`' '| touch x' '; touch x' '%s%n%999999999d' '*?' '\\'
}

@test "formulas" {
	named "=cmd|\\'/c calc\\'!A1" '+1+1' '-2+3' '@SUM(1)' '\t=1' ' =1' '＝1+1' '\u200b=1+1'
}

@test "what is markup in a page, a post, a drawing" {
	named '</script><script>alert(1)</script>' '<!--' ']]>' '<img src=x onerror=alert(1)>' '&lt;b&gt;' '&#x202e;' \
		'[x](javascript:alert(1))' '![x](http://x.invalid/)' 'http://x.invalid/' '<http://x.invalid/>' '# x' '`x' '**x**' '|' '\\|' '---'
}

@test "what is a delimiter, a quote, a line end in CSV" {
	named ',' ';' '|a' '"' '""' 'a"b' 'a\nb' 'a\r\nb' 'a\rb' 'sep=;' 'a\tb' ' a '
}

@test "what a terminal obeys" {
	named '\x1b[31mred' '\x1b]0;title\x07' '\x1b[2J\x1b[H' '\x9b31m' '\x85' '\x08\x08\x08' '\x7f' '\x01' 'a\rb\x1b[K' '\x1bP1$r\x1b\\\\'
}

@test "what is not seen, turns text round, or is no character" {
	named '\u202eevil' '\u2066x\u2069' '\u200fx' '\u05d0\u05d1' '\u061c' '\u2028' '\ufeff' '\ufeffx' '\u200b' '\u00ad' '\ufffe' '\U000e0041' \
		'\u0301' '\U0001f469\u200d\U0001f680' 'e\u0301\u0301\u0301' '\uff1b'
}

@test "what is a number, or a word that means something" {
	named '0' '007' '1e5' '-1' 'NaN' 'Owned' 'TOTAL ' 'any ' 'no' 'yes' 'N/A' 'lot' '#2' '~'
}

# ---- what is told

# told WHAT: check_told.py on the files of the runs.
told() {
	runs_files
	runs_listed >runs.tsv
	python3 "$TESTS/check_told.py" "$1" runs.tsv || return
	[ -z "$(find . -name '*touched*')" ]
}

@test "every column of every file, with a field of terminal escapes: told in lines that a terminal does not obey" {
	told fields
}

@test "every header of every file, the same" {
	told headers
}

@test "every option and operand of every program, the same" {
	told arguments
}

@test "files whose names are terminal escapes" {
	told files
}

@test "a NUL byte in any file is told, and nothing is written" {
	told nul
}

@test "an empty name in any column is told, or is none" {
	told empty
}

@test "on a terminal, lot-show writes its own styles and nothing of a name" {
	runs_files $'\e[31mred\e[0m\u202e'
	try env TERM=xterm python3 "$TESTS/terminal.py" --stdout 80 lot-show --group seller <orders.csv
	exits 0
	python3 - "$OUT" <<-'END'
		import re, sys
		seen = open(sys.argv[1], encoding="utf-8", newline="").read()
		plain = re.sub("\x1b\\[[012]m", "", seen)
		assert plain != seen and not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e]", plain), ascii(plain)
		assert "seller: \u241b[31mred\u241b[0m\ufffd" in plain, ascii(plain)
	END
}
