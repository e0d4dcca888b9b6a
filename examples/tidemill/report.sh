#!/bin/sh
# One page from a run of the tide mill, to be published: scenarios, what fewer parcels cost, what the swaps are worth,
# which lots to watch, and the orders. `make report` makes what it reads, and runs it.
#
# usage: report.sh [output directory]      default: out, beside this script
#
# It writes into report/ there: report.md with a chart a file (*.svg), and report.html, which is the same in one file.

set -eu

here=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd)
if [ -x "$here/../../bin/lot-show" ]; then
    PATH=$here/../../bin:$PATH
    export PATH
fi
# Bytes are bytes to awk, whatever the reader's language.
LC_ALL=C
export LC_ALL
if [ $# -gt 1 ] || ! out=$(CDPATH='' cd -- "${1:-$here/out}" && pwd); then
    echo "usage: report.sh [output directory]" >&2
    exit 2
fi
cd -- "$here"
for file in need-as-is taken compare report-as-is report-swaps report-best curve-swaps curve gain priced orders totals; do
    if [ ! -f "$out/$file.csv" ]; then
        echo "report.sh: no $out/$file.csv: \"make report\" makes it" >&2
        exit 2
    fi
done

# The page is put in its place when all of it is written.
new=$out/report.new
rm -rf "$new"
mkdir "$new" "$new/work"
trap 'rm -rf "$new"' EXIT
trap 'exit 1' HUP INT TERM
work=$new/work

# ---- tables

# What every awk program below has. CSV as the programs write it, and as a spreadsheet writes rules: read(FILE) puts the
# next record into field[1..n] and raw; columns(FILE) reads a header, at[NAME] is where a column stands. Money is whole
# billionths, which awk's numbers hold exactly up to nine million: units(TEXT), and money(UNITS), rounded half away from
# zero to as many decimals as the totals have.
# shellcheck disable=SC2016 # awk's own
library='
function fail(what) { print "report.sh: " what >"/dev/stderr"; failed = 1; exit 2 }
function read(file,   more, rest, value, quoted) {
    if ((getline raw <file) <= 0) return 0
    while (gsub(/"/, "\"", raw) % 2 && (getline more <file) > 0) raw = raw "\n" more
    sub(/\r$/, "", raw)
    n = 0
    for (rest = raw separator; rest != ""; rest = substr(rest, RLENGTH + 1)) {
        quoted = substr(rest, 1, 1) == "\""
        if (!match(rest, quoted ? "^\"([^\"]|\"\")*\"" separator : "^[^" separator "]*" separator))
            fail(file ": what is " raw "?")
        value = quoted ? substr(rest, 2, RLENGTH - 3) : substr(rest, 1, RLENGTH - 1)
        if (quoted) gsub(/""/, "\"", value)
        field[++n] = value
    }
    return n
}
function columns(file,   i) {
    close(file)
    if ((getline raw <file) <= 0) fail(file ": no header")
    close(file)
    separator = raw ~ /,/ ? "," : ";"
    read(file)
    sub(/^\357\273\277/, "", field[1])
    split("", at)
    for (i = 1; i <= n; i++) at[field[i]] = i
}
function get(name) {
    if (!(name in at)) fail("no column " name)
    return field[at[name]]
}
function quote(text) {
    if (text !~ /[",\r\n]/) return text
    gsub(/"/, "\"\"", text)
    return "\"" text "\""
}
function units(text,   part, minus, size) {
    minus = sub(/^-/, "", text)
    split(text "..", part, ".")
    if (text !~ /^[0-9]+([.][0-9]*)?$/ || length(part[2]) > 9 || part[1] > 9000000) fail("what amount is " text "?")
    size = part[1] * 1000000000 + substr(part[2] "000000000", 1, 9)
    return minus ? -size : size
}
function money(size,   i, minus, unit, rest, text) {
    minus = size < 0
    if (minus) size = -size
    unit = 1000000000
    for (i = 0; i < decimals; i++) unit /= 10
    rest = size % unit
    size = (size - rest) / unit + (2 * rest >= unit)
    text = sprintf("%.0f", size)
    while (length(text) <= decimals) text = "0" text
    if (decimals) text = substr(text, 1, length(text) - decimals) "." substr(text, length(text) - decimals + 1)
    return (minus && size ? "-" : "") text
}
# What nothing costs less than, rounded down: up, it would be too much said.
function money_down(size,   i, unit) {
    unit = 1000000000
    for (i = 0; i < decimals; i++) unit /= 10
    return money(size - (size % unit + unit) % unit)
}
# A value of the report that lot-split writes.
function metric(file, name,   value) {
    columns(file)
    while (read(file)) if (field[1] == name) value = field[2]
    close(file)
    return value
}
'

# table_of PROGRAM [ARGUMENT...]: what an awk program with the library prints; all of it stands in BEGIN.
decimals=0
table_of() {
    program=$1
    shift
    awk -v decimals="$decimals" -v out="$out" "$library BEGIN { $program } END { if (failed) exit 2 }" "$@" </dev/null
}

# shellcheck disable=SC2016 # awk's own
decimals=$(table_of '
    columns(out "/compare.csv"); read(out "/compare.csv"); split(get("total") ".", part, ".")
    print length(part[2])')

# shellcheck disable=SC2016
table_of '
    kept = split("scenario,orders,pieces,goods,charges,tax,total,saving", keep, ",")
    report["as-is"] = "as-is"; report["swaps"] = "swaps"; report["both-routes"] = "best"
    for (i = 1; i <= kept; i++) printf "%s,", keep[i]
    print "plan"
    file = out "/compare.csv"
    columns(file)
    for (i = 1; i <= kept; i++) place[i] = at[keep[i]]
    while (read(file)) {
        name = field[place[1]]
        line = ""
        for (i = 1; i <= kept; i++) line = line quote(field[place[i]]) ","
        of = out "/report-" report[name] ".csv"
        print line (metric(of, "proved") == "yes" ? "proved least" \
            : "at most " metric(of, "gap_percent") " % above the least")
    }' >"$work/scenarios.csv"

# shellcheck disable=SC2016
table_of '
    print "scenario,orders,cost,saving"
    split("swaps,both-routes", name, ","); split("curve-swaps,curve", of, ",")
    for (i = 1; i <= 2; i++) {
        file = out "/" of[i] ".csv"
        columns(file)
        while (read(file))
            print name[i] "," get("orders") "," money(units(get("cost"))) "," \
                (get("saving") == "" ? "" : money(units(get("saving"))))
    }' >"$work/curve.csv"

# The same with a line a scenario.
# shellcheck disable=SC2016
table_of '
    file = out "/report.new/work/curve.csv"
    columns(file)
    while (read(file)) {
        if (!(field[2] in seen)) order[++count] = field[2]
        seen[field[2]]
        cost[field[1], field[2]] = field[3]
    }
    print "orders,swaps,both-routes"
    for (i = 1; i <= count; i++) print order[i] "," cost["swaps", order[i]] "," cost["both-routes", order[i]]
    ' >"$work/curve-lines.csv"

# What a rule adds to the others is what all save less what all without it save. A saving is empty where the pieces that
# nobody has differ. Rules of one worth stay in the order of their file.
# shellcheck disable=SC2016
table_of '
    file = "swaps.csv"
    columns(file)
    if ("note" in at) while (read(file)) {
        of = get("rule"); note = get("note")
        if (note != "" && !((of, note) in told)) does[of] = does[of] (does[of] == "" ? "" : "; ") note
        told[of, note]
    }
    file = out "/gain.csv"
    columns(file)
    while (read(file)) {
        kind = get("scenario"); saving = get("saving")
        if (kind == "alone") { rule[++count] = get("rule"); alone[count] = saving }
        if (kind == "all") all = saving
        if (kind == "without") without[get("rule")] = saving
        if (kind == "best") best = "," get("applied") ","
    }
    for (i = 1; i <= count; i++) {
        for (j = i - 1; j > 0 && alone[i] != "" && \
            (alone[turn[j]] == "" || units(alone[turn[j]]) < units(alone[i])); j--) turn[j + 1] = turn[j]
        turn[j + 1] = i
    }
    print "rule,alone,with the others,in the best,note"
    for (i = 1; i <= count; i++) {
        j = turn[i]
        adds = without[rule[j]]
        print quote(rule[j]) "," (alone[j] == "" ? "" : money(units(alone[j]))) "," \
            (all == "" || adds == "" ? "" : money(units(all) - units(adds))) "," \
            (index(best, "," rule[j] ",") ? "yes" : "no") "," quote(does[rule[j]])
    }' >"$work/swaps.csv"

# shellcheck disable=SC2016
table_of '
    file = out "/priced.csv"
    columns(file)
    print raw
    while (read(file)) if (get("dear") != "") print raw' >"$work/watch.csv"

# shellcheck disable=SC2016
table_of '
    print "seller,goods,charges,tax"
    file = out "/totals.csv"
    columns(file)
    while (read(file)) if (get("seller") != "TOTAL")
        print quote(get("seller")) "," get("home_goods") "," get("home_charges") "," get("home_tax")' >"$work/parts.csv"

# Lines of one offer for several lots of the need are one line of an order.
lot-deal -q -d "$work/orders" <"$out/orders.csv"
# Their files, in the order of the totals.
# shellcheck disable=SC2016
table_of '
    file = out "/report.new/work/orders/index.csv"
    columns(file)
    while (read(file)) is[get("seller")] = get("file")
    file = out "/totals.csv"
    columns(file)
    while (read(file)) if (get("seller") in is) print is[get("seller")]' >"$work/order-files"

# ---- figures for the texts, as shell variables: numbers and the letters of a currency, nothing else

lots='' pieces='' taken='' bought='' orders='' home='' goods='' charges='' tax='' currency='' proved='' gap=''
gain_from='' gain_to='' gain_saves='' gain_bound='' gain_proved='' plans='' open='' longer='' watched=''
# shellcheck disable=SC2016
figures=$(table_of '
    file = out "/need-as-is.csv"; columns(file)
    while (read(file)) { lots++; pieces += get("qty") }
    print "lots=" lots " pieces=" pieces
    file = out "/taken.csv"; columns(file)
    while (read(file)) taken += get("qty")
    print "taken=" taken + 0
    file = out "/totals.csv"; columns(file)
    while (read(file)) if (get("seller") == "TOTAL")
        print "bought=" get("pieces") " home=" get("home") " goods=" get("home_goods") " charges=" get("home_charges") \
            " tax=" get("home_tax") " currency=" get("home_currency")
    file = out "/report-best.csv"
    print "orders=" metric(file, "orders") " proved=" metric(file, "proved") " gap=" metric(file, "gap_percent")
    all_rules = metric(out "/report-swaps.csv", "cost")
    file = out "/gain.csv"; columns(file)
    while (read(file)) {
        if (get("scenario") != "best") { plans++; open += get("proved") != "yes" }
        if (get("scenario") == "as-is") print "gain_from=" money(units(get("cost")))
        if (get("scenario") == "best") {
            if (units(all_rules) < units(get("cost"))) print "longer=" money(units(all_rules))
            print "gain_to=" money(units(get("cost"))) " gain_proved=" get("proved")
            print "gain_saves=" (get("saving") == "" ? "" : money(units(get("saving"))))
            print "gain_bound=" (get("bound") == "" ? "" : money_down(units(get("bound"))))
        }
    }
    print "plans=" plans " open=" open + 0
    file = out "/report.new/work/watch.csv"; columns(file)
    while (read(file)) watched++
    print "watched=" watched + 0')
if printf '%s\n' "$figures" | grep -q '[^A-Za-z0-9_= .-]'; then
    echo "report.sh: figures that are none:" "$figures" >&2
    exit 2
fi
eval "$figures"

# ---- the page: what is added to it goes to both forms

md=$new/report.md
html=$new/report.html
title="The tide mill: what it costs"

# words TEXT: a paragraph. What is marked as `code` reads so in both.
words() {
    printf '%s\n\n' "$1" >>"$md"
    # shellcheck disable=SC2016 # marks of Markdown
    printf '<p>%s</p>\n' "$1" | sed 's|`\([^`]*\)`|<code>\1</code>|g' >>"$html"
}

section() {
    printf '## %s\n\n' "$2" >>"$md"
    printf '<h2 id="%s">%s</h2>\n' "$1" "$2" >>"$html"
}

# table SHAPE FILE [OPTION...]: a table, as lot-show has it. A heading of its own is one below the section's. The shape is
# what a phone makes of it: cards, if lot-show finds it wide, or a tight table, for one of short rows.
table() {
    file=$2 tight=
    [ "$1" = cards ] || tight='s|^<table.*>$|<table class="tight">|'
    shift 2
    lot-show -q --to markdown "$@" <"$file" >"$work/part"
    sed 's/^### seller: /### /' "$work/part" >>"$md"
    echo >>"$md"
    lot-show -q --to html "$@" <"$file" >"$work/part"
    sed -n -e '/^<body>$/,/^<script>$/ {' -e '/^<body>$/d' -e '/^<script>$/d' \
        -e 's|^<h2>seller: \(.*\)</h2>$|<h3>\1</h3>|' -e "$tight" \
        -e p -e '}' "$work/part" >>"$html"
}

# chart FILE NAME TITLE [OPTION...]: a chart, as lot-plot draws it; on a phone one that is as wide as the phone.
chart() {
    file=$1 name=$2 caption=$3
    shift 3
    lot-plot -q --title "$caption" --unit "$currency" --height 400 "$@" <"$file" >"$new/$name.svg"
    lot-plot -q --title "$caption" --unit "$currency" --width 340 --height 360 "$@" <"$file" >"$work/narrow.svg"
    printf '![%s](%s.svg)\n\n' "$caption" "$name" >>"$md"
    {
        printf '<figure class="wide">\n'
        cat "$new/$name.svg"
        printf '</figure>\n<figure class="narrow">\n'
        cat "$work/narrow.svg"
        printf '</figure>\n'
    } >>"$html"
}

# lot-show's page up to its heading, with its style, its script's hash, and some style more. Charts bring styles along,
# so that any style is allowed; there is none in a field that lot-show or lot-plot has escaped.
printf '# %s\n\n' "$title" >"$md"
lot-show -q --to html --title "$title" <"$work/scenarios.csv" >"$work/shell"
cat >"$work/style" <<'END'
<style>
p { max-width: 44rem; margin: .6rem 0 }
h2 { margin-top: 2.5rem; font-size: 1.25rem }
h3 { margin: 1.5rem 0 .5rem; font-size: 1.05rem; overflow-wrap: anywhere }
nav { display: flex; flex-wrap: wrap; gap: .3rem 1.2rem; margin: 1rem 0 }
a { color: var(--mark) }
code { font-size: .95em }
figure { margin: 1rem 0 }
figure svg { display: block; max-width: 100%; height: auto }
.narrow { display: none }
@media screen and (max-width: 44rem) {
  .wide { display: none }
  .narrow { display: block }
  nav a { padding: .3rem 0 }
  .cards thead { display: none }
  .tight { font-size: .8rem }
  .tight td, .tight th button { padding: .3rem .2rem }
  .tight th[aria-sort=none] button::after { content: none }
}
@media print { nav { display: none } figure { break-inside: avoid } h2, h3 { break-after: avoid } }
</style>
END
sed -e "s/style-src 'sha256-[^']*'/style-src 'unsafe-inline'/" -e '/^<h1>/q' "$work/shell" >"$work/head"
sed -e "/^<\/style>\$/r $work/style" "$work/head" >"$html"

least="No plan for it costs less."
[ "$proved" = yes ] || least="No plan for it costs less by more than $gap %."
words "The design has $lots lots and $pieces pieces. After the swaps $taken pieces come from the stock, and $bought are \
bought, in $orders orders, for $home $currency landed: goods $goods, charges $charges, tax $tax. $least"
words "All of it is invented: the model, the market, every name, price, charge, tax and rate. Where prices are real, too, \
the figures are estimates: the seller's invoice and local rules decide."
cat >>"$html" <<'END'
<nav aria-label="Sections">
<a href="#scenarios">Scenarios</a>
<a href="#parcels">Fewer parcels</a>
<a href="#swaps">Swaps</a>
<a href="#watch">Watch list</a>
<a href="#orders">Orders</a>
</nav>
END

section scenarios "Scenarios"
words "\`as-is\` is the list as the designer has it, from the marketplace; \`swaps\` the same after the swap rules; \
\`both-routes\` what the stock does not give, from the marketplace and the maker's own shop together. Amounts are in \
$currency; a saving is on the first. Goods, charges and tax are rounded each, and may miss the total by a cent or two. The \
pieces are those bought, a few more than are needed where that costs less."
table cards "$work/scenarios.csv"
chart "$out/compare.csv" scenarios "Landed cost" --columns goods,charges,tax

section parcels "Fewer parcels"
words "What a scenario costs in at most so many orders, in $currency, and what one more order saves. In fewer than in its \
first row no plan was found; more than in its last save nothing. The cost is the landed cost, with what the trouble of an \
order and disliked pieces count, which is in no total."
table tight "$work/curve.csv"
chart "$work/curve-lines.csv" curve "Cost by orders" --kind lines --label orders --columns swaps,both-routes

section swaps "Swaps"
bound=
[ "$gain_proved" = yes ] && bound=", the least of all subsets"
[ "$gain_proved" = yes ] || [ -z "$gain_bound" ] || bound="; no subset can cost less than $gain_bound"
words "What each rule saves alone, and what it adds to all the others, in $currency; below zero it costs more. They \
start from \`as-is\`, a cost of $gain_from. The best of all subsets comes to $gain_to${gain_saves:+, $gain_saves less}$bound."
[ "$open" -eq 0 ] ||
    words "$open of the $plans plans behind this are not proved least, most of them searched for a part of the steps that a \
scenario gets: small differences may be the search's.${longer:+ The scenario \`swaps\`, which has all the rules, was \
searched longer and comes to a cost of $longer.}"
table cards "$work/swaps.csv"
chart "$work/swaps.csv" swaps "What each rule saves alone" --label rule --columns alone

section watch "Watch list"
words "What drives the cost of what is to be bought: every lot at the median of what the market asks, without charges \
and tax that comes on top."
chart "$out/priced.csv" cost "What drives the cost" --kind pareto --label part,color --most 16
if [ "$watched" -gt 0 ]; then
    words "These lots are to be bought first, or swapped: \`price\` where the price asked is more than 3 times what the \
part costs in other colors, \`scarce\` where fewer than 3 sellers have the quantity, \`both\` where both is so."
    table cards "$work/watch.csv" --columns part,color,qty,price,amount,band,sellers,dear
else
    words "No lot is dear or scarce: none costs more than 3 times what its part costs in other colors, and 3 sellers or \
more have the quantity of each."
fi

section orders "Orders"
words "What each order costs, in the seller's currency and in $currency, and what to order. A price is that of a piece, \
in the seller's currency."
table cards "$out/totals.csv" --columns seller,route,lots,pieces,currency,goods,charges,tax,total,home
chart "$work/parts.csv" orders "What each seller gets" --label seller --columns goods,charges,tax
while read -r file; do
    table tight "$work/orders/$file" --group seller --columns part,color,condition,qty,price,amount
done <"$work/order-files"

sed -n '/^<script>$/,$p' "$work/shell" >>"$html"

# ---- in its place, the page that make goes by last

rm -rf "$work"
mkdir -p "$out/report"
mv -f "$new"/*.svg "$md" "$out/report"
mv -f "$html" "$out/report"
