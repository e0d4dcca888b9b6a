#!/bin/sh
# Prices a fleet of designs against one market, with GNU parallel: on the cores of this machine, or of many.
#
# usage: run.sh [option...] MARKET DESIGNS OUT
#
#   -C CODE   home currency; default: the only one in use
#   -e N      limit of the search for each design, as lot-split's --effort
#   -j N      jobs at a time on a machine; default: one for each of its cores
#   -n N      need lists in a job; default: 1, with -S 50
#   -p I/N    only the I-th of N parts of the designs, into OUT/part-I-of-N
#   -S LOGIN  a machine to work on, as ssh and parallel's --sshlogin name it; may be given several
#             times. Without it, this one
#   -b DIR    where the programs are on those machines, if they are not in the PATH there
#
# MARKET is a directory of offers*.csv, sellers.csv and, where there are any, charges.csv, rates.csv and
# weights.csv; DESIGNS has a need list for each design, NAME.csv, in folders or not. OUT gets totals.csv, a
# row for each design by name, and failed.csv, those that have none and why.
#
# The same command again goes on where the last one was ended, by whatever ended it, and tries again what
# failed. The designs are those of the first time. Exit status: 0 every design is priced, 1 some are not,
# 2 trouble.

set -u

usage() {
    sed -n 's/^# usage: /usage: /p' "$0" >&2
    exit 2
}

trouble() {
    echo "run.sh: $1" >&2
    exit 2
}

whole() {
    case $2 in
    '' | *[!0-9]* | 0*) trouble "$1 $2: a whole number from 1 on" ;;
    esac
}

here=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd)
bin='' currency='' effort='' jobs='' batch='' part='' logins=''
while getopts b:C:e:j:n:p:S: option; do
    case $option in
    b) bin=$OPTARG ;;
    C) currency=$OPTARG ;;
    e) whole -e "$OPTARG" && effort=$OPTARG ;;
    j) whole -j "$OPTARG" && jobs=$OPTARG ;;
    n) whole -n "$OPTARG" && batch=$OPTARG ;;
    p)
        whole -p "${OPTARG%%/*}" && whole -p "${OPTARG#*/}" && part=$OPTARG
        [ "${part%%/*}" -le "${part#*/}" ] || trouble "-p $part: there is no such part"
        ;;
    S) logins=$logins${logins:+,}$OPTARG ;;
    *) usage ;;
    esac
