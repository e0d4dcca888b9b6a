#!/bin/sh
# The tide mill, from the parts list as exported to the landed cost, in three scenarios.
#
# usage: run.sh [output directory]      default: out, beside this script

set -eu

here=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd)
if [ -x "$here/../../bin/lot-norm" ]; then
    PATH=$here/../../bin:$PATH
    export PATH
fi
mkdir -p -- "${1:-$here/out}"
out=$(CDPATH='' cd -- "${1:-$here/out}" && pwd)
cd -- "$here"

home=EUR
effort=400000000

# A program that fails inside a pipeline leaves its exit status here: sh looks at the last one only.
failed=$out/failed
rm -f -- "$failed" "$out"/*.log

# What a program says goes to a file of its own, so that the order does not hang on the pipeline.
step() {
    "$@" 2>>"$out/$1.log" || echo "$? $1" >>"$failed"
}

stop_if_failed() {
    [ -s "$failed" ] || return 0
    cat -- "$out"/*.log >&2
    echo "run.sh: not every step was done (exit status, program):" >&2
    cat -- "$failed" >&2
    exit 1
}

# The parts list as it comes from the designer, in order.
parts() {
    step lot-norm -m map.csv -n names.csv --except 'part=Total' <parts-export.csv
}

swapped() {
    step lot-swap -r swaps.csv
}

# What the stock cannot give.
not_owned() {
    step lot-owned -k stock.csv --taken "$out/taken.csv"
}

# Need list to order lines; all scenarios read the same market. The limit on the search makes the
# run a matter of half a minute and is the same on any machine; a plan that it leaves unproved is a plan,
# and lot-split.log says how far off the least it may be. A plan that lacks pieces is none.
buy() {
    name=$1
    shift
    status=0
    lot-split -o offers-direct.csv -o offers-market.csv -o "$out/offers-german.csv" \
        -s sellers.csv -c charges.csv -x rates.csv -w weights.csv -C "$home" --effort "$effort" \
        --short "$out/short-$name.csv" --report "$out/report-$name.csv" "$@" \
        2>>"$out/lot-split.log" || status=$?
    if [ "$status" -gt 1 ] || [ "$(wc -l <"$out/short-$name.csv")" -gt 1 ]; then
        echo "$status lot-split" >>"$failed"
    fi
}

total() {
    step lot-total -s sellers.csv -c charges.csv -x rates.csv -w weights.csv -C "$home"
}

# Some columns of the comparison, lined up for the eye; no field in it has a comma.
lined_up() {
    awk -F, -v home="$home" '
        NR == 1 {
            for (i = 1; i <= NF; i++) at[$i] = i
            printf "%-18s", "scenario (" home ")"
        }
        NR > 1 { printf "%-18s", $at["scenario"] }
        {
            printf " %6s %6s %9s %9s %9s %9s %9s\n", $at["orders"], $at["pieces"], $at["goods"],
                $at["charges"], $at["tax"], $at["total"], $at["saving"]
        }'
}

step lot-norm --decimal comma -m map-german.csv -n names-german.csv offers \
    <offers-german.csv >"$out/offers-german.csv"
stop_if_failed

parts |
    buy as-is --route market | tee "$out/orders-as-is.csv" |
    total >"$out/totals-as-is.csv"
stop_if_failed

parts | swapped |
    buy swaps --route market | tee "$out/orders-swaps.csv" |
    total >"$out/totals-swaps.csv"
stop_if_failed

parts | swapped | not_owned |
    buy best | tee "$out/orders.csv" |
    total >"$out/totals.csv"
stop_if_failed

step lot-compare as-is="$out/totals-as-is.csv" swaps="$out/totals-swaps.csv" \
    both-routes="$out/totals.csv" >"$out/compare.csv"
stop_if_failed
lined_up <"$out/compare.csv"
