#!/usr/bin/env bats
# Large inputs: what every program takes for a field of 100 MB, a million columns, lists of a million rows, at 1,
# 2, 4 and 8 times an eighth of that, and lists of ten million; and for side files that grow. The figures are
# printed; they pass or fail nothing.

bats_require_minimum_version 1.5.0
load ../lib

# Those that search: their work grows with the choices, which lot-split's --effort bounds, not with bytes.
SEARCH=lot-gain,lot-owned
READ=lot-norm,lot-swap,lot-split,lot-total,lot-compare,lot-check,lot-deal,lot-show,lot-market,lot-price,lot-drift,lot-plot

measure() {
	python3 "$TESTS/large.py" "$@" | sed 's/^/# /' >&3
}

setup_file() {
	TMPDIR=${BATS_FILE_TMPDIR:?}
	export TMPDIR
}

@test "a field of 100 MB, a line of 100 MB, a quote that is never closed before 5 million lines" {
	measure field=12500000
	measure line=12500000
	measure --programs $READ quote=1250000
}

@test "a million columns" {
	measure columns=125000
	measure columns=2000
}

@test "a million rows, equal and different" {
	measure --programs ${READ/lot-deal,/} rows=125000 names=125000
	measure --programs lot-deal rows=125000 names=250
	measure --programs $SEARCH names=12500 rows=250
}

@test "ten million rows" {
	measure --programs "lot-norm offers,lot-market,lot-total" rows=1250000
	measure --programs lot-market names=1250000
}

@test "side files of a hundred thousand rows and more, and of thousands where that is much" {
	measure steps charges tariffs sellers map named codes rates weights others stock
	measure rule uses adds alternatives shares kept paid wanted
}
