#!/bin/sh
# What lot-norm takes on a large offers file, against a loop of bare libcsv over the same bytes in
# the same run: the ratio of processor times, least of three runs each, and memory against the
# size of the file. No verdict: machines differ, and the ratios are there to be looked at. Aimed
# at: 4 times the time, 6 times the file.
#
# usage: norm.sh [ROWS]      default: 2000000

set -eu

rows=${1:-2000000}
here=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd)
norm=$here/../../bin/lot-norm
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
trap 'exit 1' HUP INT TERM

"${CC:-cc}" -O2 -o "$work/bare_csv" "$here/bare_csv.c" -lcsv

# Invented offers, the same ones every time: a linear congruential generator with the numbers of
# Park and Miller (Communications of the ACM 31, 1988).
awk -v rows="$rows" '
    function below(n) { seed = (seed * 16807) % 2147483647; return seed % n }
    BEGIN {
        seed = 1
        colors = split("slate/chalk/oak/fog/fern/brick red/pale green/harbour blue/\"straw, light\"", color, "/")
        print "seller,part,color,qty,price,condition,step,least,listing,link"
        for (i = 1; i <= rows; i++)
            printf "Shop %d,%c-%03d,%s,%d,0.%03d,%s,%s,%s,%s,item/%d\n", below(5000), 65 + below(26),
                below(1000), color[1 + below(colors)], 1 + below(500), 1 + below(999),
                below(2) ? "new" : "used", below(9) ? "" : 10, below(7) ? "" : 25,
                below(7) ? "" : "T" i, i
    }' >"$work/offers.csv"

bytes=$(wc -c <"$work/offers.csv")
python3 "$here/measure.py" 3 "$work/offers.csv" "$work/bare_csv" -- "$norm" -q offers |
    awk -v rows="$rows" -v bytes="$bytes" '
        NR == 1 { bare = $1 }
        NR == 2 {
            printf "lot-norm offers: %d rows, %.1f MB\n", rows, bytes / 1e6
            printf "  time    %.2f s, bare libcsv %.2f s: ratio %.2f (aim: at most 4)\n", $1, bare, $1 / bare
            printf "  memory  %.1f MB: %.2f times the file (aim: at most 6)\n", $2 * 1024 / 1e6, $2 * 1024 / bytes
        }'
