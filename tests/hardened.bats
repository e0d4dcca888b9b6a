#!/usr/bin/env bats
# How the programs are built, and what they ask of the system: read from the binaries. A sanitizer build has
# other guards, and calls more.

load lib

setup() {
	begin
	needs readelf binutils
	needs nm binutils
	PROGRAMS=$(sed -n '/^PROGRAMS/,/[^\\]$/p' "$TESTS/../Makefile" | sed 's/^PROGRAMS *=//' | tr -d '\\\n')
	[ "$(wc -w <<<"$PROGRAMS")" -eq "$(find "$TESTS/../src" -maxdepth 1 -name 'lot-*.c' | wc -l)" ]
}

# A run-time library of a compiler's, for sanitizers or counts?
instrumented() {
	grep -qE '__(asan|ubsan|msan|tsan)_|__gcov_' "$BIN/lot-norm"
}

# commands_of VARIABLE=VALUE...: what the Makefile would do, into the files compiles and links.
commands_of() {
	env -u MAKEFLAGS -u MFLAGS -u MAKELEVEL make -n -C "$TESTS/.." BUILD="$PWD/build" BIN="$PWD/bin" "$@" all >commands
	grep -e ' -c -o ' commands >compiles
	grep -e ' -o [^ ]*/bin/lot-' commands >links
	[ "$(wc -l <compiles)" -ge 100 ] && [ "$(wc -l <links)" -ge 14 ]
}

# asked OPTION: whether the Makefile gives it to the compiler that is here, CC.
asked() {
	commands_of && grep -qF -e " $1 " commands
}

# all_have FILE TEXT: every line of it has.
all_have() {
	[ "$(grep -cF -e " $2 " "$1")" -eq "$(wc -l <"$1")" ]
}

# A build of another compiler, or with HARDENED=, is another matter.
hardened_by() {
	! instrumented || skip "a sanitizer build is not hardened"
	asked "$1" || skip "this compiler does not take $1"
}

# none PATTERN FILE...: no line of the files matches.
none() {
	if grep -nE -e "$@"; then
		return 1
	fi
}

# imports PROGRAM: the names that it takes from libraries.
imports() {
	nm -D --undefined-only "$BIN/$1" | sed 's/.* [Uw] //; s/@.*//'
}

@test "position-independent executables" {
	local program
	hardened_by -pie
	for program in $PROGRAMS; do
		readelf -hW "$BIN/$program" | grep -q 'Type: *DYN'
		readelf -dW "$BIN/$program" | grep -q 'FLAGS_1.* PIE'
	done
}

@test "full RELRO: symbols are bound at the start, and the table of them is read-only then" {
	local program
	hardened_by -Wl,-z,now
	for program in $PROGRAMS; do
		readelf -lW "$BIN/$program" | grep -q '^ *GNU_RELRO'
		readelf -dW "$BIN/$program" | grep -qE 'BIND_NOW|FLAGS_1.* NOW'
	done
}

@test "no stack, and no segment that can be written, can be run" {
	local program
	hardened_by -Wl,-z,noexecstack
	for program in $PROGRAMS; do
		readelf -lW "$BIN/$program" >segments
		grep -qE '^ *GNU_STACK .* RW +0x' segments
		none ' RWE +0x' segments
	done
}

@test "stack protection" {
	local program
	hardened_by -fstack-protector-strong
	for program in $PROGRAMS; do
		imports "$program" | grep -qx __stack_chk_fail
	done
}

@test "calls of libc that check the size of what they write to" {
	local program
	hardened_by -D_FORTIFY_SOURCE=2
	for program in $PROGRAMS; do
		imports "$program" | grep -qE '^__.*(printf|mem|str|read|realpath|poll).*_chk$'
	done
}

