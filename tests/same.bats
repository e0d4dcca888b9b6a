#!/usr/bin/env bats
# lot-split: the same inputs give the same bytes, whatever order the rows of side files are in, whatever
# the sellers are called, whatever compiled it, and whatever the memory held before.
#
# On drawn needs: some proved, some that the limit of work cuts short, so that every step up to there counts.

load lib
load drawn # shuffle

SIDE_FILES="offers sellers charges rates stock weights"
LONG=8000000 BRIEF=1000000 # work

setup_file() {
	python3 - "$TESTS/oracle" "$BATS_FILE_TMPDIR/draws" <<-'END'
		import os, sys
		sys.path.insert(0, sys.argv[1])
		import draw
		for case in ("small 4", "small 7", "small 12", "small 31", "rules 2", "rules 3 30 40",
		             "flat 1 60 80 1200", "market 1 30 30"):
		    profile, *numbers = case.split()
		    draw.draw(profile, int(numbers[0]), os.path.join(sys.argv[2], case.replace(" ", "-")),
		              *map(int, numbers[1:]))
	END
	plans "$BATS_FILE_TMPDIR/draws" "$BATS_FILE_TMPDIR/long" "$LONG" lot-split
	plans "$BATS_FILE_TMPDIR/draws" "$BATS_FILE_TMPDIR/brief" "$BRIEF" lot-split
}

# plans DRAWS PLACE WORK COMMAND...: all that the command writes on each of the draws, kept in the place.
plans() {
	local draws=$1 place=$2 work=$3 draw words
	shift 3
	for draw in "$draws"/*; do
		mkdir -p "$place/${draw##*/}"
		cd "$draw" || return
		status=0
		mapfile -t words <args
		"$@" -q "${words[@]}" --effort "$work" --report report.out --short short.out --why why.out \
			<need.csv >orders.out 2>stderr.out || status=$?
		echo "$status" >status.out
		mv ./*.out "$place/${draw##*/}"
	done
}

# same_as KEPT PLACE: what is in both is the same.
same_as() {
	diff -r "$BATS_FILE_TMPDIR/$1" "$2"
}

@test "the draws here: some proved, some cut short, some that leave pieces unmet" {
	cd "$BATS_FILE_TMPDIR"
	[ "$(grep -lx 'proved,yes' {long,brief}/*/report.out | wc -l)" -ge 4 ]
	[ "$(grep -lx 'proved,no' {long,brief}/*/report.out | wc -l)" -ge 2 ]
	[ "$(grep -lv '^lot,' long/*/short.out | wc -l)" -ge 1 ]
	[ "$(cat {long,brief}/*/status.out | sort -u | tr '\n' ' ')" = '0 1 ' ]
}

