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

# reports METRIC=VALUE...: the report says so; decimals that are 0 may be left out.
reports() {
	local pair
	for pair; do
		sed -e '/\./s/0*$//' -e 's/\.$//' report.csv | grep -qxF "${pair%%=*},${pair#*=}" || {
			cat report.csv
			show "the report should say $pair"
		}
	done
}

# costs COST: exit status 0, nothing told, proved the least, at this cost.
costs() {
	exits 0 && err_is_empty && reports "cost=$1" proved=yes
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
