#!/usr/bin/env bats
# What a program finds around it: locale, variables, directories it may not write, standard files that are closed, a
# name that is none, an umask. A typical run of each program and output form (runs.bash) writes the same bytes there,
# in tables and in what it tells, or says what is wrong and leaves every file as it was.

load lib
load runs

# Where root may write everywhere, by what it can be kept from it; none of them: the tests say so, and are skipped.
#   plain     nobody's own permissions        setpriv   root without its capabilities
#   mount     a read-only mount of the directory, which no other process sees
MEANS=(plain setpriv mount)

setup_file() {
	local run means
	mkdir "$BATS_FILE_TMPDIR/files"
	cd "$BATS_FILE_TMPDIR/files" || return
	runs_files
	for run in "${RUNS[@]}"; do
		result_of "$run" "$BATS_FILE_TMPDIR/plain/$run"
		[ "$(cat "$BATS_FILE_TMPDIR/plain/$run/status")" -eq 0 ]
	done
	other_files
	messages_of "$BATS_FILE_TMPDIR/messages"
	: >"$BATS_FILE_TMPDIR/compared"
	mkdir "$BATS_FILE_TMPDIR/shut"
	cd "$BATS_FILE_TMPDIR/shut" || return
	for means in "${MEANS[@]}"; do
		if is_shut "$means"; then
			echo "$means"
		fi
	done >"$BATS_FILE_TMPDIR/means"
	echo "# directories are shut by: $(tr '\n' ' ' <"$BATS_FILE_TMPDIR/means")" >&3
}

teardown_file() {
	echo "# ${#RUNS[@]} runs, compared $(wc -l <"$BATS_FILE_TMPDIR/compared") times" >&3
}