@test "rows of every side file shuffled: the same bytes" {
	local seed draw file here=$PWD
	for seed in 1 2; do
		rm -rf draws
		cp -r "$BATS_FILE_TMPDIR/draws" .
		for draw in draws/*; do
			for file in $SIDE_FILES; do
				[ ! -e "$draw/$file.csv" ] || shuffle "$draw/$file.csv" "$seed"
			done
		done
		plans "$PWD/draws" "$PWD/after" "$LONG" lot-split
		same_as long "$here/after"
		cd "$here"
	done
}

# rename.py there WAY DRAWS: gives the sellers of the draws other names, in the same byte order.
# rename.py back DRAWS PLACE: names in outputs as they were; all tables in one way of quoting.
rename_script() {
	cat >rename.py <<-'END'
		import csv, glob, os, sys

		WAYS = {
		    "prefix": lambda rank, name: "Yard of " + name,
		    "growing": lambda rank, name: "y" * (rank + 1),
		    "number": lambda rank, name: "\u00e9tage %05d" % (7 * rank + 3),
		}

		def table(path):
		    with open(path, newline="", encoding="utf-8") as handle:
		        return list(csv.reader(handle))

		def write(path, rows):
		    with open(path, "w", newline="", encoding="utf-8") as handle:
		        csv.writer(handle, lineterminator="\n").writerows(rows)

		def names_of(draw):
		    found = set()
		    for name in ("offers", "sellers", "charges"):
		        rows = table("%s/%s.csv" % (draw, name))
		        column = rows[0].index("seller")
		        found |= {row[column] for row in rows[1:]} - {"", "*"}
		    return sorted(found, key=str.encode)

		def there(way, draw):
		    names = names_of(draw)
		    new = {name: WAYS[way](rank, name) for rank, name in enumerate(names)}
		    assert sorted(new.values(), key=str.encode) == [new[name] for name in names]
		    for name in ("offers", "sellers", "charges"):
		        path = "%s/%s.csv" % (draw, name)
		        rows = table(path)
		        column = rows[0].index("seller")
		        write(path, [row[:column] + [new.get(row[column], row[column])] + row[column + 1:] for row in rows])
		    with open(draw + "/args", encoding="utf-8") as handle:
		        words = handle.read().splitlines()
		    for number, word in enumerate(words[:-1]):
		        if word == "--without":
		            words[number + 1] = ",".join(new.get(name, name) for name in words[number + 1].split(","))
		    with open(draw + "/args", "w", encoding="utf-8") as handle:
		        handle.write("".join(word + "\n" for word in words))
		    write(draw + "/names", [[new[name], name] for name in names])

		def back(draw, place):
		    old = dict(table(draw + "/names")) if os.path.exists(draw + "/names") else {}
		    for path in glob.glob(place + "/*.out"):
		        if os.path.basename(path) != "stderr.out":
		            write(path, [[old.get(field, field) for field in row] for row in table(path)])

		if sys.argv[1] == "there":
		    for draw in glob.glob(sys.argv[3] + "/*"):
		        there(sys.argv[2], draw)
		else:
		    for draw in glob.glob(sys.argv[2] + "/*"):
		        back(draw, os.path.join(sys.argv[3], os.path.basename(draw)))
	END
}

@test "sellers renamed in ways that keep their order: the same bytes but for the names" {
	local way home=$PWD
	rename_script
	cp -r "$BATS_FILE_TMPDIR/long" before
	python3 rename.py back "$BATS_FILE_TMPDIR/draws" before
	for way in prefix growing number; do
		rm -rf draws after
		cp -r "$BATS_FILE_TMPDIR/draws" .
		python3 rename.py there "$way" draws
		plans "$home/draws" "$home/after" "$LONG" lot-split
		cd "$home"
		python3 rename.py back draws after
		diff -r before after
	done
}

# built_by CC FLAGS FILE: FILE made in this test's directory, in the Makefile's way.
built_by() {
	command -v "$1" >/dev/null || skip "$1 is not there: make test-deps installs it"
	env -u MAKEFLAGS -u MFLAGS -u MAKELEVEL make -s -j2 -C "$TESTS/.." CC="$1" CFLAGS="$2" WERROR= \
		BUILD="$PWD/build" BIN="$PWD/bin" "$PWD/$3" 2>&1
}

# same_by CC FLAGS: what it makes of the draws is what the build under test makes of them.
same_by() {
	local home=$PWD
	built_by "$@" bin/lot-split
	plans "$BATS_FILE_TMPDIR/draws" "$home/after" "$LONG" "$home/bin/lot-split"
	same_as long "$home/after"
}

# all_of CC: -O3, and every instruction that this machine has, where the compiler can tell.
all_of() {
	if echo 'int x;' | "$1" -march=native -xc -c -o native.o - 2>/dev/null; then
		echo "-O3 -march=native"
	else
		echo "-O3"
	fi
}

@test "made by gcc at -O0: the same bytes" {
	same_by gcc -O0
}

@test "made by gcc at -O3, for this very machine: the same bytes" {
	same_by gcc "$(all_of gcc)"
}

@test "made by clang at -O0: the same bytes" {
	same_by clang -O0
}

@test "made by clang at -O3, for this very machine: the same bytes" {
	same_by clang "$(all_of clang)"
}

@test "under valgrind: the same bytes, and no fault of memory" {
	local home=$PWD
	command -v valgrind >/dev/null || skip "valgrind is not there: make test-deps installs it"
	! sanitized || skip "valgrind does not run a build with sanitizers"
	plans "$BATS_FILE_TMPDIR/draws" "$home/after" "$BRIEF" \
		valgrind -q --error-exitcode=99 --log-file="$home/valgrind.%p" "$BIN/lot-split"
	cat "$home"/valgrind.*
	same_as brief "$home/after"
}

@test "no fused multiply-add and no loose arithmetic in the build" {
	env -u MAKEFLAGS -u MFLAGS -u MAKELEVEL make -n -C "$TESTS/.." BUILD="$PWD/build" BIN="$PWD/bin" all >commands
	grep -E ' -c ' commands >compiled
	[ "$(wc -l <compiled)" -ge "$(find "$TESTS/../src" -name '*.c' | wc -l)" ]
	[ "$(grep -c -e ' -ffp-contract=off ' compiled)" -eq "$(wc -l <compiled)" ]
	[ "$(grep -c -E -e '-Ofast|-ffast-math|-funsafe|-mfpmath|-ffp-contract=(on|fast)' compiled)" -eq 0 ]
}

@test "nothing of the math library but sqrt and fabs" {
	local libm
	command -v gcc >/dev/null || skip "gcc is not there: make deps installs it"
	libm=$(gcc -print-file-name=libm.so.6)
	[ -e "$libm" ] || skip "there is no libm.so.6 to read the names of its functions from"
	nm -D --defined-only "$libm" | sed 's/.* //; s/@.*//' | sort -u >math
	grep -qx floor math && grep -qx sqrt math && grep -qx fabs math
	# No built-in functions: each call is one, then, and its name shows.
	built_by gcc '-O0 -fno-builtin' build/liblotpipe.a
	find build -name '*.o' -exec nm -u {} + | sed -n 's/.* U //p' | sort -u >used
	grep -qx malloc used
	comm -12 math used | grep -vxE 'sqrt|fabs' >beyond || true
	cat beyond
	[ ! -s beyond ]
}
