#!/usr/bin/env bats
# examples/fleet: 1,000 drawn designs priced by GNU parallel, through killed workers, on several machines, as a
# Slurm array; always the same tables.

load lib

FLEET=$TESTS/../examples/fleet

# The 1,000 designs and their market are drawn once, and priced once without a hitch: as a job
# array, so that later tests, which take other ways, have something to be the same as.
setup_file() {
	command -v parallel >/dev/null || return 0
	export PARALLEL_HOME=$BATS_FILE_TMPDIR/parallel
	cd "$BATS_FILE_TMPDIR" || return
	mkdir designs market few
	awk -v dir=. -f "$TESTS/../examples/fleet/draw.awk"
	# Among these are two that fail and one that lacks a part.
	cp designs/*-0[0-4][0-9]0.csv designs/*-0{089,097,194}.csv few
	local task status
	for task in 7 5 8 6; do
		status=0
		SLURM_ARRAY_TASK_ID=$task SLURM_ARRAY_TASK_MIN=5 SLURM_ARRAY_TASK_COUNT=4 SLURM_CPUS_PER_TASK=2 \
			"$TESTS/../examples/fleet/slurm.sh" market designs array -n 25 >>array.log 2>&1 || status=$?
		echo "$status" >>array.status
	done
	"$TESTS/../examples/fleet/gather.sh" array 2>gather.log || echo "$?" >gather.status
}

setup() {
	begin
	needs parallel parallel
	ALL=$BATS_FILE_TMPDIR/array
	MARKET=$BATS_FILE_TMPDIR/market
	DESIGNS=$BATS_FILE_TMPDIR/designs
	FEW=$BATS_FILE_TMPDIR/few
	export MACHINES=$PWD/machines PARALLEL_SSH=$TESTS/stand-in-ssh
	mkdir machines
}

# Servers that a test has started and, having failed, not ended.
teardown() {
	local file
	for file in "$BATS_TEST_TMPDIR"/work/*.pid; do
		[ ! -f "$file" ] || kill "$(cat "$file")" 2>/dev/null || true
	done
}

# Those rows of table $1 of all designs that are of the few, under the header.
few_of() {
	(cd "$FEW" && printf '%s\n' *.csv) | sed 's/\.csv$//' |
		awk -F, 'NR == FNR { few[$1]; next } FNR == 1 || $1 in few' - "$ALL/$1"
}

# The tables in $1 are those that the array gave for the few.
few_are() {
	few_of totals.csv | diff -u - "$1/totals.csv" && few_of failed.csv | diff -u - "$1/failed.csv"
}

# Waits until directory $1 has at least $2 results.
results_of() {
	until [ "$(find "$1/results" -name '*.rows' 2>/dev/null | wc -l)" -ge "$2" ]; do sleep 0.02; done
}

# One of parallel's jobs, held while it is at work: its process in `job`, its design in `held`.
hold_a_job() {
	while :; do
		job=$(pgrep -P "$1" -f price.sh | head -n 1)
		if [ -z "$job" ] || ! kill -STOP -- "-$job" 2>/dev/null; then continue; fi
		held=$(tr '\0' '\n' <"/proc/$job/cmdline" | sed -n 's|.*/designs/\(.*\)\.csv.*|\1|p')
		[ -n "$held" ] && [ ! -e "$2/results/$held.rows" ] && return
		kill -CONT -- "-$job" || true
	done
}

