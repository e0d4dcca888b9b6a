# lotpipe: from a parts list to the cheapest set of orders.
# make deps demo      set-up and the main job     make test-deps check   the tests
# DEVELOPERS.md says what the other goals are for.

VERSION = 0.1.0
PREFIX  = /usr/local
DESTDIR =
BINDIR  = $(DESTDIR)$(PREFIX)/bin
MANDIR  = $(DESTDIR)$(PREFIX)/share/man

CC      = gcc
CSTD    = -std=c17 -D_GNU_SOURCE
WARN    = -Wall -Wextra -Wpedantic -Wshadow -Wconversion
WERROR  = $(if $(CI),-Werror)
OPTIMISE = -O3
# The same bytes everywhere: no fused multiply-add.
FLOAT   = -ffp-contract=off
CFLAGS  = $(OPTIMISE) -g
ALL_CFLAGS = $(CSTD) $(WARN) $(WERROR) $(FLOAT) $(HARDENED) $(CFLAGS) -Isrc
LDFLAGS =
LDLIBS  = -lcsv -lpcre2-8
COVERAGE = -O0 -g --coverage -include tests/coverage/flush.h
SANITIZE = -O1 -g -fno-omit-frame-pointer -fsanitize=address,undefined -fno-sanitize-recover=all
MSAN     = -O1 -g -fno-omit-frame-pointer -fsanitize=memory -fsanitize-memory-track-origins -Ibuild/msan/include

# A fault that a stranger's file finds is to stop the program, and do no more. Of these options those are used that the
# compiler takes beside CFLAGS: it is asked once, when it is first needed, as deps may install it. Checked calls of libc
# are in the way of sanitizers and of counting; a libc that wants an optimiser for them says so.
HARDEN        = -D_FORTIFY_SOURCE=2 -fstack-protector-strong -fstack-clash-protection -fcf-protection -fPIE
HARDEN_LINK   = -pie -Wl,-z,relro -Wl,-z,now -Wl,-z,noexecstack
BESIDE_CHECKS = $(if $(filter -fsanitize% --coverage,$(CFLAGS)),-D_FORTIFY_SOURCE=2)
UNCHECKED     = -U_FORTIFY_SOURCE
HARDENED      = $(eval HARDENED := $(UNCHECKED) $$(call taken,$$(filter-out $$(BESIDE_CHECKS),$$(HARDEN)),$(UNCHECKED)))$(HARDENED)
HARDENED_LINK = $(eval HARDENED_LINK := $$(call taken,$$(HARDEN_LINK),$$(HARDENED)))$(HARDENED_LINK)
taken         = $(shell for option in $(1); do \
                    printf '%b' '\043include <stdio.h>\nint main(void) { return puts("") < 0; }\n' | \
                    $(CC) -Werror $(2) "$$option" $(filter -O% -D% -U% -m% --target=%,$(CFLAGS)) \
                        -x c -o /dev/null - >/dev/null 2>&1 && echo "$$option"; done)

BUILD   = build
BIN     = bin

PROGRAMS = lot-norm lot-swap lot-owned lot-split lot-total lot-compare lot-check lot-deal lot-show \
           lot-gain lot-market lot-price lot-drift lot-plot
LAYERS   = base table trade plan purchase show plot
MAN1     = $(PROGRAMS:%=doc/%.1)
MAN5     = doc/lotpipe.5
MAN7     = doc/lotpipe.7
PAGES    = $(MAN1) $(MAN5) $(MAN7)

# Debian's names; tests/packages knows how to tell that one is there.
DEPS      = gcc make libc6-dev libcsv-dev libpcre2-dev
TEST_DEPS = bats python3 python3-scipy coinor-cbc pcre2-utils iso-codes python3-babel valgrind ca-certificates npm \
            gnumeric locales python3-wcwidth unicode-data cmark-gfm librsvg2-bin parallel rsync
FULL_DEPS = chromium libreoffice-calc openssh-server slurmctld slurmd slurm-client
LINT_DEPS = clang clang-format cppcheck shellcheck mandoc
FUZZ_DEPS = clang libclang-rt-dev

