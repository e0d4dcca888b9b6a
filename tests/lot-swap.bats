#!/usr/bin/env bats
# lot-swap: part, color and condition swaps, drops, options and spares.

# shellcheck disable=SC2016 # $1 is for the rules, not for the shell
load lib

# swap RULES [OPTION...]: the parts list on stdin through the rules in the file.
swap() {
	local rules=$1
	shift
	try lot-swap -q -r "$rules" "$@"
}

rules() {
	cat >swaps.csv
}

parts() {
	cat >parts.csv
}

@test "use replaces part, color and condition; what is empty keeps" {
	rules <<-'END'
		rule,do,part,color,condition,to_part,to_color,to_condition
		a,use,P-1,,,P-2,,
		b,use,P-3,,,,blue,
		c,use,P-4,,used,,,new
	END
	parts <<-'END'
		part,color,qty,condition
		P-1,red,5,used
		P-3,red,6,
		P-4,red,7,used
		P-4,red,8,new
	END
	swap swaps.csv <parts.csv
	exits 0
	out_is <<-'END'
		part,color,qty,condition
		P-2,red,5,used
		P-3,blue,6,
		P-4,red,15,new
	END
	err_is_empty
}

@test "patterns match the whole field" {
	rules <<-'END'
		rule,do,part,group,to_color
		a,use,P-1,roof,blue
	END
	parts <<-'END'
		part,color,qty,group
		P-1,red,1,roof
		P-11,red,1,roof
		XP-1,red,1,roof
		P-1,red,1,roofs
	END
	swap swaps.csv <parts.csv
	exits 0
	out_is <<-'END'
		part,color,qty,group
		P-1,blue,1,roof
		P-11,red,1,roof
		XP-1,red,1,roof
		P-1,red,1,roofs
	END
}

@test "an alternative of a pattern matches the whole field too" {
	rules <<-'END'
		rule,do,part,to_color
		a,use,P-1|P-2,blue
	END
	swap swaps.csv < <(printf 'part,color,qty\nP-1,red,1\nP-22,red,1\nP-2,red,1\n')
	out_is <<-'END'
		part,color,qty
		P-1,blue,1
		P-22,red,1
		P-2,blue,1
	END
}

@test "\$1 stands for what a group of the same column's pattern took" {
	rules <<-'END'
		rule,do,part,color,to_part,to_color
		a,use,([A-Z]+)-([0-9]+)\+.*,(dark|light) (.*),$1$2,$2
	END
	swap swaps.csv < <(printf 'part,color,qty\nP-12+eye,dark red,3\nP-12,dark red,1\n')
	exits 0
	out_is <<-'END'
		part,color,qty
		P12,red,3
		P-12,dark red,1
	END
}

@test "replacements are those of Python's re on the same patterns" {
	# Reference: docs.python.org/3/library/re.html, run as it is.
	python3 "$TESTS/oracle/replace.py" need swaps.csv >parts.csv
	python3 "$TESTS/oracle/replace.py" expect swaps.csv <parts.csv >due.csv
	# A rule that matches nothing is told and changes nothing, in Python too.
	swap swaps.csv <parts.csv
	exits 0
	out_is <due.csv
	[ "$(cmp -s parts.csv due.csv || echo differs)" = differs ]
}

@test "a replacement is what pcre2test makes of the same pattern" {
	command -v pcre2test >/dev/null || skip "no pcre2test"
	rules <<-'END'
		rule,do,part,to_part
		a,use,(\w)-(\d+)(\+x)?,$2.$1$3
	END
	printf '%s\n' '/(?:(\w)-(\d+)(\+x)?)\z/anchored,replace=$2.$1$3,substitute_unset_empty' \
		'    A-12' '    B-7+x' >in.txt
	pcre2test -q in.txt | sed -n 's/^ 1: //p' >due.txt
	swap swaps.csv < <(printf 'part,color,qty\nA-12,red,1\nB-7+x,red,1\n')
	exits 0
	sed 1d "$OUT" | cut -d, -f1 >found.txt
	[ -s due.txt ]
	diff due.txt found.txt
}