@test "a thousand designs as a job array: a row for each, those that fail apart" {
	cd "$BATS_FILE_TMPDIR"
	# Each part tells that some of its designs failed, and so do all together.
	printf '1\n1\n1\n1\n' | diff -u - array.status
	echo 1 | diff -u - gather.status
	echo "gather.sh: 990 designs priced, 10 failed" | diff -u - gather.log
	[ "$(wc -l <array/totals.csv)" -eq 991 ]
	[ "$(wc -l <array/failed.csv)" -eq 11 ]
	tail -q -n +2 array/totals.csv array/failed.csv | cut -d, -f1 | LC_ALL=C sort |
		diff -u - <(basename -s .csv designs/*.csv | LC_ALL=C sort)
	tail -n +2 array/totals.csv | LC_ALL=C sort -c -t, -k1,1
	# Every 97th is spoilt, every 89th lacks two pieces: see draw.awk.
	[ "$(grep -c 'qty ""a few"" is no number' array/failed.csv)" -eq 10 ]
	awk -F, 'NR > 1 && substr($1, length($1) - 3) % 89 == 0 { lacking += $5 >= 2 } END { exit lacking != 11 }' \
		array/totals.csv
	# What failed was told while the others went on.
	[ "$(grep -c '^price.sh: .*: lot-norm: <stdin>:[0-9]*: qty "a few"' array.log)" -eq 10 ]
}

@test "a design's row is what the programs say of it by themselves" {
	local design
	for design in barge-0004 lock-0089 "$(sed -n 400p "$ALL/totals.csv" | cut -d, -f1)"; do
		lot-norm -q <"$DESIGNS/$design.csv" |
			lot-split -q -o "$MARKET/offers.csv" -s "$MARKET/sellers.csv" -c "$MARKET/charges.csv" \
				--report report.csv 2>/dev/null |
			lot-total -q -s "$MARKET/sellers.csv" -c "$MARKET/charges.csv" >totals.csv
		# TOTAL,,lots,pieces,,,,,,EUR,goods,charges,tax,rounding,total
		awk -F, -v OFS=, -v design="$design" '
			NR == FNR { said[$1] = $2; next }
			$1 == "TOTAL" {
				print design, said["orders"], $3, $4, said["unmet"], $10, $11, $12, $13, $14, $15,
					said["gap_percent"], said["proved"]
			}' report.csv totals.csv >due
		grep "^$design," "$ALL/totals.csv" | diff -u due -
	done
}

@test "a thousand designs, a worker killed halfway, then all of them: the next run goes on, with the same rows" {
	local run parallel job held killed
	"$FLEET/run.sh" -j 2 "$MARKET" "$DESIGNS" out 2>said &
	run=$!
	results_of out 450
	parallel=$(pgrep -P "$run" -f parallel)
	hold_a_job "$parallel" out
	killed=$held
	kill -KILL -- "-$job"
	# The others go on.
	results_of out 700
	kill -KILL "$run" "$parallel"
	wait "$run" || true
	awk -F'\t' '$8 == 9' out/joblog >lost
	[ "$(wc -l <lost)" -eq 1 ]
	grep -qF "/designs/$killed.csv" lost
	[ ! -e "out/results/$killed.rows" ]
	try "$FLEET/gather.sh" out
	exits 1
	grep -qxF "$killed,no result: its job was ended or has not run" out/failed.csv
	awk -F'\t' 'NR > 1 && $7 == 0 && $8 == 0' out/joblog >before
	[ "$(wc -l <before)" -ge 690 ]
	[ "$(wc -l <before)" -lt 990 ]

	try "$FLEET/run.sh" -j 2 "$MARKET" "$DESIGNS" out
	exits 1
	cmp out/totals.csv "$ALL/totals.csv"
	cmp out/failed.csv "$ALL/failed.csv"
	# Nothing was done twice but what failed: those lines of the log still stand, and each job has one.
	find out/results -name '*.rows' -exec grep -l '^failed' {} + | sed 's|.*/||; s/\.rows$//' >failed
	grep -vFf failed before | sort | comm -23 - <(sort out/joblog) >redone
	[ ! -s redone ]
	[ "$(wc -l <out/joblog)" -eq 1001 ]
	[ -z "$(cut -f1 out/joblog | sort | uniq -d)" ]
	# Nothing is left of what was at work.
	[ -z "$(find out -name '.*' -mindepth 1)" ]
}

# Starts a run into out, holds one of its jobs, a slow one so, and asks the run to end. Sets run, parallel, job and held.
ask_to_end() {
	"$FLEET/run.sh" -j 2 "$MARKET" "$DESIGNS" out 2>said &
	run=$!
	results_of out 10
	parallel=$(pgrep -P "$run" -f parallel)
	hold_a_job "$parallel" out
	kill -TERM "$run"
	sleep 1
}

@test "a run that is asked to end lets its jobs end, and goes on the next time" {
	local run parallel job held
	ask_to_end
	kill -CONT -- "-$job"
	status=0
	wait "$run" || status=$?
	exits 1
	[ -e "out/results/$held.rows" ]
	[ -z "$(awk -F'\t' 'NR > 1 && $8 != 0' out/joblog)" ]
	[ "$(wc -l <out/totals.csv)" -lt 900 ]
	[ -z "$(find out -name '.*' -mindepth 1)" ]
	grep -q ',no result: its job was ended or has not run$' out/failed.csv
}

@test "a run that is asked to end twice ends at once" {
	local run parallel job held
	ask_to_end
	[ -d "/proc/$parallel" ]
	kill -TERM "$run"
	status=0
	wait "$run" || status=$?
	[ "$status" -gt 0 ]
	[ ! -e "out/results/$held.rows" ]
	[ ! -d "/proc/$job" ]
}

@test "on several machines: the same rows, the market sent to each machine once, nothing left there" {
	needs rsync rsync
	try "$FLEET/run.sh" -n 10 -S 1/mill -S 1/quay -b "$BIN" "$MARKET" "$FEW" out
	exits 1
	few_are out
	# Each machine gets price.sh and three files of the market, and each job its need lists.
	jobs=$((($(find "$FEW" -name '*.csv' | wc -l) + 9) / 10))
	[ "$jobs" -ge 5 ]
	[ "$(grep -c 'rsync --server -l' machines/log)" -eq $((2 * 4 + jobs)) ]
	cut -f2 out/joblog | tail -n +2 | sort -u | diff -u <(printf '%s\n' mill quay) -
	[ -z "$(find machines -type f ! -name log)" ]
	[ -z "$(find machines -name 'lotpipe*')" ]
}

@test "a machine that does not answer: its jobs are done by another" {
	needs rsync rsync
	try "$FLEET/run.sh" -n 20 -S 1/gone -S 1/quay -b "$BIN" "$MARKET" "$FEW" out
	exits 1
	err_has "No route to host"
	few_are out
}

@test "no machine answers: every design is told, and the next run has another machine" {
	needs rsync rsync
	# As in a job of a scheduler, and for a user of another shell.
	unset SHELL
	try "$FLEET/run.sh" -S 1/gone "$MARKET" "$FEW" out
	exits 1
	[ "$(grep -c ',no result: ' out/failed.csv)" -eq "$(find "$FEW" -name '*.csv' | wc -l)" ]
	SHELL=/bin/false try "$FLEET/run.sh" -S 1/quay -b "$BIN" "$MARKET" "$FEW" out
	few_are out
}

@test "with a real sshd" {
	[ -x /usr/sbin/sshd ] || needs sshd openssh-server
	needs rsync rsync
	needs ssh-keygen openssh-client
	local port
	port=$(python3 -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])')
	ssh-keygen -q -t ed25519 -N '' -f host
	ssh-keygen -q -t ed25519 -N '' -f key
	cat >sshd.conf <<-END
		Port $port
		ListenAddress 127.0.0.1
		HostKey $PWD/host
		AuthorizedKeysFile $PWD/key.pub
		PidFile $PWD/sshd.pid
		StrictModes no
		PasswordAuthentication no
		UsePAM no
	END
	# What its service would make.
	[ "$(id -u)" -ne 0 ] || mkdir -p /run/sshd
	/usr/sbin/sshd -f sshd.conf -E sshd.log
	cat >ssh <<-END
		#!/bin/sh
		exec ssh -F none -p $port -i '$PWD/key' -o BatchMode=yes -o LogLevel=ERROR \\
			-o UserKnownHostsFile='$PWD/known' -o StrictHostKeyChecking=accept-new "\$@"
	END
	chmod +x ssh
	status=0
	PARALLEL_SSH=$PWD/ssh try "$FLEET/run.sh" -n 30 -S 1/127.0.0.1 -S 1/localhost -b "$BIN" "$MARKET" "$FEW" out
	kill "$(cat sshd.pid)"
	exits 1
	few_are out
}