setup() {
	begin
	cp -r "$BATS_FILE_TMPDIR"/files/* .
}

# other_files: those of the runs in directories beside them. odd: fields that are wrong, some as a locale may take them
# for right. capitals: all in capital letters, I among them.
other_files() {
	python3 - <<-'END'
		import csv, glob, os
		ODD = ["1,5", "\u0130\u0131", "1.234,5", "\u00c4\u00d6", "\u0663", "-0,5", "TITLE", "title\u00a0", "1e3", "\u00fc"]
		for path in sorted(glob.glob("*.csv")) + ["lines.txt"]:
		    mark = ";" if path == "export.csv" else ","
		    with open(path, encoding="utf-8", newline="") as text:
		        rows = list(csv.reader(text, delimiter=mark))
		    odd = rows[:1] + [[ODD[(i + j) % len(ODD)] for j in range(len(row))] for i, row in enumerate(rows[1:])]
		    for place, table in (("odd", odd), ("capitals", [[field.upper() for field in row] for row in rows])):
		        os.makedirs(place, exist_ok=True)
		        with open(os.path.join(place, path), "w", encoding="utf-8", newline="") as out:
		            csv.writer(out, delimiter=mark, lineterminator="\n").writerows(table)
	END
}

# clear_sides RUN: as if it had not run.
clear_sides() {
	local side
	for side in ${RUN_SIDES[$1]}; do
		rm -rf "$side"
	done
}

# kept PLACE INPUT COMMAND...: what it writes and its status, in files of the place.
kept() {
	local place=$1 input=$2 status=0
	shift 2
	mkdir -p "$place"
	"$@" <"$input" >"$place/stdout" 2>"$place/stderr" || status=$?
	echo "$status" >"$place/status"
}

# result_of RUN PLACE [BEFORE...]: all that the run writes, kept in the place; BEFORE stands before the command.
result_of() {
	local run=$1 place=$2 side words
	shift 2
	read -ra words <<<"${RUN_WORDS[$run]}"
	clear_sides "$run"
	kept "$place" "${RUN_INPUT[$run]}" "$@" "${words[@]}"
	for side in ${RUN_SIDES[$run]}; do
		[ ! -e "$side" ] || cp -r "$side" "$place/$side"
	done
	clear_sides "$run"
	nothing_temporary
}

nothing_temporary() {
	find . -name '.lot*' | diff /dev/null -
}

# messages_of PLACE [BEFORE...]: what each run says to files that are not there, to a directory as its input, to a
# directory of side files that is not there, to an unknown option, to odd files and to files in capitals.
messages_of() {
	local place=$1 run words word other
	shift
	for run in "${RUNS[@]}"; do
		read -ra words <<<"${RUN_WORDS[$run]}"
		other=()
		for word in "${words[@]}"; do
			[[ $word != *.csv ]] || word=${word%"${word##*=}"}nowhere/${word##*=}
			other+=("$word")
		done
		kept "$place/$run/files" "${RUN_INPUT[$run]}" "$@" "${other[@]}"
		other=()
		for word in "${words[@]}"; do
			[[ $word != *.out && $word != dealt ]] || word=nowhere/$word
			other+=("$word")
		done
		kept "$place/$run/sides" "${RUN_INPUT[$run]}" "$@" "${other[@]}"
		kept "$place/$run/directory" "$PWD" "$@" "${words[@]}"
		kept "$place/$run/option" /dev/null "$@" "${words[@]}" --unheard-of
		for other in odd capitals; do
			cd $other || return
			kept "$place/$run/$other" "${RUN_INPUT[$run]}" "$@" "${words[@]}"
			clear_sides "$run"
			cd .. || return
		done
		clear_sides "$run"
	done
}

# same DUE GOT: the same bytes, counted.
same() {
	echo "$BATS_TEST_NUMBER $2" >>"$BATS_FILE_TMPDIR/compared"
	diff -r "$1" "$2"
}

# same_when BEFORE...: every run writes what it writes without it.
same_when() {
	local run
	rm -rf "$PWD/after"
	for run in "${RUNS[@]}"; do
		result_of "$run" "$PWD/after/$run" "$@"
		same "$BATS_FILE_TMPDIR/plain/$run" "after/$run"
	done
}

# same_messages_when BEFORE...: and says what it says without it.
same_messages_when() {
	local run
	rm -rf "$PWD/told"
	messages_of "$PWD/told" "$@"
	for run in "${RUNS[@]}"; do
		same "$BATS_FILE_TMPDIR/messages/$run" "told/$run"
	done
}

# sides_are_plain RUN: its side files are there, and whole.
sides_are_plain() {
	local side
	for side in ${RUN_SIDES[$1]}; do
		same "$BATS_FILE_TMPDIR/plain/$1/$side" "$side"
	done
}

# ---- what is compared

@test "the runs here are of every form that an output has" {
	local form
	for form in text markdown html sheet; do
		[[ " ${RUNS[*]} " == *" lot-show:$form "* ]]
	done
	lot-show --help | grep -qF 'text, markdown, html or sheet'
	for form in lot-plot lot-plot:lines lot-plot:pareto; do
		[[ " ${RUNS[*]} " == *" $form "* ]]
	done
	lot-plot --help | grep -qF 'bars, lines or pareto'
}

@test "the messages here are of errors of the system, of bad fields and of bad usage" {
	local kind
	cd "$BATS_FILE_TMPDIR/messages"
	for kind in 'No such file or directory' 'Is a directory' 'unknown or ambiguous option'; do
		[ "$(grep -rlF "$kind" . | wc -l)" -ge 10 ]
	done
	[ "$(cat ./*/odd/status | grep -c 2)" -ge 15 ]
	[ "$(cat ./*/odd/stderr | wc -l)" -ge 200 ]
}

# ---- locale

# locale_made NAME: in a place of its own, since few systems have all of them. Where it cannot be made, a test that
# needs it fails in continuous integration, and is skipped aloud elsewhere.
locale_made() {
	FULL=${FULL:-${CI:-}} needs localedef locales
	mkdir -p locales
	localedef -i "$1" -f UTF-8 "$PWD/locales/$1.UTF-8" || [ $? -eq 1 ] # with warnings
	[ -d "locales/$1.UTF-8" ]
	export LOCPATH=$PWD/locales
}

