# shellcheck shell=bash
# What every .bats file here shares. A test file starts with `load lib`; each of its tests then
# runs in an empty directory of its own, with the programs of bin/ first in PATH.
#
#   try COMMAND...      runs it; status, and stdout and stderr apart in the files $OUT and $ERR
#   exits N             the status of the last try
#   out_is, err_is      stdout, stderr is exactly what stands on stdin (a here-document)
#   out_is_empty        nothing on stdout
#   out_has, err_has    stdout, stderr holds this text
#   err_lines N         stderr has N lines
#   refused TEXT        exit status 2, nothing on stdout, and stderr holds TEXT
#   sanitized           are the programs of a build with a sanitizer that takes memory of its own?
#   needs PROGRAM PACKAGE
#                       skips the test where the program is absent; `make check-full` fails there
#
# A pipe into try would lose its results in a subshell: use try ... < <(printf ...) or a file.

bats_require_minimum_version 1.5.0

TESTS=$(CDPATH='' cd -- "$(dirname -- "${BASH_SOURCE[0]}")" && pwd)
# LOTPIPE_BIN: another build to test, one with sanitizers for instance.
BIN=$(CDPATH='' cd -- "${LOTPIPE_BIN:-$TESTS/../bin}" && pwd)
PATH=$BIN:$PATH
# The programs' output hangs on no locale; the tests' sort and grep must not either.
LC_ALL=C.UTF-8
export TESTS BIN PATH LC_ALL

setup() {
	begin
}

# An empty directory to work in, and places for what try keeps. A file with a setup of its own
# calls it there.
begin() {
	OUT=$BATS_TEST_TMPDIR/stdout
	ERR=$BATS_TEST_TMPDIR/stderr
	mkdir -p "$BATS_TEST_TMPDIR/work"
	cd "$BATS_TEST_TMPDIR/work" || return
}

try() {
	status=0
	"$@" >"$OUT" 2>"$ERR" || status=$?
}

# What the last try left, for whoever reads a failed test.
show() {
	printf '%s\n' "$1" "exit status $status" "--- stdout"
	head -n 60 "$OUT"
	printf '%s\n' "--- stderr"
	head -n 60 "$ERR"
	return 1
}

exits() {
	[ "$status" -eq "$1" ] || show "exit status $1 was due"
}

out_is() {
	diff -u --label 'stdout due' --label 'stdout' - "$OUT" || show "stdout differs"
}

err_is() {
	diff -u --label 'stderr due' --label 'stderr' - "$ERR" || show "stderr differs"
}

out_is_empty() {
	[ ! -s "$OUT" ] || show "stdout should be empty"
}

err_is_empty() {
	[ ! -s "$ERR" ] || show "stderr should be empty"
}

out_has() {
	grep -qF -e "$1" "$OUT" || show "not on stdout: $1"
}

err_has() {
	grep -qF -e "$1" "$ERR" || show "not on stderr: $1"
}

err_lines() {
	[ "$(wc -l <"$ERR")" -eq "$1" ] || show "$1 lines were due on stderr"
}

refused() {
	exits 2 && out_is_empty && err_has "$1"
}

# numbered FIRST LAST HEADER ROW: a table with the row for each number, which stands where the row has an @.
numbered() {
	local i
	printf '%s\n' "$3"
	for ((i = $1; i <= $2; i++)); do
		printf '%s\n' "${4//@/$i}"
	done
}

sanitized() {
	grep -qE '__(asan|msan)_init' "$BIN/lot-norm"
}

needs() {
	command -v "$1" >/dev/null && return
	[ -n "${FULL:-}" ] || skip "no $1 here: it is in Debian's $2"
	echo "no $1 here: it is in Debian's $2"
	return 1
}
