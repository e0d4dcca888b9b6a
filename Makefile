# lotpipe: from a parts list to the cheapest set of orders.
# make deps demo      set-up and the main job     make test-deps check   the tests

VERSION = 0.1.0
PREFIX  = /usr/local
DESTDIR =
BINDIR  = $(DESTDIR)$(PREFIX)/bin
MANDIR  = $(DESTDIR)$(PREFIX)/share/man

CC      = gcc
CSTD    = -std=c17 -D_GNU_SOURCE
WARN    = -Wall -Wextra -Wpedantic -Wshadow -Wconversion
WERROR  = $(if $(CI),-Werror)
OPTIMISE = -O2
# The same bytes everywhere: no fused multiply-add.
FLOAT   = -ffp-contract=off
CFLAGS  = $(OPTIMISE) -g
ALL_CFLAGS = $(CSTD) $(WARN) $(WERROR) $(FLOAT) $(CFLAGS) -Isrc
LDFLAGS =
LDLIBS  = -lcsv -lpcre2-8

BUILD   = build
BIN     = bin

PROGRAMS = lot-norm lot-swap lot-owned lot-split lot-total
LAYERS   = base table trade plan purchase
PAGES    = $(PROGRAMS:%=doc/%.1) doc/lotpipe.5 doc/lotpipe.7

DEPS      = gcc make libc6-dev libcsv-dev libpcre2-dev
TEST_DEPS = bats python3 python3-scipy coinor-cbc pcre2-utils npm clang clang-format cppcheck \
            libclang-rt-14-dev shellcheck mandoc

SOURCES  = $(wildcard $(LAYERS:%=src/%/*.c))
OBJECTS  = $(SOURCES:src/%.c=$(BUILD)/%.o)
MAINS    = $(PROGRAMS:%=$(BUILD)/%.o)
LIBRARY  = $(BUILD)/liblotpipe.a
TOOLS    = $(PROGRAMS:%=$(BIN)/%)

all: $(TOOLS)

$(BIN)/%: $(BUILD)/%.o $(LIBRARY)
	@mkdir -p $(BIN)
	$(CC) $(ALL_CFLAGS) $(LDFLAGS) -o $@ $< $(LIBRARY) $(LDLIBS)

$(LIBRARY): $(OBJECTS)
	@rm -f $@
	ar rcs $@ $(OBJECTS)

$(BUILD)/%.o: src/%.c
	@mkdir -p $(@D)
	$(CC) $(ALL_CFLAGS) -MMD -MP -c -o $@ $<

-include $(OBJECTS:.o=.d) $(MAINS:.o=.d)

clean:
	rm -rf $(BUILD) $(BIN) dist

.PHONY: all clean
.PRECIOUS: $(BUILD)/%.o