@test "qty is how many new pieces stand for one old" {
	rules <<-'END'
		rule,do,part,to_part,qty
		halves,use,L-8,L-4,2
	END
	try lot-swap -r swaps.csv < <(printf 'part,color,qty\nL-8,red,5\nL-4,red,1\n')
	exits 0
	out_is <<-'END'
		part,color,qty
		L-4,red,11
	END
	err_is <<-'END'
		lot-swap: swaps.csv:2: rule "halves": use: 1 lot, 5 pieces become 10
		lot-swap: 1 rule applied, 0 not: 1 lot, 11 pieces
	END
}

@test "a product past 999999999 pieces is told" {
	rules <<-'END'
		rule,do,part,to_part,qty
		halves,use,L-8,L-4,2
	END
	swap swaps.csv < <(printf 'part,color,qty\nL-8,red,499999999\n')
	exits 0
	swap swaps.csv < <(printf 'part,color,qty\nL-8,red,600000000\n')
	refused 'lot-swap: swaps.csv:2: rule "halves" makes 1200000000 pieces of L-4, red: at most 999999999 are possible'
}

@test "rows that merge past 999999999 pieces are told" {
	rules <<-'END'
		rule,do,color,to_color
		a,use,blue,red
	END
	swap swaps.csv < <(printf 'part,color,qty\nP,red,600000000\nP,blue,600000000\n')
	refused 'together need 1200000000 pieces'
}

@test "use on part of a row leaves the others as they were" {
	rules <<-'END'
		rule,do,part,color,to_color,of
		hidden,use,P-1,red,any,40
	END
	parts <<-'END'
		note,part,color,qty,group
		n1,P-1,red,100,wall
		n2,P-1,red,30,roof
		n3,P-2,red,9,roof
	END
	try lot-swap -r swaps.csv <parts.csv
	exits 0
	out_is <<-'END'
		note,part,color,qty,group
		n1,P-1,any,40,wall
		n1,P-1,red,60,wall
		n2,P-1,any,30,roof
		n3,P-2,red,9,roof
	END
	err_has 'lot-swap: swaps.csv:2: rule "hidden": use: 2 lots, 70 pieces'
}

@test "may adds an alternative at its penalty, in a lot named after row and rule" {
	rules <<-'END'
		rule,do,part,to_color,penalty
		dark,may,P-1,coal,0.02
	END
	parts <<-'END'
		part,color,qty,group,model,worth,bag
		P-1,red,100,wall,mill,0.5,b1
		P-1,red,7,roof,mill,,b2
	END
	swap swaps.csv <parts.csv
	exits 0
	out_is <<-'END'
		part,color,qty,group,model,worth,bag,lot,penalty
		P-1,red,100,wall,mill,0.5,b1,P-1/red~dark,
		P-1,coal,100,wall,mill,0.5,b1,P-1/red~dark,0.02
		P-1,red,7,roof,mill,,b2,P-1/red~dark#2,
		P-1,coal,7,roof,mill,,b2,P-1/red~dark#2,0.02
	END
}

@test "may of some pieces splits the row" {
	rules <<-'END'
		rule,do,part,to_color,of,penalty
		dark,may,P-1,coal,16,0.01
	END
	swap swaps.csv < <(printf 'part,color,qty\nP-1,red,40\n')
	exits 0
	out_is <<-'END'
		part,color,qty,lot,penalty
		P-1,red,16,P-1/red~dark,
		P-1,coal,16,P-1/red~dark,0.01
		P-1,red,24,,
	END
}

@test "may on a row of a lot joins that lot; a lot name that is taken gets #2" {
	rules <<-'END'
		rule,do,part,to_color
		dark,may,P-[12],coal
	END
	parts <<-'END'
		lot,part,color,qty
		L,P-1,red,4
		L,P-3,red,4
		P-2/red~dark,P-9,red,1
		,P-2,red,5
	END
	swap swaps.csv <parts.csv
	exits 0
	out_is <<-'END'
		lot,part,color,qty
		L,P-1,red,4
		L,P-1,coal,4
		L,P-3,red,4
		P-2/red~dark,P-9,red,1
		P-2/red~dark#2,P-2,red,5
		P-2/red~dark#2,P-2,coal,5
	END
}

