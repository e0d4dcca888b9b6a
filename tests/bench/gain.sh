#!/bin/sh
# What lot-gain takes for the demo at 4 times its size, against a loop over lot-swap and lot-split that
# finds the same rows but the best (as it stands, each rule alone, all, all but one), every search with the
# same effort, in the same run: the ratio of elapsed times, that of processor times, and by how much the
# costs of each differ. No verdict. Aimed at: 5 times as fast, and costs no higher.
#
# usage: gain.sh [EFFORT]      default: 500000000, the demo's

set -eu

effort=${1:-500000000}
here=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd)
demo=$here/../../examples/tidemill
PATH=$(CDPATH='' cd -- "$here/../../bin" && pwd):$PATH
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
trap 'exit 1' HUP INT TERM

# The demo's lists and market, four times over: parts of the copies have a letter before their number (KA-104
# for A-104), each market seller has three namesakes, and each offer goes to one of the four, at up to a tenth
# more or less. Draws of Park and Miller's generator, the same ones every time.
cd "$demo"
lot-norm -q -m map.csv -n names.csv --except 'part=Total' <parts-export.csv >"$work/parts-1.csv"
lot-norm -q --decimal comma -m map-german.csv -n names-german.csv offers <offers-german.csv >"$work/german-1.csv"
copies() {
    sed 1q "$1"
    tail -n +2 "$1"
    for letter in K L M; do
        tail -n +2 "$1" | sed -E -e "s/(^|[,(])([A-Z])-([0-9[])/\\1$letter\\2-\\3/g" -e "s/\\[A-Z\\]-/${letter}[A-Z]-/g"
    done
}
copies "$work/parts-1.csv" >"$work/parts.csv"
copies swaps.csv >"$work/swaps.csv"
copies weights.csv >"$work/weights.csv"
for file in offers-direct.csv offers-market.csv "$work/german-1.csv"; do
    copies "$file" | awk -F, -v OFS=, '
        function below(n) { seed = (seed * 16807) % 2147483647; return seed % n }
        BEGIN { seed = 7 }
        NR > 1 && $1 != "Works Counter" {
            if ($9 != "" && $2 ~ /^[A-Z][A-Z]/) $9 = $9 substr($2, 1, 1)
            if (!(($1, $9) in drawn)) drawn[$1, $9] = below(4)
            copy = $9 == "" ? below(4) : drawn[$1, $9]
            if (copy > 0) $1 = $1 " " copy
            $5 = sprintf("%.3f", $5 * (900 + below(201)) / 1000 + 0.0005)
        }
        { print }' >"$work/$(basename "$file" | sed s/german-1/german/)"
done
awk -F, -v OFS=, '
    { print }
    NR > 1 && $1 != "Works Counter" { for (i = 1; i <= 3; i++) { row = $0; sub(/^[^,]*/, $1 " " i, row); print row } }
    ' sellers.csv >"$work/sellers.csv"
cp charges.csv rates.csv "$work"
cd "$work"

python3 - "$effort" <<'END'
import csv, io, resource, subprocess, sys, time

MARKET = ("-o offers-direct.csv -o offers-market.csv -o german.csv -s sellers.csv -c charges.csv -x rates.csv "
          "-w weights.csv -C EUR --effort " + sys.argv[1]).split()
RULES = list(dict.fromkeys(row["rule"] for row in csv.DictReader(open("swaps.csv", newline=""))))


def run(words, stdin):
    return subprocess.run(words, input=stdin, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, check=False).stdout


def timed(step):
    """What the step gives, elapsed and processor seconds."""
    start, spent = time.monotonic(), resource.getrusage(resource.RUSAGE_CHILDREN)
    result, after = step(), resource.getrusage(resource.RUSAGE_CHILDREN)
    return result, time.monotonic() - start, sum(after[:2]) - sum(spent[:2])


def row(picks):
    need = parts if picks is None else run(["lot-swap", "-q", "-r", "swaps.csv"] + picks, parts)
    run(["lot-split", "-q", "--report", "report.csv"] + MARKET, need)
    return float({row["metric"]: row["value"] for row in csv.DictReader(open("report.csv", newline=""))}["cost"])


def loop():
    return [row(None)] + [row(["--only", rule]) for rule in RULES] + [row([])] + [
        row(["--except", rule]) for rule in RULES]


def gain():
    out = run(["lot-gain", "-q", "-r", "swaps.csv"] + MARKET, parts)
    return list(csv.DictReader(io.StringIO(out.decode(), newline="")))


parts = open("parts.csv", "rb").read()
table, elapsed, spent = timed(gain)
costs, loop_elapsed, loop_spent = timed(loop)
print("lot-gain: %d lots, %d rules, %d rows, effort %s" % (parts.count(b"\n") - 1, len(RULES), len(table), sys.argv[1]))
print("%-8s %-20s %10s %10s %9s" % ("scenario", "rule", "loop", "lot-gain", "less, %"))
for line, cost in zip(table, costs):
    print("%-8s %-20s %10.2f %10.2f %9.2f" % (line["scenario"], line["rule"], cost, float(line["cost"]),
                                           100 * (1 - float(line["cost"]) / cost)))
print("%-8s %-20s %10s %10.2f %9s   gap %s %%" % ("best", "", "", float(table[-1]["cost"]), "", table[-1]["gap_percent"]))
less = [1 - float(line["cost"]) / cost for line, cost in zip(table, costs)]
print("cost less than the loop's: mean %.2f %%, worst %.2f %%" % (100 * sum(less) / len(less), 100 * min(less)))
print("elapsed: loop %.1f s, lot-gain %.1f s, ratio %.1f" % (loop_elapsed, elapsed, loop_elapsed / elapsed))
print("processor: loop %.1f s, lot-gain %.1f s, ratio %.1f" % (loop_spent, spent, loop_spent / spent))
END