@test "the options are there where the compiler knows them, and only there" {
	local compiler
	for compiler in gcc clang; do
		command -v "$compiler" >/dev/null || continue
		commands_of CC="$compiler"
		# on the systems these tests are run on, both know them all
		all_have compiles '-U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=2 -fstack-protector-strong'
		all_have compiles -fPIE
		all_have links '-pie -Wl,-z,relro -Wl,-z,now -Wl,-z,noexecstack'
	done
	# One that knows nothing of the stack, nor of position-independent programs and RELRO.
	cat >plain-cc <<-'END'
		#!/bin/sh
		case "$*" in *-fstack-protector* | *-fPIE* | *-pie* | *relro*) exit 1 ;; esac
		exec cc "$@"
	END
	chmod +x plain-cc
	commands_of CC="$PWD/plain-cc"
	none '-fstack-protector|-fPIE|-pie|relro' commands
	all_have compiles -D_FORTIFY_SOURCE=2
}

@test "checked calls wherever the compiler optimises, but not twice, and not with sanitizers or counts" {
	local cflags
	for cflags in '-O3 -g' -O1 -Os '-O0 -O2'; do
		commands_of CFLAGS="$cflags"
		all_have compiles '-U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=2'
	done
	for cflags in '-O1 -fsanitize=address,undefined' '-O1 --coverage' '-O2 -D_FORTIFY_SOURCE=3'; do
		commands_of CFLAGS="$cflags"
		none '-D_FORTIFY_SOURCE=2' commands
		all_have compiles -U_FORTIFY_SOURCE
		all_have compiles -fstack-protector-strong
		all_have links -pie
	done
	# nothing of what was asked for is left behind
	[ -z "$(find "$TESTS/.." -maxdepth 1 -name '*.gcno')" ]
}

@test "no program and no shell is started, no network is used, nobody becomes another user" {
	local program
	! instrumented || skip "a sanitizer's run-time library calls more"
	cat >never <<-'END'
		system popen
		execl execle execlp execv execve execveat execvp execvpe fexecve posix_spawn posix_spawnp wordexp
		socket socketpair connect bind listen accept accept4 send sendto sendmsg recv recvfrom recvmsg
		getaddrinfo getnameinfo gethostbyname gethostbyname2 gethostbyaddr getservbyname res_query res_search
		setuid seteuid setreuid setresuid setgid setegid setregid setresgid setgroups initgroups setfsuid setfsgid
		dlopen dlmopen dlsym ptrace syscall mprotect memfd_create process_vm_writev
		gets mktemp tmpnam tempnam
		rand srand random drand48
	END
	tr -s ' ' '\n' <never | sort -u >never.sorted
	for program in $PROGRAMS; do
		imports "$program" | sort -u >used
		grep -qxE 'open(64)?' used
		comm -12 used never.sorted >found
		cat found
		[ ! -s found ]
	done
}

@test "lot-gain alone starts processes, of its own, for its jobs" {
	local program
	! instrumented || skip "a run-time library calls more"
	for program in $PROGRAMS; do
		! imports "$program" | grep -qx fork || echo "$program"
	done >forks
	diff - forks <<<lot-gain
}

@test "nothing is set-user-ID, as built and as installed; no capabilities" {
	[ -z "$(find "$BIN/" -name 'lot-*' -perm /7000)" ]
	# Of what is in bin now: another build would not be what is tested.
	env -u MAKEFLAGS -u MFLAGS -u MAKELEVEL make -s -n -C "$TESTS/.." install >commands
	grep -q 'install -m 755 .*lot-norm' commands
	none 'install .*-m *[2467][0-7]{3}|chmod|setcap|chown' commands
}

@test "libraries are libc, libcsv and PCRE2, and no path to look for them is built in" {
	local program
	! instrumented || skip "a sanitizer build has its run-time library too"
	for program in $PROGRAMS; do
		readelf -dW "$BIN/$program" >dynamic
		sed -n 's/.*(NEEDED).*\[\(.*\)\]/\1/p' dynamic >needed
		grep -q '^libc\.' needed
		sed -E '/^(libc|libcsv|libpcre2-8|libm|ld-linux[a-z0-9-]*)\.so/d' needed >beyond
		none . beyond
		none 'RPATH|RUNPATH|TEXTREL' dynamic
	done
}
