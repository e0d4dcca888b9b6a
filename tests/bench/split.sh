#!/bin/sh
# lot-split against general MIP solvers on drawn markets: see split.py, whose words it takes. HiGHS is asked
# through Debian's python3-scipy, so it is Debian's python3 that runs it.
#
# usage: split.sh [-s SEEDS] [-t S] [CASE...]      all cases take most of an hour

set -eu

here=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd)
if ! /usr/bin/python3 -c 'from scipy.optimize import milp' || ! command -v cbc >/dev/null; then
	echo "split.sh: the solvers are not there: make test-deps installs python3-scipy and coinor-cbc" >&2
	exit 1
fi
exec /usr/bin/python3 "$here/split.py" "$@"
