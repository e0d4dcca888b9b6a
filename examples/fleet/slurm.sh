#!/bin/sh
#SBATCH --job-name=fleet
#SBATCH --array=1-8
#SBATCH --nodes=1
#SBATCH --ntasks=1
#SBATCH --cpus-per-task=4
#SBATCH --requeue
#SBATCH --open-mode=append
#SBATCH --output=fleet-%A-%a.log
#
# Prices a fleet of designs as a Slurm job array: each task prices its part of the designs on a node's cores,
# with run.sh. MARKET, DESIGNS and OUT are on a file system that all nodes see; the market is copied to the
# node's own disk once. A task that is requeued, or submitted again, goes on where it was ended.
#
# usage: sbatch [option...] slurm.sh MARKET DESIGNS OUT [option of run.sh...]
#        gather.sh OUT       when the array has ended: sbatch --dependency=afterany:ID
#
# Any array will do whose step is 1: --array=1-100%20 is a hundred parts, of which twenty at a time.

set -u

if [ $# -lt 3 ] || [ -z "${SLURM_ARRAY_TASK_ID:-}" ]; then
    echo "usage: sbatch [option...] slurm.sh MARKET DESIGNS OUT [option of run.sh...]" >&2
    exit 2
fi
market=$1 designs=$2 out=$3
shift 3

# Slurm runs a copy of this script, and says where the script was if it is asked.
fleet=${FLEET:-}
if [ -z "$fleet" ] && [ -n "${SLURM_JOB_ID:-}" ] && command -v scontrol >/dev/null; then
    script=$(scontrol show job "$SLURM_JOB_ID" | sed -n 's|^ *Command=\([^ ]*\).*|\1|p' | head -n 1)
    fleet=${script%/*}
fi
[ -n "$fleet" ] || fleet=$(dirname -- "$0")
[ -x "$fleet/run.sh" ] || {
    echo "slurm.sh: no run.sh in $fleet: say with FLEET where it is" >&2
    exit 2
}

parts=$SLURM_ARRAY_TASK_COUNT
# shellcheck disable=SC2153 # Slurm sets it
part=$((SLURM_ARRAY_TASK_ID - SLURM_ARRAY_TASK_MIN + 1))

node=$(mktemp -d "${TMPDIR:-/tmp}/fleet.XXXXXX") || exit 2
trap 'rm -rf -- "$node"' EXIT
cp -- "$market"/*.csv "$node" || exit 2

# In the background for the sake of signals: Slurm sends TERM some time before it kills.
"$fleet/run.sh" -p "$part/$parts" -j "${SLURM_CPUS_PER_TASK:-1}" "$@" "$node" "$designs" "$out" &
run=$!
trap 'kill -TERM "$run"' HUP INT TERM
while :; do
    status=0
    wait "$run" || status=$?
    kill -0 "$run" 2>/dev/null || break
done
exit "$status"
