# The demo, and README.md, which shows what the demo prints.

load lib

# The demo is the long part: run once for all tests here.
setup_file() {
	"$TESTS/../examples/tidemill/run.sh" "$BATS_FILE_TMPDIR/once" \
		>"$BATS_FILE_TMPDIR/printed" 2>"$BATS_FILE_TMPDIR/said" || {
		cat "$BATS_FILE_TMPDIR/said"
		return 1
	}
}

setup() {
	begin
	README=$TESTS/../README.md
	DEMO=$BATS_FILE_TMPDIR/once
}

# The fenced block of README.md whose first line starts so.
shown() {
	awk -v start="$1" '
		/^```/ { inside = !inside; here = 0; fresh = inside; next }
		fresh { here = index($0, start) == 1; fresh = 0 }
		here' "$README"
}

@test "the scenarios that README.md shows are those of the demo" {
	try shown 'scenario ('
	out_is <"$BATS_FILE_TMPDIR/printed"
}

@test "the totals that README.md shows are those of the demo" {
	try shown 'seller,route,lots'
	out_is <"$DEMO/totals.csv"
}

@test "the order lines that README.md shows are the first ones of the demo" {
	try shown 'seller,route,class'
	[ "$(wc -l <"$OUT")" -gt 2 ]
	out_is < <(head -n "$(wc -l <"$OUT")" "$DEMO/orders.csv")
}

@test "the pipeline that README.md shows gives the totals, orders and words that it shows" {
	cp "$TESTS"/../examples/tidemill/*.csv .
	shown 'lot-norm --decimal' >pipeline
	[ -s pipeline ]
	try sh pipeline
	exits 0
	out_is <"$DEMO/totals.csv"
	cmp orders.csv "$DEMO/orders.csv"
	grep '^lot-split: ' "$ERR" >said
	shown 'lot-split: ' | diff -u - said
}

@test "totals fall from scenario to scenario" {
	awk 'NR > 1 { total[NR] = $(NF - 1) }
		END { exit !(NR == 4 && total[2] > total[3] && total[3] > total[4]) }' \
		"$BATS_FILE_TMPDIR/printed"
}

@test "the demo run twice gives the same bytes" {
	try "$TESTS/../examples/tidemill/run.sh" twice
	exits 0
	out_is <"$BATS_FILE_TMPDIR/printed"
	diff -r twice "$DEMO"
}

@test "README.md has every program in its table, and no other" {
	make -s -C "$TESTS/.." -f - list <<-'END' | sort >due
		include Makefile
		list:; @printf '%s\n' $(PROGRAMS)
	END
	try sed -n 's/^| \[\(lot-[a-z]*\)\].*/\1/p' "$README"
	sort -o "$OUT" "$OUT"
	out_is <due
}

@test "links in README.md and DEVELOPERS.md lead to something" {
	local file
	cd "$TESTS/.."
	grep -oh ']([^)#]*' README.md DEVELOPERS.md | cut -c 3- >"$OUT"
	[ -s "$OUT" ]
	while read -r file; do
		[ -e "$file" ] || { echo "no $file"; return 1; }
	done <"$OUT"
}

@test "what --help prints fits 95 columns" {
	local program
	for program in "$BIN"/lot-*; do
		try "$program" --help
		exits 0
		awk -v program="${program##*/}" 'length > 95 { print program ": " $0; wide = 1 } END { exit wide }' "$OUT"
	done
}
