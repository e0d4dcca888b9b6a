#!/usr/bin/env bats
# No memory, a full disk, a failing disk, reads and writes cut short: in a typical run of every program, at each point
# where it can happen; here at some of them, in long/starved.bats at all (`make starve`). Exit status 2, one message that
# names the trouble, nothing on stdout but the beginning of what a failing write left there, files whole or as they
# were, and nothing left behind. How many faults were made, and how many came out bad, is printed.

load lib
load faults

setup_file() {
	faults_setup_file
}

setup() {
	begin
	faults_setup
}

@test "each request for memory that fails: the first 200, and one of every 101 behind" {
	memory_is_ours
	starved alloc 200 101
}

@test "no memory any more: from the first 20 requests on, and from one of every 101 behind" {
	memory_is_ours
	starved scarce 20 101
}

@test "a disk that is full after so many bytes: the first 20, and one of every 97 behind" {
	starved full 20 97
}

@test "each call on files, directories and processes that fails" {
	starved call
}

@test "all calls that fail from one on: what is left behind then, the next run clears away" {
	starved dead
}

@test "one byte at a time is read and written, and every call that can be is interrupted" {
	starved short
}

@test "64 MiB of memory, and a longer list" {
	memory_is_ours
	first_runs | starved_of limit
}

@test "bad outcomes are seen: of a program that leaves half a file, and of one that does not care" {
	cat >lot-careless <<-'END'
		#!/usr/bin/env python3
		import os, sys
		fd = os.open("side.out", os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
		try:
		    for fd, text in ((fd, b"w" * 40), (1, b"done\n")):
		        while text:
		            text = text[os.write(fd, text):]
		except OSError as error:
		    if sys.argv[1] == "half":
		        print("lot-careless: side.out:", error.strerror, file=sys.stderr)
		        sys.exit(2)
	END
	chmod +x lot-careless
	PATH=$PWD:$PATH
	unset FAULTS_COUNT # these are no news
	run -1 starved_of full 3 7 3>told < <(printf 'careless\tneed.csv\tlot-careless half\n')
	[[ $output == *'not whole: side.out'*' bad outcomes'* ]]
	[[ $output != *' 0 bad outcomes'* ]]
	run -1 starved_of full 3 7 3>told < <(printf 'careless\tneed.csv\tlot-careless never\n')
	[[ $output == *'done, but '*' bad outcomes'* ]]
}
