#!/usr/bin/env bats
# doc/method.md: the examples that it works by hand are run, and its sums added up.

load lib

setup() {
	begin
	PAGE=$TESTS/../doc/method.md
}

# The fenced lines of the page.
fenced() {
	awk '/^```/ { inside = !inside; next } inside' "$PAGE"
}

# Compares what a command of the page printed with what the page shows; none: nothing to compare.
compare() {
	[ ! -e due ] || diff -u --label 'the page' --label "$1" due printed
}

# Does what the page's sessions show: `$ cat FILE` shows a file, which is made; all else is run, and
# what it prints is to be what is shown.
replay() {
	local line command='' file='' ran=0
	rm -f due
	while IFS= read -r line; do
		case $line in
		'$ cat '*)
			compare "$command" || return
			rm -f due
			file=${line#'$ cat '}
			: >"$file"
			;;
		'$ '*)
			compare "$command" || return
			file='' command=${line#'$ '} ran=$((ran + 1))
			: >due
			sh -c "$command" >printed 2>&1 </dev/null || return
			;;
		*) printf '%s\n' "$line" >>"${file:-due}" ;;
		esac
	done
	compare "$command" || return
	echo "$ran" >ran
}

@test "the examples of doc/method.md give what the page says" {
	replay < <(fenced)
	[ "$(cat ran)" -eq 3 ]
	grep -q '^Barn' offers.csv
	grep -qx 'bound,4.990000000' report.csv
	grep -qx 'proved,yes' report.csv
}

@test "the sums that doc/method.md counts by hand add up" {
	try python3 - "$PAGE" <<-'END'
		import re, sys
		from fractions import Fraction

		sums = 0
		for line in open(sys.argv[1], encoding="utf-8"):
		    # a label, the sum, what it comes to, a remark
		    shown = re.match(r"    \S.*?  +([-+x.()\d ]+) = (-?[\d.]+)(?:  +\S.*)?$", line.rstrip("\n"))
		    if not shown:
		        continue
		    exact = re.sub(r"[\d.]+", r"Fraction('\g<0>')", shown[1]).replace(" x ", " * ")
		    if eval(exact) != Fraction(shown[2]):
		        sys.exit(f"{line.strip()}: it is {float(eval(exact))}")
		    sums += 1
		print(sums)
	END
	exits 0
	out_is <<<"$(grep -c '^    .* = -\{0,1\}[0-9][0-9.]*\( .*\)\{0,1\}$' "$PAGE")"
	[ "$(cat "$OUT")" -ge 18 ]
}

@test "doc/method.md has every part of src/plan in its table, and its links lead to something" {
	local file
	for file in "$TESTS"/../src/plan/*.h; do
		grep -qF "](../src/plan/${file##*/}) |" "$PAGE" || { echo "no ${file##*/}"; return 1; }
	done
	grep -oh ']([^)#]*' "$PAGE" | cut -c 3- >links
	[ -s links ]
	while read -r file; do
		[ -e "${PAGE%/*}/$file" ] || { echo "no $file"; return 1; }
	done <links
}

@test "what doc/method.md calls by a name of the source is there" {
	local name
	# shellcheck disable=SC2016 # the page's backquotes
	grep -o '`[a-zA-Z_]*`' "$PAGE" | tr -d '`' | grep _ | sort -u >names
	[ "$(wc -l <names)" -gt 5 ]
	while read -r name; do
		grep -qrw "$name" "$TESTS/../src" || { echo "no $name"; return 1; }
	done <names
}
