#!/usr/bin/env bats
# Programs that are ended while they write: every file is whole, nothing is left that the next run does not clear away,
# and strangers' files stay. Here at some of the places and moments, in long/interrupted.bats at all (`make starve`). How
# many runs were ended, and how many came out bad, is printed.

load lib
load faults

setup_file() {
	faults_setup_file
}

setup() {
	begin
	faults_setup
}

@test "SIGKILL at every third call on files, and in the middle of those that write" {
	runs_listed | interrupted kill 3
}

@test "SIGKILL at 25 moments of a run that writes side files, and at 25 of one that fills a directory" {
	large_runs >runs
	interrupted moments 8 <runs
}

@test "SIGHUP, SIGINT and SIGTERM at each call in turn: all files new, or all as before, and nothing is left" {
	runs_listed | interrupted end 4
}

@test "another run meanwhile, at every third call: both write whole files, and neither clears the other's away" {
	runs_listed | interrupted pair 3
}

# Where a directory is made, and not locked yet, the other run clears it away.
@test "another run meanwhile, at each call where files are dealt into a directory" {
	runs_listed | grep '^lot-deal' | interrupted pair
}

@test "what is left is recognised by its name, its owner and its lock, and links are not followed" {
	cd inputs
	echo mine >.lotpipe-00000a
	mkdir .lotpipe-00000b .lotpipe-00000c
	echo mine >.lotpipe-00000b/file
	mkdir .lotpipe-00000c/within
	echo mine >.lotpipe-00000d
	ln -s need.csv .lotpipe-00000e
	mkfifo .lotpipe-00000f
	# d is in use
	exec 9<.lotpipe-00000d
	flock -n 9
	try lot-owned -q -k stock.csv --taken taken.out <need.csv
	exec 9<&-
	exits 0
	[ "$(echo .lotpipe-*)" = '.lotpipe-00000c .lotpipe-00000d .lotpipe-00000e .lotpipe-00000f' ]
	[ -s need.csv ]
	if [ "$(id -u)" -eq 0 ]; then
		chown 65534 .lotpipe-00000d
		try lot-owned -q -k stock.csv --taken taken.out <need.csv
		[ -e .lotpipe-00000d ]
		chown 0 .lotpipe-00000d
	fi
	try lot-owned -q -k stock.csv --taken taken.out <need.csv
	[ ! -e .lotpipe-00000d ]
	rm -rf .lotpipe-* taken.out
}

@test "SIGPIPE ends a program quietly; where it is ignored, the failing write is told" {
	local run words
	cd inputs
	for run in "${RUNS[@]}"; do
		[ "${run%%:*}" != lot-deal ] || continue
		read -ra words <<<"${RUN_WORDS[$run]}"
		run_of "$run"
		exits 0
		cp "$ERR" due
		rm -f ./*.out
		python3 - "${RUN_INPUT[$run]}" "${words[@]}" <<-'END'
			import os, signal, subprocess, sys
			for ignored in (False, True):
			    ours, theirs = os.pipe()
			    os.close(ours)
			    signal.signal(signal.SIGPIPE, signal.SIG_IGN if ignored else signal.SIG_DFL)
			    done = subprocess.run(sys.argv[2:], stdin=open(sys.argv[1]), stdout=theirs, stderr=subprocess.PIPE,
			                          restore_signals=False, check=False, text=True)
			    os.close(theirs)
			    told = done.stderr
			    if ignored:
			        *notes, trouble = told.splitlines()
			        assert done.returncode == 2, done
			        assert trouble == sys.argv[2] + ": <stdout>: Broken pipe", told
			    else:
			        notes = told.splitlines()
			        assert done.returncode == -signal.SIGPIPE, done
			    # what is told of the results is not, since they were not written
			    due = open("due").read().splitlines()
			    assert notes == due[:len(notes)] and len(notes) < max(len(due), 1), told
		END
		# before stdout
		for words in ${RUN_SIDES[$run]}; do
			[ -s "$words" ]
		done
	done
}

@test "a file that outgrows the limit of the process is told, and is not left half" {
	cd inputs
	python3 -c 'print("part,color,qty"); [print(f"P-{i},red,1") for i in range(9000)]' >long.csv
	# shellcheck disable=SC2317 # called by try
	limited() (
		ulimit -f 8
		lot-norm -q --rejects rejects.out --except 'part=P-1.*' "$@" <long.csv
	)
	lot-norm -q <long.csv >whole
	try limited
	exits 2
	err_is <<<'lot-norm: <stdout>: File too large'
	cmp -n "$(stat -c %s "$OUT")" "$OUT" <(lot-norm -q --except 'part=P-1.*' <long.csv)
	# shellcheck disable=SC2317
	limited_side() (
		ulimit -f 8
		lot-owned -q -k empty.csv --left left.out --taken taken.out "$@" <long.csv
	)
	sed 's/1$/2/' long.csv >empty.csv
	try limited_side
	refused 'taken.out: File too large'
	[ ! -e left.out ] && [ ! -e taken.out ]
	[ -z "$(find . -name '.lotpipe-*')" ]
	rm -f long.csv whole empty.csv rejects.out
}

@test "a side file that nobody reads: SIGTERM ends the program, and no file beside it is left" {
	local status=0
	cd inputs
	mkfifo left.out
	timeout -s TERM 0.5 lot-owned -q -k stock.csv --taken taken.out --left left.out <need.csv >"$OUT" || status=$?
	[ "$status" -eq 124 ]
	out_is_empty
	[ ! -e taken.out ]
	[ -z "$(find . -name '.lotpipe-*')" ]
	rm left.out
}

@test "jobs end with the program they are of" {
	local pid jobs
	cd inputs
	python3 - <<-'END'
		# a search that takes long: none of it is needed
		import random
		draw = random.Random(1)
		with open("large-need.csv", "w") as need, open("large-offers.csv", "w") as offers:
		    print("part,color,qty", file=need)
		    print("seller,part,color,qty,price", file=offers)
		    for i in range(150):
		        print(f"P-{i},red,{draw.randint(1, 30)}", file=need)
		        for j in draw.sample(range(200), 25):
		            print(f"S{j},P-{i},red,{draw.randint(5, 40)},{draw.randint(1, 90)}e-2".replace("e-2", "") + ".5", file=offers)
		with open("large-charges.csv", "w") as charges:
		    print("seller,charge,amount\n*,shipping,30", file=charges)
		with open("large-swaps.csv", "w") as swaps:
		    print("rule,do,part,color,to_part,to_color", file=swaps)
		    for i in range(4):
		        print(f"r{i},use,P-{i},red,P-{i + 50},", file=swaps)
	END
	printf 'seller,route,currency\n*,market,EUR\n' >large-sellers.csv
	setsid lot-gain -q -r large-swaps.csv -o large-offers.csv -s large-sellers.csv -c large-charges.csv --jobs 2 \
		<large-need.csv >/dev/null 2>&1 3>&- &
	pid=$!
	children() {
		pgrep -s "$pid" || true
	}
	# the first job is there
	for _ in {1..100}; do
		[ "$(children | wc -l)" -lt 2 ] || break
		sleep 0.1
	done
	jobs=$(($(children | wc -l) - 1))
	kill -KILL "$pid"
	for _ in {1..100}; do
		[ -n "$(children)" ] || break
		sleep 0.1
	done
	[ "$jobs" -ge 1 ]
	[ -z "$(children)" ]
	rm large-*.csv
}
