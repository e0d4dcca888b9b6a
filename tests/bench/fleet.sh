#!/bin/sh
# Designs that a core prices in a minute with examples/fleet, by processor time, so that other work on the machine
# does not show; and where that time goes: reading the offers, lot-norm, lot-split and lot-total, the shell and
# GNU parallel around them. No verdict.
#
# usage: fleet.sh [CASE...]      small, middle, large, machines: some three minutes all together

set -eu

[ $# -gt 0 ] || set -- small middle large machines
here=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd)
fleet=$here/../../examples/fleet
PATH=$here/../../bin:$PATH
parallel --version >/dev/null || {
	echo "fleet.sh: no GNU parallel here: make test-deps installs it" >&2
	exit 1
}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
trap 'exit 1' HUP INT TERM
PARALLEL_HOME=$work/parallel
export PATH PARALLEL_HOME

# Processor seconds of a command and all it starts: the second line of `times` is that of the children.
seconds() {
	(
		"$@" >/dev/null 2>&1 || [ $? -eq 1 ]
		times
	) | awk 'NR == 2 { split($1 "m" $2, t, /[ms]+/); print t[1] * 60 + t[2] + t[3] * 60 + t[4] }'
}

# The programs alone, one design after the other, as price.sh runs them.
programs() {
	for need in "$dir"/designs/*.csv; do
		lot-norm -q <"$need" >"$dir/need"
		lot-split -q -o "$dir/market/offers.csv" "$@" --effort "$effort" --report "$dir/report" \
			<"$dir/need" >"$dir/orders" || [ $? -eq 1 ]
		lot-total -q "$@" <"$dir/orders"
	done
}

# lot-split with nothing to buy reads the market, and that is all.
reading() {
	for _ in "$dir"/designs/*.csv; do
		echo part,color,qty | lot-split -q -o "$dir/market/offers.csv" "$@"
	done
}

# bench CASE DESIGNS LOTS PARTS SELLERS SHARE EFFORT: what draw.awk takes.
bench() {
	dir=$work/$1
	effort=$7
	mkdir -p "$dir/designs" "$dir/market"
	awk -v dir="$dir" -v designs="$2" -v lots="$3" -v parts="$4" -v sellers="$5" -v share="$6" -f "$fleet/draw.awk"
	set -- "$1" "$2" "$3" "$(($(wc -l <"$dir/market/offers.csv") - 1))" -s "$dir/market/sellers.csv" \
		-c "$dir/market/charges.csv"
	name=$1 designs=$2 lots=$3 offers=$4
	shift 4
	whole=$(seconds "$fleet/run.sh" -e "$effort" "$dir/market" "$dir/designs" "$dir/out")
	batches=$(seconds "$fleet/run.sh" -n 20 -e "$effort" "$dir/market" "$dir/designs" "$dir/out-20")
	cmp "$dir/out/totals.csv" "$dir/out-20/totals.csv"
	alone=$(seconds programs "$@")
	read_only=$(seconds reading "$@")
	gap=$(awk -F, 'NR > 1 { sum += $12 } END { printf "%.1f", sum / (NR - 1) }' "$dir/out/totals.csv")
	echo "$whole $batches $alone $read_only" | awk -v name="$name" -v n="$designs" -v lots="$lots" -v offers="$offers" \
		-v effort="$effort" -v gap="$gap" '{
			printf "%s: %d designs of %d lots or so, %d offers, effort %s, gap %s %% on average\n", name, n, lots, offers,
				effort, gap
			printf "  designs per minute and core  %.0f; with 20 need lists a job %.0f\n", 60 * n / $1, 60 * n / $2
			printf "  a design                     %.3f s: reading the offers %.3f, the programs beside that %.3f,\n",
				$1 / n, $4 / n, ($3 - $4) / n
			printf "                               shell and GNU parallel %.3f\n", ($1 - $3) / n
			printf "  reading the offers           %.0f %% of the programs%s time\n", 100 * $4 / $3, "\047"
		}'
}

# What sending a job to a machine costs the one that sends it, beside ssh itself: tests/stand-in-ssh is in its place.
machines() {
	dir=$work/machines
	MACHINES=$dir/home PARALLEL_SSH=$here/../stand-in-ssh
	export MACHINES PARALLEL_SSH
	mkdir -p "$dir/designs" "$dir/market" "$MACHINES"
	awk -v dir="$dir" -v designs=400 -f "$fleet/draw.awk"
	here_alone=$(seconds "$fleet/run.sh" -n 20 "$dir/market" "$dir/designs" "$dir/out")
	there=$(seconds "$fleet/run.sh" -n 20 -S 1/quay -b "$here/../../bin" "$dir/market" "$dir/designs" "$dir/far")
	cmp "$dir/out/totals.csv" "$dir/far/totals.csv"
	echo "$here_alone $there" | awk -v jobs=20 -v connections="$(wc -l <"$MACHINES/log")" '{
		printf "machines: a job sent by ssh costs %.2f s more than one here, and %.1f connections beside\n",
			($2 - $1) / jobs, connections / jobs
	}'
}

for case; do
	case $case in
	small) bench small 200 8 240 12 40 3000000000 ;;
	middle) bench middle 40 64 2000 30 30 10000000 ;;
	large) bench large 20 64 5000 1000 10 10000000 ;;
	machines) machines ;;
	*)
		echo "fleet.sh: no case $case: there are small, middle, large and machines" >&2
		exit 2
		;;
	esac
done