@test "LC_ALL=C: the same bytes" {
	same_when env LC_ALL=C
	same_messages_when env LC_ALL=C
}

@test "German, where a comma is the decimal mark: the same bytes" {
	locale_made de_DE
	[ "$(LC_ALL=de_DE.UTF-8 bash -c 'printf %.1f 1,5')" = 1,5 ] # it is there, and at work
	if [ -e /usr/share/locale/de/LC_MESSAGES/libc.mo ]; then
		LC_ALL=de_DE.UTF-8 LANGUAGE=de cat nowhere 2>foreign || true
		run ! grep 'No such file' foreign
	fi
	same_when env LC_ALL=de_DE.UTF-8 LANGUAGE=de
	same_messages_when env LC_ALL=de_DE.UTF-8 LANGUAGE=de
}

@test "Turkish, where the capital of i is another letter: the same bytes" {
	locale_made tr_TR
	[ "$(LC_ALL=tr_TR.UTF-8 bash -c 'x=i; echo "${x^}"')" = İ ]
	same_when env LC_ALL=tr_TR.UTF-8 LANGUAGE=tr
	same_messages_when env LC_ALL=tr_TR.UTF-8 LANGUAGE=tr
}

@test "encodings named in capitals and in small letters, in Turkish too" {
	local name
	locale_made tr_TR
	iconv -f UTF-8 -t ISO-8859-9 >latin5.csv <<-'END'
		part,color,qty
		P-104,kırmızı,16
		P-105,gümüş,2
	END
	for name in ISO-8859-9 iso-8859-9 windows-1254; do
		try env LC_ALL=tr_TR.UTF-8 lot-norm --encoding "$name" <latin5.csv
		exits 0
		out_is <<-'END'
			part,color,qty
			P-104,kırmızı,16
			P-105,gümüş,2
		END
	done
}

@test "on a terminal, German and Turkish: the same bytes" {
	local name
	try env -u COLUMNS -u NO_COLOR TERM=xterm python3 "$TESTS/terminal.py" --stdout 60 lot-show --group seller <orders.csv
	exits 0
	cp "$OUT" due
	for name in de_DE tr_TR; do
		locale_made "$name"
		try env -u COLUMNS -u NO_COLOR TERM=xterm python3 "$TESTS/terminal.py" --stdout 60 \
			env LC_ALL="$name.UTF-8" lot-show --group seller <orders.csv
		exits 0
		same due "$OUT"
	done
}

@test "a locale that is not there: the same bytes" {
	same_when env LC_ALL=xx_XX.UTF-8
	same_when env LC_ALL=../../../etc LOCPATH="$PWD"
}

@test "no program asks for a locale" {
	local program
	command -v nm >/dev/null || skip "no nm here: it is in Debian's binutils"
	! sanitized || skip "sanitizers have locales of their own"
	for program in "$BIN"/lot-*; do
		nm -D "$program" | sed 's/@.*//; s/.* //' >names
		grep -qx malloc names # they are listed
		run ! grep -xE 'setlocale|newlocale|uselocale|nl_langinfo|localeconv|strcoll|strxfrm|gettext|dcgettext|.*_l' names
	done
}

# ---- variables

@test "no variable but PATH, HOME and SHELL among those that are missing: the same bytes" {
	same_when env -i PATH="$PATH"
	same_messages_when env -i PATH="$PATH"
}

@test "a megabyte and a half of variables, ten thousand of them: the same bytes" {
	local large=() small=() i value
	value=$(printf 'x%.0s' {1..100000})
	for i in {1..15}; do
		large+=("LARGE_$i=$value")
	done
	for i in {1..10000}; do
		small+=("_$i=$i")
	done
	same_when env "${large[@]}"
	same_when env "${small[@]}"
}