done
shift $((OPTIND - 1))
[ $# -eq 3 ] || usage
parallel --version 2>/dev/null | grep -q '^GNU parallel' ||
    trouble "no GNU parallel here: it is Debian's package parallel"

market=$(CDPATH='' cd -- "$1" && pwd) && designs=$(CDPATH='' cd -- "$2" && pwd) || exit 2
for file in "$market/sellers.csv" "$market"/offers*.csv; do
    [ -f "$file" ] || trouble "$1: no market: it has sellers.csv and offers*.csv"
done
[ -z "$part" ] || set -- "$1" "$2" "$3/part-${part%%/*}-of-${part#*/}"
mkdir -p -- "$3/results" && out=$(CDPATH='' cd -- "$3" && pwd) || exit 2
[ -n "$batch" ] || batch=$([ -n "$logins" ] && echo 50 || echo 1)

# One run at a time; the lock goes with the process, however that ends.
exec 9>"$out/lock" || exit 2
if command -v flock >/dev/null && ! flock -n 9; then
    trouble "$3: another run is at work there"
fi

# What must not change from one run to the next, or the rows would not be of one market.
begun() {
    echo "parallel's jobs: ${batch} need lists, $([ -n "$logins" ] && echo by ssh || echo here)"
    echo "options: ${currency:-no currency}, ${effort:-no effort}"
    cd "$market" && cksum ./*.csv
}

begun >"$out/begun.new" || exit 2
if [ ! -f "$out/begun" ]; then
    # A market with a fault is told once, and not by every design.
    echo "part,color,qty" >"$out/nothing.csv"
    "$here/price.sh" ${currency:+-C "$currency"} "$market" "$out" "$out/nothing.csv" || exit
    grep -q '^done ' "$out/nothing.rows" || trouble "$1: the market has a fault"
    rm -f -- "$out/nothing.csv" "$out/nothing.rows"

    find -L "$designs" -type f -name '*.csv' ! -name '.*' | LC_ALL=C sort |
        awk -v part="${part:-1/1}" 'BEGIN { split(part, p, "/") } NR % p[2] == p[1] % p[2]' >"$out/designs.new"
    [ -s "$out/designs.new" ] || trouble "$2: no designs in it: they are files NAME.csv"
    twice=$(sed 's|.*/||' "$out/designs.new" | LC_ALL=C sort | uniq -d | head -n 1)
    [ -z "$twice" ] || trouble "$2: two designs are called $twice"
    if [ -n "$logins" ]; then
        rm -rf -- "$out/batches"
        mkdir "$out/batches" && (cd "$out/batches" && split -a 6 -d -l "$batch" ../designs.new '') || exit 2
        for list in "$out/batches"/*; do
            sed "s|^$designs/|./|" "$list" >"$list.names"
            tar -cf "$list.tar" -C "$designs" -T "$list.names" || exit 2
            rm -f -- "$list" "$list.names"
        done
    fi
    mv -f -- "$out/designs.new" "$out/designs" && mv -f -- "$out/begun.new" "$out/begun" || exit 2
elif ! cmp -s "$out/begun" "$out/begun.new"; then
    diff "$out/begun" "$out/begun.new" | sed -n 's/^[<>] /run.sh:     &/p' >&2
    trouble "$3 was begun (<) with another market or other options (>): give a new directory"
fi
rm -rf -- "$out/begun.new" "$out/results"/.work.*

# Each job by what its results are called.
if [ -n "$logins" ]; then
    (cd "$out/batches" && printf '%s\n' *.tar) | sed 's/\.tar$//' >"$out/jobs"
    per_job=1
else
    sed 's|.*/||; s/\.csv$//' "$out/designs" >"$out/jobs"
    per_job=$batch
fi

# parallel goes by its log. Here a job counts as done if its results are there, too, and no design among
# them failed: others leave the log, and are done again.
if [ -s "$out/joblog" ]; then
    (cd "$out/results" && find . -name '*.rows' -exec grep -L '^failed ' {} +) |
        sed 's|^\./||; s/\.rows$//' >"$out/good"
    awk -v per_job="$per_job" -v good="$out/good" -v jobs="$out/jobs" '
        BEGIN {
            while ((getline name <good) > 0) is_good[name]
            for (n = 0; (getline name <jobs) > 0; n++)
                if (!(name in is_good)) again[1 + int(n / per_job)]
        }
        FNR == 1 || !($1 in again)' "$out/joblog" >"$out/joblog.new" &&
        mv -f -- "$out/joblog.new" "$out/joblog" || exit 2
fi

set -- "$here/price.sh"
[ -z "$logins" ] || set -- ./price.sh
[ -z "$bin" ] || set -- "$@" -b "$bin"
[ -z "$currency" ] || set -- "$@" -C "$currency"
[ -z "$effort" ] || set -- "$@" -e "$effort"
if [ -n "$logins" ]; then
    # Each machine gets the programs' script and the market once, a job's need lists with it, and sends
    # their rows back. What stands behind /./ is where a file goes in the directory over there.
    set -- -S "$logins" --retries 3 --cleanup \
        --workdir "lotpipe-fleet-$(echo "$(uname -n):$out" | cksum | cut -d ' ' -f 1)" \
        --transferfile 'batches/{}.tar' --return 'results/{}.rows' --arg-file jobs \
        "$@" "$(basename "$market")" results 'batches/{}.tar'
    for file in "$market"/*.csv; do
        set -- --basefile "$(dirname "$market")/./$(basename "$market")/$(basename "$file")" "$@"
    done
    set -- --basefile "$here/./price.sh" "$@"
else
    set -- -n "$batch" --arg-file designs "$@" "$market" results '{}'
fi
[ -z "$jobs" ] || set -- -j "$jobs" "$@"
[ ! -t 2 ] || set -- --bar "$@"

# The jobs' shell here and over there is sh, whatever the user's is, or where there is no $SHELL.
# In the background, so that a signal to this script reaches parallel: at the first it ends when the jobs
# that are at work have ended, which it takes HUP for, at the second at once.
cd -- "$out" || exit 2
PARALLEL_SHELL=/bin/sh parallel --will-cite --quote --joblog joblog --resume-failed "$@" </dev/null 9>&- &
pid=$!
signal=HUP
trap 'kill -"$signal" "$pid"; signal=TERM' HUP INT TERM
while :; do
    status=0
    wait "$pid" || status=$?
    kill -0 "$pid" 2>/dev/null || break
done
trap - HUP INT TERM
# Up to 101 it counts the jobs that failed, which the table of failures tells better.
[ "$status" -le 101 ] || echo "run.sh: parallel ended with exit status $status" >&2

begun | cmp -s - "$out/begun" || trouble "the market changed under the run: its rows are of no use"
"$here/gather.sh" "$out" || exit
[ "$status" -le 101 ] || exit 2
