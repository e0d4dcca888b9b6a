# shellcheck shell=bash
# Typical runs (runs.bash) in which what a program asks of the system fails, or which a signal ends: faults/shim.c makes
# it so, faults/starve.py and faults/interrupt.py look at what came of it. For starved.bats and interrupted.bats, which
# try a part of what there is, and those in long/, which try all.
#
# How many faults were made and how many came out bad is printed among the results. The file that FAULTS_COUNT names,
# if it does, gets a line of both numbers each time.

load "$TESTS/runs"

# What the runs read, and the shim, once for a file of tests.
faults_setup_file() {
	local without=
	mkdir -p "$BATS_FILE_TMPDIR/faults/inputs"
	cd "$BATS_FILE_TMPDIR/faults/inputs" || return
	runs_files
	! sanitized || without=-DNO_MEMORY
	"${CC:-cc}" -std=c17 -D_GNU_SOURCE -O2 -shared -fPIC $without -o ../shim.so "$TESTS/faults/shim.c"
}

faults_setup() {
	cd "$BATS_FILE_TMPDIR/faults" || return
	# The shim comes before a sanitizer's library, which does not care once it is told so; leaks of a run that
	# dies are none of its matter.
	export ASAN_OPTIONS=${ASAN_OPTIONS:+$ASAN_OPTIONS:}verify_asan_link_order=0:detect_leaks=0
}

sanitized() {
	nm -D "$BIN/lot-norm" | grep -qE '__(asan|ubsan|msan|tsan)_'
}

# For faults of memory: a sanitizer has an allocator of its own, and takes much; what counts lines does not bear them.
memory_is_ours() {
	! grep -qE '__(asan|ubsan|msan|tsan)_|__gcov_' "$BIN/lot-norm" || skip "of this build, not all memory is the program's"
}

# starved KIND [FIRST [STRIDE]]: of all runs; of those on stdin: starved_of KIND ...
starved() {
	runs_listed | starved_of "$@"
}

starved_of() {
	judged starve.py "$@"
}

# interrupted KIND [PART]: of the runs on stdin, those that write files.
interrupted() {
	judged interrupt.py "$@"
}

judged() {
	local program=$1 status=0 counts
	shift
	python3 "$TESTS/faults/$program" shim.so "$@" >found || status=$?
	counts=$(sed -n '$s/^[a-z]*: \([0-9]*\) .* \([0-9]*\) bad outcomes$/\1 \2/p' found)
	[ -z "${FAULTS_COUNT:-}" ] || echo "$counts" >>"$FAULTS_COUNT"
	tail -n 1 found | sed 's/^/# /' >&3
	[ "$status" -eq 0 ] && [[ $counts == [1-9]*' 0' ]] && return
	cat found
	return 1
}

# The first run of each program.
first_runs() {
	runs_listed | awk -F '\t' '{ program = $1; sub(/:.*/, "", program) } !seen[program]++'
}

# Two runs with many files to write, or large ones: orders of 120 sellers, dealt out and checked off.
large_runs() {
	python3 - >inputs/many.csv <<-'END'
		print("seller,part,color,qty,price")
		for i in range(3000):
		    print(f"Yard {i % 120},P-{i},red,{i % 7 + 1},0.{i % 90 + 10}")
	END
	printf '%s\t%s\t%s\n' lot-deal many.csv 'lot-deal -d dealt' \
		lot-check many.csv 'lot-check -e many.csv --all --short short.out --into into.out'
}