@test "several may steps of a rule make one lot; what equals the row adds nothing" {
	rules <<-'END'
		rule,do,part,to_color,penalty
		dark,may,P-.*,coal,0.1
		dark,may,P-.*,slate,0.2
	END
	swap swaps.csv < <(printf 'part,color,qty\nP-1,red,4\nP-2,coal,5\n')
	exits 0
	out_is <<-'END'
		part,color,qty,lot,penalty
		P-1,red,4,P-1/red~dark,
		P-1,coal,4,P-1/red~dark,0.1
		P-1,slate,4,P-1/red~dark,0.2
		P-2,coal,5,P-2/coal~dark,
		P-2,slate,5,P-2/coal~dark,0.2
	END
}

@test "together yes labels the rule's may rows with the rule's name" {
	rules <<-'END'
		rule,do,part,to_color,together
		roof,may,W-1,slate,yes
		roof,may,W-2,slate,
	END
	swap swaps.csv < <(printf 'part,color,qty\nW-1,red,4\nW-2,red,5\n')
	exits 0
	out_is <<-'END'
		part,color,qty,lot,together
		W-1,red,4,W-1/red~roof,
		W-1,slate,4,W-1/red~roof,roof
		W-2,red,5,W-2/red~roof,
		W-2,slate,5,W-2/red~roof,roof
	END
}

@test "a together rule that offers one lot two alternatives is refused" {
	rules <<-'END'
		rule,do,part,to_color,together
		roof,may,W-1,slate,yes
		roof,may,W-.,coal,
	END
	swap swaps.csv < <(printf 'part,color,qty\nW-1,red,4\nW-2,red,5\n')
	refused 'lot-swap: swaps.csv:3: rule "roof" is together, but offers two alternatives for one lot'
}

@test "drop removes rows; of drops some pieces" {
	rules <<-'END'
		rule,do,part,group,of
		stand,drop,,stand,
		few,drop,P-1,,3
	END
	swap swaps.csv < <(printf 'part,color,qty,group\nP-1,red,4,\nP-2,red,5,stand\nP-3,red,1,\n')
	exits 0
	out_is <<-'END'
		part,color,qty,group
		P-1,red,1,
		P-3,red,1,
	END
}

@test "drop on a row of a lot removes that alternative alone" {
	rules <<-'END'
		rule,do,part
		a,drop,P-1
	END
	swap swaps.csv < <(printf 'lot,part,color,qty\nL,P-1,red,4\nL,P-2,red,4\nM,P-1,red,9\n')
	exits 0
	out_is <<-'END'
		lot,part,color,qty
		L,P-2,red,4
	END
}

@test "add adds a lot, known and unknown columns else empty" {
	rules <<-'END'
		rule,do,to_part,to_color,to_condition,qty
		feet,add,F-1,coal,new,8
	END
	swap swaps.csv < <(printf 'bag,part,color,qty,group\nb1,P-1,red,4,wall\n')
	exits 0
	out_is <<-'END'
		bag,part,color,qty,group,condition
		b1,P-1,red,4,wall,
		,F-1,coal,8,,new
	END
}

@test "spare raises by a number or by a percentage, rounded up to a piece" {
	rules <<-'END'
		rule,do,part,qty,of
		a,spare,P-1,3,
		b,spare,P-2,5%,
		c,spare,P-3,12.5%,
		d,spare,P-4,5%,
		e,spare,P-5,10%,30
	END
	parts <<-'END'
		part,color,qty
		P-1,red,10
		P-2,red,21
		P-3,red,16
		P-4,red,100
		P-5,red,200
	END
	try lot-swap -r swaps.csv <parts.csv
	exits 0
	out_is <<-'END'
		part,color,qty
		P-1,red,13
		P-2,red,23
		P-3,red,18
		P-4,red,105
		P-5,red,203
	END
	err_has 'lot-swap: swaps.csv:3: rule "b": spare: 1 lot, 21 pieces become 23'
}

@test "spare raises a lot once, with all its rows" {
	rules <<-'END'
		rule,do,part,qty
		a,spare,P-.*,10%
	END
	swap swaps.csv < <(printf 'lot,part,color,qty\nL,P-1,red,11\nL,P-2,red,11\nL,Q,red,11\n')
	exits 0
	out_is <<-'END'
		lot,part,color,qty
		L,P-1,red,13
		L,P-2,red,13
		L,Q,red,13
	END
}

