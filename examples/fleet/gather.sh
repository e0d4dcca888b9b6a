#!/bin/sh
# Gathers what the jobs of a fleet left into two tables, sorted by design: totals.csv, those that are priced,
# and failed.csv, those that are not, and why.
#
# usage: gather.sh OUT      the directory given to run.sh, or that of all parts of an array
#
# Exit status: 0 every design is priced, 1 some are not, 2 trouble.

set -u

[ $# -eq 1 ] || {
    echo "usage: gather.sh OUT" >&2
    exit 2
}
cd -- "$1" || exit 2
LC_ALL=C
export LC_ALL

trouble() {
    echo "gather.sh: $1" >&2
    exit 2
}

# The directories of runs: this one, or its parts, of which there are as many as their names say.
absent=0
if [ -f designs ]; then
    set -- .
else
    set -- part-*-of-*
    [ -d "$1" ] || trouble "no run has left anything here"
    parts=${1##*-of-}
    i=1
    while [ "$i" -le "$parts" ]; do
        [ -f "part-$i-of-$parts/designs" ] || {
            echo "gather.sh: part $i of $parts has not begun" >&2
            absent=$((absent + 1))
        }
        i=$((i + 1))
    done
    for dir; do
        [ "${dir##*-of-}" = "$parts" ] || trouble "$1 and $dir are not parts of one run"
    done
fi

work=$(mktemp -d ./.gather.XXXXXX) || exit 2
trap 'rm -rf -- "$work"' EXIT
trap 'exit 2' HUP INT TERM

for dir; do
    [ ! -d "$dir/results" ] || find "$dir/results" -name '*.rows' -exec cat {} +
done >"$work/rows"
for dir; do
    [ ! -f "$dir/designs" ] || cat "$dir/designs"
done >"$work/designs"

# A line for each design without a row. Names are compared as the rows have them, as fields of CSV.
awk -v designs="$work/designs" '
    function field(text) {
        if (text !~ /[",]|^ | $/) return text
        gsub(/"/, "\"\"", text)
        return "\"" text "\""
    }
    function first(row) {
        if (row !~ /^"/) return substr(row, 1, index(row, ",") - 1)
        match(row, /^"([^"]|"")*"/)
        return substr(row, 1, RLENGTH)
    }
    { has[first(substr($0, index($0, " ") + 1))]; print }
    END {
        while ((getline name <designs) > 0) {
            sub(/.*\//, "", name)
            sub(/\.csv$/, "", name)
            if (!(field(name) in has)) print "failed " field(name) ",no result: its job was ended or has not run"
        }
    }' "$work/rows" >"$work/all" || exit 2

# table KIND HEADER: the rows of that kind, under the header.
table() {
    echo "$2"
    sed -n "s/^$1 //p" "$work/all" | sort -t , -k 1,1
}

table 'done' design,orders,lots,pieces,unmet,currency,goods,charges,tax,rounding,total,gap_percent,proved \
    >"$work/totals.csv" && table failed design,reason >"$work/failed.csv" || exit 2
mv -f -- "$work/totals.csv" "$work/failed.csv" . || exit 2

failed=$(($(wc -l <failed.csv) - 1))
echo "gather.sh: $(($(wc -l <totals.csv) - 1)) designs priced, $failed failed" >&2
[ "$((failed + absent))" -eq 0 ]
