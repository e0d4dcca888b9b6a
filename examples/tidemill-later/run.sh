#!/bin/sh
# The second act of the tide mill: orders are paid, a seller is out of a lot, the club's second model
# joins, and a parcel comes three pieces short. All names, prices and parts are invented.
#
# usage: run.sh [output directory]      default: out, beside this script

set -eu

here=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd)
if [ -x "$here/../../bin/lot-split" ]; then
    PATH=$here/../../bin:$PATH
    export PATH
fi
mkdir -p -- "${1:-$here/out}"
out=$(CDPATH='' cd -- "${1:-$here/out}" && pwd)
cd -- "$here"

terms="-s sellers.csv -c charges.csv"

# Adds a column state to order lines: that of the first pattern that a line begins with, else new.
states() {
    awk -F, -v OFS=, -v paid="$1" -v open="$2" '
        NR == 1 { print $0, "state"; next }
        paid != "" && $0 ~ "^(" paid ")," { print $0, "paid"; next }
        open != "" && $0 ~ "^(" open ")," { print $0, "open"; next }
        { print $0, "new" }'
}

# What an exit status of 1 says is the point of the step: something differs, or stays unmet.
differs() {
    status=0
    "$@" || status=$?
    [ "$status" -eq 1 ]
}

echo "1. The mill is planned."
lot-norm --model mill mill.csv >"$out/need-1.csv"
# shellcheck disable=SC2086 # terms are words
lot-split -o offers.csv $terms --report "$out/report-1.csv" <"$out/need-1.csv" >"$out/orders-1.csv"

echo "2. Rope Walk and Sail Loft are paid; Sail Loft has no M-200 after all. The boathouse joins,"
echo "   and what Plank Street has in the basket may grow."
states "Rope Walk|Sail Loft" "Plank Street" <"$out/orders-1.csv" |
    grep -v '^Sail Loft,.*,M-200,' >"$out/keep-2.csv"
lot-norm --model boathouse boathouse.csv >"$out/boathouse.csv"
lot-norm "$out/need-1.csv" "$out/boathouse.csv" >"$out/need-2.csv"
# shellcheck disable=SC2086
lot-split -o offers-later.csv $terms --keep "$out/keep-2.csv" --report "$out/report-2.csv" \
    --shares "$out/shares-2.csv" <"$out/need-2.csv" >"$out/orders-2.csv"

echo "3. The parcel of Rope Walk comes, three pieces short."
grep -e '^seller,' -e '^Rope Walk,.*,paid$' "$out/orders-2.csv" >"$out/expected.csv"
differs lot-check -e "$out/expected.csv" --short "$out/short.csv" --into "$out/arrived.csv" \
    <parcel.csv >"$out/differences.csv"

echo "4. What is missing is bought again, with what the basket at Plank Street holds."
grep -v '^Rope Walk,.*,paid$' "$out/orders-2.csv" | sed 's/,new$/,open/' >"$out/keep-4.csv"
lot-owned -k "$out/arrived.csv" <"$out/need-2.csv" >"$out/need-4.csv"
# shellcheck disable=SC2086
lot-split -o offers-later.csv $terms --keep "$out/keep-4.csv" --report "$out/report-4.csv" \
    <"$out/need-4.csv" >"$out/orders-4.csv"

echo "5. Each order in a file of its own, and what the orders cost that are not yet paid."
lot-deal --force -d "$out/orders" <"$out/orders-4.csv"
grep -v ',paid$' "$out/orders-4.csv" >"$out/unpaid.csv"
# shellcheck disable=SC2086
lot-total $terms <"$out/unpaid.csv" >"$out/totals-4.csv"

echo
cat -- "$out/differences.csv"
echo
cut -d , -f 1,4,8,15 "$out/orders-4.csv"