@test "variables that other programs go by: the same bytes" {
	same_when env COLUMNS=20 LINES=-3 TERM=$'\e[31m' NO_COLOR= CLICOLOR_FORCE=1 FORCE_COLOR=1
	same_when env HOME=/nowhere PWD=/nowhere OLDPWD= USER= SHELL=/nowhere IFS=,. ENV=need.csv BASH_ENV=need.csv
	same_when env TZ=:nowhere LANG=de_DE LANGUAGE=tr LC_NUMERIC=de_DE OUTPUT_CHARSET=UTF-16 SOURCE_DATE_EPOCH=-1
	same_when env GETOPT_COMPATIBLE=1 POSIXLY_CORRECT=1
}

@test "memory filled with what was not asked for: the same bytes" {
	same_when env MALLOC_PERTURB_=165
	same_when env MALLOC_PERTURB_=90 MALLOC_ARENA_MAX=1 MALLOC_MMAP_THRESHOLD_=4096 MALLOC_TOP_PAD_=0
}

@test "POSIXLY_CORRECT: options end where operands begin" {
	try lot-compare one=totals.csv -q totals-2.csv
	exits 0
	try env POSIXLY_CORRECT=1 lot-compare one=totals.csv -q totals-2.csv
	refused 'lot-compare: -q: No such file or directory'
}

@test "a terminal with COLUMNS, LINES, TERM and NO_COLOR that are nonsense" {
	local value
	shown() {
		local cells=$1
		shift
		try env -u COLUMNS -u NO_COLOR TERM=xterm "$@" python3 "$TESTS/terminal.py" --stdout "$cells" \
			lot-show --group seller <orders.csv
		exits 0
	}
	shown 70
	cp "$OUT" due
	cp "$ERR" due.told
	shown 80
	cp "$OUT" usual
	run ! cmp due usual
	for value in '' -5 +5 0 000 x 80x ' 80' 8e1 0x50 $'80\n' ٣ %n 80,5; do
		shown 70 COLUMNS="$value" LINES="$value"
		same due "$OUT"
		same due.told "$ERR"
		shown 0 COLUMNS="$value" # it does not know its width
		same usual "$OUT"
	done
	shown 20 COLUMNS=70
	same due "$OUT"
	for value in 99999999999999999999999 18446744073709551616 4294967297; do
		shown 20 COLUMNS=$value
		sed 's/\x1b\[[0-9]m//g' "$OUT" >wide
		same "$BATS_FILE_TMPDIR/plain/lot-show:text/stdout" wide
	done
	for value in 1 2 3; do
		shown 70 COLUMNS=$value
		err_has 'columns do not fit the terminal'
	done
	for value in nonsense $'\e[31mred' ../../etc "$(printf 'x%.0s' {1..5000})"; do
		shown 70 TERM="$value"
		same due "$OUT"
	done
	sed 's/\x1b\[[0-9]m//g' due >colorless
	run ! cmp due colorless
	for value in TERM= TERM=dumb NO_COLOR= NO_COLOR=0 NO_COLOR=$'\e[31m'; do
		shown 70 "$value"
		same colorless "$OUT"
	done
	shown 70 env -u TERM
	same colorless "$OUT"
}

# ---- places

@test "TMPDIR that is missing, that is a file, that may not be written: the same bytes" {
	mkdir locked
	same_when env TMPDIR="$PWD/nowhere" TMP="$PWD/nowhere" TEMP=
	same_when env TMPDIR="$PWD/need.csv"
	same_when env TMPDIR="$PWD/locked"
	[ -z "$(ls -A locked)" ]
	chmod 555 locked
	same_when env TMPDIR="$PWD/locked"
	if grep -qx setpriv "$BATS_FILE_TMPDIR/means"; then
		same_when unprivileged env TMPDIR="$PWD/locked"
	fi
}

unprivileged() {
	setpriv --bounding-set=-all --inh-caps=-all -- "$@"
}