# One node, which is this machine, with all that Slurm keeps in the test's directory.
slurm_of_one() {
	local host
	host=$(uname -n)
	export SLURM_CONF=$PWD/slurm.conf
	mkdir state spool
	cat >slurm.conf <<-END
		ClusterName=test
		SlurmctldHost=$host(127.0.0.1)
		SlurmctldPort=$(($$ % 5000 + 20000))
		SlurmdPort=$(($$ % 5000 + 26000))
		AuthType=auth/none
		CredType=cred/none
		SlurmUser=$(id -un)
		SlurmdUser=$(id -un)
		StateSaveLocation=$PWD/state
		SlurmdSpoolDir=$PWD/spool
		SlurmctldPidFile=$PWD/slurmctld.pid
		SlurmdPidFile=$PWD/slurmd.pid
		SlurmctldLogFile=$PWD/slurmctld.log
		SlurmdLogFile=$PWD/slurmd.log
		ProctrackType=proctrack/linuxproc
		TaskPlugin=task/none
		MpiDefault=none
		SchedulerType=sched/builtin
		SelectType=select/cons_tres
		SelectTypeParameters=CR_CPU
		NodeName=$host NodeAddr=127.0.0.1 CPUs=$(nproc) State=UNKNOWN
		PartitionName=all Nodes=$host Default=YES State=UP MaxTime=INFINITE
	END
	slurmctld -c -i
	slurmd
}