@test "spare: each row for itself where models differ, on what earlier rules made, too much, no row" {
	rules <<-'END'
		rule,do,part,color,group,to_part,qty,must
		long,use,P-1,,,P-2,2,
		spares,spare,P-2,red,,,10%,
		stand,spare,,,stand,,2,yes
	END
	parts <<-'END'
		model,group,part,color,qty
		mill,,P-1,red,10
		barn,,P-2,red,11
		barn,,P-2,blue,11
	END
	try lot-swap -r swaps.csv <parts.csv
	exits 1
	out_is <<-'END'
		model,group,part,color,qty
		mill,,P-2,red,22
		barn,,P-2,red,13
		barn,,P-2,blue,11
	END
	err_has 'rule "spares": spare: 2 lots, 31 pieces become 35'
	err_has 'rule "stand"'
	rules <<-'END'
		rule,do,part,qty
		a,spare,P-2,999999989
	END
	try lot-swap -r swaps.csv <parts.csv
	refused 'swaps.csv:2: rule "a" makes 1000000000 pieces of P-2, red: at most 999999999 are possible'
}

@test "of on a row of a lot splits the lot with all its rows" {
	rules <<-'END'
		rule,do,part,to_color,of
		hidden,use,P-1,any,4
	END
	parts <<-'END'
		lot,part,color,qty
		L,P-1,red,10
		,Q,red,1
		L,P-2,red,10
		L~hidden,R,red,2
	END
	swap swaps.csv <parts.csv
	exits 0
	out_is <<-'END'
		lot,part,color,qty
		L~hidden#2,P-1,any,4
		L,P-1,red,6
		,Q,red,1
		L~hidden#2,P-2,red,4
		L,P-2,red,6
		L~hidden,R,red,2
	END
}

@test "of on two rows of a lot is about the same pieces of it" {
	rules <<-'END'
		rule,do,part,to_color,of
		a,use,P-.*,any,4
	END
	swap swaps.csv < <(printf 'lot,part,color,qty\nL,P-1,red,10\nL,P-2,red,10\n')
	exits 0
	out_is <<-'END'
		lot,part,color,qty
		L~a,P-1,any,4
		L,P-1,red,6
		L~a,P-2,any,4
		L,P-2,red,6
	END
}

@test "two for one on one row of a lot alone is refused, on all its rows it is not" {
	rules <<-'END'
		rule,do,part,to_part,qty
		a,use,P-1,H-1,2
	END
	parts <<-'END'
		lot,part,color,qty
		L,P-1,red,10
		L,P-2,red,10
	END
	swap swaps.csv <parts.csv
	refused 'lot-swap: swaps.csv:2: rule "a" multiplies one row of lot "L" alone'
	printf 'a,use,P-2,H-2,2\n' >>swaps.csv
	swap swaps.csv <parts.csv
	exits 0
	out_is <<-'END'
		lot,part,color,qty
		L,H-1,red,20
		L,H-2,red,20
	END
}

@test "within a rule a step takes its pieces, later ones touch what is left" {
	rules <<-'END'
		rule,do,part,to_color,of
		a,use,P-1,blue,12
		a,use,P-1,green,10
		a,use,P-1,white,
	END
	swap swaps.csv < <(printf 'part,color,qty\nP-1,red,30\nP-1,black,12\n')
	exits 0
	out_is <<-'END'
		part,color,qty
		P-1,blue,24
		P-1,green,10
		P-1,white,8
	END
}

@test "all steps match the list as it was before the rule" {
	rules <<-'END'
		rule,do,color,to_color
		swap,use,red,blue
		swap,use,blue,red
	END
	swap swaps.csv < <(printf 'part,color,qty\nP-1,red,3\nP-2,blue,4\n')
	exits 0
	out_is <<-'END'
		part,color,qty
		P-1,blue,3
		P-2,red,4
	END
}

@test "rules run in file order, each on the result of those before" {
	rules <<-'END'
		rule,do,part,color,to_color,of
		one,use,,red,blue,
		two,use,,blue,green,4
		one,use,,white,blue,
	END
	# Rows of rule one belong together although two stands between them; what became the same
	# is one row for rule two.
	swap swaps.csv < <(printf 'part,color,qty\nP-1,red,3\nP-1,white,3\n')
	exits 0
	out_is <<-'END'
		part,color,qty
		P-1,green,4
		P-1,blue,2
	END
}

