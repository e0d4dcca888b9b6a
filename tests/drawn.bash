# shellcheck shell=bash
# Drawn needs (oracle/draw.py) and runs of lot-split on them, for the .bats files that use them.

# drawn PROFILE SEED [SIZE...]: need.csv and all that goes with it, and args.
drawn() {
	local profile=$1 seed=$2
	shift 2
	rm -f ./*.csv
	python3 "$TESTS/oracle/draw.py" --seed "$seed" "$profile" . "$@"
}

split_drawn() {
	# shellcheck disable=SC2046 # args is one word a line
	try lot-split -q $(cat args) --report report.csv --short short.csv "$@" <need.csv
}

# shuffle FILE SEED
shuffle() {
	{ head -n 1 "$1" && tail -n +2 "$1" | shuf --random-source=<(yes "$2"); } >shuffled
	mv shuffled "$1"
}

# keep PLACE: what the last try wrote goes there.
keep() {
	mkdir -p "$1"
	cp "$OUT" "$1/stdout"
	cp report.csv short.csv "$1"
}