@test "with a real Slurm of one node" {
	needs sbatch slurm-client
	[ -x /usr/sbin/slurmctld ] || needs slurmctld slurmctld
	[ -x /usr/sbin/slurmd ] || needs slurmd slurmd
	local array
	PATH=$PATH:/usr/sbin
	slurm_of_one
	array=$(sbatch --parsable --array=1-3 --cpus-per-task=1 "$FLEET/slurm.sh" "$MARKET" "$FEW" out -n 10)
	sbatch --parsable --dependency="afterany:$array" --output=gather.log "$FLEET/gather.sh" out
	for _ in $(seq 120); do
		[ -n "$(squeue -h)" ] || break
		sleep 0.5
	done
	kill "$(cat slurmctld.pid)" "$(cat slurmd.pid)"
	cat fleet-*.log gather.log
	few_are out
	grep -q '^gather.sh: .* 2 failed$' gather.log
}

@test "a part of an array that has not begun is told" {
	export SLURM_ARRAY_TASK_MIN=1 SLURM_ARRAY_TASK_COUNT=3
	SLURM_ARRAY_TASK_ID=2 "$FLEET/slurm.sh" "$MARKET" "$FEW" out 2>/dev/null || true
	try "$FLEET/gather.sh" out
	exits 1
	err_has "gather.sh: part 1 of 3 has not begun"
	err_has "gather.sh: part 3 of 3 has not begun"
	try "$FLEET/slurm.sh" "$MARKET" "$FEW" out
	exits 2
	err_has "usage: sbatch"
}

@test "a design that failed is priced by the next run once it is repaired, and no other is" {
	mkdir designs
	printf 'part,color,qty\nB-100,chalk,4\n' >designs/pier.csv
	printf 'part,color,qty\nB-100,chalk,4 or 5\n' >designs/weir.csv
	try "$FLEET/run.sh" "$MARKET" designs out
	exits 1
	err_is <<-'END'
		price.sh: weir: lot-norm: <stdin>:2: qty "4 or 5" is no number of pieces: write digits, as 12, x12 or 12 pcs
		gather.sh: 1 designs priced, 1 failed
	END
	diff -u - out/failed.csv <<-'END'
		design,reason
		weir,"lot-norm: <stdin>:2: qty ""4 or 5"" is no number of pieces: write digits, as 12, x12 or 12 pcs"
	END
	sed -i 's/4 or 5/4/' designs/weir.csv
	try "$FLEET/run.sh" "$MARKET" designs out
	exits 0
	err_is <<<"gather.sh: 2 designs priced, 0 failed"
	[ "$(wc -l <out/failed.csv)" -eq 1 ]
	[ "$(cut -d, -f2- out/totals.csv | sed -n 2p)" = "$(cut -d, -f2- out/totals.csv | sed -n 3p)" ]
	# The log has weir's second try, and pier's first.
	cut -f1,9 out/joblog | sed 's|\t.*/|\t|' | diff -u - <(printf 'Seq\tCommand\n1\tpier.csv\n2\tweir.csv\n')
	# A third run finds nothing to do.
	cp out/joblog before
	try "$FLEET/run.sh" "$MARKET" designs out
	exits 0
	cmp out/joblog before
}

@test "names of designs may be hostile, and lie in folders" {
	mkdir -p 'designs/a folder'
	local name
	for name in 'a, b' '-n' '"quoted"' "it's \$(touch ran) ;x" 'a=b' 'ö{}' ' blank'; do
		printf 'part,color,qty\nB-100,chalk,4\n' >"designs/a folder/$name.csv"
	done
	try "$FLEET/run.sh" "$MARKET" designs 'out of it'
	exits 0
	cut -d, -f2- 'out of it/totals.csv' | tail -n +2 | sed 's/^ b",//' | sort -u | grep -c . | grep -qx 1
	python3 - <<-'END' >names
		import csv
		for row in csv.DictReader(open("out of it/totals.csv", encoding="utf-8")):
		    assert row["pieces"] == "4", row
		    print(row["design"])
	END
	LC_ALL=C sort names >sorted
	printf '%s\n' ' blank' '"quoted"' '-n' 'a, b' 'a=b' "it's \$(touch ran) ;x" 'ö{}' | LC_ALL=C sort | diff -u - sorted
	[ ! -e ran ] && [ ! -e 'out of it/ran' ]
	# By way of a machine, too.
	needs rsync rsync
	try "$FLEET/run.sh" -S 1/quay -b "$BIN" "$MARKET" designs far
	exits 0
	cmp far/totals.csv 'out of it/totals.csv'
}