@test "a rule is applied whole or not at all, and not at all is told" {
	rules <<-'END'
		rule,do,part,to_part,to_color,qty
		half,use,P-1,,blue,
		half,add,,F-1,coal,8
		half,drop,P-9,,,
		other,use,P-1,,green,
	END
	parts <<-'END'
		part,color,qty
		P-1,red,3
	END
	try lot-swap -r swaps.csv <parts.csv
	exits 0
	out_is <<-'END'
		part,color,qty
		P-1,green,3
	END
	err_is <<-'END'
		lot-swap: swaps.csv:4: rule "half" is not applied: its drop step matches no row
		lot-swap: swaps.csv:5: rule "other": use: 1 lot, 3 pieces
		lot-swap: 1 rule applied, 1 not: 1 lot, 3 pieces
	END
}

@test "with must a rule that matches nothing is exit status 1, the list written all the same" {
	rules <<-'END'
		rule,do,part,to_color,must
		a,use,P-9,blue,yes
	END
	swap swaps.csv < <(printf 'part,color,qty\nP-1,red,3\n')
	exits 1
	out_is <<-'END'
		part,color,qty
		P-1,red,3
	END
	err_is <<-'END'
		lot-swap: swaps.csv:2: rule "a" is not applied, but must be: its use step matches no row
	END
	swap swaps.csv < <(printf 'part,color,qty\nP-9,red,3\n')
	exits 0
	swap swaps.csv --except a < <(printf 'part,color,qty\nP-1,red,3\n')
	exits 0
}

@test "--only and --except pick rules by name" {
	rules <<-'END'
		rule,do,part,to_part
		a,use,P,A
		b,use,Q,B
		c,use,R,C
	END
	parts <<-'END'
		part,color,qty
		P,x,1
		Q,x,1
		R,x,1
	END
	swap swaps.csv --only a,c <parts.csv
	out_is <<-'END'
		part,color,qty
		A,x,1
		Q,x,1
		C,x,1
	END
	swap swaps.csv --except a,c <parts.csv
	out_is <<-'END'
		part,color,qty
		P,x,1
		B,x,1
		R,x,1
	END
	swap swaps.csv --only a,b --except b <parts.csv
	out_is <<-'END'
		part,color,qty
		A,x,1
		Q,x,1
		R,x,1
	END
	swap swaps.csv --only plain <parts.csv
	refused 'lot-swap: swaps.csv: no rule "plain", which --only names'
	swap swaps.csv --except a, <parts.csv
	refused 'no rule "", which --except names'
}

@test "rows that become the same are merged, group, model and lot keep apart" {
	rules <<-'END'
		rule,do,color,to_color
		a,use,blue,red
	END
	parts <<-'END'
		part,color,qty,group,model,lot,note,penalty
		P,red,1,g,m,,first,
		P,blue,2,g,m,,second,
		P,blue,4,h,m,,,
		P,blue,8,g,n,,,
		P,blue,16,g,m,L,,
		P,blue,32,g,m,,,0.1
		P,red,16,g,m,L,,
	END
	swap swaps.csv <parts.csv
	exits 0
	out_is <<-'END'
		part,color,qty,group,model,lot,note,penalty
		P,red,3,g,m,,first,
		P,red,4,h,m,,,
		P,red,8,g,n,,,
		P,red,16,g,m,L,,
		P,red,32,g,m,,,0.1
	END
}

@test "another part loses the weight of the old, another color than any its not_color" {
	rules <<-'END'
		rule,do,part,to_part,to_color
		a,use,P,P2,
		b,use,Q,,red
		c,may,R,,any
	END
	parts <<-'END'
		part,color,qty,grams,not_color
		P,red,1,2.5,
		Q,any,1,2.5,clear.*
		R,red,1,2.5,clear.*
	END
	swap swaps.csv <parts.csv
	exits 0
	out_is <<-'END'
		part,color,qty,grams,not_color,lot
		P2,red,1,,,
		Q,red,1,2.5,,
		R,red,1,2.5,clear.*,R/red~c
		R,any,1,2.5,clear.*,R/red~c
	END
}

