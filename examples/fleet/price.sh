#!/bin/sh
# Prices designs against a market: one job of a fleet, which does not know that it is one.
#
# usage: price.sh [-b DIR] [-C CODE] [-e N] MARKET RESULTS NEED.csv...
#
#   -b DIR    where the programs are, if they are not in the PATH
#   -C CODE   home currency; default: the only one in use
#   -e N      limit of the search for each design, as lot-split's --effort
#
# MARKET is a directory: offers*.csv, sellers.csv and, where there are any, charges.csv, rates.csv and
# weights.csv. In place of a need list there may be a tar file of some.
#
# For each operand, RESULTS/NAME.rows appears when all of it is there, never a part of it: a line for
# each design, `done` and its row of totals or `failed` and why. A design that fails is told, there and on
# standard error, and does not keep the others from being priced. Exit status: 0 every design has its line,
# 2 trouble.

set -u

usage() {
    echo "usage: price.sh [-b DIR] [-C CODE] [-e N] MARKET RESULTS NEED.csv..." >&2
    exit 2
}

trouble() {
    echo "price.sh: $1" >&2
    exit 2
}

here=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd)
if [ -x "$here/../../bin/lot-norm" ]; then
    PATH=$here/../../bin:$PATH
fi
currency='' effort=''
while getopts b:C:e: option; do
    case $option in
    b) PATH=$OPTARG:$PATH ;;
    C) currency=$OPTARG ;;
    e) effort=$OPTARG ;;
    *) usage ;;
    esac
done
shift $((OPTIND - 1))
[ $# -ge 3 ] || usage
export PATH

market=$1 results=$2
shift 2
command -v lot-norm >/dev/null || trouble "no lot-norm in the PATH: say with -b where the programs are"
[ -f "$market/sellers.csv" ] || trouble "$market: no sellers.csv in it"

mkdir -p -- "$results" || exit 2
# Beside the results, so that a rename is all that makes a result appear.
work=$(mktemp -d "$results/.work.XXXXXX") || exit 2
trap 'rm -rf -- "$work"' EXIT
trap 'exit 2' HUP INT TERM

# The files of the market as options: lot-total's, without those that lot-split has besides. A file name
# may have blanks, so the options are kept as arguments of a function.
terms() {
    set -- "$@" -s "$market/sellers.csv"
    [ ! -f "$market/charges.csv" ] || set -- "$@" -c "$market/charges.csv"
    [ ! -f "$market/rates.csv" ] || set -- "$@" -x "$market/rates.csv"
    [ ! -f "$market/weights.csv" ] || set -- "$@" -w "$market/weights.csv"
    [ -z "$currency" ] || set -- "$@" -C "$currency"
    "$@"
}

split() {
    set -- lot-split -q
    for offers in "$market"/offers*.csv; do
        set -- "$@" -o "$offers"
    done
    [ -z "$effort" ] || set -- "$@" --effort "$effort"
    terms "$@" --report "$work/report"
}

# Need list $1 to totals. Its own steps, swaps or a stock for instance, would stand here too. 1 from
# lot-split is a plan that lacks pieces or is not proved: both stand in the row.
plan() {
    lot-norm -q <"$1" >"$work/need" 2>"$work/said" || return
    split <"$work/need" >"$work/orders" 2>"$work/said" || [ $? -eq 1 ] || return
    terms lot-total -q <"$work/orders" >"$work/totals" 2>"$work/said"
}

# Text $1 as a field of CSV, in `field`.
quote() {
    field=$1
    case $1 in
    *[\",]* | *' ' | ' '*) field=\"$(printf '%s' "$1" | sed 's/"/""/g')\" ;;
    esac
}

# The row of design $1: the TOTAL row of the totals, which is the last, and what the report adds.
priced() {
    while IFS=, read -r metric value; do
        case $metric in
        orders) orders=$value ;;
        unmet) unmet=$value ;;
        gap_percent) gap=$value ;;
        proved) proved=$value ;;
        esac
    done <"$work/report"
    IFS=, read -r _ _ lots pieces _ _ _ _ _ code goods charges tax rounding total <<-END
	$(tail -n 1 "$work/totals")
	END
    echo "done $1,$orders,$lots,$pieces,$unmet,$code,$goods,$charges,$tax,$rounding,$total,$gap,$proved"
}

# The line of design $1, whose need list is $2. It goes by its base name, without .csv.
price() {
    quote "$1"
    row_name=$field status=0
    plan "$2" || status=$?
    if [ "$status" -eq 0 ]; then
        priced "$row_name" || trouble "$results: cannot be written"
        return
    fi
    [ -s "$work/said" ] || echo "a program ended with exit status $status, and did not say why" >"$work/said"
    said=$(head -n 1 "$work/said")
    quote "$said"
    echo "failed $row_name,$field" || trouble "$results: cannot be written"
    echo "price.sh: $1: $said" >&2
}

# The need lists in tar file $1.
each_of_tar() {
    rm -rf -- "$work/tar"
    mkdir "$work/tar" || exit 2
    tar -xf "$1" -C "$work/tar" || trouble "$1: cannot be read"
    find "$work/tar" -type f -name '*.csv' | LC_ALL=C sort >"$work/list"
    while IFS= read -r need; do
        design=${need##*/}
        price "${design%.csv}" "$need"
    done <"$work/list"
}

for operand; do
    name=${operand##*/}
    name=${name%.*}
    case $operand in
    *.tar) each_of_tar "$operand" ;;
    *) price "$name" "$operand" ;;
    esac >"$work/rows"
    mv -f -- "$work/rows" "$results/$name.rows" || exit 2
done