# in_shut MEANS COMMAND...: where nothing may be written in this directory.
in_shut() {
	local means=$1 was status=0
	shift
	if [ "$means" = mount ]; then
		# shellcheck disable=SC2016 # for the other shell
		unshare -m sh -c 'mount --bind . . && mount -o remount,bind,ro . && cd -- "$PWD" && exec "$@"' sh "$@"
		return
	fi
	was=$(stat -c %a .)
	chmod 555 .
	if [ "$means" = setpriv ]; then
		unprivileged "$@" || status=$?
	else
		"$@" || status=$?
	fi
	chmod "$was" .
	return "$status"
}

is_shut() {
	rm -f probe
	in_shut "$1" true 2>/dev/null && ! in_shut "$1" touch probe 2>/dev/null && [ ! -e probe ]
}

# shut_by: the means there are.
shut_by() {
	[ -s "$BATS_FILE_TMPDIR/means" ] ||
		skip "every directory may be written here, whether with permissions, without capabilities or mounted read-only"
	mapfile -t MEANS <"$BATS_FILE_TMPDIR/means"
}

# refused_here: with one message of one path that may not be written.
refused_here() {
	exits 2
	out_is_empty
	err_lines 1
	grep -qE ': (Permission denied|Read-only file system)$' "$ERR" || show "no such message"
}

# listing: all that is here.
listing() {
	find . -type f -exec cksum {} + | sort
	find . ! -type f | sort
}

@test "a directory that may not be written: told, and nothing is lost or half written" {
	local run words means
	shut_by
	for means in "${MEANS[@]}"; do
		listing >"$BATS_TEST_TMPDIR/listing"
		for run in "${RUNS[@]}"; do
			read -ra words <<<"${RUN_WORDS[$run]}"
			try in_shut "$means" "${words[@]}" <"${RUN_INPUT[$run]}"
			if [ -n "${RUN_SIDES[$run]}" ]; then
				refused_here
			else
				exits 0
				same "$BATS_FILE_TMPDIR/plain/$run/stdout" "$OUT"
			fi
		done
		listing | diff "$BATS_TEST_TMPDIR/listing" -
	done
}

@test "files of before, in a directory that may not be written: as they were" {
	local run words means side place=$PWD
	shut_by
	for run in "${RUNS[@]}"; do
		[ "$run" = lot-deal ] || for side in ${RUN_SIDES[$run]}; do
			echo before >"$side"
		done
	done
	lot-deal -q -d dealt <orders.csv
	for means in "${MEANS[@]}"; do
		listing >"$BATS_TEST_TMPDIR/listing"
		for run in "${RUNS[@]}"; do
			[ -n "${RUN_SIDES[$run]}" ] && [ "$run" != lot-deal ] || continue
			read -ra words <<<"${RUN_WORDS[$run]}"
			try in_shut "$means" "${words[@]}" <"${RUN_INPUT[$run]}"
			refused_here
		done
		# lot-deal writes inside of its directory
		sed 2d orders.csv >"$BATS_TEST_TMPDIR/fewer.csv"
		cd "$place/dealt"
		try in_shut "$means" lot-deal -d "$PWD" <"$BATS_TEST_TMPDIR/fewer.csv"
		refused_here
		cd "$place"
		listing | diff "$BATS_TEST_TMPDIR/listing" -
	done
}

