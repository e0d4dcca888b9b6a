#!/usr/bin/env bats
# Patterns that strangers wrote, through every program and option that takes one: they end, soon, at
# a limit that is told, or do nothing out of the ordinary.
# What a pattern is for is tested with its program.

load lib

limit='match limit reached'

# A letter, so many times.
letters() {
	head -c "$2" /dev/zero | tr '\0' "$1"
}

# Source: OWASP, "Regular expression Denial of Service - ReDoS", its evil patterns and its e-mail
# validator (letters alone of it); the others are variations, from memory. Each takes exponential
# time, or a high power of the length, on letters a that end in an exclamation mark.
evil=(
	'(a+)+'
	'([a-zA-Z]+)*'
	'(a|aa)+'
	'(a|a?)+'
	'(.*a){11}'
	'(.*a){20}'
	'^(([a-z])+.)+[A-Z]([a-z])+$'
	'((a*)*)*'
	'(a|a)+[xyz!]{2}'
	'(\w+\s?)*;?'
	'(?:(?:a+)?)+(?=!!)!'
)
fields=("$(letters a 50)!" "$(letters a 200000)!")

# Each of them, on each of the fields; what runs it gets both.
each() {
	local pattern field

	for pattern in "${evil[@]}"; do
		for field in "${fields[@]}"; do
			"$@" "$pattern" "$field" || show "$pattern, a field of ${#field} bytes"
		done
	done
}

rule() {
	printf 'rule,do,part,color\nr,drop,"%s",red\n' "$1" >swaps.csv
	printf 'part,color,qty\nB,red,1\n%s,red,1\n' "$2" >need.csv
	try lot-swap -r swaps.csv <need.csv
}

swap() {
	rule "$@"
	refused "lot-swap: swaps.csv:2: part \"$1\" on \"aaaa" && err_has "$limit"
}

@test "lot-swap: patterns that stray end at a limit" {
	each swap
}

filter() {
	printf 'part,color,qty\nB,red,1\n%s,red,1\n' "$2" >list.csv
	for option in --except --only; do
		try lot-norm "$option" "part=$1" <list.csv
		refused 'lot-norm: <stdin>:3: part "aaaa' && err_has "$option: $limit" || return
	done
}

@test "lot-norm --except, --only: patterns that stray end at a limit" {
	each filter
}

loose() {
	printf 'B-1 red 1\n%s\n' "$2" >list.txt
	try lot-norm --loose --pattern "(?<part>$1) (?<qty>[0-9]+)" --pattern "(?<part>$1)(?<qty>)" <list.txt
	refused 'lot-norm: <stdin>:2: "aaaa' && err_has "$limit"
}

@test "lot-norm --pattern: patterns that stray end at a limit" {
	each loose
}

map() {
	printf 'column,pattern\npart,"%s"\n' "$1" >map.csv
	printf '%s,color,qty\nB,red,1\n' "$2" >list.csv
	try lot-norm -m map.csv <list.csv
	refused "rule at map.csv:2: $limit"
}

names() {
	printf 'column,pattern,name\npart,"%s",B\n' "$1" >names.csv
	printf 'part,color,qty\nC,red,1\n%s,red,1\n' "$2" >list.csv
	try lot-norm -n names.csv <list.csv
	refused "rule at names.csv:2: $limit"
}

@test "lot-norm -m, -n: patterns that stray end at a limit" {
	each map
	each names
}

not_color() {
	printf 'part,color,qty,not_color\nP,any,1,"%s"\n' "$1" >need.csv
	printf 'seller,part,color,qty,price\nA,P,%s,5,1\n' "$2" >offers.csv
	printf 'part,color,qty\nP,%s,5\n' "$2" >stock.csv
	try lot-split -o offers.csv -s sellers.csv <need.csv
	refused "<stdin>:2: not_color \"$1\" on color \"aaaa" && err_has "$limit" || return
	try lot-owned -k stock.csv <need.csv
	refused "<stdin>:2: not_color \"$1\" on color \"aaaa" && err_has "$limit"
}

@test "not_color in lot-split and lot-owned: patterns that stray end at a limit" {
	printf 'seller,route,currency\nA,market,EUR\n' >sellers.csv
	each not_color
}

gain() {
	rule "$@"
	printf 'seller,part,color,qty,price\nA,B,red,5,1\n' >offers.csv
	try lot-gain -r swaps.csv -o offers.csv -s sellers.csv --jobs 1 <need.csv
	refused "lot-gain: swaps.csv:2: part \"$1\" on \"aaaa" && err_has "$limit"
}

