#!/usr/bin/env bats
# The Makefile of examples/tidemill, in a copy of the folder: what depends on a changed file is made again, and
# nothing else. A small limit on the search keeps it short; the plans that it leaves are plans.

load lib

EFFORT=500000

# The example made once, for tests that change a file of it.
setup_file() {
	mkdir "$BATS_FILE_TMPDIR/mill"
	cd "$BATS_FILE_TMPDIR/mill" || return
	cp "$TESTS"/../examples/tidemill/{*.csv,Makefile,run.sh} .
	make -s EFFORT=$EFFORT
}

setup() {
	begin
	# Times are kept, or all would be new.
	cp -a "$BATS_FILE_TMPDIR/mill/." .
	unset MAKEFLAGS MFLAGS MAKELEVEL
}

# The files that make would make: where its commands put them.
would_make() {
	make -n EFFORT=$EFFORT | sed -n 's|.*mv -f out/.*\.new out/\([^;]*\)$|\1|p' | LC_ALL=C sort
}

@test "nothing has changed: nothing is made" {
	try would_make
	out_is </dev/null
	try make EFFORT=$EFFORT
	exits 0
	out_has "Nothing to be done"
}

@test "a file of prices has changed: the splits are made again and what is made of them, no list" {
	sed -i '2s/,0\.155,/,0.001,/' offers-market.csv
	cp -a out before
	try would_make
	out_is <<-'END'
		compare.csv
		orders-as-is.csv
		orders-swaps.csv
		orders.csv
		totals-as-is.csv
		totals-swaps.csv
		totals.csv
	END
	try make -s EFFORT=$EFFORT
	exits 0
	local file
	for file in need-as-is need-swaps need offers-german; do
		[ ! out/$file.csv -nt before/$file.csv ]
	done
	for file in orders-as-is orders-swaps orders report-best totals compare; do
		[ out/$file.csv -nt before/$file.csv ]
	done
	try would_make
	out_is </dev/null
}

@test "what is made again: by the file that has changed" {
	local file due
	while read -r file due; do
		cp -a "$BATS_FILE_TMPDIR/mill/." .
		touch "$file"
		try would_make
		{ tr ' ' '\n' | grep . || true; } <<<"$due" | LC_ALL=C sort | out_is
	done <<-'END'
		rates.csv orders-as-is.csv orders-swaps.csv orders.csv totals-as-is.csv totals-swaps.csv totals.csv compare.csv
		offers-german.csv offers-german.csv orders-as-is.csv orders-swaps.csv orders.csv totals-as-is.csv totals-swaps.csv totals.csv compare.csv
		swaps.csv need-swaps.csv need.csv orders-swaps.csv orders.csv totals-swaps.csv totals.csv compare.csv
		stock.csv need.csv orders.csv totals.csv compare.csv
		out/totals-as-is.csv compare.csv
		README.md
		Makefile offers-german.csv need-as-is.csv need-swaps.csv need.csv orders-as-is.csv orders-swaps.csv orders.csv totals-as-is.csv totals-swaps.csv totals.csv compare.csv
	END
}

@test "made again after any file has changed, it is as if made anew" {
	local change file
	while IFS='|' read -r file change; do
		rm -rf out anew
		cp -a "$BATS_FILE_TMPDIR/mill/." .
		sed -i "$change" "$file"
		! cmp -s "$file" "$BATS_FILE_TMPDIR/mill/$file"
		make -s EFFORT=$EFFORT
		make -s EFFORT=$EFFORT OUT=anew
		diff -r -x '*.log' out anew
		# The change has reached the end.
		! cmp -s out/orders.csv "$BATS_FILE_TMPDIR/mill/out/orders.csv" ||
			! cmp -s out/compare.csv "$BATS_FILE_TMPDIR/mill/out/compare.csv" || { echo "$file: no change"; return 1; }
	done <<-'END'
		parts-export.csv|2s/16 pcs/17 pcs/
		map.csv|/^not_color/d
		names.csv|s/^part,(\[A-Z\])\[ -\]?(\[0-9\]{3}),.*/&\npart,A-104,A-106/
		swaps.csv|/^leave-out-stand/d
		stock.csv|2s/,9,/,3,/
		weights.csv|s/,0[.]/,1./
		sellers.csv|s/^Works Counter,direct,EUR,0,21/Works Counter,direct,EUR,0,25/
		charges.csv|s/3\.00/3.50/
		rates.csv|s/11\.325/10.325/
		offers-direct.csv|s/,0\.0/,0.9/
		offers-market.csv|s/,0\.0/,0.9/
		offers-german.csv|s/0,0/0,9/
		map-german.csv|/^listing/d
		names-german.csv|/kreide/d
	END
}

@test "a step that fails says why, and leaves no table" {
	echo 'wrong' >>rates.csv
	rm out/totals.csv
	try make -s EFFORT=$EFFORT
	exits 2
	err_has "rates.csv:4:"
	[ ! -e out/totals.csv ]
	try make -s EFFORT=$EFFORT OUT="a b"
	exits 2
	err_has "make cannot do with blanks in the name"
}

@test "pieces that nobody has end the run, with what they are" {
	echo 'Q-999;nobody has it;coal;2;;;;' >>parts-export.csv
	try make -s EFFORT=$EFFORT
	exits 2
	err_has "Q-999"
}

@test "two jobs at a time make the same" {
	make -s -j2 EFFORT=$EFFORT OUT=two
	diff -r -x '*.log' two out
}