SOURCES  = $(wildcard $(LAYERS:%=src/%/*.c))
OBJECTS  = $(SOURCES:src/%.c=$(BUILD)/%.o)
MAINS    = $(PROGRAMS:%=$(BUILD)/%.o)
LIBRARY  = $(BUILD)/liblotpipe.a
TOOLS    = $(PROGRAMS:%=$(BIN)/%)

# Declarations stand at the head of a function here.
CPPCHECK = -q --std=c11 --enable=warning,style,performance,portability --inline-suppr \
           --suppress=variableScope --error-exitcode=1 -Isrc

# The fuzz targets, tests/fuzz/NAME.c each.
FUZZ_TARGETS = csv dec pattern swap charges split plan loose show plot
FUZZ_TOOLS   = $(FUZZ_TARGETS:%=$(BIN)/fuzz-%)
FUZZ_SHARED  = harness small_window market
FUZZ_CFLAGS  = -O1 -g -fno-omit-frame-pointer -U_FORTIFY_SOURCE -DLOTPIPE_AUDIT \
               -fsanitize=fuzzer-no-link,address,undefined,float-cast-overflow -fno-sanitize-recover=all
# What the harness stands in the place of.
FUZZ_WRAPPED = malloc calloc realloc free exit abort __assert_fail open close read write dup fstat stat realpath rename \
               unlink opendir isatty getenv sigaction sigprocmask iconv_open iconv_close
FUZZ_LDLIBS  = -Wl,-Bstatic $(LDLIBS) -Wl,-Bdynamic

C_FILES     = $(wildcard src/*.[ch] src/*/*.[ch] tests/*/*.[ch])
SHELL_FILES = .ci/run tests/packages tests/run-all tests/from-npm tests/stand-in-ssh tests/lib.bash tests/drawn.bash tests/runs.bash \
              tests/faults.bash tests/fuzz/run-all tests/fuzz/buildable tests/valgrind/main-job tests/msan-libraries \
              tests/run-sanitized \
              $(wildcard examples/*/*.sh tests/bench/*.sh tests/*.bats tests/long/*.bats)
# The files of tests that coverage runs, and the sanitizers; none: all of them.
COVERAGE_TESTS  =
SANITIZED_TESTS =
BENCHES     = $(wildcard tests/bench/*.sh)

# Goals that install things come first, with -j too.
SETUP = $(filter deps test-deps test-deps-full,$(MAKECMDGOALS))

all: $(TOOLS)

$(BIN)/%: $(BUILD)/%.o $(LIBRARY)
	@mkdir -p $(BIN)
	$(CC) $(ALL_CFLAGS) $(HARDENED_LINK) $(LDFLAGS) -o $@ $< $(LIBRARY) $(LDLIBS)

$(LIBRARY): $(OBJECTS)
	@rm -f $@
	ar rcs $@ $(OBJECTS)

# The Makefile too: it says how.
$(BUILD)/%.o: src/%.c Makefile | $(SETUP)
	@mkdir -p $(@D)
	$(CC) $(ALL_CFLAGS) -MMD -MP -c -o $@ $<

-include $(OBJECTS:.o=.d) $(MAINS:.o=.d) $(wildcard $(BUILD)/mains/*.d $(BUILD)/tests/*/*.d)

deps:
	@tests/packages $(DEPS)

test-deps:
	@tests/packages $(DEPS) $(TEST_DEPS) $(LINT_DEPS) $(FUZZ_DEPS)
	@tests/from-npm

# A browser and an office suite, large ones: they open what lot-show makes, and save what lot-norm reads. An ssh
# server and Slurm, for examples/fleet: Debian starts the server where there is a service manager.
test-deps-full: test-deps
	@tests/packages $(FULL_DEPS)

demo: all
	@examples/tidemill/run.sh

check: all
	@COUNT=$(BUILD)/tests.count tests/run-all

check-long: all
	@COUNT=$(BUILD)/tests.count tests/run-all tests/*.bats tests/long/*.bats

# No test is skipped because a program is not there.
check-full: all
	@FULL=yes COUNT=$(BUILD)/tests.count tests/run-all

# The suite, or SANITIZED_TESTS of it, under sanitizers: those of gcc, those of clang, and clang's that sees what is
# read before it was written. All look for leaks but the last, which must see the libraries' code too: they are built.
asan:
	@$(MAKE) BUILD=build/asan BIN=build/asan/bin CFLAGS='$(SANITIZE)' all
	@tests/run-sanitized build/asan $(SANITIZED_TESTS)

asan-clang:
	@$(MAKE) BUILD=build/asan-clang BIN=build/asan-clang/bin CC=clang CFLAGS='$(SANITIZE)' all
	@tests/run-sanitized build/asan-clang $(SANITIZED_TESTS)

msan:
	@[ -e build/msan/lib/libpcre2-8.a ] || tests/msan-libraries build/msan
	@$(MAKE) BUILD=build/msan BIN=build/msan/bin CC=clang CFLAGS='$(MSAN)' \
	    LDLIBS='build/msan/lib/libcsv.a build/msan/lib/libpcre2-8.a' all
	@tests/run-sanitized build/msan $(SANITIZED_TESTS)

# The main job, and the other programs on what it makes: no error, nothing held at the exit.
valgrind:
	@$(MAKE) BUILD=build/valgrind BIN=build/valgrind/bin CFLAGS='-O1 -g' all
	@tests/valgrind/main-job build/valgrind/bin

# Which lines and branches the tests reach; tests/coverage/report -l build/coverage lists those that they do not.
coverage:
	@$(MAKE) BUILD=build/coverage BIN=build/coverage/bin CFLAGS='$(COVERAGE)' LDFLAGS='$(LDFLAGS) --coverage' all
	@find build/coverage -name '*.gcda' -delete
	@status=0; LOTPIPE_BIN=$(CURDIR)/build/coverage/bin tests/run-all $(COVERAGE_TESTS) || status=$$?; \
	tests/coverage/report build/coverage || status=$$?; exit $$status

analyse: analyse-gcc analyse-clang analyse-cppcheck

# An analyser reads a file for itself, and is asked about each, whatever it says of others.
analyse-gcc: | $(SETUP)
	@status=0; for file in $(SOURCES) $(PROGRAMS:%=src/%.c); do \
		gcc $(CSTD) $(WARN) -Isrc -O1 -fanalyzer -Werror -c -o /dev/null "$$file" || status=1; \
	done; exit $$status

analyse-clang: | $(SETUP)
	@status=0; for file in $(SOURCES) $(PROGRAMS:%=src/%.c); do \
		clang $(CSTD) -Isrc --analyze --analyzer-output text -Xclang -analyzer-werror -o /dev/null "$$file" || \
		status=1; \
	done; exit $$status

# More than lint asks it: functions that nothing calls.
analyse-cppcheck: | $(SETUP)
	cppcheck $(CPPCHECK) --enable=unusedFunction src

# The checking build: every bound is held against the best plan of its node, every plan counted again.
audit:
	@$(MAKE) BUILD=build/audit BIN=build/audit/bin CFLAGS='$(CFLAGS) -DLOTPIPE_AUDIT' all
	@LOTPIPE_BIN=$(CURDIR)/build/audit/bin tests/run-all tests/lot-split.bats

# Every request for memory, every byte written and every call on files made to fail, in a typical run of each program;
# SIGKILL at 200 moments. The last line counts the faults, and what came of them that should not.
starve: all
	@rm -f $(BUILD)/faults.count
	@status=0; FAULTS_COUNT=$(CURDIR)/$(BUILD)/faults.count tests/run-all tests/starved.bats tests/interrupted.bats \
	    tests/long/starved.bats tests/long/interrupted.bats || status=$$?; \
	awk '{ made += $$1; bad += $$2 } END { print made + 0 " faults and signals, " bad + 0 " bad outcomes" }' \
	    $(BUILD)/faults.count; exit $$status

# Built apart, by clang: see tests/fuzz/README.md.
fuzz:
	@$(MAKE) BUILD=build/fuzz BIN=build/fuzz/bin CC=clang CFLAGS='$(FUZZ_CFLAGS)' fuzz-tools

# A minute of them all, seeds first. Where they cannot be built, that is told, and is a failure with CI or FULL set.
fuzz-smoke: | $(SETUP)
	@if tests/fuzz/buildable; then \
		$(MAKE) fuzz && tests/fuzz/run-all -f -n 1 -s 1 -t $$((60 / $(words $(FUZZ_TARGETS)))) build/fuzz/smoke; \
	else \
		[ -z "$(CI)$(FULL)" ]; \
	fi

fuzz-tools: $(FUZZ_TOOLS)

$(BIN)/fuzz-%: $(BUILD)/tests/fuzz/%.o $(FUZZ_SHARED:%=$(BUILD)/tests/fuzz/%.o) $(BUILD)/libmains.a $(LIBRARY)
	@mkdir -p $(BIN)
	$(CC) $(ALL_CFLAGS) -fsanitize=fuzzer $(FUZZ_WRAPPED:%=-Wl,--wrap=%) -o $@ $^ $(FUZZ_LDLIBS)

# The programs, to be called: main of lot-norm is lot_norm_main.
$(BUILD)/libmains.a: $(PROGRAMS:%=$(BUILD)/mains/%.o)
	@rm -f $@
	ar rcs $@ $^

# The optimiser compares numbers at every step, which tells a fuzzer nothing and costs it a third of its time.
build/fuzz/plan/%.o: override CFLAGS += -O2 -fno-sanitize-coverage=trace-cmp

$(BUILD)/mains/%.o: src/%.c
	@mkdir -p $(@D)
	$(CC) $(ALL_CFLAGS) -Dmain=$(subst -,_,$*)_main -MMD -MP -c -o $@ $<

$(BUILD)/tests/%.o: tests/%.c
	@mkdir -p $(@D)
	$(CC) $(ALL_CFLAGS) -MMD -MP -c -o $@ $<

bench: all
	@for bench in $(BENCHES); do "$$bench" || exit; done

lint: lint-format lint-gcc lint-clang lint-cppcheck lint-shell lint-pages

lint-format: | $(SETUP)
	clang-format --dry-run -Werror $(C_FILES)

lint-gcc: | $(SETUP)
	@$(MAKE) BUILD=build/gcc BIN=build/gcc/bin CC=gcc WERROR=-Werror all

lint-clang: | $(SETUP)
	@$(MAKE) BUILD=build/clang BIN=build/clang/bin CC=clang WERROR=-Werror all

lint-cppcheck: | $(SETUP)
	cppcheck $(CPPCHECK) src tests/bench tests/fuzz

lint-shell: | $(SETUP)
	shellcheck $(SHELL_FILES)

# From warnings on: a reference to a page of ours that is not installed is a matter of style to it.
lint-pages: | $(SETUP)
	mandoc -T lint -W warning $(PAGES)

install: all
	install -d $(BINDIR) $(MANDIR)/man1 $(MANDIR)/man5 $(MANDIR)/man7
	install -m 755 $(TOOLS) $(BINDIR)
	install -m 644 $(MAN1) $(MANDIR)/man1
	install -m 644 $(MAN5) $(MANDIR)/man5
	install -m 644 $(MAN7) $(MANDIR)/man7

uninstall:
	rm -f $(PROGRAMS:%=$(BINDIR)/%) $(MAN1:doc/%=$(MANDIR)/man1/%) \
	    $(MAN5:doc/%=$(MANDIR)/man5/%) $(MAN7:doc/%=$(MANDIR)/man7/%)

# What is committed, and nothing else.
dist:
	@mkdir -p dist
	git archive --prefix=lotpipe-$(VERSION)/ HEAD | gzip -9n >dist/lotpipe-$(VERSION).tar.gz

clean:
	rm -rf $(BUILD) $(BIN) dist

.PHONY: all deps test-deps test-deps-full demo check check-long check-full asan asan-clang msan valgrind coverage \
        analyse analyse-gcc analyse-clang analyse-cppcheck audit starve fuzz fuzz-tools fuzz-smoke bench \
        lint lint-format lint-gcc lint-clang lint-cppcheck lint-shell lint-pages install uninstall dist clean
.PRECIOUS: $(BUILD)/%.o $(BUILD)/mains/%.o $(BUILD)/tests/%.o