@test "unknown columns pass through in their place" {
	rules <<-'END'
		rule,do,part,to_color,remark
		a,use,P,blue,what the file does not know is let be
	END
	swap swaps.csv < <(printf 'bag;Part;x y;COLOR;qty;bag\r\n1;P;"a;b";red;2;3\r\n')
	exits 0
	out_is <<-'END'
		bag,Part,x y,COLOR,qty,bag
		1,P,a;b,blue,2,3
	END
}

@test "header only: a header comes out; no rules: the list as it was" {
	rules <<-'END'
		rule,do,part,to_color
		a,use,P,blue
	END
	swap swaps.csv < <(printf 'part,color,qty\n')
	exits 0
	out_is <<-'END'
		part,color,qty
	END
	head -n 1 swaps.csv >none.csv
	swap none.csv < <(printf 'part,color,qty\nP,red,0\n')
	exits 0
	out_is <<-'END'
		part,color,qty
		P,red,0
	END
}

# A fault of the rules file: the row, and what is said of it.
bad_rule() {
	printf 'rule,do,part,color,to_part,to_color,of,qty,penalty,together,must\n%s\n' "$1" >bad.csv
	swap bad.csv < <(printf 'part,color,qty\nP,red,5\n')
	refused "lot-swap: bad.csv:2: $2"
	err_lines 1
}

@test "what is wrong with a rule is told with file and line" {
	bad_rule 'a,swap,P' 'unknown "do" value "swap": use one of use, may, drop, add, spare'
	bad_rule ',drop,P' 'rule is empty'
	bad_rule 'a,use,P(,,Q' 'part "P(" is no PCRE2 pattern'
	bad_rule 'a,use,(P),,$2' 'to_part "$2" has $2, but the pattern has 1 groups'
	bad_rule 'a,use,,,$1' 'to_part "$1" has $1, but the pattern has 0 groups'
	bad_rule 'a,use,P,,Q,,0' 'of is 0'
	bad_rule 'a,use,P,,Q,,x' 'of "x"'
	bad_rule 'a,use,P,,Q,,,0' 'qty is 0'
	bad_rule 'a,use,P,,Q,,,1.5' 'qty "1.5"'
	bad_rule 'a,use,P' 'a use step that changes nothing'
	bad_rule 'a,may,P' 'a may step that offers nothing'
	bad_rule 'a,may,P,,Q,,,,-1' 'penalty "-1"'
	bad_rule 'a,may,P,,Q,,,,0.0000001' 'penalty "0.0000001"'
	bad_rule 'a,may,P,,Q,,,2' 'qty "2" means nothing in a may step: leave it empty'
	bad_rule 'a,add,,,Q,red' 'qty is empty: an add step needs a number of pieces'
	bad_rule 'a,add,,,Q,,,5' 'an add step without part or color'
	bad_rule 'a,add,P,,Q,red,,5' 'part "P" means nothing in an add step'
	bad_rule 'a,spare,P' 'qty is empty: a spare step'
	bad_rule 'a,spare,P,,,,,5.5' 'qty "5.5"'
	bad_rule 'a,spare,P,,,,,x%' 'qty "x%"'
	bad_rule 'a,drop,P,,,,,,,,maybe' 'unknown "must" value "maybe": use yes or no'
	bad_rule 'a,drop,P,,,,,,,yes' 'rule "a" is together, but has no may step'
	bad_rule $'a,drop,P,,,,,,,,yes\na,drop,Q,,,,,,,,no' 'rule "a" says both yes and no to must'
}

@test "a replacement that leaves nothing is told" {
	rules <<-'END'
		rule,do,part,to_part
		a,use,(x)?.*,$1
	END
	swap swaps.csv < <(printf 'part,color,qty\nP,red,5\n')
	refused 'lot-swap: swaps.csv:2: to_part "$1" gives nothing for part "P"'
}

@test "a pattern that backtracks without end reaches the match limit" {
	rules <<-'END'
		rule,do,part,to_color
		a,use,(a|a)+[bc],blue
	END
	swap swaps.csv < <(printf 'part,color,qty\n%s,red,5\n' "$(printf 'a%.0s' $(seq 40))")
	refused 'lot-swap: swaps.csv:2: part "(a|a)+[bc]" on'
	err_has 'match limit'
}

# A fault of the parts list: what it holds, and what is said of it.
bad_parts() {
	printf '%b' "$1" >bad.csv
	rules <<-'END'
		rule,do,part,to_color
		a,use,P,blue
	END
	swap swaps.csv <bad.csv
	refused "$2"
	err_lines 1
}

