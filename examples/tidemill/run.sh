#!/bin/sh
# The tide mill, from the parts list as exported to the landed cost, in three scenarios. What is made of what
# stands in the Makefile; this shows the result.
#
# usage: run.sh [output directory]      default: out, beside this script

set -eu

here=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd)
mkdir -p -- "${1:-$here/out}"
out=$(CDPATH='' cd -- "${1:-$here/out}" && pwd)
cd -- "$here"

# Options of a make that started this one are not for this one.
unset MAKEFLAGS MFLAGS MAKELEVEL
# What make runs is nobody's result, and stays quiet; what fails is told on standard error.
make -s OUT="$out" >&2

# Some columns of the comparison, lined up for the eye; no field in it has a comma.
awk -F, '
    NR == 1 {
        for (i = 1; i <= NF; i++) at[$i] = i
        printf "%-18s", "scenario (EUR)"
    }
    NR > 1 { printf "%-18s", $at["scenario"] }
    {
        printf " %6s %6s %9s %9s %9s %9s %9s\n", $at["orders"], $at["pieces"], $at["goods"],
            $at["charges"], $at["tax"], $at["total"], $at["saving"]
    }' "$out/compare.csv"