not_color_elsewhere() {
	printf 'part,color,qty,not_color\nP,any,1,"%s"\n' "$1" >need.csv
	printf 'seller,part,color,qty,price\nA,P,%s,5,1\n' "$2" >offers.csv
	printf 'part,color,sellers,pieces,min,median,mean,p90,max\nP,%s,1,9,1,1,1,1,1\n' "$2" >prices.csv
	printf 'rule,do,part,to_part\nr,use,P,Q\n' >swaps.csv
	try lot-price --prices prices.csv <need.csv
	refused "<stdin>:2: not_color \"$1\" on color \"aaaa" && err_has "$limit" || return
	try lot-check -e need.csv <offers.csv
	refused "need.csv:2: not_color \"$1\" on color \"aaaa" && err_has "$limit" || return
	try lot-gain -r swaps.csv -o offers.csv -s sellers.csv --jobs 1 <need.csv
	refused "<stdin>:2: not_color \"$1\" on color \"aaaa" && err_has "$limit" || return
	cp offers.csv orders.csv
	try lot-drift -o offers.csv -s sellers.csv --need need.csv <orders.csv
	refused "need.csv:2: not_color \"$1\" on color \"aaaa" && err_has "$limit"
}

@test "lot-gain -r, and not_color in lot-gain, lot-price, lot-check and lot-drift: patterns that stray end at a limit" {
	printf 'seller,route,currency\nA,market,EUR\n' >sellers.csv
	each gain
	each not_color_elsewhere
}

@test "steps, nesting and memory each have a limit of their own" {
	# Few letters, so little nesting and memory: steps, of which this takes 2^50.
	rule '(a+)+' "${fields[0]}"
	refused "$limit, it backtracks too much: make it simpler"
	# Two steps a letter, all nested: twenty thousand are too deep, and eight thousand are not.
	rule '(?:a|b)*' "$(letters a 10000)"
	refused "$limit, it backtracks too deep: make it simpler"
	rule '(?:a|b)*' "$(letters a 4000)"
	exits 0
	# With 800 groups PCRE2 keeps over 12 KiB a level: 1,000 of them are no 64 MiB, 6,800 are more.
	groups=$(printf '()%.0s' $(seq 800))
	rule "$groups(?:a|b)*" "$(letters a 3000)"
	refused "$limit, it takes too much memory: make it simpler"
	rule "$groups(?:a|b)*" "$(letters a 100)"
	exits 0
}

@test "a pattern cannot raise the limits, and can lower them" {
	high=4000000000
	rule "(*LIMIT_MATCH=$high)(*LIMIT_DEPTH=$high)(*LIMIT_HEAP=$high)(a+)+" "${fields[0]}"
	refused "$limit, it backtracks too much"
	rule "(*LIMIT_DEPTH=$high)(?:a|b)*" "$(letters a 10000)"
	refused "$limit, it backtracks too deep"
	rule '(*LIMIT_MATCH=10)(?:a|b)*' "$(letters a 100)"
	refused "$limit, it backtracks too much"
}

@test "ordinary patterns on long fields" {
	rule '(?:.+)' "$(letters a 1000000)"
	exits 0
	rule '[a-z]*!' "$(letters a 1000000)!"
	exits 0
	err_has 'rule "r": drop: 1 lot, 1 piece'
}

@test "callouts do nothing" {
	rule '(?C)a(?C255)(?C{text})b+' abbb
	exits 0
	err_has 'rule "r": drop: 1 lot, 1 piece'
	try lot-norm --except 'part=(?C1)A(?C"x")' <<<$'part,color,qty\nA,red,1\nB,red,1'
	exits 0
	out_is <<-'END'
		part,color,qty
		B,red,1
	END
	try lot-norm --loose --pattern '(?<part>\S+)(?C9) (?<color>\S+) (?<qty>\d+)' <<<'B-1 red 2'
	exits 0
	out_is <<-'END'
		part,color,qty
		B-1,red,2
	END
	printf 'seller,part,color,qty,price\nA,P,red,5,1\nA,P,blue,5,2\n' >offers.csv
	printf 'seller,route,currency\nA,market,EUR\n' >sellers.csv
	try lot-split -q -o offers.csv -s sellers.csv <<<$'part,color,qty,not_color\nP,any,1,(?C3)r(?C)ed'
	exits 0
	out_has 'A,market,,P/any,P,blue'
}

@test "no program takes characters apart" {
	rule 'a\Cb' 'aéb'
	refused 'lot-swap: swaps.csv:2: part "a\Cb" is no PCRE2 pattern: using \C is disabled'
	try lot-norm --except 'part=\C+' <<<$'part,color,qty\né,red,1'
	refused 'using \C is disabled'
	try lot-norm --loose --pattern '(?<part>\C+)' <<<x
	refused 'using \C is disabled'
}

@test "patterns run in the interpreter, and nothing is called out to" {
	# By what the programs ask PCRE2 for.
	! nm "$BIN/lot-norm" | grep -q ' T pcre2_match' || skip "this build has PCRE2 in it"
	for program in lot-norm lot-swap lot-owned lot-split lot-gain lot-price lot-check lot-drift; do
		nm -u "$BIN/$program" >symbols
		grep -q pcre2_match symbols
		run grep -E 'pcre2_(jit|set_callout|callout)' symbols
		[ "$status" -eq 1 ]
	done
}