@test "a run is of one market and one set of options" {
	mkdir market
	cp "$MARKET"/*.csv market
	try "$FLEET/run.sh" -e 100000 market "$FEW" out
	exits 1
	try "$FLEET/run.sh" -e 200000 market "$FEW" out
	refused "out was begun (<) with another market or other options (>): give a new directory"
	echo "Late Shelf,B-100,chalk,5,0.02,," >>market/offers.csv
	try "$FLEET/run.sh" -e 100000 market "$FEW" out
	refused "out was begun (<) with another market or other options (>): give a new directory"
	err_has "./offers.csv"
}

@test "a faulty market is told once, before any design" {
	mkdir market
	cp "$MARKET"/*.csv market
	echo "Late Shelf,B-100,chalk,5,cheap,," >>market/offers.csv
	try "$FLEET/run.sh" market "$FEW" out
	refused "market: the market has a fault"
	err_has 'price "cheap"'
	[ "$(wc -l <"$ERR")" -eq 2 ]
	sed -i '$d' market/offers.csv
	try "$FLEET/run.sh" market "$FEW" out
	exits 1
	few_are out
}

@test "what cannot be done is refused, with what would be right" {
	try "$FLEET/run.sh" "$MARKET" "$FEW"
	refused "usage: run.sh [option...] MARKET DESIGNS OUT"
	try "$FLEET/run.sh" -j none "$MARKET" "$FEW" out
	refused "run.sh: -j none: a whole number from 1 on"
	try "$FLEET/run.sh" -p 4/3 "$MARKET" "$FEW" out
	refused "run.sh: -p 4/3: there is no such part"
	mkdir -p empty twice/a twice/b
	try "$FLEET/run.sh" "$MARKET" empty out
	refused "run.sh: empty: no designs in it: they are files NAME.csv"
	touch twice/a/pier.csv twice/b/pier.csv
	try "$FLEET/run.sh" "$MARKET" twice out
	refused "run.sh: twice: two designs are called pier"
	try "$FLEET/run.sh" empty "$FEW" out
	refused "run.sh: empty: no market: it has sellers.csv and offers*.csv"
	try "$FLEET/gather.sh" empty
	refused "gather.sh: no run has left anything here"
	try "$FLEET/price.sh" "$MARKET" out
	refused "usage: price.sh"
}

@test "one run at a time works in a directory" {
	needs flock util-linux
	mkdir out
	exec 8>out/lock
	flock -n 8
	try "$FLEET/run.sh" "$MARKET" "$FEW" out
	refused "run.sh: out: another run is at work there"
	exec 8>&-
}

@test "the same seed draws the same, with any awk" {
	local awk
	for awk in mawk gawk "busybox awk" original-awk; do
		command -v "${awk%% *}" >/dev/null || continue
		rm -rf drawn
		mkdir -p drawn/designs drawn/market
		$awk -v dir=drawn -f "$FLEET/draw.awk"
		diff -rq drawn/designs "$DESIGNS"
		diff -rq drawn/market "$MARKET"
	done
}

@test "README.md of the example shows what is printed" {
	local readme=$FLEET/README.md
	shown() {
		awk -v start="$1" '
			/^```/ { inside = !inside; here = 0; fresh = inside; next }
			fresh { here = index($0, start) == 1; fresh = 0 }
			here' "$readme"
	}
	shown gather.sh: | diff -u - "$BATS_FILE_TMPDIR/gather.log"
	shown design,orders | diff -u - <(head -n 3 "$ALL/totals.csv")
	shown design,reason | diff -u - <(head -n 2 "$ALL/failed.csv")
	# The files in its table are those that are there.
	# shellcheck disable=SC2016 # a pattern, no command
	sed -n 's/^| `\([a-z.]*\)` .*/\1/p' "$readme" | sort |
		diff -u - <(cd "$FLEET" && find . -type f ! -name README.md ! -path './night/*' | sed 's|.*/||' | sort)
}