@test "a file that may not be read: told" {
	local run words word
	[ "$(id -u)" -ne 0 ] || grep -qx setpriv "$BATS_FILE_TMPDIR/means" || skip "every file may be read here"
	reader() { if [ "$(id -u)" -eq 0 ]; then unprivileged "$@"; else "$@"; fi; }
	for run in "${RUNS[@]}"; do
		read -ra words <<<"${RUN_WORDS[$run]}"
		for word in "${words[@]}"; do
			word=${word##*=}
			[[ $word == *.csv ]] && [ "$word" != "${RUN_INPUT[$run]}" ] || continue
			chmod 000 "$word"
			try reader "${words[@]}" <"${RUN_INPUT[$run]}"
			chmod 644 "$word"
			refused "${words[0]}: $word: Permission denied"
			err_lines 1
			[ -z "$(find . -name '*.out')" ]
		done
	done
}

@test "a directory that is gone: told where a file is to be written, no matter elsewhere" {
	local run words place=$PWD
	mkdir gone
	cd gone
	rmdir ../gone
	try lot-swap -r "$place/swaps.csv" <"$place/need.csv"
	exits 0
	same "$BATS_FILE_TMPDIR/plain/lot-swap/stdout" "$OUT"
	try lot-owned -k "$place/stock.csv" --taken taken.out <"$place/need.csv"
	refused 'lot-owned: taken.out: No such file or directory'
	try lot-deal -d dealt <"$place/orders.csv"
	refused 'lot-deal: dealt: No such file or directory'
	cd "$place"
}

# ---- standard files that are closed, or open the wrong way

no_stdin() {
	"$@" <&-
}

stdin_to_write() {
	"$@" 0>written
}

no_stdout() {
	"$@" >&-
}

stdout_to_read() {
	"$@" 1<need.csv
}

no_stderr() {
	"$@" 2>&-
}

stderr_to_read() {
	"$@" 2<need.csv
}

none_open() {
	"$@" <&- >&- 2>&-
}

@test "stdin closed, or open to write: told by whoever reads it" {
	local run words how
	for how in no_stdin stdin_to_write; do
		for run in "${RUNS[@]}"; do
			read -ra words <<<"${RUN_WORDS[$run]}"
			clear_sides "$run"
			try "$how" "${words[@]}"
			if [ "${RUN_INPUT[$run]}" = /dev/null ]; then
				exits 0
				same "$BATS_FILE_TMPDIR/plain/$run/stdout" "$OUT"
				sides_are_plain "$run"
			else
				refused "${words[0]}: <stdin>: Bad file descriptor"
				err_lines 1
				[ -z "${RUN_SIDES[$run]}" ] || [ -z "$(find . -path "./${RUN_SIDES[$run]%% *}")" ]
			fi
		done
		try "$how" lot-market -o - -s sellers.csv -x rates.csv -C EUR
		refused 'lot-market: <stdin>: Bad file descriptor'
	done
	[ ! -s written ]
}

@test "stdout closed, or open to read: told, and side files are whole" {
	local run words how
	for how in no_stdout stdout_to_read; do
		for run in "${RUNS[@]}"; do
			read -ra words <<<"${RUN_WORDS[$run]}"
			clear_sides "$run"
			try "$how" "${words[@]}" <"${RUN_INPUT[$run]}"
			if [ "$run" = lot-deal ]; then # which writes none
				exits 0
			else
				exits 2
				err_has "${words[0]}: <stdout>: Bad file descriptor"
			fi
			sides_are_plain "$run"
		done
		for run in "$BIN"/lot-*; do
			for word in --help --version; do
				try "$how" "$run" $word
				exits 2
				err_has "${run##*/}: <stdout>: Bad file descriptor"
			done
		done
	done
	same "$BATS_FILE_TMPDIR/files/need.csv" need.csv
}

@test "stderr closed, or open to read: the same bytes but for what is told" {
	local run words how
	for how in no_stderr stderr_to_read; do
		for run in "${RUNS[@]}"; do
			read -ra words <<<"${RUN_WORDS[$run]}"
			clear_sides "$run"
			try "$how" "${words[@]}" <"${RUN_INPUT[$run]}"
			exits 0
			same "$BATS_FILE_TMPDIR/plain/$run/stdout" "$OUT"
			sides_are_plain "$run"
			try "$how" "${words[@]}" --unheard-of <"${RUN_INPUT[$run]}"
			exits 2
			out_is_empty
		done
	done
	same "$BATS_FILE_TMPDIR/files/need.csv" need.csv
}

@test "all of them closed: trouble, and no message in a file" {
	local run words
	for run in "${RUNS[@]}"; do
		read -ra words <<<"${RUN_WORDS[$run]}"
		clear_sides "$run"
		try none_open "${words[@]}"
		exits 2
		if [ "${RUN_INPUT[$run]}" = /dev/null ]; then
			sides_are_plain "$run"
		else
			[ -z "${RUN_SIDES[$run]}" ] || [ -z "$(find . -path "./${RUN_SIDES[$run]%% *}")" ]
		fi
	done
}

@test "workers, with standard files closed" {
	local how words
	read -ra words <<<"${RUN_WORDS[lot-gain]/--jobs 1/--jobs 2}"
	[ "${words[-1]}" = 2 ]
	for how in no_stderr no_stdout; do
		try "$how" "${words[@]}" <need.csv
		if [ "$how" = no_stderr ]; then
			exits 0
			same "$BATS_FILE_TMPDIR/plain/lot-gain/stdout" "$OUT"
		else
			exits 2
			err_has 'lot-gain: <stdout>: Bad file descriptor'
		fi
	done
	try no_stdin "${words[@]}"
	refused 'lot-gain: <stdin>: Bad file descriptor'
}

# ---- name and umask

# named NAME PROGRAM WORD...: NAME as argv[0].
named() (
	local name=$1 program
	program=$(command -v "$2")
	shift 2
	exec -a "$name" "$program" "$@"
)

@test "argv[0] empty, or anything: the same bytes, and the program's name in messages" {
	local program name
	same_when named ''
	same_when named $'\e[31m../../x'
	same_messages_when named ''
	for program in "$BIN"/lot-*; do
		program=${program##*/}
		for name in '' $'\e[31m' lot-other "$(printf 'x%.0s' {1..100000})"; do
			try named "$name" "$program" --unheard-of
			refused "$program: unknown or ambiguous option --unheard-of: try '$program --help'"
		done
	done
}

# What a program does that is given no word at all is what it must do here.
without_words() {
	local program
	for program in "$BIN"/lot-*; do
		program=${program##*/}
		kept "due/$program" need.csv "$program"
		kept "got/$program" need.csv "$@" "$BIN/$program"
		same "due/$program" "got/$program"
	done
	[ "$(cat due/*/status | grep -c 0)" -ge 2 ] # lot-norm, lot-show
	[ "$(cat due/*/status | grep -c 2)" -ge 6 ]
}

@test "no argv[0] at all, as execve(2) can have it" {
	cat >bare.py <<-'END'
		import ctypes, os, sys
		libc = ctypes.CDLL(None, use_errno=True)
		nothing = (ctypes.c_char_p * 1)(None)
		variables = [b"%s=%s" % item for item in os.environb.items()]
		libc.execve(os.fsencode(sys.argv[1]), nothing, (ctypes.c_char_p * (len(variables) + 1))(*variables, None))
		sys.exit(os.strerror(ctypes.get_errno()))
	END
	without_words python3 bare.py
}

@test "argc of 0, where the system lets main have it" {
	# Linux gives main an empty argv[0] since 5.18; others, and those before, do not.
	needs gcc gcc
	! sanitized || skip "a build with sanitizers is started in its own way"
	gcc -shared -fPIC -o argless.so -xc - <<-'END'
		#define _GNU_SOURCE
		#include <dlfcn.h>
		#include <stdlib.h>
		typedef int start(int (*)(int, char **, char **), int, char **, void (*)(void), void (*)(void), void (*)(void), void *);
		static int (*program)(int, char **, char **);
		static int argless(int argc, char **argv, char **variables)
		{
			(void)argc;
			return program(0, argv + argc, variables);
		}
		int __libc_start_main(int (*main)(int, char **, char **), int argc, char **argv, void (*init)(void),
		                      void (*fini)(void), void (*ended)(void), void *stack)
		{
			start *real = (start *)dlsym(RTLD_NEXT, "__libc_start_main");
			program = main;
			unsetenv("LD_PRELOAD");
			return real(argc == 1 ? argless : main, argc, argv, init, fini, ended, stack);
		}
	END
	argless() (LD_PRELOAD=$PWD/argless.so exec "$@")
	without_words argless
}

under() (
	umask "$1"
	shift
	"$@"
)

@test "umask: kept in side files and directories" {
	local run side mask
	for mask in 077 022 027 002 000; do
		for run in "${RUNS[@]}"; do
			[ -n "${RUN_SIDES[$run]}" ] || continue
			clear_sides "$run"
			under "$mask" run_of "$run"
			for side in ${RUN_SIDES[$run]}; do
				find "$side" -type f -printf '%m\n'
			done | sort -u >modes
			printf '%o\n' "$((0666 & ~0$mask))" | diff - modes
			[ "$run" != lot-deal ] || [ "$(stat -c %a dealt)" = "$(printf %o "$((0777 & ~0$mask))")" ]
			sides_are_plain "$run"
		done
	done
}

@test "a file of before keeps its permissions, whatever the umask" {
	local run side
	for run in "${RUNS[@]}"; do
		[ -n "${RUN_SIDES[$run]}" ] && [ "$run" != lot-deal ] || continue
		for side in ${RUN_SIDES[$run]}; do
			echo before >"$side"
			chmod 640 "$side"
		done
		under 077 run_of "$run"
		for side in ${RUN_SIDES[$run]}; do
			[ "$(stat -c %a "$side")" = 640 ]
		done
		sides_are_plain "$run"
	done
}

@test "umask that takes even its writer's right to read: the same bytes" {
	local run side
	for run in "${RUNS[@]}"; do
		[ -n "${RUN_SIDES[$run]}" ] && [ "$run" != lot-deal ] || continue
		clear_sides "$run"
		under 777 run_of "$run"
		for side in ${RUN_SIDES[$run]}; do
			[ "$(stat -c %a "$side")" = 0 ]
			chmod 644 "$side"
		done
		sides_are_plain "$run"
	done
}

# ---- files that are one

@test "two outputs that are one file, whatever it is called: told before anything is written" {
	local other
	mkdir sub
	ln -s . here
	ln -s taken.out link.out
	for other in ./taken.out sub/../taken.out here/taken.out "$PWD/taken.out" link.out; do
		rm -f taken.out
		if [ "$other" = link.out ]; then
			echo before >taken.out
		fi
		try lot-owned -k stock.csv --taken taken.out --left "$other" <need.csv
		refused "lot-owned: $other: is the file that taken.out is: one would replace the other"
		err_lines 1
		[ "$other" = link.out ] || [ ! -e taken.out ]
	done
	grep -qx before taken.out
	# of one name in two directories, or both of no regular file, they are two
	try lot-owned -q -k stock.csv --taken taken.out --left sub/taken.out <need.csv
	exits 0
	[ -s taken.out ] && [ -s sub/taken.out ]
	try lot-owned -q -k stock.csv --taken /dev/null --left /dev/stderr <need.csv
	exits 0
}

@test "standard output into a file that is also a side file: told, and the side file is not written" {
	local run words status side
	for run in "${RUNS[@]}"; do
		[ -n "${RUN_SIDES[$run]}" ] && [ "$run" != lot-deal ] || continue
		read -ra words <<<"${RUN_WORDS[$run]}"
		clear_sides "$run"
		side=${RUN_SIDES[$run]##* }
		status=0
		"${words[@]}" <"${RUN_INPUT[$run]}" >"$side" 2>told || status=$?
		[ "$status" -eq 2 ]
		grep -qxF "${words[0]}: $side: is where standard output goes, and would be replaced: name another file" told
		[ "$(find . -name '*.out')" = "./$side" ] && [ ! -s "$side" ]
	done
}