@test "what is wrong with the parts list is told with line" {
	bad_parts '' 'lot-swap: <stdin>: no header line'
	bad_parts 'part,color\nP,red\n' 'lot-swap: <stdin>:1: no column "qty": there are part, color'
	bad_parts 'part,color,qty,QTY\n' 'two columns are named "qty"'
	bad_parts 'part,color,qty\nP,red,-5\n' 'lot-swap: <stdin>:2: qty "-5"'
	bad_parts 'part,color,qty\nP,red,1.5\n' '<stdin>:2: qty "1.5"'
	bad_parts 'part,color,qty\nP,red,1000000000\n' '<stdin>:2: qty "1000000000"'
	bad_parts 'part,color,qty\nP,red,few\n' '<stdin>:2: qty "few"'
	bad_parts 'part,color,qty\nP,red,\n' '<stdin>:2: qty'
	bad_parts 'part,color,qty\n,red,1\n' '<stdin>:2: part is empty'
	bad_parts 'part,color,qty\nP,,1\n' '<stdin>:2: color is empty'
	bad_parts 'part,color,qty,penalty\nP,red,1,0.0000001\n' '<stdin>:2: penalty "0.0000001"'
	bad_parts 'part,color,qty,not_color\nP,any,1,(\n' '<stdin>:2: not_color "(" is no PCRE2 pattern'
	bad_parts 'part,color,qty\nP,red,1,2\n' '<stdin>:2: 4 fields'
	bad_parts 'part,color,qty\nP,"r"ed,1\n' '<stdin>:2: stray quote'
	bad_parts 'part,color,qty\nP,r\0ed,1\n' '<stdin>:2: column 2 (color) holds a NUL byte'
	bad_parts 'part,color,qty\nP,r\0351d,1\n' '<stdin>:2: column 2 (color) is not UTF-8 at byte 2'
	bad_parts 'lot,part,color,qty\nL,P,red,1\nL,Q,red,2\n' \
		'<stdin>:3: qty of lot "L" is not that of line 2'
	bad_parts 'lot,part,color,qty,group\nL,P,red,1,a\nL,Q,red,1,b\n' '<stdin>:3: group of lot "L"'
	bad_parts 'lot,part,color,qty,worth\nL,P,red,1,1\nL,Q,red,1,\n' '<stdin>:3: worth of lot "L"'
}

@test "20 faults are told, then how many more" {
	rules <<-'END'
		rule,do,part
		a,drop,P
	END
	{
		printf 'part,color,qty\n'
		for i in $(seq 25); do printf 'P,red,x%s\n' "$i"; done
	} >bad.csv
	swap swaps.csv <bad.csv
	refused '5 more'
	err_lines 21
}

@test "--encoding and --delimiter are about the parts list" {
	rules <<-'END'
		rule,do,color,to_color
		a,use,r.d,blue
	END
	swap swaps.csv --encoding ISO-8859-1 -D '|' < <(printf 'part|color|qty\nP,1|r\351d|5\n')
	exits 0
	out_is <<-'END'
		part,color,qty
		"P,1",blue,5
	END
}

@test "usage: options, files and outputs that cannot be" {
	rules <<-'END'
		rule,do,part
		a,drop,P
	END
	parts <<-'END'
		part,color,qty
		P,red,1
	END
	try lot-swap <parts.csv
	refused 'no swap rules: -r FILE'
	swap swaps.csv -r swaps.csv <parts.csv
	refused 'option --rules is given twice'
	swap swaps.csv --bogus <parts.csv
	refused '--bogus'
	swap swaps.csv parts.csv </dev/null
	refused 'no operands'
	swap - <parts.csv
	refused 'stdin'
	swap missing.csv <parts.csv
	refused 'lot-swap: missing.csv: No such file'
	status=0
	lot-swap -q -r swaps.csv <parts.csv 2>err >/dev/full || status=$?
	[ "$status" -eq 2 ]
	grep -q '<stdout>' err
}

@test "help and version" {
	try lot-swap --help
	exits 0
	out_has 'usage: lot-swap'
	out_has '--except'
	try lot-swap -V
	exits 0
	out_has 'lot-swap '
}
